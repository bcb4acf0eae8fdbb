"""Slots that the scenario keeps empty."""

from __future__ import annotations

from collections.abc import Iterator

from solver.rules.limit import Draft, Limit, Place, Rule, frames_at, site_of
from solver.standing import Standing
from solver.survey import Survey


class KeptEmpty(Rule):
    """Slots that the scenario keeps empty."""

    code = "kept-empty"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each slot to keep empty: no card."""
        for site in survey.frames:
            for slot in sorted(set(site.spec.keep_empty)):
                source = ("frame", site.name, "keep_empty", slot)
                yield Limit(self.code, Place(frame=site.name, slot=slot), 0, "cards", source=source, give=range(1, 2))

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """Cards that take the slot."""
        for frame in frames_at(standing, limit):
            return sum(limit.place.slot in seat.covers for seat in frame.seats)
        return None

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """No seat that takes the slot."""
        site = site_of(draft.survey, limit)
        draft.hold(limit, [(1, seat.term) for seat in draft.covering(site, limit.place.slot or 0)])

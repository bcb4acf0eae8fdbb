"""Frames keep running when one of their supplies fails: the others carry the cards and the board alone.

Nothing is kept in reserve then. The rule is of every frame that is used, whatever it serves.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any, ClassVar

from solver.fitted.standing import Standing
from solver.fitted.unknown import Unknown
from solver.room.message import Amount, Message, Said, tell
from solver.room.rail_names import rail_order
from solver.room.survey import Survey
from solver.room.wish import Change, Document, LimitWish
from solver.room.words import Work
from solver.rules.limit import Limit, Near, Place, Reading, in_frame, in_several, site_of, whereabouts
from solver.rules.rails import Rails


class LostWithASupply(LimitWish):
    """Frames that may be lost with one of their supplies."""

    sort = "supplies"
    order = 41
    work: ClassVar[Work] = "relax a limit"
    unmeasured = True

    def path(self, survey: Survey) -> list[str | int]:
        return ["survive", "supplies"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        if document["survive"].get("cards") is None:
            del document["survive"]
        else:
            del document["survive"]["supplies"]

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        return tell("let frames be lost with one of their supplies")

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return "1", None

    def kept(self, survey: Survey) -> Message:
        return tell("frames survive any one of their supplies")


class Supplies(Rails):
    """Rails that carry what draws on them with one supply less."""

    code = "supplies"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each frame of whose supplies it is known, every rail that it has, in rail order."""
        if survey.scenario.survive is None or survey.scenario.survive.supplies is None:
            return
        for site in survey.frames:
            for rail in sorted(site.left_ma or (), key=rail_order):
                left, full = (site.left_ma or {})[rail], site.full_rails_ma.get(rail, 0)
                place = Place(frame=site.name, subject=rail)
                give = range(1, max(1, full - left) + 1)
                yield Limit(self.code, place, left, "mA", source=("survive", "supplies"), give=give)

    def unknowns(self, survey: Survey, standing: Standing) -> Iterator[tuple[Unknown, int]]:
        """What each of a chassis's supplies delivers."""
        if survey.scenario.survive is not None and survey.scenario.survive.supplies:
            for frame in standing.frames:
                if frame.site.left_ma is None:
                    yield Unknown("supplies", "what each supply delivers", frame.site.chassis.id), 1

    def wish(self, limit: Limit) -> LimitWish | None:
        """Frames may be lost with a supply."""
        return LostWithASupply()

    def _others(self, survey: Survey, limit: Limit) -> Said:
        count = site_of(survey, limit).chassis.supply.count
        if count == 1:
            return "its one supply"
        return "one of two supplies" if count == 2 else tell("one of {count} supplies", count=count)

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        return tell(
            "{where}: rail {rail} carries {used}; at most {bound} when {one} fails",
            where=whereabouts(reading.limit),
            rail=reading.limit.place.subject or "",
            one=self._others(survey, reading.limit),
            **reading.amounts(),
        )

    def headroom(self, survey: Survey, reading: Reading, standing: Standing) -> Near | None:
        if not reading.used:
            return None
        limit = reading.limit
        said = tell(
            "rail {rail}{where} without {one}: {used} of {bound}",
            rail=limit.place.subject or "",
            where=in_frame(survey, limit),
            one=self._others(survey, limit),
            **reading.amounts(bare=("used",)),
        )
        each = Amount(limit.bound, "mA")
        return Near(said, tell("{left} when {one} fails", left=each, one=self._others(survey, limit)))

    def load(self, limit: Limit) -> Message | None:
        return None

    def remarks(self, survey: Survey) -> Iterator[Message]:
        return iter(())

    def ready_for(self, survey: Survey) -> Said | None:
        return "any one supply" if any(self.limits(survey)) else None

    def lifted(self, survey: Survey) -> Survey | None:
        if not any(self.limits(survey)):
            return None
        return replace(survey, frames=tuple(replace(site, left_ma=None) for site in survey.frames))

    def over(self, survey: Survey, reading: Reading) -> Message:
        where = in_several(survey, reading.limit)
        text = "{where}{rail} {used} of {bound} without {one}"
        rail, one = reading.limit.place.subject or "", self._others(survey, reading.limit)
        return tell(text, where=where, rail=rail, one=one, **reading.amounts())

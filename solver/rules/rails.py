"""Each supply rail carries its cards and the board with the asked-for reserve."""

from __future__ import annotations

from collections.abc import Iterator

from solver.rules.limit import Draft, Limit, Place, frames_at, site_of
from solver.standing import Standing
from solver.survey import Survey

CODE = "rails"


def limits(survey: Survey) -> Iterator[Limit]:
    """For each frame with rail figures, every rail that it has or that a card or board asks for."""
    for site in survey.frames:
        if site.rails_ma is None:
            continue
        asked = {rail for kind in survey.kinds.values() for rail in kind.rails_ma or ()}
        asked |= {rail for layout in site.layouts for rail in site.board_rails_ma[layout.board] or ()}
        for rail in sorted(asked | set(site.rails_ma)):
            yield Limit(
                CODE,
                Place(frame=site.name, subject=rail),
                site.rails_ma.get(rail, 0),
                "mA",
                source=("limits", "rail_reserve"),
                give=range(1, site.full_rails_ma.get(rail, 0) - site.rails_ma.get(rail, 0) + 1),
            )


def used(survey: Survey, standing: Standing, limit: Limit) -> int | None:
    """Milliamperes that the cards and the board draw; unknown draws count nothing and are reported."""
    rail = limit.place.subject or ""
    for frame in frames_at(standing, limit):
        draws = [seat.kind.rails_ma for seat in frame.seats] + [frame.site.board_rails_ma.get(frame.built.board)]
        return sum((draw or {}).get(rail, 0) for draw in draws)
    return None


def constrain(draft: Draft, limit: Limit) -> None:
    """The same sum over seats and boards."""
    site = site_of(draft.survey, limit)
    rail = limit.place.subject or ""
    load = [((seat.kind.rails_ma or {}).get(rail, 0), seat.term) for seat in draft.seats(site)]
    load += [((site.board_rails_ma[layout.board] or {}).get(rail, 0), term) for layout, term in draft.layouts(site)]
    load = [(amount, term) for amount, term in load if amount]
    if load:
        draft.hold(limit, load)

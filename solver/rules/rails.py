"""Each supply rail carries its cards and the board with the asked-for reserve."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any, ClassVar

from solver.fitted.standing import Standing
from solver.fitted.unknown import Unknown, of_cards
from solver.room.message import Amount, Message, Said, joined, tell
from solver.room.rail_names import not_supplied, rail_order
from solver.room.survey import Survey
from solver.room.wish import Change, Document, LimitWish
from solver.room.words import Work, parse_percent
from solver.rules.limit import (
    Draft,
    Limit,
    Near,
    Place,
    Reading,
    Rule,
    frames_at,
    in_frame,
    in_several,
    site_of,
    whereabouts,
)


def drawing(survey: Survey, standing: Standing, limit: Limit) -> list[tuple[str, int, int]]:
    """What draws on a rail of a frame: each card or board, how many, and what they draw together in milliamperes."""
    rail = limit.place.subject or ""
    found: list[tuple[str, int, int]] = []
    for frame in frames_at(standing, limit):
        draws = {seat.kind.id: (seat.kind.rails_ma or {}).get(rail, 0) for seat in frame.seats}
        counts = Counter(seat.kind.id for seat in frame.seats)
        found += [(card, counts[card], counts[card] * draw) for card, draw in sorted(draws.items()) if draw]
        board = (frame.site.board_rails_ma.get(frame.built.board) or {}).get(rail, 0)
        found += [(frame.built.board, 1, board)] if board else []
    return found


def draws(drawing: list[tuple[str, int, int]]) -> Message:
    """What draws on a rail, such as ``2 x mic-8 draw 0.16 A``: item, how many, milliamperes together."""
    pieces: list[Said] = []
    for item, count, milliamperes in drawing:
        text = "{count} x {item} draw {amount}" if count > 1 else "{item} draws {amount}"
        pieces.append(tell(text, count=count, item=item, amount=Amount(milliamperes, "mA")))
    return joined(pieces)


def shut_out(survey: Survey) -> list[tuple[str, str, list[tuple[str, int]]]]:
    """Chassis, a rail that it does not supply, and what is to be had and asked for and draws it, each with its draw.

    Asked for are cards that take a signal that is needed, that are pinned or must be seated, and boards.
    """
    asked = {(need.direction, need.signal) for need in survey.needs if need.demand}
    seated = {card for card, _, _ in survey.must_seat}
    found: dict[tuple[str, str], dict[str, int]] = {}
    for site in survey.frames:
        if site.rails_ma is None:
            continue
        wanted = {
            kind.id: kind.rails_ma
            for kind in survey.kinds.values()
            if kind.id in site.spec.pins.values()
            or (survey.most_of(kind.id) != 0 and (kind.id in seated or any(kind.taking(*each) for each in asked)))
        }
        wanted |= {layout.board: site.board_rails_ma[layout.board] for layout in site.candidates}
        for item, draws in sorted(wanted.items()):
            for rail in not_supplied(site.full_rails_ma, draws):
                found.setdefault((site.chassis.id, rail), {})[item] = (draws or {})[rail]
    order = sorted(found, key=lambda key: (key[0], rail_order(key[1])))
    return [(chassis, rail, list(found[chassis, rail].items())) for chassis, rail in order]


def reserve_percent(survey: Survey) -> int:
    """What is kept of every rail, in whole per cent."""
    return parse_percent(survey.scenario.limits.rail_reserve, 90)


class LessReserve(LimitWish):
    """A smaller part of each rail that is kept in reserve. Amounts are whole per cent."""

    sort = "reserve"
    order = 40
    work: ClassVar[Work] = "relax a limit"
    unmeasured = True

    def most(self, survey: Survey) -> int:
        return reserve_percent(survey)

    def path(self, survey: Survey) -> list[str | int]:
        return ["limits", "rail_reserve"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        document.setdefault("limits", {})["rail_reserve"] = f"{reserve_percent(survey) - change.amount} %"

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        before = reserve_percent(survey)
        text = "keep {after} % of each rail in reserve instead of {before} %"
        return tell(text, after=before - change.amount, before=before)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        before = reserve_percent(survey)
        return f"{before} %", f"{before - change.amount} %"

    def kept(self, survey: Survey) -> Message:
        return tell("{percent} % of each rail is kept in reserve", percent=reserve_percent(survey))


class Rails(Rule):
    """Rails that carry what draws on them."""

    code = "rails"
    speaks_of = "loads"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each frame with rail figures, every rail that it has or that a card or board asks for, in rail order.

        A rail that the chassis does not supply is the hardware's nature: no reserve gives any of it back.
        """
        for site in survey.frames:
            if site.rails_ma is None:
                continue
            asked = {rail for kind in survey.kinds.values() for rail in kind.rails_ma or ()}
            asked |= {rail for layout in site.layouts for rail in site.board_rails_ma[layout.board] or ()}
            for rail in sorted(asked | set(site.rails_ma), key=rail_order):
                yield Limit(
                    self.code,
                    Place(frame=site.name, subject=rail),
                    site.rails_ma.get(rail, 0),
                    "mA",
                    source=("limits", "rail_reserve") if site.full_rails_ma.get(rail) else None,
                    give=range(1, site.full_rails_ma.get(rail, 0) - site.rails_ma.get(rail, 0) + 1),
                )

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """Milliamperes that the cards and the board draw; unknown draws count nothing and are reported."""
        rail = limit.place.subject or ""
        for frame in frames_at(standing, limit):
            draws = [seat.kind.rails_ma for seat in frame.seats] + [frame.site.board_rails_ma.get(frame.built.board)]
            return sum((draw or {}).get(rail, 0) for draw in draws)
        return None

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """The same sum over seats and boards."""
        site = site_of(draft.survey, limit)
        rail = limit.place.subject or ""
        load = [((seat.kind.rails_ma or {}).get(rail, 0), seat.term) for seat in draft.seats(site)]
        load += [((site.board_rails_ma[layout.board] or {}).get(rail, 0), term) for layout, term in draft.layouts(site)]
        load = [(amount, term) for amount, term in load if amount]
        if load:
            draft.hold(limit, load)

    def unknowns(self, survey: Survey, standing: Standing) -> Iterator[tuple[Unknown, int]]:
        """What cards and boards draw, and what a chassis supplies."""
        yield from of_cards(survey, standing.cards, "rails", "current", lambda card: card.rails)
        for frame in standing.frames:
            if frame.site.rails_ma is None:
                yield Unknown("rails", "rail figures", frame.site.chassis.id), 1
            elif frame.board.rails is None:
                yield Unknown("rails", "current", frame.board.id), 1

    def wish(self, limit: Limit) -> LimitWish | None:
        """Less of each rail is kept in reserve."""
        return LessReserve()

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        limit, rail = reading.limit, reading.limit.place.subject or ""
        site = survey.site(limit.place.frame or "")
        if site and not site.full_rails_ma.get(rail):
            drawn = drawing(survey, standing, limit) if standing else []
            said = tell("{chassis} supplies no {rail}", chassis=site.chassis.id, rail=rail)
            if drawn:
                said = tell("{said}; {drawn}", said=said, drawn=draws(drawn))
            else:
                said = tell("{said}, of which {used} would be drawn", said=said, **reading.amounts())
        else:
            said = tell("rail {rail} carries {used}; at most {bound} with the reserve", rail=rail, **reading.amounts())
        return tell("{where}: {said}", where=whereabouts(limit), said=said)

    def headroom(self, survey: Survey, reading: Reading, standing: Standing) -> Near | None:
        if not reading.used:
            return None
        limit, rail = reading.limit, reading.limit.place.subject or ""
        site = survey.site(limit.place.frame or "")
        supply_ma = site.full_rails_ma.get(rail, 0) if site else 0
        reserve = survey.scenario.limits.rail_reserve
        set_by = tell("rail_reserve {reserve} of {supply}", reserve=reserve, supply=Amount(supply_ma, "mA"))
        if site and not supply_ma:
            set_by = tell("{chassis} supplies no {rail}", chassis=site.chassis.id, rail=rail)
        text = "rail {rail}{where}: {used} of {bound}"
        return Near(tell(text, rail=rail, where=in_frame(survey, limit), **reading.amounts(bare=("used",))), set_by)

    def load(self, limit: Limit) -> Message | None:
        return tell("rail {rail}", rail=limit.place.subject or "")

    def remarks(self, survey: Survey) -> Iterator[Message]:
        """What a chassis does not supply, and what draws it."""
        for chassis, rail, drawing in shut_out(survey):
            drawn = draws([(item, 1, draw) for item, draw in drawing])
            yield tell("{chassis} supplies no {rail}; {drawn}", chassis=chassis, rail=rail, drawn=drawn)

    def lifted(self, survey: Survey) -> Survey | None:
        return replace(survey, frames=tuple(replace(site, rails_ma=None) for site in survey.frames))

    def over(self, survey: Survey, reading: Reading) -> Message:
        rail = reading.limit.place.subject or ""
        if reading.limit.source is None:
            site = survey.site(reading.limit.place.frame or "")
            return tell("{chassis} supplies no {rail}", chassis=site.chassis.id if site else "", rail=rail)
        where = in_several(survey, reading.limit)
        return tell("{where}{rail} {used} of {bound}", where=where, rail=rail, **reading.amounts())

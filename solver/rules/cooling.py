"""Air around every card stays far enough below what the card permits.

Two neighbours that together heat their gap too much exclude each other; each group of such cards is one
at-most-one constraint, so no greatest value over gaps has to be modelled.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import lru_cache, partial
from itertools import combinations
from math import ceil
from typing import Any, ClassVar

from solver.fitted.standing import Standing
from solver.fitted.unknown import Unknown, of_cards
from solver.physics.column import OUTLET, Source, rise_at_mk
from solver.physics.heat import Air, Fan, gap_heat_mw, permitted_heat_mw
from solver.room.hardware import FanAir
from solver.room.kind import Kind
from solver.room.message import Message, Said, tell
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Survey
from solver.room.wish import Change, Document, LimitWish
from solver.room.words import Work, enumerated
from solver.rules.limit import (
    Apart,
    Cell,
    Draft,
    Limit,
    Near,
    Neighbours,
    Place,
    Reading,
    Rule,
    Seat,
    Unyielding,
    frames_at,
    in_frame,
    site_of,
    whereabouts,
)


def too_hot(site: FrameSite, board: str, kinds: Sequence[Kind], margin_mk: int) -> Apart:
    """Everything that a margin forbids in the gaps of a frame with a given board."""
    if site.air is None:
        return Apart(frozenset(), ())
    cards = tuple((kind.id, kind.heat_mw or 0, kind.air_limit_mk, kind.hot_at) for kind in kinds)
    return _too_hot(site.air, site.shared_mw[board], site.gaps, cards, margin_mk)


@lru_cache(maxsize=256)
def _too_hot(
    air: Air, shared_mw: int, gaps: int, cards: tuple[tuple[str, int, int | None, int | None], ...], margin_mk: int
) -> Apart:
    permitted = {card: permitted_heat_mw(air, limit, margin_mk) for card, _, limit, _ in cards if limit is not None}
    heats = {card: heat for card, heat, _, _ in cards}
    places = {card: place for card, _, _, place in cards}
    rises = {card: limit - margin_mk - air.inlet_mk for card, _, limit, _ in cards if limit is not None}

    def bad_at_its_place(own: str, beside: Sequence[str]) -> bool:
        sources = [Source(heats[card] * gaps, places[card]) for card in beside]
        place = OUTLET if places[own] is None else places[own]
        return rise_at_mk(air, (*sources, Source(2 * shared_mw)), 2 * gaps, place) > rises[own]

    def bad(left: str, right: str | None) -> bool:
        beside = [card for card in (left, right) if card is not None]
        if any(places[card] is not None for card in beside):
            return any(bad_at_its_place(card, beside) for card in beside if card in rises)
        bounds = [permitted[card] for card in (left, right) if card in permitted]
        heat = gap_heat_mw(heats[left], 0 if right is None else heats[right], shared_mw, gaps)
        return bool(bounds) and heat > min(bounds)

    alone = frozenset(card for card in heats if bad(card, None))
    rest = [card for card in heats if card not in alone]
    beside = {card: frozenset(other for other in rest if bad(card, other)) for card in rest}
    clashes = tuple(
        Neighbours(frozenset(card for card, others in beside.items() if others >= rights), rights)
        for rights in sorted({others for others in beside.values() if others}, key=sorted)
    )
    return Apart(alone, clashes)


def forbid(draft: Draft, limit: Limit, site: FrameSite, margin_mk: int) -> None:
    """State what a margin forbids, for every gap and board."""
    for board in sorted({layout.board for layout, _ in draft.layouts(site)}):
        seats = draft.seats(site, board=board)
        starts: dict[int, list[Seat]] = {}
        ends: dict[int, list[Seat]] = {}
        for seat in seats:
            starts.setdefault(seat.covers[0], []).append(seat)
            ends.setdefault(seat.covers[-1], []).append(seat)
        kinds = sorted({seat.kind.id: seat.kind for seat in seats}.values(), key=lambda k: k.id)
        hot = too_hot(site, board, kinds, margin_mk)
        for seat in seats:
            if seat.kind.id in hot.alone:
                draft.apart(limit, [(1, seat.term)], [], (site, board), alone=True)
        for gap in range(1, site.gaps - 1):
            for clash in hot.clashes:
                lefts = [(1, seat.term) for seat in ends.get(gap, ()) if seat.kind.id in clash.lefts]
                rights = [(1, seat.term) for seat in starts.get(gap + 1, ()) if seat.kind.id in clash.rights]
                if lefts and rights:
                    draft.apart(limit, lefts, rights, (site, board))


def _neighbouring(cells: Sequence[Cell]) -> Iterator[Sequence[Cell]]:
    """Each cell, and where there is one layout each stretch of cells that follow each other."""
    if all(isinstance(cell.chosen, int) for cell in cells):
        yield from (cells[first:end] for first, end in combinations(range(len(cells) + 1), 2))
    else:
        yield from ([cell] for cell in cells)


def _within(draft: Draft, cells: Sequence[Cell]) -> list[Seat]:
    """The seats that take slots of some cells alone."""
    taken: dict[int, int] = {}
    seats: dict[int, Seat] = {}
    for amount, seat in (entry for cell in cells for entry in draft.covering(cell)):
        taken[id(seat)] = taken.get(id(seat), 0) + amount
        seats[id(seat)] = seat
    return [seat for key, seat in seats.items() if taken[key] == seat.kind.span]


class LessMargin(LimitWish):
    """A cooling margin under the one below which builds are refused.

    It gives way by a kelvin at a time, down to 0; the last step may be a smaller one.
    """

    sort = "margin"
    order = 30
    work: ClassVar[Work] = "relax a limit"
    unmeasured = True

    def most(self, survey: Survey) -> int:
        return ceil(survey.scenario.limits.refuse_below_k)

    def path(self, survey: Survey) -> list[str | int]:
        return ["limits", "refuse_below_k"]

    def least(self, survey: Survey, change: Change) -> tuple[Decimal, Decimal]:
        """The margin below which builds are refused, before and after a change, in kelvin."""
        before = survey.scenario.limits.refuse_below_k
        return before, max(Decimal(0), before - change.amount)

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        limits = document.setdefault("limits", {})
        limits["refuse_below_k"] = number(self.least(survey, change)[1])

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        before, after = self.least(survey, change)
        return tell(
            "accept {amount} K less cooling margin ({before} -> {after} K)",
            amount=_plain(before - after),
            before=_plain(before),
            after=_plain(after),
        )

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        before, after = self.least(survey, change)
        return f"{_plain(before)} K", f"{_plain(after)} K"

    def kept(self, survey: Survey) -> Message:
        least = _plain(survey.scenario.limits.refuse_below_k)
        bare = [site.name for site in survey.frames if has_open_slots(site)]
        if not bare:
            return tell("builds under {least} K of cooling margin are refused", least=least)
        text = "builds under {least} K of cooling margin are refused, counted with all slots but one open in {frames}"
        return tell(text, least=least, frames=enumerated(bare))


def has_open_slots(site: FrameSite) -> bool:
    """Whether air gets by through slots of a frame that have no blanks."""
    return site.air is not None and isinstance(site.air.path, Fan) and bool(site.air.path.past)


def _counted(site: FrameSite) -> Message:
    """How many slots of such a frame are counted as open."""
    every = len(site.slots)
    return tell("counted with {open} of {every} slots open", open=str(every - 1), every=str(every))


def _with_blanks(survey: Survey, name: str) -> Survey:
    """The room if a frame had blanks."""
    return replace(survey, frames=tuple(_closed(site) if site.name == name else site for site in survey.frames))


def _closed(site: FrameSite) -> FrameSite:
    if site.air is None or not isinstance(site.air.path, Fan):
        return site
    return replace(site, air=replace(site.air, path=replace(site.air.path, past=0.0)))


def _plain(kelvin: Decimal) -> str:
    return f"{kelvin.normalize():f}"


class Cooling(Rule):
    """Air that stays cool enough."""

    code = "cooling"
    speaks_of = "loads"
    graded = True

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each frame: the margin under which a build is refused."""
        for site in survey.frames:
            yield Limit(
                self.code,
                Place(frame=site.name),
                survey.refuse_mk,
                "mK",
                at_least=True,
                source=("limits", "refuse_below_k"),
                give=range(1, survey.refuse_mk + 1),
            )

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """The least margin of the frame's gaps in millikelvin."""
        for frame in frames_at(standing, limit):
            return min((margin for _, margin in frame.gap_margins()), default=None)
        return None

    def unknowns(self, survey: Survey, standing: Standing) -> Iterator[tuple[Unknown, int]]:
        """The heat of cards and boards, the air that cards permit, and a frame's air."""
        yield from of_cards(survey, standing.cards, "cooling", "heat", lambda card: card.heat_w)
        yield from of_cards(survey, standing.cards, "cooling", "air limit", lambda card: card.air_limit_c)
        room = f" in room {survey.room}" if survey.room else ""
        for frame in standing.frames:
            if frame.site.chassis.air is None:
                yield Unknown("cooling", "air figures", frame.site.chassis.id), 1
            elif frame.site.air is None:
                yield Unknown("cooling", "air temperature", f"frame {frame.site.name}{room}"), 1
            elif frame.board.heat_w is None:
                yield Unknown("cooling", "heat", frame.board.id), 1
            own = frame.site.chassis.air
            if not frame.site.spec.blanks and isinstance(own, FanAir) and own.leak_cm2 is None:
                yield Unknown("what open slots let by", "leak area", frame.site.chassis.id), 1

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """No neighbours that would leave less than the limit, or than the least that it may give way to."""
        site = site_of(draft.survey, limit)
        forbid(draft, limit, site, limit.bound)
        if draft.loosens(limit):
            least = replace(limit, bound=limit.bound - limit.give[-1], source=None, give=range(0))
            forbid(draft, least, site, least.bound)

    def relax(self, draft: Draft, limit: Limit) -> None:
        """What a margin asks of counts, in each run of n slots and, of one layout, in neighbouring runs together.

        Cards that may stand neither beside each other nor beside certain others are parted by free slots: each takes
        its own and one more, n + 1 in all at most; with any of the others n, of which these take their own. So n times
        what the former take and n + 1 times what the others take is no more than n (n + 1), which says both.
        """
        site = site_of(draft.survey, limit)
        none = replace(limit, bound=0, unit="cards", at_least=False, source=None, give=range(0))
        for board in sorted({layout.board for layout, _ in draft.layouts(site)}):
            hot = too_hot(site, board, draft.kinds, limit.bound)
            draft.hold(none, [(1, s.term) for s in draft.seats(site, board=board) if s.kind.id in hot.alone])
            parted = {(c.lefts & c.rights, c.lefts | c.rights) for c in hot.clashes if c.lefts & c.rights}
            for cells in _neighbouring(draft.cells(site, board=board)):
                n = sum(len(cell.slots) for cell in cells)
                within = _within(draft, cells)
                for lone, every in sorted(parted, key=lambda sides: [sorted(side) for side in sides]):
                    load = [
                        (n * (seat.kind.span + 1) if seat.kind.id in lone else (n + 1) * seat.kind.span, seat.term)
                        for seat in within
                        if seat.kind.id in every
                    ]
                    draft.hold(replace(none, bound=n * (n + 1)), load, cells[0], whole=True)

    def shuts(self, limit: Limit, site: FrameSite, layout: Layout, kind: Kind) -> Collection[int]:
        """Every slot, where the card is too hot even beside an empty one."""
        return site.slots if kind.id in too_hot(site, layout.board, (kind,), limit.bound).alone else ()

    def apart(self, limit: Limit, site: FrameSite, board: str, kinds: Sequence[Kind]) -> Apart:
        """Cards that would heat a gap too much."""
        return too_hot(site, board, kinds, limit.bound)

    def separates(self, survey: Survey, kind: Kind) -> object:
        """Where along it its heat is."""
        return kind.hot_at

    def at(self, survey: Survey, bound: int) -> Iterator[Limit]:
        """For each frame: another margin to keep."""
        for site in survey.frames:
            yield Limit(self.code, Place(frame=site.name), bound, "mK", at_least=True)

    def unyielding(self, survey: Survey) -> Iterator[Unyielding]:
        """Slots that are counted as open, frame by frame."""
        for site in survey.frames:
            if has_open_slots(site):
                text = "frame {frame} has no blanks: cooling is {counted}"
                said = tell(text, frame=site.name, counted=_counted(site))
                yield Unyielding(self.code, said, partial(_with_blanks, name=site.name))

    def wish(self, limit: Limit) -> LimitWish | None:
        """Less margin is accepted."""
        return LessMargin()

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        site = site_of(survey, reading.limit)
        counted = tell(", {counted}", counted=_counted(site)) if has_open_slots(site) else ""
        text = "{where}: {used} of margin to the air limit{counted}; at least {bound}"
        return tell(text, where=whereabouts(reading.limit), counted=counted, **reading.amounts())

    def headroom(self, survey: Survey, reading: Reading, standing: Standing) -> Near | None:
        text = "cooling{where}: {used} to spare, at least {bound}"
        return Near(tell(text, where=in_frame(survey, reading.limit), **reading.amounts()), "refuse_below_k")

    def lifted(self, survey: Survey) -> Survey | None:
        return replace(survey, frames=tuple(replace(site, air=None) for site in survey.frames))

"""Frames that have to be used."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from solver.fitted.standing import Standing
from solver.room.buying import bought
from solver.room.message import Amount, Message, Said, joined, tell
from solver.room.survey import FrameSite, Survey
from solver.room.wish import Change, Document, LimitWish, frame_in, room_path
from solver.room.words import Work
from solver.rules.limit import Count, Draft, Limit, Place, Reading, Rule, frames_at, site_of, whereabouts


@dataclass(frozen=True)
class LeftUnused(LimitWish):
    """A frame that need not be used."""

    sort = "must_use"
    order = 25
    work: ClassVar[Work] = "relax a limit"

    frame: str

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "frame", self.frame, "must_use"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        frame_in(room, self.frame)["must_use"] = False

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        return tell("frame {frame}: let it stay unused", frame=self.frame)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return "true", "false"

    def kept(self, survey: Survey) -> Message:
        return tell("frame {frame} has to be used", frame=self.frame)


class MustUse(Rule):
    """Frames that hold a card at least."""

    code = "must-use"
    speaks_of = "cards"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each frame that has to be used: one card at least."""
        for site in survey.frames:
            if site.spec.must_use:
                source = ("frame", site.name, "must_use")
                place = Place(frame=site.name)
                yield Limit(self.code, place, 1, "cards", at_least=True, source=source, give=range(1, 2))

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int:
        """Cards that stand in it."""
        return sum(len(frame.seats) for frame in frames_at(standing, limit))

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """A seat of it is taken."""
        draft.hold(limit, [(1, seat.term) for seat in draft.seats(site_of(draft.survey, limit))])

    def wants(self, survey: Survey) -> Collection[str]:
        """Any card, where a frame has to be used."""
        return survey.kinds if any(site.spec.must_use for site in survey.frames) else ()

    def counts(self, survey: Survey) -> Iterator[Count]:
        """Frames in which nothing can stand; more frames than cards, chassis or boards; what they cost at least."""
        sites = [site for site in survey.frames if site.spec.must_use]
        if not sites:
            return
        for site in sites:
            if not _holds_a_card(survey, site):
                text = "frame {frame} has to be used; no card and board to be had can stand in it"
                yield Count(site.name, 1, 0, tell(text, frame=site.name))
        for named, items in _taken(survey, sites):
            counts = [survey.most_of(item) for item in items]
            most = sum(count or 0 for count in counts)
            if None not in counts and most < len(named):
                text = "{frames}; {each} takes {items}, and stock and offers have {most}"
                each = "it" if len(named) == 1 else "each"
                parts = {"items": _one_of(survey, items), "most": most or "none"}
                said = tell(text, frames=_have_to_be_used(named), each=each, **parts)
                yield Count(_names(named), len(named), most, said)
        yield from _cost(survey, sites)

    def wish(self, limit: Limit) -> LimitWish | None:
        """It may stay unused."""
        return LeftUnused(limit.place.frame or "")

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        return tell("{where} has to be used, and no card stands in it", where=whereabouts(reading.limit))


Taken = tuple[Sequence[FrameSite], tuple[str, ...]]
"""Frames, and items of which each of them takes one."""


def _holds_a_card(survey: Survey, site: FrameSite) -> bool:
    """Whether one card of those that are to be had finds its slots, with one of the boards."""
    for board in {layout.board for layout in site.candidates}:
        free = set(site.slots) - set(site.spec.keep_empty) - site.reserved[board]
        for kind in survey.kinds.values():
            own = free - site.refused.get(kind.id, frozenset())
            if survey.most_of(kind.id) != 0 and any(own.issuperset(range(n, n + kind.span)) for n in own):
                return True
    return False


def _taken(survey: Survey, sites: Sequence[FrameSite]) -> Iterator[Taken]:
    """What used frames take that they do not bring with them: a card each, a chassis, one of some boards."""
    yield [site for site in sites if _holds_a_card(survey, site)], tuple(survey.kinds)
    for chassis in sorted({site.chassis.id for site in sites}):
        yield [site for site in sites if not site.spec.owned and site.chassis.id == chassis], (chassis,)
    fitting = {
        site.name: {layout.board for layout in site.candidates}
        for site in sites
        if not (site.spec.owned and site.spec.board)
    }
    for boards in sorted({tuple(sorted(own)) for own in fitting.values() if own}):
        yield [site for site in sites if fitting.get(site.name, {""}) <= set(boards)], boards


def _cost(survey: Survey, sites: Sequence[FrameSite]) -> Iterator[Count]:
    """What the chassis and boards of the frames that have to be bought come to, beyond the budget."""
    if survey.budget is None:
        return
    least: list[Said] = []
    total = 0
    used = [site for own, items in _taken(survey, sites) if len(items) == 1 for site in own]
    for own, items in _taken(survey, sites):
        for count, offer in bought(survey, items[0], len(own)) if len(items) == 1 else ():
            total += count * offer.price
            price = Amount(offer.price, "money")
            least.append(tell("{count} x {item} at {price}", count=count, item=offer.item, price=price))
    if total > survey.budget:
        text = "{frames}: the least order is {order} = {total}; the budget is {budget}"
        amounts = {"total": Amount(total, "money"), "budget": Amount(survey.budget, "money")}
        frames = [site for site in sites if site in used]
        said = tell(text, frames=_have_to_be_used(frames), order=joined(least, " + "), **amounts)
        yield Count(_names(frames), total, survey.budget, said)


def _names(sites: Sequence[FrameSite]) -> str:
    return ", ".join(site.name for site in sites)


def _have_to_be_used(sites: Sequence[FrameSite]) -> Message:
    """Which frames have to be used."""
    if len(sites) == 1:
        return tell("frame {frame} has to be used", frame=sites[0].name)
    return tell("frames {frames} have to be used", frames=joined([site.name for site in sites], last=" and "))


def _one_of(survey: Survey, items: Sequence[str]) -> Said:
    if set(items) == set(survey.kinds):
        return "a card"
    return tell("1 x {items}", items=joined([*items], last=" or "))

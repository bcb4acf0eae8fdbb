"""Critical needs are served by the cards that are left, whichever single card fails.

Lines are patched anew then: less important needs give way, and those to spare of critical ones too. A line counts as
its card can be set, and what is asked of numbers, of cards and of lines being alike is not asked of it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, ClassVar

from solver.fitted.allotting import allot, allot_whole
from solver.fitted.frame import FrameStanding, Seated
from solver.fitted.standing import Standing
from solver.room.kind import LineType
from solver.room.message import Message, Said, tell
from solver.room.survey import Need, Survey
from solver.room.wish import Change, Document, LimitWish, room_path
from solver.room.words import Direction, Work
from solver.rules.limit import Draft, Limit, Near, Place, Reading, Rule, in_frame
from solver.rules.of_traits import need_at

Lost = tuple[FrameStanding, Seated]
"""A card that fails, with its frame."""


@dataclass(frozen=True)
class NotCritical(LimitWish):
    """A need that may be lost with a card. `index` counts entries of the file from 0."""

    sort = "critical"
    order = 11
    work: ClassVar[Work] = "relax a limit"

    index: int

    def need(self, survey: Survey) -> Need:
        """The need with that index in the file."""
        return next(need for need in survey.needs if need.index == self.index)

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "need", self.index, "critical"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        room["need"][self.index]["critical"] = False

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        return tell('"{name}": let channels be lost with a card', name=self.need(survey).name)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return "true", "false"

    def kept(self, survey: Survey) -> Message:
        return tell('"{name}" is to survive the loss of any one card', name=self.need(survey).name)


class Survive(Rule):
    """Needs that outlast any one card."""

    code = "survive"
    speaks_of = "lines"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each critical need: its channels, without those to spare."""
        for need in survey.needs:
            if need.critical and need.channels:
                place = Place(subject=need.name, direction=need.direction)
                source = ("need", need.index, "critical")
                yield Limit(self.code, place, need.channels, "channels", at_least=True, source=source, give=range(1, 2))

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """Channels that are left of the need at worst, where critical needs lack as few together as can be."""
        if any(frame.layout is None for frame in standing.frames):
            return None
        return self._worst(survey, standing, limit)[0]

    def _worst(self, survey: Survey, standing: Standing, limit: Limit) -> tuple[int, Lost | None]:
        """What is left of a need, and the card that is lost then; the first in order of those that take most."""
        need = need_at(survey, limit)
        asked = critical(survey, need.direction)
        losses = [(left_of(need, asked, supply), lost) for lost, supply in losses_of(standing, need.direction)]
        return min(losses, key=lambda loss: loss[0], default=(0, None))

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """The lines of all cards but one have to do."""
        draft.outlast(limit, need_at(draft.survey, limit))

    def losing_a_card_hurts(self, survey: Survey) -> bool:
        """Cards that serve nothing take over."""
        return any(need.critical for need in survey.needs)

    def ready_for(self, survey: Survey) -> Said | None:
        return "any one card" if any(need.critical for need in survey.needs) else None

    def lifted(self, survey: Survey) -> Survey | None:
        """The room as if no need were critical."""
        if not any(need.critical for need in survey.needs):
            return None
        return replace(survey, needs=tuple(replace(need, critical=False) for need in survey.needs))

    def wish(self, limit: Limit) -> LimitWish | None:
        """The need is not critical."""
        return NotCritical(int(limit.source[1])) if limit.source else None

    # How it is told

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        name, bound = reading.limit.place.subject or "", reading.limit.bound
        lost = None if standing is None else self._worst(survey, standing, reading.limit)[1]
        if lost is None:
            text = 'need "{name}" is critical: {used} of {bound} channels are left when a card fails'
            return tell(text, name=name, used=reading.used, bound=bound)
        text = 'need "{name}" is critical: {used} of {bound} channels are left when {card} in slot {slot} of frame '
        return tell(
            text + "{frame} fails",
            name=name,
            used=reading.used,
            bound=bound,
            card=lost[1].kind.id,
            slot=lost[1].slot,
            frame=lost[0].site.name,
        )

    def headroom(self, survey: Survey, reading: Reading, standing: Standing) -> Near | None:
        """How many channels the need could have at worst, with every other critical need kept."""
        need = need_at(survey, reading.limit)
        others = [other for other in critical(survey, need.direction) if other.name != need.name]
        worst: tuple[int, Lost] | None = None
        for lost, supply in losses_of(standing, need.direction):
            most = _most_of(need, others, supply)
            if worst is None or most < worst[0]:
                worst = most, lost
        if worst is None:
            return None
        most, (frame, seat) = worst
        own = replace(reading, used=most)
        said = tell(
            '"{name}" without {card} in slot {slot}{where}: {used} of {bound}',
            name=need.name,
            card=seat.kind.id,
            slot=seat.slot,
            where=in_frame(survey, replace(reading.limit, place=Place(frame=frame.site.name))),
            **own.amounts(bare=("used",)),
        )
        return Near(said, tell('"{name}" is critical', name=need.name), own)

    def over(self, survey: Survey, reading: Reading) -> Message:
        return tell('"{name}" is to survive the loss of any one card', name=reading.limit.place.subject or "")


def critical(survey: Survey, direction: Direction) -> list[Need]:
    """The critical needs of a direction, without what they have to spare."""
    return [replace(need, spare=0) for need in survey.needs if need.critical and need.direction == direction]


def losses_of(standing: Standing, direction: Direction) -> Iterator[tuple[Lost, Counter[LineType]]]:
    """Each card by frame and slot, and the lines of a direction that are left without it, as they can be set."""
    by_card: list[tuple[Lost, Counter[LineType]]] = []
    for frame in sorted(standing.frames, key=lambda frame: frame.site.name):
        own: dict[int, Counter[LineType]] = {}
        for line in frame.lines(direction):
            seat = frame.occupant(line.slot)
            assert seat is not None
            channels = seat.kind.on(direction, line.slot - seat.slot)
            own.setdefault(seat.slot, Counter())[channels[line.channels[0] - 1].line_type] += 1
        for seat in sorted(frame.seats, key=lambda seat: seat.slot):
            by_card.append(((frame, seat), own.get(seat.slot, Counter())))
    every = sum((lines for _, lines in by_card), Counter[LineType]())
    for lost, lines in by_card:
        yield lost, every - lines


def left_of(need: Need, asked: Sequence[Need], supply: Counter[LineType]) -> int:
    """The channels of one of some needs that such lines serve."""
    shares = allot(asked, supply).shares
    share = next(own for other, own in zip(asked, shares, strict=True) if other.name == need.name)
    return min(need.channels, sum(t.grain * count for t, count in share.items()))


def _most_of(need: Need, others: Sequence[Need], supply: Counter[LineType]) -> int:
    """The most channels that a need could have of such lines beside others; 0 where those are not met."""
    low, high = 0, sum(t.grain * count for t, count in supply.items() if need.ask in t.asks)
    while low < high:
        middle = (low + high + 1) // 2
        if allot_whole([*others, replace(need, channels=middle, spare=0)], supply) is not None:
            low = middle
        else:
            high = middle - 1
    return low

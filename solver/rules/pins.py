"""Cards that the scenario pins to a slot."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, ClassVar

from solver.fitted.standing import Standing
from solver.room.message import Message, Said, joined, tell
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Survey
from solver.room.wish import Change, Document, LimitWish, frame_in, room_path
from solver.room.words import DIRECTIONS, SIDES, Work
from solver.rules.limit import Count, Draft, Limit, Place, Reading, Rule, site_of, whereabouts


@dataclass(frozen=True)
class Unpinned(LimitWish):
    """A card that may stand elsewhere than where it is pinned."""

    sort = "pin"
    order = 60
    work: ClassVar[Work] = "lid off: move cards or straps"

    frame: str
    slot: int

    def card(self, survey: Survey) -> str:
        """The card that is pinned there."""
        return next(site.spec.pins[str(self.slot)] for site in survey.frames if site.name == self.frame)

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "frame", self.frame, "pins", str(self.slot)]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        del frame_in(room, self.frame)["pins"][str(self.slot)]

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        text = "frame {frame}: let {card} stand elsewhere than in slot {slot}"
        return tell(text, frame=self.frame, card=self.card(survey), slot=self.slot)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return self.card(survey), None

    def kept(self, survey: Survey) -> Message:
        text = "frame {frame}: {card} is pinned to slot {slot}{numbers}"
        return tell(text, frame=self.frame, card=self.card(survey), slot=self.slot, numbers=self._numbers(survey))

    def _numbers(self, survey: Survey) -> Said:
        """Where the numbers of its slot begin, in the card's directions in which a need asks something of numbers."""
        site, kind = survey.site(self.frame), survey.kinds.get(self.card(survey))
        if site is None or kind is None:
            return ""
        asked = {n.direction for n in survey.needs if n.wanted is not None and n.wanted.frame in (None, site.index)}
        told: list[Said] = []
        for direction in (
            d for d in DIRECTIONS if d in asked and any(kind.channels.get((d, p)) for p in range(kind.span))
        ):
            blocks = {layout.blocks(direction)[self.slot - 1] for layout in site.layouts}
            firsts = sorted({block.first for block in blocks if block.width})
            if firsts and len(firsts) <= MOST_FIRSTS:
                numbers = joined([str(first) for first in firsts], last=" or ")
                told.append(tell(f"first {SIDES[direction][:-1]} is {{numbers}}", numbers=numbers))
        return tell(", whose {told}", told=joined(told, last=" and ")) if told else ""


MOST_FIRSTS = 3
"""Of so many numbers with which a slot may begin a reader still has a use."""


class Pins(Rule):
    """Cards that stand where they are pinned."""

    code = "pins"
    speaks_of = "cards"
    sparing = True

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each pin: that card with its first slot there."""
        for site in survey.frames:
            for slot, card in sorted((int(s), c) for s, c in site.spec.pins.items()):
                yield Limit(
                    self.code,
                    Place(frame=site.name, slot=slot, subject=card),
                    1,
                    "cards",
                    at_least=True,
                    source=("frame", site.name, "pins", str(slot)),
                    give=range(1, 2),
                )

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int:
        """Whether the card stands there: 1 or 0."""
        where, card = limit.place, limit.place.subject
        return sum(
            frame.site.name == where.frame and seat.slot == where.slot and seat.kind.id == card
            for frame in standing.frames
            for seat in frame.seats
        )

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """The pinned seat is taken."""
        seats = draft.seats(site_of(draft.survey, limit), limit.place.subject)
        draft.hold(limit, [(1, seat.term) for seat in seats if seat.slot == limit.place.slot])

    def wants(self, survey: Survey) -> Collection[str]:
        """Cards that are pinned."""
        return {card for site in survey.frames for card in site.spec.pins.values()}

    def tells_apart(self, survey: Survey, site: FrameSite, layout: Layout, slot: int) -> object:
        """Each slot that a pinned card takes."""
        pins = ((int(first), survey.kinds[card].span) for first, card in site.spec.pins.items())
        return slot if any(first <= slot < first + span for first, span in pins) else None

    def counts(self, survey: Survey) -> Iterator[Count]:
        """Cards that are pinned where a slot is kept empty, or that there are none of."""
        for site in survey.frames:
            for slot, card in sorted((int(s), c) for s, c in site.spec.pins.items()):
                where = {"frame": site.name, "card": card}
                kept = sorted(set(range(slot, slot + survey.kinds[card].span)) & set(site.spec.keep_empty))
                if kept:
                    text = "frame {frame}: {card} is pinned to slot {slot} but slot {kept} is kept empty"
                    yield Count(card, 1, 0, tell(text, **where, slot=slot, kept=kept[0]))
                if survey.most_of(card) == 0:
                    text = "frame {frame}: {card} is pinned but neither in stock nor on offer"
                    yield Count(card, 1, 0, tell(text, **where))

    def lifted(self, survey: Survey) -> Survey | None:
        if not any(site.spec.pins for site in survey.frames):
            return None
        specs = [site.spec.model_copy(update={"pins": {}}) for site in survey.frames]
        frames = tuple(replace(site, spec=spec) for site, spec in zip(survey.frames, specs, strict=True))
        return replace(survey, frames=frames)

    def hurdle(self, survey: Survey, channels: int, broken: Sequence[Reading]) -> Message:
        pins = [Unpinned(each.limit.place.frame or "", each.limit.place.slot or 0) for each in broken]
        return joined([pin.kept(survey) for pin in pins], "; ")

    def wish(self, limit: Limit) -> LimitWish | None:
        """The card may stand elsewhere."""
        return Unpinned(limit.place.frame or "", limit.place.slot or 0)

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        text = "{where}: {card} is pinned here and does not stand here"
        return tell(text, where=whereabouts(reading.limit), card=reading.limit.place.subject or "")

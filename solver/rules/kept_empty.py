"""Slots that the scenario keeps empty."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, ClassVar, Self

from solver.fitted.standing import Standing
from solver.room.kind import Kind
from solver.room.message import Message, Said, joined, tell
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Survey
from solver.room.wish import Change, Document, LimitWish, frame_in, room_path
from solver.room.words import Work, write_ranges
from solver.rules.limit import Draft, Limit, Place, Reading, Rule, frames_at, site_of, whereabouts


@dataclass(frozen=True)
class SlotUsed(LimitWish):
    """A slot that need not be kept empty."""

    sort = "empty"
    order = 70
    work: ClassVar[Work] = "lid off: move cards or straps"

    frame: str
    slot: int

    @property
    def any_slot(self) -> tuple[Self, int] | None:
        return replace(self, slot=0), self.slot

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "frame", self.frame, "keep_empty", self.slot]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        frame = frame_in(room, self.frame)
        frame["keep_empty"] = [slot for slot in frame["keep_empty"] if slot != self.slot]

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        if instead:
            slots = write_ranges(sorted([self.slot, *instead]))
            return tell("frame {frame}: let one of slots {slots} be used", frame=self.frame, slots=slots)
        return tell("frame {frame}: let slot {slot} be used", frame=self.frame, slot=self.slot)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return "empty", None

    def kept(self, survey: Survey) -> Message:
        return _kept_empty(self.frame, [self.slot])

    @classmethod
    def kept_together(cls, survey: Survey, wishes: Sequence[Self]) -> list[tuple[list[Self], Message]]:
        """All slots of a frame together."""
        slots: dict[str, list[Self]] = {}
        for wish in wishes:
            slots.setdefault(wish.frame, []).append(wish)
        return [(own, _kept_empty(frame, [wish.slot for wish in own])) for frame, own in slots.items()]


def _kept_empty(frame: str, slots: list[int]) -> Message:
    said = "slots {slots} are" if len(slots) > 1 else "slot {slots} is"
    return tell(f"frame {{frame}}: {said} kept empty", frame=frame, slots=write_ranges(slots))


class KeptEmpty(Rule):
    """Slots that the scenario keeps empty."""

    code = "kept-empty"
    speaks_of = "cards"
    sparing = True

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
        cells = draft.cells(site, limit.place.slot)
        draft.hold(limit, [(taken, seat.term) for cell in cells for taken, seat in draft.covering(cell)])

    def shuts(self, limit: Limit, site: FrameSite, layout: Layout, kind: Kind) -> Collection[int]:
        """The slot to keep empty."""
        return (limit.place.slot or 0,)

    def lifted(self, survey: Survey) -> Survey | None:
        if not any(site.spec.keep_empty for site in survey.frames):
            return None
        specs = [site.spec.model_copy(update={"keep_empty": ()}) for site in survey.frames]
        frames = tuple(replace(site, spec=spec) for site, spec in zip(survey.frames, specs, strict=True))
        return replace(survey, frames=frames)

    def hurdle(self, survey: Survey, channels: int, broken: Sequence[Reading]) -> Message:
        wishes = [SlotUsed(each.limit.place.frame or "", each.limit.place.slot or 0) for each in broken]
        return joined([said for _, said in SlotUsed.kept_together(survey, wishes)], "; ")

    def wish(self, limit: Limit) -> LimitWish | None:
        """A card may take the slot."""
        return SlotUsed(limit.place.frame or "", limit.place.slot or 0)

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        text = "{where}: this slot is to be kept empty, and a card takes it"
        return tell(text, where=whereabouts(reading.limit))

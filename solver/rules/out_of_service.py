"""What is out of service serves nothing: channels, numbers and looms; cards and stock are not there."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, ClassVar

from solver.fitted.frame import FrameStanding, Use
from solver.fitted.standing import Standing
from solver.room.faults import quote
from solver.room.kind import Kind
from solver.room.message import Message, Said, joined, tell
from solver.room.out_of_service import OutOfService as Entry
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Survey
from solver.room.wish import Change, Document, LimitWish
from solver.room.words import DIRECTIONS, Direction, Work
from solver.rules.finding import Finding, at_slot, by_slot_and_need, channels_text
from solver.rules.limit import Draft, Limit, Place, Reading, Rule, Seat, frames_at


@dataclass(frozen=True)
class BackInService(LimitWish):
    """Something that may be brought back into service."""

    sort = "out-of-service"
    order = 100
    work: ClassVar[Work] = "repair"
    at_once = True

    entry: int

    def _entry(self, survey: Survey) -> Entry:
        return survey.scenario.out_of_service[self.entry]

    def path(self, survey: Survey) -> list[str | int]:
        return ["out_of_service", self.entry]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        entry = self._entry(survey)
        own = document["out_of_service"]
        own.remove(next(each for each in own if each.get(entry.key) == entry.what))

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        entry = self._entry(survey)
        return tell("bring {what} back into service ({symptom})", what=entry.told, symptom=quote(entry.symptom))

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return "out of service", None

    def kept(self, survey: Survey) -> Message:
        return tell("{what} is out of service", what=self._entry(survey).told)


class OutOfService(Rule):
    """What the scenario says is out of service."""

    code = "out-of-service"
    speaks_of = "lines"
    silencing = True

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each entry: no channel that serves, or no item that a build cannot have without it."""
        entries = survey.scenario.out_of_service
        for site in survey.frames:
            for entry in sorted({dead.entry for dead in site.dead}):
                place = Place(frame=site.name, subject=entries[entry].told)
                source = ("out_of_service", entry)
                yield Limit(self.code, place, 0, "channels", source=source, give=range(1, 2))
        for n, own in enumerate(entries):
            item = survey.scenario.item_of(own)
            if item is not None:
                place = Place(subject=item)
                yield Limit(self.code, place, 0, "items", source=("out_of_service", n), give=range(1, 2))

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """Channels that are to serve on a line that is out of service, or whether an item is counted on."""
        if limit.place.frame is None:
            item = limit.place.subject or ""
            most = survey.most_of(item)
            return int(most is not None and standing.items[item] > most)
        for frame in frames_at(standing, limit):
            return None if frame.layout is None else len(_serving(frame, limit))
        return None

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """An item is there again if it is brought back; lines are there or not by what the limit silences."""
        if limit.place.frame is None:
            draft.bring_back(limit, limit.place.subject or "")

    def silences(self, limit: Limit, seat: Seat, layout: Layout, direction: Direction, part: int) -> Collection[int]:
        """Those that are out of service."""
        channels = range(1, layout.block(direction, seat.slot + part).width + 1)
        own = [dead for dead in seat.site.dead if dead.entry == _entry_of(limit)]
        numbers = {n: layout.number(direction, seat.slot + part, n) for n in channels}
        return {
            n for n in channels for dead in own if dead.hits((seat.kind.id, direction, part, n), seat.slot, numbers[n])
        }

    def tells_apart(self, survey: Survey, site: FrameSite, layout: Layout, slot: int) -> object:
        """Each slot of which something is out of service."""
        if any(slot == dead.slot for dead in site.dead):
            return slot
        numbers = {(d, layout.number(d, slot, n + 1)) for d in DIRECTIONS for n in range(layout.block(d, slot).width)}
        hit = any(dead.direction in (None, d) and n == dead.number for d, n in numbers for dead in site.dead if n)
        return slot if hit else None

    def separates(self, survey: Survey, kind: Kind) -> object:
        """Cards that stand with something out of service."""
        return kind.id if any(kind.id == card for site in survey.frames for _, card in site.worn) else None

    def lifted(self, survey: Survey) -> Survey | None:
        if not any(site.dead for site in survey.frames):
            return None
        return replace(survey, frames=tuple(replace(site, dead=()) for site in survey.frames))

    def hurdle(self, survey: Survey, channels: int, broken: Sequence[Reading]) -> Message:
        wishes = dict.fromkeys(BackInService(_entry_of(each.limit)) for each in broken)
        return joined([wish.kept(survey) for wish in wishes], "; ")

    def wish(self, limit: Limit) -> LimitWish | None:
        """It may be brought back."""
        return BackInService(_entry_of(limit))

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        entry = survey.scenario.out_of_service[_entry_of(reading.limit)]
        text = "{item}: the build counts on {what}, which is out of service: {why}"
        return tell(text, item=reading.limit.place.subject or "", what=entry.told, why=entry.why)

    def places(self, survey: Survey, frame: FrameStanding, limit: Limit) -> Iterator[Finding]:
        """Each place of a frame where it is broken."""
        entry = survey.scenario.out_of_service[_entry_of(limit)]
        serving = _serving(frame, limit)
        for (slot, name), indices in by_slot_and_need(serving).items():
            direction = next(use.need.direction for use in serving if use.need.name == name)
            verb = "carries" if len(set(indices)) == 1 else "carry"
            text = f"{at_slot(frame, slot)}: {channels_text(direction, indices)} {verb} {quote(name)}"
            text += f", and {entry.told} is out of service: {entry.why}"
            yield Finding(text, len(indices), frame.site.name, slot, name)


def _entry_of(limit: Limit) -> int:
    """The entry behind a limit, counted from 0."""
    return int(limit.source[1]) if limit.source else 0


def _serving(frame: FrameStanding, limit: Limit) -> list[Use]:
    """The channels that are to serve on lines of which one is out of service by an entry."""
    dead = [dead for dead in frame.site.dead if dead.entry == _entry_of(limit)]
    found = []
    for use in frame.named:
        seat = frame.occupant(use.slot)
        if seat is None or use.channel is None or use.number is None:
            continue
        part, first = use.slot - seat.slot, use.number - use.index
        places = [((seat.kind.id, use.need.direction, part, i), first + i) for i in use.channel.line]
        if any(own.hits(place, seat.slot, number) for own in dead for place, number in places):
            found.append(use)
    return found

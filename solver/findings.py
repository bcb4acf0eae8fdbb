"""Where exactly a build breaks a limit that it breaks in places: frame, slot, card and channels, in words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from solver.faults import quote, unknown
from solver.rules.limit import Limit, frames_at
from solver.rules.straps import BOARD, LEGAL
from solver.standing import FrameStanding, Standing, Use
from solver.survey import Survey
from solver.words import Direction, write_ranges


@dataclass(frozen=True, slots=True)
class Finding:
    """One place where a limit is broken: `found` is how much of it in the limit's unit."""

    text: str
    found: int
    frame: str
    slot: int | None = None
    subject: str | None = None


def findings(survey: Survey, standing: Standing, limit: Limit) -> list[Finding]:
    """Each place where a build breaks a limit; empty for limits that are broken as a whole."""
    look = _LOOKS.get(limit.rule)
    return [] if look is None else [found for f in _frames(standing, limit) for found in look(survey, f, limit)]


def _frames(standing: Standing, limit: Limit) -> Iterable[FrameStanding]:
    return standing.frames if limit.place.frame is None else frames_at(standing, limit)


def _at(frame: FrameStanding, slot: int) -> str:
    return f"frame {frame.site.name}, slot {slot}"


def _listed(parts: list[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def _channels(direction: Direction | None, indices: Iterable[int]) -> str:
    numbers = sorted(set(indices))
    return f"{direction}put channel{'s' if len(numbers) > 1 else ''} {write_ranges(numbers)}"


def _slots(slots: Iterable[int]) -> str:
    numbers = list(slots)
    return f"slot{'s' if len(numbers) > 1 else ''} {write_ranges(numbers)}"


def _seats(survey: Survey, frame: FrameStanding, limit: Limit) -> Iterator[Finding]:
    slot, chassis = limit.place.slot, frame.site.chassis
    if slot is not None:
        there = [f"{seat.kind.id} in {_slots(seat.covers)}" for seat in frame.seats if slot in seat.covers]
        yield Finding(
            f"{_at(frame, slot)}: {_listed(there)} take it, and it has room for one card",
            len(there),
            frame.site.name,
            slot,
        )
        return
    for seat in frame.seats:
        outside = [s for s in seat.covers if s not in frame.site.slots]
        if outside:
            text = f"{seat.kind.id} takes {_slots(seat.covers)}; {chassis.id} has slots 1 to {chassis.slot_count}"
            yield Finding(f"{_at(frame, seat.slot)}: {text}", len(outside), frame.site.name, seat.slot, seat.kind.id)


def _straps(survey: Survey, frame: FrameStanding, limit: Limit) -> Iterator[Finding]:
    name, group = frame.site.name, limit.place.subject or ""
    board, asked = frame.built.board, frame.site.spec.board
    if group == LEGAL:
        for stray in frame.strays:
            yield Finding(
                f"frame {name}: {stray.text}", 1, name, None, stray.groups[0] if len(stray.groups) == 1 else None
            )
    elif group != BOARD:
        text = f"{quote(group)} is at {frame.built.straps.get(group)}; {frame.site.spec.straps[group]} is asked for"
        yield Finding(f"frame {name}: {text}", 1, name, None, group)
    elif board not in frame.site.chassis.boards:
        fitting = ", ".join(sorted(frame.site.chassis.boards))
        yield Finding(f"frame {name}: {board} does not fit {frame.site.chassis.id} ({fitting})", 1, name, None, group)
    else:
        yield Finding(f"frame {name}: its board is {board}; {asked} is asked for", 1, name, None, group)


def _serves(survey: Survey, frame: FrameStanding, limit: Limit) -> Iterator[Finding]:
    needs = {need.name: need for need in survey.needs}
    told: dict[tuple[int, str], list[int]] = {}
    for service in frame.built.serves or ():
        told.setdefault((service.slot, service.need), []).extend(service.indices())
    there = {(use.slot, use.need.name, use.index) for use in frame.named if use.channel is not None}
    for (slot, name), indices in told.items():
        lost = [index for index in indices if (slot, name, index) not in there]
        if not lost:
            continue
        seat = frame.occupant(slot)
        if name not in needs:
            text = unknown("", (), name, needs, "is no need of this scenario").text()
        elif seat is None:
            text = f"no card stands there to carry {quote(name)}"
        else:
            text = f"{seat.kind.id} has no {_channels(needs[name].direction, lost)} there to carry {quote(name)}"
        yield Finding(f"{_at(frame, slot)}: {text}", len(lost), frame.site.name, slot, name)


def _by_slot_and_need(uses: Iterable[Use]) -> dict[tuple[int, str], list[int]]:
    found: dict[tuple[int, str], list[int]] = {}
    for use in uses:
        found.setdefault((use.slot, use.need.name), []).append(use.index)
    return dict(sorted(found.items()))


def _signals(survey: Survey, frame: FrameStanding, limit: Limit) -> Iterator[Finding]:
    need = next(n for n in survey.needs if n.name == limit.place.subject)
    wrong = [u for u in frame.named if u.need == need and u.channel and need.signal not in u.channel.line_type.signals]
    for (slot, name), indices in _by_slot_and_need(wrong).items():
        seat = frame.occupant(slot)
        text = f"{_channels(need.direction, indices)} of {seat.kind.id if seat else 'a card'}"
        verb = "does" if len(set(indices)) == 1 else "do"
        text = f"{text} {verb} not take {need.signal}, which {quote(name)} asks for"
        yield Finding(f"{_at(frame, slot)}: {text}", len(indices), frame.site.name, slot, name)


def _shared(survey: Survey, frame: FrameStanding, limit: Limit) -> Iterator[Finding]:
    direction = limit.place.direction
    lines: dict[tuple[int, tuple[int, ...]], list[Use]] = {}
    for use in frame.named:
        if use.need.direction == direction and use.channel is not None:
            lines.setdefault((use.slot, use.channel.line), []).append(use)
    told: dict[tuple[int, str], list[int]] = {}
    for (slot, line), uses in sorted(lines.items()):
        names = sorted({use.need.name for use in uses})
        indices = [use.index for use in uses]
        if len(names) > 1:
            shared = indices if len(set(indices)) < len(indices) else line
            told.setdefault((slot, f"carry {_listed([quote(name) for name in names])}"), []).extend(shared)
        elif len(set(indices)) < len(indices):
            twice = [i for i in indices if indices.count(i) > 1]
            told.setdefault((slot, f"carry {quote(names[0])} more than once"), []).extend(twice)
    for (slot, what), channels in told.items():
        one = len(set(channels)) == 1
        said = what.replace("carry", "carries", 1) if one else what
        text = f"{_channels(direction, channels)} {said}"
        if not one and "more than once" not in what:
            text += "; each line carries one need"
        yield Finding(f"{_at(frame, slot)}: {text}", 2, frame.site.name, slot)


def _numbers(survey: Survey, frame: FrameStanding, limit: Limit) -> Iterator[Finding]:
    direction = limit.place.direction or "in"
    numbered = {(slot, ch.index) for slot, ch, number in frame.channels(direction) if number is not None}
    bad = [
        use
        for use in frame.named
        if use.need.direction == direction
        and use.channel is not None
        and any((use.slot, i) not in numbered for i in use.channel.line)
    ]
    for (slot, name), indices in _by_slot_and_need(bad).items():
        bare = [i for i in indices if (slot, i) not in numbered]
        verbs = ("has", "carries") if len(set(bare or indices)) == 1 else ("have", "carry")
        if bare:
            text = f"{_channels(direction, bare)} {verbs[0]} no number and {verbs[1]} {quote(name)}"
        else:
            text = f"{_channels(direction, indices)} {verbs[1]} {quote(name)}, and the rest of the line has no number"
        yield Finding(f"{_at(frame, slot)}: {text}", len(indices), frame.site.name, slot, name)


_LOOKS: dict[str, Callable[[Survey, FrameStanding, Limit], Iterator[Finding]]] = {
    "seats": _seats,
    "straps": _straps,
    "serves": _serves,
    "signals": _signals,
    "channels": _shared,
    "numbers": _numbers,
}

"""What needs ask of their numbers: frames and numbers that there are, no number twice, and nothing that cannot be."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from solver.room.faults import Fault, Path, quote, unknown
from solver.room.hardware import LEVEL, Board, Card, Chassis
from solver.room.scenario import Need, Room
from solver.room.words import SIDES, Family, parse_ranges


def check_numbers(file: str, place: Path, room: Room) -> Iterator[Fault]:
    """Faults of what the needs of a room ask of their numbers that can be seen without hardware."""
    frames = [frame.name for frame in room.frame]
    taken: dict[tuple[str, str, int], str] = {}
    sends: dict[str, str] = {}
    for need, told_at in _with_numbers(place, room):
        where = (*place, "need", need.name)
        if need.may_split and (need.consecutive or not (need.pairs or need.returns_on)):
            message = (
                "means nothing without pairs = true or returns_on, nor of a run (consecutive), which is in one frame"
            )
            yield Fault(file, (*where, "may_split"), message, "true", severity="warning")
        if not need.particular:
            continue
        for key in ("bank_of", "one_card"):
            if getattr(need, key) and not need.consecutive:
                yield Fault(file, (*where, key), "goes with consecutive = true alone")
        if need.returns_on is not None:
            yield from _returns(file, where, need, room, sends)
            if need.importance == "nice":
                yield Fault(file, (*where, "importance"), "what comes back (returns_on) has to be met", "nice")
        yield from _on_cards(file, where, need, room)
        if need.numbers is None:
            continue
        asked = list(_frame_and_form(file, where, need, frames))
        if not asked:
            numbers = _numbers(need)
            asked += _listed(file, where, need, numbers)
            frame = need.numbers.frame or frames[0]
            asked += _taken(file, where, need, [(need.direction, frame, n) for n in numbers], taken)
        yield from map(told_at, asked)


def _with_numbers(place: Path, room: Room) -> Iterator[tuple[Need, Callable[[Fault], Fault]]]:
    """The needs of a room, with the numbers of the one that they are tied to where only that lists any.

    Faults of those are told at the key that ties them.
    """
    by_name = {need.name: need for need in room.need}
    back = {need.returns_on: need.name for need in reversed(room.need) if need.returns_on in by_name}
    for need in room.need:
        other = by_name.get(need.returns_on or back.get(need.name, ""))
        if need.numbers is not None or other is None or other.numbers is None or other.demand != need.demand:
            yield need, lambda fault: fault
            continue
        tie = (*place, "need", need.name if need.returns_on else other.name, "returns_on")
        listed = quote(other.name)

        def at_the_tie(fault: Fault, tie: Path = tie, listed: str = listed) -> Fault:
            if fault.path[-1] != "numbers":
                return fault
            return replace(fault, path=tie, message=f"{fault.message} (the numbers of {listed})")

        yield need.model_copy(update={"numbers": other.numbers}), at_the_tie


def _numbers(need: Need) -> Sequence[int]:
    """The numbers that its channels ask for."""
    asked = need.numbers
    assert asked is not None
    if asked.from_ is not None:
        return range(asked.from_, asked.from_ + need.demand)
    return parse_ranges(asked.list or "1", repeats=True)[: need.demand]


def _returns(file: str, where: Path, need: Need, room: Room, sends: dict[str, str]) -> Iterator[Fault]:
    """Returns that are no need in, or of another size, or of another send already, or on other numbers."""
    place = (*where, "returns_on")
    if need.direction == "in":
        yield Fault(file, place, "goes with needs out alone; it names the need that they come back on")
        return
    back = next((other for other in room.need if other.name == need.returns_on), None)
    if back is None or back.direction == "out":
        names = [other.name for other in room.need if other.direction == "in"]
        yield unknown(file, place, need.returns_on or "", names, "is no need in of this room")
        return
    told = quote(back.name)
    first = sends.setdefault(back.name, need.name)
    if first != need.name:
        yield Fault(file, place, f"{quote(first)} comes back on {told} already", back.name)
    if back.demand != need.demand:
        message = f"has {need.demand} channels, and {told} has {back.demand}; each has to come back"
        yield Fault(file, place, message, back.name)
    if back.importance == "nice":
        yield Fault(file, place, f"{told} has to be met then, and is nice to have", back.name)
    levels = [each.settings[LEVEL] for each in (need, back) if LEVEL in each.settings]
    if len(set(levels)) > 1:
        message = f"asks for {levels[0]}, and {told}, which it comes back on, for {levels[1]}"
        yield Fault(file, (*where, "settings", LEVEL), message, levels[0])
    if back.numbers is not None and need.numbers is not None:
        here, there = (each.numbers.frame if each.numbers else None for each in (need, back))
        if (here or there) != (there or here) or [*_numbers(need)] != [*_numbers(back)]:
            yield Fault(file, place, f"asks for other numbers than {told}, which it comes back on", back.name)


def _on_cards(file: str, where: Path, need: Need, room: Room) -> Iterator[Fault]:
    """Other needs that are none, and so few channels on a card that what else is asked for cannot be."""
    most = need.max_per_card
    if most is not None and need.one_card and most < need.demand:
        message = f"{need.demand} channels are to lie on one card (one_card)"
        yield Fault(file, (*where, "max_per_card"), message, str(most))
    elif most == 1 and need.pairs and need.demand > 1:
        yield Fault(file, (*where, "max_per_card"), "a pair lies on one card (pairs)", "1")
    by_name = {other.name: other for other in room.need}
    for n, name in enumerate(need.apart_from, 1):
        place = (*where, "apart_from", n)
        if name == need.name:
            yield Fault(file, place, "is the need itself", name)
        elif name not in by_name:
            yield unknown(file, place, name, by_name.keys() - {need.name}, "is no need of this room")


def _frame_and_form(file: str, where: Path, need: Need, frames: Sequence[str]) -> Iterator[Fault]:
    asked = need.numbers
    assert asked is not None
    if (asked.from_ is None) == (asked.list is None):
        found = "none" if asked.from_ is None else "both"
        yield Fault(file, (*where, "numbers"), f'must have one of "from" and "list", found {found}', found)
    if asked.frame is None and len(frames) > 1:
        message = "numbers are those of one frame; say which one"
        yield Fault(file, (*where, "numbers", "frame"), message, None, tuple(sorted(frames)))
    elif asked.frame is not None and asked.frame not in frames:
        yield unknown(file, (*where, "numbers", "frame"), asked.frame, frames, "is no frame of this room")


def _listed(file: str, where: Path, need: Need, numbers: Sequence[int]) -> Iterator[Fault]:
    """What a list of numbers lacks, and where it cannot be what else is asked for."""
    asked = need.numbers
    assert asked is not None
    place = (*where, "numbers")
    if asked.list is not None:
        listed = parse_ranges(asked.list)
        if len(listed) != need.demand:
            message = f"lists {len(listed)} numbers for {need.demand} channels"
            if len(listed) > need.demand:
                yield Fault(file, place, f"{message}; the last of them are not used", asked.list, severity="warning")
            else:
                yield Fault(file, place, message, asked.list)
    if need.consecutive and any(after != before + 1 for before, after in pairwise(numbers)):
        yield Fault(file, place, "is no run of numbers in order, and consecutive = true asks for one", asked.list)
    elif need.consecutive and need.bank_of and numbers[0] % need.bank_of != 1:
        message = f"begins on {numbers[0]}, and banks of {need.bank_of} begin on 1, {1 + need.bank_of} and so on"
        yield Fault(file, place, message, str(numbers[0]))
    if need.pairs:
        ends = [*numbers[1::2], *([None] if len(numbers) % 2 else [])]
        wrong = [(a, b) for a, b in zip(numbers[::2], ends, strict=True) if a % 2 == 0 or b not in (None, a + 1)]
        if wrong:
            first, second = wrong[0]
            told = f"{first} and {second}" if second else f"{first}"
            yield Fault(file, place, f"{told}: a pair is an odd number and the next one", told)


def _taken(
    file: str,
    where: Path,
    need: Need,
    numbers: Sequence[tuple[str, str, int]],
    taken: dict[tuple[str, str, int], str],
) -> Iterator[Fault]:
    """A number that another need asks for already."""
    shared = [number for number in numbers if taken.get(number, need.name) != need.name]
    if shared:
        direction, frame, number = shared[0]
        side = SIDES["in" if direction == "in" else "out"][:-1]
        message = f"{quote(taken[shared[0]])} asks for {side} {number} of frame {quote(frame)} already"
        yield Fault(file, (*where, "numbers"), message, str(number))
    for each in numbers:
        taken.setdefault(each, need.name)


def check_numbers_there(
    file: str,
    place: Path,
    room: Room,
    boards: Mapping[str, Board],
    chassis: Mapping[str, Chassis],
    cards: Mapping[str, Card],
    family: Family,
) -> Iterator[Fault]:
    """Numbers, runs and pairs that no board of the room's frames and no card could ever give."""
    for need, told_at in _with_numbers(place, room):
        if not need.particular:
            continue
        where = (*place, "need", need.name)
        asked = need.numbers
        frames = [f for f in room.frame if asked is None or asked.frame in (None, f.name)]
        ids = {b for f in frames if f.chassis in chassis for b in ([f.board] if f.board else chassis[f.chassis].boards)}
        limits = [boards[b].limits.get(family) for b in sorted(ids) if b in boards]
        most = max((getattr(limit, SIDES[need.direction]) for limit in limits if limit is not None), default=None)
        if most is None or not need.demand:
            continue
        sides = f"{SIDES[need.direction]} in the {family} kHz family"
        if asked is not None:
            last = max(_numbers(need))
            if last > most:
                message = f"asks for number {last}, and there are {most} {sides}"
                yield told_at(Fault(file, (*where, "numbers"), message, str(last)))
        elif need.consecutive and need.demand > most:
            message = f"asks for a run of {need.demand} numbers, and a frame has at most {most} {sides}"
            yield Fault(file, (*where, "consecutive"), message, str(need.demand))
        if need.max_per_card:
            cards_needed, slots = (
                -(-need.demand // need.max_per_card),
                sum(chassis[f.chassis].slot_count for f in frames if f.chassis in chassis),
            )
            if cards_needed > slots:
                message = f"asks for {cards_needed} cards for {need.demand} channels, and there are {slots} slots"
                yield Fault(file, (*where, "max_per_card"), message, str(need.max_per_card))
        widest = max((_adjacent(card, need, family) for card in cards.values()), default=0)
        if widest and need.pairs and need.demand > 1 and widest < 2:
            message = f"no card takes two channels of {quote(need.signal)} next to each other"
            yield Fault(file, (*where, "pairs"), message, "true")
        if widest and need.one_card and widest < need.demand:
            message = f"no card takes {need.demand} channels of {quote(need.signal)} next to each other, only {widest}"
            yield Fault(file, (*where, "one_card"), message, str(need.demand))


def _adjacent(card: Card, need: Need, family: Family) -> int:
    """The most channels next to each other that a card takes of a need's signal; its slots follow each other."""
    most = run = 0
    ports = sorted((p for p in card.ports if p.direction == need.direction), key=lambda port: port.on_slot)
    for port in ports:
        channels = port.channels.get(family, 0)
        run = run + channels if need.signal in port.signals else 0 if channels else run
        most = max(most, run)
    return most

"""Far ends, tie lines and cables: what they name is there, and every conductor has one driver and one receiver."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field

from solver.files.partcheck import same_names
from solver.room.connectors import Pinout
from solver.room.ends import Cable, FarEnd, ListedEnd, Plug, TieLine, misfit, parse_level
from solver.room.faults import Fault, Path, quote, unknown
from solver.room.scenario import Need, Room
from solver.room.signals import DIGITAL
from solver.room.words import DIRECTIONS, Direction, parse_ranges, write_ranges


@dataclass
class _Taken:
    """What each conductor is taken by, in words; sockets and tie lines by needs of other days or phases too."""

    times: Sequence[Set[str]]
    channels: dict[tuple[str, int], str] = field(default_factory=dict)
    sockets: dict[tuple[str, str, int | None], dict[str, str]] = field(default_factory=dict)
    lines: dict[tuple[str, int], dict[str, str]] = field(default_factory=dict)
    cables: dict[str, str] = field(default_factory=dict)
    on_cable: Counter[tuple[str, Direction]] = field(default_factory=Counter)

    def first(self, own: dict[str, str], need: str, told: str) -> str:
        """What has taken a conductor already while a need is there, or else what that is taken by now."""
        for other, said in own.items():
            if not self.times or other == need or any({need, other} <= needs for needs in self.times):
                return said
        own[need] = told
        return told


def check_ends(
    file: str, path: Path, room: Room, pinouts: Mapping[str, Pinout], times: Sequence[Set[str]] = ()
) -> Iterator[Fault]:
    """Faults of a room's far ends, tie lines and cables.

    Parameters
    ----------
    pinouts
        All pinouts that there are, by id.
    times
        The needs of each kind of day or phase; all at once without any.
    """
    ties = {line.name: line for line in room.tie_line}
    cables = {cable.number: cable for cable in room.cable}
    yield from same_names(file, path, "tie_line", [line.name for line in room.tie_line])
    yield from _tie_lines(file, path, room)
    taken = _Taken(times)
    yield from _cables(file, path, room, taken)
    needs = {need.name: need for need in room.need}
    for n, end in enumerate(room.far_end, 1):
        place: Path = (*path, "far_end", n)
        yield from _of_itself(file, place, end, pinouts)
        if end.need is None:
            yield from _description(file, place, end, room)
            continue
        need = needs.get(end.need)
        if need is None:
            yield unknown(file, (*place, "need"), end.need, needs, "is no need of this room")
            continue
        if end.feeds is not None and need.direction == "in":
            yield Fault(file, (*place, "feeds"), f"{quote(need.name)} comes in, so it feeds nothing", end.feeds)
        if end.tone is not None and need.signal in DIGITAL:
            message = f"a level in dBu is for analogue lines, and {quote(need.name)} is {need.signal}"
            yield Fault(file, (*place, "tone"), message, end.tone)
        channels = end.channels_of(need.demand)
        yield from _conductors(file, (place, path), end, need, channels, taken)
        yield from _via(file, place, end, need, len(channels), ties, taken)
        if end.cable is not None:
            yield from _cable(file, place, end, need, cables, ties, taken)
            taken.on_cable[end.cable, need.direction] += len(channels)
    yield from _more_than_pins(file, path, room, pinouts, taken)


def _tie_lines(file: str, path: Path, room: Room) -> Iterator[Fault]:
    seen: dict[tuple[str, int], str] = {}
    for line in room.tie_line:
        place: Path = (*path, "tie_line", line.name)
        far, near = line.far.labels(), line.near.labels()
        if len(far) != len(near):
            message = f"has {len(near)} numbers, and the far end has {len(far)}: each line has one at both ends"
            yield Fault(file, (*place, "near", "numbers"), message, line.near.numbers)
        for key, end in (("far", line.far), ("near", line.near)):
            for number in end.labels():
                first = seen.setdefault((end.at, number), f"{key} end of {quote(line.name)}")
                if first != f"{key} end of {quote(line.name)}":
                    message = f"{number} at {quote(end.at)} is a number of the {first} already"
                    yield Fault(file, (*place, key, "numbers"), message, str(number))


def _cables(file: str, path: Path, room: Room, taken: _Taken) -> Iterator[Fault]:
    seen: set[str] = set()
    blocks: dict[tuple[str, int, int], str] = {}
    bays = {bay.name: bay for bay in room.bay}
    for n, cable in enumerate(room.cable, 1):
        place: Path = (*path, "cable", n)
        if cable.number in seen:
            message = f"{quote(cable.number)} is the number of another cable; numbers are never used again"
            yield Fault(file, (*place, "number"), message, cable.number)
        seen.add(cable.number)
        if cable.at is None:
            continue
        bay = bays.get(cable.at.bay)
        if bay is None:
            yield unknown(file, (*place, "at", "bay"), cable.at.bay, bays, "is no bay of this room")
        elif not bay.has(cable.at.point):
            message = f"{quote(cable.at.point)} is no point of {quote(bay.name)}"
            yield Fault(file, (*place, "at", "point"), message, cable.at.point)
        else:
            block = (bay.name, *bay.block_of(cable.at.point))
            first = blocks.setdefault(block, cable.number)
            if first != cable.number:
                message = f"cable {quote(first)} is fixed to this block already"
                yield Fault(file, (*place, "at"), message, cable.at.point)
            taken.cables[cable.number] = f"the back of bay {quote(bay.name)}"
            if bay.rear is not None:
                rear = Plug(connector=bay.rear.connector, gender=bay.rear.gender)
                yield from _mates(file, (*place, "other_end"), cable.other_end, rear, f"the back of {quote(bay.name)}")


def _of_itself(file: str, place: Path, end: FarEnd, pinouts: Collection[str]) -> Iterator[Fault]:
    """What an entry says that cannot be, whatever else there is."""
    if end.nominal is not None and end.maximum is not None and parse_level(end.nominal) > parse_level(end.maximum):
        message = f"{end.nominal} is more than the maximum, {end.maximum}"
        yield Fault(file, (*place, "nominal"), message, end.nominal)
    if end.cold is not None and end.balanced:
        yield Fault(file, (*place, "cold"), "is for lines with balanced = false", end.cold)
    if not end.balanced and end.cold is None:
        message = "says nothing of the cold leg of an unbalanced line: write joined or open"
        yield Fault(file, (*place, "cold"), message, severity="warning")
    if end.turned_at is not None and not end.inverted:
        yield Fault(file, (*place, "turned_at"), "is for lines with inverted = true", end.turned_at)
    if end.inverted and end.turned_at is None:
        message = "says at neither end that the legs are exchanged: what comes here is inverted"
        yield Fault(file, (*place, "turned_at"), message, severity="warning")
    if end.tone is not None and end.feeds is None:
        yield Fault(file, (*place, "tone"), "is for lines that say what they feed", end.tone)
    elif end.tone is not None and end.nominal is not None and parse_level(end.tone) >= parse_level(end.nominal):
        yield Fault(file, (*place, "tone"), f"is not below the nominal level, {end.nominal}", end.tone)
    if end.pinout is not None and end.pinout not in pinouts:
        yield unknown(file, (*place, "pinout"), end.pinout, pinouts, "is no pinout")


def _description(file: str, place: Path, end: FarEnd, room: Room) -> Iterator[Fault]:
    """An entry without a need, which lines of a list have to name."""
    for key in ("channels", "sockets", "cable", "via"):
        if getattr(end, key):
            yield Fault(file, (*place, key), "is for entries that name a need")
    if not any(isinstance(other, ListedEnd) and other.equipment == end.equipment for other in room.far_end):
        message = f"names no need, and no line of an input list comes from {quote(end.equipment)} or goes there"
        yield Fault(file, (*place, "need"), message)


def _conductors(
    file: str, places: tuple[Path, Path], end: FarEnd, need: Need, channels: tuple[int, ...], taken: _Taken
) -> Iterator[Fault]:
    """One far end for each channel, and one channel for each socket: one driver and one receiver."""
    place, room = places
    key = "from" if need.direction == "in" else "to"
    listed: Path | None = (*room, "need", need.name, key) if isinstance(end, ListedEnd) else None
    found = end.cell if isinstance(end, ListedEnd) else None
    past = [channel for channel in channels if channel > need.demand]
    if past:
        message = f"{quote(need.name)} has channels 1 to {need.demand}, not {write_ranges(past)}"
        yield Fault(file, (*place, "channels"), message, end.channels)
    sockets = None if end.sockets is None else parse_ranges(end.sockets)
    if sockets is not None and len(sockets) != len(channels):
        message = f"has {len(sockets)} numbers for {len(channels)} channels"
        yield Fault(file, (*place, "sockets"), message, end.sockets)
        return
    if sockets is None and len(channels) > 1:
        message = f"{len(channels)} channels of {quote(need.name)} are here: say on which sockets"
        yield Fault(file, (*place, "sockets"), message)
        return
    two = "two drivers on one receiver" if need.direction == "in" else "one driver on two receivers"
    other = "one driver on two receivers" if need.direction == "in" else "two drivers on one receiver"
    for at, channel in enumerate(channels):
        told, here = f"{quote(f'{need.name} {channel}')}", quote(end.called(end.socket(at)))
        first = taken.channels.setdefault((need.name, channel), here)
        if first is not here:
            way = "comes from" if need.direction == "in" else "goes to"
            message = f"{told} {way} {first} and {here}: {two}"
            yield Fault(file, listed or (*place, "channels"), message, found or str(channel))
        socket = end.equipment, need.direction, end.socket(at)
        before = taken.first(taken.sockets.setdefault(socket, {}), need.name, told)
        if before is not told:
            way = "goes to" if need.direction == "in" else "is fed by"
            message = f"{here} {way} {before} and {told}: {other}"
            yield Fault(file, listed or (*place, "sockets"), message, found or str(socket[2]))


def _via(
    file: str, place: Path, end: FarEnd, need: Need, count: int, ties: Mapping[str, TieLine], taken: _Taken
) -> Iterator[Fault]:
    """Tie lines on the way, each line of which carries one channel."""
    for n, via in enumerate(end.via, 1):
        where: Path = (*place, "via", n)
        tie = ties.get(via.tie_line)
        if tie is None:
            yield unknown(file, (*where, "tie_line"), via.tie_line, ties, "is no tie line of this room")
            continue
        numbers = parse_ranges(via.numbers)
        strange = [number for number in numbers if number not in tie.far.labels()]
        if strange:
            message = f"{quote(tie.name)} has {tie.far.numbers} at {quote(tie.far.at)}, not {write_ranges(strange)}"
            yield Fault(file, (*where, "numbers"), message, via.numbers)
        elif len(numbers) != count:
            message = f"has {len(numbers)} numbers for {count} channels"
            yield Fault(file, (*where, "numbers"), message, via.numbers)
        else:
            for channel, number in zip(end.channels_of(need.demand), numbers, strict=True):
                told = quote(f"{need.name} {channel}")
                first = taken.first(taken.lines.setdefault((tie.name, number), {}), need.name, told)
                if first is not told:
                    message = f"{number} carries {first} already, and {told} cannot be on the same line"
                    yield Fault(file, (*where, "numbers"), message, str(number))


def _cable(
    file: str,
    place: Path,
    end: FarEnd,
    need: Need,
    cables: Mapping[str, Cable],
    ties: Mapping[str, TieLine],
    taken: _Taken,
) -> Iterator[Fault]:
    """The cable from the equipment on: there, between two things alone, with plugs that fit."""
    where: Path = (*place, "cable")
    assert end.cable is not None
    cable = cables.get(end.cable)
    if cable is None:
        yield unknown(file, where, end.cable, cables, "is no cable of this room")
        return
    here = quote(end.equipment)
    first = taken.cables.setdefault(cable.number, here)
    if first != here:
        yield Fault(file, where, f"is between {first} and something else already, and cannot be at {here}", end.cable)
    yield from _mates(file, where, cable.other_end, end, here)
    tie = ties.get(end.via[0].tie_line) if end.via else None
    if tie is not None:
        yield from _mates(file, where, cable.card_end, tie.far, quote(tie.far.at))


def _more_than_pins(file: str, path: Path, room: Room, pinouts: Mapping[str, Pinout], taken: _Taken) -> Iterator[Fault]:
    """A warning of cables that serve more channels than a pinout of their plugs has lines for; one end may fan out."""
    for n, cable in enumerate(room.cable, 1):
        types = {plug.connector for plug in (cable.card_end, cable.other_end) if plug.connector}
        own = [pinout for pinout in pinouts.values() if pinout.type in types]
        for direction in DIRECTIONS if types <= {pinout.type for pinout in own} and own else ():
            most, count = max(pinout.room(direction) for pinout in own), taken.on_cable[cable.number, direction]
            if count > most:
                plugs = " and ".join(sorted(types))
                message = f"serves {count} channels {direction}, and no pinout of {plugs} has lines for over {most}"
                yield Fault(file, (*path, "cable", n), message, cable.number, severity="warning")


def _mates(file: str, where: Path, plug: Plug, other: Plug, called: str) -> Iterator[Fault]:
    """A warning of a plug that does not go into what it is for; what no file says fits."""
    told = misfit(plug, other)
    if told is not None:
        yield Fault(file, where, f"{told} of {called}", plug.connector, severity="warning")

"""Racks: what stands in them is there and in one of them, has a name of its own, and fits by its height."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from solver.files.partcheck import repeated, same_names
from solver.room.build import Build
from solver.room.faults import Fault, Path, quote, unknown
from solver.room.hardware import Chassis
from solver.room.racks import Rack, supply_names
from solver.room.scenario import Room
from solver.room.words import parse_ranges


def check_racks(file: str, path: Path, room: Room, chassis: Mapping[str, Chassis]) -> Iterator[Fault]:
    """Faults of a room's racks.

    Parameters
    ----------
    chassis
        Those of the hardware, by id.
    """
    yield from same_names(file, path, "rack", [rack.name for rack in room.rack])
    stands: dict[tuple[str, str], str] = {}
    for rack in room.rack:
        place: Path = (*path, "rack", rack.name)
        for key, names in (("frames", [f.name for f in room.frame]), ("bays", [b.name for b in room.bay])):
            own = getattr(rack, key)
            yield from repeated(file, (*place, key), own)
            for name in dict.fromkeys(own):
                if name not in names:
                    yield unknown(file, (*place, key), name, names, f"is no {key[:-1]} of this room")
                elif (key, name) in stands:
                    message = f"{quote(name)} is in rack {quote(stands[key, name])} already"
                    yield Fault(file, (*place, key), message, name)
                stands.setdefault((key, name), rack.name)
        yield from repeated(file, (*place, "rank"), rack.rank)
        yield from _within(file, place, rack, room, chassis)


def _within(file: str, place: Path, rack: Rack, room: Room, chassis: Mapping[str, Chassis]) -> Iterator[Fault]:
    """What is wrong inside one rack."""
    of_frame = {frame.name: chassis.get(frame.chassis) for frame in room.frame}
    named = [*rack.frames, *rack.bays]
    named += [s for f in rack.frames if (own := of_frame.get(f)) is not None for s in supply_names(f, own)]
    for name in sorted({name for name in named if named.count(name) > 1}):
        if name not in rack.frames or name in rack.bays:
            yield Fault(file, place, f"two things in this rack are called {quote(name)}", name)
    for item in rack.item:
        if item.name in named:
            message = f"something else in this rack is called {quote(item.name)}"
            yield Fault(file, (*place, "item", item.name), message, item.name)
        named.append(item.name)
        if item.in_reach and rack.reach is None:
            message = "this rack does not say what its reach is"
            yield Fault(file, (*place, "item", item.name, "in_reach"), message, "true")
    for name, unit in rack.at.items():
        if name not in named:
            yield unknown(file, (*place, "at", name), name, named, "is nothing in this rack")
        elif unit > rack.units:
            yield Fault(file, (*place, "at", name), f"this rack has units 1 to {rack.units}", str(unit))
    if rack.reach is not None and parse_ranges(rack.reach)[-1] > rack.units:
        yield Fault(file, (*place, "reach"), f"this rack has units 1 to {rack.units}", rack.reach)
    for n, cable in enumerate(rack.cable, start=1):
        for end in cable.ends:
            if end not in named:
                yield unknown(file, (*place, "cable", n, "ends"), end, named, "is nothing in this rack")
        if cable.ends[0] == cable.ends[1]:
            message = f"both ends are at {quote(cable.ends[0])}"
            yield Fault(file, (*place, "cable", n, "ends"), message, cable.ends[0])


def check_drawn_racks(
    file: str, build: Build, rooms: Mapping[str | None, Room], chassis: Mapping[str, Chassis]
) -> Iterator[Fault]:
    """Racks of a build that the scenario has not, and what stands in none of them there.

    Parameters
    ----------
    rooms
        By name; that of the only room is None.
    """
    seen: set[tuple[str | None, str]] = set()
    for drawn in build.rack:
        path: Path = ("rack", drawn.name)
        if (drawn.room, drawn.name) in seen:
            yield Fault(file, path, "is told twice", drawn.name)
        seen.add((drawn.room, drawn.name))
        room = rooms.get(drawn.room)
        if room is None:
            names = tuple(sorted(name for name in rooms if name))
            found = drawn.room or ""
            yield Fault(file, (*path, "room"), f"{quote(found)} is no room of this scenario", drawn.room, names)
            continue
        rack = next((rack for rack in room.rack if rack.name == drawn.name), None)
        if rack is None:
            yield unknown(file, path, drawn.name, [rack.name for rack in room.rack], "is no rack of this scenario")
            continue
        of_frame = {frame.name: chassis.get(frame.chassis) for frame in room.frame}
        there = [*rack.frames, *rack.bays, *(item.name for item in rack.item)]
        there += [s for f in rack.frames if (own := of_frame.get(f)) is not None for s in supply_names(f, own)]
        for name in drawn.at:
            if name not in there:
                yield unknown(file, (*path, "at", name), name, there, "is nothing in this rack")

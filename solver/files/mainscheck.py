"""Breakers: what they feed is there, and fed by one of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from solver.files.partcheck import repeated, same_names
from solver.room.faults import Fault, Path, quote, unknown
from solver.room.hardware import Chassis
from solver.room.mains import inlet_names
from solver.room.scenario import Room, Scenario


def check_breakers(
    file: str, path: Path, room: Room, scenario: Scenario, chassis: Mapping[str, Chassis]
) -> Iterator[Fault]:
    """Faults of a room's breakers.

    Parameters
    ----------
    chassis
        Those of the hardware, by id.
    """
    if scenario.mains is None and room.breaker:
        yield Fault(file, ("mains",), "is missing; breakers need the volts, as in mains = { volts = 230 }")
    yield from same_names(file, path, "breaker", [breaker.name for breaker in room.breaker])
    inlets = {f.name: inlet_names(f.name, own) for f in room.frame if (own := chassis.get(f.chassis)) is not None}
    known = {*inlets, *(name for names in inlets.values() for name in names)}
    fed: dict[str, str] = {}
    for breaker in room.breaker:
        place = (*path, "breaker", breaker.name, "feeds")
        yield from repeated(file, place, breaker.feeds)
        for name in dict.fromkeys(breaker.feeds):
            if name not in known:
                yield unknown(file, place, name, known, "is no frame of this room and no supply of one")
            for inlet in inlets.get(name, (name,)):
                if fed.setdefault(inlet, breaker.name) != breaker.name:
                    yield Fault(file, place, f"{quote(inlet)} is fed by {quote(fed[inlet])} already", inlet)

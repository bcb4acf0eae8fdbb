"""What hardware files and a scenario must agree on about rails: what is drawn is supplied, under one name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from solver.room.faults import Fault
from solver.room.hardware import Chassis, Hardware
from solver.room.rail_names import misspelt, not_supplied, rail_order
from solver.room.scenario import Scenario
from solver.room.words import enumerated, in_thousandths

Parts = Sequence[tuple[str, Hardware]]
"""Hardware files as they are shown, and what they hold."""


@dataclass(frozen=True, slots=True)
class _Entry:
    """A card, board or chassis with rail figures, and the file that it stands in."""

    file: str
    kind: str
    name: str
    rails: Mapping[str, Decimal]


MOST_NAMED = 3
"""A message names so many cards and counts the others."""


def _named_rails(parts: Parts) -> tuple[list[_Entry], dict[str, str]]:
    """Everything that has rails, and the names that mean another one."""
    entries = [
        _Entry(file, kind, item.id, item.rails)
        for file, part in parts
        for kind, items in (("card", part.card), ("board", part.board), ("chassis", part.chassis))
        for item in items
        if item.rails is not None
    ]
    supplied = [rail for entry in entries if entry.kind == "chassis" for rail in entry.rails]
    drawn = [rail for entry in entries if entry.kind != "chassis" for rail in entry.rails]
    return entries, misspelt(supplied, drawn)


def check_rails(parts: Parts) -> dict[str, list[Fault]]:
    """By file: names that mean another rail are faults; a rail that is supplied and that nothing draws is a warning."""
    entries, wrong = _named_rails(parts)
    right = sorted({rail for entry in entries for rail in entry.rails} - wrong.keys(), key=rail_order)
    drawn = {wrong.get(rail, rail) for entry in entries if entry.kind != "chassis" for rail in entry.rails}
    found: dict[str, list[Fault]] = {file: [] for file, _ in parts}
    for entry in entries:
        for rail in sorted(entry.rails, key=rail_order):
            path = (entry.kind, entry.name, "rails", rail)
            if rail in wrong:
                message = f'"{wrong[rail]}" is written elsewhere for the same rail'
                found[entry.file].append(Fault(entry.file, path, message, rail, tuple(right), wrong[rail]))
            elif entry.kind == "chassis" and entry.rails[rail] and drawn and rail not in drawn:
                message = "no card or board of these hardware files draws it"
                found[entry.file].append(Fault(entry.file, path, message, rail, severity="warning"))
    return found


def check_rails_in_use(scenario: Scenario, parts: Parts) -> Iterator[Fault]:
    """Warnings of what can be had and draws a rail that a chassis in use does not list, so that it cannot stand there.

    A chassis that lists the rail with 0 A says that it is meant. Another spelling of a rail is told as a fault.
    """
    entries, wrong = _named_rails(parts)
    frames = [frame for room in scenario.rooms() for frame in room.frame]
    on_hand = {item for item, count in scenario.owned.items() if count}
    on_hand |= {offer.item for offer in scenario.offer if offer.at_most != 0}
    seated = {each.card for room in scenario.rooms() for each in room.must_seat}
    for file, part in parts:
        for chassis in part.chassis:
            own = [frame for frame in frames if frame.chassis == chassis.id]
            if not own or chassis.rails is None:
                continue
            cards = on_hand | seated | {card for frame in own for card in frame.pins.values()}
            boards = {frame.board for frame in own} | (on_hand & set(chassis.boards))
            drawing = [e for e in entries if e.name in (cards if e.kind == "card" else boards) and e.kind != "chassis"]
            yield from _unlisted(file, chassis, drawing, wrong)


def _unlisted(file: str, chassis: Chassis, drawing: Sequence[_Entry], wrong: Mapping[str, str]) -> Iterator[Fault]:
    who: dict[str, list[str]] = {}
    listed = {wrong.get(rail, rail): 1 for rail in chassis.rails or {}}
    for entry in drawing:
        draws = {wrong.get(rail, rail): in_thousandths(amperes) for rail, amperes in entry.rails.items()}
        for rail in not_supplied(listed, draws):
            who.setdefault(rail, []).append(entry.name)
    for rail in sorted(who, key=rail_order):
        message = (
            f"{chassis.id} supplies no {rail}; {_named(who[rail])} draw{'s' if len(who[rail]) == 1 else ''} it and "
            f'cannot stand in it; write "{rail}" = 0 if that is meant'
        )
        yield Fault(file, ("chassis", chassis.id, "rails"), message, rail, severity="warning")


def _named(names: Sequence[str]) -> str:
    shown = list(names[:MOST_NAMED])
    if len(names) > MOST_NAMED:
        shown.append(f"{len(names) - MOST_NAMED} more")
    return enumerated(shown)

"""What a scenario says of failures that it is to survive."""

from __future__ import annotations

from collections.abc import Iterator

from solver.room.faults import Fault, Path
from solver.room.hardware import Chassis
from solver.room.scenario import Need, Scenario


def check_survived(file: str, scenario: Scenario, path: Path, need: Need) -> Iterator[Fault]:
    """A critical need that nothing makes so, or that gives way."""
    own = (*path, "critical")
    if need.critical and need.importance == "nice":
        yield Fault(file, own, "a need that is nice to have gives way, so it is not critical", "true")
    elif need.critical and (scenario.survive is None or (scenario.survive.supplies and not scenario.survive.cards)):
        message = "counts only where cards are to be survived: survive = { cards = 1 }"
        yield Fault(file, own, message, "true", severity="warning")
    elif need.critical and scenario.survive is not None and scenario.survive.with_ == "nothing":
        yield from _spread(file, path, need)


def _spread(file: str, path: Path, need: Need) -> Iterator[Fault]:
    """A critical need of which no card may carry anything, or that is to be on one card or in pairs all the same."""
    keeps = 'with = "nothing" lets no card carry more of it than it has to spare'
    if not need.spare:
        yield Fault(file, (*path, "spare"), f"{keeps}, and that is none: say how many channels may be lost", "0")
    elif need.one_card and need.channels:
        yield Fault(file, (*path, "one_card"), f"{keeps}, so that it cannot be on one card", "true")
    elif need.pairs and need.spare < 2 and need.demand > 1:
        yield Fault(file, (*path, "pairs"), f"{keeps}, and a pair is on one card", "true")


def check_survive(file: str, scenario: Scenario) -> Iterator[Fault]:
    """Failures that are to be survived, where there are none or nothing is critical."""
    survive = scenario.survive
    if survive is None:
        return
    if survive.cards is None and survive.supplies is None:
        yield Fault(file, ("survive",), "must say what may fail: cards = 1, supplies = 1, or both", None)
    elif survive.cards is None and "with_" in survive.model_fields_set:
        message = "says what is done when a card fails, and changes nothing without cards = 1"
        yield Fault(file, ("survive", "with"), message, survive.with_, severity="warning")
    elif survive.cards and not any(need.critical for room in scenario.rooms() for need in room.need):
        message = "no need is critical, so nothing is kept: say critical = true on those that are"
        yield Fault(file, ("survive", "cards"), message, str(survive.cards), severity="warning")


def check_one_supply(file: str, path: Path, scenario: Scenario, chassis: Chassis) -> Iterator[Fault]:
    """A frame that nothing carries when its one supply fails."""
    if scenario.survive is not None and scenario.survive.supplies and chassis.supply.count == 1:
        message = f"{chassis.id} has one supply, and supplies are to be survived, so this frame is never used"
        yield Fault(file, (*path, "chassis"), message, chassis.id, severity="warning")

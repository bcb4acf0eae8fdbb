"""What a scenario says of failures that it is to survive."""

from __future__ import annotations

from collections.abc import Iterator

from solver.room.faults import Fault, Path
from solver.room.scenario import Need, Scenario


def check_survived(file: str, scenario: Scenario, path: Path, need: Need) -> Iterator[Fault]:
    """A critical need that nothing makes so, or that gives way."""
    own = (*path, "critical")
    if need.critical and need.importance == "nice":
        yield Fault(file, own, "a need that is nice to have gives way, so it is not critical", "true")
    elif need.critical and scenario.survive is None:
        message = "counts only where the scenario says what it is to survive, such as survive = { cards = 1 }"
        yield Fault(file, own, message, "true", severity="warning")


def check_survive(file: str, scenario: Scenario) -> Iterator[Fault]:
    """Failures that are to be survived, where there are none or nothing is critical."""
    survive = scenario.survive
    if survive is None:
        return
    if survive.cards is None:
        yield Fault(file, ("survive",), "must say what may fail: cards = 1", None)
    elif not any(need.critical for room in scenario.rooms() for need in room.need):
        message = "no need is critical, so nothing is kept: say critical = true on those that are"
        yield Fault(file, ("survive", "cards"), message, str(survive.cards), severity="warning")

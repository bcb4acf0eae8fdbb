"""What a scenario says of phases of buying: that each can be one, and that all else of it goes with them."""

from __future__ import annotations

from collections.abc import Iterator

from solver.files.partcheck import money, repeated, same_names
from solver.room.build import Build
from solver.room.faults import Fault, Path, unknown
from solver.room.scenario import MOVING, Scenario


def check_phases(file: str, scenario: Scenario) -> Iterator[Fault]:
    """Phases whose needs or items are not known, and what does not go with several of them."""
    if not scenario.phase:
        return
    yield from same_names(file, (), "phase", [phase.name for phase in scenario.phase])
    needs = {need.name for need in scenario.need}
    offered = [offer.item for offer in scenario.offer]
    for phase in scenario.phase:
        path: Path = ("phase", phase.name)
        yield from money(file, (*path, "budget"), phase.budget, scenario.currency)
        yield from repeated(file, (*path, "needs"), phase.needs)
        for name in phase.needs:
            if name not in needs:
                yield unknown(file, (*path, "needs"), name, needs, "is no need of this scenario")
        for item, price in sorted(phase.prices.items()):
            own: Path = (*path, "prices", item)
            yield from money(file, own, price, scenario.currency)
            if item not in offered:
                yield unknown(file, own, item, set(offered), "is not on offer")
            elif offered.count(item) > 1:
                message = f"{item} has {offered.count(item)} offers; the price of which is meant is not told"
                yield Fault(file, own, message, item)
    used = {name for phase in scenario.phase for name in phase.needs}
    for name in sorted(needs - used):
        message = "is a need of no phase, so nothing serves it"
        yield Fault(file, ("need", name), message, name, severity="warning")
    yield from _beside(file, scenario)


def _beside(file: str, scenario: Scenario) -> Iterator[Fault]:
    """What is not planned where there are phases."""
    if scenario.room:
        yield Fault(file, ("phase",), "is for scenarios of one room")
    for key in ("installed", "tolerance", "slack", "setup"):
        if getattr(scenario, key):
            yield Fault(file, (key,), "does not go with phases")
    for criterion in scenario.rank:
        if criterion in MOVING:
            yield Fault(file, ("rank",), f"{criterion} does not go with phases", criterion)
    for need in scenario.need:
        if need.importance == "nice":
            yield Fault(file, ("need", need.name, "importance"), "nice to have does not go with phases", "nice")
        tied = [other for other in (need.returns_on, *need.apart_from) if other is not None]
        for phase in scenario.phase:
            missing = [other for other in tied if need.name in phase.needs and other not in phase.needs]
            if missing:
                message = f'"{need.name}" is there without "{missing[0]}", which it speaks of'
                yield Fault(file, ("phase", phase.name, "needs"), message, need.name)


def check_orders(file: str, build: Build, scenario: Scenario) -> Iterator[Fault]:
    """Orders of a build for phases that the scenario does not have, or of what it has no offer of."""
    phases = [phase.name for phase in scenario.phase]
    offered = {offer.item for offer in scenario.offer}
    for n, order in enumerate(build.order, 1):
        path: Path = ("order", n)
        kinds = [key for key in ("board", "card", "chassis") if getattr(order, key) is not None]
        if len(kinds) != 1:
            found = " and ".join(kinds) or "none"
            yield Fault(file, path, f"must name one card, one chassis or one board, found {found}", found)
        elif order.item not in offered:
            yield unknown(file, (*path, kinds[0]), order.item, offered, "is not on offer")
        if order.phase not in phases:
            yield unknown(file, (*path, "phase"), order.phase, phases, "is no phase of this scenario")
        yield from money(file, (*path, "price"), order.price, scenario.currency)

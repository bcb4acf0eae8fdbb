"""What a scenario says of phases of buying: that each can be one, and that all else of it goes with them."""

from __future__ import annotations

from collections.abc import Iterator

from solver.files.partcheck import money
from solver.files.partscheck import check_parts, said_in_vain
from solver.room.build import Build
from solver.room.faults import Fault, Path, unknown
from solver.room.scenario import Scenario


def check_phases(file: str, scenario: Scenario) -> Iterator[Fault]:
    """Phases whose needs or items are not known, and what does not go with several of them."""
    if not scenario.phase:
        yield from said_in_vain(file, scenario, "phase")
        return
    yield from check_parts(file, scenario, "phase", scenario.phase, ("installed", "tolerance", "slack", "setup"))
    offered = [offer.item for offer in scenario.offer]
    for phase in scenario.phase:
        path: Path = ("phase", phase.name)
        yield from money(file, (*path, "budget"), phase.budget, scenario.currency)
        for item, price in sorted(phase.prices.items()):
            own: Path = (*path, "prices", item)
            yield from money(file, own, price, scenario.currency)
            if item not in offered:
                yield unknown(file, own, item, set(offered), "is not on offer")
            elif offered.count(item) > 1:
                message = f"{item} has {offered.count(item)} offers; the price of which is meant is not told"
                yield Fault(file, own, message, item)


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

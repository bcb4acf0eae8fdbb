"""What a scenario says is not sure: that each range is one, and of an offer that is there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal

from solver.files.partcheck import known, money, repeated
from solver.room.faults import Fault, Path, unknown
from solver.room.hardware import Board, Card, Chassis
from solver.room.scenario import Offer, PriceRange, Scenario, Tolerance
from solver.room.words import parse_percent

KINDS = ("board", "card", "chassis")


def check_ranges(file: str, scenario: Scenario) -> Iterator[Fault]:
    """Ranges that are none, and prices that decide nothing."""
    if scenario.tolerance is None:
        return
    if scenario.room:
        yield Fault(file, ("tolerance",), "is for scenarios of one room")
    yield from _figures(file, scenario, scenario.tolerance)
    if scenario.tolerance.price and "cost" not in scenario.rank:
        message = "prices decide nothing where cost is not in rank"
        yield Fault(file, ("tolerance", "price"), message, ", ".join(scenario.rank))
    for n, own in enumerate(scenario.tolerance.price, 1):
        path: Path = ("tolerance", "price", n)
        kinds = [key for key in KINDS if getattr(own, key) is not None]
        if len(kinds) != 1:
            found = " and ".join(kinds) or "none"
            yield Fault(file, path, f"must name one card, one chassis or one board, found {found}", found)
        for key, amount in (("now", own.now), ("from", own.from_), ("to", own.to)):
            yield from money(file, (*path, key), amount, scenario.currency)
        if own.from_ >= own.to:
            yield Fault(file, (*path, "to"), f"must be more than from, {own.from_}, found {own.to}", str(own.to))


def _figures(file: str, scenario: Scenario, tolerance: Tolerance) -> Iterator[Fault]:
    """Needs, air and heat: what of them is no range, leaves out today's figure, or does not only get harder."""
    if tolerance.graded:
        if scenario.rank[:1] != ("cost",):
            message = "needs, air and heat are compared by cost, so cost has to be ranked first"
            yield Fault(file, ("tolerance",), message, ", ".join(scenario.rank))
        if any(need.importance == "nice" for need in scenario.need):
            message = "needs, air and heat have to be sure where needs are nice to have, which give way instead"
            yield Fault(file, ("tolerance",), message)
    needs = {need.name: need for need in scenario.need}
    tied = {need.returns_on for need in scenario.need if need.returns_on} | {
        need.name for need in scenario.need if need.returns_on or need.numbers
    }
    yield from repeated(file, ("tolerance", "need"), [own.name for own in tolerance.need])
    for own in tolerance.need:
        path: Path = ("tolerance", "need", own.name)
        need = needs.get(own.name)
        if need is None:
            yield unknown(file, path, own.name, needs, "is no need of this scenario")
        elif own.name in tied:
            yield Fault(file, path, "asks for certain numbers, or for those of another need: its channels are sure")
        else:
            yield from _range(file, path, own.from_, need.channels, own.to)
            if not own.from_ + need.spare:
                yield Fault(file, (*path, "from"), "asks for no channel and no spare", "0")
    if tolerance.inlet_c is not None and scenario.air is None:
        yield Fault(file, ("tolerance", "inlet_c"), "there is no air at the inlet; say what it is today under air")
    elif tolerance.inlet_c is not None and scenario.air is not None:
        own_air = tolerance.inlet_c
        yield from _range(file, ("tolerance", "inlet_c"), own_air.from_, scenario.air.inlet_c, own_air.to)
    if tolerance.heat is not None:
        low, high = (parse_percent(end, 1000) for end in (tolerance.heat.from_, tolerance.heat.to))
        yield from _range(file, ("tolerance", "heat"), low, 100, high)


def _range(file: str, path: Path, low: Decimal | int, now: Decimal | int, high: Decimal | int) -> Iterator[Fault]:
    if low >= high:
        yield Fault(file, (*path, "to"), f"must be more than from, {low}, found {high}", str(high))
    elif not low <= now <= high:
        yield Fault(file, path, f"{low} to {high} leaves out what it is today, {now}", str(now))


def check_offered(
    file: str, scenario: Scenario, parts: Mapping[str, Mapping[str, Card | Chassis | Board]]
) -> Iterator[Fault]:
    """Ranges whose offer is not there, is one of several, or costs something else today.

    `parts` are those of the hardware files by kind and id.
    """
    prices = {item: part.price for own in parts.values() for item, part in own.items()}
    seen: dict[int, int] = {}
    for n, own in enumerate(scenario.tolerance.price if scenario.tolerance else (), 1):
        path: Path = ("tolerance", "price", n)
        for kind, ids in parts.items():
            yield from known(file, (*path, kind), getattr(own, kind), ids, kind)
        if own.item not in prices:
            continue
        fitting = {
            at: price
            for at, offer in enumerate(scenario.offer)
            if offer.item == own.item
            for price in [offer.price if offer.price is not None else prices[own.item]]
        }
        yield from _which(file, path, own, scenario.offer, fitting)
        meant = [at for at, price in fitting.items() if own.now is None or own.now == price]
        if len(meant) == 1:
            if meant[0] in seen:
                yield Fault(file, path, f"tells of the same offer as range {seen[meant[0]]}", own.item)
            seen.setdefault(meant[0], n)


def _which(
    file: str, path: Path, own: PriceRange, offers: tuple[Offer, ...], fitting: Mapping[int, Decimal | None]
) -> Iterator[Fault]:
    kind = next(key for key in KINDS if getattr(own, key) is not None)
    if not fitting:
        yield Fault(file, (*path, kind), f"{own.item} is not on offer; add an [[offer]]", own.item)
        return
    asked = sorted(str(price) for price in fitting.values() if price is not None)
    if own.now is not None and own.now not in fitting.values():
        message = f"no offer of {own.item} costs {own.now}"
        yield Fault(file, (*path, "now"), message, str(own.now), tuple(asked))
        return
    meant = [price for price in fitting.values() if own.now is None or own.now == price]
    if len(meant) > 1:
        told = "is on offer more than once at that price" if own.now is not None else "has several offers; say which"
        message = f"{own.item} {told}{', by its price' if own.now is None else ''}"
        yield Fault(file, (*path, "now"), message, None if own.now is None else str(own.now), tuple(asked))
    elif meant[0] is None:
        yield Fault(file, (*path, kind), f"{own.item} has no price; give its offer one", own.item)
    elif not own.from_ <= meant[0] <= own.to:
        message = f"{own.from_} to {own.to} leaves out its price of today, {meant[0]}"
        yield Fault(file, path, message, str(meant[0]))

"""Why things have no place in a rack together: the smallest sets of what has to give way, and what clashes."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations, product
from typing import TypeVar

from solver.racks import rules
from solver.racks.limit import Placement, RackLimit
from solver.racks.pieces import RackStand
from solver.search.rack.model import RackModel
from solver.search.rack.solving import solve_rack
from solver.search.solve.clock import Clock, SearchError

Item = TypeVar("Item")

MOST_WAYS = 12
"""Sets of limits that are listed at most."""

MOST_TOGETHER = 2
"""Limits that give way together at most; where it takes more, no way is found."""


@dataclass(frozen=True)
class RackWay:
    """Limits that give way together, and by how much each; the things then have these places."""

    given: tuple[tuple[RackLimit, int], ...]
    placement: Placement

    @property
    def effort(self) -> tuple[int, int]:
        """How much work it is beside others: the hardest part of it, then how many parts there are."""
        return max(rules.ALL[limit.rule].work for limit, _ in self.given), len(self.given)


@dataclass(frozen=True)
class RackClash:
    """Ways out, the least work first, and limits that cannot all be kept while any one less can.

    `complete`: no other smallest set of limits would do. `proven` says so of the clash.
    """

    ways: tuple[RackWay, ...]
    clash: tuple[RackLimit, ...]
    complete: bool
    proven: bool


def rack_clash(stand: RackStand, clock: Clock) -> RackClash:
    """Ways out of a rack in which not everything has a place.

    Whatever makes room has a limit of every clash in it. So the smallest sets with one of each known clash are tried;
    one that does not do shows another clash, among what it leaves.
    """
    search = _Search(stand, clock)
    clash = search.clash(frozenset())
    clashes, tried = [clash], set[frozenset[RackLimit]]()
    ways: list[RackWay] = []
    for size in range(1, MOST_TOGETHER + 1):
        while (together := _next(clashes, size, tried)) is not None and len(ways) < MOST_WAYS and not clock.over:
            tried.add(together)
            if any(together.issuperset(limit for limit, _ in way.given) for way in ways):
                continue
            if not search.possible(together):
                clashes.append(search.clash(together))
                continue
            way = _least(stand, together, clock)
            if way is not None:
                ways.append(way)
    complete = search.sure and all_listed(clashes, [[limit for limit, _ in way.given] for way in ways])
    ways.sort(key=lambda way: way.effort)
    return RackClash(tuple(ways), tuple(limit for limit in search.giving if limit in clash), complete, search.sure)


def all_listed(clashes: Collection[frozenset[Item]], ways: Sequence[Collection[Item]]) -> bool:
    """Whether known clashes show that nothing makes room but what holds a way that is known.

    What holds none leaves a limit of each, and these have all of a clash among them then.
    """
    return all(any(clash.issubset(left) for clash in clashes) for left in product(*ways))


def _next(
    clashes: Sequence[frozenset[RackLimit]], size: int, tried: Collection[frozenset[RackLimit]]
) -> frozenset[RackLimit] | None:
    """Another set of so many limits with one of each clash."""
    limits = list(dict.fromkeys(limit for clash in clashes for limit in sorted(clash, key=lambda one: one.about)))
    for chosen in combinations(limits, size):
        together = frozenset(chosen)
        if together not in tried and all(together & clash for clash in clashes):
            return together
    return None


@dataclass
class _Search:
    """What is asked of one rack, and whether the clock let everything be answered."""

    stand: RackStand
    clock: Clock
    sure: bool = True

    @cached_property
    def giving(self) -> list[RackLimit]:
        """Limits that can give way."""
        return [limit for limit in rules.limits_of(self.stand) if limit.give]

    def possible(self, lifted: Collection[RackLimit]) -> bool:
        """Whether there are places without some limits; where that is not known there are taken to be."""
        status, _ = solve_rack(RackModel(self.stand, lifted=lifted).model, self.clock, any_will_do=True)
        self.sure = self.sure and status in ("none", "found", "proven")
        return status != "none"

    def clash(self, lifted: Collection[RackLimit]) -> frozenset[RackLimit]:
        """Limits that cannot all be kept though some are lifted, none of which can be left out: tried one by one.

        All limits of a rule are tried together first.
        """
        left_out = set(lifted)
        for rule in sorted(rules.ALL.values(), key=lambda rule: rule.work):
            own = {limit for limit in self.giving if limit.rule == rule.code} - left_out
            if own and not self.possible([*left_out, *own]):
                left_out |= own
        for limit in sorted(self.giving, key=lambda limit: rules.ALL[limit.rule].work):
            if limit not in left_out and not self.possible([*left_out, limit]):
                left_out.add(limit)
        return frozenset(limit for limit in self.giving if limit not in left_out)


def _least(stand: RackStand, together: Collection[RackLimit], clock: Clock) -> RackWay | None:
    """The least amounts of limits that give way together, one after the other; None where the clock was over."""
    stated = RackModel(stand, loosened=together)
    placement: Placement | None = None
    amounts: dict[RackLimit, int] = {}
    for limit in stated.slacks:
        stated.model.minimize(stated.slacks[limit])
        status, solver = solve_rack(stated.model, clock)
        if status != "proven":
            return None
        amounts[limit] = solver.value(stated.slacks[limit])
        stated.model.add(stated.slacks[limit] <= amounts[limit])
        placement = stated.read(solver)
    assert placement is not None
    _audit(placement, amounts)
    return RackWay(tuple(amounts.items()), placement)


def _audit(placement: Placement, amounts: dict[RackLimit, int]) -> None:
    """See that places keep every limit but for what gives way, and that as far as is said."""
    for limit, used, told in rules.broken(placement):
        given = amounts.get(limit, 0)
        if given == 0 or abs(used - limit.bound) > given:
            raise SearchError(f"rack {placement.stand.rack.name}: a way out breaks a rule: {told}")

"""Buying in phases against every build of each phase after every build of the one before, and every way to buy them."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from functools import cached_property
from itertools import pairwise, product
from typing import Any, TypeAlias

import brute_force
import generate
from amounts import some_or_all

from solver.room.hardware import Hardware
from solver.room.phases import phases_of
from solver.room.scenario import Offer, Scenario
from solver.room.times import Phase
from solver.room.words import CURRENCY_DECIMALS
from solver.search.phases.front import front_of
from solver.search.phases.planning import PhasesPlan, plan_phases
from solver.search.phases.ways import FewerChannels, MayMove, MoreMoney, ways_out
from solver.search.solve.clock import Clock

NONE = -1
"""No budget's place."""

Costs: TypeAlias = tuple[int, ...]
"""What each phase costs."""

Build: TypeAlias = tuple[tuple[str | None, ...], tuple[tuple[tuple[int, str], ...], ...]]
"""Boards and cards of each frame."""


class _Phased:
    """A scenario's phases, one by one."""

    def __init__(self, scenario: Scenario, hardware: Hardware, places: list[int]) -> None:
        self.scenario = scenario
        self.hardware = hardware
        self.places = places
        self.prices = {i.id: i.price for group in (hardware.card, hardware.board, hardware.chassis) for i in group}
        self.unit = 10 ** CURRENCY_DECIMALS[scenario.currency]
        self.stock = {item: count for item, count in scenario.stock.items() if count}
        self.others = [criterion for criterion in scenario.rank if criterion not in ("cost", "cooling")]
        self._ways: dict[Any, list[Costs]] = {}

    def builds(self, phase: Phase) -> dict[Build, tuple[int, tuple[int, ...]]]:
        """Each build of a phase, were all in stock that can be had: its cooling, and the best of all else it ranks."""
        document = self.scenario.model_dump(by_alias=True, exclude={"phase", "budget", "offer"})
        document["need"] = [need for need in document["need"] if need["name"] in phase.needs]
        document["stock"] = dict.fromkeys({*self.stock, *(offer.item for offer in self.scenario.offer)}, 99)
        found: dict[Build, tuple[int, tuple[int, ...]]] = {}
        for each in brute_force.every(Scenario.model_validate(document), self.hardware):
            build = tuple(None if w is None else w.board for w in each.layouts), each.seats
            own = each.bad("cooling"), tuple(each.bad(criterion) for criterion in self.others)
            found[build] = min(own, found.get(build, own))
        return found

    def items(self, build: Build) -> Counter[str]:
        """What a build takes beside what owned frames bring with them."""
        taken = Counter[str]()
        for frame, board, cards in zip(sorted(self.scenario.frame, key=lambda f: f.name), *build, strict=True):
            if board is not None:
                taken.update(card for _, card in cards)
                taken.update([] if frame.owned else [frame.chassis])
                taken.update([] if frame.owned and frame.board else [board])
        return taken

    def follows(self, later: Build, earlier: Build) -> bool:
        """Whether nothing that stands is taken away but cards, and these only where they may move."""
        for old, new in zip(zip(*earlier, strict=True), zip(*later, strict=True), strict=True):
            if old[0] is not None and (old[0] != new[0] or not (set(old[1]) <= set(new[1]) or self.may_move)):
                return False
        return True

    @property
    def may_move(self) -> bool:
        return self.scenario.moves == "once"

    def enough(self, chain: tuple[Build, ...], item: str) -> list[tuple[int, ...]]:
        """How many of an item may be had in each phase so that no card leaves two slots: those seated, or one more."""
        needed = tuple(self.items(build)[item] for build in chain)
        if len(chain) < 3 or not self.may_move or item not in {card.id for card in self.hardware.card}:
            return [needed]
        found = []
        for more in product((0, 1), repeat=len(needed)):
            had = tuple(map(sum, zip(needed, more, strict=True)))
            owned = [max(self.stock.get(item, 0), *had[: n + 1]) for n in range(len(had))]
            found += [had] if self._walk(chain, item, owned) else []
        return found

    def _walk(self, builds: tuple[Build, ...], card: str, owned: list[int]) -> bool:
        held = [
            frozenset((n, slot) for n, own in enumerate(seats) for slot, each in own if each == card)
            for _, seats in builds
        ]
        states: set[tuple[frozenset[Any], frozenset[Any], int, int]] = {(frozenset(), frozenset(), 0, 0)}
        for here, had in zip(held, owned, strict=True):
            states = {after for state in states for after in _steps(state, here, had)}
        return bool(states)

    def ways_to_buy(self, item: str, needed: tuple[int, ...]) -> list[Costs]:
        """What every way to have so many of an item in each phase costs, phase by phase."""
        key = item, needed
        if key not in self._ways:
            self._ways[key] = list(self._buy(item, needed))
        return self._ways[key]

    def _buy(self, item: str, needed: tuple[int, ...]) -> set[Costs]:
        offers = [offer for offer in self.scenario.offer if offer.item == item]
        most = max(0, max(needed) - self.stock.get(item, 0))
        spots = [(n, offer) for n in range(len(self.scenario.phase)) for offer in offers]
        found = set()
        for counts in product(range(most + 1), repeat=len(spots)) if most else [(0,) * len(spots)]:
            if sum(counts) != most or any(
                offer.at_most is not None
                and sum(c for c, (_, o) in zip(counts, spots, strict=True) if o is offer) > offer.at_most
                for offer in offers
            ):
                continue
            ordered = [sum(c for c, (n, _) in zip(counts, spots, strict=True) if n <= at) for at in self.places]
            if all(self.stock.get(item, 0) + o >= n for o, n in zip(ordered, needed, strict=True)):
                found.add(
                    tuple(
                        sum(c * self.price(n, o) for c, (n, o) in zip(counts, spots, strict=True) if n == at)
                        for at in range(len(self.scenario.phase))
                    )
                )
        return found

    def price(self, phase: int, offer: Offer) -> int:
        own = self.scenario.phase[phase].prices.get(offer.item, offer.price)
        return int(((self.prices[offer.item] if own is None else own) or Decimal(0)) * self.unit)

    def costs(self, chain: tuple[Build, ...], lifted: int | None = NONE) -> set[Costs]:
        """What all ways to buy come to that budgets allow, phase by phase; one of the budgets may be lifted."""
        totals: set[Costs] = {(0,) * len(self.scenario.phase)}
        for item in sorted({item for build in chain for item in self.items(build)}):
            ways = {way for needed in self.enough(chain, item) for way in self.ways_to_buy(item, needed)}
            totals = {tuple(map(sum, zip(a, b, strict=True))) for a in totals for b in ways}
        limits = {n: phase.budget for n, phase in enumerate(self.scenario.phase)} | {None: self.scenario.budget}
        return {
            own
            for own in totals
            if all(
                budget is None or at == lifted or (sum(own) if at is None else own[at]) <= budget * self.unit
                for at, budget in limits.items()
            )
        }

    @cached_property
    def chains(self) -> list[tuple[Build, ...]]:
        """Every way to build these phases one after the other, whatever it costs."""
        chains: list[tuple[Build, ...]] = [(build,) for build in self.every[0]]
        for own in self.every[1:]:
            chains = [(*chain, build) for chain in chains for build in own if self.follows(build, chain[-1])]
        return chains

    @cached_property
    def every(self) -> list[dict[Build, tuple[int, tuple[int, ...]]]]:
        """The builds of each phase by itself."""
        return [self.builds(self.scenario.phase[n]) for n in self.places]

    def best(self) -> tuple[int, ...] | None:
        """The least value of all ways."""
        values = []
        for chain in self.chains:
            costs = self.costs(chain)
            if costs:
                each = [own[build] for own, build in zip(self.every, chain, strict=True)]
                values.append(self._value(min((c[0], sum(c)) if self.first else (sum(c),) for c in costs), each))
        return min(values, default=None)

    def front(self) -> list[tuple[int, int]]:
        """The costs of the first phase and of all that no other beats, the cheapest first phase first."""
        every = sorted({(own[0], sum(own)) for chain in self.chains for own in self.costs(chain)})
        return [own for n, own in enumerate(every) if all(own[1] < other[1] for other in every[:n])]

    def least_more(self, budget: int | None) -> int | None:
        """How much more is spent than one budget allows, all others kept, at least; None where that does not help."""
        given = self.scenario.budget if budget is None else self.scenario.phase[budget].budget
        costs = [own for chain in self.chains for own in self.costs(chain, budget)]
        over = [(sum(own) if budget is None else own[budget]) - int((given or 0) * self.unit) for own in costs]
        return min(over, default=None)

    @property
    def first(self) -> bool:
        return self.scenario.cost_of == "first phase"

    def _value(self, cost: tuple[int, ...], each: list[tuple[int, tuple[int, ...]]]) -> tuple[int, ...]:
        sums = dict(zip(self.others, map(sum, zip(*(own for _, own in each), strict=True)), strict=True))
        value: list[int] = []
        for criterion in self.scenario.rank:
            cooling = [max(level for level, _ in each)] if criterion == "cooling" else []
            value += cost if criterion == "cost" else cooling or [sums[criterion]]
        return tuple(value)


def _steps(state: Any, here: frozenset[Any], owned: int) -> set[Any]:
    """What may be after a phase: where cards stand that never left a slot, and that did; those on the shelf; all."""
    fresh, moved, shelf, ever = state
    found: set[Any] = set()
    if not moved <= here:
        return found
    staying = here & fresh
    gone = len(fresh) - len(staying)
    arriving = sorted(here - fresh - moved)
    for used in product((False, True), repeat=len(arriving)):
        old = frozenset(place for place, again in zip(arriving, used, strict=True) if again)
        new = frozenset(arriving) - old
        if len(old) <= shelf + gone and ever + len(new) <= owned:
            found.add((frozenset(staying | new), moved | old, shelf + gone - len(old), ever + len(new)))
    return found


def _best(scenario: Scenario, hardware: Hardware, places: list[int]) -> tuple[int, ...] | None:
    return _Phased(scenario, hardware, places).best()


def _compare(seed: int, seen: Counter[str]) -> None:
    scenario, hardware = generate.random_phases(seed)
    phases = phases_of(scenario, hardware)
    found = plan_phases(phases, Clock())
    every = list(range(len(scenario.phase)))
    expected = _best(scenario, hardware, every)
    assert found.outcome == ("impossible" if expected is None else "found"), seed
    seen[found.outcome] += 1
    if expected is None:
        _compare_clash(seed, scenario, hardware, found, seen)
        return
    assert found.best is not None
    assert all(found.best.proven.values()), seed
    costs = phases.spent(found.best.bought)
    ours: list[int] = []
    for criterion, value in found.best.values.items():
        if criterion == "cost" and scenario.cost_of == "first phase":
            ours.append(costs[0])
        ours.append(value - phases.first.top_level if criterion == "cooling" else value)
    assert tuple(ours) == expected, seed
    seats = [{(f.site.name, *seat) for f in own.frames for seat in f.built.seats()} for own in found.best.standings]
    seen["moved"] += not all(before <= after for before, after in pairwise(seats))
    seen["bought twice"] += sum(cost > 0 for cost in costs) > 1
    seated = [own.items for own in found.best.standings]
    ahead = sum(b.count for b in found.best.bought if b.phase == 0)
    seen["bought ahead"] += ahead > sum((seated[0] - Counter(scenario.stock)).values())
    seen["frame bought"] += any(item in {c.id for c in hardware.chassis} for own in seated for item in own)
    seen["three"] += len(costs) > 2
    if seed % 2 == 0:
        trades = front_of(phases, Clock())
        pairs = [(spent[0], sum(spent)) for spent in (phases.spent(own.bought) for own in trades.trades)]
        assert (trades.complete, pairs) == (True, _Phased(scenario, hardware, every).front()), seed
        seen["trade"] += len(pairs) > 1


def _compare_clash(seed: int, scenario: Scenario, hardware: Hardware, found: PhasesPlan, seen: Counter[str]) -> None:
    clash = list(found.clash)
    assert clash, seed
    assert _best(scenario, hardware, clash) is None, seed
    for place in clash if len(clash) > 1 else ():
        assert _best(scenario, hardware, [n for n in clash if n != place]) is not None, seed
    seen["clash together"] += len(clash) > 1
    ways, every = ways_out(phases_of(scenario, hardware), Clock())
    told = {way.more[0] for way in ways if isinstance(way, MoreMoney) and len(way.more) == 1}
    tried = _Phased(scenario, hardware, list(range(len(scenario.phase))))
    budgets: dict[int | None, Decimal | None] = {n: phase.budget for n, phase in enumerate(scenario.phase)}
    least = {at: tried.least_more(at) for at, given in (budgets | {None: scenario.budget}).items() if given is not None}
    assert (every, told) == (True, {(at, more) for at, more in least.items() if more is not None}), seed
    seen["more money"] += bool(told)
    still = _Phased(scenario.model_copy(update={"moves": "once"}), hardware, tried.places).best()
    assert (MayMove() in ways) == (scenario.moves == "never" and still is not None), seed
    seen["may move"] += MayMove() in ways
    fewer = {way.need.name: way.amount for way in ways if isinstance(way, FewerChannels)}
    for need in scenario.need if seed % 3 == 0 else ():
        assert fewer.get(need.name) == _fewest_dropped(scenario, hardware, need.name), (seed, need.name)
    seen["fewer channels"] += bool(fewer)


def _fewest_dropped(scenario: Scenario, hardware: Hardware, name: str) -> int | None:
    """By how few channels less a need has to ask."""
    demand = next(need.demand for need in scenario.need if need.name == name)
    if not any(name in phase.needs for phase in scenario.phase):
        return None
    for amount in range(1, demand + 1):
        needs = [
            need if need.name != name else need.model_copy(update={"channels": demand - amount, "spare": 0})
            for need in scenario.need
        ]
        less = scenario.model_copy(update={"need": tuple(needs)})
        if _best(less, hardware, list(range(len(scenario.phase)))) is not None:
            return amount
    return None


@some_or_all("seeds", 45, 3000)
def test_phases_are_bought_in_the_best_of_all_ways(seeds: int) -> None:
    """Values over all phases, and a smallest set of phases that cannot be served together where there is none."""
    seen = Counter[str]()
    for seed in range(seeds):
        _compare(seed, seen)
    assert seen["found"] >= seeds // 3, seen
    for what in (
        "moved",
        "bought twice",
        "bought ahead",
        "clash together",
        "three",
        "trade",
        "more money",
        "fewer channels",
    ):
        assert seen[what] >= seeds // 45, (what, seen)

"""A campus planned by trying every build of every room together with every build of every other.

Each room's builds come from the planner that tries everything; what the rooms share is counted here, the plain way.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import brute_force
from brute_force import Candidate

from solver.hardware import Hardware
from solver.scenario import Room, Scenario


@dataclass(frozen=True)
class Joint:
    """One build of every room, with the figures of the whole."""

    rooms: tuple[Candidate, ...]
    cost: int

    def bad(self, criterion: str) -> int:
        """The figure of a criterion, turned so that lower is better."""
        if criterion == "cost":
            return self.cost
        if criterion == "cooling":
            return max(room.bad("cooling") for room in self.rooms)
        return sum(room.bad(criterion) for room in self.rooms)


def _items(room: Room, build: Candidate) -> tuple[tuple[str, int], ...]:
    found: Counter[str] = Counter()
    frames = {frame.name: frame for frame in room.frame}
    for name, layout, seats in zip(build.frames, build.layouts, build.seats, strict=True):
        if layout is not None:
            frame = frames[name]
            found.update(card for _, card in seats)
            if not frame.owned:
                found[frame.chassis] += 1
            if not (frame.owned and frame.board):
                found[layout.board] += 1
    return tuple(sorted(found.items()))


def _builds(scenario: Scenario, hardware: Hardware, room: Room) -> list[tuple[tuple[tuple[str, int], ...], Candidate]]:
    """Builds of a room, one for each set of items and figures."""
    alone = scenario.model_copy(update={"room": (room,)})
    found = {}
    for build in brute_force._Trial(alone, hardware).candidates():
        items = _items(room, build)
        found.setdefault((items, build.stranded, build.holes, build.idle, build.level), (items, build))
    return list(found.values())


def plan(scenario: Scenario, hardware: Hardware) -> Joint | None:
    """The best build of all rooms by the scenario's order: stages with slack, then a closing pass without."""
    trial = brute_force._Trial(scenario.model_copy(update={"room": scenario.room[:1]}), hardware)
    budget = None if scenario.budget is None else int(scenario.budget * trial.unit)
    left: Sequence[Joint] = []
    left = [
        Joint(tuple(build for _, build in combination), cost)
        for combination in product(*(_builds(scenario, hardware, room) for room in scenario.room))
        for cost in (trial.cost(sum((Counter(dict(items)) for items, _ in combination), Counter())),)
        if cost is not None and (budget is None or cost <= budget)
    ]
    for slack in (True, False):
        for criterion in scenario.rank:
            if left:
                best = min(joint.bad(criterion) for joint in left)
                cap = best + (trial.slack(criterion, best) if slack else 0)
                left = [joint for joint in left if joint.bad(criterion) <= cap]
    return left[0] if left else None

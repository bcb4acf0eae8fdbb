"""A campus planned by trying every build of every room together with every build of every other.

Each room's builds come from the planner that tries everything; what the rooms share is counted here, the plain way.
Needs that are nice to have are tried with every number of channels from none to all.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import brute_force
from brute_force import Candidate

from solver.room.hardware import Hardware
from solver.room.scenario import Room, Scenario


@dataclass(frozen=True)
class Own:
    """A build of a room: the items in it, and how many channels each need that is nice to have is short of."""

    items: tuple[tuple[str, int], ...]
    build: Candidate
    shortfalls: tuple[int, ...] = ()

    @property
    def figures(self) -> tuple[int, ...]:
        """All that counts of it beside its items; lower is never worse."""
        build = self.build
        short = sum(self.shortfalls), sum(n > 0 for n in self.shortfalls)
        return *short, build.stranded, build.holes, build.idle, -build.level


@dataclass(frozen=True)
class Joint:
    """One build of every room, with the figures of the whole."""

    own: tuple[Own, ...]
    cost: int

    @property
    def rooms(self) -> tuple[Candidate, ...]:
        """The builds."""
        return tuple(own.build for own in self.own)

    @property
    def short(self) -> tuple[int, int]:
        """Channels short in all rooms, then needs."""
        return sum(own.figures[0] for own in self.own), sum(own.figures[1] for own in self.own)

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


def _builds(scenario: Scenario, hardware: Hardware, room: Room) -> list[Own]:
    """Builds of a room that no other one of the same items equals or beats in everything."""
    nice = [need for need in room.need if need.importance == "nice"]
    trial = brute_force._Trial(scenario.model_copy(update={"room": (room,)}), hardware)
    found: dict[tuple[tuple[str, int], ...], dict[tuple[int, ...], Own]] = {}
    for met in product(*(range(need.channels + need.spare + 1) for need in nice)):
        asked = dict(zip((need.name for need in nice), met, strict=True))
        needs = tuple(
            need.model_copy(update={"channels": asked[need.name], "spare": 0, "importance": "must"})
            if need.name in asked
            else need
            for need in room.need
        )
        shortfalls = tuple(need.channels + need.spare - n for need, n in zip(nice, met, strict=True))
        trial.ask(needs)
        for build in trial.candidates():
            own = Own(_items(room, build), build, shortfalls)
            found.setdefault(own.items, {}).setdefault(own.figures, own)
    return [
        own
        for alike in found.values()
        for own in alike.values()
        if not any(
            other != own.figures and all(a <= b for a, b in zip(other, own.figures, strict=True)) for other in alike
        )
    ]


def plan(scenario: Scenario, hardware: Hardware) -> Joint | None:
    """The best build of all rooms: least short, then by the scenario's order with slack, then once more without."""
    trial = brute_force._Trial(scenario.model_copy(update={"room": scenario.room[:1]}), hardware)
    budget = None if scenario.budget is None else int(scenario.budget * trial.unit)
    left: Sequence[Joint] = []
    left = [
        Joint(combination, cost)
        for combination in product(*(_builds(scenario, hardware, room) for room in scenario.room))
        for cost in (trial.cost(sum((Counter(dict(own.items)) for own in combination), Counter())),)
        if cost is not None and (budget is None or cost <= budget)
    ]
    least = min((joint.short for joint in left), default=None)
    left = [joint for joint in left if joint.short == least]
    for slack in (True, False):
        for criterion in scenario.rank:
            if left:
                best = min(joint.bad(criterion) for joint in left)
                cap = best + (trial.slack(criterion, best) if slack else 0)
                left = [joint for joint in left if joint.bad(criterion) <= cap]
    return left[0] if left else None

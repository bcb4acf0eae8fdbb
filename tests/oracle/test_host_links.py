"""Plans of rooms with host ports against trying every seating, each number dealt to a port by hand."""

from __future__ import annotations

import random
from collections import Counter
from typing import Any

import brute_force
import generate
from amounts import some_or_all
from test_against_brute_force import _compare

from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario


def with_ports(seed: int) -> tuple[Scenario, Hardware]:
    """A scenario of the seeded generator whose frames have ports with little room; boards have some with less."""
    scenario, hardware = generate.random_pair(seed)
    draw = random.Random(seed)

    def channels(most: int) -> dict[str, Any]:
        return {f: {"in": draw.randint(0, most), "out": draw.randint(0, most)} for f in ("48", "96", "192")}

    frames = [frame.name for frame in scenario.frame]
    ports: list[dict[str, Any]] = []
    for frame in draw.choices([*frames, None], k=draw.randint(1, 3)):
        kind = draw.choice(["trunk", "trunk", "aes3", "madi", "aes67"])
        port: dict[str, Any] = {"name": f"P{len(ports)}", "kind": kind, "frame": frame}
        if kind in ("trunk", "madi"):
            port["channels"] = channels(9)
        if kind == "aes67":
            port["streams"] = 1
        ports.append({key: value for key, value in port.items() if value is not None})
    boards = [
        board.model_dump(exclude_unset=True, by_alias=True)
        | (
            {
                "host_port": [
                    {"name": str(n), "kind": port["kind"] if draw.random() < 0.9 else "other", "channels": channels(9)}
                    for n, port in enumerate(ports[: draw.randint(1, 3)])
                ]
            }
            if draw.random() < 0.4
            else {}
        )
        for board in hardware.board
    ]
    document = {**hardware.model_dump(exclude_unset=True, by_alias=True), "board": boards}
    asked = {**scenario.model_dump(exclude_unset=True, by_alias=True), "host_port": ports}
    return Scenario.model_validate(asked), Hardware.model_validate(document)


@some_or_all("seeds", range(80), range(1000))
def test_plans_have_the_same_best_builds_and_ports_matter(seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = with_ports(seed)
        seen[_compare(survey_room(scenario, hardware), scenario, hardware)] += 1
        before = brute_force.best(scenario.model_copy(update={"host_port": ()}), hardware)
        after = brute_force.best(scenario, hardware)
        seen["made impossible"] += before is not None and after is None
        seen["changed"] += before is not None and after is not None and before.seats != after.seats
    assert min(seen["found"], seen["made impossible"]) >= len(seeds) // 10, seen
    assert seen["changed"] >= len(seeds) // 50, seen

"""Strap groups that change no number and what never goes together with them, in several rooms: against trying all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

import generate
from amounts import some_or_all
from campus_against import same_plan

from solver.relax.document import document_of
from solver.room.hardware import Hardware
from solver.room.scenario import Scenario

SEEDS = range(160)
"""Campuses with bans that are compared."""


def _plain(value: Any) -> Any:
    """With lists in place of tuples, so that it can be added to."""
    if isinstance(value, dict):
        return {key: _plain(entry) for key, entry in value.items()}
    return [_plain(entry) for entry in value] if isinstance(value, list | tuple) else value


def with_bans(seed: int) -> tuple[Scenario, Hardware]:
    """A campus of the generator with groups that change no number, and bans that name them."""
    plain, hardware = generate.random_campus(seed)
    scenario = document_of(plain)
    drawn = _plain(hardware.model_dump(exclude_unset=True))
    frames: Sequence[dict[str, Any]] = [frame for room in scenario["room"] for frame in room["frame"]]
    generate._add_bans(generate.Seeded(seed), {"frame": frames}, drawn)
    return Scenario.model_validate(scenario), Hardware.model_validate(drawn)


@some_or_all("seeds", SEEDS[:80], SEEDS)
def test_rooms_are_built_with_every_setting_that_only_a_ban_leaves_open(seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = with_bans(seed)
        plans = same_plan(seed, scenario, hardware, seen)
        if plans is None:
            continue
        _, _, best = plans
        groups = {g.name: g for board in hardware.board for g in board.strap_group}
        moved = [
            group
            for frame in best.build.frame
            for group, setting in frame.straps.items()
            if group.startswith("T") and groups[group].wanted not in (None, setting)
        ]
        seen["moved by a ban or a wish"] += bool(moved)
    assert seen["found"] >= len(seeds) // 5
    assert seen["moved by a ban or a wish"] >= 5

"""The planner and the check that ship against one written from the rules' words, on tiny scenarios by seed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path

from amounts import some_or_all
from readme_oracle.compare import check_differences, drawn, front_differences, plan_differences, ranked
from readme_oracle.generate import load
from readme_oracle.judge import Judge
from readme_oracle.planner import Found, at_rest, renumbers

from solver.files.reading import Loaded
from solver.room.faults import FileFaults

RULES = (
    *("budget", "channels", "clock-line", "companions", "cooling", "exclusions", "kept-empty", "must-seat", "needs"),
    *("numbers", "pins", "rails", "refused", "seats", "serves", "signals", "stock", "straps"),
)


def usable(folder: Path, seeds: Iterable[int]) -> Iterator[tuple[int, Loaded, Judge]]:
    """Scenarios of the seeds, without those whose files are at fault."""
    for seed in seeds:
        try:
            loaded = load(folder, seed)
        except FileFaults:
            continue
        yield seed, loaded, Judge(loaded.scenario, loaded.hardware)


@some_or_all("seeds", range(120), range(1000))
def test_the_best_build_is_the_best_that_the_readme_knows(seeds: range, tmp_path: Path) -> None:
    seen: Counter[str] = Counter()
    for seed, loaded, room in usable(tmp_path, seeds):
        builds = room.builds()
        assert not plan_differences(room, builds, ranked(loaded)), f"seed {seed}"
        seen.update(seen_in_plan(room, builds))
    share = {kind: 100 * count // len(seeds) for kind, count in seen.items()}
    assert 25 <= share["found"] <= 75
    few = {"two frames": 3, "short": 3, "clock line": 5, "moved aside": 1, "bought frame": 2, "span": 2}
    few |= {"company": 2, "feed": 1}
    assert not {kind: share.get(kind, 0) for kind, least in few.items() if share.get(kind, 0) < least}


def seen_in_plan(room: Judge, builds: list[Found]) -> Iterator[str]:
    """What a scenario tries, by what its best build has."""
    if not builds:
        return
    yield "found"
    best = room.best(builds)
    if best.figures.short:
        yield "short"
    if len(best.placed) > 1:
        yield "two frames"
    if any(placed.frame in room.lines for placed in best.placed):
        yield "clock line"
    if any(not room.frames[placed.frame].owned for placed in best.placed):
        yield "bought frame"
    if any(room.cards[card].span > 1 for placed in best.placed for _, card in placed.cards):
        yield "span"
    if any(room.cards[card].needs for placed in best.placed for _, card in placed.cards):
        yield "company"
    if any(not room.cards[card].ports for placed in best.placed for _, card in placed.cards):
        yield "feed"
    for placed in best.placed:
        groups = {group.name: group for group in room.boards[placed.board].strap_group}
        asked = room.frames[placed.frame].straps
        if any(
            not renumbers(groups[g]) and g not in asked and at_rest(groups[g]) != s for g, s in placed.setting.straps
        ):
            yield "moved aside"


@some_or_all("seeds", range(1000, 1060), range(1000, 1500))
def test_a_front_has_every_point_and_slack_goes_along_it(seeds: range, tmp_path: Path) -> None:
    several = moved = 0
    for seed, loaded, room in usable(tmp_path, seeds):
        builds = room.builds()
        if builds:
            assert not front_differences(loaded, room, builds), f"seed {seed}"
        if builds and len(room.front(builds)) > 1:
            several += 1
            slack: dict[str, int | str] = {"cost": "300 %", "cooling": 4 * int(loaded.scenario.limits.step_k)}
            first = loaded.scenario.rank[0]
            eased = replace(loaded, scenario=loaded.scenario.model_copy(update={"slack": {first: slack.get(first, 4)}}))
            other = Judge(eased.scenario, eased.hardware)
            assert not plan_differences(other, builds, ranked(eased)), f"seed {seed}"
            moved += other.values(other.best(builds).figures) != min(other.values(one.figures) for one in builds)
    assert 100 * several >= 3 * len(seeds)
    assert moved


@some_or_all("seeds", range(2000, 2060), range(2000, 3000))
def test_a_build_breaks_the_rules_that_the_readme_says_it_breaks(seeds: range, tmp_path: Path) -> None:
    broken: Counter[str] = Counter()
    alone: Counter[str] = Counter()
    for seed, loaded, room in usable(tmp_path, seeds):
        for n, build in enumerate(drawn(seed, loaded, ranked(loaded, 2))):
            assert not check_differences(loaded, room, build), f"seed {seed}, build {n}"
            rules = {rule for rule, _ in room.judge(build).faults}
            broken.update(rules or {"clean"})
            alone.update(rules if len(rules) == 1 else ())
    assert set(broken) == {*RULES, "clean"}
    assert min(broken.values()) * 100 >= 3 * len(seeds)
    assert len(alone) >= 12

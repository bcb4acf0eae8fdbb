"""The front: complete, beaten by nothing, with the winner of every order on it."""

from __future__ import annotations

import dataclasses
import json
import subprocess
import sys
from collections.abc import Mapping
from decimal import Decimal
from itertools import pairwise, permutations
from pathlib import Path

import brute_force
import generate
import midsize
import milp
import pytest
from counted import Counted
from inside import strapwork

from solver.files.reading import load_scenario
from solver.judge import audit, criteria
from solver.reports.report import Report
from solver.reports.tradeoff import front_report
from solver.room.ready import survey_room
from solver.room.survey import Survey
from solver.search.ask.front import front, scenarios_choice
from solver.search.ask.ranking import rank
from solver.search.model.scale import Stage
from solver.search.solve.stages import Least, RankedBuild, Search

ROOT = Path(__file__).parents[2]
SEEDS = range(160)
FIVE = ("cooling", "idle", "stranded", "holes", "cost")
MIX = "scenarios/quay-mix-rig.toml"
IMPOSSIBLE = "scenarios/quay-impossible.toml"


def _key(survey: Survey, build: RankedBuild) -> tuple[int, ...]:
    return tuple(criteria.value(survey, build.figures, c) for c in survey.rank)


def _tried(survey: Survey, found: list[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Brute force counts cooling in steps reached, the criteria in steps missing."""
    at = [c == "cooling" for c in survey.rank]
    return sorted(tuple(survey.top_level - v if cool else v for v, cool in zip(p, at, strict=True)) for p in found)


@pytest.mark.parametrize(
    ("criteria_asked", "at_least"),
    [(None, 8), (("cost", "unused", "cooling"), 8), (FIVE, 25)],
    ids=["the scenario's own", "three", "five"],
)
def test_the_front_is_the_one_that_trying_all_gives(criteria_asked: tuple[str, ...] | None, at_least: int) -> None:
    several = 0
    for seed in SEEDS:
        scenario, hardware = generate.random_pair(seed)
        if criteria_asked is not None:
            scenario = scenario.model_copy(update={"rank": criteria_asked, "slack": {}})
        survey = survey_room(scenario, hardware)
        expected = _tried(survey, brute_force.front(scenario, hardware, survey.rank))
        found = front(survey)
        assert found.outcome == ("found" if expected else "impossible"), seed
        assert found.complete, seed
        keys = [_key(survey, point) for point in found.points]
        assert keys == expected, seed
        for point in found.points:
            assert audit.faults(survey, point.standing) == [], seed
            assert criteria.figures(survey, point.standing) == point.figures
        assert not any(a != b and all(x <= y for x, y in zip(a, b, strict=True)) for a in keys for b in keys), seed
        several += len(keys) > 1
    assert several >= at_least, several


def test_the_winner_of_every_order_is_on_the_front() -> None:
    orders = 0
    for seed in range(0, 160, 4):
        survey = survey_room(*generate.random_pair(seed))
        found = front(survey)
        if not found.points:
            continue
        assert _key(survey, scenarios_choice(survey, found.points)) == _key(survey, rank(survey, top=1).builds[0]), seed
        for order in permutations(survey.rank):
            other = dataclasses.replace(survey, rank=order, slack={})
            best = rank(other, top=1).builds[0]
            assert _key(survey, best) in [_key(survey, point) for point in found.points], (seed, order)
            orders += 1
    assert orders >= 60


def test_the_scenarios_choice_goes_by_its_slack() -> None:
    moved = 0
    for seed in SEEDS:
        scenario, hardware = generate.random_pair(seed)
        wide = {"rank": FIVE, "slack": {"cooling": 4, "idle": 3, "stranded": 2}}
        survey = survey_room(scenario.model_copy(update=wide), hardware)
        points = front(survey).points
        if len(points) > 1:
            chosen = _key(survey, scenarios_choice(survey, points))
            assert chosen == _key(survey, rank(survey, top=1).builds[0]), seed
            moved += chosen != _key(survey, points[0])
    assert moved >= 3, moved


def _points(survey: Survey) -> list[tuple[int, int, int]]:
    found = front(survey)
    assert found.complete
    return sorted((p.figures.cost, p.figures.unused, p.figures.level) for p in found.points)


def test_the_order_of_the_criteria_changes_no_point() -> None:
    """On twenty kinds of card and twelve slots, which nothing tries out, and on a rig that ships."""
    loaded = load_scenario(ROOT / MIX)
    drawn = midsize.trade_off(5, shape=(4, 3))
    for scenario, hardware, count in ((loaded.scenario, loaded.hardware, 3), (drawn.scenario, drawn.hardware, 21)):
        survey = survey_room(scenario, hardware)
        orders = [("cost", "unused", "cooling"), ("unused", "cooling", "cost"), ("cooling", "cost", "unused")]
        first, *others = [_points(dataclasses.replace(survey, rank=order, slack={})) for order in orders]
        assert len(first) == count
        assert others == [first, first]


SECOND_SOLVER = [7, 8, *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(1, 7))]


@pytest.mark.parametrize("seed", SECOND_SOLVER)
def test_twelve_slots_against_mixed_integer_programs(seed: int) -> None:
    drawn = midsize.trade_off(seed, 8, (2, 2))
    expected = [(p.cost, p.unused, p.level) for p in milp.front(drawn.scenario, drawn.hardware)]
    assert _points(survey_room(drawn.scenario, drawn.hardware)) == sorted(expected)


def test_the_number_of_workers_changes_nothing() -> None:
    for seed in range(0, 40):
        survey = survey_room(*generate.random_pair(seed))
        assert [p.build for p in front(survey).points] == [p.build for p in front(survey, workers=2).points], seed


def test_a_search_that_is_stopped_claims_no_more_than_it_knows() -> None:
    """After every number of solves: audited builds, and those called proven are on the whole front."""
    partial = proven = parts = 0
    for seed in SEEDS[::4]:
        survey = survey_room(*generate.random_pair(seed))
        whole = front(survey)
        expected = [_key(survey, point) for point in whole.points]
        for solves in range(200):
            clock = Counted(solves)
            found = front(survey, clock=clock)
            keys = [_key(survey, point) for point in found.points]
            if not clock.over:
                assert (found.complete, keys) == (True, expected), seed
                break
            assert found.outcome == ("found" if found.points else "unknown"), seed
            assert not found.complete, (seed, solves)
            for point, key in zip(found.points, keys, strict=True):
                assert audit.faults(survey, point.standing) == []
                assert key in expected or not point.proven, (seed, solves)
                proven += point.proven
            partial += len(keys) > 0
            if found.complete_below is not None:
                criterion, amount = found.complete_below
                below = [key for key in expected if key[survey.rank.index(criterion)] < amount]
                assert set(below) <= set(keys), (seed, solves)
                parts += 0 < len(below) < len(expected)
        else:
            raise AssertionError(f"seed {seed} takes more than 200 solves")
    assert partial >= 20
    assert proven >= 5
    assert parts >= 2


def test_what_is_found_but_not_proven_bounds_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first least value comes with half of it as its bound, as from a solve that is stopped."""
    least, asked = Search.least, []

    def cut(search: Search, stage: Stage, caps: Mapping[Stage, int]) -> Least:
        found = least(search, stage, caps)
        asked.append(found.value)
        return dataclasses.replace(found, bound=(found.value or 0) // 2) if len(asked) == 1 else found

    loaded = load_scenario(ROOT / "scenarios" / "quay-live-room.toml")
    survey = survey_room(loaded.scenario, loaded.hardware)
    monkeypatch.setattr(Search, "least", cut)
    found = front(survey)
    assert (found.complete, len(found.points)) == (False, 1)
    assert not found.points[0].proven
    cost = criteria.value(survey, found.points[0].figures, "cost")
    assert found.complete_below is None or found.complete_below[1] < cost


def test_what_a_step_says_is_the_difference_of_the_points() -> None:
    """Whole sentences for made-up points; cooling in steps of 2 K up to 15 K."""
    loaded = load_scenario(ROOT / "scenarios" / "quay-live-room.toml")
    survey = survey_room(loaded.scenario, loaded.hardware)
    first = front(dataclasses.replace(survey, rank=("cost",))).points[0].figures

    def point(cost: int, idle: int, margin_mk: int | None) -> criteria.Figures:
        return dataclasses.replace(
            first, cost=cost, stranded=0, holes=0, idle=idle, margin_mk=margin_mk, level=survey.level(margin_mk)
        )

    points = [point(100_00, 20, 9_900), point(690_00, 12, 12_100), point(690_50, 14, 14_900), point(700_00, 2, None)]
    told = front_report(survey, points, points[1], complete=True)
    assert [p.step for p in told.points] == [
        None,
        "8 fewer unused and 3 K more margin for 590.00 more",
        "2 K more margin for 0.50 more and 2 more unused",
        "12 fewer unused for 9.50 more",
    ]
    assert [p.changes for p in told.points] == [
        {},
        {"cost": "+590.00", "unused": "-8", "cooling": "+3"},
        {"cost": "+0.50", "unused": "+2", "cooling": "+2"},
        {"cost": "+9.50", "unused": "-12"},
    ]
    assert [p.values["cooling"] for p in told.points] == ["9", "12", "14", None]
    assert [p.counts_as for p in told.points] == ["8 to 10 K", "12 to 14 K", "14 K and more", None]
    assert [p.marks for p in told.points] == [["cheapest"], ["the scenario's choice"], ["coolest"], ["least wasted"]]
    part = [point(100_00, 4, 9_900), point(120_00, 4, None)]
    told = front_report(survey, part, None, complete=False, below=("cost", 110_00))
    assert (told.complete, told.complete_below) == (False, {"cost": "110.00"})
    assert told.points[1].step == "a margin that is not checked for 20.00 more"
    assert told.points[1].changes == {"cost": "+20.00", "cooling": None}
    assert [p.marks for p in told.points] == [["cheapest", "least wasted"], ["least wasted"]]


def test_the_document_adds_up() -> None:
    """Figures of the points and the changes between them, for seeded fronts of several points."""
    steps = 0
    for seed in SEEDS:
        survey = survey_room(*generate.random_pair(seed))
        figures = [point.figures for point in front(survey).points]
        told = front_report(survey, figures, None, complete=True).points
        for before, after in pairwise(told):
            steps += 1
            for criterion, value in after.values.items():
                earlier = before.values[criterion]
                if value is None or earlier is None:
                    assert after.changes.get(criterion) is None
                    continue
                if criterion == "cooling" and before.counts_as == after.counts_as:
                    assert criterion not in after.changes, "margins of one step are equal"
                    continue
                assert Decimal(earlier) + Decimal(after.changes.get(criterion) or 0) == Decimal(value), seed
        for mark, criterion, best in (
            ("cheapest", "cost", min),
            ("least wasted", "unused", min),
        ):
            if criterion not in survey.rank or not told:
                continue
            values = [Decimal(p.values[criterion] or 0) for p in told]
            assert [mark in p.marks for p in told] == [value == best(values) for value in values], (seed, mark)
        if "cooling" in survey.rank and told:
            # A margin that is not checked counts as enough, and is marked as nothing.
            levels = [survey.level(f.margin_mk) for f in figures]
            best_of = {n for n, f in enumerate(figures) if f.margin_mk is not None and levels[n] == max(levels)}
            shown = {told[n].values["cooling"] for n in best_of}
            mark = "coolest" if len(shown) == 1 else "coolest, equal within a step"
            assert [mark in p.marks for p in told] == [n in best_of for n in range(len(told))], (seed, mark)
            assert sum("coolest" in m for p in told for m in p.marks) == len(best_of)
    assert steps >= 10


def run(*arguments: str, columns: str = "80") -> subprocess.CompletedProcess[str]:
    return strapwork("front", *arguments, columns=columns)


def test_a_front_as_a_document() -> None:
    ran = run(MIX, "--format", "json")
    report = Report.model_validate(json.loads(ran.stdout))
    assert (ran.returncode, report.outcome, report.proven) == (0, "found", True)
    assert report.front is not None
    assert report.front.complete
    assert report.front.cooling_step_k == "2"
    assert [b.cost for b in report.builds] == ["3030.00", "3220.00", "2380.00"]
    first, second, third = report.front.points
    assert first.values == {"unused": "12", "cost": "3030.00", "cooling": "13"}
    assert first.counts_as == "12 to 14 K"
    assert first.marks == ["least wasted", "the scenario's choice"]
    assert second.marks == ["coolest, equal within a step", "least wasted"]
    assert second.changes == {"cost": "+190.00", "cooling": "+4"}
    assert third.marks == ["cheapest", "coolest, equal within a step"]
    assert third.changes == {"unused": "+8", "cost": "-840.00"}


WIDE = """\
Gannet Quay, mix rig, 44.1 kHz: what can be had by unused, cost, cooling
3 builds that no other beats; complete: proven that none is missing
Margins of one step count as equal: 12 to 14 K (build 1), 14 K and more (builds 2-3)

   cost GBP  unused  cooling  step from the one before; marks   unused
1   3030.00      12     13 K  least wasted; the scenario's      20 |x
                              choice                               |
2   3220.00      12     17 K  4 K more margin for 190.00           |
                              more; coolest, equal within a        |
                              step; least wasted                   |
3   2380.00      20     16 K  840.00 saved for 8 more unused;      |
                              cheapest; coolest, equal within      |
                              a step                               |
                                                                   |
                                                                   |
                                                                12 |                        o      x
                                                                   +--------------------------------
                                                                    2380.00                  3220.00
                                                                                            cost GBP
                                                                    o 12 to 14 K
                                                                    x 14 K and more
"""


def test_a_front_at_100_columns_is_drawn_beside_its_table() -> None:
    assert run(MIX, columns="100").stdout == WIDE


NARROW = """\
Gannet Quay, mix rig, 44.1 kHz: what can
be had by unused, cost, cooling
3 builds that no other beats; complete:
proven that none is missing
Margins of one step count as equal: 12
to 14 K (build 1), 14 K and more (builds
2-3)

                              step from
                              the one
                              before;
   cost GBP  unused  cooling  marks
1   3030.00      12     13 K  least
                              wasted;
                              the
                              scenario's
                              choice
2   3220.00      12     17 K  4 K more
                              margin for
                              190.00
                              more;
                              coolest,
                              equal
                              within a
                              step;
                              least
                              wasted
3   2380.00      20     16 K  840.00
                              saved for
                              8 more
                              unused;
                              cheapest;
                              coolest,
                              equal
                              within a
                              step
"""


def test_a_front_at_40_columns() -> None:
    assert run(MIX, columns="40").stdout == NARROW


def test_one_build_is_shown_and_saved(tmp_path: Path) -> None:
    target = tmp_path / "third.toml"
    ran = run(MIX, "--show", "3", "--save", str(target))
    assert ran.returncode == 0
    assert "Build 3, frame M: tern-6 with slate-32" in ran.stdout
    checked = strapwork("check", MIX, target, "--format", "json")
    report = Report.model_validate(json.loads(checked.stdout))
    assert (report.outcome, report.builds[0].cost, report.builds[0].unused.total) == ("clean", "2380.00", 20)
    again = run(MIX, "--show", "1", "--save", str(target))
    assert (again.returncode, again.stdout) == (2, "")
    assert run(MIX, "--show", "1", "--save", str(target), "--force").returncode == 0
    assert "line-out-16" in target.read_text(encoding="utf-8")


def test_what_cannot_be_shown_or_saved(tmp_path: Path) -> None:
    ran = run(MIX, "--show", "4")
    assert (ran.returncode, ran.stdout) == (2, "")
    assert "there are 3 builds" in ran.stderr
    ran = run(MIX, "--save", str(tmp_path / "build.toml"))
    assert (ran.returncode, ran.stdout) == (2, "")
    assert "--show N" in ran.stderr
    assert list(tmp_path.iterdir()) == []


def test_an_impossible_front_says_what_plan_says() -> None:
    ran = run(IMPOSSIBLE)
    plan = strapwork("plan", IMPOSSIBLE)
    assert (ran.returncode, ran.stdout) == (plan.returncode, plan.stdout)
    assert ran.returncode == 1


def test_what_is_nice_to_have_gives_way(tmp_path: Path) -> None:
    text = (
        (ROOT / IMPOSSIBLE).read_text(encoding="utf-8").replace("channels = 40", 'channels = 40\nimportance = "nice"')
    )
    scenario = tmp_path / "nice.toml"
    scenario.write_text(text.replace("hardware/", f"{ROOT.as_posix()}/scenarios/hardware/"), encoding="utf-8")
    ran = run(str(scenario))
    assert ran.returncode == 0
    note = (
        "NOTE: not all that is nice to have can be met: 8 channels of 1 need give way; "
        "proven the fewest channels, then the fewest needs"
    )
    assert note in " ".join(ran.stdout.split())


def test_out_of_time_before_anything_is_found() -> None:
    late = "from solver.search.solve.clock import Clock; Clock.remaining_s = 0.0; from cli.__main__ import main; main()"
    command = [sys.executable, "-c", late, "front", "scenarios/quay-live-room.toml", "--limit", "1", "--format", "json"]
    ran = subprocess.run(command, cwd=ROOT, check=False, capture_output=True, text=True)
    report = Report.model_validate(json.loads(ran.stdout))
    assert ran.returncode == 3
    assert (report.outcome, report.proven, report.builds, report.front) == ("unknown", False, [], None)


@pytest.mark.parametrize(
    ("card", "told"),
    [
        ("line-duo-8", ["line-duo-8; so cooling of build 3"]),
        ("aes-8", ["aes-8; so cooling of builds 1-3"]),
        (
            "line-out-8",
            [
                "line-out-8; so cooling of build 1",
                "line-out-8 x 3; so cooling of build 2",
                "line-out-8 x 2; so cooling of build 3",
            ],
        ),
    ],
)
def test_what_is_not_checked_is_said_once_with_the_builds(card: str, told: list[str], tmp_path: Path) -> None:
    """Without an air limit of one card, only the builds that have it are not checked for that."""
    hardware = (ROOT / "scenarios" / "hardware" / "quay.toml").read_text(encoding="utf-8")
    start = hardware.index(f'id = "{card}"')
    end = hardware.index("\n[[", start)
    kept = [line for line in hardware[start:end].splitlines(True) if not line.startswith("air_limit_c")]
    (tmp_path / "quay.toml").write_text(hardware[:start] + "".join(kept) + hardware[end:], encoding="utf-8")
    text = (ROOT / MIX).read_text(encoding="utf-8").replace("hardware/quay.toml", "quay.toml")
    (tmp_path / "mix.toml").write_text(text, encoding="utf-8")
    said = " ".join(run(str(tmp_path / "mix.toml")).stdout.split())
    lines = [f"NOT CHECKED air limit unknown: {what} is not checked" for what in told]
    assert said[said.index("NOT CHECKED") :] == " ".join(lines)

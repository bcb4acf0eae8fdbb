"""What gives way where rooms cannot all have what is nice to have: against trying everything."""

from __future__ import annotations

import dataclasses
import random
from collections import Counter
from pathlib import Path

import campus_brute_force
import generate
import pytest
from amounts import some_or_all
from booths import NORTH
from counted import Counted

from cli.main import run
from solver.files.reading import load_scenario
from solver.judge.campus import Campus, CampusFigures, CampusStanding, faults, figures, stand_campus, survey_campus
from solver.reports.report import Report
from solver.room.hardware import Hardware
from solver.room.scenario import Scenario
from solver.search.campus import planning as search
from solver.search.campus.planning import plan_campus
from solver.search.solve.clock import SearchError

HARDWARE = Path(__file__).parents[2] / "scenarios/hardware/quay.toml"

SEEDS = range(100)
"""Campuses with needs that are nice to have that are compared."""


def with_nice_needs(seed: int) -> tuple[Scenario, Hardware]:
    """A campus in which needs are made nice to have, and some are made greater, so that they cannot all be met."""
    scenario, hardware = generate.random_campus(seed)
    chance = random.Random(seed)
    rooms = []
    for room in scenario.room:
        needs = []
        for need in room.need:
            importance = "nice" if chance.random() < 0.6 else "must"
            more = chance.choice((0, 0, 1, 2)) if importance == "nice" else 0
            needs.append(need.model_copy(update={"importance": importance, "channels": need.channels + more}))
        rooms.append(room.model_copy(update={"need": tuple(needs)}))
    return scenario.model_copy(update={"room": tuple(rooms)}), hardware


@some_or_all("seeds", SEEDS[:50], SEEDS)
def test_the_least_gives_way_and_the_ranking_decides_among_equals(seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = with_nice_needs(seed)
        campus = survey_campus(scenario, hardware)
        expected = campus_brute_force.plan(scenario, hardware)
        found = plan_campus(campus)
        assert found.outcome == ("found" if expected else "impossible"), seed
        seen[found.outcome] += 1
        if expected is None or found.best is None:
            continue
        assert found.best.proven, seed
        assert (found.best.figures.short, found.best.figures.short_needs) == expected.short, seed
        top = {"cooling": campus.purse.top_level}
        assert [found.best.figures.value(c) for c in scenario.rank] == [
            expected.bad(c) + top.get(c, 0) for c in scenario.rank
        ], seed
        again = stand_campus(campus, found.best.build)
        assert faults(campus, again) == []
        assert figures(campus, again) == found.best.figures
        seen["short"] += expected.short[0] > 0
        seen["several needs short"] += expected.short[1] > 1
        seen["several rooms short"] += sum(sum(own.shortfalls) > 0 for own in expected.own) > 1
    share = len(seeds) / len(SEEDS)
    assert seen["found"] >= 40 * share
    assert seen["impossible"] >= 20 * share
    assert seen["short"] >= 20 * share
    assert seen["several needs short"] >= 10 * share
    assert seen["several rooms short"] >= 5 * share


def test_a_search_that_is_stopped_claims_no_more_than_it_knows() -> None:
    """After every few solves: never impossible, and what is called proven is what trying everything finds."""
    seen: Counter[str] = Counter()
    for seed in (1, 12, 17, 26, 29, 31):
        scenario, hardware = with_nice_needs(seed)
        expected = campus_brute_force.plan(scenario, hardware)
        if expected is None or not expected.short[0] or scenario.slack:
            continue
        campus = survey_campus(scenario, hardware)
        top = {"cooling": campus.purse.top_level}
        least = {"short": expected.short[0], "short_needs": expected.short[1]}
        least |= {criterion: expected.bad(criterion) + top.get(criterion, 0) for criterion in scenario.rank}
        for solves in (*range(0, 40, 3), *range(40, 160, 12)):
            found = plan_campus(campus, clock=Counted(solves))
            assert found.outcome != "impossible", (seed, solves)
            seen[found.outcome] += 1
            if found.best is None:
                continue
            assert faults(campus, found.best.standing) == []
            for criterion, least_of_all in least.items():
                if not found.best.stages[criterion]:
                    seen["not proven"] += 1
                    assert found.best.bounds.get("short", 0) <= least["short"]
                    break
                assert found.best.figures.value(criterion) == least_of_all, (seed, solves, criterion)
            else:
                assert found.best.proven
                seen["proven"] += 1
    assert min(seen["unknown"], seen["not proven"], seen["proven"]) >= 5, seen


SHARED = """\
format = 1
title = "Gannet Quay, two booths"
hardware = ["HARDWARE"]
currency = "GBP"
air = { inlet_c = 24 }
rank = ["cost", "unused"]
[stock]
mic-16 = 1
mic-8 = 1
line-out-8 = 2
"""

SOUTH = """\
[[room]]
name = "Booth south"
frame = [{ name = "A", chassis = "wren-4", board = "slate-32" }]
need = [
  { name = "voices", direction = "in", signal = "mic", channels = 7, spare = 1, importance = "nice" },
  { name = "headphones", direction = "out", signal = "line", channels = 9, importance = "nice" },
]
"""


@pytest.fixture
def booths(tmp_path: Path) -> str:
    path = tmp_path / "booths.toml"
    path.write_text((SHARED + NORTH + SOUTH).replace("HARDWARE", HARDWARE.as_posix()), encoding="utf-8")
    return str(path)


def test_the_plan_says_what_gives_way_in_which_room_and_its_build_is_clean(
    booths: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    saved = str(tmp_path / "built.toml")
    assert run(["plan", booths, "--save", saved]) == 0
    screen = capsys.readouterr().out
    head, _, rest = screen.partition("\nroom  ")
    assert head == (
        "Gannet Quay, two booths, 2 rooms, ranked by cost, unused\n"
        "proven best\n"
        "not all that is nice to have can be met: 9 channels of 2 needs give way; proven\n"
        "the fewest channels, then the fewest needs\n"
        "\n"
        "short   9 channels that are nice to have, proven\n"
        "cost    0.00 GBP, proven\n"
        "unused  12 channels, proven\n"
    )
    gives_way = (
        'Gives way   room Booth south: drop 1 of 9 line outputs on "headphones"; 8 left\n'
        '            room Booth south: drop all 8 mic inputs on "voices"\n'
    )
    assert gives_way in rest
    assert run(["check", booths, saved]) == 0
    checked = capsys.readouterr().out
    assert checked.startswith("Clean: ")
    assert gives_way in checked


def test_the_document_names_the_room_of_what_is_short(booths: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["plan", booths, "--format", "json"]) == 0
    build = Report.model_validate_json(capsys.readouterr().out).builds[0]
    assert [(s.room, s.need, s.asked, s.short) for s in build.short] == [
        ("Booth south", "headphones", 9, 1),
        ("Booth south", "voices", 8, 8),
    ]
    assert (build.stages["short"], build.stages["short_needs"]) == (True, True)


def test_what_must_be_met_never_gives_way(tmp_path: Path, booths: str) -> None:
    Path(booths).write_text(Path(booths).read_text("utf-8").replace("channels = 14", "channels = 30"), "utf-8")
    assert run(["plan", booths]) == 1


def test_a_search_that_claims_less_short_than_the_audit_finds_is_a_defect(
    booths: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    loaded = load_scenario(Path(booths))
    campus = survey_campus(loaded.scenario, loaded.hardware)

    def wrong(campus: Campus, standing: CampusStanding) -> CampusFigures:
        found = figures(campus, standing)
        rooms = (dataclasses.replace(found.rooms[0], short=found.rooms[0].short + 1), *found.rooms[1:])
        return dataclasses.replace(found, rooms=rooms)

    monkeypatch.setattr(search, "figures", wrong)
    with pytest.raises(SearchError):
        plan_campus(campus)

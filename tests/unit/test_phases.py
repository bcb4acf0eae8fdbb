"""Buying in phases: what is wrong with them in files, what screens say, and builds that are no phases."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from inside import strapwork
from samples import SCENARIO, change, faults_of, write

import solver
from cli.screen.phases import show_phases
from solver.judge.phases import moved_twice
from solver.room.errors import WrongQuestion
from solver.room.phases import phases_of
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.search.ask.ranking import rank
from solver.search.phases.planning import plan_phases
from solver.search.solve.clock import Clock

YEARS = Path(__file__).parents[2] / "scenarios/quay-two-years.toml"
MIX = Path(__file__).parents[2] / "scenarios/quay-mix-rig.toml"
PLAIN = change(SCENARIO, 'slack = { cost = "5 %" }\n', "")
NOW = '[[phase]]\nname = "now"\nneeds = ["returns"]\n'


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Path]:
    """The screen of the plan, and the build that it saves."""
    path = tmp_path_factory.mktemp("built") / "build.toml"
    found = strapwork("plan", YEARS, "--save", path)
    assert found.returncode == 0
    return found.stdout, path


@pytest.fixture
def saved(planned: tuple[str, Path]) -> Path:
    return planned[1]


@pytest.mark.parametrize(
    ("scenario", "expected"),
    [
        (f'{PLAIN}[[phase]]\nname = "now"\nneeds = ["retruns"]\n', 'did you mean "returns"?'),
        (f"{PLAIN}{NOW}{NOW}", "now"),
        (f'{PLAIN}{NOW}budget = "10.001"\n', "10.001"),
        (f'{PLAIN}{NOW}prices = {{ line-in-9 = "10.00" }}\n', "is not on offer"),
        (f"{SCENARIO}{NOW}", "does not go with phases"),
        (change(f"{PLAIN}{NOW}", "channels = 8\n", 'channels = 8\nimportance = "nice"\n'), "nice to have does not go"),
    ],
)
def test_what_cannot_be_a_phase_is_told_with_its_place(tmp_path: Path, scenario: str, expected: str) -> None:
    (fault,) = [f.text() for f in faults_of(write(tmp_path, scenario)) if f.severity == "fault"]
    assert expected in fault


def test_other_questions_say_that_they_know_no_phases() -> None:
    with pytest.raises(WrongQuestion, match="has phases"):
        solver.reach(YEARS)


def test_one_phase_is_a_plan_without_any() -> None:
    files = solver.load(MIX)
    whole = rank(survey_room(files.scenario, files.hardware), 1).builds[0]
    document = files.scenario.model_dump(by_alias=True)
    document["phase"] = [{"name": "all", "needs": [need.name for need in files.scenario.need]}]
    found = plan_phases(phases_of(Scenario.model_validate(document), files.hardware), Clock())
    assert found.best is not None
    (own,) = found.best.figures
    assert found.best.values["cost"] == whole.figures.cost
    assert (own.unused, own.level) == (whole.figures.unused, whole.figures.level)


def test_phases_are_never_cheaper_than_the_last_one_alone(planned: tuple[str, Path]) -> None:
    """At the lowest prices: all that gets dearer is bought at once, so it costs the same here."""
    files = solver.load(YEARS)
    document = files.scenario.model_dump(by_alias=True, exclude={"phase", "budget"})
    names = set(files.scenario.phase[-1].needs)
    document["need"] = [need for need in document["need"] if need["name"] in names]
    alone = rank(survey_room(Scenario.model_validate(document), files.hardware), 1).builds[0].figures.cost
    assert alone == 617000
    assert "together 6170.00 " in " ".join(planned[0].split())


def _plan(**update: Any) -> Any:
    files = solver.load(YEARS)
    scenario = Scenario.model_validate(files.scenario.model_dump(by_alias=True) | update)
    return solver.plan(scenario, hardware=files.hardware)


def test_the_screen_says_what_is_bought_when_where_it_goes_and_that_nothing_moves(planned: tuple[str, Path]) -> None:
    told, _ = planned
    flat = " ".join(told.split())
    assert "proven best by cost, unused, cooling; nothing moves: what is seated stays in its slot" in flat
    assert "Order 1 x line-in-16 at 1440.00 = 1440.00, kept for later 1 x mic-16 at 1960.00 = 1960.00" in flat
    assert "Seat A: line-in-16 in 2, mic-8 in 3, line-out-16 in 10-11 Change nothing moves; 3 cards in, " in flat
    assert "together 6170.00 this year: " in flat, "1440 + 1960 + 1180 this year, 1590 next year"
    assert max(map(len, told.splitlines())) <= 80


def test_a_budget_over_all_phases_is_told_where_those_of_the_phases_come_to_more(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """5000.00 and 6500.00 are less than 12000.00, which the screen above does not tell, and more than 7000.00."""
    report = _plan()
    assert report.phases.budget == "12000.00"
    less = report.phases.model_copy(update={"budget": "7000.00"})
    show_phases(report.model_copy(update={"phases": less}))
    assert "together 6170.00 7000.00 for all this year: " in " ".join(capsys.readouterr().out.split())


def test_a_budget_puts_off_what_gets_dearer_by_least() -> None:
    """4000.00 pay mic-16 and one of line-in-16, which is 100.00 dearer next year, and mic-8, which is 110.00 dearer."""
    document = solver.load(YEARS).scenario.model_dump(by_alias=True)["phase"]
    document[0]["budget"] = "4000.00"
    found = _plan(phase=document).phases
    assert [phase.cost for phase in found.phases] == ["3140.00", "3130.00"], "1960 + 1180; 1540 + 1590"
    assert found.total == "6270.00"


def test_the_first_phase_may_be_as_cheap_as_can_be() -> None:
    found = _plan(cost_of="first phase").phases
    assert [(phase.cost, [order.item for order in phase.orders]) for phase in found.phases] == [
        ("1960.00", ["mic-16"]),
        ("4420.00", ["line-in-16", "line-out-16", "mic-8"]),
    ]
    assert found.phases[0].orders[0].kept == 0


def test_what_is_saved_is_clean(saved: Path) -> None:
    clean = strapwork("check", YEARS, saved)
    assert (clean.returncode, "Clean in this year, next year" in clean.stdout) == (0, True)


def _dearer(build: Any) -> None:
    build["order"][1]["price"] = "1900.00"


def _late(build: Any) -> None:
    build["order"][1]["phase"] = "next year"


def _too_many(build: Any) -> None:
    build["order"][3]["count"] = 5


def _out(build: Any) -> None:
    build["frame"][1]["cards"] = {
        "2": "line-in-16",
        "3": "mic-8",
        "4": "mic-16",
        "9": "line-out-8",
        "10": "line-out-16",
    }


def _other_board(build: Any) -> None:
    build["frame"][0]["board"] = "slate-32"


@pytest.mark.parametrize(
    ("harm", "expected"),
    [
        (_dearer, "this year: mic-16 is not on offer at 1900.00"),
        (_late, "this year: mic-16: 1 is used; stock and offers have 0"),
        (_too_many, "next year: budget: 7950.00 is to be spent of 6500.00"),
        (_too_many, "budget: 12530.00 is to be spent of 12000.00 in all phases"),
        (_out, "next year: frame A, slot 1: mic-16 is to stay here"),
        (_other_board, "next year: frame A: its slate-32 is to stay"),
    ],
)
def test_what_is_wrong_between_phases_is_told(
    saved: Path, tmp_path: Path, harm: Callable[[Any], None], expected: str
) -> None:
    """7950 is 5 x 1590, and 12530 that and 4580."""
    build = tomlkit.parse(saved.read_text("utf-8")).unwrap()
    for frame in build["frame"]:
        del frame["serves"]
    harm(build)
    (tmp_path / "build.toml").write_text(tomlkit.dumps(build), "utf-8")
    found = strapwork("check", YEARS, tmp_path / "build.toml")
    assert (found.returncode, expected in " ".join(found.stdout.split())) == (1, True), found.stdout


def test_more_is_ordered_than_there_is(saved: Path, tmp_path: Path) -> None:
    text = change(YEARS.read_text("utf-8"), '"hardware/quay.toml"', f'"{YEARS.parent}/hardware/quay.toml"')
    scenario = write(tmp_path, change(text, 'card = "mic-8"\n', 'card = "mic-8"\nat_most = 0\n'))
    found = strapwork("check", scenario, saved)
    assert "mic-8: 1 are ordered in all phases; there are 0 at that price" in " ".join(found.stdout.split())
    assert found.returncode == 1


def test_phases_that_cannot_all_be_served_are_named() -> None:
    document = solver.load(YEARS).scenario.model_dump(by_alias=True)["phase"]
    document[0]["budget"] = "2500.00"
    document[1]["budget"] = "3000.00"
    report = _plan(phase=document)
    assert (report.outcome, report.phases.clash, report.clash) == ("impossible", ["next year"], None)
    assert report.phases.ways[:2] == [
        'spend 900.00 more in "this year" (2500.00 -> 3400.00)',
        'spend 1420.00 more in "next year" (3000.00 -> 4420.00)',
    ], "1960 + 1440, or 1290 + 1540 + 1590"


def test_what_no_single_change_makes_possible_is_explained_of_the_phase_by_itself() -> None:
    document = solver.load(YEARS).scenario.model_dump(by_alias=True)
    for need in document["need"]:
        need["channels"] = 80 if need["name"] in ("mics", "headphones") else 1
    report: Any = solver.plan(Scenario.model_validate(document), hardware=solver.load(YEARS).hardware)
    assert (report.phases.clash, report.phases.ways, report.phases.all_ways) == (["this year"], [], True)
    assert report.clash is not None
    assert report.clash.ways, "of both needs together"


def test_ways_out_are_the_least_that_help() -> None:
    """mic-16 at 1960.00 is the least for 16 microphones, and no card for fewer costs 1000.00 or less."""
    document = solver.load(YEARS).scenario.model_dump(by_alias=True)["phase"]
    document[0]["budget"] = "1000.00"
    report = _plan(phase=document)
    assert (report.outcome, report.phases.clash) == ("impossible", ["this year"])
    assert report.phases.ways == [
        'spend 960.00 more in "this year" (1000.00 -> 1960.00)',
        'drop all 16 mic inputs on "mics"',
    ]
    assert report.phases.all_ways


def test_the_front_says_what_more_money_in_the_first_phase_saves() -> None:
    """mic-8 saves 110.00 and line-in-16 100.00 when they are bought a year before they are needed."""
    found = strapwork("front", YEARS, "--show", "2")
    told = " ".join(found.stdout.split())
    assert "3 ways to buy that no other beats in both; complete: proven that none is missing" in told
    assert "1 1960.00 6380.00 this year: 1 x mic-16 next year:" in told
    assert "2 3140.00 6270.00 1180.00 more saves 1290.00 later, 110.00 in all" in told
    assert "3 4580.00 6170.00 1440.00 more saves 1540.00 later, 100.00 in all" in told
    assert "1 x mic-8 at 1180.00 = 1180.00, kept for later" in told
    assert max(map(len, found.stdout.splitlines())) <= 80


def test_a_card_that_has_left_a_slot_stays_in_the_next_one() -> None:
    """Cards of a kind in the slots of one frame, phase by phase."""

    def places(*slots: int) -> frozenset[tuple[str, int]]:
        return frozenset(("A", slot) for slot in slots)

    walk = [places(1), places(2), places(3)]
    assert moved_twice([1, 1, 1], walk) == (1, 1), "from 1 to 2 to 3"
    assert moved_twice([1, 1, 2], walk) == (1, 1), "what comes to 2 has to leave it"
    assert moved_twice([1, 2, 2], walk) is None, "the second one comes to 2, and to 3"
    again = [places(1), places(), places(1)]
    assert moved_twice([1, 1, 1], again) is None, "taken out and seated again"
    assert moved_twice([1, 1, 1, 1], [*again, places()]) == (2, 1), "and taken out again"

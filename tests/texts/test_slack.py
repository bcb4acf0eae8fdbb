"""What slack lets in is told with a plan; slack that can let nothing in is warned of with the file, and only there."""

from __future__ import annotations

from pathlib import Path

import pytest
from readme_oracle.generate import load
from readme_oracle.judge import Judge
from samples import SCENARIO, change, write

import solver
from solver.files.reading import load_scenario
from solver.room.faults import FileFaults

ONE_ROOM = change(SCENARIO, "straps =", "# straps =")
SEVERAL = ONE_ROOM.partition("[[frame]]")[0] + "".join(
    f'[[room]]\nname = "{name}"\nframe = [{{ name = "A", chassis = "petrel-12", board = "shale-64" }}]\n'
    'need = [{ name = "returns", direction = "in", signal = "line", channels = 8 }]\n'
    for name in ("Hall", "Loft")
)

COST = "slack: up to 5 % more cost than the least was let in for what is ranked after it"
UNUSED = "slack: up to 4 unused channels more than the least was let in for what is ranked before it"
COOLING = "slack: up to 4 K less margin than the greatest was let in for what is ranked after it"

LAST_ALONE = "slack > unused: unused is ranked last, and nothing before it has slack: this changes no plan"


@pytest.mark.parametrize("rooms", [ONE_ROOM, SEVERAL], ids=["one room", "several rooms"])
@pytest.mark.parametrize(
    ("rank", "slack", "notes", "warnings"),
    [
        ('"cost", "unused"', 'cost = "5 %"', [COST], []),
        ('"cost", "unused"', 'cost = "5 %", unused = 4', [COST, UNUSED], []),
        ('"cooling", "cost"', "cooling = 4", [COOLING], []),
        ('"cost", "unused"', "unused = 4", [], [LAST_ALONE]),
        ('"cost", "unused"', 'cost = "0 %", unused = 4', [], [LAST_ALONE]),
        ('"cost", "unused"', 'cost = "0 %", unused = 0', [], []),
        ('"cost", "unused"', "", [], []),
    ],
)
def test_a_plan_says_what_slack_let_in(
    tmp_path: Path, rooms: str, rank: str, slack: str, notes: list[str], warnings: list[str]
) -> None:
    asked = f"rank = [{rank}]\nslack = {{ {slack} }}"
    text = change(rooms, 'rank = ["cost", "unused"]\nslack = { cost = "5 %" }', asked)
    path = write(tmp_path, text)
    report = solver.plan(path, top=1)
    assert report.outcome == "found"
    assert report.notes == notes
    assert [warning.text() for warning in load_scenario(path).warnings] == warnings


def test_slack_let_nothing_in_where_nothing_is_found(tmp_path: Path) -> None:
    report = solver.plan(write(tmp_path, change(ONE_ROOM, "channels = 8", "channels = 90")), top=1)
    assert (report.outcome, report.notes) == ("impossible", [])


def test_slack_of_the_last_criterion_alone_changes_no_best_build(tmp_path: Path) -> None:
    """By the words of the README, of every build that there is."""
    seen = 0
    for seed in range(60):
        try:
            loaded = load(tmp_path, seed)
        except FileFaults:
            continue
        builds = Judge(loaded.scenario, loaded.hardware).builds()
        if len(builds) < 2:
            continue
        last = loaded.scenario.rank[-1]
        slack: dict[str, int | str] = {last: "300 %" if last == "cost" else 40}
        plain, eased = (
            Judge(loaded.scenario.model_copy(update={"slack": given}), loaded.hardware) for given in ({}, slack)
        )
        assert plain.best(builds) == eased.best(builds)
        seen += len({plain.value(one.figures, last) for one in builds}) > 1
    assert seen >= 10

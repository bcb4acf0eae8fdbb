"""Several kinds of day: what is wrong with them in files, what screens say, and builds that are no one seating."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from inside import strapwork
from samples import SCENARIO, change, faults_of, write

import solver
from cli.screen.setups import show_setups
from solver.reports.setups import planned_report
from solver.room.errors import WrongQuestion
from solver.room.ready import survey_room
from solver.room.setups import Setups, setups_of
from solver.search.ask.ranking import rank
from solver.search.days import planning
from solver.search.days.model import DaysModel
from solver.search.days.planning import plan_days
from solver.search.model.cpsat import cp_model, steady_solver
from solver.search.solve import solving, stepwise
from solver.search.solve.clock import Clock
from solver.search.solve.solving import solve

WEEK = Path(__file__).parents[2] / "scenarios/quay-week.toml"
MIX = Path(__file__).parents[2] / "scenarios/quay-mix-rig.toml"
NEXT = MIX.with_name("quay-mix-rig-next-drawn.toml")
PLAIN = change(SCENARIO, 'slack = { cost = "5 %" }\n', "")
BAND = '[[setup]]\nname = "band"\nneeds = ["returns"]\n'


@pytest.mark.parametrize(
    ("scenario", "expected"),
    [
        (f'{PLAIN}[[setup]]\nname = "band"\nneeds = ["retruns"]\n', 'did you mean "returns"?'),
        (f"{PLAIN}{BAND}{BAND}", "band"),
        (f"{PLAIN}{BAND}sample_rate = 48001\n", "48001 Hz is no known sample rate"),
        (f"{SCENARIO}{BAND}", "does not go with setups"),
        (change(f"{PLAIN}{BAND}", "channels = 8\n", 'channels = 8\nimportance = "nice"\n'), "nice to have does not go"),
        (f'{PLAIN}{BAND}[tolerance.heat]\nfrom = "90 %"\nto = "110 %"\n', "does not go with setups"),
    ],
)
def test_what_cannot_be_a_kind_of_day_is_told_with_its_place(tmp_path: Path, scenario: str, expected: str) -> None:
    (fault,) = [f.text() for f in faults_of(write(tmp_path, scenario)) if f.severity == "fault"]
    assert expected in fault


def test_a_need_of_no_day_is_warned_of(tmp_path: Path) -> None:
    other = '[[need]]\nname = "talk"\ndirection = "in"\nsignal = "mic"\nchannels = 1\n'
    loaded = solver.load(write(tmp_path, f"{PLAIN}{BAND}{other}"))
    assert [fault.message for fault in loaded.warnings if "talk" in fault.path] == [
        "is a need of no setup, so nothing serves it"
    ]


def test_one_day_is_a_plan_without_any() -> None:
    files = solver.load(MIX)
    whole = rank(survey_room(files.scenario, files.hardware), 1).builds[0]
    document = files.scenario.model_dump(by_alias=True)
    document["setup"] = [{"name": "any", "needs": [need.name for need in files.scenario.need]}]
    found = plan_days(setups_of(type(files.scenario).model_validate(document), files.hardware), Clock())
    assert found.best is not None
    (own,) = found.best.figures
    assert (own.cost, own.unused, own.level) == (whole.figures.cost, whole.figures.unused, whole.figures.level)


def test_the_screen_says_what_is_done_between_the_days() -> None:
    told = strapwork("plan", WEEK).stdout
    done = "band to film amplifiers and phantom power off first; 1 strap, lid off M, one shutdown; "
    assert done in " ".join(told.split())
    assert "proven best; straps may be set for each" in told
    spare = "film: 8 line in, 8 mic in, 2 line out (under a tenth of what is asked)"
    assert spare in " ".join(told.split()), "16 less 8, 8 with numbers, 24 less 22"
    assert max(map(len, told.splitlines())) <= 80


def _built(folder: Path, setups: str, layouts: dict[str, str]) -> str:
    """What a check says of kinds of day on a frame whose cards stand as they are drawn in the comments of a test."""
    text = WEEK.read_text("utf-8").replace('"hardware/quay.toml"', f'"{WEEK.parent}/hardware/quay.toml"')
    before, after = text[: text.index("[[setup]]")], text[text.index("[[need]]") :]
    cards = '1 = "mic-8", 2 = "mic-8", 3 = "line-duo-8", 4 = "line-duo-8", 5 = "line-out-8"'
    frames = [
        f'[[frame]]\nname = "M"\nsetup = "{day}"\nboard = "slate-32"\nstraps = {{ layout = "{to}" }}\n'
        f"cards = {{ {cards} }}\n"
        for day, to in layouts.items()
    ]
    (folder / "build.toml").write_text(f"format = 1\n{''.join(frames)}", "utf-8")
    return " ".join(strapwork("check", write(folder, before + setups + after), folder / "build.toml").stdout.split())


def test_what_is_plugged_stays_until_something_else_has_its_place(tmp_path: Path) -> None:
    """Layout 1: outputs 1-8 in slot 5 alone. Layout 2: 9-16, 17-24, 25-32 in slots 3-5, inputs 25-32 in slot 3."""
    days = (
        '[[setup]]\nname = "band"\nneeds = ["mics", "keys and playback", "headphones"]\n'
        '[[setup]]\nname = "film"\nneeds = ["stems out", "stems back"]\nsample_rate = 44100\n'
    )
    told = _built(tmp_path, days, {"band": "1", "film": "2"})
    there = (
        "30 channels to plug otherwise (looms of M slot 3 in, M slots 3-5 out); clock source and recorder to 44.1 kHz; "
    )
    assert f"{there}M: set layout to 2; " in told, "22 stems out and 8 back"
    back = "14 channels to plug otherwise (looms of M slot 3 in, M slot 5 out); clock source and recorder to 48 kHz; "
    assert f"{back}M: set layout to 1; " in told, "8 keys of slot 3, 6 headphones; mics and the rest stayed plugged"


def test_a_need_is_the_same_need_on_every_day_whatever_is_beside_it(tmp_path: Path) -> None:
    """Layout 1 has the outputs of slot 5 as 1-8, layout 2 as 25-32."""
    days = (
        '[[setup]]\nname = "band"\nneeds = ["mics", "keys and playback", "headphones"]\n'
        '[[setup]]\nname = "quiz"\nneeds = ["headphones", "stems back"]\n'
    )
    told = _built(tmp_path, days, {"band": "1", "quiz": "2"})
    assert "band to quiz" in told
    assert "8 channels get other numbers" in told
    there, back = "(looms of M slot 3 in, M slot 3 out)", "(looms of M slot 3 in, M slot 5 out)"
    assert f"16 channels to plug otherwise {there}" in told, "8 headphones and 8 stems back"
    assert f"16 channels to plug otherwise {back}" in told, "headphones are plugged in one place at a time"


def test_what_a_day_has_in_common_with_the_one_before_keeps_its_numbers() -> None:
    """Headphones come first in the file, so a day by itself would give them the first numbers."""
    files = solver.load(WEEK)
    document = files.scenario.model_dump(by_alias=True)
    document["setup"] = [
        {"name": "mix", "needs": ["stems out"]},
        {"name": "live", "needs": ["headphones", "stems out"]},
    ]
    report = solver.plan(type(files.scenario).model_validate(document), hardware=files.hardware)
    assert report.setups is not None
    there, back = report.setups.changes
    assert there.text.startswith("amplifiers off first; every lid stays on; 8 channels to plug otherwise")
    assert back.text == "nothing to do"


def test_far_ends_are_those_of_the_needs_of_the_day(tmp_path: Path) -> None:
    hardware = f'hardware = ["{WEEK.parent}/hardware/quay.toml"]'
    text = change(WEEK.read_text("utf-8"), 'hardware = ["hardware/quay.toml"]', hardware)
    end = '[[far_end]]\nequipment = "cue amplifier"\nneed = "headphones"\nsockets = "1-8"\nfeeds = "headphones"\n'
    told = strapwork("plan", write(tmp_path, text + end), "--save", tmp_path / "build.toml")
    assert (told.returncode, "band to film" in told.stdout) == (0, True), told.stderr
    assert strapwork("check", tmp_path / "room.toml", tmp_path / "build.toml").returncode == 0


@pytest.mark.parametrize("board", ["slate-32", "twin"])
def test_a_frame_is_set_otherwise_whichever_of_two_boards_with_the_same_settings_it_has(board: str) -> None:
    files = solver.load(WEEK)
    twin = next(own for own in files.hardware.board if own.id == "slate-32").model_copy(update={"id": "twin"})
    chassis = tuple(own.model_copy(update={"boards": ("slate-32", "twin")}) for own in files.hardware.chassis)
    hardware = files.hardware.model_copy(update={"board": (*files.hardware.board, twin), "chassis": chassis})
    frames = tuple(frame.model_copy(update={"board": None}) for frame in files.scenario.frame)
    stock = {**files.scenario.stock, "slate-32": 1, "twin": 1}
    setups = setups_of(files.scenario.model_copy(update={"frame": frames, "stock": stock}), hardware)
    model = DaysModel(setups)
    for draft in model.drafts:
        for layout, term in draft.layouts(draft.survey.frames[0]):
            if layout.board != board:
                model.model.add(term == 0)
    model.model.minimize(model.ties()[0])
    status, solver_ = solve(model.model, Clock())
    assert (status, solver_.objective_value) == ("proven", 1)


def test_of_equal_plans_the_answer_is_the_same_whatever_the_seed_of_the_solver(monkeypatch: pytest.MonkeyPatch) -> None:
    files, answers = solver.load(WEEK), set()
    for seed in (0, 1, 2, 3, 7):

        def seeded(*how: Any, seed: int = seed) -> Any:
            found = steady_solver(*how)
            found.parameters.random_seed = seed
            return found

        monkeypatch.setattr(solving, "steady_solver", seeded)
        answers.add(solver.plan(files.scenario, hardware=files.hardware).as_json())
    assert len(answers) == 1


def test_days_that_cannot_share_a_seating_are_named(tmp_path: Path) -> None:
    files = solver.load(WEEK)
    same = replace(setups_of(files.scenario, files.hardware), straps="same")
    assert plan_days(same, Clock()).clash == (0, 1)
    report = solver.plan(files.scenario.model_copy(update={"straps": "same"}), hardware=files.hardware)
    assert report.setups is not None
    assert (report.outcome, report.setups.clash) == ("impossible", ["band", "film"])


def test_a_stage_that_is_cut_short_takes_nothing_worse_than_was_known(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first seating leaves the least unused; then each stage ends with the worst that it may find."""
    files = solver.load(WEEK)
    unused: list[int] = []
    rooms: list[DaysModel] = []

    class Watched(DaysModel):
        def __init__(self, setups: Setups) -> None:
            super().__init__(setups)
            rooms.append(self)

    def hasty(model: cp_model.CpModel, own: Clock, **how: bool) -> Any:
        wanted = rooms[0].asked("unused")[0]
        other = model.clone()
        other.maximize(wanted) if unused else other.minimize(wanted)
        answer = "found" if unused else "proven", solve(other, own)[1]
        unused.append(answer[1].value(wanted))
        return answer

    monkeypatch.setattr(planning, "DaysModel", Watched)
    monkeypatch.setattr(stepwise, "solve", hasty)
    found = plan_days(setups_of(files.scenario.model_copy(update={"rank": ("unused",)}), files.hardware), Clock())
    assert found.best is not None
    assert len(unused) > 3
    assert set(unused) == {unused[0]}


def test_days_are_not_named_where_the_time_was_over_before_that_was_proven(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The clock ends with the first proof: still impossible, proven, and no word of which day is in whose way."""
    files = solver.load(WEEK)
    same = replace(setups_of(files.scenario, files.hardware), straps="same")
    clock = Clock()

    def once(model: Any, own: Clock, **how: bool) -> Any:
        answer = solve(model, own, **how)
        own.stop()
        return answer

    monkeypatch.setattr(stepwise, "solve", once)
    found = plan_days(same, clock)
    assert (found.outcome, found.clash) == ("impossible", ())
    show_setups(planned_report(same, found, None))
    shown = capsys.readouterr().out
    assert "was not found within the limit" in shown
    assert "by itself" not in shown


def test_a_saved_plan_is_clean_and_one_that_is_no_seating_is_not(tmp_path: Path) -> None:
    saved = tmp_path / "week-build.toml"
    assert strapwork("plan", WEEK, "--save", saved).returncode == 0
    assert "Clean on band, film" in strapwork("check", WEEK, saved).stdout
    text = saved.read_text(encoding="utf-8")
    saved.write_text(text[: text.rindex('"mic-8"')] + '"line-in-8"' + text[text.rindex('"mic-8"') + 7 :], "utf-8")
    answer = strapwork("check", WEEK, saved)
    assert answer.returncode == 1
    assert "frame M: cards on film are not those on band" in answer.stdout
    saved.write_text(change(text, 'setup = "film"', 'setup = "flim"'), "utf-8")
    assert 'did you mean "film"?' in strapwork("check", WEEK, saved).stderr


def test_questions_about_one_day_say_so() -> None:
    with pytest.raises(WrongQuestion, match="has several kinds of day"):
        solver.front(WEEK)


@pytest.fixture(scope="module")
def week(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The plan of the week that ships, saved."""
    saved = tmp_path_factory.mktemp("week") / "week-build.toml"
    assert strapwork("plan", WEEK, "--save", saved).returncode == 0
    return saved


def test_each_day_has_lists_of_its_own(week: Path) -> None:
    """By the comments of the scenario: headphones are fed on band days alone, stems on film days alone."""
    carried = {
        day: {row.need for row in solver.channels(WEEK, week, setup=day).rows if row.need} for day in ("band", "film")
    }
    needs = {setup.name: set(setup.needs) for setup in solver.load(WEEK).scenario.setup}
    assert carried == needs
    for command in ("channels", "looms", "labels", "list", "work-order"):
        ran = strapwork(command, WEEK, week, "--setup", "film")
        assert (ran.returncode, "Gannet Quay, band and film, film, 48 kHz" in ran.stdout) == (0, True), command
        assert 'several setups: "band", "film"; name one with --setup' in strapwork(command, WEEK, week).stderr
    assert 'did you mean "film"?' in strapwork("looms", WEEK, week, "--setup", "flim").stderr
    assert "has no setups; leave --setup out" in strapwork("looms", MIX, NEXT, "--setup", "film").stderr


def test_the_order_from_one_day_to_the_next_sets_what_the_plan_says(week: Path, tmp_path: Path) -> None:
    """Layout 1 to layout 2 with the lid off, and nothing unplugged but what has its place taken."""
    order = solver.work_order(WEEK, week, setup="film", from_setup="band")
    assert (order.cards_in, order.cards_out, order.cards_moved, order.straps_moved, order.lids_off) == (
        0,
        0,
        0,
        1,
        ["M"],
    )
    steps = [step for section in order.sections for step in section.steps]
    assert [(step.group, step.to) for step in steps if step.action == "strap"] == [("layout", "2")]
    patched = " ".join(step.text for step in steps if step.action == "patch")
    assert "served no more" not in patched
    assert '"stems back" 1-8' in patched
    assert solver.work_order(WEEK, week, setup="film", from_setup="film").nothing_to_do
    moved = solver.diff(WEEK, week, week, setup="film", from_setup="band")
    assert [change.after for change in moved.straps] == ["2"]
    assert {change.need for change in moved.channels if change.after is None} >= {"headphones"}
    ran = strapwork("pack", WEEK, week, "--setup", "film", "--from-setup", "band", "--to", tmp_path / "film")
    assert ran.returncode == 0
    assert (tmp_path / "film/build.toml").read_bytes() == week.read_bytes()
    assert "band and film, film" in (tmp_path / "film/index.html").read_text(encoding="utf-8")


def test_another_sample_rate_is_a_step_with_the_lid_on(tmp_path: Path) -> None:
    """Of two days that differ in their rate alone the order sets the clock source, and sees that the frame locks."""
    text = MIX.read_text(encoding="utf-8").replace('"hardware/', f'"{(MIX.parent / "hardware").as_posix()}/')
    needs = '["outboard returns", "outboard sends"]'
    days = "".join(f'[[setup]]\nname = "{day}"\nneeds = {needs}\n{more}' for day, more in (("a", ""), ("b", RATE)))
    scenario, saved = tmp_path / "rates.toml", tmp_path / "rates-build.toml"
    scenario.write_text(f"{text}\n{days}", encoding="utf-8")
    assert strapwork("plan", scenario, "--save", saved).returncode == 0
    order = solver.work_order(scenario, saved, setup="b", from_setup="a")
    steps = [step.text for section in order.sections for step in section.steps]
    assert "Clock source and recorder to 48 kHz, amplifiers still off" in steps
    assert "M is locked, and shows 48 kHz" in steps
    assert (order.nothing_to_do, order.lids_off) == (False, [])
    assert order.summary == "clock source and recorder to 48 kHz"


RATE = "sample_rate = 48000\n"

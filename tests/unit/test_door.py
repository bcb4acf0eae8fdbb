"""The door for programs: each question is a function that gives the document which its command prints."""

from __future__ import annotations

import asyncio
import doctest
import importlib
import os
import pkgutil
import signal
import subprocess
import sys
import threading
import time
import tomllib
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any, cast

import pytest
from inside import strapwork
from samples import write_two_rooms

import solver
from solver import door
from solver.reports.blocks import BlocksReport
from solver.reports.element import Element

ROOT = Path(__file__).parents[2]
MIX = "scenarios/quay-mix-rig.toml"
LIVE, LIVE_DRAWN = "scenarios/quay-live-room.toml", "scenarios/quay-live-room-drawn.toml"
FIRST, NEXT = "scenarios/quay-mix-rig-first-drawn.toml", "scenarios/quay-mix-rig-next-drawn.toml"
FILLED, DRAWN = "scenarios/quay-filled.toml", "scenarios/quay-filled-drawn.toml"
DRUMS, SEATED = "scenarios/quay-drum-list.toml", "scenarios/quay-drum-list-drawn.toml"
QUOTES = "scenarios/quay-quotes.toml"
HARDWARE = "scenarios/hardware/quay.toml"
DOOR = (
    "blocks",
    "channels",
    "check",
    "diff",
    "explain",
    "failed",
    "find",
    "front",
    "input_list",
    "labels",
    "looms",
    "pack",
    "plan",
    "reach",
    "single_points",
    "tolerance",
    "why",
    "why_not",
    "work_order",
)


@pytest.fixture(autouse=True)
def _in_the_folder_of_the_readme(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)


@pytest.fixture
def rooms(tmp_path: Path) -> Path:
    return write_two_rooms(tmp_path)


def run(code: str) -> str:
    """Run a program in a process of its own, in the folder of the README; what it prints."""
    paths = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, env=paths, check=True, capture_output=True, text=True
    ).stdout


def test_the_examples_of_each_function_are_true() -> None:
    rooms = [
        solver,
        *(importlib.import_module(found.name) for found in pkgutil.iter_modules(door.__path__, f"{door.__name__}.")),
    ]
    examples = [test for room in rooms for test in doctest.DocTestFinder().find(room) if test.examples]
    assert set(DOOR) <= {test.name.split(".")[-1] for test in examples}
    tried = [doctest.testmod(room, extraglobs={"solver": solver}) for room in rooms]
    assert sum(found.failed for found in tried) == 0
    assert sum(found.attempted for found in tried) >= 2 * len(DOOR)


ASKED = {
    "plan": (lambda: solver.plan(MIX, top=2), ("plan", MIX, "--top", 2)),
    "plan, impossible": (
        lambda: solver.plan("scenarios/quay-impossible.toml"),
        ("plan", "scenarios/quay-impossible.toml"),
    ),
    "front": (lambda: solver.front(Path(MIX)), ("front", MIX)),
    "why": (
        lambda: solver.why("scenarios/quay-impossible.toml", by="money"),
        ("why", "scenarios/quay-impossible.toml", "--by", "money"),
    ),
    "why_not": (lambda: solver.why_not(MIX, card="mic-8"), ("why-not", MIX, "--card", "mic-8")),
    "reach": (lambda: solver.reach(MIX, need="reference in"), ("reach", MIX, "--need", "reference in")),
    "explain": (lambda: solver.explain(MIX, show=2, against=1), ("explain", MIX, "--show", 2, "--against", 1)),
    "explain a file": (lambda: solver.explain(FILLED, build=DRAWN), ("explain", FILLED, "--build", DRAWN)),
    "check": (lambda: solver.check(FILLED, Path(DRAWN)), ("check", FILLED, DRAWN)),
    "channels": (lambda: solver.channels(FILLED, DRAWN, by="slot"), ("channels", FILLED, DRAWN, "--by", "slot")),
    "looms": (lambda: solver.looms(MIX, NEXT), ("looms", MIX, NEXT)),
    "find": (lambda: solver.find(MIX, NEXT, "slot:M:2"), ("find", MIX, NEXT, "slot:M:2")),
    "input_list": (lambda: solver.input_list(DRUMS, SEATED), ("list", DRUMS, SEATED)),
    "labels": (lambda: solver.labels(MIX, NEXT, width=8), ("labels", MIX, NEXT, "--width", "8")),
    "diff": (lambda: solver.diff(MIX, FIRST, Path(NEXT)), ("diff", MIX, FIRST, NEXT)),
    "work_order": (
        lambda: solver.work_order(FILLED, Path(DRAWN), old=DRAWN, time="30"),
        ("work-order", FILLED, DRAWN, "--from", DRAWN, "--time", "30"),
    ),
    "failed": (lambda: solver.failed(MIX, NEXT, "slot:M:2", "M:out:30"), ("failed", MIX, NEXT, "slot:M:2", "M:out:30")),
    "single_points": (lambda: solver.single_points(MIX, NEXT), ("single-points", MIX, NEXT)),
    "tolerance": (lambda: solver.tolerance(QUOTES), ("tolerance", QUOTES)),
    "clock": (lambda: solver.clock(MIX), ("clock", MIX)),
    "power": (lambda: solver.power(MIX, FIRST), ("power", MIX, FIRST)),
    "rack": (lambda: solver.rack(LIVE, LIVE_DRAWN), ("rack", LIVE, LIVE_DRAWN)),
    "blocks": (lambda: solver.blocks(HARDWARE, rate=96000), ("blocks", HARDWARE, "--rate", "96k")),
}


@pytest.mark.parametrize(("ask", "command"), ASKED.values(), ids=ASKED)
def test_an_answer_is_the_document_that_the_command_prints(
    ask: Callable[[], Element], command: tuple[object, ...]
) -> None:
    assert ask().as_json() == strapwork(*command, "--format", "json").stdout


def test_a_document_of_blocks_is_what_its_schema_says() -> None:
    document = solver.blocks(HARDWARE)
    assert BlocksReport.model_validate_json(document.as_json()) == document


def test_several_rooms_are_planned_together_and_asked_about_one_by_one(rooms: Path) -> None:
    for document, command in (
        (solver.plan(rooms), ("plan", rooms)),
        (solver.why(rooms), ("why", rooms)),
        (solver.front(rooms, room="North"), ("front", rooms, "--room", "North")),
        (solver.why(rooms, room="South"), ("why", rooms, "--room", "South")),
    ):
        assert document.as_json() == strapwork(*command, "--format", "json").stdout


def test_a_scenario_and_a_build_that_are_no_files_get_the_same_answers() -> None:
    files = solver.load(FILLED)
    drawn = solver.Build.model_validate(_toml(DRAWN))
    of_nouns = solver.check(files.scenario, drawn, hardware=files.hardware)
    assert of_nouns.as_json() == solver.check(FILLED, DRAWN).as_json()
    assert solver.check(files.scenario, DRAWN, hardware=files.hardware) == of_nouns
    hardware = solver.Hardware.model_validate(_toml(HARDWARE))
    assert solver.blocks(hardware).as_json() == solver.blocks(HARDWARE).as_json()


def _toml(path: str) -> dict[str, object]:
    return tomllib.loads(Path(path).read_text(encoding="utf-8"), parse_float=Decimal)


def test_a_bad_file_raises_one_error_with_every_fault(tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    text = Path(MIX).read_text(encoding="utf-8").replace('"hardware/', f'"{(ROOT / "scenarios/hardware").as_posix()}/')
    bad.write_text(text.replace('currency = "GBP"', 'currency = "gbp"\nbudgett = 1'), encoding="utf-8")
    with pytest.raises(solver.FileFaults) as refused:
        solver.plan(bad)
    assert {fault.path[0] for fault in refused.value.faults} == {"currency", "budgett"}
    assert isinstance(refused.value, solver.StrapworkError)
    assert refused.value.render() in strapwork("plan", bad).stderr


def test_a_scenario_that_is_no_file_is_checked_like_one() -> None:
    files = solver.load(MIX)
    changed = files.scenario.model_copy(update={"currency": "gbp", "stock": {"no-such-card": 1}})
    with pytest.raises(solver.FileFaults) as refused:
        solver.plan(changed, hardware=files.hardware)
    assert {(fault.file, fault.path[0]) for fault in refused.value.faults if fault.severity == "fault"} == {
        ("the scenario", "currency"),
        ("the scenario", "stock"),
    }


WRONG = {
    "no such room": (lambda: solver.front(MIX, room="x"), "room", "names no rooms; leave room= out"),
    "no such need": (lambda: solver.reach(MIX, need="x"), "need", "'x' is none of"),
    "nothing asked": (lambda: solver.why_not(MIX), None, "ask for something: setting=, card=, board=, cost= or wi"),
    "too cheap": (
        lambda: solver.why_not(MIX, card="line-out-16", cost=1),
        "cost",
        "line-out-16 cannot be had with cost=1.00: not",
    ),
    "two answers": (
        lambda: solver.why_not(MIX, cost="3", without_orders=True),
        None,
        "without_orders=True and cost=3 contradict each other",
    ),
    "a float": (lambda: solver.why_not(MIX, cost=cast(Any, float("nan"))), "cost", "nan"),
    "no number of builds": (lambda: solver.plan(MIX, top=0), "top", "must be a whole number, 1 to 100, found 0"),
    "no limit": (lambda: solver.plan(MIX, limit_s=float("nan")), "limit_s", "must be 0.01 to 1000000 seconds"),
    "no threads": (lambda: solver.plan(MIX, workers=65), "workers", "1 to 64, found 65"),
    "no order": (lambda: solver.why(MIX, by=cast(Any, "luck")), "by", "'luck' is none of work, money"),
    "two builds": (lambda: solver.explain(MIX, show=1, build=DRAWN), "show", "the number of a build or a build file"),
    "no such rate": (lambda: solver.blocks(HARDWARE, rate=96), "rate", "96 is no known sample rate"),
    "no hardware": (lambda: solver.plan(solver.load(MIX).scenario), "hardware", "needs hardware="),
}


@pytest.mark.parametrize(("ask", "about", "said"), WRONG.values(), ids=WRONG)
def test_what_cannot_be_asked_so_names_the_parameter(ask: Callable[[], Element], about: str | None, said: str) -> None:
    with pytest.raises(solver.WrongQuestion) as wrong:
        ask()
    assert wrong.value.about == about
    assert said in str(wrong.value)


def test_several_rooms_and_none_named_is_no_question(rooms: Path) -> None:
    with pytest.raises(solver.WrongQuestion, match='has several rooms: "North", "South"; name one with room='):
        solver.reach(rooms)


def test_whatever_is_raised_is_of_one_family() -> None:
    for error in (solver.FileFaults, solver.WrongQuestion, solver.SearchError):
        assert issubclass(error, solver.StrapworkError)


def test_no_module_bears_the_name_of_a_question() -> None:
    said = run(
        "import importlib, pkgutil, types, solver\n"
        "modules = [m.name for m in pkgutil.walk_packages(solver.__path__, 'solver.')]\n"
        "for name in modules: importlib.import_module(name)\n"
        f"print(len(modules) > 80, *(isinstance(getattr(solver, n), types.FunctionType) for n in {DOOR!r}))"
    )
    assert said.split() == ["True"] * (len(DOOR) + 1)


@pytest.mark.parametrize(
    ("asked", "loaded"),
    [
        ("", "[]"),
        (f"solver.blocks({HARDWARE!r})", "['pydantic']"),
        (f"solver.check({FILLED!r}, {DRAWN!r})", "['pydantic']"),
        (f"solver.explain({FILLED!r}, build={DRAWN!r})", "['pydantic']"),
    ],
)
def test_heavy_packages_are_imported_only_where_used(asked: str, loaded: str) -> None:
    heavy = {"ortools", "pandas", "numpy", "pydantic", "rich", "click"}
    said = run(f"import sys, solver\n{asked}\nprint(sorted({{m.split('.')[0] for m in sys.modules}} & {heavy!r}))")
    assert said.strip() == loaded


@pytest.mark.parametrize("first", ["", "import pandas"])
def test_pandas_is_itself_beside_a_plan(first: str) -> None:
    said = run(
        f"import sys\n{first}\nimport solver\nassert solver.plan({MIX!r}, top=1).outcome == 'found'\n"
        "found = sys.modules.get('pandas')\nassert found is None or found.__file__\n"
        "import pandas\nimport ortools.sat.python.cp_model as cp_model\n"
        "assert cp_model.pd is pandas\nprint(pandas.Series([1, 2]).sum())"
    )
    assert said == "3\n"


def test_a_plan_is_made_in_a_thread_and_beside_a_running_event_loop() -> None:
    expected = solver.plan(MIX, top=1)
    found = []
    thread = threading.Thread(target=lambda: found.append(solver.plan(MIX, top=1)))
    thread.start()
    thread.join()

    async def notebook() -> None:
        found.append(solver.plan(MIX, top=1))
        found.append(await asyncio.to_thread(solver.plan, MIX, top=1))

    asyncio.run(notebook())
    assert found == [expected] * 3


def test_threads_that_ask_at_once_get_the_same_answers() -> None:
    said = run(
        "import solver\nfrom concurrent.futures import ThreadPoolExecutor\n"
        "def ask(n):\n"
        f"    return (solver.plan({MIX!r}, top=1) if n % 2 else solver.check({FILLED!r}, {DRAWN!r})).as_json()\n"
        "with ThreadPoolExecutor(4) as pool: found = list(pool.map(ask, range(8)))\n"
        "print(len(set(found[::2])), len(set(found[1::2])))"
    )
    assert said.split() == ["1", "1"]


def test_no_signal_is_touched(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise AssertionError

    numbers = (signal.SIGINT, signal.SIGTERM)
    before = [signal.getsignal(number) for number in numbers]
    monkeypatch.setattr(signal, "signal", refuse)
    assert solver.plan(MIX, top=1).outcome == "found"
    assert [signal.getsignal(number) for number in numbers] == before


def test_ctrl_c_ends_a_plan_with_what_runs_behind_it() -> None:
    said = run(
        "import _thread, threading, time, solver\n"
        "files = solver.load('scenarios/quay-campus.toml')\n"
        "solver.plan(files.scenario, hardware=files.hardware, limit_s=1)\n"  # all is imported: an import may lose it
        "before = threading.active_count()\n"
        "timer = threading.Timer(0.3, _thread.interrupt_main)\ntimer.start()\n"
        "try:\n    solver.plan(files.scenario, hardware=files.hardware)\n"
        "except KeyboardInterrupt:\n    print('interrupted')\n"
        "until = time.monotonic() + 5\n"  # left alone it goes on for ten seconds
        "while threading.active_count() > before and time.monotonic() < until: time.sleep(0.05)\n"
        "print(threading.active_count() - before)"
    )
    assert said.split() == ["interrupted", "0"]


def test_a_limit_that_is_over_is_an_answer_and_leaves_nothing_running() -> None:
    solver.plan(MIX, top=1)
    before = threading.active_count()
    report = solver.plan("scenarios/quay-live-room.toml", top=100, limit_s=0.1)
    assert not report.complete
    until = time.monotonic() + 20
    while threading.active_count() > before and time.monotonic() < until:
        time.sleep(0.05)
    assert threading.active_count() == before

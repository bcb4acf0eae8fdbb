"""`start` at a terminal and by options: the same file, checked answers, and nothing left where it is broken off."""

from __future__ import annotations

import os
import select
import shutil
import signal
import subprocess
import time
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from amounts import some_or_all
from process.conftest import ROOT, command, environment

from solver.files.reading import load_scenario

if TYPE_CHECKING:
    from process.conftest import Run

pty = pytest.importorskip("pty")

CTRL_C, CTRL_D = "\x03", "\x04"

OWN_TERMINAL = "import fcntl, termios\nfcntl.ioctl(0, termios.TIOCSCTTY, 0)\n"
"""Makes the terminal the process' own, so that Ctrl-C is a signal to it."""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder that has the hardware that ships, and nothing else."""
    shutil.copytree(ROOT / "scenarios" / "hardware", tmp_path / "hardware")
    return tmp_path


def at_a_terminal(folder: Path, answers: Sequence[str], *arguments: str) -> tuple[int, str]:
    """The exit code, and what the terminal showed; each question gets the next answer, or is left at the end."""
    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        command("start", *arguments, first=OWN_TERMINAL),
        cwd=folder,
        env=environment(COLUMNS="80", NO_COLOR="1", TERM="dumb"),
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        start_new_session=True,
    )
    os.close(theirs)
    shown, left, deadline = b"", list(answers), time.monotonic() + 60
    while time.monotonic() < deadline:
        if not select.select([ours], [], [], 1.0)[0]:
            continue
        try:
            shown += os.read(ours, 65536)
        except OSError:  # the other end is closed
            break
        if shown.endswith(b": "):
            assert left, shown.decode()
            answer = left.pop(0)
            os.write(ours, answer.encode() + (b"" if answer in (CTRL_C, CTRL_D) else b"\n"))
    os.close(ours)
    code = process.wait(timeout=10)
    assert left == []
    return code, shown.decode().replace("\r\n", "\n")


ANSWERS = (
    "1", "Mix room", "96 kHz", "GBP",
    "2", "slate-32", "M", "wren-4", "any", "", "",
    "mic in", "12", "2", "drums & voices", "3", "8", "", "", "",
    "mic-8", "2", "line-out-8", "", "",
    "all", "7000.00", "24.5", "rig.toml",
)  # fmt: skip
OPTIONS = (
    "--hardware=hardware/quay.toml", "--title=Mix room", "--rate=96", "--currency=GBP",
    "--frame=M=tern-6/slate-32", "--frame=wren-4/any",
    "--need=drums & voices=12+2 mic in", "--need=8 line out",
    "--own=mic-8=2", "--own=line-out-8",
    "--buy=all", "--budget=7000.00", "--inlet=24.5", "--to=rig.toml",
)  # fmt: skip


def test_questions_and_options_write_the_same_file_which_plans(folder: Path, strapwork: Run) -> None:
    code, shown = at_a_terminal(folder, ANSWERS)
    assert (code, shown.splitlines()[-1]) == (0, "  strapwork plan rig.toml")
    asked = (folder / "rig.toml").read_bytes()
    (folder / "rig.toml").unlink()
    ran = strapwork("start", *OPTIONS, cwd=folder)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert (folder / "rig.toml").read_bytes() == asked
    planned = strapwork("plan", "rig.toml", "--top", "1", cwd=folder)
    assert (planned.returncode, planned.stderr) == (0, "")
    assert planned.stdout.startswith("Mix room, 96 kHz, ranked by cost, unused, cooling\n1 build, proven")


def test_what_the_answers_say_stands_in_the_file(folder: Path, strapwork: Run) -> None:
    assert strapwork("start", *OPTIONS, cwd=folder).returncode == 0
    scenario = load_scenario(folder / "rig.toml").scenario
    assert (scenario.title, scenario.sample_rate, scenario.currency) == ("Mix room", 96000, "GBP")
    assert [(f.name, f.chassis, f.board) for f in scenario.frame] == [
        ("M", "tern-6", "slate-32"),
        ("A", "wren-4", None),
    ]
    assert [tuple(dict(need).values())[:5] for need in scenario.need] == [
        ("drums & voices", "in", "mic", 12, 2),
        ("line out", "out", "line", 8, 0),
    ]
    assert scenario.stock == {"mic-8": 2, "line-out-8": 1}
    assert str(scenario.budget) == "7000.00"
    assert scenario.air is not None
    assert str(scenario.air.inlet_c) == "24.5"
    assert [offer.board for offer in scenario.offer if offer.board] == [
        "slate-32",
        "flint-48",
    ]  # for the frame with any
    assert len([offer for offer in scenario.offer if offer.card]) == 14


def test_enter_alone_and_no_options_write_the_same_file_which_plans(folder: Path, strapwork: Run) -> None:
    code, _ = at_a_terminal(folder, [""] * 18)
    assert code == 0
    asked = (folder / "room.toml").read_bytes()
    (folder / "room.toml").unlink()
    ran = strapwork("start", cwd=folder)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert "As usual, since no option says otherwise: --hardware, --title," in ran.stdout
    assert (folder / "room.toml").read_bytes() == asked
    (folder / "room.toml").unlink()
    assert at_a_terminal(folder, [], "--yes")[0] == 0
    assert (folder / "room.toml").read_bytes() == asked
    assert strapwork("plan", "room.toml", "--top", "1", cwd=folder).returncode == 0


def test_a_wrong_answer_is_told_and_asked_again(folder: Path) -> None:
    wrong = [
        ("hardware/quai.toml", 'there is no such file; did you mean "hardware/quay.toml"?'),
        ("", None),
        ("Mix\x1b[2Jroom", "must be visible characters without line breaks or control characters"),
        ("", None),
        ("4800", "is no known sample rate; did you mean 48000?"),
        ("", None),
        ("gbp", '"gbp" is no known currency; did you mean "GBP"?'),
        ("", None),
        ("tern-7", 'did you mean "tern-6"? (petrel-12, tern-6, wren-4)'),
        ("tern-6", None),
        ("slate", 'did you mean "slate-32"? (flint-48, shale-64, slate-32)'),
        ("", None),
        ("x" * 121, "must be at most 120 characters"),
        ("M", None),
        ("", None),
        ("mik in", '"mik" is no signal of these hardware files; did you mean "mic"?'),
        ("aes3", "aes3 goes both ways: say aes3 in or aes3 out"),
        ("mic", None),
        ("2000", "must be at most 1024, found 2000"),
        ("eight", 'must be a whole number, found "eight"'),
        ("8", None),
        ("-1", "must be at least 0, found -1"),
        ("", None),
        ("", None),
        ("", None),
        ("mic-9", 'did you mean "mic-8"?'),
        ("mic-8", None),
        ("10000", "must be at most 9999, found 10000"),
        ("1", None),
        ("", None),
        ("none mic-8", "none does not go with others"),
        ("mik-8", 'did you mean "mic-8"?'),
        ("mic-8", None),
        ("9000.005", "9000.005 has more decimals than GBP has (2)"),
        ("lots", 'must be an amount such as "1290.00", found "lots"'),
        ("9000", None),
        ("warm", 'must be degrees Celsius such as 25 or 24.5, or none, found "warm"'),
        ("200", "must be at most 150, found 200"),
        ("none", None),
        ("hardware/quay.toml", "is a hardware file of this scenario: never written to; name another file"),
        ("nowhere/room.toml", "there is no such folder"),
        ("room.toml", None),
    ]
    code, shown = at_a_terminal(folder, [answer for answer, _ in wrong])
    assert code == 0, shown
    told = " ".join(shown.split())
    at = 0
    for _, reason in wrong:
        if reason is not None:
            assert " ".join(reason.split()) in told[at:], reason
            at = told.index(" ".join(reason.split()), at)
    scenario = load_scenario(folder / "room.toml").scenario
    assert [(offer.card) for offer in scenario.offer] == ["mic-8"]
    assert scenario.air is None


def test_what_is_told_fits_eighty_columns(folder: Path) -> None:
    _, shown = at_a_terminal(folder, ["2", "Voces", *[""] * 16])
    told = [line for line in shown.splitlines() if "[" not in line or "]: " not in line]
    assert len(told) > 40
    assert max(map(len, told)) <= 80
    questions = [line.partition("]: ")[0] for line in shown.splitlines() if "]: " in line]
    assert len(questions) > 10
    assert max(map(len, questions)) < 80


@some_or_all("questions", (0, 1, 9, 17), range(18))
def test_ctrl_c_at_any_question_leaves_nothing(folder: Path, questions: Iterable[int]) -> None:
    before = sorted(folder.rglob("*"))
    for question in questions:
        code, shown = at_a_terminal(folder, [*[""] * question, CTRL_C])
        assert code == 128 + signal.SIGINT, question
        assert shown.rstrip().endswith("interrupted"), question
        assert sorted(folder.rglob("*")) == before, question


def test_an_end_of_the_answers_leaves_nothing(folder: Path) -> None:
    before = sorted(folder.rglob("*"))
    code, shown = at_a_terminal(folder, ["", "", CTRL_D])
    assert code == 2
    assert shown.endswith("Error: the input ended before there was an answer; nothing is written\n")
    assert sorted(folder.rglob("*")) == before


def test_what_options_say_is_not_asked(folder: Path) -> None:
    code, shown = at_a_terminal(folder, [""], *(option for option in OPTIONS if not option.startswith("--title")))
    assert code == 0
    assert shown.count("]: ") == 1
    assert load_scenario(folder / "rig.toml").scenario.title == "New room"


def test_answers_that_wait_in_a_pipe_are_not_read(folder: Path, strapwork: Run) -> None:
    ran = strapwork("start", cwd=folder, stdin=None, input="2\nOther title\n")
    assert ran.returncode == 0
    assert load_scenario(folder / "room.toml").scenario.title == "New room"


def test_a_scenario_that_is_there_stays_unless_it_is_said(folder: Path, strapwork: Run) -> None:
    (folder / "room.toml").write_text('format = 1\ntitle = "Mine"\nhardware = ["a.toml"]\ncurrency = "GBP"\n')
    ran = strapwork("start", cwd=folder)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert ran.stderr == "room.toml: exists; --force overwrites it\n"
    assert "Mine" in (folder / "room.toml").read_text()
    code, shown = at_a_terminal(folder, [*[""] * 17, "room.toml", "other.toml"])
    assert (code, "room.toml: exists; --force overwrites it" in shown) == (0, True)
    assert (folder / "other.toml").exists()
    assert strapwork("start", "--force", cwd=folder).returncode == 0
    assert (folder / "room.toml").read_bytes() == (folder / "other.toml").read_bytes()


def test_force_replaces_no_hardware_file_and_no_other_text(folder: Path, strapwork: Run) -> None:
    (folder / "notes.txt").write_text("Ring the hall.\n")
    whole = (folder / "hardware/quay.toml").read_bytes()
    for to in ("notes.txt", "hardware/quay.toml", "hardware/skerry.toml"):
        ran = strapwork("start", "--hardware", "hardware/quay.toml", "--force", "--to", to, cwd=folder)
        assert (ran.returncode, ran.stdout) == (2, ""), to
    assert (folder / "notes.txt").read_text() == "Ring the hall.\n"
    assert (folder / "hardware/quay.toml").read_bytes() == whole


def test_the_file_names_its_hardware_from_where_it_stands(folder: Path, strapwork: Run) -> None:
    (folder / "rooms").mkdir()
    assert strapwork("start", "--to", "rooms/mix.toml", cwd=folder).returncode == 0
    loaded = load_scenario(folder / "rooms" / "mix.toml")
    assert loaded.scenario.hardware == ("../hardware/quay.toml",)


@pytest.mark.parametrize(
    ("arguments", "option", "said"),
    [
        (["--hardware", "none.toml"], None, "none.toml: 1 fault\n  there is no such file\n"),
        (["--rate", "4800"], "--rate", '"4800" is no known sample rate; did you mean 48000?'),
        (["--currency", "gbp"], "--currency", '"gbp" is no known currency; did you mean "GBP"?'),
        (["--frame", "M=tern-7"], "--frame", 'frame "M" > chassis: "tern-7" is no chassis of these hardware files'),
        (["--frame", "M=tern-6/slate"], "--frame", 'did you mean "slate-32"?'),
        (["--frame", "=tern-6"], "--frame", "must not be empty"),
        (["--frame", "A=tern-6", "--frame", "A=wren-4"], "--frame", '"A" is already the name of another frame'),
        (["--need", "mic in"], "--need", 'must be such as "drums=8+2 mic in", found "mic in"'),
        (["--need", "8 mik in"], "--need", 'did you mean "mic"?'),
        (["--need", "8 mic up"], "--need", 'must be a signal with in or out, such as "mic in", found "mic up"'),
        (["--need", "x=0 mic in"], "--need", "asks for no channel and no spare"),
        (["--need", "08 mic in"], "--need", 'must be a whole number, found "08"'),
        (["--need", f"{10**9} mic in"], "--need", 'must be a whole number of nine digits at most, found "1000000000"'),
        (["--need", f"{10**8} mic in"], "--need", "must be at most 1024, found 100000000"),
        (["--own", "mic-9"], "--own", 'did you mean "mic-8"?'),
        (["--own", "mic-8=two"], "--own", 'must be a whole number, found "two"'),
        (["--own", "mic-8", "--own", "mic-8=2"], "--own", '"mic-8" is given twice'),
        (["--own", "none", "--own", "mic-8"], "--own", "none does not go with others"),
        (["--buy", "mic-8", "--buy", "mic-8"], "--buy", '"mic-8" stands there twice'),
        (["--buy", "mic-9"], "--buy", 'did you mean "mic-8"?'),
        (["--budget", "9000.005"], "--budget", "9000.005 has more decimals than GBP has (2)"),
        (["--inlet", "200"], "--inlet", "must be at most 150, found 200"),
        (["--title", " "], "--title", "must be visible characters without line breaks or control characters"),
    ],
)
def test_a_wrong_option_is_named_with_the_reason(
    folder: Path, strapwork: Run, arguments: list[str], option: str | None, said: str
) -> None:
    before = sorted(folder.rglob("*"))
    ran = strapwork("start", *arguments, cwd=folder, env={"COLUMNS": "80"})
    assert (ran.returncode, ran.stdout) == (2, "")
    assert said in ran.stderr
    assert option is None or f"Error: Invalid value for {option}: " in ran.stderr
    assert sorted(folder.rglob("*")) == before


WRONG = (
    "--rate=4800", "--frame=M=tern-7", "--frame=N=tern-6/slate-32", "--need=v=8 mik in", "--need=x=eight mic in",
    "--need=y=0 mic in", "--own=none", "--own=mic-8", "--budget=lots", "--to=nowhere/room.toml",
)  # fmt: skip
TOLD = (
    '--rate: "4800" is no known sample rate; did you mean 48000? (44100, 48000, 88200, 96000, 176400, 192000)',
    '--frame: frame "M" > chassis: "tern-7" is no chassis of these hardware files; did you mean "tern-6"? '
    "(petrel-12, tern-6, wren-4)",
    '--need: need "v" > signal: "mik" is no signal of these hardware files; did you mean "mic"? '
    "(aes3, instrument, line, mic)",
    '--need: must be such as "drums=8+2 mic in", found "x=eight mic in"',
    '--need: need "y" > channels: asks for no channel and no spare',
    "--own: none does not go with others",
    '--budget: must be an amount such as "1290.00", found "lots"',
    "nowhere: there is no such folder",
)


def test_all_wrong_options_are_told_at_once_and_before_any_question(folder: Path, strapwork: Run) -> None:
    before = sorted(folder.rglob("*"))
    ran = strapwork("start", *WRONG, cwd=folder)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert ran.stderr.splitlines()[-len(TOLD) - 1 :] == [
        f"Error: {len(TOLD)} answers cannot be taken",
        *(f"  {line}" for line in TOLD),
    ]
    code, shown = at_a_terminal(folder, [], "--hardware=hardware/quay.toml", *WRONG)
    assert code == 2
    assert all(line in " ".join(shown.split()) for line in TOLD)
    assert "]: " not in shown
    assert sorted(folder.rglob("*")) == before


def test_a_direction_that_nobody_said_is_told(folder: Path, strapwork: Run) -> None:
    assumed = "mic comes in, for no card here gives mic out"
    ran = strapwork("start", "--need", "v=4 mic", "--need", "w=4 mic", "--need", "x=4 line in", cwd=folder)
    assert ran.returncode == 0
    assert [line for line in ran.stdout.splitlines() if line.startswith("Assumed")] == [f"Assumed: {assumed}."]
    (folder / "room.toml").unlink()
    code, shown = at_a_terminal(folder, [*[""] * 8, "mic", *[""] * 9])
    assert code == 0
    assert f"by number or name [line in]: mic\n  {assumed}\nIts channels" in shown
    assert "Assumed" not in strapwork("start", "--need", "4 mic in", "--to", "b.toml", cwd=folder).stdout


def test_what_counting_shows_to_be_impossible_is_told(folder: Path, strapwork: Run) -> None:
    why = "300 inputs are asked for; slate-32 numbers at most 32 at 48 kHz"
    ran = strapwork("start", "--frame", "tern-6/slate-32", "--need", "v=300 mic in", cwd=folder)
    assert ran.returncode == 0
    assert f"\nIt cannot be planned as it stands; counting alone shows it:\n  {why}\n" in ran.stdout
    assert ran.stdout.endswith("\nNext\n  strapwork why room.toml\n")
    assert strapwork("plan", "room.toml", "--top", "1", cwd=folder).returncode == 1
    (folder / "room.toml").unlink()
    answers = ["", "", "", "", "tern-6", "slate-32", "", "", "mic in", "300", *[""] * 8]
    code, shown = at_a_terminal(folder, answers)
    assert code == 0
    assert shown.index(f"  Impossible: {why}\n") < shown.index("Signal of one more need")


def test_without_a_hardware_file_the_option_is_named(tmp_path: Path, strapwork: Run) -> None:
    away = "import cli.start\nfrom pathlib import Path\ncli.start.SHIPPED = Path('nowhere')\n"
    ran = strapwork("start", cwd=tmp_path, first=away)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert ran.stderr.endswith("Error: Invalid value for --hardware: no hardware file is near here; name one\n")
    assert list(tmp_path.iterdir()) == []


def test_no_search_is_loaded(folder: Path, strapwork: Run) -> None:
    told = "import atexit, os, sys\nleave = os._exit\n"
    told += "os._exit = lambda code: (print('ortools' in sys.modules), sys.stdout.flush(), leave(code))\n"
    ran = strapwork("start", cwd=folder, first=told)
    assert (ran.returncode, ran.stdout.splitlines()[-1]) == (0, "False")

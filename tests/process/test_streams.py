"""Output that is closed, full, poor in letters or without a terminal changes no answer's exit code."""

from __future__ import annotations

import json
import os
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from process.conftest import Run

pytestmark = pytest.mark.skipif(os.name != "posix", reason="POSIX streams")

ROOT = Path(__file__).parents[2]
HARDWARE = "scenarios/hardware/quay.toml"
FAULTY = ("check", "scenarios/quay-filled.toml", "scenarios/quay-filled-drawn.toml")
IMPOSSIBLE = ("plan", "scenarios/quay-impossible.toml")
ANSWERS = [
    (("--help",), 0),
    (("blocks", HARDWARE), 0),
    (("blocks", HARDWARE, "--format", "json"), 0),
    (FAULTY, 1),
    ((*FAULTY, "--format", "json"), 1),
    (IMPOSSIBLE, 1),
    (("plan", "no-such.toml"), 2),
]
NAMES = [" ".join(arguments) for arguments, _ in ANSWERS]


@pytest.mark.parametrize(("arguments", "code"), ANSWERS, ids=NAMES)
def test_a_pipe_closed_by_its_reader_ends_quietly_with_the_answers_code(
    strapwork: Run, arguments: tuple[str, ...], code: int
) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    ran = strapwork(*arguments, stdout=writer)
    os.close(writer)
    assert ran.returncode == code
    assert ("no such file" in ran.stderr) == (code == 2)
    assert code == 2 or ran.stderr == ""


@pytest.mark.parametrize(("arguments", "code"), ANSWERS, ids=NAMES)
def test_a_full_disk_is_said_and_is_no_answer(strapwork: Run, arguments: tuple[str, ...], code: int) -> None:
    with open("/dev/full", "w") as full:
        ran = strapwork(*arguments, stdout=full)
    assert ran.returncode == 2
    assert ran.stderr == ("output: No space left on device\n" if code != 2 else ran.stderr)
    assert ran.stderr


def test_errors_that_cannot_be_told_keep_their_code(strapwork: Run) -> None:
    with open("/dev/full", "w") as full:
        assert strapwork("plan", "no-such.toml", stderr=full).returncode == 2
        assert strapwork("plan", "--no-such", stderr=full).returncode == 2
        assert strapwork(*FAULTY, stdout=full, stderr=full).returncode == 2


@pytest.mark.parametrize(("arguments", "code"), ANSWERS, ids=NAMES)
def test_streams_closed_from_the_start(strapwork: Run, arguments: tuple[str, ...], code: int) -> None:
    def close() -> None:
        os.closerange(0, 3)

    assert strapwork(*arguments, stdin=None, stdout=None, stderr=None, preexec_fn=close).returncode == code


def test_a_file_never_gets_the_number_of_a_closed_stream(strapwork: Run, tmp_path: Path) -> None:
    saved = tmp_path / "build.toml"
    arguments = ("plan", "scenarios/quay-mix-rig.toml", "--top", "1", "--save", str(saved))
    assert strapwork(*arguments, stdin=None, stdout=None, preexec_fn=lambda: os.closerange(0, 2)).returncode == 0
    assert saved.read_text(encoding="utf-8").startswith("# A build")
    assert saved.read_text(encoding="utf-8").endswith("]\n")


TITLE = "Quay Ω → \u0394 ü 😀"
"""Greek, an arrow, a letter that cp1252 has, one beyond 16 bits."""


@pytest.fixture(scope="module")
def titled(tmp_path_factory: pytest.TempPathFactory) -> str:
    text = (ROOT / FAULTY[1]).read_text(encoding="utf-8")
    text = text.replace("Gannet Quay, the filled frame", TITLE).replace("hardware/quay.toml", str(ROOT / HARDWARE))
    path = tmp_path_factory.mktemp("titled") / "titled.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


C_ALONE = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
"""A system without UTF-8 and a Python that is told not to mend that."""

LOCALES = [
    ({"PYTHONIOENCODING": "cp1252"}, "cp1252"),
    ({"PYTHONIOENCODING": "ascii"}, "ascii"),
    ({"PYTHONIOENCODING": "ascii:strict"}, "ascii"),
    ({"PYTHONIOENCODING": "us-ascii:surrogateescape"}, "ascii"),
    ({"PYTHONIOENCODING": "utf-8:strict"}, "utf-8"),
    ({"PYTHONIOENCODING": "latin-1:strict"}, "latin-1"),
    ({"LANG": "C"}, "utf-8"),
    (C_ALONE, "ascii"),
    ({**C_ALONE, "PYTHONIOENCODING": "utf-8"}, "utf-8"),
    ({"LC_ALL": "POSIX"}, "utf-8"),
]


@pytest.mark.parametrize(("env", "encoding"), LOCALES, ids=str)
def test_letters_that_an_encoding_lacks_are_written_as_codes(
    strapwork: Run, titled: str, env: dict[str, Any], encoding: str
) -> None:
    ran = strapwork("check", titled, FAULTY[2], env=env, text=False)
    assert ran.returncode == 1, ran.stderr
    title = TITLE.encode(encoding, "backslashreplace")
    assert b" ".join(ran.stdout.split()[2:8]).startswith(title)
    json_ran = strapwork("check", titled, FAULTY[2], "--format", "json", env=env, text=False)
    assert json.loads(json_ran.stdout)["scenario"] == TITLE
    missing = strapwork("plan", f"{TITLE}.toml", env=env, text=False)
    assert missing.returncode == 2
    assert b"Traceback" not in missing.stderr
    usage = strapwork("plan", titled, "--top", TITLE, env=env, text=False)
    assert usage.returncode == 2
    if encoding == "ascii":
        for told in (ran, json_ran, missing, usage):
            assert told.stdout.isascii()
            assert told.stderr.isascii()


@pytest.mark.parametrize(
    "env", [C_ALONE, pytest.param({"PYTHONIOENCODING": "ascii"}, marks=pytest.mark.slow)], ids=["C", "ascii"]
)
def test_every_command_keeps_to_ascii_where_that_is_asked_for(
    strapwork: Run, tmp_path: Path, env: dict[str, Any]
) -> None:
    """Names of all kinds are Greek here; so is the folder, and the hardware file that the scenario names."""
    folder = tmp_path / "\u0394\u03c9"
    folder.mkdir()
    (folder / "\u03a9.toml").write_bytes((ROOT / HARDWARE).read_bytes())
    room = (ROOT / "scenarios/quay-impossible.toml").read_text(encoding="utf-8")
    room = room.replace("hardware/quay.toml", "\u03a9.toml").replace("orchestra mics", "\u03bc-\u03a9 mics")
    (folder / "\u03b1.toml").write_text(room, encoding="utf-8")
    scenario = str(folder / "\u03b1.toml")
    for arguments, code in (
        (("plan", scenario), 1),
        (("why", scenario), 1),
        (("front", scenario), 1),
        (("reach", scenario), 1),
        (("explain", scenario), 1),
        (("why-not", scenario, "--without-orders"), 1),
        (("blocks", str(folder / "\u03a9.toml")), 0),
        (("why", scenario, "--apply", "1", "--to", str(folder / "\u03b2.toml")), 0),
        (("plan", str(folder / "\u03b2.toml"), "--top", "1", "--save", str(folder / "\u03b3.toml")), 0),
        (("check", str(folder / "\u03b2.toml"), str(folder / "\u03b3.toml")), 0),
        (("plan", str(folder / "\u03b4.toml")), 2),
        (("plan", scenario, "--save", scenario), 2),
    ):
        ran = strapwork(*arguments, env=env, text=False)
        assert ran.returncode == code, (arguments, ran.stderr)
        assert ran.stdout.isascii()
        assert ran.stderr.isascii()
    assert "\u03bc-\u03a9 mics" in (folder / "\u03b2.toml").read_text(encoding="utf-8")
    assert {path.name for path in folder.iterdir()} == {f"{letter}.toml" for letter in "\u03a9\u03b1\u03b2\u03b3"}


def test_a_name_that_is_no_text(strapwork: Run) -> None:
    ran = strapwork("plan", os.fsdecode(b"no-such-\xff.toml"))
    assert ran.returncode == 2
    assert "no-such-\\udcff.toml" in ran.stderr


def test_without_a_terminal_a_home_or_a_path(strapwork: Run) -> None:
    lone = strapwork(*FAULTY, env={"HOME": "/nonexistent", "PATH": "", "TERM": ""}, start_new_session=True)
    assert (lone.returncode, lone.stdout) == (1, strapwork(*FAULTY).stdout)


GONE = "import os, tempfile; folder = tempfile.mkdtemp(); os.chdir(folder); os.rmdir(folder)"


def test_in_a_folder_that_was_deleted_that_is_said(strapwork: Run) -> None:
    ran = strapwork("start", "--yes", first=GONE)
    assert (ran.returncode, ran.stderr) == (2, "Error: the current folder is no longer there; go to one that is\n")


ASKING = """
import click
from cli.main import cli
@cli.command()
def ask():
    return int(click.prompt("How many"))
"""


def test_a_prompt_at_the_end_of_its_input_is_bad_usage_not_an_interrupt(strapwork: Run) -> None:
    ran = strapwork("ask", first=ASKING)
    assert ran.returncode == 2
    assert ran.stderr.endswith("the input ended before there was an answer\n")
    assert strapwork("ask", first=ASKING, stdin=None, input="3\n").returncode == 3
    assert strapwork("ask", first=ASKING, stdin=subprocess.DEVNULL).stdout.startswith("How many")

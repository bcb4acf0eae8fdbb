"""Output that is closed, full, poor in letters or without a terminal changes no answer's exit code."""

from __future__ import annotations

import json
import os
import subprocess
from pathlib import Path

import pytest

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
def test_a_pipe_closed_by_its_reader_ends_quietly_with_the_answers_code(strapwork, arguments, code):
    reader, writer = os.pipe()
    os.close(reader)
    ran = strapwork(*arguments, stdout=writer)
    os.close(writer)
    assert ran.returncode == code
    assert ("no such file" in ran.stderr) == (code == 2)
    assert code == 2 or ran.stderr == ""


@pytest.mark.parametrize(("arguments", "code"), ANSWERS, ids=NAMES)
def test_a_full_disk_is_said_and_is_no_answer(strapwork, arguments, code):
    with open("/dev/full", "w") as full:
        ran = strapwork(*arguments, stdout=full)
    assert ran.returncode == 2
    assert ran.stderr == ("output: No space left on device\n" if code != 2 else ran.stderr)
    assert ran.stderr


def test_errors_that_cannot_be_told_keep_their_code(strapwork):
    with open("/dev/full", "w") as full:
        assert strapwork("plan", "no-such.toml", stderr=full).returncode == 2
        assert strapwork("plan", "--no-such", stderr=full).returncode == 2
        assert strapwork(*FAULTY, stdout=full, stderr=full).returncode == 2


@pytest.mark.parametrize(("arguments", "code"), ANSWERS, ids=NAMES)
def test_streams_closed_from_the_start(strapwork, arguments, code):
    def close() -> None:
        os.closerange(0, 3)

    assert strapwork(*arguments, stdin=None, stdout=None, stderr=None, preexec_fn=close).returncode == code


def test_a_file_never_gets_the_number_of_a_closed_stream(strapwork, tmp_path):
    saved = tmp_path / "build.toml"
    arguments = ("plan", "scenarios/quay-mix-rig.toml", "--top", "1", "--save", str(saved))
    assert strapwork(*arguments, stdin=None, stdout=None, preexec_fn=lambda: os.closerange(0, 2)).returncode == 0
    assert saved.read_text(encoding="utf-8").startswith("# A build")
    assert saved.read_text(encoding="utf-8").endswith("]\n")


TITLE = "Quay Ω → \u0394 ü 😀"
"""Greek, an arrow, a letter that cp1252 has, one beyond 16 bits."""


@pytest.fixture(scope="module")
def titled(tmp_path_factory) -> str:
    text = (ROOT / FAULTY[1]).read_text(encoding="utf-8")
    text = text.replace("Gannet Quay, the filled frame", TITLE).replace("hardware/quay.toml", str(ROOT / HARDWARE))
    path = tmp_path_factory.mktemp("titled") / "titled.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


LOCALES = [
    ({"PYTHONIOENCODING": "cp1252"}, "cp1252"),
    ({"PYTHONIOENCODING": "ascii"}, "utf-8"),
    ({"LANG": "C"}, "utf-8"),
    ({"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}, "utf-8"),
    ({"LC_ALL": "POSIX"}, "utf-8"),
]


@pytest.mark.parametrize(("env", "encoding"), LOCALES, ids=lambda value: str(value))
def test_letters_that_an_encoding_lacks_are_written_as_codes(strapwork, titled, env, encoding):
    ran = strapwork("check", titled, FAULTY[2], env=env, text=False)
    assert ran.returncode == 1, ran.stderr
    title = TITLE.encode(encoding, "backslashreplace")
    assert b" ".join(ran.stdout.split()[2:8]).startswith(title)
    document = json.loads(strapwork("check", titled, FAULTY[2], "--format", "json", env=env).stdout)
    assert document["scenario"] == TITLE
    missing = strapwork("plan", f"{TITLE}.toml", env=env, text=False)
    assert missing.returncode == 2
    assert b"Traceback" not in missing.stderr


def test_a_name_that_is_no_text(strapwork):
    ran = strapwork("plan", b"no-such-\xff.toml")
    assert ran.returncode == 2
    assert "no-such-\\udcff.toml" in ran.stderr


def test_without_a_terminal_a_home_or_a_path(strapwork):
    lone = strapwork(*FAULTY, env={"HOME": "/nonexistent", "PATH": "", "TERM": ""}, start_new_session=True)
    assert (lone.returncode, lone.stdout) == (1, strapwork(*FAULTY).stdout)


ASKING = """
import click
from cli.main import cli
@cli.command()
def ask():
    return int(click.prompt("How many"))
"""


def test_a_prompt_at_the_end_of_its_input_is_bad_usage_not_an_interrupt(strapwork):
    ran = strapwork("ask", first=ASKING)
    assert ran.returncode == 2
    assert ran.stderr.endswith("the input ended before there was an answer\n")
    assert strapwork("ask", first=ASKING, stdin=None, input="3\n").returncode == 3
    assert strapwork("ask", first=ASKING, stdin=subprocess.DEVNULL).stdout.startswith("How many")

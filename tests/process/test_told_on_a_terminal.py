"""Refusals and warnings wrap at the width of a terminal, and nowhere but between words; piped ones are whole lines."""

from __future__ import annotations

import os
import shlex
import struct
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from process.conftest import Run, Start

fcntl = pytest.importorskip("fcntl")
pty = pytest.importorskip("pty")
termios = pytest.importorskip("termios")

CAMPUS = "scenarios/quay-campus.toml"
MIX = "scenarios/quay-mix-rig.toml"
REFUSED = (
    ("reach", CAMPUS),
    ("why", CAMPUS, "--room", "Live"),
    ("blocks", "scenarios/hardware/quay.toml", "--rate", "12"),
    ("plan", MIX, "--save", MIX),
    ("schema", "nothing"),
    ("reach", MIX, "--need", "x"),
)


def told(start: Start, arguments: tuple[str, ...], columns: int, **how: object) -> str:
    """What a terminal of so many columns has of standard error."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    process = start(*arguments, stdout=subprocess.DEVNULL, stderr=theirs, **how)
    os.close(theirs)
    said = b""
    while True:
        try:
            more = os.read(ours, 4096)
        except OSError:  # Linux says so where others give nothing: the other end is closed
            break
        if not more:
            break
        said += more
    os.close(ours)
    assert process.wait(timeout=60) == 2, said
    return said.decode().replace("\r\n", "\n")


def words(said: str) -> list[str]:
    return said.rsplit("--help' for help.\n", maxsplit=1)[-1].split()


@pytest.mark.parametrize("arguments", REFUSED, ids=shlex.join)
def test_a_refusal_wraps_at_the_width_of_a_terminal_and_is_one_line_when_piped(
    start: Start, strapwork: Run, arguments: tuple[str, ...]
) -> None:
    piped = strapwork(*arguments).stderr
    (line,) = piped.split("--help' for help.\n")[-1].strip().splitlines()
    for columns in (80, 60):
        said = told(start, arguments, columns)
        assert max(map(len, said.splitlines())) <= columns
        assert words(said) == line.split()
    assert len(line) > 80


def test_faults_of_files_take_the_width_of_a_terminal(start: Start, strapwork: Run, tmp_path: Path) -> None:
    faulty = tmp_path / "faulty.toml"
    faulty.write_text((Path(__file__).parents[2] / MIX).read_text().replace("rank =", "ranks ="))
    piped = strapwork("plan", "faulty.toml", cwd=tmp_path).stderr
    said = told(start, ("plan", "faulty.toml"), 50, cwd=tmp_path)
    assert max(map(len, said.splitlines())) <= 50 < max(map(len, piped.splitlines()))
    assert words(said) == words(piped)


def test_a_name_with_blanks_is_never_parted(start: Start, tmp_path: Path) -> None:
    folder = tmp_path / ("the room by the sea " * 6).strip()
    folder.mkdir()
    target = folder / "best build of all.toml"
    target.write_text("no build\n")
    said = told(start, ("plan", MIX, "--save", str(target)), 60)
    assert said.splitlines()[0] == f"{target}:"
    assert " ".join(said.split()) == " ".join(f"{target}: is other text; --force overwrites build files only".split())

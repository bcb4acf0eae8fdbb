"""A strap that is only asked about: the plan, the build file that it writes and the check of it say the same."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from inside import ROOT, strapwork

FRAME = """
[[FRAMES]]
name = "A"
chassis = "petrel-12"
board = "shale-64"
[[NEEDS]]
name = "voices"
direction = "in"
signal = "mic"
channels = 8
"""
HEAD = f"""format = 1
title = "Booth"
hardware = [{json.dumps(str(ROOT / "scenarios" / "hardware" / "quay.toml"))}]
currency = "GBP"
[stock]
mic-8 = 2
"""
BOOTH = HEAD + FRAME.replace("FRAMES", "frame").replace("NEEDS", "need")
TWO_BOOTHS = HEAD + "".join(
    f'[[room]]\nname = "{room}"' + FRAME.replace("FRAMES", "room.frame").replace("NEEDS", "room.need")
    for room in ("Hall", "Loft")
)
QUESTION = "T1: close it only if A is the last on its clock line"
CLOSED = f"{QUESTION}; the build has T1 closed"


def saved(folder: Path, text: str, *ask: str) -> tuple[str, str]:
    """The screen of a plan or front, and the file that it writes."""
    (folder / "booth.toml").write_text(text, encoding="utf-8")
    ran = strapwork(*ask, "booth.toml", "--save", "build.toml", cwd=folder)
    assert ran.returncode == 0, ran.stderr
    return " ".join(ran.stdout.split()), (folder / "build.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("ask", [("plan", "--top", "1"), ("front", "--show", "1")], ids=["plan", "front"])
def test_plan_build_file_and_check_say_how_the_strap_stands_and_that_it_is_asked_first(
    tmp_path: Path, ask: tuple[str, ...]
) -> None:
    screen, file = saved(tmp_path, BOOTH, *ask)
    told = "clock end ask first T1: close it only if A is the last on its clock line; the build has T1 closed"
    assert told in screen
    assert f"# Ask first: {CLOSED}\nstraps = " in file
    assert '"clock end" = "T1"' in file
    assert told in " ".join(strapwork("check", "booth.toml", "build.toml", cwd=tmp_path).stdout.split())


def test_in_several_rooms_each_frame_of_the_build_file_asks(tmp_path: Path) -> None:
    _, file = saved(tmp_path, TWO_BOOTHS, "plan")
    assert file.count(f"# Ask first: {CLOSED}\nstraps = ") == 2


@pytest.mark.parametrize(
    ("setting", "stands"), [('"clock end" = "open"', "T1 open"), ('"clock end" = "T1"', "T1 closed"), ("", None)]
)
def test_a_check_says_how_the_build_that_it_reads_has_the_strap(
    tmp_path: Path, setting: str, stands: str | None
) -> None:
    _, file = saved(tmp_path, BOOTH, "plan")
    (tmp_path / "own.toml").write_text(file.replace('"clock end" = "T1"', setting).replace(", }", "}"))
    document = json.loads(strapwork("check", "booth.toml", "own.toml", "--format", "json", cwd=tmp_path).stdout)
    frame = document["builds"][0]["frames"][0]
    assert (frame["clock"]["text"], frame["clock"]["stands"]) == (QUESTION, stands)
    (work,) = (work for work in frame["strap_work"] if work["group"] == "clock end")
    assert work["effect"] == (f"{QUESTION}; the build has {stands}" if stands else QUESTION)


@pytest.mark.parametrize("settled", ["line", "setting"])
def test_where_the_scenario_settles_it_nothing_is_asked(tmp_path: Path, settled: str) -> None:
    line = '\n[[clock_line]]\nframes = ["A"]\n'
    asked = BOOTH.replace('"shale-64"', '"shale-64"\nstraps = { "clock end" = "T1" }')
    screen, file = saved(tmp_path, BOOTH + line if settled == "line" else asked, "plan", "--top", "1")
    assert "ask first" not in screen
    assert "Ask first" not in file
    assert '"clock end" = "T1"' in file

"""What a message suggests is of the right kind, near, and works when it is pasted where the wrong thing stood."""

from __future__ import annotations

import os
import re
import tomllib
from pathlib import Path

import pytest
from samples import BUILD, HARDWARE, SCENARIO, change, faults_of, write

from cli.main import run
from solver.files.reading import load_hardware, load_scenario
from solver.room.faults import FileFaults, written

ASKED = re.compile(r"did you mean (.*?)\?(?: \(|$)")


def suggested(text: str) -> str | None:
    found = ASKED.search(text)
    return None if found is None else found[1]


def told(path: Path) -> list[tuple[str, str]]:
    return [(fault.file, fault.text()) for fault in faults_of(path)]


def test_a_missing_hardware_file_is_never_taken_for_a_scenario_or_a_build(tmp_path: Path) -> None:
    """They have nearer names."""
    path = write(tmp_path, change(SCENARIO, '"quay.toml"', '"room2.toml"'))
    (tmp_path / "room3.toml").write_text(BUILD)
    (tmp_path / "room4.toml").write_text("# nothing")
    (tmp_path / "room5.toml").write_text('name = "x"')
    (tmp_path / "room6.toml").mkdir()
    assert told(path) == [(str(tmp_path / "room2.toml"), "there is no such file")]
    (tmp_path / "rooms-2.toml").write_text(HARDWARE)
    assert told(path) == [(str(tmp_path / "room2.toml"), 'there is no such file; did you mean "rooms-2.toml"?')]


def test_nor_a_missing_scenario_for_a_hardware_file(tmp_path: Path) -> None:
    write(tmp_path)
    (tmp_path / "roam.toml").write_text(HARDWARE)
    assert [fault.text() for fault in faults_of(tmp_path / "roam2.toml")] == [
        f'there is no such file; did you mean "{tmp_path}/room.toml"?'
    ]


PLACES = [
    ("hardware/quya.toml", "hardware/quay.toml"),
    ("./hardware/quya.toml", "./hardware/quay.toml"),
    ("quay.toml", "hardware/quay.toml"),
    ("hardwear/quay.toml", "hardware/quay.toml"),
    ("../here/hardware/Quay.tml", "../here/hardware/quay.toml"),
]


@pytest.mark.parametrize(("named", "meant"), PLACES)
def test_a_file_is_suggested_by_the_name_that_works_in_its_place(tmp_path: Path, named: str, meant: str) -> None:
    (tmp_path / "here" / "hardware").mkdir(parents=True)
    (tmp_path / "here" / "hardware" / "quay.toml").write_text(HARDWARE)
    path = tmp_path / "here" / "room.toml"
    path.write_text(change(SCENARIO, '"quay.toml"', f'"{named}"'))
    (fault,) = faults_of(path)
    assert fault.text() == f'there is no such file; did you mean "{meant}"?'
    path.write_text(change(SCENARIO, '"quay.toml"', f'"{meant}"'))
    load_scenario(path)


def test_on_the_command_line_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "rooms").mkdir()
    write(tmp_path / "rooms")
    (tmp_path / "rooms" / "build.toml").write_text(BUILD)
    monkeypatch.chdir(tmp_path)
    for wrong, meant in (
        (("check", "rooms/rom.toml", "rooms/build.toml"), "rooms/room.toml"),
        (("check", "rooms/room.toml", "rooms/bild.toml"), "rooms/build.toml"),
        (("check", "room/room.toml", "rooms/build.toml"), "rooms/room.toml"),
        (("check", "room.toml", "rooms/build.toml"), "rooms/room.toml"),
        (("blocks", "rooms/qay.toml"), "rooms/quay.toml"),
        (("plan", "rooms/buildd.toml"), None),
    ):
        assert run(list(wrong)) == 2
        near = suggested(capsys.readouterr().err.strip())
        assert near == (None if meant is None else f'"{meant}"')
        if meant is not None:
            (missing,) = (name for name in wrong[1:] if not os.path.exists(name))
            assert run([meant if name == missing else name for name in wrong]) in (0, 1)
            capsys.readouterr()


@pytest.mark.parametrize("name", ["http://x/y", "https://x//y.toml", "file:///tmp/x.toml", "ftp://x"])
def test_an_address_is_shown_as_it_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str) -> None:
    path = write(tmp_path, change(SCENARIO, '"quay.toml"', f'"{name}"'))
    assert told(path) == [(name, "is an address; save it and name that file")]
    for command in (["plan", name], ["plan", str(path), "--save", name], ["blocks", name]):
        assert run(command) == 2
        assert f'"{name}" is an address; save it and name that file' in capsys.readouterr().err


NAMES = ['12" monitors', r"a\b", 'it\'s "so"', "plain", "Ω mics", "a\tb\\", "\x1b[0m", "\U0001f600\u202e"]


@pytest.mark.parametrize("name", NAMES)
def test_a_suggested_name_can_be_pasted_into_a_file(name: str) -> None:
    assert tomllib.loads(f"n = {written(name)}")["n"] == name
    assert written(name).isprintable()


def test_names_with_quotes_in_them(tmp_path: Path) -> None:
    hardware = change(HARDWARE, 'name = "input width"', "name = 'input \"width\"'")
    scenario = change(SCENARIO, '{ "input width" = "open" }', '{ \'input "widht"\' = "open" }')
    path = write(tmp_path, scenario, hardware)
    (fault,) = faults_of(path)
    meant = "'input \"width\"'"
    assert suggested(fault.text()) == meant
    scenario = change(SCENARIO, '"input width"', meant)
    load_scenario(write(tmp_path, scenario, hardware))


WRONG = [
    (SCENARIO, 'signal = "line"', 'signal = "lnie"'),
    (SCENARIO, 'currency = "GBP"', 'currency = "gbp"'),
    (SCENARIO, 'chassis = "petrel-12"', 'chassis = "petrel-21"'),
    (SCENARIO, 'board = "shale-64"', 'board = "shale-46"'),
    (SCENARIO, '{ "input width" = "open" }', '{ "input width" = "opn" }'),
    (SCENARIO, '{ "3" = "line-in-8" }', '{ "3" = "line-8" }'),
    (SCENARIO, '["cost", "unused"]', '["cots", "unused", "cost"]'),
    (SCENARIO, 'direction = "in"', 'direction = "inn"'),
    (SCENARIO, "[[must_seat]]", "[[must-seat]]"),
    (SCENARIO, "channels = 8", "channel = 8"),
    (SCENARIO, "[stock]\nline-in-8", "[stock]\nline-in-88"),
    (SCENARIO, "format = 1", "format = 1\nsample_rate = 4410"),
    (HARDWARE, 'kind = "links"', 'kind = "link"'),
    (HARDWARE, 'path = "fan"', 'path = "fann"'),
    (HARDWARE, "slot_count", "slots_count"),
    (HARDWARE, 'boards = ["shale-64"]', 'boards = ["shale-63"]'),
]


@pytest.mark.parametrize(("text", "right", "wrong"), WRONG, ids=[wrong for _, _, wrong in WRONG])
def test_every_suggestion_of_a_file_works_when_it_is_pasted(tmp_path: Path, text: str, right: str, wrong: str) -> None:
    """In the place of what is told to be found, in quotes where it stood in quotes."""
    damaged = change(text, right, wrong)
    path = write(tmp_path, damaged if text is SCENARIO else SCENARIO, damaged if text is HARDWARE else HARDWARE)
    before = faults_of(path)
    fault, found = next((f, f.found) for f in before if f.nearest and f.found is not None and f.found in wrong)
    meant = suggested(fault.text())
    assert meant is not None
    old = f'"{found}"' if f'"{found}"' in damaged else found
    mended = damaged.replace(old, meant, 1)
    path = write(tmp_path, mended if text is SCENARIO else SCENARIO, mended if text is HARDWARE else HARDWARE)
    try:
        load_scenario(path)
        load_hardware([tmp_path / "quay.toml"])
    except FileFaults as refused:
        left = [each.text() for each in refused.faults if each.severity == "fault"]
        assert fault.text() not in left
        assert not any("did you mean" in each or "is no " in each or "no such" in each for each in left), left


def test_the_refusal_of_several_rooms_names_the_file_and_names_that_work(capsys: pytest.CaptureFixture[str]) -> None:
    campus = "scenarios/quay-campus.toml"
    assert run(["reach", campus]) == 2
    said = capsys.readouterr().err.splitlines()[-1]
    assert said.startswith(f"Error: {campus} has several rooms: ")
    assert said.endswith("; name one with --room")

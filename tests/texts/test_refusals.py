"""With ``--format json`` whatever is refused (exit code 2) is a document, and the text stays on standard error."""

from __future__ import annotations

import errno
import json
import os
from pathlib import Path

import pytest

from cli.main import cli, run
from solver.reports.element import Refused
from solver.reports.report import Report

MIX = "scenarios/quay-mix-rig.toml"
CAMPUS = "scenarios/quay-campus.toml"
HARDWARE = "scenarios/hardware/quay.toml"
DRAWN = "tests/fuzz/builds/quay-mix-rig.toml"

REFUSED = [
    (("plan", MIX, "--top", "0"), "--top"),
    (("plan", MIX, "--top", "2", "--show", "3"), "--show"),
    (("plan", MIX, "--limit", "nan"), "--limit"),
    (("plan", MIX, "--workers", "65"), "--workers"),
    (("plan", MIX, "--limmit", "3"), "--limmit"),
    (("plan", MIX, "--limit"), "--limit"),
    (("plan",), "SCENARIO"),
    (("plan", ""), "SCENARIO"),
    (("plan", MIX, "more"), None),
    (("plan", "http://x/y.toml"), "SCENARIO"),
    (("front", MIX, "--save", "x.toml"), None),
    (("front", MIX, "--show", "99"), "--show"),
    (("why", MIX, "--by", "luck"), "--by"),
    (("why", MIX, "--apply", "1"), None),
    (("why", CAMPUS, "--room", "No such room"), "--room"),
    (("why-not", MIX), None),
    (("why-not", MIX, "--cost", ""), "--cost"),
    (("why-not", MIX, "--cost", "1.005"), "--cost"),
    (("why-not", MIX, "--frame", "Z", "--card", "aes-8"), "--frame"),
    (("why-not", MIX, "--card", "no-such"), "--card"),
    (("reach", MIX, "--need", "no such"), "--need"),
    (("reach", CAMPUS), None),
    (("explain", MIX, "--show", "1", "--against", "1"), "--against"),
    (("blocks", HARDWARE, "--rate", "12"), "--rate"),
    (("blocks", HARDWARE, "--board", "no-such"), "--board"),
    (("blocks", HARDWARE, "--chassis", "no-such"), "--chassis"),
    (("schema", "nothing"), "WHAT"),
    (("no-such-command",), None),
]


@pytest.mark.parametrize(("arguments", "option"), REFUSED, ids=[" ".join(arguments) for arguments, _ in REFUSED])
def test_a_command_that_cannot_be_used(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], option: str | None
) -> None:
    assert run(list(arguments)) == 2
    assert capsys.readouterr().out == ""
    for asked in (["--format", "json"], ["--format=json"], ["--format", "text", "--format", "json"]):
        assert run([arguments[0], *asked, *arguments[1:]]) == 2
        out, err = capsys.readouterr()
        document = Refused.model_validate_json(out)
        (fault,) = document.faults
        assert document.outcome == "refused"
        assert (fault.file, fault.path) == (None, [])
        if arguments[0] in cli.every() and "format" in str(cli.every()[arguments[0]].params):
            assert fault.option == option
            assert err.endswith(f"Error: {fault.message}\n")
    assert run([arguments[0], "--format", "json", "--format", "text", *arguments[1:]]) == 2
    assert capsys.readouterr().out == ""


def test_a_file_that_may_not_be_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "own.toml").write_text("format = 1\n")
    for option, name, said in (
        ("--save", tmp_path / "own.toml", "exists; --force overwrites it"),
        ("--save", tmp_path / "no" / "own.toml", "there is no such folder"),
        ("--save", Path(MIX), "is the scenario of this command: never written to; name another file"),
        ("--dump-model", Path(HARDWARE), "is a hardware file of this scenario: never written to; name another file"),
        ("--dump-model", tmp_path / "own.toml", "is no model; --force overwrites models only"),
    ):
        assert run(["plan", MIX, option, str(name), "--format", "json"]) == 2
        out, err = capsys.readouterr()
        (fault,) = Refused.model_validate_json(out).faults
        shown = str(name.parent if said == "there is no such folder" else name)
        assert (fault.file, fault.message, fault.option) == (shown, said, None)
        assert err == f"{shown}: {said}\n"


def test_files_that_cannot_be_used_and_their_options(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", MIX, str(tmp_path / "none.toml"), "--format", "json"]) == 2
    out, err = capsys.readouterr()
    (fault,) = Refused.model_validate_json(out).faults
    assert (fault.file, fault.message, fault.option) == (str(tmp_path / "none.toml"), "there is no such file", None)
    assert err == f"{tmp_path / 'none.toml'}: 1 fault\n  there is no such file\n"


def test_an_answer_that_could_not_be_saved_is_one_document_all_the_same(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    target = tmp_path / "build.toml"
    for arguments in (("plan", MIX, "--top", "1"), ("front", MIX, "--show", "1")):
        assert run([*arguments, "--save", str(target), "--format", "json"]) == 2
        out, err = capsys.readouterr()
        assert Report.model_validate_json(out).outcome == "found"
        assert err == f"{target}: No space left on device\n"
        assert list(tmp_path.iterdir()) == []


def test_what_is_refused_shows_no_control_characters(capsys: pytest.CaptureFixture[str]) -> None:
    bad = "\x1b[2J\u202e\x07"
    for arguments in (
        ("plan", bad), ("plan", MIX, bad), ("plan", MIX, f"--{bad}"), ("plan", MIX, "--top", bad), (bad,),
        ("why", MIX, "--by", bad), ("why-not", MIX, "--card", bad), ("why-not", MIX, "--setting", bad),
        ("why-not", MIX, "--setting", f"layout={bad}"), ("why-not", MIX, "--board", bad), ("reach", MIX, "--need", bad),
        ("why-not", MIX, "--card", "aes-8", "--frame", bad), ("blocks", HARDWARE, "--board", bad),
        ("plan", MIX, "--save", f"{bad}/x"), ("why", CAMPUS, "--room", bad),
    ):  # fmt: skip
        assert run([*arguments, "--format=json"]) == 2
        out, err = capsys.readouterr()
        assert all(c.isprintable() or c == "\n" for c in err), arguments
        assert json.loads(out)["outcome"] == "refused"
        assert out.isascii()


def test_a_name_that_is_no_text_is_a_document_too(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["plan", "no-such-\udcff.toml", "--format", "json"]) == 2
    out, _ = capsys.readouterr()
    assert json.loads(out)["faults"][0]["file"] == "no-such-\udcff.toml"

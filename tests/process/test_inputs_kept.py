"""What a command has read is never written to, by whatever name; --force replaces files of one kind only."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from cli.main import run

ROOT = Path(__file__).parents[2]
SCENARIO, HARDWARE, DRAWN, ROOM = "rig.toml", "hardware/quay.toml", "drawn.toml", "impossible.toml"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Scenarios, their hardware and a build of one, all of it somebody's only copy."""
    (tmp_path / "hardware").mkdir()
    shutil.copytree(ROOT / "scenarios" / "hardware", tmp_path / "hardware", dirs_exist_ok=True)
    shutil.copy(ROOT / "scenarios" / "quay-mix-rig.toml", tmp_path / SCENARIO)
    shutil.copy(ROOT / "scenarios" / "quay-impossible.toml", tmp_path / ROOM)
    shutil.copy(ROOT / "tests" / "fuzz" / "builds" / "quay-mix-rig.toml", tmp_path / DRAWN)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def contents(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


COMMANDS = {
    "plan --save": ("plan", SCENARIO, "--top", "1", "--save"),
    "front --save": ("front", SCENARIO, "--show", "1", "--save"),
    "plan --dump-model": ("plan", SCENARIO, "--top", "1", "--dump-model"),
    "explain --dump-model": ("explain", SCENARIO, "--build", DRAWN, "--against", "1", "--dump-model"),
    "why --to": ("why", SCENARIO, "--apply", "1", "--to"),
    "reach --dump-model": ("reach", SCENARIO, "--dump-model"),
    "why-not --dump-model": ("why-not", SCENARIO, "--without-orders", "--dump-model"),
}


def forced(command: tuple[str, ...], target: str) -> list[str]:
    takes_force = command[0] in ("plan", "front", "why")
    return [*command, target, *(["--force"] if takes_force else [])]


@pytest.mark.parametrize("command", COMMANDS.values(), ids=COMMANDS)
@pytest.mark.parametrize("file", [SCENARIO, HARDWARE])
def test_the_scenario_and_its_hardware_are_never_written_to(
    folder: Path, capsys: pytest.CaptureFixture[str], command: tuple[str, ...], file: str
) -> None:
    before = contents(folder)
    what = {SCENARIO: "the scenario of this command", HARDWARE: "a hardware file of this scenario"}[file]
    for arguments in (forced(command, file), [*command, file]):
        assert run(arguments) == 2
        said = f"{file}: is {what}: never written to; name another file\n"
        assert capsys.readouterr() == ("", said)
    assert contents(folder) == before


def test_nor_is_the_build_that_is_explained(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = contents(folder)
    assert run([*COMMANDS["explain --dump-model"], DRAWN]) == 2
    said = f"{DRAWN}: is the build of this command: never written to; name another file\n"
    assert capsys.readouterr() == ("", said)
    assert contents(folder) == before


def linked(folder: Path) -> str:
    (folder / "other.toml").symlink_to(folder / SCENARIO)
    return "other.toml"


def linked_twice(folder: Path) -> str:
    (folder / "one.toml").symlink_to(SCENARIO)
    (folder / "two.toml").symlink_to("one.toml")
    return "two.toml"


def hard_linked(folder: Path) -> str:
    os.link(folder / SCENARIO, folder / "other.toml")
    return "other.toml"


def through_a_linked_folder(folder: Path) -> str:
    (folder / "here").symlink_to(folder, target_is_directory=True)
    return f"here/{SCENARIO}"


NAMES: dict[str, Callable[[Path], str]] = {
    "absolute": lambda folder: str(folder / SCENARIO),
    "dots": lambda _: f"hardware/../{SCENARIO}",
    "a dot": lambda _: f"./{SCENARIO}",
    "doubled strokes": lambda _: f".//hardware//..//{SCENARIO}",
    "a link": linked,
    "a link to a link": linked_twice,
    "a hard link": hard_linked,
    "a linked folder": through_a_linked_folder,
}


@pytest.mark.skipif(os.name != "posix", reason="links of POSIX")
@pytest.mark.parametrize("force", [[], ["--force"]], ids=["plain", "forced"])
@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_by_whatever_name(
    folder: Path, capsys: pytest.CaptureFixture[str], name: Callable[[Path], str], force: list[str]
) -> None:
    target = name(folder)
    before = contents(folder)
    assert run(["plan", SCENARIO, "--top", "1", "--save", target, *force]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.endswith("is the scenario of this command: never written to; name another file\n")
    assert contents(folder) == before


def test_by_a_name_in_other_letters_where_the_disk_does_not_tell_them_apart(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A hard link stands in for such a disk: two names that no spelling tells to be one file."""
    os.link(folder / HARDWARE, folder / "hardware" / "QUAY.TOML")
    assert run(["plan", SCENARIO, "--top", "1", "--save", "hardware/QUAY.TOML", "--force"]) == 2
    said = (
        f"hardware/QUAY.TOML: leads to {HARDWARE}, which is a hardware file of this scenario: never written to; "
        "name another file\n"
    )
    assert capsys.readouterr() == ("", said)


def test_a_scenario_that_is_gone_when_the_plan_is_ready_does_not_become_a_build(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from solver.answers import plan as planning
    from solver.room.survey import Survey
    from solver.search.ask.ranking import Ranking, rank
    from solver.search.solve.clock import Clock

    target = folder / "new.toml"

    def swap(survey: Survey, top: int, *, workers: int, clock: Clock) -> Ranking:
        found = rank(survey, top, workers=workers, clock=clock)
        (folder / SCENARIO).rename(target)
        return found

    monkeypatch.setattr(planning, "rank", swap)
    before = (folder / SCENARIO).read_bytes()
    assert run(["plan", SCENARIO, "--top", "1", "--save", "new.toml", "--force"]) == 2
    assert target.read_bytes() == before
    assert "new.toml: is a scenario; --force overwrites build files only" in capsys.readouterr().err


OTHER = {
    "a scenario": (lambda folder: (folder / ROOM).read_bytes(), "is a scenario"),
    "a hardware file": (lambda folder: (folder / HARDWARE).read_bytes(), "is a hardware file"),
    "notes": (lambda _: b"Ring Ada about the patch bay.\n", "is other text"),
    "settings of something else": (lambda _: b'[project]\nname = "x"\n', "is no build file"),
    "a build with a key of its own": (lambda _: b'format = 1\nnotes = "x"\n', "is no build file"),
    "a picture": (lambda _: b"\x89PNG\r\n\x1a\n\xff", "is not UTF-8 text"),
}


@pytest.mark.parametrize(("content", "what"), OTHER.values(), ids=OTHER)
def test_a_file_of_another_kind_is_not_overwritten_with_a_build(
    folder: Path, capsys: pytest.CaptureFixture[str], content: Callable[[Path], bytes], what: str
) -> None:
    target = folder / "other"
    target.write_bytes(content(folder))
    for force in ([], ["--force"]):
        before = contents(folder)
        assert run(["plan", SCENARIO, "--top", "1", "--save", "other", *force]) == 2
        assert capsys.readouterr() == ("", f"other: {what}; --force overwrites build files only\n")
        assert contents(folder) == before


def test_nor_a_build_with_a_scenario_or_a_model(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = contents(folder)
    assert run(["why", ROOM, "--apply", "1", "--to", DRAWN, "--force"]) == 2
    assert capsys.readouterr() == ("", f"{DRAWN}: is a build file; --force overwrites scenarios only\n")
    assert run(["plan", ROOM, "--dump-model", DRAWN, "--force"]) == 2
    assert capsys.readouterr() == ("", f"{DRAWN}: is no model; --force overwrites models only\n")
    assert contents(folder) == before


@pytest.mark.parametrize("content", [b"", b"\n", None], ids=["empty", "a line", "a build"])
def test_an_older_build_and_an_empty_file_are_overwritten(folder: Path, content: bytes | None) -> None:
    target = folder / "build.toml"
    target.write_bytes((folder / DRAWN).read_bytes() if content is None else content)
    assert run(["plan", SCENARIO, "--top", "1", "--save", "build.toml"]) == 2
    assert run(["plan", SCENARIO, "--top", "1", "--save", "build.toml", "--force"]) == 0
    assert target.read_bytes().startswith(b"# A build")
    assert run(["check", SCENARIO, "build.toml"]) == 0


def test_another_scenario_is_overwritten_by_a_changed_one(folder: Path) -> None:
    shutil.copy(folder / SCENARIO, folder / "older.toml")
    assert run(["why", ROOM, "--apply", "1", "--to", "older.toml"]) == 2
    assert run(["why", ROOM, "--apply", "1", "--to", "older.toml", "--force"]) == 0
    assert run(["plan", "older.toml", "--top", "1"]) == 0

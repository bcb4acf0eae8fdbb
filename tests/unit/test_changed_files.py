"""A scenario with a way out made differs from the old one in what was changed, and in nothing else."""

from __future__ import annotations

import difflib
import tomllib
from pathlib import Path

import pytest

from cli.main import run

ROOT = Path(__file__).parents[2]
MARK = b"\xef\xbb\xbf"


def scenario(folder: Path, hardware: str = "hardware/quay.toml") -> Path:
    text = (ROOT / "scenarios" / "quay-impossible.toml").read_text(encoding="utf-8")
    text = text.replace('"hardware/quay.toml"', f'"{hardware}"')
    path = folder / "room.toml"
    path.write_bytes(("# Ω, kept\n" + text).encode())
    return path


@pytest.fixture
def here(tmp_path: Path) -> Path:
    folder = tmp_path / "here"
    (folder / "hardware").mkdir(parents=True)
    (folder / "hardware" / "quay.toml").write_bytes((ROOT / "scenarios" / "hardware" / "quay.toml").read_bytes())
    return folder


def applied(path: Path, to: Path) -> bytes:
    assert run(["why", str(path), "--apply", "1", "--to", str(to)]) == 0
    assert run(["plan", str(to), "--top", "1"]) == 0
    return to.read_bytes()


def changed_lines(old: bytes, new: bytes) -> list[bytes]:
    lines = difflib.ndiff(old.decode().splitlines(True), new.decode().splitlines(True))
    return [line.encode() for line in lines if line[0] in "+-"]


@pytest.mark.parametrize("mark", [b"", MARK], ids=["", "byte order mark"])
@pytest.mark.parametrize("end", [b"\n", b"\r\n"], ids=["LF", "CRLF"])
def test_line_ends_and_a_byte_order_mark_are_kept(here: Path, end: bytes, mark: bytes) -> None:
    path = scenario(here)
    old = mark + path.read_bytes().replace(b"\n", end)
    path.write_bytes(old)
    new = applied(path, here / "mended.toml")
    assert changed_lines(old, new) == [b"- channels = 40" + end, b"+ channels = 32" + end]
    assert new.startswith(mark + "# Ω, kept".encode() + end)
    assert new.count(b"\r") == (new.count(b"\n") if end == b"\r\n" else 0)


def test_line_ends_of_both_kinds_stay_where_they_are(here: Path) -> None:
    path = scenario(here)
    lines = path.read_bytes().split(b"\n")
    old = b"".join(line + (b"\r\n" if n % 3 else b"\n") for n, line in enumerate(lines[:-1]))
    path.write_bytes(old)
    new = applied(path, here / "mended.toml")
    differ = [(a, b) for a, b in zip(old.splitlines(True), new.splitlines(True), strict=True) if a != b]
    assert [(a.rstrip(), b.rstrip()) for a, b in differ] == [(b"channels = 40", b"channels = 32")]


def test_a_text_of_several_lines_keeps_its_ends(here: Path) -> None:
    path = scenario(here)
    old = path.read_bytes().replace(b"\n", b"\r\n") + b"# the end, and no line end"
    path.write_bytes(old)
    new = applied(path, here / "mended.toml")
    assert new.endswith(b"\r\n# the end, and no line end")


def test_in_another_folder_hardware_files_are_found_and_the_rest_of_their_list_stays(
    here: Path, tmp_path: Path
) -> None:
    path = scenario(here)
    text = path.read_text(encoding="utf-8")
    (here / "extra.toml").write_text("format = 1\n")
    absolute = (here / "extra.toml").as_posix()
    listed = f'hardware = [\n  "hardware/quay.toml",  # ours\n  "{absolute}",\n]'
    path.write_text(text.replace('hardware = ["hardware/quay.toml"]', listed), encoding="utf-8")
    there = tmp_path / "there" / "deep"
    there.mkdir(parents=True)
    new = applied(path, there / "mended.toml").decode()
    moved = listed.replace("hardware/quay.toml", "../../here/hardware/quay.toml")
    assert moved in new
    assert tomllib.loads(new)["hardware"] == ["../../here/hardware/quay.toml", absolute]


def test_a_linked_scenario_names_its_hardware_from_where_the_link_stands(here: Path, tmp_path: Path) -> None:
    """As it is read."""
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    scenario(elsewhere)
    (here / "room.toml").symlink_to(elsewhere / "room.toml")
    there = tmp_path / "there"
    there.mkdir()
    new = applied(here / "room.toml", there / "mended.toml").decode()
    assert tomllib.loads(new)["hardware"] == ["../here/hardware/quay.toml"]

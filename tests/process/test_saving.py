"""Files are written whole or not at all, over nothing that is there without --force, and never through a link."""

from __future__ import annotations

import os
import resource
import shutil
import stat
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from process.conftest import Run

pytestmark = pytest.mark.skipif(os.name != "posix", reason="POSIX files")

MIX = "scenarios/quay-mix-rig.toml"
PLAN = ("plan", MIX, "--top", "1")
OLD = "# older\nformat = 1\n"

NO_BYTECODE = {"PYTHONDONTWRITEBYTECODE": "1"}
"""Python itself leaves broken files where it has no room for what it compiles."""


def saved_whole(path: Path) -> bool:
    text = path.read_text(encoding="utf-8")
    return text.startswith("# A build") and text.endswith("]\n")


def little_room() -> None:
    resource.setrlimit(resource.RLIMIT_FSIZE, (300, 300))


def test_no_room_leaves_no_part_and_still_shows_the_answer(strapwork: Run, tmp_path: Path) -> None:
    ran = strapwork(*PLAN, "--save", str(tmp_path / "build.toml"), preexec_fn=little_room, env=NO_BYTECODE)
    assert ran.returncode == 2
    assert ran.stderr == f"{tmp_path / 'build.toml'}: File too large\n"
    assert "Build 1" in ran.stdout
    assert list(tmp_path.iterdir()) == []


def test_no_room_leaves_the_older_file(strapwork: Run, tmp_path: Path) -> None:
    target = tmp_path / "build.toml"
    target.write_text(OLD)
    ran = strapwork(*PLAN, "--save", str(target), "--force", preexec_fn=little_room, env=NO_BYTECODE)
    assert ran.returncode == 2
    assert {path: path.read_text() for path in tmp_path.iterdir()} == {target: OLD}


@pytest.mark.parametrize("option", ["--save", "--dump-model"])
def test_what_cannot_be_written_is_refused_before_the_search(strapwork: Run, tmp_path: Path, option: str) -> None:
    """Nothing on standard output shows that no search was made."""
    own = tmp_path / "own.toml"
    old = {"--save": OLD, "--dump-model": "# A model of the search, as --dump-model writes it.\n"}[option]
    own.write_text(old)
    (tmp_path / "link.toml").symlink_to(own)
    (tmp_path / "dangling.toml").symlink_to(tmp_path / "nowhere")
    os.mkfifo(tmp_path / "fifo")
    for name, said, forces in (
        ("own.toml", "exists; --force overwrites it", [False]),
        ("link.toml", "is a link; name the file itself", [False, True]),
        ("dangling.toml", "is a link; name the file itself", [False, True]),
        ("fifo", "is no ordinary file", [False, True]),
        (".", "is no ordinary file", [False, True]),
        ("/dev/full", "is no ordinary file", [False, True]),
    ):
        for force in forces if option == "--save" else forces[:1]:
            target = str(tmp_path / name)
            ran = strapwork(*PLAN, option, target, *(["--force"] if force else []))
            assert (ran.returncode, ran.stdout) == (2, ""), name
            assert ran.stderr.rstrip().endswith(said), name
    missing = strapwork(*PLAN, option, str(tmp_path / "no" / "build.toml"))
    assert (missing.returncode, missing.stdout) == (2, "")
    assert missing.stderr == f"{tmp_path / 'no'}: there is no such folder\n"
    assert own.read_text() == old
    assert not (tmp_path / "nowhere").exists()


@pytest.mark.parametrize("other", ["own.toml", "./own.toml", "here/own.toml", "other.toml"])
def test_two_files_of_one_command_are_not_one(strapwork: Run, tmp_path: Path, other: str) -> None:
    """By the same name, by another way to it or as a second name of a file; nothing is searched or written."""
    (tmp_path / "here").symlink_to(tmp_path)
    own, second = str(tmp_path / "own.toml"), f"{tmp_path}/{other}"
    if other == "other.toml":
        (tmp_path / "own.toml").write_text("")
        os.link(own, second)
    before = sorted(tmp_path.iterdir())
    ran = strapwork(*PLAN, "--save", own, "--dump-model", second, "--force")
    assert (ran.returncode, ran.stdout) == (2, "")
    assert ran.stderr.endswith("is where a build is to be written already; name another file\n")
    assert sorted(tmp_path.iterdir()) == before
    way = strapwork(
        "why", "scenarios/quay-impossible.toml", "--apply", "1", "--to", own, "--dump-model", second, "--force"
    )
    assert (way.returncode, way.stdout) == (2, "")
    assert way.stderr.endswith("is where a scenario is to be written already; name another file\n")
    assert sorted(tmp_path.iterdir()) == before


def test_a_read_only_folder(strapwork: Run, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    """A superuser without its powers stands in for an ordinary user."""
    weak: list[str] = []
    if os.geteuid() == 0:
        if shutil.which("setpriv") is None:
            pytest.skip("the superuser may write anywhere")
        weak = ["setpriv", "--bounding-set=-all", "--inh-caps=-all"]
    closed = tmp_path / "closed"
    closed.mkdir()
    closed.chmod(0o555)
    request.addfinalizer(lambda: closed.chmod(0o755))
    ran = strapwork(*PLAN, "--save", str(closed / "build.toml"), prefix=weak)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert ran.stderr == f"{closed}: nothing may be written into this folder\n"


MEANWHILE = """
import sys, solver.search.ask.ranking as ranking
def rank(*given, real=ranking.rank, **named):
    found = real(*given, **named)
    open(sys.argv[sys.argv.index('--save') + 1], 'x').write('# somebody else\\nformat = 1\\n')
    return found
ranking.rank = rank
"""

ONE_NAME = """
import errno, os
def link(*_, **__):
    raise OSError(errno.EPERM, "Operation not permitted")
os.link = link
"""


@pytest.mark.parametrize("system", ["", ONE_NAME], ids=["hard links", "no hard links"])
def test_a_file_that_appears_during_the_search_is_kept(strapwork: Run, tmp_path: Path, system: str) -> None:
    target = tmp_path / "build.toml"
    ran = strapwork(*PLAN, "--save", str(target), first=system + MEANWHILE)
    assert ran.returncode == 2
    assert "exists" in ran.stderr
    assert "Build 1" in ran.stdout
    assert {path: path.read_text() for path in tmp_path.iterdir()} == {target: "# somebody else\nformat = 1\n"}


def test_permissions_and_names_as_long_as_they_may_be(strapwork: Run, tmp_path: Path) -> None:
    target = tmp_path / ("b" * 250 + ".toml")
    assert strapwork(*PLAN, "--save", str(target), first=ONE_NAME, umask=0o027).returncode == 0
    assert saved_whole(target)
    assert stat.S_IMODE(target.stat().st_mode) == 0o640
    target.chmod(0o600)
    target.write_text(OLD)
    assert strapwork(*PLAN, "--save", str(target), "--force", umask=0o022).returncode == 0
    assert saved_whole(target)
    assert stat.S_IMODE(target.stat().st_mode) == 0o600
    assert list(tmp_path.iterdir()) == [target]


def test_a_name_that_is_too_long(strapwork: Run, tmp_path: Path) -> None:
    target = tmp_path / ("b" * 300 + ".toml")
    ran = strapwork(*PLAN, "--save", str(target))
    assert ran.returncode == 2
    assert ran.stderr == f"{target}: File name too long\n"
    assert list(tmp_path.iterdir()) == []

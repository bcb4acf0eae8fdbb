"""The folder of a pack: every file with its digest, whole or not at all, over nothing but another pack."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import os
import resource
import shutil
from collections import Counter
from datetime import date
from pathlib import Path

import pytest
from amounts import some_or_all
from inside import strapwork
from samples import write_two_rooms
from two_builds import two_builds

import solver
from solver.answers.channels import channels
from solver.answers.pack import contents_of, pack
from solver.answers.work_order import work_order
from solver.files.folder import write_folder
from solver.files.reading import Loaded
from solver.reports.pack import FAULTY, MANIFEST, Manifest, Pack

ROOT = Path(__file__).parents[2]
SCENARIOS = ROOT / "scenarios"
RIG = SCENARIOS / "quay-mix-rig.toml"
FIRST, NEXT = SCENARIOS / "quay-mix-rig-first-drawn.toml", SCENARIOS / "quay-mix-rig-next-drawn.toml"
FILLED, DRAWN = SCENARIOS / "quay-filled.toml", SCENARIOS / "quay-filled-drawn.toml"
DAY = date(2026, 3, 1)


@pytest.fixture(autouse=True)
def _always_the_same_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1772323200")  # 1 March 2026, 00:00 UTC


def _files(folder: Path) -> dict[str, bytes]:
    return {f.relative_to(folder).as_posix(): f.read_bytes() for f in sorted(folder.rglob("*")) if f.is_file()}


def test_the_manifest_names_every_file_with_its_digest(tmp_path: Path) -> None:
    ran = strapwork("pack", RIG, NEXT, "--from", FIRST, "--to", tmp_path / "rig", "--format", "json")
    assert (ran.returncode, ran.stderr) == (0, "")
    files = _files(tmp_path / "rig")
    assert ran.stdout == files[MANIFEST].decode()
    manifest = Manifest.model_validate_json(ran.stdout)
    assert {file.name for file in manifest.files} == files.keys() - {MANIFEST}
    for file in manifest.files:
        data = files[file.name]
        assert (file.size, file.sha256) == (len(data), hashlib.sha256(data).hexdigest())
        assert file.what
    assert (manifest.outcome, manifest.made_on, manifest.sample_rate) == ("clean", DAY, 44100)
    assert os.listdir(tmp_path) == ["rig"]


def test_what_was_read_is_there_byte_for_byte_and_good_for_a_check_where_it_lies(tmp_path: Path) -> None:
    assert strapwork("pack", RIG, NEXT, "--from", FIRST, "--to", tmp_path / "rig").returncode == 0
    files = _files(tmp_path / "rig")
    assert files["build.toml"] == NEXT.read_bytes()
    assert files["as-found.toml"] == FIRST.read_bytes()
    assert files["files/quay-mix-rig.toml"] == RIG.read_bytes()
    assert files["files/hardware/quay.toml"] == (SCENARIOS / "hardware/quay.toml").read_bytes()
    moved = tmp_path / "elsewhere"
    shutil.move(tmp_path / "rig", moved)
    here = strapwork("check", moved / "files/quay-mix-rig.toml", moved / "build.toml", "--format", "json")
    assert here.stdout == strapwork("check", RIG, NEXT, "--format", "json").stdout


def test_files_keep_how_they_lie_beside_each_other_and_their_names_where_they_can(tmp_path: Path) -> None:
    for name in ("rooms", "stock/cards", "builds"):
        (tmp_path / name).mkdir(parents=True)
    text = RIG.read_text(encoding="utf-8").replace('"hardware/quay.toml"', '"../stock/cards/quay.toml"')
    (tmp_path / "rooms/build.toml").write_text(text, encoding="utf-8")
    shutil.copy(SCENARIOS / "hardware/quay.toml", tmp_path / "stock/cards/quay.toml")
    shutil.copy(NEXT, tmp_path / "builds/rig.toml")
    ran = strapwork("pack", "rooms/build.toml", "builds/rig.toml", "--to", "out", cwd=tmp_path)
    assert (ran.returncode, ran.stderr) == (0, "")
    files = _files(tmp_path / "out")
    assert {name for name in files if name.endswith(".toml")} == {
        "files/rooms/build.toml",
        "files/stock/cards/quay.toml",
        "build.toml",
    }
    check = strapwork("check", "out/files/rooms/build.toml", "out/build.toml", cwd=tmp_path)
    assert (check.returncode, check.stderr) == (0, "")


def test_names_that_are_taken_or_cannot_be_written_get_others(tmp_path: Path) -> None:
    for folder in ("a", "A\n"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "x.toml").write_text(folder, encoding="utf-8")
    names = contents_of({tmp_path / "a/x.toml": "a hardware file", tmp_path / "A\n/x.toml": "a hardware file"})
    assert list(names) == ["files/a/x.toml", "files/A_/x.toml"]
    both = contents_of({tmp_path / "a/x.toml": "one", tmp_path / "a/../a/x.toml": "the same"})
    assert list(both) == ["files/x.toml", "files/x-2.toml"]


def test_the_same_files_give_the_same_bytes_and_others_another_revision(tmp_path: Path) -> None:
    for name in ("one", "two"):
        assert strapwork("pack", RIG, NEXT, "--to", tmp_path / name).returncode == 0
    assert _files(tmp_path / "one") == _files(tmp_path / "two")
    assert strapwork("pack", RIG, FIRST, "--to", tmp_path / "three").returncode == 0
    revisions = [json.loads((tmp_path / name / MANIFEST).read_bytes())["revision"] for name in ("one", "three")]
    assert len(set(revisions)) == 2
    assert all(len(revision) == 8 for revision in revisions)


def test_a_program_gets_the_same_document(tmp_path: Path) -> None:
    assert strapwork("pack", RIG, NEXT, "--from", FIRST, "--to", tmp_path / "rig").returncode == 0
    packed = (tmp_path / "rig/pack.json").read_text(encoding="utf-8")
    assert solver.pack(RIG, NEXT, old=FIRST, made_on=DAY).as_json() == packed
    assert Pack.model_validate_json(packed).as_json() == packed


def test_a_faulty_build_is_packed_when_that_is_asked_for_and_each_table_says_so(tmp_path: Path) -> None:
    target = tmp_path / "filled"
    refused = strapwork("pack", FILLED, DRAWN, "--to", target)
    assert (refused.returncode, target.exists()) == (1, False)
    assert refused.stdout.startswith("FAULTY, 4 faults: ")
    assert refused.stdout.endswith("Nothing is written. With --anyway it is, with FAULTY on every sheet.\n")
    told = json.loads(strapwork("pack", FILLED, DRAWN, "--to", target, "--format", "json").stdout)
    assert (told["outcome"], len(told["faults"]), told["files"]) == ("faulty", 4, [])
    ran = strapwork("pack", FILLED, DRAWN, "--to", target, "--anyway")
    assert (ran.returncode, ran.stdout.startswith("FAULTY, 4 faults: ")) == (1, True)
    tables = [name for name in _files(target) if name.endswith(".csv")]
    assert len(tables) == 5
    assert all(name.startswith(FAULTY) for name in tables)


def test_a_bay_that_is_too_small_makes_a_pack_faulty(tmp_path: Path) -> None:
    text = (
        RIG.read_text(encoding="utf-8").replace("rows = 4", "rows = 2").replace('"hardware/', f'"{SCENARIOS}/hardware/')
    )
    (tmp_path / "rig.toml").write_text(text, encoding="utf-8")
    for command in ("check", "work-order"):
        told = strapwork(command, tmp_path / "rig.toml", NEXT)
        assert (told.returncode, "P1" in told.stdout, "bay-points" in told.stdout) == (1, True, True), command
    ran = strapwork("pack", tmp_path / "rig.toml", NEXT, "--to", tmp_path / "out")
    assert (ran.returncode, (tmp_path / "out").exists()) == (1, False)
    assert "bay" in ran.stdout.split("\n\n")[0]


def test_only_a_pack_that_nobody_added_to_is_replaced_and_only_with_force(tmp_path: Path) -> None:
    target = tmp_path / "rig"
    assert strapwork("pack", RIG, FIRST, "--to", target).returncode == 0
    before = _files(target)
    refused = strapwork("pack", RIG, NEXT, "--to", target)
    assert (refused.returncode, refused.stderr) == (2, f"{target}: exists; --force replaces it\n")
    assert _files(target) == before
    (target / "notes.txt").write_text("the hall rings\n", encoding="utf-8")
    refused = strapwork("pack", RIG, NEXT, "--to", target, "--force")
    assert refused.stderr == f'{target}: has "notes.txt" in it, which is of no pack; --force replaces packs only\n'
    (target / "notes.txt").unlink()
    assert _files(target) == before
    sheet = target / "test-sheet.csv"
    sheet.write_bytes(sheet.read_bytes().replace(b"M,", b"M ,", 1))
    refused = strapwork("pack", RIG, NEXT, "--to", target, "--force")
    assert (
        refused.stderr
        == f'{target}: has "test-sheet.csv" in it, which was changed since; --force replaces packs only\n'
    )
    sheet.unlink()
    assert strapwork("pack", RIG, NEXT, "--to", target, "--force").returncode == 0
    assert _files(target)["build.toml"] == NEXT.read_bytes()
    assert os.listdir(tmp_path) == ["rig"]


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda path: path.mkdir(), "is no pack; --force replaces packs only"),
        (lambda path: path.write_text("x", encoding="utf-8"), "is no folder"),
        (lambda path: path.symlink_to("elsewhere"), "is a link; name the folder itself"),
        (lambda path: shutil.copytree(SCENARIOS, path), "is no pack; --force replaces packs only"),
    ],
)
def test_what_is_no_pack_is_never_replaced(tmp_path: Path, make: object, said: str) -> None:
    assert callable(make)
    make(tmp_path / "out")
    ran = strapwork("pack", RIG, NEXT, "--to", tmp_path / "out", "--force")
    assert (ran.returncode, ran.stderr) == (2, f"{tmp_path / 'out'}: {said}\n")


def test_a_pack_is_not_replaced_by_one_of_the_files_in_it(tmp_path: Path) -> None:
    target = tmp_path / "rig"
    assert strapwork("pack", RIG, NEXT, "--to", target).returncode == 0
    before = _files(target)
    ran = strapwork("pack", RIG, target / "build.toml", "--to", target, "--force")
    assert (ran.returncode, ran.stderr) == (2, f"{target}: has the build of this command in it; name another folder\n")
    assert _files(target) == before


@pytest.mark.skipif(os.name != "posix", reason="POSIX limits")
@pytest.mark.parametrize("there", [False, True])
def test_no_room_leaves_everything_as_it_was(tmp_path: Path, there: bool) -> None:
    target = tmp_path / "out"
    before = {}
    if there:
        assert strapwork("pack", RIG, NEXT, "--to", target).returncode == 0
        before = _files(target)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (3000, hard))
    try:
        ran = strapwork("pack", RIG, NEXT, "--to", target, "--force")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert (ran.returncode, ran.stderr) == (2, f"{target}: File too large\n")
    assert os.listdir(tmp_path) == (["out"] if there else [])
    assert (_files(target) if there else {}) == before


def test_where_the_new_folder_cannot_get_its_name_the_older_one_has_it_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "out"
    write_folder(target, {"a": b"older"}, False, read={}, foreign=lambda _: None)
    rename = os.rename

    def fails(source: Path, name: Path) -> None:
        if str(source).endswith(".new"):
            raise OSError(5, "Input/output error", str(source))
        rename(source, name)

    monkeypatch.setattr(os, "rename", fails)
    with pytest.raises(OSError, match=f"Input/output error: '{target}'"):
        write_folder(target, {"a": b"newer"}, True, read={}, foreign=lambda _: None)
    assert _files(tmp_path) == {"out/a": b"older"}


@pytest.mark.parametrize("given", ["", "soon", "1e9", "9" * 30])
def test_a_date_that_is_none_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, given: str) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", given)
    ran = strapwork("pack", RIG, NEXT, "--to", tmp_path / "out")
    assert ran.returncode == 2
    assert f'SOURCE_DATE_EPOCH must be a count of seconds, to the year 9999 at most, found "{given}"' in ran.stderr
    assert os.listdir(tmp_path) == []


@some_or_all("seeds", range(150), range(1500))
def test_what_is_retyped_is_what_the_work_order_and_both_lists_say(seeds: range) -> None:
    met: Counter[str] = Counter()
    for seed in seeds:
        pair = two_builds(seed)
        loaded = Loaded(pair.scenario, pair.hardware)
        found = pack(loaded, pair.new, DAY, pair.old)
        used = [row for row in channels(loaded, pair.new).rows if row.need is not None]
        assert [(row.frame, row.direction, row.number, row.name) for row in found.recorder] == [
            (row.frame, row.direction, row.number, row.carries) for row in used
        ]
        retyped = {
            (row.new_frame, row.direction, row.new_number): (row.old_frame, row.old_number)
            for row in work_order(loaded, pair.new, pair.old).retype
        }
        old = {(r.frame, r.direction, r.number): r.need for r in channels(loaded, pair.old).rows}
        needs = {(r.frame, r.direction, r.number): r.need for r in used}
        for row in found.recorder:
            place = row.frame, row.direction, row.number
            was = (row.old_frame, row.old_number)
            assert (row.change == "other number") == (place in retyped)
            if row.change == "new":
                assert was == (None, None)
                continue
            assert was == retyped.get(place, (row.frame, row.number))
            assert row.old_frame is not None
            assert row.old_number is not None
            assert old[row.old_frame, row.direction, row.old_number] == needs[place]
        met.update(row.change for row in found.recorder)
        assert {row.change for row in pack(loaded, pair.new, DAY).recorder} <= {"new"}
    assert all(met[change] > len(seeds) // 10 for change in ("new", "same", "other number"))


def test_the_table_of_tests_has_every_check_and_says_what_the_shorter_sheets_have() -> None:
    found = solver.pack(FILLED, DRAWN, made_on=DAY)
    ten, thirty, whole = found.tests
    rows = list(csv.DictReader(io.StringIO(found.tables()[f"{FAULTY}test-sheet.csv"], newline="")))
    assert len(rows) == len(whole.rows) > len(thirty.rows) > len(ten.rows) > 0
    for sheet in (ten, thirty):
        marked = [row for row in rows if row[f"in_{sheet.time}_minutes"] == "yes"]
        assert [(row["frame"], row["direction"], int(row["number"])) for row in marked] == [
            (row.frame, row.direction, row.number) for row in sheet.rows
        ]


def test_one_of_several_rooms_is_packed_alone(tmp_path: Path) -> None:
    rooms = write_two_rooms(tmp_path)
    frames = [
        {"name": "A", "room": room, "board": "slate-32", "straps": {"layout": "1"}, "cards": {"1": card}}
        for room, card in (("North", "mic-8"), ("South", "line-in-8"))
    ]
    build = solver.Build.model_validate({"format": 1, "frame": frames})
    both = solver.pack(rooms, build, made_on=DAY)
    assert {row.room for row in both.channels.rows} == {"North", "South"}
    assert {fault.subject for fault in both.faults} == {"mic-8", "line-in-8"}
    south = solver.pack(rooms, build, room="South", made_on=DAY)
    assert {row.room for row in south.channels.rows} == {"South"}
    assert [(frame.room, frame.cards) for frame in south.report.builds[0].frames] == [("South", {"1": "line-in-8"})]
    assert {row.room for row in south.tests[0].clock} == {"South"}


@some_or_all("seeds", range(40), range(400))
def test_the_shelf_has_what_the_work_order_takes_out_and_what_stock_has_left(seeds: list[int]) -> None:
    met = 0
    for seed in seeds:
        pair = two_builds(seed)
        loaded = Loaded(pair.scenario, pair.hardware)
        found = pack(loaded, pair.new, DAY, pair.old)
        steps = [step for section in found.work_order.sections for step in section.steps]
        tagged = Counter(step.card for step in steps if step.action == "card out" and "to the shelf" in step.text)
        (build,) = found.report.builds
        boards = [Counter(step.board for step in steps if step.action == does) for does in ("board out", "board in")]
        gone = tagged + (boards[0] - boards[1])
        for item, count in found.shelf.items():
            assert count == max(build.stock_left.get(item, 0), gone[item])
        assert found.shelf.keys() >= gone.keys()
        met += bool(tagged)
    assert met > len(seeds) // 4


def test_the_sheet_for_the_rack_door_names_as_spares_what_the_work_order_shelves(tmp_path: Path) -> None:
    assert strapwork("pack", RIG, NEXT, "--from", FIRST, "--to", tmp_path / "rig").returncode == 0
    page = (tmp_path / "rig/index.html").read_text(encoding="utf-8")
    assert "<dt>Spares</dt><dd>1 x line-in-16, 1 x line-out-16; they are at" in page
    assert "none is owned" not in page

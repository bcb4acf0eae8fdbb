"""A list goes to a build and back: every number is the build's, and nothing but numbers has changed, to the letter."""

from __future__ import annotations

import json
import random
import shutil
from collections import Counter
from pathlib import Path

import generate
from amounts import some_or_all
from inside import strapwork

from solver.answers.input_list import input_list
from solver.files.cells import guarded
from solver.files.inputlist import InputList
from solver.files.listreading import parse_list
from solver.files.reading import Loaded
from solver.fitted.moves import serving
from solver.fitted.standing import stand
from solver.room.build import Build
from solver.room.ready import survey_room
from solver.room.scenario import Need, Scenario
from solver.search.ask.ranking import rank

ROOT = Path(__file__).parents[2]
SCENARIO, DRAWN = "scenarios/quay-drum-list.toml", "scenarios/quay-drum-list-drawn.toml"
LIST = ROOT / "scenarios/quay-drum-list.csv"
STRANGE = (
    "",
    "plain",
    "=1+1",
    "+48",
    "-10 dB",
    "@home",
    "'=kept",
    "''",
    'says ""in""',
    "; and, more",
    "Präsenz",
    " x ",
)
"""What stands in columns that are not read."""


def made_up(rng: random.Random, needs: tuple[Need, ...], frames: list[str]) -> str:
    """The text of a list that asks for what needs ask for, written as some spreadsheet or somebody's hand would."""
    separator, end = rng.choice(",;"), rng.choice(("\r\n", "\n"))
    columns = ["name", "signal", "direction", "group", "Note", "+48"]
    columns += rng.sample(["number", "frame"], rng.choice((0, 1, 2)))
    rng.shuffle(columns)
    lines = [columns]
    for need in needs:
        for channel in range(need.channels + need.spare):
            cells = {
                "name": rng.choice((f"{need.name} {channel}", f"=({channel})", f"-{need.name} {channel}")),
                "signal": need.signal,
                "direction": need.direction,
                "group": need.name,
                "Note": rng.choice(STRANGE),
                "+48": rng.choice(STRANGE),
            }
            lines.append([cells.get(column, "") for column in columns])
    text = rng.choice(("", "\ufeff"))
    for line in lines:
        text += separator.join(_quoted(rng, cell, separator) for cell in line) + end
        text += rng.choice(("", "", "", end))
    return text


def _quoted(rng: random.Random, cell: str, separator: str) -> str:
    needs_it = any(c in cell for c in (separator, '"', ","))
    return '"' + cell.replace('"', '""') + '"' if needs_it or rng.random() < 0.2 else cell


def built(seed: int) -> tuple[Loaded, InputList, str, Build] | None:
    """A made-up scenario whose needs are those of a list, the list's text and a build."""
    scenario, hardware = generate.random_pair(seed)
    rng = random.Random(f"list {seed}")
    frames = [frame.name for frame in scenario.frame]
    text = made_up(rng, scenario.need, frames)
    listed, told = parse_list("list.csv", text.encode(), None, frames)
    assert listed is not None, told
    if not listed.channels:
        return None
    scenario = _with(scenario, listed)
    found = rank(survey_room(scenario, hardware), top=1).builds
    return (Loaded(scenario, hardware, lists=(listed,)), listed, text, found[0].build) if found else None


def _with(scenario: Scenario, listed: InputList) -> Scenario:
    return scenario.model_copy(update={"need": listed.needs()})


@some_or_all("seeds", 80, 800)
def test_a_list_that_goes_round_has_the_builds_numbers_and_is_else_the_same_to_the_letter(seeds: int) -> None:
    seen: Counter[str] = Counter()
    for seed in range(seeds):
        case = built(seed)
        if case is None:
            continue
        loaded, listed, _, build = case
        document = input_list(loaded, build)
        frames = [frame.name for frame in loaded.scenario.frame]
        again, _ = parse_list("back.csv", document.csv.encode(), None, frames, wished=False)  # the same needs
        assert again is not None
        standing = stand(survey_room(loaded.scenario, loaded.hardware), build)
        spots = {need.name: own for (_, need), own in serving([standing]).items()}
        for channel, line in zip(again.channels, document.lines, strict=True):
            place = spots[channel.need][channel.channel - 1] if channel.channel <= len(spots[channel.need]) else None
            assert channel.number == line.number == (place and place.number)
            assert channel.number is None or channel.frame == (place and place.frame)
            seen["numbered"] += channel.number is not None
        _the_same_but_numbers(listed, again)
        assert input_list(Loaded(loaded.scenario, loaded.hardware, lists=(again,)), build).csv == document.csv
        seen["round"] += 1
        seen["several frames"] += len(frames) > 1
        seen["no column of numbers"] += "number" not in listed.columns
    assert seen["round"] > seeds // 4
    assert seen["numbered"] > seen["round"]
    assert min(seen["several frames"], seen["no column of numbers"]) > 0


def _the_same_but_numbers(one: InputList, other: InputList) -> None:
    """Two lists are the same, cell by cell as they are written, but for numbers and what guards against formulas."""
    assert (one.separator, one.marked, len(one.rows)) == (other.separator, other.marked, len(other.rows))
    added = [name for name in ("number", "frame") if name in other.columns and name not in one.columns]
    for row, back in zip(one.rows, other.rows, strict=True):
        assert row.end == back.end
        if not row.cells:
            assert not back.cells
            continue
        cells = back.cells[len(added) :]
        for n, (cell, written) in enumerate(zip(row.cells, cells, strict=True)):
            if n not in (one.columns.get("number"), one.columns.get("frame")):
                assert written.raw in (cell.raw, cell.guarded)
                assert written.text == cell.text
                assert guarded(written.text) == written.raw.strip('"').replace('""', '"') or '"' in written.raw


def test_nothing_in_a_list_that_goes_out_is_run_by_a_spreadsheet() -> None:
    for seed in range(40):
        case = built(seed)
        if case is None:
            continue
        loaded, _, _, build = case
        text = input_list(loaded, build).csv
        again, _ = parse_list("back.csv", text.encode(), None, [f.name for f in loaded.scenario.frame])
        assert again is not None
        for row in again.rows:
            for cell in row.cells:
                assert not cell.raw.removeprefix('"').startswith(("=", "+", "-", "@"))


def test_a_list_with_a_builds_own_numbers_has_nothing_otherwise(tmp_path: Path) -> None:
    back = tmp_path / "back.csv"
    back.write_bytes(strapwork("list", SCENARIO, DRAWN, "--format", "csv").stdout.encode())
    ran = strapwork("list", SCENARIO, DRAWN, "--check", back, columns=200)
    assert (ran.returncode, ran.stdout.splitlines()[1]) == (0, f"{back}: the same as the build")


def test_the_shipped_list_has_its_numbers_filled_in_and_is_else_as_it_was() -> None:
    text = strapwork("list", SCENARIO, DRAWN, "--format", "csv").stdout
    old = LIST.read_text(encoding="utf-8").splitlines()
    new = text.splitlines()
    assert new[0] == old[0]
    numbers = [*range(1, 12), 17, *range(12, 15), 25, 26, 15, 16, *range(1, 6)]
    assert new[1:] == [f"{number}{line}" for number, line in zip(numbers, old[1:], strict=True)]


DRUMS = """\
name,signal,group,pair,phantom,number
kick,mic,drums,,forbidden,
snare,mic,drums,,forbidden,
hat,mic,drums,,wanted,
tom,mic,drums,,forbidden,
overhead left,mic,drums,oh,wanted,
overhead right,mic,drums,oh,wanted,
bass,mic,,,forbidden,
singer,mic,amps,,forbidden,
"""


def _numbers_of(tmp_path: Path, text: str) -> list[str]:
    """The numbers that the best plan of the shipped scenario with another list gives each line."""
    (tmp_path / "hardware").symlink_to(ROOT / "scenarios/hardware")
    (tmp_path / "list.csv").write_text(text, encoding="utf-8")
    scenario = (ROOT / SCENARIO).read_text(encoding="utf-8").replace(LIST.name, "list.csv")
    (tmp_path / "drums.toml").write_text(scenario, encoding="utf-8")
    strapwork("plan", tmp_path / "drums.toml", "--save", tmp_path / "build.toml")
    told = strapwork("list", tmp_path / "drums.toml", tmp_path / "build.toml", "--format", "csv").stdout
    place = told.splitlines()[0].split(",").index("number")
    return [line.split(",")[place] for line in told.splitlines()[1:]]


def test_numbers_follow_the_lines_of_a_list_where_that_takes_nothing(tmp_path: Path) -> None:
    assert _numbers_of(tmp_path, DRUMS) == [*"12345678"]


def test_a_number_that_a_line_asks_for_moves_only_the_lines_that_are_in_its_way(tmp_path: Path) -> None:
    moved = DRUMS.replace("singer,mic,amps,,forbidden,", "singer,mic,amps,,forbidden,2")
    assert _numbers_of(tmp_path, moved) == [*"13457862"]


def test_what_somebody_edited_is_named_line_by_line(tmp_path: Path) -> None:
    text = strapwork("list", SCENARIO, DRAWN, "--format", "csv").stdout
    for old, new in (
        ("1,kick in", "2,kick in"),
        ("2,kick out", "1,kick out"),
        ("3,snare top,mic", "3,snare top,line"),
        ("12,bass amp,mic,in,amps", "12,bass amp,mic,in,bass"),
        ("15,guide voice", "15,lead voice"),
        ("16,talkback", "30,cowbell"),
        ("4,snare bottom", ",snare bottom"),
    ):
        assert old in text
        text = text.replace(f"\n{old}", f"\n{new}", 1)
    other = tmp_path / "edited.csv"
    other.write_text(text, encoding="utf-8")
    ran = strapwork("list", SCENARIO, DRAWN, "--check", other, columns=200)
    assert ran.returncode == 1
    rows = [" ".join(line.split()) for line in ran.stdout.splitlines()]
    assert rows[1:] == [
        f"{other}: 7 lines are not the build's; 1 of 24 lines without a number",
        "",
        "line name what is otherwise",
        "2 kick in is on A in 2, the build has it on A in 1",
        "3 kick out is on A in 1, the build has it on A in 2",
        "4 snare top signal was mic, is line",
        "14 bass amp group was amps, is bass",
        '19 lead voice was "guide voice"',
        "20 cowbell one line more, which asks for A in 30",
        "talkback is missing; the build has it on A in 16",
    ]
    document = json.loads(strapwork("list", SCENARIO, DRAWN, "--check", other, "--format", "json").stdout)
    assert Counter(change["what"] for change in document["changes"]) == {
        "number": 2, "signal": 1, "group": 1, "renamed": 1, "more": 1, "missing": 1,
    }  # fmt: skip
    beside = strapwork("list", SCENARIO, DRAWN, "--check", other, "--format", "csv")
    assert beside.returncode == 1
    assert f"{other}: line 2, kick in: is on A in 2, the build has it on A in 1" in beside.stderr


def test_an_edited_list_with_a_fault_is_refused_with_its_place(tmp_path: Path) -> None:
    other = tmp_path / "edited.csv"
    other.write_text("name,signal\nkick,\n", encoding="utf-8")
    ran = strapwork("list", SCENARIO, DRAWN, "--check", other)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert ran.stderr == f"{other}: 1 fault\n  signal (line 2, column 6): is missing\n"


def test_a_scenario_without_a_list_gets_one_of_its_needs() -> None:
    mix, drawn = "scenarios/quay-mix-rig.toml", "scenarios/quay-mix-rig-next-drawn.toml"
    lines = strapwork("list", mix, drawn, "--format", "csv").stdout.splitlines()
    assert lines[0] == "number,name,signal,direction,group"
    assert lines[1] == "1,outboard sends 1,line,out,outboard sends"
    assert len(lines) == 1 + 24 + 16 + 2 + 2
    assert strapwork("list", mix, drawn).stdout.splitlines()[1] == "made of its needs: 44 lines, 44 numbered"


def test_needs_that_are_in_no_line_and_a_faulty_build_are_told(tmp_path: Path) -> None:
    text = (ROOT / SCENARIO).read_text(encoding="utf-8")
    scenario = tmp_path / "drums.toml"
    text = text.replace('"hardware/quay.toml"', f'"{(ROOT / "scenarios/hardware/quay.toml").as_posix()}"')
    more = '\n[[need]]\nname = "piano"\ndirection = "in"\nsignal = "mic"\nchannels = 2\n'
    scenario.write_text(text + more, encoding="utf-8")
    (tmp_path / LIST.name).write_bytes(LIST.read_bytes())
    ran = strapwork("list", scenario, DRAWN)
    assert ran.returncode == 1
    assert ran.stdout.splitlines()[0].startswith("FAULTY, 1 fault: ")
    assert 'not in the list: "piano" (2)' in ran.stdout


def test_a_list_with_the_numbers_of_a_build_asks_for_just_that_build(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "scenarios/hardware", tmp_path / "hardware")
    shutil.copy(ROOT / SCENARIO, tmp_path / "drums.toml")
    back = tmp_path / LIST.name
    back.write_bytes(strapwork("list", SCENARIO, DRAWN, "--format", "csv").stdout.encode())
    assert strapwork("check", tmp_path / "drums.toml", DRAWN).returncode == 0
    assert strapwork("plan", tmp_path / "drums.toml", "--top", "1", "--save", tmp_path / "new.toml").returncode == 0
    assert strapwork("list", tmp_path / "drums.toml", tmp_path / "new.toml", "--check", back).returncode == 0

"""Input lists: tables of channels that stand in for needs, in every form that spreadsheets write; where faults are."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
import samples
from inside import strapwork

from solver.files.inputlist import InputList, list_of_needs
from solver.files.listreading import parse_list
from solver.files.reading import load_scenario, take_scenario
from solver.reports.inputlist import list_changes, list_lines
from solver.room.faults import FileFaults
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.words import as_data

ROOT = Path(__file__).parents[2]
LIST = """\
Number,Name,Signal,Direction,Group,Stand
,kick,mic,in,drums,short boom
,snare top,mic,in,drums,"boom, tall"
,bass,line,,,
,piano,mic,,,
,phones,aes3,out,,
"""


def read(text: str | bytes, frames: tuple[str, ...] = ("A",)) -> InputList:
    """A list that is whole."""
    found, told = parse_list("list.csv", text if isinstance(text, bytes) else text.encode(), None, frames)
    assert found is not None, told
    return found


def told(text: str | bytes, frames: tuple[str, ...] = ("A",)) -> list[str]:
    """What is said of a list."""
    return [
        fault.text()
        for fault in parse_list("list.csv", text if isinstance(text, bytes) else text.encode(), None, frames)[1]
    ]


def needs(listed: InputList) -> list[tuple[str, str, str, int, tuple[str, ...]]]:
    return [(n.name, n.direction, n.signal, n.channels, n.channel_names) for n in listed.needs()]


MEANT = [
    ("drums", "in", "mic", 2, ("kick", "snare top")),
    ("line in", "in", "line", 1, ("bass",)),
    ("mic in", "in", "mic", 1, ("piano",)),
    ("aes3 out", "out", "aes3", 1, ("phones",)),
]


@pytest.mark.parametrize(
    "data",
    [
        LIST.encode(),
        LIST.replace("\n", "\r\n").encode(),
        LIST.replace("\n", "\r").encode(),
        b"\xef\xbb\xbf" + LIST.encode(),
        LIST.replace(",", ";").encode(),
        LIST.replace("mic", '"Mic"').replace("Name", ' "NAME"'.strip()).encode(),
        b"\n\n" + LIST.encode().rstrip(b"\n"),
    ],
    ids=["commas", "CR LF", "CR", "byte order mark", "semicolons", "quotes", "empty lines and no last line end"],
)
def test_a_list_means_the_same_however_a_spreadsheet_wrote_it(data: bytes) -> None:
    assert needs(read(data)) == MEANT
    assert told(data) == []


def test_columns_may_stand_in_any_order() -> None:
    rows = [line.split(",") for line in LIST.replace('"boom, tall"', "boom").splitlines()]
    turned = "\n".join(",".join([row[4], row[2], row[3], row[1], row[0], row[5]]) for row in rows)
    assert needs(read(turned)) == MEANT


def test_letters_of_windows_1252_are_read_and_shown_so_that_somebody_can_look() -> None:
    data = "name,signal\nSnare,mic\nPräsenz,mic\n".encode("cp1252")
    assert needs(read(data)) == [("mic in", "in", "mic", 2, ("Snare", "Präsenz"))]
    assert told(data) == [
        'line 3: is no UTF-8 and was read as Windows-1252; is this right: "Präsenz"? If not, save it in UTF-8'
    ]


def test_a_group_of_two_signals_is_a_need_for_each() -> None:
    text = "name,signal,group,direction\nbass amp,mic,bass,\nbass,line,bass,\nbass send,line,bass,out\n"
    assert [(n[0], n[2], n[4]) for n in needs(read(text))] == [
        ("bass, mic in", "mic", ("bass amp",)),
        ("bass, line in", "line", ("bass",)),
        ("bass, line out", "line", ("bass send",)),
    ]


def test_numbers_that_are_free_and_headings_ask_for_nothing() -> None:
    text = "number,name,signal,group\n1,kick,mic,\n2,,,\n,,,DRUMS\n"
    assert needs(read(text)) == [("mic in", "in", "mic", 1, ("kick",))]


def asked(text: str, frames: tuple[str, ...] = ("A",)) -> list[tuple[str, str | None, str | None, tuple[str, ...]]]:
    """Name, frame and numbers of each need of a list, and its channels."""
    found = read(text, frames).needs()
    return [
        (n.name, *((n.numbers.frame, n.numbers.list) if n.numbers else (None, None)), n.channel_names) for n in found
    ]


def test_a_group_whose_lines_all_have_numbers_asks_for_them_in_the_order_of_its_lines() -> None:
    text = "number,name,signal,group\n9,kick,mic,drums\n1,snare,mic,drums\n2,tom,mic,drums\n3,hat,mic,drums\n"
    assert asked(text) == [("drums", "A", "9, 1-3", ("kick", "snare", "tom", "hat"))]


def test_lines_of_a_group_that_have_no_number_are_a_need_of_their_own() -> None:
    text = "number,name,signal,group\n1,kick,mic,drums\n,snare,mic,drums\n2,tom,mic,drums\n5,bass,line,\n"
    assert asked(text) == [
        ("drums, numbered", "A", "1-2", ("kick", "tom")),
        ("drums", None, None, ("snare",)),
        ("line in", "A", "5", ("bass",)),
    ]


def test_numbers_of_different_frames_are_needs_of_their_own() -> None:
    text = "number,frame,name,signal,group\n1,A,kick,mic,drums\n1,B,snare,mic,drums\n,,tom,mic,drums\n"
    assert asked(text, ("A", "B")) == [
        ("drums, numbered in A", "A", "1", ("kick",)),
        ("drums, numbered in B", "B", "1", ("snare",)),
        ("drums", None, None, ("tom",)),
    ]


def test_more_numbers_than_a_need_can_list_are_refused_in_words() -> None:
    lines = "".join(f"{2 * n},voice {n},mic,choir\n" for n in range(1, 200))
    assert parse_list("list.csv", f"number,name,signal,group\n{lines}".encode(), None, ("A",))[0] is None
    assert told(f"number,name,signal,group\n{lines}") == [
        "number (line 2, column 1): 199 lines of one group ask for too many numbers that do not follow each other"
    ]


def test_an_apostrophe_that_keeps_a_spreadsheet_from_running_a_name_is_no_part_of_it() -> None:
    assert needs(read("name,signal\n'=SUM(A1),mic\n'90s synth,line\n"))[0][4] == ("=SUM(A1)",)
    assert needs(read("name,signal\n'90s synth,line\n"))[0][4] == ("'90s synth",)


FAULTS = [
    ("name\nkick\n", ['line 1: there is no column "signal"']),
    ("name,signl\nkick,mic\n", ['line 1: there is no column "signal"; did you mean "signl"? (signl)']),
    (
        "name\tsignal\nkick\tmic\n",
        [
            "line 1: cells are parted by tabs; save it with commas or semicolons",
        ],
    ),
    ("name,signal,Name\nkick,mic,x\n", ['line 1, column 13: column "name" stands there twice']),
    ("name,signal\nkick,mic\nsnare,mic,boom\n", ["line 3: has 3 cells, and there are 2 columns"]),
    ("name,signal\nkick,\n,mic\n", ["signal (line 2, column 6): is missing", "name (line 3, column 1): is missing"]),
    (
        "name,signal,direction\nkick,mic,inn\n",
        ['direction (line 2, column 10): "inn" is not allowed; did you mean in? (in, out)'],
    ),
    ("name,signal\nkick,m!c\n", ['signal (line 2, column 6): must be letters, digits and hyphens, found "m!c"']),
    (
        "number,name,signal\n1,kick,mic\n0,snare,mic\n1.5,tom,mic\n1025,hat,mic\n",
        [
            f'number (line {line}, column 1): must be a whole number from 1 to 1024, found "{found}"'
            for line, found in ((3, "0"), (4, "1.5"), (5, "1025"))
        ],
    ),
    (
        "number,name,signal\n1,kick,mic\n2,snare,mic\n01,tom,line\n",
        ['number (line 4, column 1): input 1 is that of "kick" in line 2 already'],
    ),
    (
        'format = 1\n[[card]]\nid = "mic-8"\nname = "Mic 8"\n',
        ['line 1: there is no column "name" (format = 1)', 'line 1: there is no column "signal" (format = 1)'],
    ),
    ('name,signal\n"kick,mic\n', ["line 2, column 1: a quote that is not closed"]),
    ('name,signal\n"kick" in,mic\n', ["line 2, column 7: text after the closing quote of a cell"]),
    (
        'name,signal\nkick "in",mic\n',
        ["line 2, column 6: a quote within a cell; put the whole cell in quotes, and two for one in it"],
    ),
    ("name,signal\nkick\x1b[2J,mic\n", ["line 2, column 5: a character that may not stand there: \\x1b"]),
    (
        'name,signal\n"kick\nin",mic\nsnare,m!c\n',
        [
            "name (line 2, column 1): must be visible characters without line breaks or control characters, "
            'found "kick\\nin"',
            'signal (line 4, column 7): must be letters, digits and hyphens, found "m!c"',
        ],
    ),
    (
        f"name,signal\n{'x' * 121},mic\n",
        [f'name (line 2, column 1): must be at most 120 characters, found "{"x" * 60}..."'],
    ),
    (b"name,signal\nk\xe4\x81,mic\n", ["line 2: is neither UTF-8 nor Windows-1252 text; save it in UTF-8"]),
    ("name,signal\n".encode("utf-16"), ["is UTF-16 or no text at all; save it as CSV in UTF-8"]),
    ("", ["is empty"]),
    ("\n\n", ["is empty"]),
    ("name,signal\n" + "kick,mic\n" * 1001, None),
]  # fmt: skip


@pytest.mark.parametrize(("text", "said"), FAULTS, ids=range(len(FAULTS)))
def test_every_fault_of_a_list_is_told_with_its_place_and_nothing_of_it_is_used(
    text: str | bytes, said: list[str] | None
) -> None:
    data = text if isinstance(text, bytes) else text.encode()
    assert parse_list("list.csv", data, None, ("A",))[0] is None
    faults = [fault.text() for fault in parse_list("list.csv", data, None, ("A",))[1] if fault.severity == "fault"]
    assert faults == (["has 1001 lines; must be at most 1000"] if said is None else said)


def test_a_number_is_one_of_a_frame_where_there_are_several() -> None:
    text = "number,frame,name,signal\n1,A,kick,mic\n1,B,snare,mic\n1,,tom,mic\n1,C,hat,mic\n"
    assert told(text, ("A", "B")) == [
        'frame (line 4, column 3): numbers are those of one frame; say which one in a column of that name: "A", "B"',
        'frame (line 5, column 3): "C" is no frame of this room (A, B)',
    ]


def test_a_frame_without_a_number_is_warned_of_where_there_are_several() -> None:
    text = "frame,number,name,signal\nA,1,kick,mic\nB,,snare,mic\nB,,tom,mic\n"
    assert told(text, ("A", "B")) == [
        'frame (line 3, column 1): "B" asks for nothing: it is the frame of a number, and none is given'
    ]
    assert told(text.replace("B,", "A,"), ("A",)) == []


def test_two_lines_of_one_name_and_a_column_that_is_nearly_right_are_warned_of() -> None:
    assert told("name,signal,gruop\nkick,mic,drums\nkick,mic,drums\n") == [
        'line 1: column "gruop" is kept and not read; did you mean "group"?',
        'name (line 3, column 1): "kick" stands in line 2 already; each line is a channel of its own',
    ]


def scenario(folder: Path, listed: str, needs_from: str = 'needs_from = "list.csv"\n') -> Path:
    """A scenario that names a list."""
    (folder / "list.csv").write_bytes(listed.encode())
    text = samples.change(samples.SCENARIO, 'currency = "GBP"\n', 'currency = "GBP"\n' + needs_from)
    return samples.write(folder, text)


def test_a_scenario_has_the_needs_of_its_list_after_its_own(tmp_path: Path) -> None:
    loaded = load_scenario(scenario(tmp_path, "name,signal,group\nkick,mic,drums\nsnare,mic,drums\n"))
    assert [(n.name, n.channels) for n in loaded.scenario.need][-1] == ("drums", 2)
    assert len(loaded.scenario.need) > 1
    assert loaded.read[tmp_path / "list.csv"] == "an input list of this scenario"
    again = take_scenario(loaded.scenario, loaded.hardware)
    assert as_data(again.scenario) == as_data(loaded.scenario)


def test_what_is_wrong_with_a_need_of_a_list_is_told_at_its_line(tmp_path: Path) -> None:
    path = scenario(tmp_path, "name,signal\nkick,mic\nsnare,mik\n")
    (fault,) = samples.faults_of(path)
    assert fault.file == str(tmp_path / "list.csv")
    assert fault.text() == (
        'signal (line 3, column 7): "mik" is no signal of these hardware files; did you mean "mic"? (aes3, line, mic)'
    )


def test_a_setting_that_cannot_be_is_told_at_its_column(tmp_path: Path) -> None:
    path = scenario(tmp_path, "name,signal,setting phantom,setting level\nkick,mic,on,high\n")
    assert samples.texts_of(path) == [
        '"setting level" (line 2, column 13): "level" can be set on inputs of no card of these hardware files',
        '"setting phantom" (line 2, column 10): is asked for with phantom = "wanted" or "forbidden"',
    ]


def test_a_need_of_the_scenario_keeps_its_name_for_itself(tmp_path: Path) -> None:
    path = scenario(tmp_path, "name,signal,group\nkick,mic,returns\n")
    assert samples.texts_of(path) == [
        'group (line 2, column 10): "returns" is what another need of the scenario is called'
    ]


def test_faults_of_the_scenario_and_of_its_list_are_told_together(tmp_path: Path) -> None:
    path = scenario(tmp_path, "name,signal\nkick,\n")
    path.write_text(samples.change(path.read_text(encoding="utf-8"), 'chassis = "petrel-12"', 'chassis = "petrel"'))
    assert [Path(fault.file).name for fault in samples.faults_of(path)] == [path.name, "list.csv"]


@pytest.mark.parametrize(
    ("named", "said"),
    [
        ("lost.csv", 'there is no such file; did you mean "{folder}/list.csv"?'),
        (".", "is a folder, not a file"),
        ("https://example.org/list.csv", "is an address; save it and name that file"),
    ],
)
def test_a_list_that_cannot_be_read_is_a_fault(tmp_path: Path, named: str, said: str) -> None:
    path = scenario(tmp_path, "name,signal\nkick,mic\n", f'needs_from = "{named}"\n')
    if named == "lost.csv":
        (tmp_path / "list.csv").rename(tmp_path / "lost2.csv")
        said = said.replace("list.csv", "lost2.csv")
    assert samples.texts_of(path) == [said.format(folder=tmp_path)]


def test_a_list_is_read_with_the_file_of_a_scenario_alone(tmp_path: Path) -> None:
    loaded = load_scenario(scenario(tmp_path, "name,signal\nkick,mic\n"))
    with pytest.raises(FileFaults, match="a list is read where the scenario is"):
        take_scenario(loaded.scenario.model_copy(update={"needs_from": "list.csv"}), loaded.hardware)


BOOTH = """\
format = 1
title = "Booth"
hardware = ["quay.toml"]
currency = "GBP"
budget = BUDGET
needs_from = "list.csv"
[stock]
mic-8 = STOCK
[[offer]]
card = "line-in-8"
[[frame]]
name = "B"
chassis = "wren-4"
board = "slate-32"
"""


def booth(folder: Path, stock: int, budget: str, lines: str) -> Path:
    """A booth with shipped hardware and a list."""
    shutil.copy(ROOT / "scenarios/hardware/quay.toml", folder)
    (folder / "list.csv").write_text("name,signal\n" + lines, encoding="utf-8")
    file = folder / "booth.toml"
    file.write_text(BOOTH.replace("BUDGET", f'"{budget}"').replace("STOCK", str(stock)), encoding="utf-8")
    return file


def test_a_way_out_that_drops_lines_is_told_and_not_made_in_the_scenario(tmp_path: Path) -> None:
    file = booth(tmp_path, 1, "0.00", "".join(f"voice {n},mic\n" for n in range(10)))
    ran = strapwork("why", file, "--apply", "1", "--to", tmp_path / "new.toml")
    assert ran.returncode == 2
    assert 'the change takes 2 lines of "mic in" out of list.csv: do it there' in ran.stderr
    assert not (tmp_path / "new.toml").exists()


def test_a_way_out_that_moves_lines_is_told_and_not_made_in_the_scenario(tmp_path: Path) -> None:
    file = booth(tmp_path, 2, "0.00", "")
    (tmp_path / "list.csv").write_text("number,name,signal\n21,piano,mic\n22,voice,mic\n", encoding="utf-8")
    frame = 'board = "slate-32"\nkeep_empty = [2, 3]\n'
    file.write_text(file.read_text(encoding="utf-8").replace('board = "slate-32"\n', frame), encoding="utf-8")
    ways = json.loads(strapwork("why", file, "--format", "json").stdout)["clash"]["ways"]
    ((n, way),) = [(n, each) for n, each in enumerate(ways, 1) if each["changes"][0]["path"][-1] == "numbers"]
    assert way["changes"][0]["text"] == '"mic in": let it begin at input 25 in place of 21, the nearest that works'
    ran = strapwork("why", file, "--apply", n, "--to", tmp_path / "new.toml")
    assert ran.returncode == 2
    assert 'is not written, since the change is one of "mic in" in list.csv: do it there' in ran.stderr


def test_a_scenario_that_is_changed_names_its_list_from_its_new_place(tmp_path: Path) -> None:
    file = booth(tmp_path, 1, "0.00", "piano,line\n")
    ways = json.loads(strapwork("why", file, "--format", "json").stdout)["clash"]["ways"]
    (way,) = [n for n, each in enumerate(ways, 1) if [c["path"] for c in each["changes"]] == [["budget"]]]
    (tmp_path / "below").mkdir()
    ran = strapwork("why", file, "--apply", str(way), "--to", tmp_path / "below/new.toml")
    assert ran.returncode == 0, ran.stderr
    assert 'needs_from = "../list.csv"' in (tmp_path / "below/new.toml").read_text(encoding="utf-8")
    assert strapwork("plan", tmp_path / "below/new.toml").returncode == 0


def test_a_number_that_the_frame_has_not_is_told_at_its_line(tmp_path: Path) -> None:
    path = scenario(tmp_path, "name,signal,number\nkick,mic,1\nsnare,mic,70\n")
    assert samples.texts_of(path) == [
        "number (line 3, column 11): asks for number 70, and there are 64 inputs in the 48 kHz family"
    ]


def test_a_plan_keeps_to_the_numbers_that_lines_ask_for(tmp_path: Path) -> None:
    file = booth(tmp_path, 1, "0.00", "voice,mic\npiano,mic\nguide,mic\n")
    (tmp_path / "list.csv").write_text("number,name,signal\n7,voice,mic\n2,piano,mic\n,guide,mic\n", encoding="utf-8")
    assert strapwork("plan", file, "--save", tmp_path / "build.toml").returncode == 0
    lines = json.loads(strapwork("list", file, tmp_path / "build.toml", "--format", "json").stdout)["lines"]
    assert [(line["name"], line["number"]) for line in lines] == [("voice", 7), ("piano", 2), ("guide", 1)]


def test_of_several_rooms_numbers_are_kept_in_the_list_and_warned_of(tmp_path: Path) -> None:
    path = samples.write_two_rooms(tmp_path)
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('name = "North"', 'name = "North"\nneeds_from = "list.csv"', 1), encoding="utf-8")
    (tmp_path / "list.csv").write_text("name,signal,number\npiano,line,3\n", encoding="utf-8")
    loaded = load_scenario(path)
    assert [fault.text() for fault in loaded.warnings] == [
        "number (line 2, column 12): where there are several rooms, no plan keeps to the numbers that lines ask for"
    ]
    (north,) = [room for room in loaded.scenario.room if room.name == "North"]
    assert [(need.name, need.numbers) for need in north.need][-1] == ("line in", None)


# Settings of cards

SETTINGS = """\
name,signal,group,Phantom,setting full_scale_level
kick,mic,drums,,
over left,mic,drums,Wanted,
over right,mic,drums,wanted,
tape 1,line,tape,,"'+18 dBu"
tape 2,line,tape,,+18 dBu
"""


def _asked(listed: InputList) -> list[tuple[str, int, str | None, dict[str, str]]]:
    return [(need.name, need.channels, need.phantom, need.settings) for need in listed.needs()]


SET: list[tuple[str, int, str | None, dict[str, str]]] = [
    ("drums", 1, None, {}),
    ("drums, phantom wanted", 2, "wanted", {}),
    ("tape", 2, None, {"full_scale_level": "+18 dBu"}),
]


def test_lines_of_a_group_that_ask_for_different_settings_are_needs_of_their_own() -> None:
    assert _asked(read(SETTINGS)) == SET
    assert told(SETTINGS) == []


def test_what_phantom_cannot_be_is_told_with_its_place() -> None:
    (fault,) = told(SETTINGS.replace("Wanted", "yes"))
    assert fault == 'phantom (line 3, column 21): "yes" is not allowed (any, forbidden, wanted)'


def test_a_list_made_of_needs_says_what_they_ask_for() -> None:
    card: dict[str, Any] = {
        "id": "pre",
        "ports": [{"direction": "in", "signals": ["mic", "line"], "channels": {"48": 8}, "phantom_ma_per_channel": 10}],
        "setting": [{"name": "level", "direction": "in", "per": "card", "choices": ["+18 dBu", "+24 dBu"]}],
    }
    board = {"id": "reef", "limits": {"48": {"in": 8, "out": 8}}}
    board |= {side: {"first_slot": 1, "widths": 8} for side in ("inputs", "outputs")}
    chassis = {"id": "crate", "slot_count": 1, "boards": ["reef"]}
    need = {"direction": "in", "channels": 1}
    needs = [
        {**need, "name": "a", "signal": "mic", "phantom": "wanted", "settings": {"level": "+24 dBu"}},
        {**need, "name": "b", "signal": "mic", "phantom": "forbidden"},
        {**need, "name": "c", "signal": "line"},
    ]
    scenario = {
        "format": 1,
        "title": "Gannet Quay",
        "hardware": ["reef.toml"],
        "currency": "GBP",
        "frame": [{"name": "A", "chassis": "crate", "board": "reef"}],
        "need": needs,
    }
    hardware = {"format": 1, "card": [card], "board": [board], "chassis": [chassis]}
    survey = survey_room(Scenario.model_validate(scenario), Hardware.model_validate(hardware))
    made = list_of_needs(survey.needs, None)
    again = read(made.with_numbers({}, False))
    assert _asked(again) == [("a", 1, "wanted", {"level": "+24 dBu"}), ("b", 1, "forbidden", {}), ("c", 1, None, {})]
    lines = list_lines(made, {})
    assert list_changes(lines, again, made.columns) == []
    other = read(made.with_numbers({}, False).replace("forbidden", "any"))
    assert [(change.what, change.here, change.there) for change in list_changes(lines, other, made.columns)] == [
        ("setting", "phantom forbidden", "phantom any")
    ]


def test_what_a_line_comes_from_is_compared_where_both_lists_say_it() -> None:
    text = "name,signal,direction,from,to\nkick,mic,in,box 1,\nsnare,mic,in,box 2,\ncue,line,out,,phones 1\n"
    own = read(text)
    lines = list_lines(own, {})
    other = read(text.replace("box 1", "box 7").replace("phones 1", ""))
    assert [(c.what, c.line, c.here, c.there) for c in list_changes(lines, other, own.columns)] == [
        ("from", 2, "box 1", "box 7"),
        ("to", 4, "phones 1", None),
    ]
    assert list_changes(lines, own, own.columns) == []
    bare = read("name,signal,direction\nkick,mic,in\nsnare,mic,in\ncue,line,out\n")
    assert list_changes(lines, bare, own.columns) == []
    assert list_changes(list_lines(bare, {}), own, bare.columns) == []


# Pairs

PAIRS = """\
name,signal,group,pair
kick,mic,drums,
over left,mic,drums,over
over right,mic,drums,over
room left,mic,drums,room
room right,mic,drums,room
"""


def _pairs(listed: InputList) -> list[tuple[str, int, bool]]:
    return [(need.name, need.channels, need.pairs) for need in listed.needs()]


def test_two_lines_that_say_the_same_are_a_pair() -> None:
    assert _pairs(read(PAIRS)) == [("drums", 1, False), ("drums, in pairs", 4, True)]
    assert told(PAIRS) == []


@pytest.mark.parametrize(
    ("before", "after", "fault"),
    [
        ("room right,mic,drums,room", "room right,mic,drums,rom", "line 5, column 21"),
        ("over right,mic,drums,over\n", "", "line 3, column 21"),
        ("over right,mic,drums,over", "over right,mic,other,over", "line 3, column 21"),
    ],
)
def test_a_pair_of_other_than_two_lines_is_told_with_its_place(before: str, after: str, fault: str) -> None:
    text = PAIRS.replace(before, after)
    assert text != PAIRS
    first = told(text)[0]
    assert f"({fault})" in first
    assert first.endswith("is a pair of two lines of one group, one after the other")

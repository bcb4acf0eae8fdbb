"""Files that cannot be read, are of another kind, or hold more than is sensible: one clear fault each, and soon."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from pace import within
from samples import BUILD, HARDWARE, SCENARIO, change, faults_of, texts_of, write

from cli.main import run
from solver.files.reading import load_drawn, load_hardware, load_scenario
from solver.reports.element import Refused
from solver.reports.report import Report
from solver.room.faults import FileFaults


def texts_of_bytes(folder: Path, content: bytes) -> list[str]:
    (folder / "one.toml").write_bytes(content)
    with pytest.raises(FileFaults) as caught:
        load_hardware([folder / "one.toml"])
    return [fault.text() for fault in caught.value.faults]


UNREADABLE = [
    (b"", "is empty"),
    (b" \r\n\t\n", "is empty"),
    (b'format = 1\nx = "\xff"\n', "line 2: is not UTF-8 text"),
    (b"format 1\n", "line 1, column 8: is no valid TOML: expected '=' after a key in a key/value pair"),
    (b'format = 1\ntitle = "x', "line 2, column 11: is no valid TOML: unterminated string"),
    (b"format = 1\nx = " + b"9" * 5000, "line 2: a number is too large to be read"),
    (b"format = 1\nx = 1e" + b"9" * 30, "line 2: a number is too large to be read"),
    (b"format = 1\nx = " + b"[" * 100_000, "lists or tables are nested too deep"),
    (b"x" + b".y" * 50_000 + b" = 1", "line 1: a key with more than 20 parts"),
    (b"# " + b"x" * 500_000, "is larger than 500 kilobytes"),
]


@pytest.mark.parametrize(("content", "text"), UNREADABLE, ids=range(len(UNREADABLE)))
def test_what_cannot_be_read_is_told_in_one_line(tmp_path: Path, content: bytes, text: str) -> None:
    assert texts_of_bytes(tmp_path, content) == [text]


def test_a_number_of_thousands_of_hexadecimal_digits_is_a_fault(tmp_path: Path) -> None:
    hardware = change(HARDWARE, "slot_count = 12", "slot_count = 0x" + "f" * 5000)
    path = write(tmp_path, hardware=hardware)
    assert texts_of(path) == ['chassis "petrel-12" > slot_count: must be at most 64, found a very large number']


def test_a_folder_a_pipe_and_nothing_are_no_files(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(FileFaults) as caught:
        load_hardware([tmp_path, tmp_path / "pipe", tmp_path / "none.toml"])
    assert [fault.message for fault in caught.value.faults] == [
        "is a folder, not a file",
        "is no ordinary file",
        "there is no such file",
    ]


@pytest.mark.parametrize(
    "content",
    ["card = 3", "card = [3]", "card = [[]]", "[card]\nid = 1",
     'board = [ { id = { "" = 1 }, inputs = [] } ]',
     "format = [1]", 'chassis = [ { air = { path = 3 } } ]', "chassis = [ { air = 3 } ]",
     'card = [ { rails = [1], ports = { x = 1 } } ]', "board = [ { inputs = { widths = { slots = 1 } } } ]",
     'card = [ { heat_w = 1979-05-27, price = 07:32:00 } ]', '"" = 1', '"a\\u001bb" = { c = [ { } ] }'],
)  # fmt: skip
def test_any_shape_of_data_ends_in_faults(tmp_path: Path, content: str) -> None:
    texts = texts_of_bytes(tmp_path, content.encode())
    assert texts
    assert all(text.isprintable() and "pydantic" not in text and "tuple" not in text for text in texts)


def test_a_file_that_may_not_be_read_is_told_so(tmp_path: Path) -> None:
    path = write(tmp_path)
    path.chmod(0)
    user = os.geteuid()
    if user == 0:
        os.seteuid(65534)  # the one whom nothing is forbidden to steps aside
    try:
        texts = texts_of(path)
    finally:
        os.seteuid(user)
    assert texts == ["may not be read: permission denied"]


def test_a_name_nearly_right_is_offered(tmp_path: Path) -> None:
    scenario = change(SCENARIO, '"quay.toml"', '"quya.toml"')
    path = write(tmp_path, scenario)
    assert [(f.file, f.text()) for f in faults_of(path)] == [
        (str(tmp_path / "quya.toml"), 'there is no such file; did you mean "quay.toml"?')
    ]
    assert texts_of(tmp_path / "rom.toml") == [f'there is no such file; did you mean "{path}"?']


def test_one_file_under_two_names_is_one_fault(tmp_path: Path) -> None:
    (tmp_path / "linked.toml").symlink_to(tmp_path / "quay.toml")
    scenario = change(SCENARIO, '["quay.toml"]', '["quay.toml", "./quay.toml", "linked.toml"]')
    assert texts_of(write(tmp_path, scenario)) == [
        'hardware 2: "./quay.toml" is the same file as "quay.toml"',
        'hardware 3: "linked.toml" is the same file as "quay.toml"',
    ]


@pytest.mark.parametrize(
    ("names", "text"),
    [
        ("[3]", "hardware 1: must be text in quotes, found 3"),
        (
            '["a\\u0000b"]',
            'hardware 1: must be visible characters without line breaks or control characters, found "a\\x00b"',
        ),
        ('""', 'hardware: must be a list, found ""'),
        ("[]", "hardware: must not be empty"),
    ],
)
def test_what_names_no_hardware_file_is_one_fault(tmp_path: Path, names: str, text: str) -> None:
    assert texts_of(write(tmp_path, change(SCENARIO, '["quay.toml"]', names))) == [text]


KINDS = {"a scenario": SCENARIO, "a hardware file": HARDWARE, "a build file": BUILD}


@pytest.mark.parametrize("given", KINDS)
@pytest.mark.parametrize("wanted", KINDS)
def test_a_file_of_another_kind_is_one_fault(tmp_path: Path, given: str, wanted: str) -> None:
    texts = {**KINDS, wanted: KINDS[given]}
    path = write(tmp_path, texts["a scenario"], texts["a hardware file"])
    (tmp_path / "build.toml").write_text(texts["a build file"])
    if given == wanted:
        loaded, build = load_drawn(path, tmp_path / "build.toml")
        assert loaded.scenario.title == "Gannet Quay"
        assert build.frame[0].name == "A"
        return
    with pytest.raises(FileFaults) as caught:
        load_drawn(path, tmp_path / "build.toml")
    assert [fault.text() for fault in caught.value.faults] == [f"is {given}, not {wanted}"]


def test_a_mistyped_key_does_not_make_it_another_kind_of_file(tmp_path: Path) -> None:
    path = write(tmp_path, change(SCENARIO, "[[must_seat]]", "[[mustseat]]"), change(HARDWARE, "[[board]]", "[[bord]]"))
    told = [fault.text() for fault in faults_of(path)]
    assert told[0].startswith('mustseat: there is no such key; did you mean "must_seat"?')
    assert any(text.startswith('bord: there is no such key; did you mean "board"?') for text in told)


def test_faults_of_a_scenario_its_hardware_and_a_build_are_told_together(tmp_path: Path) -> None:
    path = write(tmp_path, change(SCENARIO, '"GBP"', '"GPB"'), change(HARDWARE, "grain = 2", "grain = 0"))
    (tmp_path / "build.toml").write_text(change(BUILD, '"1-8"', '"8-1"'))
    with pytest.raises(FileFaults) as caught:
        load_drawn(path, tmp_path / "build.toml")
    assert [(Path(fault.file).name, fault.path[-1]) for fault in caught.value.faults] == [
        ("room.toml", "currency"),
        ("quay.toml", "grain"),
        ("build.toml", "channels"),
    ]


HUGE = {
    "blanks": " " * 480_000 + "\nx = 1",
    "unknown keys": "".join(f"car{n} = 1\n" for n in range(30_000)),
    "a list of numbers": "card = [" + "1," * 200_000 + "]",
    "cards without an id": "[[card]]\nname = 3\n" * 15_000,
    "ids that nothing defines": "".join(
        f'[[chassis]]\nid = "c{n}"\nslot_count = 1\nboards = ["board-{n}-b"]\n' for n in range(1000)
    )
    + "".join(
        f'[[board]]\nid = "board-{n}-a"\nlimits = {{ "48" = {{ in = 1, out = 1 }} }}\n'
        "inputs = { first_slot = 1, widths = 8 }\noutputs = { first_slot = 1, widths = 8 }\n"
        for n in range(1000)
    ),
}


@pytest.mark.usefixtures("timed")
@pytest.mark.parametrize("content", HUGE.values(), ids=HUGE)
def test_a_very_large_file_is_answered_within_two_seconds(tmp_path: Path, content: str) -> None:
    (tmp_path / "huge.toml").write_text("format = 1\n" + content)
    with within(2), pytest.raises(FileFaults) as caught:
        load_hardware([tmp_path / "huge.toml"])
    assert 1 <= sum(fault.severity == "fault" for fault in caught.value.faults) <= 51


def test_after_fifty_faults_it_is_only_said_that_there_are_more(tmp_path: Path) -> None:
    more = "".join(f'[[offer]]\ncard = "none-{n}"\n' for n in range(150))
    texts = texts_of(write(tmp_path, change(SCENARIO, "[[frame]]", f"{more}[[frame]]")))
    assert texts[49].startswith('offer 51 > card: "none-49" is no card of these hardware files')
    assert texts[50:] == ["has more faults; these are the first 50"]


def test_a_fault_after_many_warnings_still_stops(tmp_path: Path) -> None:
    hot = "".join(f'[[card]]\nid = "hot-{n}"\nheat_w = 900\nrails = {{ "+5" = 1 }}\n' for n in range(150))
    hardware = change(HARDWARE, "[[board]]", f"{hot}[[board]]").replace("first_slot = 8, ", "")
    faults = faults_of(write(tmp_path, hardware=hardware))
    assert [fault.text() for fault in faults[49:]] == [
        'card "hot-49" > heat_w: 900 W is far from the 5.0 W that its rails deliver',
        "has more warnings; these are the first 50",
        'board "shale-64" > outputs > first_slot: is missing',
    ]


@pytest.mark.parametrize(
    ("line", "text"),
    [
        ("keep_empty = [12]", 'frame "A" > keep_empty: must have at most 64 entries, found 65'),
        ('hardware = ["quay.toml"]', "hardware: must have at most 64 entries, found 65"),
    ],
)
def test_absurdly_long_lists_are_refused(tmp_path: Path, line: str, text: str) -> None:
    value = line.split(" = ")[1].strip("[]")
    many = change(SCENARIO, line, f"{line.split(' = ', maxsplit=1)[0]} = [{', '.join([value] * 65)}]")
    assert texts_of(write(tmp_path, many)) == [text]


def switch(name: str, positions: int, sets: str) -> str:
    """A switch of so many positions, each of which sets something of its own."""
    settings = (f'[[board.strap_group.setting]]\nposition = "{n}"\n{sets.format(n)}\n' for n in range(1, positions + 1))
    return f'[[board.strap_group]]\nname = "{name}"\nkind = "switch"\n' + "".join(settings)


def test_more_combinations_of_settings_than_can_be_worked_through_are_refused(tmp_path: Path) -> None:
    width = switch("output width", 50, "outputs = {{ widths = {0} }}")
    few, many = (switch("input start", n, "inputs = {{ first_slot = 1 }}") for n in (40, 41))
    hardware = change(HARDWARE, "[[chassis]]", f"{width}{few}[[chassis]]")
    assert load_scenario(write(tmp_path, hardware=hardware)).warnings == ()
    hardware = change(HARDWARE, "[[chassis]]", f"{width}{many}[[chassis]]")
    assert texts_of(write(tmp_path, hardware=hardware)) == [
        'board "shale-64" > strap_group: makes 4100 combinations of settings; must be at most 4096'
    ]


BAN = 'never_together = [{ "input width" = "W1+W3", "output start" = "1" }]\nlimits ='
STRAPS = 'straps = { "input width" = "open" }'
WITHOUT_SETTINGS = '[[board.strap_group]]\nname = "clock end"\nkind = "switch"\n'
MANY = switch("one", 64, "inputs = {{ first_slot = 1 }}") + switch("two", 64, "outputs = {{ widths = 1 }}")


@pytest.mark.parametrize("asked", [STRAPS, ""], ids=["settings asked for", "settings left out"])
@pytest.mark.parametrize(
    ("old", "new", "text"),
    [
        ('"output start" = "1" }]', '"clock end" = "1" }]', '> never_together 1 > "clock end": '),
        ("[[chassis]]", f"{WITHOUT_SETTINGS}[[chassis]]", '> strap_group "clock end" > setting: there is no setting'),
        ("[[chassis]]", f"{MANY}[[chassis]]", "> strap_group: makes 8192 combinations of settings"),
    ],
    ids=["a ban of a group that is not there", "a group without settings", "more settings than can be tried"],
)
def test_settings_of_a_board_with_faults_are_told_and_not_tried(
    tmp_path: Path, old: str, new: str, text: str, asked: str
) -> None:
    hardware = change(change(HARDWARE, "limits =", BAN), old, new)
    with within(1):
        (told,) = texts_of(write(tmp_path, change(SCENARIO, STRAPS, asked), hardware))
    assert told.startswith(f'board "shale-64" {text}')


def test_slots_of_a_board_that_no_chassis_has_or_that_have_no_width_are_warned_about(tmp_path: Path) -> None:
    runs = '[{ slots = "2-3", width = 6 }, { slots = "5-10, 13-14", width = 4 }]'
    hardware = change(HARDWARE, "first_slot = 1, widths = 6", f"first_slot = 13, widths = {runs}")
    hardware = change(hardware, "limits =", "reserved = [12, 13]\nlimits =")
    assert [warning.text() for warning in load_scenario(write(tmp_path, hardware=hardware)).warnings] == [
        'board "shale-64" > inputs > first_slot: no chassis that takes this board has slot 13',
        'board "shale-64" > inputs > widths 2 > slots: no chassis that takes this board has slots 13-14',
        'board "shale-64" > inputs > widths: slots 4, 11-12 have no width; write width = 0 if that is meant',
        'board "shale-64" > reserved: no chassis that takes this board has slot 13',
    ]


def test_widths_that_begin_late_or_are_said_to_be_none_are_no_oddity(tmp_path: Path) -> None:
    runs = '[{ slots = "5-10", width = 4 }, { slots = "11-12", width = 0 }]'
    hardware = change(HARDWARE, "first_slot = 1, widths = 6", f"first_slot = 5, widths = {runs}")
    assert load_scenario(write(tmp_path, hardware=hardware)).warnings == ()


NOWHERE = 'card "aes3-out-16": no slot of any chassis of these hardware files takes it'


@pytest.mark.parametrize(
    ("old", "new", "warnings"),
    [
        ("span = 2", "span = 12", []),
        ("span = 2", "span = 13", [NOWHERE]),
        ("[[chassis]]", '[[chassis]]\nrefuses = [{ slots = "1-11", cards = ["aes3-out-16"] }]', [NOWHERE]),
        ("[[chassis]]", '[[chassis]]\nrefuses = [{ slots = "1-10", cards = ["aes3-out-16"] }]', []),
        ("limits =", "reserved = [2, 4, 6, 8, 10, 12]\nlimits =", [NOWHERE]),
        ("limits =", "reserved = [2, 4, 6, 8, 10]\nlimits =", []),
    ],
)  # fmt: skip
def test_a_card_that_no_slot_takes_is_warned_about(tmp_path: Path, old: str, new: str, warnings: list[str]) -> None:
    loaded = load_scenario(write(tmp_path, hardware=change(HARDWARE, old, new)))
    assert [warning.text() for warning in loaded.warnings] == warnings


MORE = [
    ("line-in-8 = 1", "line-in-8 = -1", "stock > line-in-8: must be at least 0, found -1"),
    ("line-in-8 = 1", "line-in-8 = 10000", "stock > line-in-8: must be at most 9999, found 10000"),
    (
        "line-in-8 = 1",
        '"li\\u001b8" = 1',
        r'stock > "li\x1b8": must be lower-case letters, digits and hyphens, found "li\x1b8"',
    ),
    ('card = "mic-4"\n[', 'card = "mic-4"\ncount = 0\n[', "must_seat 1 > count: must be at least 1, found 0"),
    ("keep_empty = [12]", "keep_empty = [12, 12]", 'frame "A" > keep_empty: "12" stands there twice'),
    ("keep_empty = [12]", "keep_empty = [0]", 'frame "A" > keep_empty 1: must be at least 1, found 0'),
    (
        "[stock]",
        "sample_rate = 48\n[stock]",
        'sample_rate: 48 Hz is no known sample rate; did you mean 48000? '
        "(44100, 48000, 88200, 96000, 176400, 192000)",
    ),
    ("[stock]", "budget = inf\n[stock]", "budget: must be a finite number, found Infinity"),
    ("[stock]", "budget = nan\n[stock]", "budget: must be a finite number, found NaN"),
    ("[stock]", "budget = 1e400\n[stock]", "budget: must be at most 1000000000000, found 1E+400"),
    ("[stock]", "budget = -0.01\n[stock]", "budget: must be at least 0, found -0.01"),
    ("[stock]", "budget = true\n[stock]", "budget: must be a number, found true"),
    ("[stock]", "budget = 1979-05-27\n[stock]", "budget: must be a number, found 1979-05-27 (a date or time)"),
    (
        "[stock]",
        '[limits]\nrail_reserve = "95 %"\n[stock]',
        'limits > rail_reserve: must be a whole number of per cent from 0 to 90, such as "20 %", found "95 %"',
    ),
    ("[stock]", "[air]\n[stock]", "air > inlet_c: is missing"),
    ("channels = 8", "channels = 5000", 'need "returns" > channels: must be at most 1024, found 5000'),
    (
        "channels = 8",
        f"channels = {'9' * 400}",
        'need "returns" > channels: must be at most 1024, found a very large number',
    ),
    ('title = "Gannet Quay"', 'title = ""', "title: must not be empty"),
    (
        'title = "Gannet Quay"',
        'title = "a\\u202eb"',
        r"title: must be visible characters without line breaks or control characters, "
        r'found "a\u202eb"',
    ),
    ("[[need]]", "[need]", "need: must be a list of tables, each begun with [[need]], found a table"),
    (
        'title = "Gannet Quay"',
        'title = "Gannet Quay"\ntitle = "Again"',
        "line 3, column 16: is no valid TOML: a key stands there twice",
    ),
    ("[[need]]", "[stock]\n[[need]]", "line 21, column 7: is no valid TOML: a table stands there twice: 'stock'"),
    (
        '{ "3" = "line-in-8" }',
        '{ "3" = "mic-4", "3" = "mic-4" }',
        "line 17, column 38: is no valid TOML: a key stands there twice: '3'",
    ),
    (
        'title = "Gannet Quay"',
        'title = "Gannet',
        "line 2, column 16: is no valid TOML: a text does not end on its line",
    ),
    (
        'title = "Gannet Quay"',
        "title = Gannet",
        "line 2, column 9: is no valid TOML: no number, date, true or false; text stands in quotes",
    ),
    (
        'title = "Gannet Quay"',
        'title = "Gannet\x07"',
        "line 2, column 16: is no valid TOML: a character that may not stand there: '\\x07'",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "text"), MORE)
def test_values_out_of_reach_are_told_in_words(tmp_path: Path, old: str, new: str, text: str) -> None:
    assert texts_of(write(tmp_path, change(SCENARIO, old, new))) == [text]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("first_slot = 8", "first_slot = 0"),  # the board is left out, and the chassis names it
        ("slot_count = 12", "slot_count = 0"),
        ("heat_w = 12.1", "heat_w = -1"),
    ],
)
def test_what_is_left_out_leads_to_no_fault_elsewhere(tmp_path: Path, old: str, new: str) -> None:
    refuses = 'refuses = [{ slots = "1", cards = ["line-in-8"] }]\nslot_count'
    hardware = change(change(HARDWARE, old, new), "slot_count", refuses)
    (text,) = texts_of(write(tmp_path, hardware=hardware))
    assert text.endswith(f"found {new.rsplit(maxsplit=1)[-1]}")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('name = "A"', "name = 4"),  # the only frame
        ('["cost", "unused"]', '["coast"]'),  # what the slack belongs to
        ('"mic-4"\nprice', '"Mic"\nprice'),
        ('name = "returns"', "name = 1"),
    ],
)
def test_a_wrong_value_of_a_scenario_is_one_fault(tmp_path: Path, old: str, new: str) -> None:
    assert len(texts_of(write(tmp_path, change(SCENARIO, old, new)))) == 1


def test_with_json_faults_are_a_document_and_the_text_stays_on_stderr(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write(tmp_path, change(SCENARIO, '"line"', '"lnie"'), change(HARDWARE, "heat_w = 12.1", "heat_w = 121"))
    (tmp_path / "build.toml").write_text("format = 1\ntitle = x\n")
    assert run(["check", str(path), str(tmp_path / "build.toml"), "--format", "json"]) == 2
    out, err = capsys.readouterr()
    document = Refused.model_validate_json(out)
    assert document.outcome == "refused"
    signal, broken = document.faults
    assert signal.model_dump() == {
        "file": str(path),
        "path": ["need", "returns", "signal"],
        "line": None,
        "column": None,
        "message": '"lnie" is no signal of these hardware files',
        "found": "lnie",
        "allowed": ["aes3", "line", "mic"],
        "nearest": "line",
        "option": None,
        "text": 'need "returns" > signal: "lnie" is no signal of these hardware files; did you mean "line"? '
        "(aes3, line, mic)",
    }
    assert (broken.file, broken.line, broken.column) == (str(tmp_path / "build.toml"), 2, 9)
    assert [(w.file, w.path) for w in document.warnings] == [
        (str(tmp_path / "quay.toml"), ["card", "line-in-8", "heat_w"])
    ]
    assert '"lnie" is no signal' in err
    assert run(["check", str(path), str(tmp_path / "build.toml")]) == 2
    assert capsys.readouterr() == ("", err)


@pytest.mark.parametrize("command", ["plan room.toml", "check room.toml build.toml", "blocks quay.toml"])
def test_with_json_warnings_about_the_files_are_in_the_document(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    write(tmp_path, hardware=change(HARDWARE, "heat_w = 12.1", "heat_w = 121"))
    (tmp_path / "build.toml").write_text(BUILD)
    monkeypatch.chdir(tmp_path)
    run([*command.split(), "--format", "json"])
    out, err = capsys.readouterr()
    text = 'card "line-in-8" > heat_w: 121 W is far from the 12.0 W that its rails deliver'
    assert [warning["text"] for warning in json.loads(out)["warnings"]] == [text]
    assert " ".join(err.split()) == f"quay.toml: 1 warning warning: {text}"
    if not command.startswith("blocks"):
        Report.model_validate_json(out)

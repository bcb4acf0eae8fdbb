"""Reading and writing files: whole messages, because they are what a user has to work from."""

from __future__ import annotations

import os
import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import pytest
from samples import BUILD, HARDWARE, SCENARIO, change, faults_of, texts_of, write

from solver.files.buildfile import write_build
from solver.files.reading import check_build_names, load_build, load_hardware, load_scenario
from solver.room.build import Build
from solver.room.faults import Fault, FileFaults, nearest


def test_a_good_scenario_is_read_with_its_hardware(tmp_path: Path) -> None:
    loaded = load_scenario(write(tmp_path))
    assert loaded.warnings == ()
    assert loaded.scenario.frame[0].pins == {"3": "line-in-8"}
    assert [card.id for card in loaded.hardware.card] == ["line-in-8", "mic-4", "aes3-out-16"]
    assert loaded.hardware.card[0].heat_w == Decimal("12.1")


def test_a_byte_order_mark_and_line_ends_of_two_characters_are_read(tmp_path: Path) -> None:
    path = write(tmp_path)
    for file in (path, tmp_path / "quay.toml"):
        file.write_bytes(b"\xef\xbb\xbf" + file.read_bytes().replace(b"\n", b"\r\n"))
    assert load_scenario(path).scenario.title == "Gannet Quay"


def test_hardware_in_several_files_is_one_stand_of_parts(tmp_path: Path) -> None:
    start = HARDWARE.index("[[chassis]]")
    hardware = HARDWARE[:start]
    (tmp_path / "frames.toml").write_text("format = 1\n" + HARDWARE[start:])
    scenario = change(SCENARIO, '["quay.toml"]', '["quay.toml", "frames.toml"]')
    assert load_scenario(write(tmp_path, scenario, hardware)).hardware.chassis[0].boards == ("shale-64",)


SCENARIO_FAULTS = [
    (
        'signal = "line"',
        'signal = "lnie"',
        'need "returns" > signal: "lnie" is no signal of these hardware files; did you mean "line"? (aes3, line, mic)',
    ),
    ('{ "3" = "line-in-8" }', '{ "13" = "line-in-8" }', 'frame "A" > pins > 13: petrel-12 has slots 1 to 12'),
    (
        '{ "3" = "line-in-8" }',
        '{ "3" = "line-8" }',
        'frame "A" > pins > 3: "line-8" is no card of these hardware files; did you mean "line-in-8"? '
        "(aes3-out-16, line-in-8, mic-4)",
    ),
    (
        '{ "3" = "line-in-8" }',
        '{ "12" = "aes3-out-16" }',
        'frame "A" > pins > 12: aes3-out-16 takes 2 slots, and petrel-12 has slots 1 to 12',
    ),
    (
        '{ "3" = "line-in-8" }',
        '{ "three" = "line-in-8" }',
        'frame "A" > pins > three: must be a slot number, found "three"',
    ),
    ("[12]", "[12, 14, 15]", 'frame "A" > keep_empty: slots 14-15 are not there: petrel-12 has slots 1 to 12'),
    (
        'chassis = "petrel-12"',
        'chassis = "petrel-21"',
        'frame "A" > chassis: "petrel-21" is no chassis of these hardware files; did you mean "petrel-12"? (petrel-12)',
    ),
    (
        '{ "input width" = "open" }',
        '{ "input widht" = "open" }',
        'frame "A" > straps > "input widht": "input widht" is no strap group of shale-64; '
        'did you mean "input width"? (input width, output start)',
    ),
    (
        '{ "input width" = "open" }',
        '{ "input width" = "W1+W4" }',
        'frame "A" > straps > "input width": "W1+W4" is no setting of "input width"; did you mean "W1+W3"? '
        "(W1+W3, open)",
    ),
    (
        "line-in-8 = 1",
        "line-in-9 = 1",
        'stock > line-in-9: "line-in-9" is in none of these hardware files; did you mean "line-in-8"? '
        "(aes3-out-16, line-in-8, mic-4, petrel-12, shale-64)",
    ),
    (
        'card = "mic-4"\nprice',
        'card = "mic-4"\nboard = "shale-64"\nprice',
        "offer 1: must name one card, one chassis or one board, found board and card",
    ),
    ('"810.50"', '"810.505"', "offer 1 > price: 810.505 has more decimals than GBP has (2)"),
    ('"810.50"', '"810,50"', 'offer 1 > price: must be an amount such as "1290.00", found "810,50"'),
    ("channels = 8", "channels = 0", 'need "returns" > channels: asks for no channel and no spare'),
    ("channels = 8", 'channels = "8"', 'need "returns" > channels: must be a whole number, found "8" (text)'),
    ("channels = 8", "channels = true", 'need "returns" > channels: must be a whole number, found true'),
    ("channels = 8", "channels = -8", 'need "returns" > channels: must be at least 0, found -8'),
    (
        "channels = 8",
        "chanels = 8",
        'need "returns" > chanels: there is no such key; did you mean "channels"? '
        "(apart_from, asynchronous, bank_of, channel_names, channels, consecutive, critical, direction, importance, "
        "max_per_card, may_split, name, and 9 more)",
    ),
    ("channels = 8", "", 'need "returns" > channels: is missing'),
    (
        'direction = "in"',
        'direction = "int"',
        'need "returns" > direction: "int" is not allowed; did you mean "in"? (in, out)',
    ),
    ("format = 1", "format = 2", "format: must be 1, found 2"),
    ("format = 1", "format = true", "format: must be 1, found true"),
    ("format = 1", "", "format: is missing; write format = 1"),
    (
        'rank = ["cost", "unused"]',
        'sample_rate = 48100\nrank = ["cost", "unused"]',
        "sample_rate: 48100 Hz is no known sample rate; did you mean 48000? "
        "(44100, 48000, 88200, 96000, 176400, 192000)",
    ),
    (
        'rank = ["cost", "unused"]',
        'sample_rate = 192000\nrank = ["cost", "unused"]',
        'frame "A" > board: shale-64 has no limits for the 192 kHz family',
    ),
    ('["cost", "unused"]', '["cost", "cost"]', 'rank: "cost" stands there twice'),
    (
        'cost = "5 %"',
        'unused = "5 %"',
        'slack > unused: "5 %": per cent are for cost only; give a whole number',
    ),
    ('cost = "5 %"', "idle = 2", 'slack > idle: "idle" is not in rank (cost, unused)'),
    (
        'cost = "5 %"',
        "cost = 1.5",
        'slack > cost: must be a whole number or a text such as "5 %", found 1.5',
    ),
    (
        "[stock]",
        "[limits]\nwarn_below_k = 20\n[stock]",
        "limits: refuse_below_k, warn_below_k and enough_k: none may be less than the one before, "
        "found 5 as usual, 20, 15 as usual",
    ),
    (
        "[stock]",
        "[limits]\nrefuse_below_k = 12\n[stock]",
        "limits: refuse_below_k, warn_below_k and enough_k: none may be less than the one before, "
        "found 12, 10 as usual, 15 as usual",
    ),
    (
        "[[must_seat]]\ncard",
        "[must_seat]\ncard",
        "must_seat: must be a list of tables, each begun with [[must_seat]], found a table",
    ),
]


@pytest.mark.parametrize(("old", "new", "text"), SCENARIO_FAULTS)
def test_a_fault_in_a_scenario_is_named_with_its_place(tmp_path: Path, old: str, new: str, text: str) -> None:
    assert texts_of(write(tmp_path, change(SCENARIO, old, new))) == [text]


HARDWARE_FAULTS = [
    (
        "price =",
        "prise =",
        'card "line-in-8" > prise: there is no such key; did you mean "price"? '
        "(air_limit_c, connector, excludes, heat_w, hot_at, id, latency_samples, name, needs, ports, price, rails, "
        "and 4 more)",
    ),
    ("heat_w = 12.1", 'heat_w = "12.1"', 'card "line-in-8" > heat_w: must be a number, found "12.1" (text)'),
    ("heat_w = 12.1", "heat_w = nan", 'card "line-in-8" > heat_w: must be a finite number, found NaN'),
    ('"+17" = 0.31', '"+17" = -1', 'card "line-in-8" > rails > +17: must be at least 0, found -1'),
    (
        'id = "mic-4"',
        'id = "Mic 4"',
        'card "Mic 4" > id: must be lower-case letters, digits and hyphens, found "Mic 4"',
    ),
    (
        'id = "mic-4"',
        'id = "shale-64"',
        'board "shale-64" > id: "shale-64" is already the id of a card in this file',
    ),
    ("on_slot = 2", "on_slot = 3", 'card "aes3-out-16" > ports 1 > on_slot: 3 is past the card\'s span of 2'),
    (
        '"48" = 16',
        '"48" = 15',
        'card "aes3-out-16" > ports 1 > channels > 48: 15 channels cannot be divided by the grain 2',
    ),
    (
        '"48" = 16',
        '"44" = 16',
        'card "aes3-out-16" > ports 1 > channels > 44: "44" is not allowed (192, 48, 96)',
    ),
    (
        "{ first_slot = 8, widths = 8 }",
        "{ widths = 8 }",
        'board "shale-64" > outputs > first_slot: is missing',
    ),
    (
        "widths = 6",
        'widths = "6"',
        'board "shale-64" > inputs > widths: must be a whole number or a list of runs, found "6" (text)',
    ),
    (
        'slots = "3-12"',
        'slots = "2-12"',
        'board "shale-64" > strap_group "input width" > setting "W1+W3" > inputs > widths 2 > slots: '
        "slot 2 has a width already",
    ),
    (
        'slots = "3-12"',
        'slots = "12-3"',
        'board "shale-64" > strap_group "input width" > setting "W1+W3" > inputs > widths 2 > slots: '
        'the run 12-3 goes backwards, found "12-3"',
    ),
    (
        'closed = ["W1", "W3"]',
        'closed = ["W1", "W3", "W4"]',
        'board "shale-64" > strap_group "input width" > setting "W1+W3+W4" > closed: '
        '"W4" is no strap of "input width" (W1, W3)',
    ),
    (
        'position = "1"',
        'closed = ["W1"]',
        'board "shale-64" > strap_group "output start" > setting "W1" > closed: '
        "a setting of a switch has position, not closed",
    ),
    (
        'position = "1"',
        'position = "1"\n[[board.strap_group.setting]]\nposition = "1"',
        'board "shale-64" > strap_group "output start" > setting "1": stands there twice',
    ),
    (
        "outputs = { first_slot = 1 }",
        "inputs = { widths = 4 }",
        'board "shale-64" > strap_group "output start": sets inputs.widths, which group "input width" sets already',
    ),
    (
        'kind = "switch"',
        'kind = "switch"\nstraps = ["W1"]',
        'board "shale-64" > strap_group "output start" > straps: "W1" is already a strap of group "input width"',
    ),
    (
        'kind = "switch"',
        'kind = "switch"\nwanted = "2"',
        'board "shale-64" > strap_group "output start" > wanted: "2" is no setting of "output start" (1)',
    ),
    (
        "limits =",
        'never_together = [ { "output start" = "3", "input width" = "open" } ]\nlimits =',
        'board "shale-64" > never_together 1 > "output start": "3" is no setting of "output start" (1)',
    ),
    (
        'boards = ["shale-64"]',
        'boards = ["shale-64"]\nrefuses = [ { slots = "11-13", cards = ["mic-4"] } ]',
        'chassis "petrel-12" > refuses 1 > slots: slot 13 is not there: petrel-12 has slots 1 to 12',
    ),
    ("slot_count = 12", "slot_count = 65", 'chassis "petrel-12" > slot_count: must be at most 64, found 65'),
    (
        'path = "fan"',
        'path = "fann"',
        'chassis "petrel-12" > air > path: "fann" is not allowed; did you mean "fan"? (draught, fan)',
    ),
    (
        "flow_m3_h = 40",
        "flow_m3 = 40",
        'chassis "petrel-12" > air > flow_m3: there is no such key; did you mean "flow_m3_h"? '
        "(derate, fans, flow_m3_h, gap_area_cm2, leak_cm2, path, still)",
    ),
    (
        'price = "1290.00"',
        'price = "1290.001"',
        'card "line-in-8" > price: 1290.001 has more decimals than GBP has (2)',
    ),
]


@pytest.mark.parametrize(("old", "new", "text"), HARDWARE_FAULTS)
def test_a_fault_in_a_hardware_file_is_named_with_its_place(tmp_path: Path, old: str, new: str, text: str) -> None:
    path = write(tmp_path, hardware=change(HARDWARE, old, new))
    told = [fault.text() for fault in faults_of(path) if fault.file.endswith("quay.toml")]
    assert told == [text]


def test_flat_cards_need_a_fan(tmp_path: Path) -> None:
    draught = 'path = "draught", gap_area_cm2 = 3, opening_below_cm2 = 6, opening_above_cm2 = 6, stack_mm = 190'
    hardware = change(HARDWARE, 'path = "fan", flow_m3_h = 40', draught) + 'cards = "flat"\n'
    assert texts_of(write(tmp_path, hardware=hardware)) == [
        'chassis "petrel-12" > air > path: flat cards get no draught between them; they need a fan (fan)'
    ]


def test_an_unknown_currency_is_told_with_the_nearest(tmp_path: Path) -> None:
    (fault,) = faults_of(write(tmp_path, change(SCENARIO, '"GBP"', '"GPB"')))
    assert (fault.path, fault.found, fault.nearest) == (("currency",), "GPB", "GBP")
    assert "GBP" in fault.allowed
    assert fault.text().endswith("and 14 more)")


def test_keys_beside_rooms_must_stand_in_a_room(tmp_path: Path) -> None:
    rooms = '[[room]]\nname = "Hall"\nframe = [ { name = "B", chassis = "petrel-12", board = "shale-64" } ]\n'
    assert texts_of(write(tmp_path, SCENARIO + rooms)) == [
        "frame: must stand in a room where there are rooms",
        "need: must stand in a room where there are rooms",
        "must_seat: must stand in a room where there are rooms",
    ]


def test_a_fault_in_a_room_names_the_room(tmp_path: Path) -> None:
    scenario = SCENARIO[: SCENARIO.index("[[frame]]")] + (
        '[[room]]\nname = "Hall"\nframe = [ { name = "B", chassis = "petrel-12", board = "shale-46" } ]\n'
    )
    assert texts_of(write(tmp_path, scenario)) == [
        'room "Hall" > frame "B" > board: "shale-46" is no board of these hardware files; '
        'did you mean "shale-64"? (shale-64)'
    ]


def test_a_scenario_without_a_frame_is_told_so(tmp_path: Path) -> None:
    scenario = SCENARIO[: SCENARIO.index("[[frame]]")]
    assert texts_of(write(tmp_path, scenario)) == ["frame: there is no frame; begin one with [[frame]]"]


def test_names_are_used_once(tmp_path: Path) -> None:
    more = '[[frame]]\nname = "A"\nchassis = "petrel-12"\nboard = "shale-64"\n'
    more += '[[need]]\nname = "returns"\ndirection = "in"\nsignal = "mic"\nchannels = 1\n'
    assert texts_of(write(tmp_path, SCENARIO + more)) == [
        'frame "A" > name: "A" is already the name of another frame',
        'need "returns" > name: "returns" is already the name of another need',
    ]


def test_an_id_is_used_once_over_all_files(tmp_path: Path) -> None:
    (tmp_path / "more.toml").write_text('format = 1\n[[card]]\nid = "mic-4"\n')
    scenario = change(SCENARIO, '["quay.toml"]', '["quay.toml", "more.toml"]')
    (fault,) = faults_of(write(tmp_path, scenario))
    assert fault.file == str(tmp_path / "more.toml")
    expected = f'card "mic-4" > id: "mic-4" is already the id of a card in {tmp_path / "quay.toml"}'
    assert fault.text() == expected


def test_every_fault_of_every_file_is_told_in_one_go(tmp_path: Path) -> None:
    scenario = change(SCENARIO, "channels = 8", "channels = 8.5")
    scenario = change(scenario, 'title = "Gannet Quay"', 'title = "a\\u0007b"')
    path = write(tmp_path, scenario, change(HARDWARE, "on_slot = 2", "on_slot = 3"))
    assert faults_of(path)[0].file == str(path)
    with pytest.raises(FileFaults) as caught:
        load_scenario(path)
    told = caught.value.render(width=1000).replace(f"{tmp_path}{os.sep}", "")
    assert told == (
        "room.toml: 2 faults\n"
        "  title: must be visible characters without line breaks or control characters, "
        'found "a\\x07b"\n'
        '  need "returns" > channels: must be a whole number, found 8.5\n'
        "quay.toml: 1 fault\n"
        '  card "aes3-out-16" > ports 1 > on_slot: 3 is past the card\'s span of 2'
    )


def test_what_is_wrong_between_entries_is_told_beside_wrong_values(tmp_path: Path) -> None:
    scenario = change(SCENARIO, "line-in-8 = 1", "line-in-8 = -1\nline-9 = 1")
    scenario = change(scenario, "channels = 8", 'channels = "8"')
    scenario = change(scenario, 'title = "Gannet Quay"', "title = 3")
    scenario = change(scenario, "keep_empty = [12]", "keep_empty = [13]")
    hardware = change(HARDWARE, "heat_w = 12.1", "heat_w = true")
    hardware = change(hardware, "on_slot = 2", "on_slot = 3")
    assert texts_of(write(tmp_path, scenario)) == [
        "title: must be text in quotes, found 3",
        "stock > line-in-8: must be at least 0, found -1",
        'need "returns" > channels: must be a whole number, found "8" (text)',
        'stock > line-9: "line-9" is in none of these hardware files; did you mean "line-in-8"? '
        "(aes3-out-16, line-in-8, mic-4, petrel-12, shale-64)",
        'frame "A" > keep_empty: slot 13 is not there: petrel-12 has slots 1 to 12',
    ]
    assert texts_of(write(tmp_path, hardware=hardware)) == [
        'card "line-in-8" > heat_w: must be a number, found true',
        'card "aes3-out-16" > ports 1 > on_slot: 3 is past the card\'s span of 2',
    ]


@pytest.mark.parametrize(
    ("old", "new", "text"),
    [
        (
            'id = "shale-64"\n',
            'id = "shale-64"\nname = "Shale"\nat_limit = "cutt"\n',
            'board "shale-64" > at_limit: "cutt" is not allowed; did you mean "cut"? (cut, drop)',
        ),
        (
            'id = "petrel-12"\n',
            'id = "petrel-12"\nname = "Petrel"\nslots = 12\n',
            'chassis "petrel-12" > slots: there is no such key',
        ),
        (
            'id = "mic-4"\n',
            'id = "mic-4"\nname = "Mic"\nspan = 0\n',
            'card "mic-4" > span: must be at least 1, found 0',
        ),
    ],
)
def test_a_part_with_a_fault_is_not_said_to_be_missing_as_well(tmp_path: Path, old: str, new: str, text: str) -> None:
    found = texts_of(write(tmp_path, hardware=change(HARDWARE, old, new)))
    assert len(found) == 1
    assert found[0].startswith(text)


def test_long_faults_are_wrapped_and_never_cut() -> None:
    allowed = tuple(f"card-with-a-long-name-{n}" for n in range(9))
    faults = FileFaults([Fault("quay.toml", ("offer", 2, "card"), '"x" is no card', "x", allowed, "card-a")])
    lines = faults.render().splitlines()
    assert lines[0] == "quay.toml: 1 fault"
    assert lines[1].startswith('  offer 2 > card: "x" is no card; did you mean "card-a"?')
    assert max(map(len, lines)) <= 80
    assert " ".join(line.strip() for line in lines[1:]) == faults.faults[0].text()


def test_a_card_far_hotter_than_its_rails_deliver_is_warned_about(tmp_path: Path) -> None:
    loaded = load_scenario(write(tmp_path, hardware=change(HARDWARE, "heat_w = 12.1", "heat_w = 121")))
    (warning,) = loaded.warnings
    assert warning.severity == "warning"
    assert warning.text() == ('card "line-in-8" > heat_w: 121 W is far from the 12.0 W that its rails deliver')


@pytest.mark.parametrize(
    ("slack", "step", "warnings"),
    [
        (2, "3", ["slack > cooling: margins are compared in steps of 3 K (step_k), so 2 K gives up nothing"]),
        (6, "2.5", ["slack > cooling: margins are compared in steps of 2.5 K (step_k), so 6 K counts as 5 K"]),
        (5, "2.5", []),
        (0, "3", []),
    ],
)
def test_a_slack_of_cooling_that_is_no_whole_number_of_steps_is_warned_about(
    tmp_path: Path, slack: int, step: str, warnings: list[str]
) -> None:
    asked = f'rank = ["cooling", "cost"]\nslack = {{ cooling = {slack} }}\nlimits = {{ step_k = {step} }}'
    scenario = change(SCENARIO, 'rank = ["cost", "unused"]\nslack = { cost = "5 %" }', asked)
    assert [warning.text() for warning in load_scenario(write(tmp_path, scenario)).warnings] == warnings


@pytest.mark.parametrize(
    ("had", "cannot"),
    [
        ("", ["chassis", "board"]),
        ('[[offer]]\nchassis = "petrel-12"\n', ["board"]),
        ('[[offer]]\nchassis = "petrel-12"\nat_most = 0\n[[offer]]\nboard = "shale-64"\n', ["chassis"]),
        ('[[offer]]\nchassis = "petrel-12"\n[[offer]]\nboard = "shale-64"\n', []),
    ],
)
def test_a_frame_that_is_not_owned_and_cannot_be_had_is_warned_about(
    tmp_path: Path, had: str, cannot: list[str]
) -> None:
    frame = 'name = "A"\nchassis = "petrel-12"\n'
    scenario = change(SCENARIO, frame, f"{frame}owned = false\n").replace("[[must_seat]]", f"{had}[[must_seat]]")
    items = {"chassis": "petrel-12", "board": "shale-64"}
    assert [warning.text() for warning in load_scenario(write(tmp_path, scenario)).warnings] == [
        f'frame "A" > {key}: {items[key]} is neither in stock nor on offer, so this frame, which is not owned, can '
        "never be used"
        for key in cannot
    ]
    scenario = scenario.replace("[stock]", "[stock]\npetrel-12 = 1\nshale-64 = 1")
    assert load_scenario(write(tmp_path, scenario)).warnings == ()


def test_odd_things_that_do_not_stop_are_warned_about(tmp_path: Path) -> None:
    hardware = HARDWARE + (
        '[[board]]\nid = "flint-16"\nlimits = { "48" = { in = 16, out = 16 } }\n'
        "inputs = { first_slot = 1, widths = 8 }\noutputs = { first_slot = 1, widths = 8 }\n"
    )
    hardware = change(hardware, '["W1", "W3"]', '["W1", "W2", "W3"]')
    scenario = change(SCENARIO, 'direction = "in"', 'direction = "out"')
    assert [warning.text() for warning in load_scenario(write(tmp_path, scenario, hardware)).warnings] == [
        'need "returns" > signal: no card gives out "line" in the 48 kHz family',
        'board "shale-64" > strap_group "input width" > straps: "W2" is closed in no setting',
        'board "flint-16": fits no chassis of these hardware files',
    ]


def test_a_build_is_read_back_as_it_was_written(tmp_path: Path) -> None:
    loaded = load_scenario(write(tmp_path))
    (tmp_path / "a.toml").write_text(BUILD)
    build = load_build(tmp_path / "a.toml")
    check_build_names(tmp_path / "a.toml", build, loaded)
    write_build(build, tmp_path / "b.toml")
    assert load_build(tmp_path / "b.toml") == build
    assert (tmp_path / "b.toml").read_text().startswith("# A build: what stands in each frame")
    assert sorted(file.name for file in tmp_path.iterdir()) == ["a.toml", "b.toml", "quay.toml", "room.toml"]


def test_a_build_file_is_not_overwritten_unasked(tmp_path: Path) -> None:
    target = tmp_path / "kept.toml"
    target.write_text("format = 1  # mine")
    with pytest.raises(FileExistsError):
        write_build(Build(), target)
    assert target.read_text() == "format = 1  # mine"
    write_build(Build(title="Tuesday"), target, force=True)
    assert load_build(target) == Build(title="Tuesday")
    with pytest.raises(FileExistsError):
        write_build(Build(), tmp_path, force=True)


BUILD_FAULTS = [
    ('name = "A"', 'name = "B"', 'frame "B": "B" is no frame of this scenario (A)'),
    ('name = "A"', 'name = "A"\nroom = "Hall"', 'frame "A" > room: "Hall" is no room of this scenario'),
    (
        '"shale-64"',
        '"shale-6"',
        'frame "A" > board: "shale-6" is no board of these hardware files; did you mean "shale-64"? (shale-64)',
    ),
    (
        '"3" = "line-in-8"',
        '"3" = "line-in-8", "5" = "mic-5"',
        'frame "A" > cards > 5: "mic-5" is no card of these hardware files; did you mean "mic-4"? '
        "(aes3-out-16, line-in-8, mic-4)",
    ),
]


@pytest.mark.parametrize(("old", "new", "text"), BUILD_FAULTS)
def test_a_build_names_only_rooms_frames_boards_and_cards_that_there_are(
    tmp_path: Path, old: str, new: str, text: str
) -> None:
    loaded = load_scenario(write(tmp_path))
    path = tmp_path / "build.toml"
    path.write_text(change(BUILD, old, new))
    with pytest.raises(FileFaults) as caught:
        check_build_names(path, load_build(path), loaded)
    assert [fault.text() for fault in caught.value.faults] == [text]


def test_the_nearest_name_is_found_whatever_its_case() -> None:
    assert nearest("LINE-IN", ["line-in", "line-out", "mic"]) == "line-in"
    assert nearest("drums", ["line", "mic"]) is None


def test_reading_needs_no_search_engine() -> None:
    code = "import sys, solver.files.reading; sys.exit('ortools' in sys.modules or 'tomlkit' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize(
    ("cards", "slot_1", "told"),
    [
        (
            "flat",
            "left",
            'chassis "c" > slot_1: "left" is for other cards; flat cards lie above each other (top, bottom)',
        ),
        (
            "upright",
            "top",
            'chassis "c" > slot_1: "top" is for other cards; upright cards stand side by side (left, right)',
        ),
        ("flat", "bottom", None),
        ("upright", "right", None),
        ("flat", None, None),
    ],
)
def test_where_slot_1_is_agrees_with_how_the_cards_lie(
    tmp_path: Path, cards: str, slot_1: str | None, told: str | None
) -> None:
    said = "" if slot_1 is None else f'slot_1 = "{slot_1}"\n'
    (tmp_path / "hw.toml").write_text(
        'format = 1\n[[board]]\nid = "b"\nlimits = { "48" = { in = 8, out = 8 } }\n'
        "inputs = { first_slot = 1, widths = 2 }\noutputs = { first_slot = 1, widths = 2 }\n"
        '[[chassis]]\nid = "c"\nslot_count = 4\n'
        f'boards = ["b"]\ncards = "{cards}"\n{said}',
        encoding="utf-8",
    )
    try:
        load_hardware([tmp_path / "hw.toml"])
        found = []
    except FileFaults as refused:
        found = [fault.text() for fault in refused.faults if fault.severity == "fault"]
    assert found == ([] if told is None else [told])

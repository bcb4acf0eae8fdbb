"""Strap groups that change no number where bans name them: by hand, against trying all, and in every answer."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import brute_force
import generate
import pytest
import test_against_brute_force
import test_why
from pace import within

from cli.main import run
from solver.files.reading import load_scenario
from solver.judge.campus import survey_campus
from solver.room.faults import FileFaults
from solver.room.hardware import Board, Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.straps import count_settings, legal_settings, possible_settings
from solver.rules.straps import OtherSetting
from solver.search.ask.clash import clash
from solver.search.ask.ranking import rank
from solver.search.ask.reach import reach
from solver.search.campus.planning import plan_campus
from solver.search.solve.clock import Clock

WIDE = {"name": "wide", "kind": "links", "straps": ["W1"], "setting": [{"closed": ["W1"], "inputs": {"widths": 8}}]}
CLOCK = {
    "name": "clock",
    "kind": "switch",
    "setting": [{"position": "house"}, {"position": "own"}, {"position": "tape"}],
    "wanted": "house",
}
END = {
    "name": "end",
    "kind": "links",
    "straps": ["E1", "E2"],
    "setting": [{"closed": ["E1"]}, {"closed": ["E1", "E2"]}],
}
HUM = {"name": "hum", "kind": "links", "straps": ["H1"], "setting": [{"closed": ["H1"]}]}


def _board(groups: list[dict[str, Any]], *bans: dict[str, str]) -> Board:
    return Board.model_validate(
        {
            "id": "marl-16",
            "limits": {"48": {"in": 16, "out": 16}},
            "inputs": {"first_slot": 1, "widths": 4},
            "outputs": {"first_slot": 1, "widths": 4},
            "strap_group": groups,
            "never_together": list(bans),
        }
    )


def _legal(board: Board, **asked: str) -> list[dict[str, str]]:
    return [{group: s.name for group, s in settings.items()} for settings in legal_settings(board, asked)]


def test_a_ban_moves_only_the_group_that_changes_no_number() -> None:
    board = _board([WIDE, CLOCK], {"wide": "W1", "clock": "house"})
    assert _legal(board) == [{"wide": "open", "clock": "house"}, {"wide": "W1", "clock": "own"}]


def test_a_wanted_setting_that_is_never_legal_gives_way_to_the_next() -> None:
    assert _legal(_board([CLOCK], {"clock": "house"}, {"clock": "own"})) == [{"clock": "tape"}]


def test_the_fewest_groups_move_then_the_fewest_straps_are_closed_then_the_first_by_name() -> None:
    # Moving `hum` resolves both bans and closes one strap; `clock` and `end` would have to move together.
    both = _board([CLOCK, END, HUM], {"clock": "house", "hum": "open"}, {"end": "open", "hum": "open"})
    assert _legal(both) == [{"clock": "house", "end": "open", "hum": "H1"}]
    # One group has to move: the switch closes nothing.
    one = _board([END, CLOCK, HUM], {"clock": "house", "end": "open", "hum": "open"})
    assert _legal(one) == [{"end": "open", "clock": "own", "hum": "open"}]
    # Nothing tells two switches apart but the order of their names in what then stands.
    other = {**CLOCK, "name": "other"}
    assert _legal(_board([CLOCK, other], {"clock": "house", "other": "house"})) == [{"clock": "house", "other": "own"}]


def test_what_is_asked_for_stays_where_anything_else_can_move() -> None:
    board = _board([CLOCK, HUM], {"clock": "house", "hum": "open"})
    assert _legal(board, hum="open") == [{"clock": "own", "hum": "open"}]
    assert _legal(board, clock="house") == [{"clock": "house", "hum": "H1"}]
    # Where nothing else can, there is a combination for each smallest set that strays: ways out of a clash.
    assert _legal(board, clock="house", hum="open") == [
        {"clock": "own", "hum": "open"},
        {"clock": "house", "hum": "H1"},
    ]


def test_nothing_is_legal_where_bans_leave_nothing() -> None:
    assert _legal(_board([WIDE, HUM], {"hum": "open"}, {"hum": "H1"})) == []
    assert _legal(_board([WIDE, HUM], {"wide": "W1"}, {"hum": "open", "wide": "open"})) == [
        {"wide": "open", "hum": "H1"}
    ]


def test_a_setting_is_possible_where_some_legal_combination_has_it() -> None:
    board = _board([WIDE, CLOCK], {"wide": "W1", "clock": "house"}, {"clock": "tape"})
    assert possible_settings(board, "clock") == ["house", "own"]
    assert possible_settings(board, "wide") == ["open", "W1"]


# In a scenario: eight line inputs need the wide setting, beside which the clock may not stand where it is wanted.

HARDWARE: dict[str, Any] = {
    "format": 1,
    "card": [
        {"id": "line-8", "price": "40.00", "ports": [{"direction": "in", "signals": ["line"], "channels": {"48": 8}}]}
    ],
    "board": [_board([WIDE, CLOCK], {"wide": "W1", "clock": "house"}).model_dump(by_alias=True, exclude_unset=True)],
    "chassis": [{"id": "moor-2", "slot_count": 2, "boards": ["marl-16"]}],
}
ROOM: dict[str, Any] = {
    "frame": [{"name": "A", "chassis": "moor-2", "board": "marl-16"}],
    "need": [{"name": "tape returns", "direction": "in", "signal": "line", "channels": 8}],
}
SCENARIO: dict[str, Any] = {
    "format": 1,
    "title": "Gannet Quay, tape store",
    "hardware": ["marl.toml"],
    "currency": "GBP",
    "stock": {"line-8": 1},
    "rank": ["cost"],
}


def _room(**frame: Any) -> tuple[Scenario, Hardware]:
    room = {**ROOM, "frame": [{**ROOM["frame"][0], **frame}]}
    return Scenario.model_validate({**SCENARIO, **room}), Hardware.model_validate(HARDWARE)


def test_a_plan_needs_no_order_where_the_clock_can_stand_elsewhere() -> None:
    found = rank(survey_room(*_room()))
    assert (found.outcome, found.builds[0].figures.cost) == ("found", 0)
    assert found.builds[0].build.frame[0].straps == {"wide": "W1", "clock": "own"}


def test_a_setting_that_is_asked_for_against_a_ban_is_the_way_out() -> None:
    survey = survey_room(*_room(straps={"clock": "house"}))
    assert rank(survey, 1).outcome == "impossible"
    found = clash(survey)
    clock = OtherSetting("A", "clock")
    settings = [[c.choice for c in way.changes] for way in found.ways if way.changes[0].wish == clock]
    assert settings == [["own"]]
    assert clock in found.because


def test_the_most_channels_are_those_of_the_setting_that_a_ban_leaves() -> None:
    found = reach(survey_room(*_room()))
    assert (found.outcome, found.reaches[0].stock.channels) == ("found", 8)


def test_rooms_take_the_setting_that_a_ban_leaves() -> None:
    rooms = [{"name": name, **ROOM} for name in ("north", "south")]
    scenario = Scenario.model_validate({**SCENARIO, "stock": {"line-8": 2}, "room": rooms})
    found = plan_campus(survey_campus(scenario, Hardware.model_validate(HARDWARE)), 1, Clock(), lambda *_: None)
    assert found.best is not None
    assert [frame.straps for frame in found.best.build.frame] == [{"wide": "W1", "clock": "own"}] * 2


FILES = {
    "marl.toml": """\
format = 1
[[card]]
id = "line-8"
price = "40.00"
ports = [{ direction = "in", signals = ["line"], channels = { "48" = 8 } }]
[[board]]
id = "marl-16"
limits = { "48" = { in = 16, out = 16 } }
inputs = { first_slot = 1, widths = 4 }
outputs = { first_slot = 1, widths = 4 }
never_together = [{ "wide" = "W1", "clock" = "house" }]
[[board.strap_group]]
name = "wide"
kind = "links"
straps = ["W1"]
[[board.strap_group.setting]]
closed = ["W1"]
inputs = { widths = 8 }
[[board.strap_group]]
name = "clock"
kind = "switch"
wanted = "house"
setting = [{ position = "house" }, { position = "own" }]
[[chassis]]
id = "moor-2"
slot_count = 2
boards = ["marl-16"]
""",
    "store.toml": """\
format = 1
title = "Gannet Quay, tape store"
hardware = ["marl.toml"]
currency = "GBP"
rank = ["cost"]
[stock]
line-8 = 2
[[frame]]
name = "A"
chassis = "moor-2"
board = "marl-16"
[[need]]
name = "tape returns"
direction = "in"
signal = "line"
channels = 8
""",
}


@pytest.fixture
def store(tmp_path: Path) -> Path:
    for name, text in FILES.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path / "store.toml"


def test_a_setting_of_a_group_that_changes_no_number_can_be_asked_about(
    store: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def asked(setting: str) -> tuple[int, str]:
        code = run(["why-not", str(store), "--setting", setting])
        told = capsys.readouterr()
        return code, told.out + told.err

    assert asked("clock=own") == (
        0,
        'Gannet Quay, tape store: frame A with "clock" set to own\n  The best build does this already.\n',
    )
    code, said = asked("clock=house")
    assert code == 0
    assert said.startswith("Possible, and ranked the same: Gannet Quay, tape store")
    code, said = asked("clock=tape")
    assert code == 2
    assert '"tape" is no setting of "clock", which can be house, own' in said


def test_blocks_lists_every_setting_that_some_other_setting_makes_legal(
    store: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["blocks", str(store.parent / "marl.toml")]) == 0
    assert [line.strip() for line in capsys.readouterr().out.splitlines() if "wide" in line] == [
        "wide open",
        "wide W1",
    ]


def test_bans_that_tie_too_many_groups_together_are_refused(store: Path) -> None:
    group = (
        '[[board.strap_group]]\nname = "{0}"\nkind = "links"\nstraps = ["{0}"]\nsetting = [{{ closed = ["{0}"] }}]\n'
    )
    groups = "".join(group.format(f"T{n}") for n in range(12))
    bans = ", ".join(f'{{ "T{n}" = "open", "T{n + 1}" = "open" }}' for n in range(11))
    text = FILES["marl.toml"].replace("[[board.strap_group]]\n", f"{groups}[[board.strap_group]]\n", 1)
    text = text.replace("never_together = [", f"never_together = [{bans}, ")
    (store.parent / "marl.toml").write_text(text, encoding="utf-8")
    with pytest.raises(FileFaults) as refused:
        load_scenario(store)
    assert [fault.message for fault in refused.value.faults if fault.severity == "fault"] == [
        "ties groups that change no number into 4096 combinations; must be at most 2000"
    ]


FORTY = [{"name": f"g{n}", "kind": "links", "straps": [f"P{n}"], "setting": [{"closed": [f"P{n}"]}]} for n in range(40)]
PAIRS = [{f"g{n}": f"P{n}", f"g{n + 1}": f"P{n + 1}"} for n in range(0, 40, 2)]


@pytest.mark.usefixtures("timed")
def test_forty_groups_asked_for_against_twenty_bans_are_counted_and_not_made() -> None:
    """Of each pair one strap has to be open, whichever: two ways for each, and twenty pairs that nothing ties."""
    with within(2):
        board = _board(FORTY, *PAIRS)
        assert count_settings(board, {f"g{n}": f"P{n}" for n in range(40)}) == 2**20


def test_counting_settings_is_making_them_and_counting() -> None:
    for bans in (PAIRS[:3], [*PAIRS[:2], {"g0": "P0"}], [{"g0": "P0"}, {"g0": "open"}], [{"wide": "W1"}, *PAIRS[:1]]):
        board = _board([WIDE, *FORTY[:8]], *bans)
        for asked in ({}, {f"g{n}": f"P{n}" for n in range(8)}, {"g0": "P0"}):
            assert count_settings(board, asked) == len(_legal(board, **asked))


@pytest.mark.usefixtures("timed")
def test_a_frame_that_asks_for_what_twenty_bans_forbid_is_refused_at_once(store: Path) -> None:
    group = (
        '[[board.strap_group]]\nname = "{0}"\nkind = "links"\nstraps = ["{0}"]\nsetting = [{{ closed = ["{0}"] }}]\n'
    )
    groups = "".join(group.format(f"T{n}") for n in range(40))
    bans = ", ".join(f'{{ "T{n}" = "T{n}", "T{n + 1}" = "T{n + 1}" }}' for n in range(0, 40, 2))
    text = FILES["marl.toml"].replace("[[board.strap_group]]\n", f"{groups}[[board.strap_group]]\n", 1)
    text = text.replace("never_together = [", f"never_together = [{bans}, ")
    (store.parent / "marl.toml").write_text(text, encoding="utf-8")
    asked = ", ".join(f'"T{n}" = "T{n}"' for n in range(40))
    room = FILES["store.toml"].replace('board = "marl-16"', f'board = "marl-16"\nstraps = {{ {asked} }}')
    store.write_text(room, encoding="utf-8")
    with within(2), pytest.raises(FileFaults) as refused:
        load_scenario(store)
    assert [fault.text() for fault in refused.value.faults if fault.severity == "fault"] == [
        'frame "A" > straps: asks for what never_together of marl-16 bans, in so many places that 2097152 combinations '
        "of settings come closest; must be at most 2000"
    ]


def test_seeded_scenarios_with_bans_have_the_same_builds() -> None:
    outcomes = set()
    moved = 0
    for seed in range(120):
        scenario, hardware = generate.random_banning(seed)
        outcomes.add(test_against_brute_force._compare(survey_room(scenario, hardware), scenario, hardware))
        best = brute_force.best(scenario, hardware)
        for board, straps, _ in best.used().values() if best else ():
            groups = {g.name: g for b in hardware.board if b.id == board for g in b.strap_group}
            moved += any(straps[g.name] != g.wanted for g in groups.values() if g.wanted)
    assert outcomes == {"found", "impossible"}
    assert moved >= 10, moved


def test_ways_out_over_settings_are_those_that_trying_every_change_finds(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(generate, "random_pair", generate.random_banning)
    monkeypatch.setattr(test_why, "SEEDS", range(30))
    test_why.test_ways_out_and_clashes_are_those_that_trying_every_change_finds()

"""`why-not` with two frames: which frame is meant, questions combined, and answers that keep what was asked for."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cli.main import run

ROOT = Path(__file__).parents[2]

HARDWARE = """
format = 1

[[card]]
id = "mic-4"
price = "100.00"
ports = [{ direction = "in", signals = ["mic"], channels = { "48" = 4 } }]

[[card]]
id = "mic-8"
price = "150.00"
span = 2
ports = [{ direction = "in", signals = ["mic"], channels = { "48" = 8 }, on_slot = 1 }]

[[board]]
id = "long"
limits = { "48" = { in = 16, out = 1 } }
inputs = { first_slot = 1, widths = 4 }
outputs = { first_slot = 1, widths = 0 }
[[board.strap_group]]
name = "width"
kind = "links"
straps = ["W1"]
[[board.strap_group.setting]]
closed = ["W1"]
inputs = { widths = 8 }

[[board]]
id = "short"
price = "90.00"
limits = { "48" = { in = 8, out = 1 } }
inputs = { first_slot = 1, widths = 4 }
outputs = { first_slot = 1, widths = 0 }
[[board.strap_group]]
name = "start"
kind = "links"
straps = ["S1"]
[[board.strap_group.setting]]
closed = ["S1"]
inputs = { first_slot = 2 }

[[chassis]]
id = "four-slots"
slot_count = 4
boards = ["long", "short"]

[[chassis]]
id = "two-slots"
slot_count = 2
boards = ["short"]
"""

SCENARIO = """
format = 1
title = "Gannet Quay, two stages"
hardware = ["stages.toml"]
currency = "GBP"
sample_rate = 48000
budget = "500.00"
rank = ["cost", "unused"]

[stock]
mic-4 = 2

[[offer]]
card = "mic-4"

[[offer]]
card = "mic-8"

[[frame]]
name = "A"
chassis = "four-slots"
board = "long"

[[frame]]
name = "B"
chassis = "two-slots"
board = "short"

[[need]]
name = "stage mics"
direction = "in"
signal = "mic"
channels = 12
"""

Ask = Callable[..., tuple[int, str]]


@pytest.fixture
def ask(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Ask:
    """Puts a question about two frames: the exit code, and all that is said."""

    def put(*question: str, edits: tuple[tuple[str, str], ...] = ()) -> tuple[int, str]:
        text = SCENARIO
        for before, after in edits:
            assert before in text
            text = text.replace(before, after, 1)
        (tmp_path / "stages.toml").write_text(HARDWARE, encoding="utf-8")
        (tmp_path / "two.toml").write_text(text, encoding="utf-8")
        code = run(["why-not", str(tmp_path / "two.toml"), *question])
        told = capsys.readouterr()
        return code, told.out + told.err

    return put


WITHOUT_ORDERS = """\
Impossible, proven: Gannet Quay, two stages: a build without orders

Ways out, the least work first; each smallest set of things to change is listed
     work      lid  change                                        least cost GBP
  1  give up   on   drop 4 of 12 mic inputs on "stage mics"; 8              0.00
     channels       left
  Of no help alone: another board, one more frame.

With that, this cannot be kept, whatever else gives way
  "stage mics" asks for 12 mic inputs
  Frames, boards and sample rate stay as they are in that; of what else is asked
  for some may have to give way too.

Counting alone shows it
  12 mic inputs are asked for, stock has 8: the least order for 4 more is 1 x
  mic-4 at 100.00 = 100.00; the budget is 0.00
"""


def test_what_concerns_no_frame_asks_for_none(ask: Ask) -> None:
    assert ask("--without-orders") == (1, WITHOUT_ORDERS)
    assert ask("--cost", "99") == (
        1,
        WITHOUT_ORDERS.replace("a build without orders", "a build for at most 99.00").replace(
            "the budget is 0.00", "the budget is 99.00"
        ),
    )
    assert ask("--cost", "100") == (
        0,
        "Gannet Quay, two stages: a build for at most 100.00\n  The best build does this already.\n",
    )


def test_what_was_asked_for_does_not_give_way(ask: Ask) -> None:
    code, said = ask(
        "--card", "mic-8", "--cost", "150", "--format", "json", edits=(("channels = 12", "channels = 20"),)
    )
    answer = json.loads(said)
    assert code == 1
    assert answer["asked"] == "a build with mic-8 for at most 150.00"
    ways = [[(change["path"], change["after"]) for change in way["changes"]] for way in answer["clash"]["ways"]]
    assert ways == [[(["need", 0, "channels"], "16")]]
    assert answer["clash"]["complete"]


def title(said: str) -> str:
    """What an answer says first, on one line."""
    return " ".join(re.split("\n\n|\n  ", said)[0].split())


def test_a_setting_that_one_frame_alone_has_needs_no_frame(ask: Ask) -> None:
    code, said = ask("--setting", "width=W1")
    assert code == 0
    assert title(said) == 'Possible, and ranked the same: Gannet Quay, two stages: frame A with "width" set to W1'
    assert json.loads(ask("--setting", "width=W1", "--format", "json")[1])["outcome"] == "equal"
    code, said = ask("--setting", "start=open")
    assert code == 0
    assert title(said) == 'Possible, and ranked the same: Gannet Quay, two stages: frame B with "start" set to open'
    used = json.loads(ask("--setting", "start=open", "--format", "json")[1])["comparison"]["other"]["frames"]
    assert "B" in [frame["name"] for frame in used if frame["cards"]]


def test_a_board_or_a_slot_that_one_frame_alone_takes_needs_no_frame(ask: Ask) -> None:
    offers = (("[[offer]]", '[[offer]]\nboard = "short"\n\n[[offer]]\nboard = "long"\nprice = "10.00"\n\n[[offer]]'),)
    free = (*offers, ('board = "long"\n\n[[frame]]', "\n[[frame]]"))
    start = "Possible, and ranked lower: Gannet Quay, two stages:"
    assert title(ask("--board", "long", edits=free)[1]) == "Gannet Quay, two stages: frame A with long"
    assert title(ask("--card", "mic-4", "--slot", "4")[1]) == f"{start} a build with mic-4 in slot 4 of frame A"
    assert title(ask("--card", "mic-8", "--slot", "2")[1]) == f"{start} a build with mic-8 in slot 2 of frame A"


def test_where_several_frames_are_meant_only_those_are_named(ask: Ask) -> None:
    assert ask("--card", "mic-4", "--slot", "1") == (
        2,
        "Usage: strapwork why-not [OPTIONS] SCENARIO\nTry 'strapwork why-not --help' for help.\n\n"
        "Error: Invalid value for --frame: more than one frame can be meant; name one of the frames A, B\n",
    )
    assert ask("--card", "mic-4", "--slot", "1", "--frame", "B")[0] == 0


def test_a_question_names_what_of_the_scenario_it_takes_the_place_of(ask: Ask) -> None:
    kept = (('board = "long"', 'board = "long"\nstraps = { width = "open" }\npins = { "1" = "mic-4" }'),)
    said = ask("--setting", "width=W1", edits=kept)[1]
    assert title(said).endswith('frame A with "width" set to W1 in place of open')
    said = ask("--card", "mic-8", "--slot", "1", "--frame", "A", edits=kept)[1]
    assert title(said).endswith("a build with mic-8 in slot 1 of frame A in place of mic-4, which is pinned there")


def test_questions_are_combined(ask: Ask) -> None:
    titles = {
        ("--card", "mic-8", "--cost", "300"): "a build with mic-8 for at most 300.00",
        ("--card", "mic-4", "--without-orders"): "a build with mic-4 without orders",
        ("--setting", "width=W1", "--cost", "120"): 'frame A with "width" set to W1 for at most 120.00',
        ("--setting", "width=W1", "--card", "mic-8"): 'a build with mic-8 and frame A with "width" set to W1',
    }
    for question, words in titles.items():
        assert title(ask(*question)[1]).endswith(f": Gannet Quay, two stages: {words}")


REFUSED = {
    ("--without-orders", "--cost", "100"): "--without-orders and --cost 100 contradict each other: give one of them",
    (
        "--cost",
        "100",
        "--frame",
        "A",
    ): "--frame goes with --setting, --slot or --board: the rest is asked of all frames together",
    ("--slot", "2"): "--slot goes with --card",
    (): "ask for something: --setting, --card, --board, --cost or --without-orders",
    ("--card", "mic-8", "--without-orders"): "Invalid value for --without-orders: mic-8 cannot be had with "
    "--without-orders: not in stock, and 150.00 at least to order",
    (
        "--card",
        "mic-8",
        "--cost",
        "149.99",
    ): "Invalid value for --cost: mic-8 cannot be had with --cost 149.99: not in stock, and 150.00 at least to order",
    ("--board", "short", "--frame", "A", "--setting", "width=W1"): "Invalid value for --setting: short has no strap "
    'group "width"',
    ("--setting", "width=W2"): 'Invalid value for --setting: "W2" is no setting of "width", which can be W1, open',
    (
        "--card",
        "mic-8",
        "--slot",
        "4",
    ): "Invalid value for --slot: mic-8 takes 2 slots and cannot begin in slot 4: frame A has slots 1-4, so in 1-3",
    (
        "--card",
        "mic-4",
        "--slot",
        "3",
        "--frame",
        "B",
    ): "Invalid value for --slot: there is no slot 3: frame B has slots 1-2",
    (
        "--board",
        "long",
        "--frame",
        "B",
    ): 'Invalid value for --board: "long" does not fit frame B: two-slots takes short',
    ("--board", "lonk"): 'Invalid value for --board: "lonk" is no board of these hardware files; did you mean "long"?',
    ("--card", "x"): 'Invalid value for --card: "x" is no card of these hardware files',
    ("--card", "mic-4", "--slot", "1", "--frame", "C"): 'Invalid value for --frame: there is no frame "C"; name one '
    "of the frames A, B",
    ("--setting", "width"): "Invalid value for --setting: must be a strap group and a setting, GROUP=NAME, found "
    '"width"',
}


@pytest.mark.parametrize("question", REFUSED, ids=" ".join)
def test_a_question_that_contradicts_itself_is_refused(ask: Ask, question: tuple[Any, ...]) -> None:
    code, said = ask(*question)
    assert code == 2
    assert said.splitlines()[-1] == f"Error: {REFUSED[question]}"


def test_what_the_scenario_alone_makes_impossible_may_be_possible_with_it(ask: Ask) -> None:
    kept = (
        ('board = "long"', 'board = "long"\nkeep_empty = [3, 4]'),
        ('board = "short"\n\n[[need]]', 'board = "short"\nstraps = { start = "S1" }\n\n[[need]]'),
        ("channels = 12", "channels = 16"),
    )
    assert ask("--setting", "start=open", edits=kept) == (
        0,
        "Possible, though the scenario itself is not: Gannet Quay, two stages: frame B\n"
        'with "start" set to open in place of S1\n'
        "  `strapwork why` says why the scenario itself has no build.\n",
    )


def test_a_board_that_the_scenario_rules_out_may_be_the_better_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Sixteen inputs on one card: eights of flint-48 leave half of them without a number, layout 2 of slate-32 none."""
    scenario = tmp_path / "wide.toml"
    scenario.write_text(
        'format = 1\ntitle = "Gannet Quay, one wide card"\n'
        f'hardware = ["{(ROOT / "scenarios" / "hardware" / "quay.toml").as_posix()}"]\n'
        'currency = "GBP"\nrank = ["unused"]\nstock = { line-in-16 = 2, slate-32 = 1 }\n'
        '[[frame]]\nname = "M"\nchassis = "tern-6"\nboard = "flint-48"\n'
        '[[need]]\nname = "returns"\ndirection = "in"\nsignal = "line"\nchannels = 16\n',
        encoding="utf-8",
    )
    monkeypatch.setenv("COLUMNS", "80")
    assert run(["why-not", str(scenario), "--board", "slate-32"]) == 0
    said = capsys.readouterr().out
    assert said.startswith(
        "Possible, and better: Gannet Quay, one wide card: frame M with slate-32\n"
        "  What the scenario says itself rules it out.\n"
    )
    assert re.search(r"^ *unused +16 +0 +-16$", said, re.MULTILINE)


BOARD_WANTED = """
format = 1
title = "Gannet Quay, two frames"
hardware = ["{hardware}"]
currency = "GBP"
sample_rate = 48000
rank = ["cost", "unused"]
stock = {{ mic-8 = 2, slate-32 = 1{stock} }}
frame = [
  {{ name = "A", chassis = "petrel-12", board = "shale-64" }},
  {{ name = "B", chassis = "wren-4", board = "slate-32" }},
]
need = [{{ name = "drums", direction = "in", signal = "mic", channels = 12 }}]
"""


def test_a_board_asked_of_a_frame_is_asked_of_builds_that_use_the_frame(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two cards of eight do in frame A, so a build could leave frame B out with whatever board it is said to have."""
    scenario = tmp_path / "two.toml"
    hardware = (ROOT / "scenarios" / "hardware" / "quay.toml").as_posix()
    question = ["why-not", str(scenario), "--board", "flint-48", "--frame", "B"]
    scenario.write_text(BOARD_WANTED.format(hardware=hardware, stock=""), encoding="utf-8")
    assert run([*question, "--format", "json"]) == 1
    clash = json.loads(capsys.readouterr().out)["clash"]
    assert "order 1 x flint-48" in " ".join(change["text"] for way in clash["ways"] for change in way["changes"])
    assert [member["text"] for member in clash["because"]] == ["no flint-48 can be had"]
    scenario.write_text(BOARD_WANTED.format(hardware=hardware, stock=", flint-48 = 1"), encoding="utf-8")
    assert run([*question, "--format", "json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["outcome"] == "equal"
    frames = {frame["name"]: frame for frame in answer["comparison"]["other"]["frames"]}
    assert frames["B"]["board"] == "flint-48"


def test_one_more_frame_is_a_way_out_only_where_the_build_uses_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What is bought with it could serve the frame that is asked about; that is the way of ordering the board."""
    scenario = tmp_path / "one.toml"
    hardware = (ROOT / "scenarios" / "hardware" / "quay.toml").as_posix()
    text = BOARD_WANTED.format(hardware=hardware, stock="")
    scenario.write_text(re.sub(r"  { name = \"A\".*\n", "", text).replace("channels = 12", "channels = 8"), "utf-8")
    assert run(["why-not", str(scenario), "--board", "flint-48", "--format", "json"]) == 1
    clash = json.loads(capsys.readouterr().out)["clash"]
    assert [[change["path"][0] for change in way["changes"]] for way in clash["ways"]] == [["offer"]]
    assert "one more frame" in clash["no_help_alone"]


@pytest.mark.parametrize(("most", "missing"), [("209.99", True), ("210.00", False)])
def test_a_card_that_others_need_and_that_the_money_does_not_buy_is_named(
    most: str, missing: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    """The chapel owns microphone cards and no clock feed, which costs 210.00: without one they serve nothing."""
    assert run(["why-not", str(ROOT / "scenarios/quay-chapel.toml"), "--cost", most, "--format", "json"]) == 1
    said = json.loads(capsys.readouterr().out)["clash"]["not_supplied"]
    price = "one costs 210.00, the budget is 209.99"
    assert (
        said
        == [
            f"aisle-14 needs a beat-feed of its own directly beside, and none is owned: {price}",
            f"nave-5 needs a beat-feed in the frame, one for each 3, and none is owned: {price}",
        ]
        * missing
    )

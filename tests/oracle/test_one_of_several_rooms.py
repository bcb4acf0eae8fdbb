"""Questions about one of several rooms: with its share of the best plan of all, and alone; each answer is headed."""

from __future__ import annotations

import json
from pathlib import Path

import generate
import pytest
from booths import NORTH, SOUTH
from inside import strapwork

from solver.files.reading import load_build, load_scenario
from solver.judge.campus import Campus, faults, figures, stand_campus, survey_campus
from solver.reports.share import RoomAnswers, left_for
from solver.room.ready import survey_room
from solver.search.ask.ranking import rank
from solver.search.campus.planning import plan_campus

HARDWARE = Path(__file__).parents[2] / "scenarios/hardware/quay.toml"

SHARED = """\
budget = "3000.00"
[stock]
mic-16 = 1
mic-8 = 2
line-out-8 = 1
[[offer]]
card = "mic-8"
at_most = 2
[[offer]]
card = "line-out-8"
"""

LEFT_FOR_NORTH = """\
budget = "2110.00"
[stock]
mic-16 = 1
mic-8 = 1
line-out-8 = 1
[[offer]]
card = "mic-8"
at_most = 2
[[offer]]
card = "line-out-8"
"""

LEFT = """\
Room "Booth north" with its share of the best plan of all rooms, and what no
room uses
  in stock  1 x line-out-8, 1 x mic-16, 1 x mic-8
  on offer  2 x mic-8; any number of line-out-8
  budget    2110.00

"""

ALONE = """\


Room "Booth north" alone, as if no other room drew on anything
  in stock  1 x line-out-8, 1 x mic-16, 2 x mic-8
  on offer  2 x mic-8; any number of line-out-8
  budget    3000.00

"""


def _write(path: Path, title: str, *parts: str) -> str:
    head = f'format = 1\ntitle = "{title}"\nhardware = ["{HARDWARE.as_posix()}"]\ncurrency = "GBP"\n'
    path.write_text("".join([head, "air = { inlet_c = 24 }\n", *parts]), encoding="utf-8")
    return str(path)


@pytest.fixture
def booths(tmp_path: Path) -> str:
    return _write(tmp_path / "booths.toml", "Gannet Quay, two booths", SHARED, NORTH, SOUTH)


@pytest.mark.parametrize(
    "command",
    [
        ("reach",),
        ("front", "--show", "1"),
        ("explain", "--against", "2"),
        ("why-not", "--card", "mic-16"),
        ("why-not", "--without-orders"),
    ],
    ids=" ".join,
)
def test_both_answers_are_those_of_scenarios_of_one_room_under_headings_of_their_own(
    booths: str, tmp_path: Path, command: tuple[str, ...]
) -> None:
    room = "Gannet Quay, two booths, room Booth north"
    left = _write(tmp_path / "left.toml", room, LEFT_FOR_NORTH, NORTH)
    alone = _write(tmp_path / "alone.toml", room, SHARED, NORTH)
    ran = strapwork(command[0], booths, "--room", "Booth north", *command[1:])
    first, second = (strapwork(command[0], path, *command[1:]) for path in (left, alone))
    assert (ran.returncode, first.returncode) == (0, 0)
    assert ran.stdout == LEFT + first.stdout + ALONE + second.stdout


def test_an_answer_that_is_the_same_is_said_once(booths: str) -> None:
    ran = strapwork("why", booths, "--room", "Booth north")
    assert ran.returncode == 0
    assert ran.stdout.startswith(LEFT + "Possible: ")
    assert ran.stdout.endswith(ALONE + "The answer is the same.\n")


def test_the_document_has_both_answers_and_what_the_room_may_draw_on(booths: str) -> None:
    ran = strapwork("reach", booths, "--room", "Booth north", "--need", "voices", "--format", "json")
    whole = RoomAnswers.model_validate_json(ran.stdout)
    assert (whole.room, whole.campus, whole.proven) == ("Booth north", "found", True)
    assert [one.given for one in whole.answers] == ["left", "all"]
    assert [one.budget for one in whole.answers] == ["2110.00", "3000.00"]
    assert [one.stock["mic-8"] for one in whole.answers] == [1, 2]
    told = json.loads(ran.stdout)["answers"]
    assert [one["answer"]["needs"][0]["within_budget"]["channels"] for one in told] == [16, 24]


@pytest.mark.parametrize("command", [("reach",), ("front",), ("explain",), ("why-not", "--without-orders")])
def test_several_rooms_and_none_named_says_which_there_are(booths: str, command: tuple[str, ...]) -> None:
    ran = strapwork(command[0], booths, *command[1:])
    assert ran.returncode == 2
    assert f'Error: {booths} has several rooms: "Booth north", "Booth south"; name one with --room\n' in ran.stderr


def test_a_room_that_there_is_not_gets_the_nearest(booths: str) -> None:
    ran = strapwork("reach", booths, "--room", "booth norht")
    assert ran.returncode == 2
    assert f'"booth norht" is no room of {booths}; did you mean "Booth north"?' in ran.stderr
    ran = strapwork("reach", booths, "--room", "x")
    assert f'"x" is no room of {booths}; there are "Booth north", "Booth south"' in ran.stderr
    ran = strapwork("reach", "scenarios/quay-mix-rig.toml", "--room", "x")
    assert (ran.returncode, "names no rooms; leave --room out" in ran.stderr) == (2, True)


def test_the_only_room_may_be_named(tmp_path: Path) -> None:
    path = _write(tmp_path / "north.toml", "Gannet Quay, a booth", SHARED, NORTH)
    named = strapwork("reach", path, "--room", "Booth north")
    assert named.returncode == 0
    assert named.stdout == strapwork("reach", path).stdout


def test_what_front_saves_is_a_build_of_all_rooms_and_clean(booths: str, tmp_path: Path) -> None:
    saved = tmp_path / "built.toml"
    ran = strapwork("front", booths, "--room", "Booth north", "--show", "3", "--save", str(saved))
    assert ran.returncode == 0
    assert [frame.room for frame in load_build(saved).frame] == ["Booth north", "Booth south"]
    assert strapwork("check", booths, str(saved)).returncode == 0


def test_a_build_file_says_what_its_other_rooms_leave(booths: str, tmp_path: Path) -> None:
    saved = tmp_path / "built.toml"
    assert strapwork("plan", booths, "--save", str(saved)).returncode == 0
    ran = strapwork("explain", booths, "--room", "Booth north", "--build", str(saved))
    assert ran.returncode == 0
    head = 'Room "Booth north" with what the other rooms of the build file leave\n'
    assert ran.stdout.startswith(head + LEFT.partition("room uses\n")[2] + "The build of the file, clean: ")


def test_rooms_that_cannot_all_be_built_leave_nothing_and_ways_of_one_room_are_made_in_the_whole_file(
    tmp_path: Path,
) -> None:
    hall = SOUTH.replace("Booth south", "Hall").replace("channels = 8", "channels = 40")
    path = _write(tmp_path / "rooms.toml", "Gannet Quay, too much", SHARED, NORTH, hall)
    better = tmp_path / "better.toml"
    ran = strapwork("why", path, "--room", "Hall", "--apply", "1", "--to", str(better))
    assert ran.returncode == 0
    assert ran.stderr == f"way out 1 is made in {better}\n"
    assert ran.stdout.replace("\n", " ").startswith(
        "The rooms cannot all be built, proven, so that no plan of all of them leaves anything. For the reason:  "
    )
    assert 'Room "Hall" alone, as if no other room drew on anything\n' in ran.stdout
    rooms = load_scenario(better).scenario.room
    assert [need.channels for need in rooms[0].need] == [14, 6]
    assert rooms[1].need[0].channels < 40
    told = json.loads(strapwork("why", path, "--room", "Hall", "--format", "json").stdout)
    assert told["campus"] == "impossible"
    assert told["answers"][0]["answer"]["clash"]["because"][0]["path"] == ["room", 1, "need", 0, "channels"]
    assert strapwork("why", path, "--room", "Hall").returncode == 1
    assert strapwork("why", path, "--room", "Booth north").returncode == 1, "the rooms together cannot be built"


def _planned(seed: int) -> Campus | None:
    campus = survey_campus(*generate.random_campus(seed))
    return campus if plan_campus(campus).best is not None else None


def test_what_is_left_for_a_room_and_what_the_others_take_is_all_that_there_is() -> None:
    """Any build of a room within what is left for it stands beside the others; the best costs what its share costs."""
    compared = cheaper = 0
    for seed in range(700, 790):
        scenario, hardware = generate.random_campus(seed)
        campus = survey_campus(scenario.model_copy(update={"rank": ("cost", "unused"), "slack": {}}), hardware)
        best = plan_campus(campus).best
        if best is None:
            continue
        for place, room in enumerate(campus.rooms):
            left = survey_room(left_for(campus, best.standing, place), hardware)
            assert left.room == room.room
            for found in rank(left, 3).builds:
                others = [frame for frame in best.build.frame if frame.room != room.room]
                whole = best.build.model_copy(update={"frame": (*others, *found.build.frame)})
                standing = stand_campus(campus, whole)
                assert faults(campus, standing) == [], seed
                got = figures(campus, standing)
                assert (got.cost, got.unused) >= (best.figures.cost, best.figures.unused), seed
                compared += 1
                cheaper += best.figures.cost > found.figures.cost
    assert compared >= 100
    assert cheaper >= 20, "rooms hardly ever share a bill"

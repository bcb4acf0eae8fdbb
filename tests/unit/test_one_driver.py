"""One driver and one receiver on each pair of wires, through bays and normals: both ends are named (practice)."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import solver
from solver.room.build import Build
from solver.room.hardware import Hardware
from solver.room.scenario import Scenario

NEEDS = [("players", "in", "aes3", 4), ("feeds", "out", "aes3", 2), ("tapes", "in", "line", 2)]
ENDS = [
    {"equipment": "deck", "need": "players", "channels": "1-2", "sockets": "1-2"},
    {"equipment": "disc", "need": "players", "channels": "3-4", "sockets": "1-2"},
    {"equipment": "meter", "need": "feeds", "sockets": "1-2"},
]
BAY = {"name": "P1", "signals": ["aes3"], "points": 12, "gauge": "bantam", "normal": "full"}


def _port(direction: str, signal: str, grain: int = 2) -> dict[str, Any]:
    return {"direction": direction, "signals": [signal], "channels": {"48": 4}, "grain": grain}


HARDWARE = Hardware.model_validate(
    {
        "format": 1,
        "card": [
            {"id": "dig-4", "ports": [_port("in", "aes3"), _port("out", "aes3")]},
            {"id": "line-4", "ports": [_port("in", "line")]},
        ],
        "board": [
            {
                "id": "reef",
                "limits": {"48": {"in": 32, "out": 32}},
                "inputs": {"first_slot": 1, "widths": 4},
                "outputs": {"first_slot": 1, "widths": 4},
            }
        ],
        "chassis": [{"id": "crate", "slot_count": 2, "boards": ["reef"]}],
    }
)
BUILT: dict[str, Any] = {
    "format": 1,
    "frame": [{"name": "A", "board": "reef", "straps": {}, "cards": {"1": "dig-4", "2": "line-4"}}],
}


def _scenario(ends: list[dict[str, Any]], **more: Any) -> Scenario:
    needs = [{"name": n, "direction": way, "signal": sig, "channels": count} for n, way, sig, count in NEEDS]
    return Scenario.model_validate(
        {
            "format": 1,
            "title": "decks",
            "hardware": ["reef.toml"],
            "currency": "GBP",
            "sample_rate": 48000,
            "stock": {"dig-4": 1, "line-4": 1},
            "frame": [{"name": "A", "chassis": "crate", "board": "reef"}],
            "need": needs,
            "far_end": ends,
            **more,
        }
    )


def _told(scenario: Scenario, built: dict[str, Any] = BUILT) -> list[str]:
    report = solver.check(scenario, Build.model_validate(built), hardware=HARDWARE)
    return [fault.text for fault in report.faults if fault.rule == "one-driver"]


def _split(need: str, channels: str, equipment: str) -> list[dict[str, Any]]:
    """The far ends with a channel of a need at something else, and the other one on one socket."""
    kept = [end for end in ENDS if (end["need"], end.get("channels", "1-2")) != (need, channels)]
    first, last = channels.split("-")
    one, two = ({"equipment": e, "need": need, "channels": c} for e, c in (("deck", first), (equipment, last)))
    return [*kept, one, two]


def test_each_line_with_one_thing_at_its_far_end_has_no_fault() -> None:
    assert _told(_scenario(ENDS)) == []
    assert _told(_scenario([])) == []


def test_two_players_on_one_digital_line_are_two_drivers() -> None:
    told = 'A in 1-2, one line of dig-4 in A slot 1, is driven by "deck" for "players 1" and "cd" for "players 2"'
    assert _told(_scenario(_split("players", "1-2", "cd"))) == [f"{told}: two drivers on one receiver"]


def test_the_points_between_and_their_normal_are_told() -> None:
    ends = _split("players", "3-4", "cd")
    (told,) = _told(_scenario(ends, bay=[BAY]))
    assert told.endswith(", through P1 A2 and B2 (full-normalled): two drivers on one receiver")
    (told,) = _told(_scenario(ends, bay=[{**BAY, "normal": "open"}]))
    assert ", through P1 A2 and B2 (open): " in told


def test_one_output_line_to_two_things_is_one_driver_on_two_receivers() -> None:
    told = 'A out 1-2, one line of dig-4 in A slot 1, drives "deck" for "feeds 1" and "clip" for "feeds 2"'
    assert _told(_scenario(_split("feeds", "1-2", "clip"))) == [f"{told}: one driver on two receivers"]


@pytest.mark.parametrize("equipment", ["desk", "deck"])
def test_a_channel_that_two_needs_claim_has_the_far_ends_of_both(equipment: str) -> None:
    ends = [*ENDS[:1], {"equipment": equipment, "need": "more", "channels": "1-2", "sockets": "5-6"}]
    needs = [*_scenario([]).need, {"name": "more", "direction": "in", "signal": "aes3", "channels": 2}]
    serves = [{"need": need, "slot": 1, "channels": "1-2"} for need in ("players", "more")]
    built = {**BUILT, "frame": [{**BUILT["frame"][0], "serves": serves}]}
    (told,) = _told(_scenario(ends, need=needs), built)
    assert '"deck 1" for "players 1"' in told
    assert f'"{equipment} 6" for "more 2"' in told


def test_channels_of_an_analogue_pair_have_wires_of_their_own() -> None:
    ends = [{"equipment": f"tape {n}", "need": "tapes", "channels": str(n)} for n in (1, 2)]
    assert _told(_scenario(ends)) == []


def test_plans_say_what_every_check_will_say_and_packs_are_refused(tmp_path: Path) -> None:
    scenario = _scenario(_split("players", "1-2", "cd"))
    (note,) = [note for note in solver.plan(scenario, hardware=HARDWARE).notes if "two drivers" in note]
    assert note.startswith("no plan keeps to this, and every check will say so: A in 1-2, one line of dig-4")
    packed = solver.pack(scenario, Build.model_validate(BUILT), hardware=HARDWARE)
    assert packed.outcome == "faulty"
    assert "one-driver" in {fault.rule for fault in packed.faults}


@pytest.mark.parametrize("key", ["setup", "phase"])
def test_a_socket_is_taken_by_needs_of_several_days_but_once_a_day(tmp_path: Path, key: str) -> None:
    days = [{"name": "early", "needs": ["players", "feeds"]}, {"name": "late", "needs": ["tapes"]}]
    ends = [ENDS[0], {"equipment": "deck", "need": "tapes", "sockets": "1-2"}, ENDS[1]]
    frames = [{**frame, key: day["name"]} for day in days for frame in BUILT["frame"]]
    built = {**BUILT, "frame": frames}
    assert _told(_scenario(ends, **{key: days}, bay=[BAY]), built) == []
    split = [*_split("players", "1-2", "cd"), {"equipment": "deck", "need": "tapes", "sockets": "1-2"}]
    (told,) = _told(_scenario(split, **{key: days}, bay=[BAY]), built)
    assert told.startswith("early: A in 1-2, one line of dig-4")

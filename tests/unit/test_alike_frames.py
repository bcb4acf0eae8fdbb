"""Frames are alike where nothing but their names tells them apart; whatever else a scenario says of one does."""

from __future__ import annotations

from dataclasses import fields, replace
from decimal import Decimal
from typing import Any

import pytest

from solver.room.hardware import Hardware
from solver.room.out_of_service import Dead
from solver.room.racks import Rack
from solver.room.ready import survey_room
from solver.room.scenario import Frame, MeasuredRise, Scenario, Vents
from solver.room.survey import FOLLOWS, FrameSite, Survey

HARDWARE = Hardware.model_validate(
    {
        "format": 1,
        "board": [
            {"id": b, "limits": {"48": {"in": 32, "out": 32}}, "inputs": {"widths": 8}, "outputs": {"widths": 8}}
            | {
                "strap_group": [
                    {"name": "width", "kind": "switch", "setting": [{"position": "2", "inputs": {"widths": 4}}]}
                ]
            }
            for b in ("shale", "slate")
        ],
        "chassis": [{"id": c, "slot_count": 4, "boards": ["shale", "slate"]} for c in ("petrel", "tern")],
        "card": [
            {"id": "line-in", "ports": [{"direction": "in", "signals": ["line"], "channels": {"48": 8}}]},
        ],
    }
)

OTHERWISE: dict[str, Any] = {
    "must_use": True,
    "chassis": "tern",
    "owned": False,
    "board": "slate",
    "straps": {"width": "2"},
    "pins": {"1": "line-in"},
    "keep_empty": (4,),
    "blanks": False,
    "inlet_rise_k": Decimal(3),
    "vents": Vents(above_cm2=Decimal(60)),
    "measured": MeasuredRise(rise_k=Decimal(9), gap_w=Decimal(4)),
}
"""Another value for each thing that a scenario says of a frame."""


def _room(*frames: Frame) -> Survey:
    scenario = Scenario.model_validate(
        {
            "format": 1,
            "title": "Gannet Quay",
            "hardware": ["quay.toml"],
            "currency": "GBP",
            "sample_rate": 48000,
            "frame": frames,
            "need": [{"name": "returns", "direction": "in", "signal": "line", "channels": 8}],
            "offer": [{"card": "line-in"}],
        }
    )
    return survey_room(scenario, HARDWARE)


def _frame(name: str, **said: Any) -> Frame:
    return Frame.model_validate({"name": name, "chassis": "petrel", "board": "shale", **said})


def test_frames_that_differ_in_name_alone_are_alike() -> None:
    assert _room(_frame("A"), _frame("B")).groups_of_alike_frames() == [[0, 1]]


@pytest.mark.parametrize("field", [name for name in Frame.model_fields if name != "name"])
def test_whatever_else_is_said_of_a_frame_tells_it_apart(field: str) -> None:
    room = _room(_frame("A"), _frame("B").model_copy(update={field: OTHERWISE[field]}))
    assert room.groups_of_alike_frames() == [[0], [1]]


def test_the_order_of_kept_empty_slots_and_the_digits_of_a_figure_tell_nothing_apart() -> None:
    first = _frame("A", keep_empty=[3, 4], inlet_rise_k=Decimal("2"))
    second = _frame("B", keep_empty=[4, 3], inlet_rise_k=Decimal("2.0"))
    assert _room(first, second).groups_of_alike_frames() == [[0, 1]]


def test_what_is_worked_out_for_a_frame_tells_it_apart_unless_it_follows_from_the_rest() -> None:
    one, other = _room(_frame("A"), _frame("B")).frames
    told = {f.name for f in fields(FrameSite) if f.compare and f.name not in FOLLOWS}
    assert told == {"spec", "air", "tied", "asked", "stood", "fixed", "reach", "dead", "worn"}
    assert replace(one, tied=(0, 1)).alike != replace(other, tied=(0, 2)).alike
    assert replace(one, asked=("kick",)).alike != other.alike
    assert replace(one, dead=(Dead(0, "in"),)).alike != other.alike
    assert replace(one, worn=((1, "line-in"),)).alike != other.alike
    assert replace(one, reach={"shale": {}}).alike != other.alike
    assert replace(one, fixed=frozenset({None})).alike != other.alike
    assert replace(one, fixed=frozenset({3})).alike != replace(other, fixed=frozenset({4})).alike


def test_the_air_of_racks_tells_frames_apart() -> None:
    fan = {"path": "fan", "flow_m3_h": 30}
    chassis = {"id": "petrel", "slot_count": 4, "boards": ["shale"], "air": fan}
    hardware = HARDWARE.model_copy(
        update={"chassis": Hardware.model_validate({"format": 1, "chassis": [chassis]}).chassis}
    )
    for warmer, groups in ((25, [[0, 1]]), (31, [[0], [1]])):
        racks = [{"name": f, "units": 9, "frames": [f], "inlet_c": c} for f, c in (("A", 25), ("B", warmer))]
        scenario = _room(_frame("A"), _frame("B")).scenario.model_copy(
            update={"rack": tuple(map(Rack.model_validate, racks))}
        )
        assert survey_room(scenario, hardware).groups_of_alike_frames() == groups


def test_what_follows_is_equal_where_frames_are_alike() -> None:
    one, other = _room(_frame("A"), _frame("B")).frames
    for name in FOLLOWS - {"index", "name"}:
        assert getattr(one, name) == getattr(other, name), name

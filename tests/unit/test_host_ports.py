"""Host ports: what they carry, what numbers are at the host, what is wrong in files, and the rule broken alone."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest
from samples import SCENARIO as SCENARIO_TEXT
from samples import change, write
from test_audit import BUILD, HARDWARE, SCENARIO, _exact

from solver.files.reading import load_scenario
from solver.fitted.standing import stand
from solver.judge import audit
from solver.room.build import Build
from solver.room.faults import FileFaults
from solver.room.hardware import Board, Hardware
from solver.room.links import HostPort, first_numbers, host_channels
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.rules.host_link import HostLink


def _broken(ports: list[dict[str, Any]], of_board: list[dict[str, Any]] | None = None) -> list[str]:
    """Faults of the clean build, whose inputs end at 14 and outputs at 32, by rule; and the fault of host ports."""
    hardware = copy.deepcopy(HARDWARE)
    hardware["board"][0]["host_port"] = of_board or []
    survey = survey_room(
        Scenario.model_validate(_exact({**SCENARIO, "host_port": ports})), Hardware.model_validate(_exact(hardware))
    )
    standing = stand(survey, Build.model_validate(BUILD))
    found = audit.faults(survey, standing)
    told = [
        finding.text
        for reading in found
        if reading.limit.rule == "host-link"
        for finding in HostLink().places(survey, standing.frames[0], reading.limit)
    ]
    return [*sorted({reading.limit.rule for reading in found}), *told]


def _trunk(come_in: int, out: int, **more: Any) -> dict[str, Any]:
    return {"name": "P", "kind": "trunk", "frame": "A", "channels": {"48": {"in": come_in, "out": out}}, **more}


def test_a_number_past_the_ports_does_not_come_to_the_host() -> None:
    assert _broken([_trunk(14, 32)]) == []
    place = "frame A, slot 2: input channel 6 carries"
    assert _broken([_trunk(13, 32)]) == [
        "host-link",
        "needs",
        f'{place} "returns", past the host ports, which end at in 13',
    ]
    assert _broken([_trunk(14, 0)])[-1] == (
        'frame A, slot 4: output channels 1-8 carry "sends", past the host ports, which carry no outputs'
    )


def test_both_ends_and_all_cables_count() -> None:
    both = [{"name": "1", "kind": "trunk", "channels": {"48": {"in": 14, "out": 31}}}]
    assert _broken([_trunk(14, 32)], both)[0] == "host-link"
    assert _broken([_trunk(14, 32)], [{**both[0], "channels": {}}]) == []
    assert _broken([_trunk(14, 32)], [{**both[0], "kind": "madi", "channels": {}}])[0] == "host-link"
    one, two = _trunk(8, 16), {**_trunk(6, 16), "name": "Q"}
    assert _broken([one, two]) == []
    assert _broken([one, two], [{"name": "1", "kind": "trunk"}])[0] == "host-link"
    uncabled = {key: value for key, value in two.items() if key != "frame"}
    assert _broken([one, uncabled])[0] == "host-link"


@pytest.mark.parametrize(
    ("more", "counts"),
    [
        ({"kind": "madi"}, (64, 32, 0)),
        ({"kind": "madi", "varispeed": True}, (56, 28, 0)),
        ({"kind": "madi", "framing": "split"}, (64, 32, 0)),
        ({"kind": "aes3"}, (2, 2, 0)),
        ({"kind": "aes3", "framing": "split"}, (2, 1, 0)),
        ({"kind": "aes67", "streams": 4}, (32, 20, 8)),
        ({"kind": "aes67", "streams": 4, "stream_channels": 10}, (40, 20, 8)),
        ({"kind": "aes67", "streams": 4, "packet_us": 125, "stream_channels": 64}, (256, 160, 80)),
        ({"kind": "madi", "channels": {"48": {"in": 40, "out": 80}}}, (40, 0, 0)),
    ],
)
def test_channels_of_kinds_by_their_standards(more: dict[str, Any], counts: tuple[int, int, int]) -> None:
    """AES10, AES3 and AES67 (packets of 1 ms: 10 channels at most, 5 at 96 kHz, 2 at 192)."""
    port = HostPort.model_validate({"name": "P", **more})
    assert tuple(port.carries(family, "in") for family in ("48", "96", "192")) == counts


BOARD = Board.model_validate(HARDWARE["board"][0] | {"rails": None})


def test_number_37_is_channel_5_of_the_second_port() -> None:
    ports = [HostPort.model_validate(_trunk(32, 8)), HostPort.model_validate({**_trunk(32, 8), "name": "Q"})]
    each = host_channels(ports, "A", BOARD, "48", "in")
    assert (each[36].port, each[36].channel, each[36].number, len(each)) == ("Q", 5, 37, 64)
    ports[1] = ports[1].model_copy(update={"first": 101})
    assert host_channels(ports, "A", BOARD, "48", "in")[36].number == 105


def test_frames_of_one_host_follow_each_other_unless_told() -> None:
    ports = [
        HostPort.model_validate({"name": name, "kind": "madi", "frame": frame, "first": first})
        for name, frame, first in (("1", "B", None), ("2", "A", None), ("3", "B", 201), ("4", "A", None))
    ]
    assert [first for _, first in first_numbers(ports, "48", "out")] == [1, 65, 201, 265]
    assert [host_channels(ports, "A", BOARD, "96", "in")[n].number for n in (0, 31, 32)] == [33, 64, 233]


PORTS = """
[[host_port]]
name = "MADI 1"
kind = "madi"
frame = "A"
[[host_port]]
name = "Net"
kind = "aes67"
streams = 2
"""

FAULTS = {
    "one name": ('"Net"', '"MADI 1"', '"MADI 1" is already the name of another host_port'),
    "no such frame": ('frame = "A"', 'frame = "B"', '"B" is no frame of this room'),
    "no streams": ("streams = 2\n", "", "is missing: how many streams the port has each way"),
    "no stream": ("streams = 2", "streams = 0", "must be at least 1, found 0"),
    "no such packet": ("streams = 2", "streams = 2\npacket_us = 500", "must be 125, 250, 333, 1000 or 4000"),
    "too many channels": ("streams = 2", "streams = 2\nstream_channels = 11", "room for 10 channels"),
    "many channels": ("streams = 2", "streams = 2\nstream_channels = 9", "more than 8 channels of one stream"),
    "varispeed of a network": ("streams = 2", "streams = 2\nvarispeed = true", 'only ports of kind "madi" have it'),
    "streams of a line": ('kind = "madi"', 'kind = "madi"\nstreams = 2', 'only ports of kind "aes67" have it'),
    "a kind of no standard": ('"madi"', '"trunk"', 'no standard says how many channels "trunk" has'),
    "one number twice": ("streams = 2", "streams = 2\nfirst = 64", 'in 64 of the host is on "MADI 1" already'),
    "more than there are": ('"madi"', '"madi"\nchannels = { "48" = { in = 65, out = 1 } }', "such a port has 64"),
    "nothing": ('"madi"', '"madi"\nchannels = { "96" = { in = 6, out = 1 } }', "carries nothing at this rate"),
    "no such key": ("streams = 2", "streams = 2\nport = 1", "port"),
}


def _all_told(path: Path) -> str:
    try:
        return " ".join(fault.text() for fault in load_scenario(path).warnings)
    except FileFaults as faults:
        return " ".join(fault.text() for fault in faults.faults)


@pytest.mark.parametrize(("old", "new", "told"), FAULTS.values(), ids=FAULTS)
def test_a_fault_of_a_host_port_is_told(tmp_path: Path, old: str, new: str, told: str) -> None:
    assert _all_told(write(tmp_path, SCENARIO_TEXT + PORTS)) == ""
    assert told in _all_told(write(tmp_path, SCENARIO_TEXT + change(PORTS, old, new)))

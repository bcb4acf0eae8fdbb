"""What is wrong with settings of cards and with needs that ask for them; and the broadcast room that shows them.

EBU R68 aligns digital full scale with +18 dBu, SMPTE RP 155 with +24 dBu; P48 of IEC 61938 lets a channel draw at most
10 mA (all from memory).
"""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from samples import HARDWARE, SCENARIO, change, write

import solver
from solver.files.buildfile import write_build
from solver.files.reading import load_build, load_scenario
from solver.fitted.standing import stand
from solver.room.faults import FileFaults
from solver.room.ready import survey_room
from solver.search.ask.ranking import rank

ROOT = Path(__file__).parents[2]
PORT = 'ports = [ { direction = "in", signals = ["line"], channels = { "48" = 8, "96" = 8 } } ]\n'
LEVEL = 'name = "level", direction = "in", choices = ["+18 dBu", "+24 dBu"]'
FED = 'signals = ["mic", "line"], channels = { "48" = 4 }, phantom_ma_per_channel = 10'


def _faults(folder: Path, setting: str = "", need: str = "", hardware: str = HARDWARE) -> list[str]:
    if setting:
        hardware = change(hardware, PORT, f"{PORT}setting = [{{ {setting} }}]\n")
    scenario = change(SCENARIO, "channels = 8\n", f"channels = 8\n{need}\n")
    try:
        load_scenario(write(folder, scenario, hardware))
    except FileFaults as error:
        return [fault.text() for fault in error.faults if fault.severity == "fault"]
    return []


@pytest.mark.parametrize(
    ("setting", "told"),
    [
        (f'{LEVEL}, per = "bank"', "bank: is missing"),
        (f'{LEVEL}, per = "card", bank = 8', 'bank: is only for per = "bank"'),
        ('name = "level", direction = "in", per = "card"', "choices: is missing"),
        (
            'name = "level", direction = "in", per = "card", choices = ["a", "a"]',
            'setting "level" > choices: "a" is named twice',
        ),
        (f'{LEVEL}, per = "card", default = "+20 dBu"', 'default: "+20 dBu" is none of its choices'),
        (f'{LEVEL}, per = "card" }}, {{ {LEVEL}, per = "card"', "name: is told twice for inputs"),
        ('name = "level", direction = "out", per = "card", choices = ["a"]', "direction: line-in-8 has no outputs"),
        ('name = "phantom", direction = "in", per = "card"', "name: no port feeds it"),
    ],
)
def test_what_cannot_be_a_setting_is_told_with_its_place(tmp_path: Path, setting: str, told: str) -> None:
    (fault,) = _faults(tmp_path, setting)
    assert f"> {told}" in fault


def test_a_bank_parts_no_line(tmp_path: Path) -> None:
    pairs = PORT.replace("} } ]", "}, grain = 2 } ]")
    hardware = change(HARDWARE, PORT, f'{pairs}setting = [{{ {LEVEL}, per = "bank", bank = 3 }}]\n')
    (fault,) = _faults(tmp_path, hardware=hardware)
    assert fault.endswith("bank: parts a line of 2 channels in the 48 kHz family")
    assert not _faults(tmp_path, hardware=hardware.replace("bank = 3", "bank = 4"))


@pytest.mark.parametrize(
    ("need", "told"),
    [
        ('settings = { levle = "+18 dBu" }', '"levle" can be set on inputs of no card'),
        ('settings = { level = "+19 dBu" }', '"+19 dBu" is no choice of "level" on any card'),
        ('settings = { phantom = "on" }', 'is asked for with phantom = "wanted" or "forbidden"'),
        ('phantom = "wanted"', 'no port that takes "line" feeds phantom power'),
        ('phantom = "yes"', "phantom"),
    ],
)
def test_what_no_card_can_be_set_to_is_a_fault_of_the_need(tmp_path: Path, need: str, told: str) -> None:
    (fault,) = _faults(tmp_path, f'{LEVEL}, per = "card"', need)
    assert told in fault


def test_a_setting_that_only_cards_of_other_signals_have_is_a_fault(tmp_path: Path) -> None:
    hardware = HARDWARE.replace('signals = ["mic", "line"]', 'signals = ["mic"]')
    hardware = change(hardware, 'id = "mic-4"\n', f'id = "mic-4"\nsetting = [{{ {LEVEL}, per = "card" }}]\n')
    (fault,) = _faults(tmp_path, need='settings = { level = "+18 dBu" }', hardware=hardware)
    assert 'no card that takes "line" can be set to level +18 dBu' in fault


def test_phantom_of_outputs_is_a_fault(tmp_path: Path) -> None:
    hardware = change(HARDWARE, 'signals = ["mic", "line"], channels = { "48" = 4 }', FED)
    need = '[[need]]\nname = "o"\ndirection = "out"\nsignal = "aes3"\nchannels = 2\nphantom = "wanted"'
    (fault,) = _faults(tmp_path, need=need, hardware=hardware)
    assert "only inputs feed phantom power" in fault


# The broadcast room

BROADCAST = ROOT / "scenarios/quay-broadcast.toml"


def test_radio_and_film_have_their_levels_and_only_speakers_have_phantom_power(tmp_path: Path) -> None:
    loaded = load_scenario(BROADCAST)
    survey = survey_room(loaded.scenario, loaded.hardware)
    path = tmp_path / "build.toml"
    write_build(rank(survey, 1).builds[0].build, path)
    (frame,) = stand(survey, load_build(path)).frames
    found: dict[str, set[tuple[str | None, str | None]]] = {}
    for use in frame.uses:
        at = frame.choice(use, "full_scale_level"), frame.choice(use, "phantom")
        found.setdefault(use.need.name, set()).add(at)
    assert {level for level, _ in found["radio lines"] | found["to transmission"]} == {"+18 dBu"}
    assert {level for level, _ in found["film lines"] | found["to film"]} == {"+24 dBu"}
    assert {phantom for _, phantom in found["speakers"]} == {"on"}
    assert {phantom for name, own in found.items() if name != "speakers" for _, phantom in own} <= {"off", None}


def test_the_rail_is_judged_at_full_count_and_what_is_asked_for_stands_beside() -> None:
    """Eight channels of P48 at 10 mA are 0.08 A; three of them are to be fed."""
    frame = solver.plan(str(BROADCAST), top=1).builds[0].frames[0]
    (load,) = [load for load in frame.loads if load.phantom is not None]
    assert (Decimal(load.used), Decimal(load.phantom or 0)) == (8 * Decimal("0.01"), 3 * Decimal("0.01"))

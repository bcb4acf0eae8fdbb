"""Phantom power: a card's figure for its rail of 48 V against what its microphone channels may draw.

IEC 61938 (from memory): P48 feeds each channel through two resistors of 6.81 kohm with at most 10 mA in use.
"""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from samples import HARDWARE, change, write

from solver.files.reading import load_hardware, load_scenario
from solver.room.faults import FileFaults
from solver.room.ready import survey_room

ROOT = Path(__file__).parents[2]
P48_MA = Decimal(10)

MIC = """\
id = "mic-4"
rails = { RAILS }
ports = [ { direction = "in", signals = ["mic", "line"], channels = { "48" = 4 }, phantom_ma_per_channel = 10 } ]
"""


def _warnings(folder: Path, mic: str) -> list[str]:
    return [text for text in _told(folder, mic) if "rails" in text]


def _told(folder: Path, mic: str) -> list[str]:
    start = HARDWARE.index('id = "mic-4"')
    end = HARDWARE.index("[[card]]", start)
    hardware = change(
        HARDWARE[:start] + mic + HARDWARE[end:], 'boards = ["shale-64"]', 'boards = ["shale-64"]\nrails = {}'
    )
    loaded = load_scenario(write(folder, hardware=hardware))
    return [fault.text() for fault in loaded.warnings if "phantom" in fault.text()]


@pytest.mark.parametrize(
    ("rails", "told"),
    [
        (
            '"+48" = 0.039',
            "+48: 0.039 A is below the 0.04 A of phantom power for 4 channels at 10 mA; the greater is counted",
        ),
        ('"+48" = 0.04', None),
        ('"+48" = 0.05', None),
        (
            '"48 V" = 0.03',
            '"48 V": 0.03 A is below the 0.04 A of phantom power for 4 channels at 10 mA; the greater is counted',
        ),
        ('"-48" = 0.08', "+48: 0 A is below the 0.04 A of phantom power for 4 channels at 10 mA"),
        ('"+5" = 0.2', "+48: 0 A is below the 0.04 A of phantom power for 4 channels at 10 mA"),
    ],
)
def test_a_rail_figure_under_the_phantom_of_all_channels_is_warned_of(
    tmp_path: Path, rails: str, told: str | None
) -> None:
    mic = MIC.replace("RAILS", rails)
    assert _warnings(tmp_path, mic) == ([] if told is None else [f'card "mic-4" > rails > {told}'])


def test_the_rate_with_the_most_channels_counts_and_ports_add_up(tmp_path: Path) -> None:
    mic = (
        'id = "mic-4"\nrails = { "+48" = 0.06 }\nports = [\n'
        '{ direction = "in", signals = ["mic"], channels = { "48" = 4, "96" = 2 }, phantom_ma_per_channel = 10 },\n'
        '{ direction = "in", signals = ["mic"], channels = { "48" = 6, "96" = 2 }, phantom_ma_per_channel = 4.5 },\n'
        '{ direction = "in", signals = ["line"], channels = { "48" = 8 } } ]\n'
    )
    assert _warnings(tmp_path, mic) == [
        'card "mic-4" > rails > +48: 0.06 A is below the 0.067 A of phantom power for 4 channels at 10 mA and '
        "6 channels at 4.5 mA; the greater is counted"
    ]


@pytest.mark.parametrize(("figure", "counted"), [("0.01", 40), ("0.04", 40), ("0.05", 50)])
def test_the_rail_is_judged_with_phantom_power_on_all_channels(tmp_path: Path, figure: str, counted: int) -> None:
    """Four channels of P48 at 10 mA are 40 mA, whatever needs ask for and the card's figure says."""
    start = HARDWARE.index('id = "mic-4"')
    mic = MIC.replace("RAILS", f'"+48" = {figure}, "+5" = 0.2')
    hardware = HARDWARE[:start] + mic + HARDWARE[HARDWARE.index("[[card]]", start) :]
    loaded = load_scenario(
        write(
            tmp_path, hardware=change(hardware, 'boards = ["shale-64"]', 'boards = ["shale-64"]\nrails = {"+48" = 1}')
        )
    )
    kind = survey_room(loaded.scenario, loaded.hardware).kinds["mic-4"]
    assert kind.rails_ma == {"+48": counted, "+5": 200}


def test_without_rail_figures_or_without_phantom_there_is_nothing_to_warn_of(tmp_path: Path) -> None:
    no_rails = "\n".join(line for line in MIC.splitlines() if "rails" not in line) + "\n"
    assert _warnings(tmp_path, no_rails) == []
    no_phantom = MIC.replace("RAILS", '"+5" = 0.2').replace(", phantom_ma_per_channel = 10", "")
    assert _warnings(tmp_path, no_phantom) == []
    assert _warnings(tmp_path, MIC.replace("RAILS", '"+5" = 0.2').replace("_channel = 10", "_channel = 0")) == []


def test_more_than_p48_lets_a_channel_draw_is_warned_of(tmp_path: Path) -> None:
    """IEC 61938 (from memory): at most 10 mA a channel."""
    ample = MIC.replace("RAILS", '"+48" = 1')
    assert _told(tmp_path, ample.replace("_channel = 10", "_channel = 10.1")) == [
        'card "mic-4" > ports 1 > phantom_ma_per_channel: 10.1 mA is above the 10 mA that P48 of IEC 61938 lets one '
        "channel draw"
    ]
    assert _told(tmp_path, ample) == []


@pytest.mark.parametrize("fed", ["0", "10"])
def test_outputs_that_feed_phantom_power_are_a_fault(tmp_path: Path, fed: str) -> None:
    outputs = MIC.replace("RAILS", '"+48" = 1').replace('"in"', '"out"').replace("_channel = 10", f"_channel = {fed}")
    told = 'card "mic-4" > ports 1 > phantom_ma_per_channel: only inputs feed phantom power, and these are outputs'
    with pytest.raises(FileFaults) as refused:
        _warnings(tmp_path, outputs)
    assert told in [fault.text() for fault in refused.value.faults]


@pytest.mark.parametrize("file", sorted((ROOT / "scenarios/hardware").glob("*.toml")), ids=lambda file: file.stem)
def test_every_shipped_microphone_card_feeds_phantom_to_all_its_channels(file: Path) -> None:
    hardware, warnings = load_hardware([file])
    fed = 0
    for card in hardware.card:
        for port in card.ports:
            if "mic" in port.signals:
                assert port.phantom_ma_per_channel == P48_MA, card.id
                assert (card.rails or {})["+48"] * 1000 >= P48_MA * max(port.channels.values()), card.id
                fed += 1
    assert fed
    assert not [fault for fault in warnings if "phantom" in fault.text()]

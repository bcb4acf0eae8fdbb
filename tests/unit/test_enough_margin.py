"""What is enough counts no further in the ranking; but of builds of one rank the coolest is taken, above it too."""

from __future__ import annotations

from decimal import Decimal

import pytest

from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.search.ask.ranking import rank as best

PORT = {"direction": "in", "signals": ["line"], "channels": {"48": 4}}

HARDWARE = Hardware.model_validate(
    {
        "format": 1,
        "card": [
            {"id": "a-warm", "heat_w": Decimal(8), "air_limit_c": Decimal(50), "ports": [PORT]},
            {"id": "b-cool", "heat_w": Decimal(2), "air_limit_c": Decimal(50), "ports": [PORT]},
        ],
        "board": [
            {
                "id": "ledge-8",
                "heat_w": Decimal(0),
                "limits": {"48": {"in": 8, "out": 8}},
                "inputs": {"first_slot": 1, "widths": 4},
                "outputs": {"first_slot": 1, "widths": 4},
            }
        ],
        "chassis": [
            {
                "id": "niche-2",
                "slot_count": 2,
                "boards": ["ledge-8"],
                "air": {"path": "fan", "flow_m3_h": Decimal(20)},
            }
        ],
    }
)


def _chosen(enough: int, offered: str | None = None, rank: tuple[str, ...] = ("cooling", "cost")) -> tuple[str, int]:
    """The card of the one build that ranks first, and its margin in mK."""
    scenario = Scenario.model_validate(
        {
            "format": 1,
            "title": "Gannet Quay, the niche",
            "hardware": ["x.toml"],
            "currency": "GBP",
            "rank": list(rank),
            "limits": {"enough_k": Decimal(enough), "warn_below_k": Decimal(5), "step_k": Decimal(1)},
            "air": {"inlet_c": Decimal(25)},
            "stock": {card: 1 for card in ("a-warm", "b-cool") if card != offered},
            "offer": [{"card": offered, "price": Decimal(10)}] if offered else [],
            "frame": [{"name": "N", "chassis": "niche-2", "board": "ledge-8"}],
            "need": [{"name": "n", "direction": "in", "signal": "line", "channels": 4}],
        }
    )
    build = best(survey_room(scenario, HARDWARE), 1).builds[0]
    assert build.figures.margin_mk is not None
    return next(iter(build.build.frame[0].cards.values())), build.figures.margin_mk


@pytest.mark.parametrize("enough", [15, 20, 40])
def test_of_equals_the_coolest_is_taken_below_and_above_what_is_enough(enough: int) -> None:
    """The warm card comes first by name, and at 15 and 20 K both leave more than enough."""
    assert _chosen(enough) == ("b-cool", _chosen(40)[1])
    assert _chosen(40)[1] > 20_000


@pytest.mark.parametrize(("enough", "card"), [(15, "a-warm"), (40, "b-cool")])
def test_what_is_enough_is_not_bettered_for_money(enough: int, card: str) -> None:
    """With cooling ranked before cost, the dear cool card is bought only where the margin still counts."""
    assert _chosen(enough, offered="b-cool")[0] == card


def test_where_cooling_is_not_ranked_it_decides_nothing() -> None:
    assert _chosen(40, rank=("cost",))[0] == "a-warm"

"""Both sides of a cooling threshold: formula, audit and search say the same, to the milliwatt."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from solver.fitted.standing import stand
from solver.judge import audit
from solver.physics.heat import permitted_heat_mw
from solver.room.build import Build
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.survey import Survey
from solver.search.ask.ranking import rank

FAN = {"path": "fan", "flow_m3_h": Decimal(9), "derate": Decimal("0.8")}
DRAUGHT = {
    "path": "draught",
    "gap_area_cm2": Decimal(38),
    "opening_below_cm2": Decimal(60),
    "opening_above_cm2": Decimal(60),
    "stack_mm": Decimal(190),
}


def _survey(air: dict[str, object], left_mw: int, right_mw: int, altitude_m: int) -> Survey:
    def card(name: str, signal: str, heat_mw: int) -> dict[str, object]:
        port = {"direction": "in", "signals": [signal], "channels": {"48": 8}}
        return {"id": name, "heat_w": Decimal(heat_mw) / 1000, "air_limit_c": 55, "ports": [port], "rails": {}}

    hardware = {
        "format": 1,
        "card": [card("left", "mic", left_mw), card("right", "line", right_mw)],
        "board": [
            {
                "id": "board",
                "heat_w": Decimal("3.001"),
                "limits": {"48": {"in": 16, "out": 0}},
                "inputs": {"first_slot": 1, "widths": 8},
                "outputs": {"first_slot": 1, "widths": 0},
            }
        ],
        "chassis": [{"id": "chassis", "slot_count": 2, "boards": ["board"], "air": air}],
    }
    scenario = {
        "format": 1,
        "title": "Two cards",
        "hardware": ["x.toml"],
        "currency": "GBP",
        "air": {"inlet_c": 27, "altitude_m": altitude_m},
        "stock": {"left": 1, "right": 1},
        "frame": [{"name": "A", "chassis": "chassis", "board": "board"}],
        "need": [
            {"name": "a", "direction": "in", "signal": "mic", "channels": 8},
            {"name": "b", "direction": "in", "signal": "line", "channels": 8},
        ],
    }
    return survey_room(Scenario.model_validate(scenario), Hardware.model_validate(hardware))


@pytest.mark.parametrize("air", [FAN, DRAUGHT], ids=["fan", "draught"])
@pytest.mark.parametrize("altitude_m", [0, 1500])
@pytest.mark.parametrize("apart_mw", [-3, -2, -1, 0, 1, 2, 3])
def test_formula_audit_and_search_agree(air: dict[str, Any], altitude_m: int, apart_mw: int) -> None:
    site = _survey(air, 0, 0, altitude_m).frames[0]
    assert site.air is not None
    permitted = permitted_heat_mw(site.air, 55_000, 5_000)
    # Half of each card's heat and a third of the board's 3001 mW, in half milliwatts to meet every rounding.
    left = 2_000
    right = 2 * permitted - left - 2_000 + apart_mw
    survey = _survey(air, left, right, altitude_m)
    gap_mw = -(-(3 * (left + right) + 2 * 3_001) // 6)
    kept = gap_mw <= permitted
    built = {"format": 1, "frame": [{"name": "A", "board": "board", "cards": {"1": "left", "2": "right"}}]}
    found = audit.faults(survey, stand(survey, Build.model_validate(built)))
    assert [r.limit.rule for r in found] == ([] if kept else ["cooling"])
    assert rank(survey).outcome == ("found" if kept else "impossible")


def test_the_sweep_meets_both_sides() -> None:
    sides = set()
    for apart_mw in (-3, 3):
        site = _survey(FAN, 0, 0, 0).frames[0]
        assert site.air is not None
        permitted = permitted_heat_mw(site.air, 55_000, 5_000)
        survey = _survey(FAN, 2_000, 2 * permitted - 4_000 + apart_mw, 0)
        sides.add(rank(survey).outcome)
    assert sides == {"found", "impossible"}

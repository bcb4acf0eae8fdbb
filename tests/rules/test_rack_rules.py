"""Each rule of racks broken alone by one change of a rack that keeps all, and drawn racks in `check`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

import solver
from solver.racks import rules
from solver.racks.figures import kelvin
from solver.racks.limit import Placement
from solver.racks.pieces import Piece, RackStand, Run
from solver.reports.rack import Racks
from solver.reports.rack_words import facts
from solver.room.build import Build, BuiltRack
from solver.room.racks import Rack, RackItem
from solver.search.rack.model import RackModel
from solver.search.rack.solving import solve_rack
from solver.search.solve.clock import Clock

RACK = Rack(
    name="R1",
    units=16,
    depth_mm=Decimal(500),
    most_kg=Decimal(60),
    reach="9-14",
    centre_below_u=7,
    air_m3_h=Decimal(60),
)
PIECES = (
    Piece("A", 4, 400_000, 12_000, 60_000, draught=True, most_below_mw=30_000, microphones=True),
    Piece("A supply", 2, 300_000, 8000, 20_000, keep_away_u=1, feeds="A"),
    Piece("amp", 2, 350_000, 14_000, 45_000, at=10),
    Piece("bay", 1, 200_000, 3000, 0, in_reach=True),
)
RUNS = (Run(("A supply", "A"), 1, 520_000), Run(("A", "bay"), 4, 900_000))
STAND = RackStand(RACK, ("rack", "R1"), PIECES, RUNS, 25_000, 0)
AT = {"A supply": 1, "A": 4, "amp": 10, "bay": 12}


def pieces(**changed: Mapping[str, Any]) -> RackStand:
    """The rack with other figures of things, by their names."""
    return replace(STAND, pieces=tuple(replace(p, **changed.get(p.name.replace(" ", "_"), {})) for p in PIECES))


def rack(**changed: object) -> RackStand:
    """The rack with other figures of its own."""
    return replace(STAND, rack=RACK.model_copy(update=changed))


MUTANTS: dict[str, tuple[RackStand, dict[str, int], str]] = {
    "rack-place": (STAND, {"A supply": 1, "A": 4, "amp": 10}, "bay has no place in the rack"),
    "rack-space": (rack(units=11), AT, "bay stands above unit 11, the last of the rack"),
    "rack-overlap": (STAND, {**AT, "bay": 11}, "amp and bay are both in unit 11"),
    "rack-fixed": (pieces(amp={"at": 13}), AT, '"amp" is at unit 10 and has to stay at unit 13'),
    "rack-vent": (
        pieces(bay={"in_reach": False}),
        {**AT, "bay": 8},
        '"A" has no free unit directly above it for its air',
    ),
    "rack-supply": (
        pieces(A={"draught": False, "most_below_mw": None}, A_supply={"keep_away_u": 0}),
        {**AT, "A": 3},
        'no unit is free between "A supply" and "A" above it',
    ),
    "rack-cable": (STAND, {**AT, "A": 5}, 'from "A supply" to "A" takes 523 mm of cable; there are 520 mm'),
    "rack-keep-away": (
        pieces(A_supply={"keep_away_u": 2}),
        AT,
        '"A supply" stands 1 U from the microphone inputs of "A"; at least 2 U',
    ),
    "rack-reach": (STAND, {**AT, "bay": 15}, '"bay" is 1 U out of reach; within reach are units 9-14'),
    "rack-depth": (
        rack(depth_mm=Decimal(399)),
        AT,
        "the rack is 399 mm deep; with what is plugged in, A takes 400 mm",
    ),
    "rack-weight": (rack(most_kg=Decimal("36.9")), AT, "37.0 kg stand in a rack that carries 36.9 kg"),
    "rack-heavy-low": (rack(centre_below_u=6), AT, "the centre of weight is at 6.6 U; no higher than 6 U"),
    "rack-inlet": (pieces(A={"most_below_mw": 19_999}), AT, '20 W below "A" warm its inlet by 1.1 K; at most 1.0 K'),
}


def test_the_rack_keeps_every_rule() -> None:
    assert rules.broken(Placement(STAND, AT)) == []


def test_every_rule_has_a_mutant() -> None:
    assert set(MUTANTS) == set(rules.ALL)


@pytest.mark.parametrize("code", MUTANTS)
def test_one_change_breaks_one_rule(code: str) -> None:
    stand, at, told = MUTANTS[code]
    found = [(limit.rule, text) for limit, _, text in rules.broken(Placement(stand, at))]
    if code == "rack-space":  # what is above the rack is out of it for the rest too
        found = [entry for entry in found if entry[0] == code]
    assert found == [(code, told)]


@pytest.mark.parametrize("code", MUTANTS)
def test_the_search_keeps_out_what_the_change_breaks(code: str) -> None:
    stand, at, _ = MUTANTS[code]

    def possible(lifted: bool) -> bool:
        left_out = [limit for limit in rules.limits_of(stand) if limit.rule == code] if lifted else []
        stated = RackModel(stand, lifted=left_out)
        for piece in stand.pieces:
            for unit, term in stated.places(piece):
                stated.model.add(term == int(at.get(piece.name) == unit))
        return solve_rack(stated.model, Clock(), any_will_do=True)[0] != "none"

    assert not possible(lifted=False)
    if code == "rack-overlap":
        return  # what else leans on one thing in a unit forbids the two there too
    assert possible(lifted=True)


ROOM, DRAWN = "scenarios/quay-live-room.toml", "scenarios/quay-live-room-drawn.toml"
ROOT = Path(__file__).parents[2]


def test_a_drawn_rack_is_checked_and_shown_as_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    found = solver.rack(ROOM, DRAWN)
    assert (found.outcome, found.proven) == ("found", True)
    at = {place.name: place.unit for place in found.racks[0].places}
    files = solver.load(ROOM)
    bare = Build.model_validate(_toml(DRAWN))
    good = bare.model_copy(update={"rack": (BuiltRack(name="R1", at=at),)})
    bad = bare.model_copy(update={"rack": (BuiltRack(name="R1", at={**at, "line bay": at["A"] - 1}),)})
    assert not [f for f in solver.check(files.scenario, good, hardware=files.hardware).faults if "rack" in f.rule]
    faults = solver.check(files.scenario, bad, hardware=files.hardware).faults
    assert {f.rule for f in faults} >= {"rack-vent", "rack-reach"}
    assert solver.rack(files.scenario, bad, hardware=files.hardware).outcome == "faulty"
    again = solver.rack(files.scenario, bad, hardware=files.hardware, anew=True)
    assert {place.name: place.unit for place in again.racks[0].places} == at


@pytest.mark.parametrize(("flow", "outcome"), [(20, "impossible"), (40, "found")])
def test_what_is_known_of_the_heat_of_a_frame_counts_where_a_card_has_none(flow: int, outcome: str) -> None:
    """111.6 W below a reverb unit that takes air of 40 C: 17.0 K at 20 m3/h, more than the 13 K from 27 C.

    The level meter below it has 9 W more.
    """
    files = solver.load(ROOM)
    cards = tuple(c.model_copy(update={"heat_w": None} if c.id == "aux-in-2" else {}) for c in files.hardware.card)
    (rack_of,) = files.scenario.rack
    reverb = RackItem(name="reverb unit", height_u=1, heat_w=Decimal(30), air_limit_c=Decimal(40))
    items = (*(item for item in rack_of.item if item.name != "reverb unit"), reverb)
    at = {**rack_of.at, "A": 6, "reverb unit": 14}
    changed = rack_of.model_copy(update={"item": items, "at": at, "air_m3_h": Decimal(flow)})
    scenario = files.scenario.model_copy(update={"rack": (changed,)})
    bare = Build.model_validate(_toml(DRAWN)).model_copy(update={"rack": ()})
    found = solver.rack(scenario, bare, hardware=files.hardware.model_copy(update={"card": cards}))
    assert found.outcome == outcome
    assert any("aux-in-2 in A has no figure" in what for what in found.racks[0].not_checked)
    if outcome == "found":
        above = next(place for place in found.racks[0].places if place.name == "reverb unit")
        assert above.rise_k == pytest.approx((111.6 + 9) / (1.174 * 1006 * flow / 3600), rel=0.01)
        assert above.rise_untold
        (told,) = [
            text
            for label, text in facts(found.racks[0])
            if label == "warmth from below" and text.startswith("reverb unit")
        ]
        assert told.startswith("reverb unit: at least ")
        assert " K if all of it rises, " in told


def test_what_is_known_of_the_weight_of_a_frame_counts_where_a_card_has_none() -> None:
    """43.1 kg stand in the rack; an aux-in-2 of 0.6 kg that tells no weight leaves 42.5 kg, and 15.0 kg of frame A."""
    files = solver.load(ROOM)
    cards = tuple(c.model_copy(update={"weight_kg": None} if c.id == "aux-in-2" else {}) for c in files.hardware.card)
    hardware = files.hardware.model_copy(update={"card": cards})
    bare = Build.model_validate(_toml(DRAWN)).model_copy(update={"rack": ()})
    (rack_of,) = files.scenario.rack

    def carried(most: str) -> Racks:
        changed = rack_of.model_copy(update={"most_kg": Decimal(most)})
        return solver.rack(files.scenario.model_copy(update={"rack": (changed,)}), bare, hardware=hardware)

    (sheet,) = carried("42.5").racks
    frame = next(place for place in sheet.places if place.name == "A")
    assert (frame.weight_kg, frame.weightless, sheet.weight_kg) == (15.0, ["aux-in-2"], 42.5)
    assert "weight: aux-in-2 in A has no figure; at least 42.5 kg" in sheet.not_checked
    assert carried("42.4").outcome == "impossible"


@pytest.mark.parametrize(
    ("rise_mk", "most_mk", "told"),
    [(1690, 1850, ("1.7", "1.8")), (1820, 1850, ("1.82", "1.85")), (1851, 1850, ("1.9", "1.8"))],
)
def test_a_rise_never_reads_as_broken_where_it_is_not(rise_mk: int, most_mk: int, told: tuple[str, str]) -> None:
    assert kelvin(rise_mk, most_mk) == told


def _toml(path: str) -> dict[str, object]:
    import tomllib

    return tomllib.loads(Path(path).read_text(encoding="utf-8"), parse_float=Decimal)

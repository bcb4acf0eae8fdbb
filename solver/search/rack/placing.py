"""The best places in a rack: criterion after criterion, then what is heavy low, then the first by names."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal, TypeAlias

from solver.racks.limit import Load, Placement
from solver.racks.measures import cables_um, reserve, worst_below_mw
from solver.racks.pieces import RackStand
from solver.racks.rules import broken
from solver.racks.rules.lengths import HALF_UM
from solver.search.model.services import expression
from solver.search.rack.model import RackModel
from solver.search.rack.solving import solve_rack
from solver.search.rack.stacking import MOST_STACKED, joined, least_cable
from solver.search.solve.clock import Clock, SearchError
from solver.search.solve.solving import hint

Found: TypeAlias = Literal["found", "impossible", "unknown"]


@dataclass(frozen=True)
class Placed:
    """Where things go; `proven` where no other places are better, or where there are none."""

    outcome: Found
    placement: Placement | None = None
    proven: bool = False


def place(stand: RackStand, clock: Clock) -> Placed:
    """The best places for everything in a rack.

    Raises
    ------
    SearchError
        If what is found breaks a rule, or its figures are not those of the search.
    """
    stated = RackModel(stand)
    best: Placement | None = None
    proven = True
    status, solver = solve_rack(stated.model, clock, any_will_do=True)
    if status == "none":
        return Placed("impossible", proven=True)
    if status not in ("proven", "found"):
        return Placed("unknown")
    best = stated.read(solver)
    for stage, load in _stages(stated):
        total = expression(load)
        if isinstance(total, int):
            continue
        hint(stated.model, solver)
        stated.model.minimize(total)
        status, solver = solve_rack(stated.model, clock)
        if status not in ("proven", "found"):
            proven = False
            break
        best, least = stated.read(solver), round(solver.objective_value)
        if status == "proven" and stage is not None and _measured(best, stage) != least:
            raise SearchError(f"rack {stand.rack.name}: {stage} is {least} to the search", stated.model)
        proven = proven and status == "proven"
        stated.model.add(total <= least)
        if not proven:
            break
    faults = broken(best)
    if faults:
        raise SearchError(f"rack {stand.rack.name}: {faults[0][2]}", stated.model)
    return Placed("found", best, proven)


def _measured(placement: Placement, stage: str) -> int:
    """What the placement itself says of a stage, in the model's sign and unit."""
    if stage == "cables":
        spare = sum(run.count for run in placement.stand.runs) * placement.stand.spare_um
        return cables_um(placement) - spare
    return {"reserve": -len(reserve(placement)), "inlet": worst_below_mw(placement)}[stage]


def _stages(stated: RackModel) -> Iterator[tuple[str | None, Load]]:
    """What is minimised, one after the other; the last ones have no name."""
    stand = stated.stand
    loads = {"cables": _cables, "reserve": _reserve, "inlet": _inlet}
    for criterion in stand.rack.rank:
        yield criterion, loads[criterion](stated)
    yield None, _low(stated)


def _low(stated: RackModel) -> Load:
    """Weight times height; then, for less than a gram and a half unit of that, the first by name lowest."""
    pieces = stated.stand.pieces
    names = [(len(pieces) - n, unit, term) for n, piece in enumerate(pieces) for unit, term in stated.places(piece)]
    by_name = 1 + sum(len(pieces) - n for n in range(len(pieces))) * stated.top
    return [
        *((share * unit, term) for share, unit, term in names),
        *(
            (by_name * piece.weight_g * (2 * (unit - 1) + piece.height_u), term)
            for piece in pieces
            if piece.weight_g
            for unit, term in stated.places(piece)
        ),
    ]


def _cables(stated: RackModel) -> Load:
    """Cable between things, without what each takes beside; of each group at least what it takes stacked closely."""
    named = stated.stand.by_name
    for pieces, counts in joined(stated.stand):
        load = [(count, stated.apart_by(pieces[one], pieces[other])) for (one, other), count in counts.items()]
        if len(pieces) <= MOST_STACKED:
            stated.model.add(expression(load) >= least_cable(pieces, counts))
    return [(run.count * HALF_UM, stated.apart_by(named[run.ends[0]], named[run.ends[1]])) for run in stated.stand.runs]


def _reserve(stated: RackModel) -> Load:
    """The longest run of units that nothing needs, less than nothing so that more is better."""
    model, stand = stated.model, stated.stand
    kept: list[Any] = []
    begins: list[Any] = []
    for unit in range(1, stand.rack.units + 1):
        here = model.new_bool_var("")
        model.add(here <= stated.free(unit))
        for piece in stand.pieces:
            if piece.draught:
                aired = [t for u, t in stated.places(piece) if unit in (u - 1, u + piece.height_u)]
                if aired:
                    model.add(here + sum(aired) <= 1)
        begin = model.new_bool_var("")
        model.add(here <= (kept[-1] if kept else 0) + begin)
        kept.append(here)
        begins.append(begin)
    model.add(sum(begins) <= 1)
    return [(-1, here) for here in kept]


def _inlet(stated: RackModel) -> Load:
    """The most heat below an inlet that it matters to."""
    hot = [piece for piece in stated.stand.pieces if piece.warms and piece.heat_mw]
    loads = [
        [(other.heat_mw or 0, stated.below(other, piece)) for other in hot if other is not piece]
        for piece in stated.stand.pieces
        if piece.most_below_mw is not None
    ]
    if not any(loads):
        return []
    worst = stated.model.new_int_var(0, sum(piece.heat_mw or 0 for piece in hot), "")
    for load in loads:
        stated.model.add(expression(load) <= worst)
    return [(1, worst)]

"""Where everything goes in the racks: as a build draws them, or the best places; why there are none."""

from __future__ import annotations

from solver.answers.planned_warm import planned_for_racks
from solver.answers.racks import drawn_at, racks
from solver.answers.standing_rooms import stood_rooms
from solver.files.reading import Loaded
from solver.reports.assumed import assumed_of_racks
from solver.reports.element import BrokenLimit, file_warnings
from solver.reports.rack import Racks, RackSheet, clash_texts, rack_faults, sheet, way_out
from solver.room.build import Build, BuiltRack
from solver.room.errors import WrongQuestion
from solver.search.rack.clash import rack_clash
from solver.search.rack.placing import place
from solver.search.solve.clock import Clock


def rack(
    loaded: Loaded, build: Build | None, workers: int, clock: Clock, *, anew: bool = False
) -> tuple[Racks, Build | None]:
    """The racks of a scenario with a build in them, and that build with the places that were found.

    Parameters
    ----------
    build
        What stands; None for the best plan, whose frames are then given places.
    anew
        Whether racks that the build draws are placed all the same.

    Raises
    ------
    WrongQuestion
        If the scenario has no rack.
    """
    if not any(room.rack for room in loaded.scenario.rooms()):
        raise WrongQuestion(f"{loaded.name} has no rack; begin one with [[rack]]", about="scenario")
    warnings = file_warnings(loaded.warnings)
    head = {"scenario": loaded.scenario.title, "warnings": warnings, "assumed": assumed_of_racks(loaded.scenario)}
    notes: list[str] = []
    if build is None:
        planned, warm = planned_for_racks(loaded, workers, clock)
        if not planned.builds:
            outcome = "unknown" if planned.report.outcome == "unknown" else "impossible"
            told = "no build was found within the limit" if outcome == "unknown" else "there is no build to place"
            note = f"{told}; strapwork why says what is in its way"
            return Racks(outcome=outcome, proven=planned.report.proven, notes=[note], **head), None
        build = planned.builds[0]
        mark = "" if planned.report.proven else ", not proven to be that"
        notes += warm or [f"the frames are filled as the best plan has them{mark}"]
    elif count := len(stood_rooms(loaded, build).faults):
        notes.append(f"the build is faulty, {count} fault{'s' if count > 1 else ''}; strapwork check says which")
    sheets: list[RackSheet] = []
    faults: list[BrokenLimit] = []
    found: list[BuiltRack] = []
    for room, stand in racks(loaded, build):
        drawn = None if anew else drawn_at(build, room, stand)
        if drawn is not None:
            faults += rack_faults(drawn, room)
            sheets.append(sheet(drawn, room, "drawn"))
            continue
        clock.at = f"rack {stand.rack.name}"
        placed = place(stand, clock)
        if placed.placement is not None:
            sheets.append(sheet(placed.placement, room, "found", proven=placed.proven))
            found.append(BuiltRack(name=stand.rack.name, room=room, at=dict(sorted(placed.placement.at.items()))))
            continue
        bare = RackSheet(
            name=stand.rack.name,
            room=room,
            units=stand.rack.units,
            outcome=placed.outcome,
            proven=placed.proven,
            not_checked=list(stand.not_checked),
        )
        if placed.outcome == "impossible":
            why = rack_clash(stand, clock)
            told_ways = [way_out(stand, way.given) for way in why.ways]
            clash = clash_texts(stand, why.clash) if why.proven else []
            bare = bare.model_copy(update={"ways": told_ways, "complete": why.complete, "clash": clash})
        sheets.append(bare)
    outcomes = {each.outcome for each in sheets}
    outcome = "impossible" if "impossible" in outcomes else "unknown" if "unknown" in outcomes else "found"
    document = Racks(
        outcome="faulty" if faults else outcome,
        proven=all(each.proven or each.outcome == "drawn" for each in sheets),
        racks=sheets,
        faults=faults,
        notes=notes,
        **head,
    )
    others = [r for r in build.rack if all((r.room, r.name) != (new.room, new.name) for new in found)]
    return document, build.model_copy(update={"rack": (*others, *found)})

"""The screen of several phases of buying: what is bought when, where it goes, what it costs, and what moves."""

from __future__ import annotations

from decimal import Decimal

from rich.console import Console
from rich.text import Text

from cli.screen.page import (
    CAUTIONS,
    all_settings,
    grid,
    indented,
    kelvin,
    labelled,
    page,
    show_assumed,
    show_frames,
    show_judged,
    show_notes,
)
from cli.screen.why import show_clash
from solver.reports.phases import PhaseReport, PhaseSeat, PhasesReport
from solver.reports.report import BuildReport, Report
from solver.reports.wording import kilohertz
from solver.room.faults import quote
from solver.room.words import write_ranges


def show_phases(report: Report) -> None:
    """Print a plan of several phases."""
    with page() as out:
        found = report.phases
        assert found is not None
        if not report.builds:
            _none(out, report, found)
            return
        rate = kilohertz(report.sample_rate)
        out.print(Text(f"{report.scenario}, {rate}: bought in {_count(found)}", "bold"))
        out.print(Text(_summary(report, found)))
        show_notes(out, report.notes)
        out.print()
        _costs(out, report, found)
        for phase, build in zip(found.phases, report.builds, strict=True):
            out.print()
            out.print(Text(_heading(report, phase), "bold"))
            out.print(indented(labelled(_to_do(found, phase))))
            show_frames(out, build, ranked=False)
        _rest(out, report, found)
        show_assumed(out, report.assumed)
        out.print()
        out.print(Text(CAUTIONS))


def show_phases_front(report: Report, show: int | None) -> None:
    """Print what more money in the first phase saves; one way to buy whole, by its number from 1."""
    with page() as out:
        found = report.phases
        assert found is not None
        if not found.front:
            _none(out, report, found)
            return
        first = found.phases[0].name
        count = len(found.front)
        out.print(Text(f"{report.scenario}: what more money in {quote(first)} saves", "bold"))
        complete = "complete: proven that none is missing" if report.complete else "more may exist"
        out.print(Text(f"{count} way{'s' if count > 1 else ''} to buy that no other beats in both; {complete}"))
        out.print()
        table = grid("", first, "together", "what is ordered", right=(0, 1, 2))
        for n, trade in enumerate(found.front, 1):
            ordered = [f"{phase.name}: {_ordered(phase)}" for phase in trade.phases]
            table.add_row(str(n), trade.first, trade.total, "\n".join([*([trade.text] if n > 1 else []), *ordered]))
        out.print(table)
        if show is not None:
            for phase in found.front[show - 1].phases:
                out.print()
                out.print(Text(_heading(report, phase), "bold"))
                out.print(indented(labelled(_to_do(found, phase))))
        show_assumed(out, report.assumed)
        out.print()
        out.print(Text(CAUTIONS))


def _count(found: PhasesReport) -> str:
    return "one phase" if len(found.phases) == 1 else f"{len(found.phases)} phases"


def _ordered(phase: PhaseReport) -> str:
    return ", ".join(f"{order.count} x {order.item}" for order in phase.orders) or "nothing"


def show_phases_check(report: Report) -> None:
    """Print what is wrong with the builds of several phases."""
    with page() as out:
        found = report.phases
        assert found is not None
        show_judged(out, report, report.scenario, f"Clean in {_names(found)}")
        out.print()
        _costs(out, report, found)
        if rows := _air(found, report):
            out.print()
            out.print(labelled(rows))
        out.print()
        out.print(Text(CAUTIONS))


def _none(out: Console, report: Report, found: PhasesReport) -> None:
    if report.outcome == "unknown":
        out.print(Text(f"No answer yet: {report.scenario}", "bold"))
        out.print(indented(Text("The search ended before it found builds or proved that there are none.")))
        return
    out.print(Text(f"Impossible, proven: {report.scenario}", "bold"))
    if not found.clash:
        out.print(Text("Which phases stand in each other's way was not found within the limit."))
    elif len(found.clash) == 1:
        out.print(Text(f'"{found.clash[0]}" cannot be served, whatever becomes of the others.'))
    else:
        without = "either" if len(found.clash) == 2 else "any one"
        out.print(Text(f"{_joined(found.clash)} cannot all be served; without {without} of them the rest can."))
    if found.ways:
        out.print()
        out.print(Text("Ways out, each by itself and the least that helps", "bold"))
        out.print(indented(labelled([(str(n), way) for n, way in enumerate(found.ways, 1)])))
    elif found.all_ways:
        out.print("No single change of a budget, a need or moves makes it possible.")
    if report.clash is not None:
        out.print()
        out.print(Text(f'"{found.clash[0]}" by itself, with all the money until then', "bold"))
        show_clash(out, report.clash, report.currency, "work")
    show_assumed(out, report.assumed)


def _summary(report: Report, found: PhasesReport) -> str:
    proven = "proven best" if report.proven else "not proven best; each phase is audited and works"
    cost = ", the cost of the first phase first" if found.cost_of == "first phase" else ""
    moved = "nothing moves: what is seated stays in its slot"
    if found.moved:
        moved = f"{found.moved} card{'s leave their' if found.moved > 1 else ' leaves its'} slot, none twice"
    return f"{proven} by {', '.join(report.criteria)}{cost}; {moved}"


def _costs(out: Console, report: Report, found: PhasesReport) -> None:
    budgets = found.budget is not None or any(phase.budget is not None for phase in found.phases)
    headings = ["phase", f"cost {report.currency}", *(["budget"] if budgets else []), "unused", "cooling", "settings"]
    table = grid(*headings, right=range(1, len(headings) - 1))
    for phase, build in zip(found.phases, report.builds, strict=True):
        budget = [phase.budget or "any"] if budgets else []
        margin = kelvin(build.cooling.margin_k)
        table.add_row(phase.name, phase.cost, *budget, str(build.unused.total), margin, all_settings(build))
    total = [_over_all(found)] if budgets else []
    table.add_row("together", found.total or "", *total, "", "", "")
    out.print(table)


def _over_all(found: PhasesReport) -> str:
    """The budget over all phases; nothing where those of the phases keep within it by themselves."""
    own = [None if phase.budget is None else Decimal(phase.budget) for phase in found.phases]
    if found.budget is None or (None not in own and sum(filter(None, own)) <= Decimal(found.budget)):
        return ""
    return f"{found.budget} for all"


def _heading(report: Report, phase: PhaseReport) -> str:
    budget = "" if phase.budget is None else f" of {phase.budget}"
    return f"{phase.name}: {phase.cost}{budget} {report.currency}, for {', '.join(phase.needs)}"


def _to_do(found: PhasesReport, phase: PhaseReport) -> list[tuple[str, str]]:
    """What is ordered, seated and moved in a phase."""
    orders = []
    for order in phase.orders:
        some = "" if order.kept == order.count else f"{order.kept} of them "
        kept = f", {some}kept for later" if order.kept else ""
        orders.append(f"{order.count} x {order.item} at {order.price} = {order.total}{kept}")
    rows = [("" if n else "Order", line) for n, line in enumerate(orders or ["nothing"])]
    rows += [("" if n else "Seat", line) for n, line in enumerate(_by_frame(phase.seated) or ["nothing"])]
    rows += [("" if n else "Take out", line) for n, line in enumerate(_by_frame(phase.removed))]
    if phase.change is not None:
        stays = [] if phase.removed else ["nothing moves"]
        rows.append(("Change", "; ".join([*stays, phase.change, *phase.straps])))
    return rows


def _by_frame(seats: list[PhaseSeat]) -> list[str]:
    """Cards by their slots, a line for each frame."""
    frames: dict[str, list[str]] = {}
    for seat in seats:
        frames.setdefault(seat.frame, []).append(f"{seat.card} in {write_ranges(seat.slots)}")
    return [f"{frame}: {', '.join(own)}" for frame, own in sorted(frames.items())]


def _rest(out: Console, report: Report, found: PhasesReport) -> None:
    """What is left over, warned of and not checked in any phase."""
    rows = [*_air(found, report), ("Not fitted", _left(report.builds[-1]))]
    rows += [("WARNING", warning) for warning in dict.fromkeys(w for own in report.builds for w in own.warnings)]
    told = dict.fromkeys(what for own in report.builds for what in own.not_checked)
    rows += [("NOT CHECKED", what) for what in told]
    out.print()
    out.print(labelled(rows))


def _air(found: PhasesReport, report: Report) -> list[tuple[str, str]]:
    """How frames are cooled with open slots and without a fan, with the phases that it is so in where not in all."""
    phases: dict[str, list[str]] = {}
    for phase, build in zip(found.phases, report.builds, strict=True):
        for told in build.air:
            phases.setdefault(told, []).append(phase.name)
    every = len(report.builds)
    lines = [told if len(names) == every else f"{', '.join(names)}: {told}" for told, names in phases.items()]
    return [("" if n else "Air", line) for n, line in enumerate(lines)]


def _left(build: BuildReport) -> str:
    left = ", ".join(f"{count} x {item}" for item, count in build.stock_left.items())
    return f"at the end: {left}" if left else "nothing; all that is owned or was bought is fitted"


def _names(found: PhasesReport) -> str:
    return ", ".join(phase.name for phase in found.phases)


def _joined(names: list[str]) -> str:
    quoted = [f'"{name}"' for name in names]
    return f"{', '.join(quoted[:-1])} and {quoted[-1]}"

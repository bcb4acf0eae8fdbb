"""The screens of several kinds of day: one seating, how it is set on each, and what is done between them."""

from __future__ import annotations

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
    show_rest,
)
from cli.screen.why import show_clash
from solver.reports.report import Report, SetupsReport
from solver.reports.wording import kilohertz
from solver.room.words import ranked_words


def show_setups(report: Report) -> None:
    """Print a plan of several kinds of day."""
    with page() as out:
        found = report.setups
        assert found is not None
        names = ", ".join(day.name for day in found.days)
        if not report.builds:
            _none(out, report, found)
            return
        out.print(
            Text(f"{report.scenario}: one seating for {names}, ranked by {ranked_words(report.criteria)}", "bold")
        )
        out.print(Text(_summary(report, found)))
        show_notes(out, report.notes)
        out.print()
        _days(out, report, found)
        _changes(out, found)
        for day, build in zip(found.days, report.builds, strict=True):
            out.print()
            out.print(Text(f"On {day.name}, {kilohertz(day.sample_rate)}", "bold"))
            show_frames(out, build, ranked=False)
        own = {day.name: build for day, build in zip(found.days, report.builds, strict=True)}
        show_rest(out, report, report.builds[0], own)
        out.print()
        out.print(Text(CAUTIONS))


def show_setups_check(report: Report) -> None:
    """Print what is wrong with a build on each kind of day."""
    with page() as out:
        found = report.setups
        assert found is not None
        show_judged(out, report, report.scenario, f"Clean on {', '.join(day.name for day in found.days)}")
        out.print()
        _days(out, report, found)
        _changes(out, found)
        out.print()
        out.print(Text(CAUTIONS))


def _none(out: Console, report: Report, found: SetupsReport) -> None:
    if report.outcome == "unknown":
        out.print(Text(f"No answer yet: {report.scenario}", "bold"))
        out.print(indented(Text("The search ended before it found a seating or proved that there is none.")))
        return
    out.print(Text(f"Impossible, proven: {report.scenario}", "bold"))
    if not found.clash:
        out.print(Text("Which of them stand in each other's way was not found within the limit."))
    elif len(found.clash) == 1:
        out.print(Text(f"{found.clash[0]} cannot be built even by itself; of that day alone:"))
        if report.clash is not None:
            show_clash(out, report.clash, report.currency, "work")
    else:
        together = f"{', '.join(found.clash[:-1])} and {found.clash[-1]}"
        out.print(Text(f"{together} cannot share a seating; {_rest(found)}"))
        if found.straps == "same":
            out.print(indented(Text('Straps are the same on all of them; straps = "per setup" lets them differ.')))
    show_assumed(out, report.assumed)


def _rest(found: SetupsReport) -> str:
    return "each can by itself." if len(found.clash) == 2 else "without any one of them the others can."


def _summary(report: Report, found: SetupsReport) -> str:
    proven = "proven best" if report.proven else "not proven best; it is audited and works"
    over = "added up, each as often as it comes" if found.over == "sum" else "of the worst day"
    straps = "straps may be set for each" if found.straps == "per setup" else "straps are the same on each"
    unused = any(criterion not in ("cost", "cooling") for criterion in report.criteria)
    return f"{proven}; {straps}{f'; unused channels {over}' if unused else ''}"


def _days(out: Console, report: Report, found: SetupsReport) -> None:
    table = grid("day", "rate", "often", "needs", "unused", "cooling", "settings", right=(2, 4, 5))
    for day, build in zip(found.days, report.builds, strict=True):
        margin = kelvin(build.cooling.margin_k)
        rate = kilohertz(day.sample_rate)
        unused = str(build.unused.total)
        table.add_row(day.name, rate, str(day.share), ", ".join(day.needs), unused, margin, all_settings(build))
    out.print(table)


def _changes(out: Console, found: SetupsReport) -> None:
    if not found.changes:
        return
    out.print()
    rows = [
        (
            f"{change.before} to {change.after}",
            f"{'; '.join([change.text, *change.straps])}; "
            f"{change.minutes_least} to {change.minutes_most} minutes without tests",
        )
        for change in found.changes
    ]
    out.print(Text("From day to day", "bold"))
    out.print(indented(labelled(rows)))

"""The screen of a front: its points in order, what each step buys, and one of them whole where asked."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from cli.screen.page import (
    CAUTIONS,
    Grid,
    assumed_rows,
    grid,
    kelvin,
    labelled,
    page,
    show_frames,
    show_notes,
    show_rest,
)
from cli.screen.plot import Dot, plot
from cli.screen.why import show_no_build
from solver.fitted.unknown import so_not_checked
from solver.reports.report import FrontReport, Report
from solver.reports.wording import kilohertz
from solver.room.words import MOVED_WORDS, PART_WORDS, ranked_words, write_ranges

BESIDE, PICTURE = 100, 36
"""From so many columns on the front is drawn beside its table, in so many."""


def show_front(report: Report, show: int | None) -> None:
    """Print a front."""
    with page() as out:
        if report.front is None:
            show_no_build(out, report)
            return
        rate = kilohertz(report.sample_rate)
        out.print(Text(f"{report.scenario}, {rate}: what can be had by {ranked_words(report.criteria)}", "bold"))
        out.print(Text(_summary(report, report.front)))
        show_notes(out, report.notes)
        if report.front.cooling_step_k is not None and any(p.counts_as for p in report.front.points):
            out.print(Text(_steps(report.front)))
        out.print()
        words = {**PART_WORDS, **MOVED_WORDS}
        parts = [c for c in report.criteria if c in words]
        headings = ["", f"cost {report.currency}", "unused", *(words[part] for part in parts), "cooling"]
        table = grid(*headings, "step from the one before; marks", right=range(len(headings)))
        for point, build in zip(report.front.points, report.builds, strict=True):
            said = [*([point.step] if point.step else []), *point.marks]
            margin = point.values.get("cooling") if "cooling" in report.criteria else None
            table.add_row(
                f"{point.build}{'' if build.proven else '?'}",
                build.cost,
                str(build.unused.total),
                *(str(getattr(build.moved if part in MOVED_WORDS else build.unused, part)) for part in parts),
                kelvin(build.cooling.margin_k) if margin is None else f"{margin} K",
                "; ".join(said),
            )
        _beside(out, table, report, report.front)
        if show is None:
            remarks = [*assumed_rows(report.assumed), *_remarks(report)]
            if remarks:
                out.print()
                out.print(labelled(remarks))
            return
        build = report.builds[show - 1]
        show_frames(out, build, ranked=True)
        show_rest(out, report, build)
        out.print()
        out.print(Text(CAUTIONS))


def _steps(front: FrontReport) -> str:
    """Which of the margins that are shown count as one."""
    builds: dict[str, list[int]] = {}
    for point in front.points:
        if point.counts_as is not None:
            builds.setdefault(point.counts_as, []).append(point.build)
    order = sorted(builds.items(), key=lambda entry: float(entry[0].split()[0]))
    said = [f"{margins} (build{'s' if len(own) > 1 else ''} {write_ranges(own)})" for margins, own in order]
    return f"Margins of one step count as equal: {', '.join(said)}"


def _beside(out: Console, table: Grid, report: Report, front: FrontReport) -> None:
    """The table, and its picture beside it where there is room."""
    wide = out.width >= BESIDE and len(front.points) > 1 and {"cost", "unused"} <= set(report.criteria)
    room = out.width - PICTURE - 3
    if not wide or not table.fits(room):
        out.print(table)
        return
    dots = [
        Dot(float(build.cost), build.unused.total, point.counts_as)
        for point, build in zip(front.points, report.builds, strict=True)
    ]
    both = Table.grid(padding=(0, 3, 0, 0))
    both.add_column(width=room)
    both.add_column(width=PICTURE, no_wrap=True)
    both.add_row(table, Text("\n".join(plot(dots, PICTURE, report.currency))))
    out.print(both)


def _summary(report: Report, front: FrontReport) -> str:
    """How many there are, and what is proven of them."""
    count = f"{len(front.points)} build{'s' if len(front.points) > 1 else ''}"
    if front.complete:
        return f"{count} that no other beats; complete: proven that none is missing"
    below = "".join(f"; none is missing that has {c} below {n}" for c, n in front.complete_below.items())
    part = f"not complete: the part that was found, and marks compare only these{below}"
    if all(build.proven for build in report.builds):
        return f"{count} that no other beats; {part}"
    return f"{count}; {part}; each is audited and works; ? marks those that others may beat"


def _remarks(report: Report) -> list[tuple[str, str]]:
    """What is warned of and not checked, each once, with the builds that it is said of."""
    said: dict[tuple[str, str], list[int]] = {}
    unknown: dict[tuple[str, str], list[int]] = {}
    for build in report.builds:
        for text in build.warnings:
            said.setdefault(("WARNING", text), []).append(build.rank)
        for unchecked, why in build.unknown.items():
            unknown.setdefault((unchecked, why), []).append(build.rank)
    return [
        *((label, f"{_builds(ranks)}: {text}") for (label, text), ranks in said.items()),
        *(("NOT CHECKED", so_not_checked(what, why, _builds(ranks))) for (what, why), ranks in unknown.items()),
    ]


def _builds(ranks: list[int]) -> str:
    return f"build{'s' if len(ranks) > 1 else ''} {write_ranges(ranks)}"

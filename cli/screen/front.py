"""The screen of a front: its points in order, what each step buys, and one of them whole where asked."""

from __future__ import annotations

from rich.text import Text

from cli.screen.page import CAUTIONS, grid, kelvin, labelled, page, show_frames, show_rest
from cli.screen.why import show_no_build
from solver.causes import kilohertz
from solver.report import FrontReport, Report
from solver.words import PART_WORDS, write_ranges


def show_front(report: Report, show: int | None) -> None:
    """Print a front."""
    with page() as out:
        if report.front is None:
            show_no_build(out, report)
            return
        rate = kilohertz(report.sample_rate)
        step_k = report.front.cooling_step_k
        criteria = [f"cooling in steps of {step_k} K" if c == "cooling" else c for c in report.criteria]
        out.print(Text(f"{report.scenario}, {rate}: what can be had by {', '.join(criteria)}", "bold"))
        out.print(Text(_summary(report, report.front)))
        for note in report.notes:
            out.print(Text(f"NOTE: {note}"))
        out.print()
        parts = [c for c in report.criteria if c in PART_WORDS]
        headings = ["", f"cost {report.currency}", "unused", *(PART_WORDS[part] for part in parts), "cooling"]
        table = grid(*headings, "step from the one before; marks", right=range(len(headings)))
        for point, build in zip(report.front.points, report.builds, strict=True):
            said = [*([point.step] if point.step else []), *point.marks]
            table.add_row(
                f"{point.build}{'' if build.proven else '?'}",
                build.cost,
                str(build.unused.total),
                *(str(getattr(build.unused, part)) for part in parts),
                kelvin(build.cooling.margin_k),
                "; ".join(said),
            )
        out.print(table)
        if show is None:
            remarks = _remarks(report)
            if remarks:
                out.print()
                out.print(labelled(remarks))
            return
        build = report.builds[show - 1]
        show_frames(out, build, ranked=True)
        show_rest(out, report, build)
        out.print()
        out.print(Text(CAUTIONS))


def _summary(report: Report, front: FrontReport) -> str:
    """How many there are, and what is proven of them."""
    count = f"{len(front.points)} build{'s' if len(front.points) > 1 else ''}"
    if front.complete:
        return f"{count} that no other beats; complete: proven that none is missing"
    part = "not complete: the part that was found, and marks compare only these"
    if all(build.proven for build in report.builds):
        return f"{count} that no other beats; {part}"
    return f"{count}; {part}; each is audited and works; ? marks those that others may beat"


def _remarks(report: Report) -> list[tuple[str, str]]:
    """What is warned of and not checked, each once, with the builds that it is said of."""
    said: dict[tuple[str, str], list[int]] = {}
    for build in report.builds:
        for text in build.warnings:
            said.setdefault(("WARNING", text), []).append(build.rank)
        for text in build.not_checked:
            said.setdefault(("NOT CHECKED", text), []).append(build.rank)
    return [
        (label, f"build{'s' if len(builds) > 1 else ''} {write_ranges(builds)}: {text}")
        for (label, text), builds in sorted(said.items(), key=lambda item: item[0][0], reverse=True)
    ]

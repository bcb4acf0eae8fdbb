"""The screen of a front: its points in order, what each step buys, and one of them whole where asked."""

from __future__ import annotations

from rich.text import Text

from cli.screen.page import CAUTIONS, grid, kelvin, page, show_frames, show_rest
from cli.screen.why import show_no_build
from solver.causes import kilohertz
from solver.report import Report


def show_front(report: Report, show: int | None) -> None:
    """Print a front."""
    with page() as out:
        if report.front is None:
            show_no_build(out, report)
            return
        points = report.front.points
        rate = kilohertz(report.sample_rate)
        out.print(Text(f"{report.scenario}, {rate}: what can be had by {', '.join(report.criteria)}", "bold"))
        count = f"{len(points)} build{'s' if len(points) > 1 else ''} that no other beats"
        whole = "complete: proven that none is missing"
        out.print(Text(f"{count}; {whole if report.front.complete else 'not complete: what was found in the time'}"))
        out.print()
        parts = [c for c in report.criteria if c in ("stranded", "holes", "idle")]
        headings = ["", f"cost {report.currency}", "unused", *parts, "cooling"]
        table = grid(*headings, "step from the one before; marks", right=range(len(headings)))
        for point, build in zip(points, report.builds, strict=True):
            said = [*([point.step] if point.step else []), *point.marks]
            table.add_row(
                str(point.build),
                build.cost,
                str(build.unused.total),
                *(str(getattr(build.unused, part)) for part in parts),
                kelvin(build.cooling.margin_k),
                "; ".join(said),
            )
        out.print(table)
        if show is not None:
            build = report.builds[show - 1]
            show_frames(out, build, ranked=True)
            show_rest(out, report, build)
            out.print()
            out.print(Text(CAUTIONS))

"""The screen of a check."""

from __future__ import annotations

from rich.text import Text

from cli.screen.campus import room_table
from cli.screen.page import CAUTIONS, not_used, page, show_frames, show_judged, show_rest, without_price
from solver.reports.report import Report
from solver.reports.wording import kilohertz


def show_check(report: Report) -> None:
    """Print a check: clean or every fault, then the build's own figures."""
    with page() as out:
        title = f"{report.scenario}, {kilohertz(report.sample_rate)}"
        show_judged(out, report, title)
        build = report.builds[0]
        unused = build.unused
        if report.rooms:
            out.print()
            out.print(room_table(report))
        show_frames(out, build, ranked=False, faulty=bool(report.faults))
        out.print()
        parts = f"{unused.stranded} without a number, {unused.holes} gaps in the numbering, {not_used(build)}"
        cost = f"Cost {build.cost} {report.currency}{without_price(build)}"
        out.print(Text(f"{cost}; unused {unused.total}: {parts}"))
        show_rest(out, report, build)
        out.print()
        out.print(Text(CAUTIONS))

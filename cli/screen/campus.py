"""The screen of a campus: what to buy, each room in a line, then frame by frame."""

from __future__ import annotations

from collections.abc import Mapping

from rich.console import RenderableType
from rich.text import Text

from cli.screen.page import CAUTIONS, grid, indented, kelvin, labelled, page, show_frames, show_rest
from solver.reports.report import BuildReport, Report, RoomReport
from solver.room.words import PART_WORDS, ranked_words


def show_campus(report: Report) -> None:
    """Print the plan of several rooms."""
    with page() as out:
        if report.outcome == "impossible":
            out.print(Text(f"Impossible, proven: {report.scenario}", "bold"))
            causes = report.clash.causes if report.clash else []
            for cause in causes:
                out.print(indented(Text(cause.text)))
            for line in report.clash.not_supplied if report.clash else []:
                out.print(indented(Text(line)))
            if not causes:
                out.print(indented(Text("No builds of all rooms keep every limit; no single count shows why.")))
            out.print(indented(Text("`strapwork why` says which rooms clash over what, and ways out.")))
            return
        if report.outcome == "unknown":
            out.print(Text(f"No answer yet: {report.scenario}", "bold"))
            out.print(indented(Text("The search ended before it found builds of all rooms or proved there are none.")))
            return
        build = report.builds[0]
        title = f"{report.scenario}, {len(report.rooms)} rooms, ranked by {ranked_words(report.criteria)}"
        out.print(Text(title, "bold"))
        out.print(Text("proven best" if report.proven else "not proven best; it is audited and works"))
        for note in report.notes:
            out.print(Text(note))
        out.print()
        counted = [*(["short"] if "short" in build.stages else []), *report.criteria]
        out.print(labelled([(criterion, _criterion(report, build, criterion)) for criterion in counted]))
        out.print()
        out.print(room_table(report))
        out.print()
        out.print(labelled([(room.name, _supplies(room)) for room in report.rooms]))
        show_frames(out, build, ranked=False)
        show_rest(out, report, build)
        out.print()
        out.print(Text(CAUTIONS))


def room_table(report: Report) -> RenderableType:
    """Every room's own figures, its margin among them."""
    table = grid("room", "frames", "unused", *PART_WORDS.values(), "cooling", right=range(2, 7))
    for room in report.rooms:
        unused = room.unused
        table.add_row(
            room.name,
            ", ".join(room.frames) or "none",
            str(unused.total),
            str(unused.stranded),
            str(unused.holes),
            str(unused.idle),
            kelvin(room.cooling.margin_k),
        )
    return table


def _criterion(report: Report, build: BuildReport, criterion: str) -> str:
    unused = build.unused
    values = {
        "short": f"{sum(short.short for short in build.short)} channels that are nice to have",
        "cost": f"{build.cost} {report.currency}",
        "unused": f"{unused.total} channels",
        "stranded": f"{unused.stranded} channels without a number",
        "holes": f"{unused.holes} gaps in the numbering",
        "idle": f"{unused.idle} channels not used",
        "cooling": f"{kelvin(build.cooling.margin_k)} at the warmest place",
    }
    said = values[criterion]
    if build.stages.get(criterion):
        return f"{said}, proven"
    bound = build.bounds.get(criterion)
    return f"{said}, not proven" + (f"; it cannot be better than {bound}" if bound else "")


def _supplies(room: RoomReport) -> str:
    """What goes to a room: out of stock, ordered."""
    parts = []
    if room.from_stock:
        parts.append(f"from stock {_counted(room.from_stock)}")
    if room.ordered:
        parts.append(f"order {_counted(room.ordered)}")
    return "; ".join(parts) or "nothing"


def _counted(items: Mapping[str, int]) -> str:
    return ", ".join(f"{count} x {item}" for item, count in items.items())

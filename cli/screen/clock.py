"""The screen of `clock`: who leads, each line with its devices in order, and who ends it."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from cli.screen.page import CAUTIONS, grid, indented, labelled, page, show_faulty
from solver.reports.clock_tree import ClockTree, ClockTrees
from solver.reports.wording import kilohertz

HEADINGS = {
    "found": "the best tree, proven",
    "impossible": "no tree feeds every device, proven",
    "unknown": "no tree was found within the limit",
    "drawn": "as its lines are drawn",
}

KINDS = {"word": "word clock", "aes3": "AES3", "madi": "MADI", "network": "network"}

ENDED = {
    "switch": "{last}: switch on",
    "fixed": "{last}, always",
    "terminator": "75 ohm plug at {last}",
    "unknown": "{last}? not told",
    "none": "-",
}

PRACTICE = (
    "Clock source first at power-up, and lock seen everywhere before amplifiers come on. Coax of 75 ohm, tees on the "
    "equipment, no stubs; AES3 on 110 ohm. Before a clock is moved or pulled: amplifiers off."
)


def show_clock(document: ClockTrees) -> None:
    """Print the clock of every room."""
    with page() as out:
        show_faulty(out, document.scenario, document.faults, "Do not cable the clock as it is drawn.")
        out.print(Text(document.scenario, "bold"))
        for tree in document.trees:
            out.print()
            _tree(out, tree)
        if any(tree.lines for tree in document.trees):
            out.print()
            out.print(Text(PRACTICE))
            out.print()
            out.print(Text(CAUTIONS))


def _tree(out: Console, tree: ClockTree) -> None:
    said = HEADINGS[tree.outcome]
    if tree.outcome == "found" and not tree.proven:
        said = "a tree; not proven that there is none better"
    room = f"{tree.room}, clock" if tree.room else "Clock"
    out.print(Text(f"{room}, {kilohertz(tree.sample_rate)}: {said}", "bold"))
    if tree.reference is not None:
        grade = "" if tree.ppm is None else f", within {tree.ppm:g} ppm"
        out.print(Text(f"{tree.reference} leads{grade}"))
    if tree.lines:
        cables = any(line.cable_m is not None for line in tree.lines)
        table = grid("line from", "kind", "to, in order", "ended by", *(["metres"] if cables else []), right=(4,))
        for line in tree.lines:
            length = [] if not cables else ["-" if line.cable_m is None else f"{line.cable_m:g}"]
            *before, last = line.devices
            ended = ENDED[line.ended_by].format(last=last) + f"; {', '.join(before)} not" * bool(before)
            table.add_row(line.source, KINDS[line.kind], ", ".join(line.devices), ended, *length)
        out.print()
        out.print(indented(table))
    told = []
    if tree.cable_m is not None:
        told.append(("Cable", f"{tree.cable_m:g} m in all"))
    if tree.terminators:
        told.append(("Plugs", f"{tree.terminators} x 75 ohm terminator"))
    converted = "keeps its own clock; its lines go through rate conversion"
    told += [("Converted", f"{name} {converted}") for name in tree.converted]
    if tree.in_the_way:
        told.append(("Without", f"{' or '.join(tree.in_the_way)} the others have one"))
    told += [("NOT CHECKED", what) for what in tree.not_checked]
    if told:
        out.print()
        out.print(labelled(told))

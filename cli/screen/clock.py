"""The screen of `clock`: who leads, each line with its devices in order, and who ends it."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from cli.screen.page import CAUTIONS, grid, indented, labelled, page, show_faulty
from solver.reports.clock_tree import ClockTree, ClockTrees
from solver.reports.tree_words import PRACTICE, columns, facts, heading, leads, line_row
from solver.reports.wording import kilohertz


def show_clock(document: ClockTrees) -> None:
    """Print the clock of every room."""
    with page() as out:
        show_faulty(out, document.scenario, document.faults, "Do not cable the clock as it is drawn.")
        out.print(Text(document.scenario, "bold"))
        for tree in document.trees:
            out.print()
            show_tree(out, tree)
        if any(tree.lines for tree in document.trees):
            out.print()
            out.print(Text(PRACTICE))
            out.print()
            out.print(Text(CAUTIONS))


def show_tree(out: Console, tree: ClockTree) -> None:
    """Print one clock."""
    room = f"{tree.room}, clock" if tree.room else "Clock"
    out.print(Text(f"{room}, {kilohertz(tree.sample_rate)}: {heading(tree)}", "bold"))
    if (leading := leads(tree)) is not None:
        out.print(Text(leading))
    if tree.lines:
        heads = columns(tree)
        table = grid(*heads, right=tuple(n for n, head in enumerate(heads) if head == "metres"))
        for line in tree.lines:
            table.add_row(*line_row(tree, line))
        out.print()
        out.print(indented(table))
    told = list(facts(tree))
    if told:
        out.print()
        out.print(labelled(told))

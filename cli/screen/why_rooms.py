"""The screen of rooms that cannot all be built: those impossible alone, those that clash, over what, and ways out."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console
from rich.text import Text

from cli.screen.page import grid, indented, page, show_assumed
from cli.screen.why import show_clash
from solver.reports.campus_why import CampusWhy


def show_why_rooms(answer: CampusWhy, path: Path, by: str) -> None:
    """Print why not all rooms can be built, or that they can."""
    with page() as out:
        if answer.outcome == "found":
            out.print(Text(f"Possible: {answer.scenario}, all rooms", "bold"))
            if answer.short:
                out.print(indented(Text("Not with all that is nice to have; over all rooms this gives way:")))
                for text in answer.short:
                    out.print(indented(indented(Text(text))))
                out.print(indented(Text(f"strapwork why {path} --room NAME says what it takes in one of them")))
            else:
                out.print(indented(Text("There is nothing to explain; `strapwork plan` shows the builds.")))
            return
        if answer.outcome == "unknown":
            out.print(Text(f"No answer yet: {answer.scenario}", "bold"))
            out.print(indented(Text("The search ended before it found builds of all rooms or proved there are none.")))
            return
        out.print(Text(f"Impossible, proven: {answer.scenario}", "bold"))
        for one in answer.alone:
            out.print()
            told = f'Room "{one.room}" is impossible even alone, with all stock, all offers and the whole budget'
            out.print(Text(told, "bold"))
            show_clash(out, one.clash, answer.currency, by)
            out.print()
            out.print(indented(Text(f'strapwork why {path} --room "{one.room}"')))
        if not answer.all_alone_known:
            out.print(indented(Text("The search ended before it was known which rooms are impossible even alone.")))
            return
        _others(out, answer)
        _ways(out, answer, by)
        if answer.causes and not answer.alone:
            out.print()
            out.print(Text("Counting alone shows it", "bold"))
            for cause in answer.causes:
                out.print(indented(Text(cause.text)))
        show_assumed(out, answer.assumed)


def _others(out: Console, answer: CampusWhy) -> None:
    """What is known of the rooms that are possible alone: whether they clash, and over what."""
    out.print()
    if answer.others != "impossible":
        out.print(
            Text(
                "The other rooms can be built together."
                if answer.others == "possible"
                else "Whether the other rooms can be built together was not found out in time."
            )
        )
        return
    sure = "without any one of them the others can" if answer.minimal else "not proven that each of them is needed"
    out.print(Text(f"These rooms cannot all be built, and each can alone; {sure}", "bold"))
    for room in answer.rooms:
        out.print(indented(Text(room)))
    if not answer.over:
        return
    out.print()
    out.print(Text("What they clash over, whatever there were of anything else", "bold"))
    for contested in answer.over:
        out.print(indented(Text(contested.text)))


def _ways(out: Console, answer: CampusWhy, by: str) -> None:
    """Single changes that help, each planned again."""
    if not answer.ways and not answer.complete:
        return
    out.print()
    if not answer.ways:
        tried = "neither more of an item in stock or on offer, nor more money, nor less of one need"
        out.print(Text(f"No single change makes it possible: {tried}", "bold"))
        return
    order = "the least work first" if by == "work" else "the least money first"
    out.print(Text(f"Ways out, {order}{'' if answer.complete else '; more may exist'}", "bold"))
    table = grid("", "work", "lid", "change", f"least cost {answer.currency}", right=(0, 4))
    for number, way in enumerate(answer.ways, start=1):
        changes = "\nand ".join(change.text for change in way.changes)
        table.add_row(str(number), way.work, "on" if way.lid_on else "off", changes, way.cost or "not proven")
    out.print(indented(table))
    if answer.complete:
        kinds = "more of one item in stock or on offer, with the money for it; more money; less of one need"
        out.print(indented(Text(f"None is missing of these kinds: {kinds}.")))
    out.print(indented(Text("Each was planned again for all rooms that are possible alone, and audited.")))

"""The screen of an impossible scenario: ways out first, then what clashes, then what counting shows."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from cli.screen.page import CAUTIONS, grid, indented, page, show_assumed
from solver.reports.explanation import Explanation
from solver.reports.report import Clash, Report
from solver.reports.wording import kilohertz
from solver.room.words import Work

WORK_COLUMN = 11
"""Characters of the column that says what work a way out means."""


def show_why(report: Report, by: str) -> None:
    """Print why there is no build, or that there is one."""
    with page() as out:
        if report.outcome == "found" and report.clash is not None:
            title = f"{report.scenario}, {kilohertz(report.sample_rate)}"
            out.print(Text(f"Possible, but not with all that is nice to have: {title}", "bold"))
            for note in report.notes:
                out.print(indented(Text(note)))
            show_clash(out, report.clash, report.currency, by)
            show_assumed(out, report.assumed)
            show_cautions(out, report.clash)
        elif report.outcome == "found":
            out.print(Text(f"Possible: {report.scenario}, {kilohertz(report.sample_rate)}", "bold"))
            out.print(indented(Text("There is nothing to explain; `strapwork plan` shows the builds.")))
        else:
            show_no_build(out, report, by)


def show_no_build(out: Console, report: Report | Explanation, by: str = "work") -> None:
    """Why there is none: proven impossible, or ended without an answer."""
    title = f"{report.scenario}, {kilohertz(report.sample_rate)}"
    if report.clash is None:
        out.print(Text(f"No answer yet: {title}", "bold"))
        out.print(indented(Text("The search ended before it found a build or proved that there is none.")))
        return
    out.print(Text(f"Impossible, proven: {title}", "bold"))
    show_clash(out, report.clash, report.currency, by)
    show_assumed(out, report.assumed)
    show_cautions(out, report.clash)


def show_cautions(out: Console, clash: Clash | None) -> None:
    """The usual cautions, where a way out is work inside a frame."""
    if clash is not None and not all(way.lid_on for way in clash.ways):
        out.print()
        out.print(Text(CAUTIONS))


def show_clash(out: Console, clash: Clash, currency: str, by: str, *, supposed: bool = False) -> None:
    """Ways out, what clashes, and arithmetic causes. `supposed` says that something was asked for that is kept."""
    if clash.not_supplied:
        out.print()
        out.print(Text("Missing: what needs it cannot stand there", "bold"))
        for line in clash.not_supplied:
            out.print(indented(Text(line)))
    if clash.ways:
        order = "the least work first" if by == "work" else "the least money first"
        whole = (
            "each smallest set of things to change is listed"
            if clash.complete
            else "not all are listed"
            if clash.searched
            else "more may exist"
        )
        out.print()
        out.print(Text(f"Ways out, {order}; {whole}", "bold"))
        table = grid("", "work", "lid", "change", f"least cost {currency}", right=(0, 4))
        for number, way in enumerate(clash.ways, start=1):
            changes = "\nand ".join(change.text for change in way.changes)
            table.add_row(str(number), _work(way.work), "on" if way.lid_on else "off", changes, way.cost or "")
        out.print(indented(table))
        for line in _not_listed(clash):
            out.print(indented(Text(line)))
    elif clash.complete:
        out.print()
        out.print(Text("No way out: no change to the scenario's own wishes makes it possible.", "bold"))
    if clash.because:
        one = len(clash.because) == 1
        out.print()
        words = f"{'this' if one else 'these'} cannot {'' if one else 'all '}be kept, whatever else gives way"
        out.print(Text(f"With that, {words}" if supposed else words.capitalize(), "bold"))
        for member in clash.because:
            out.print(indented(Text(member.text)))
        for asked in clash.hardware:
            out.print(indented(Text(f"given: {asked.text}")))
        out.print(indented(Text(_what_is_kept(clash))))
    if clash.causes:
        out.print()
        out.print(Text("Counting alone shows it", "bold"))
        for cause in clash.causes:
            out.print(indented(Text(cause.text)))
    if not (clash.ways or clash.because or clash.causes or clash.complete):
        out.print(indented(Text("No single count shows why; `strapwork why` searches the ways out.")))


def _what_is_kept(clash: Clash) -> str:
    """Of what clashes, how much can be kept and when: a clash is least only where all else gives way."""
    as_they_are = "Frames, boards and sample rate stay as they are in that"
    if len(clash.because) == 1:
        return f"{as_they_are}; of what else is asked for some may have to give way too."
    if not clash.minimal:
        return f"{as_they_are}; not proven that each of these is needed."
    return f"{as_they_are}; all but any one can be kept if all else that could gives way."


def _not_listed(clash: Clash) -> list[str]:
    """What a list of ways out leaves out, and why."""
    lines = []
    if clash.left_out:
        are = "is" if clash.left_out == 1 else "are"
        others = "" if clash.searched else ", and there may be others"
        shown = "of each kind of work those with the fewest changes are here"
        lines.append(f"{clash.left_out} more {are} not shown{others}; {shown}.")
    if clash.other_amounts:
        share = "shares" if clash.other_amounts == 1 else "share"
        lines.append(f"{clash.other_amounts} more {share} the changes of a way that is here out differently.")
    if clash.no_help_alone:
        lines.append(f"Of no help alone: {', '.join(clash.no_help_alone)}.")
    return lines


def _work(work: Work) -> str:
    """A kind of work in a narrow column."""
    words, lines = work.split(), [""]
    for word in words:
        lines[-1:] = [f"{lines[-1]} {word}".strip()] if len(lines[-1]) + len(word) < WORK_COLUMN else [lines[-1], word]
    return "\n".join(lines)

"""The screen of a plan: answer, choice, what to do, what is left, what was not checked."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import takewhile

from rich.text import Text

from cli.screen.page import CAUTIONS, grid, kelvin, page, show_frames, show_notes, show_rest
from cli.screen.why import show_no_build
from solver.reports.report import BuildReport, Report
from solver.reports.wording import kilohertz
from solver.room.words import MOVED_WORDS, PART_WORDS, ranked_words


def show_plan(report: Report, show: int) -> None:
    """Print a plan."""
    with page() as out:
        rate = kilohertz(report.sample_rate)
        if not report.builds:
            show_no_build(out, report)
            return
        out.print(Text(f"{report.scenario}, {rate}, ranked by {ranked_words(report.criteria)}", "bold"))
        out.print(Text(_summary(report)))
        if known := _proven_so_far(report):
            out.print(Text(f"Proven so far: {known}"))
        show_notes(out, report.notes)
        out.print()
        moving = [criterion for criterion in report.criteria if criterion in MOVED_WORDS]
        parts = [MOVED_WORDS[criterion] for criterion in moving] or [*PART_WORDS.values()]
        headings = ["", f"cost {report.currency}", "unused", *parts, "cooling", "settings; against 1"]
        table = grid(*headings, right=range(len(headings) - 1))
        for build in report.builds:
            unused = build.unused
            mark = "" if build.proven else "?"
            table.add_row(
                f"{build.rank}{mark}",
                build.cost,
                str(unused.total),
                *(str(getattr(build.moved, part)) for part in moving),
                *(str(getattr(unused, part)) for part in PART_WORDS if not moving),
                kelvin(build.cooling.margin_k),
                "\n".join(_told(build, report.builds)),
            )
        out.print(table)
        build = report.builds[show - 1]
        show_frames(out, build, ranked=True)
        show_rest(out, report, build)
        out.print()
        out.print(Text(CAUTIONS))


def _summary(report: Report) -> str:
    count = len(report.builds)
    builds = f"{count} build{'s' if count > 1 else ''}"
    if report.proven:
        proven = "each proven" if count > 1 else "proven best"
    else:
        proven = "not proven best; each is audited and works; ? marks those that better ones may exist for"
    more = "no further one exists" if report.complete else "more may exist"
    return f"{builds}, {proven}; {more}"


def _proven_so_far(report: Report) -> str:
    """What is proven of a first build that is not: criteria in their order, and what bounds the next one."""
    first = report.builds[0]
    met = [] if first.proven else [*takewhile(lambda c: first.stages.get(c, False), report.criteria)]
    said = [f"no build is better on {', '.join(met)}"] if met else []
    for criterion, bound in first.bounds.items():
        own = f"is short of fewer channels than {bound}" if criterion == "short" else f"has {criterion} below {bound}"
        said.append(f"none that equals it there {own}" if met else f"no build {own}")
    return "; ".join(said)


def _settings(build: BuildReport) -> str:
    frames = []
    for frame in build.frames:
        said = ", ".join(
            f"{group} {setting}"
            for group, setting in frame.straps.items()
            if setting != "open" and group not in frame.changes_no_numbers
        )
        frames.append(f"{frame.name}: {frame.board}{', ' if said else ''}{said}")
    return "; ".join(frames) or "no frame is needed"


def _told(build: BuildReport, builds: Sequence[BuildReport]) -> Iterator[str]:
    """The settings of a build, the cards that it has more or less than the first, what gives way, what is not checked.

    Settings, and what gives way, are left out where they are those of the first; what is not checked, where that is
    the same in all.
    """
    first = builds[0]
    settings, cards = _settings(build), _against(build, first)
    if build is first or settings != _settings(first):
        yield settings
    elif not cards:
        yield "as 1, with cards in other slots"
    if cards:
        yield cards
    if build.short != first.short:
        yield from (short.text for short in build.short)
    if build.unknown and len({frozenset(other.unknown) for other in builds}) > 1:
        yield f"NOT CHECKED: {', '.join(build.unknown)}"


def _cards(build: BuildReport) -> dict[str, Counter[str]]:
    return {frame.name: Counter(frame.cards.values()) for frame in build.frames}


def _against(build: BuildReport, first: BuildReport) -> str:
    """What a build seats more or less than the first one; by frame where there are several."""
    mine, theirs = _cards(build), _cards(first)
    frames = sorted({*mine, *theirs})
    said = []
    for name in frames:
        here, there = mine.get(name, Counter()), theirs.get(name, Counter())
        moved = [f"+{count} {card}" for card, count in sorted((here - there).items())]
        moved += [f"-{count} {card}" for card, count in sorted((there - here).items())]
        if moved:
            said.append(f"{f'{name}: ' if len(frames) > 1 else ''}{', '.join(moved)}")
    return "; ".join(said)

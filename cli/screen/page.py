"""The console that every screen uses, and the pieces that several screens share."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from math import ceil
from typing import TYPE_CHECKING

import click
from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, RenderableType, RenderResult
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from cli.screen.strip import strip
from solver.room.words import write_ranges

if TYPE_CHECKING:
    from solver.reports.element import BrokenLimit
    from solver.reports.report import BuildReport, FrameReport, Load, Report, Slot, StrapWork

CAUTIONS = (
    "Before you open a frame: disconnect the mains and wait; beware of static, hot surfaces and weight (two to lift); "
    "keep air paths free. The maker's manual wins over this plan. Mains and fixed wiring are for licensed people "
    "under local code."
)


LEAST_WIDTH = 20
"""A terminal that says it has fewer columns is not believed."""

GAP = 2
"""Blanks between columns."""


@contextmanager
def page(*, err: bool = False) -> Iterator[Console]:
    """A console that takes text as it is, without markup, emoji or highlights; no line ends in blanks.

    With `err` what it takes goes to standard error.
    """
    out = Console(markup=False, emoji=False, highlight=False)
    out.width = max(out.width, LEAST_WIDTH)
    with out.capture() as captured:
        yield out
    click.echo("\n".join(line.rstrip() for line in captured.get().splitlines()), err=err)


class Grid:
    """A table without lines. Cells wrap between words and nothing is cut.

    Where its columns have no room for their longest words, each row becomes a list of headings and cells instead.
    """

    def __init__(self, headings: Sequence[str], right: Sequence[int]) -> None:
        self.headings = headings
        self.right = right
        self.rows: list[tuple[str, ...]] = []

    def add_row(self, *cells: str) -> None:
        """Add a row with a cell for each heading."""
        self.rows.append(cells)

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        widths = self._widths(options.max_width)
        if widths is not None:
            yield self._columns(widths)
            return
        for first, *others in self.rows:
            yield Text(f"{self.headings[0]} {first}".strip(), "bold")
            yield indented(labelled([(h, c) for h, c in zip(self.headings[1:], others, strict=True) if c]))

    def fits(self, room: int) -> bool:
        """Whether its columns have room for their longest words."""
        return self._widths(room) is not None

    def _widths(self, room: int) -> list[int] | None:
        """A width for each column, the widest narrowed until all have room; None if that would part a word."""
        columns = [
            [line for cell in column for line in cell.split("\n")]
            for column in zip(self.headings, *self.rows, strict=True)
        ]
        widths = [max(map(cell_len, lines)) for lines in columns]
        least = [max(map(_longest_word, lines)) for lines in columns]
        while sum(widths) + GAP * (len(widths) - 1) > room:
            wide = [(width, column) for column, width in enumerate(widths) if width > least[column]]
            if not wide:
                return None
            widths[max(wide)[1]] -= 1
        return widths

    def _columns(self, widths: Sequence[int]) -> Table:
        table = Table(box=None, pad_edge=False, padding=(0, GAP, 0, 0), header_style="bold")
        for index, (heading, width) in enumerate(zip(self.headings, widths, strict=True)):
            table.add_column(heading, justify="right" if index in self.right else "left", overflow="fold", width=width)
        for row in self.rows:
            table.add_row(*row)
        return table


def grid(*headings: str, right: Sequence[int] = ()) -> Grid:
    """A table to be filled, the columns of `right` set to the right."""
    return Grid(headings, right)


def indented(table: RenderableType) -> Padding:
    """Set in by two."""
    return Padding(table, (0, 0, 0, 2), expand=False)


class Labelled:
    """Labels, and beside each a text that wraps; below it, where labels take half of the room or a word has none."""

    def __init__(self, rows: Sequence[tuple[str, str]]) -> None:
        self.rows = rows

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        beside = options.max_width - GAP - max((cell_len(label) for label, _ in self.rows), default=0)
        least = max((_longest_word(text) for _, text in self.rows), default=0)
        if beside >= max(least, options.max_width // 2):
            yield self._columns()
            return
        for label, text in self.rows:
            if cell_len(label) + GAP + cell_len(text) <= options.max_width and "\n" not in text:
                yield Text.assemble((label, "bold"), " " * GAP, text)
                continue
            if label:
                yield Text(label, "bold")
            yield indented(Text(text))

    def _columns(self) -> Table:
        table = Table(box=None, pad_edge=False, show_header=False, padding=(0, GAP, 0, 0))
        table.add_column(style="bold", no_wrap=True)
        table.add_column(overflow="fold")
        for label, text in self.rows:
            table.add_row(label, text)
        return table


def labelled(rows: Sequence[tuple[str, str]]) -> Labelled:
    """A label and a text in each row."""
    return Labelled(rows)


def _longest_word(text: str) -> int:
    return max(map(cell_len, text.split()), default=0)


def show_faulty(out: Console, title: str, faults: Sequence[BrokenLimit], beware: str) -> None:
    """At the top of a sheet: that its build is faulty, what not to do, and each fault; nothing where there is none."""
    if not faults:
        return
    count = len(faults)
    out.print(Text(f"FAULTY, {count} fault{'s' if count > 1 else ''}: {title}", "bold"))
    out.print(Text(beware))
    table = grid("rule", "fault")
    for fault in faults:
        table.add_row(fault.rule, fault.text)
    out.print(indented(table))
    out.print()


def all_settings(build: BuildReport) -> str:
    """Every setting of each frame."""
    each = ((frame.name, ", ".join(f"{g} {s}" for g, s in frame.straps.items())) for frame in build.frames)
    return "; ".join(f"{name}: {settings or 'none'}" for name, settings in each)


def kelvin(margin_k: float | None) -> str:
    """Whole kelvin, rounded down: the figure is a planning estimate."""
    return "not checked" if margin_k is None else f"{int(margin_k // 1)} K"


def slot_table(frame: FrameReport) -> Grid:
    """What stands where; alike empty slots share a row."""
    table = grid("slot", "card", "in", "out", "carries")
    for slot in frame.slots:
        if slot.card is None:
            table.add_row(write_ranges(slot.slots), "empty", "", "", "")
        else:
            table.add_row(write_ranges(slot.slots), slot.card, slot.inputs, slot.outputs, _carries(slot))
    return table


def _carries(slot: Slot) -> str:
    """Each need with its numbers, then what is left of the card."""
    both = len({s.direction for s in slot.serves}) > 1
    said = [f"{s.need} on {s.direction + ' ' if both else ''}{s.numbers}" for s in slot.serves]
    if slot.idle > slot.out_of_service:
        said.append(f"{slot.idle - slot.out_of_service} not used")
    if slot.out_of_service:
        said.append(f"{slot.out_of_service} out of service")
    if slot.stranded:
        said.append(f"{slot.stranded} without a number")
    return "; ".join(said)


def not_used(build: BuildReport) -> str:
    """How many numbered channels nothing uses, and how many of them are out of service."""
    out = sum(slot.out_of_service for frame in build.frames for slot in frame.slots)
    return f"{build.unused.idle} not used{f' ({out} out of service)' if out else ''}"


def show_frames(out: Console, build: BuildReport, *, ranked: bool, faulty: bool = False) -> None:
    """Straps and slots of every frame of a build, which is one of several if `ranked`.

    What a faulty one sets is shown as it is drawn: nobody is told to do it.
    """
    from solver.reports.cards_set import settings_words  # look-ups have these pieces without plans

    title = f"Build {build.rank}, f" if ranked else "F"
    for frame in build.frames:
        out.print()
        where = f"{frame.room}, frame" if frame.room and not ranked else f"{title}rame"
        out.print(Text(f"{where} {frame.name}: {frame.chassis} with {frame.board}", "bold"))
        out.print(indented(Text(_facts(frame))))
        if frame.strap_work:
            out.print()
            out.print(indented(_strap_table(frame, faulty)))
        elif frame.clock is not None:
            out.print()
            out.print(indented(labelled([("clock", frame.clock.text)])))
        lines = strip(frame, out.width - 2)
        if lines:
            out.print()
            out.print(indented(Text("\n".join(lines))))
        out.print()
        out.print(indented(slot_table(frame)))
        rows = [("loads", "; ".join(map(_load, frame.loads)))]
        named = [f"{slot.serial} in slot {slot.slots[0]}" for slot in frame.slots if slot.serial]
        if named:
            rows.insert(0, ("serials", ", ".join(named)))
        sets = [f"slot {slot.slots[0]}: {settings_words(slot.settings)}" for slot in frame.slots if slot.settings]
        if sets:
            rows.insert(0, ("set cards", "\n".join(sets)))
        plugs = _connectors(frame)
        if plugs:
            rows.append(("connectors", plugs))
        out.print()
        out.print(indented(labelled(rows)))


def _load(load: Load) -> str:
    """What is used of a limit, and what of it is asked for as phantom power."""
    unit = " A" if load.unit == "A" else ""
    phantom = "" if load.phantom is None else f" ({load.phantom}{unit} of phantom power asked for)"
    return f"{load.what} {load.used} of {load.limit}{unit}{phantom}"


def _facts(frame: FrameReport) -> str:
    """How high it is, and what it draws and gives off at most."""
    supply = "" if frame.supply_height_u is None else f", and {frame.supply_height_u} U for its supply outside"
    if frame.mains_w is None:
        power = "what it draws is not known"
    else:
        loss = "" if frame.supply_loss_known else ", its supply's own loss left aside"
        power = f"from the mains at most {ceil(frame.mains_w)} W, {frame.heat_btu_h} BTU/h of heat{loss}"
    return f"{frame.height_u} U high{supply}; {power}"


def _strap_table(frame: FrameReport, faulty: bool) -> Grid:
    """What is done to each strap group, or how a faulty build has it, and what that does."""
    table = grid("straps", "as drawn" if faulty else "do", "so that")
    for work in frame.strap_work:
        if faulty:
            done = _as_drawn(work, frame.straps.get(work.group))
        elif work.position is not None:
            done = f"set to {work.position}"
        else:
            said = [f"close {', '.join(work.close)}"] if work.close else []
            said += [f"leave {', '.join(work.leave_open)} open"] if work.leave_open else []
            done = "; ".join(said) or ("ask first" if work.effect else "which setting?")
        table.add_row(work.group, done, work.effect)
    if frame.clock is not None and not any(work.effect.startswith(frame.clock.text) for work in frame.strap_work):
        table.add_row("clock", "", frame.clock.text)
    return table


def _as_drawn(work: StrapWork, setting: str | None) -> str:
    """How a build has a strap group: what is closed and open, a position, or a setting that is none of the group."""
    if work.position is not None:
        said = f"at {work.position}"
    elif work.close or work.leave_open:
        closed = [f"{', '.join(work.close)} closed"] if work.close else []
        said = "; ".join([*closed, *([f"{', '.join(work.leave_open)} open"] if work.leave_open else [])])
    else:
        said = "no setting" if setting is None else setting if setting == "open" else f"at {setting}"
    return f"{said} (assumed)" if work.assumed else said


def _connectors(frame: FrameReport) -> str:
    """Each sort of connector with the slots that have it."""
    slots: dict[str, list[int]] = {}
    for slot in frame.slots:
        for connector in slot.connectors:
            slots.setdefault(connector, []).extend(slot.slots)
    return "; ".join(
        f"{connector} in slot{'s' if len(own) > 1 else ''} {write_ranges(own)}" for connector, own in slots.items()
    )


def show_rest(out: Console, report: Report, build: BuildReport, days: Mapping[str, BuildReport] | None = None) -> None:
    """What gives way, is hottest, spare, ordered, left over and not checked.

    Parameters
    ----------
    days
        The same seating as it is on each kind of day, by name, where there are several.
    """
    rows = [("" if index else "Gives way", short.text) for index, short in enumerate(build.short)]
    rows += [] if build.moved is None else [("Change", build.moved.text)]
    cooling = build.cooling
    if cooling.slots:
        where = "beside slot" if len(cooling.slots) == 1 else "between slots"
        slots = " and ".join(map(str, cooling.slots))
        room = f"{cooling.room}, " if cooling.room else ""
        rows.append(
            (
                "Hottest",
                f"{room}frame {cooling.frame}, {where} {slots}: about {kelvin(cooling.margin_k)} to spare (estimate)",
            )
        )
    rows += [("" if index else "Latency", latency.text) for index, latency in enumerate(build.latencies)]
    rows += [("" if index else "Survives", failure) for index, failure in enumerate(build.survives)]
    rows += [("" if index else "Air", told) for index, told in enumerate(build.air)]
    spare = [f"{day}: {'; '.join(_spare(own))}" for day, own in days.items()] if days else _spare(build)
    rows += [("" if index else "Spare", line) for index, line in enumerate(spare)]
    if build.budget_left is not None:
        rows.append(("Money", f"{build.cost} spent, {build.budget_left} {report.currency} of the budget left"))
    lines = order_rows(build)
    total = (
        f"total {build.cost} {report.currency}{' for the others' if build.not_to_be_had and build.order_lines else ''}"
    )
    lines += [total] if build.order_lines else [] if lines else ["nothing"]
    rows += [("" if index else "Order", line) for index, line in enumerate(lines)]
    shelf = [f"{count} x {item}" for item, count in build.stock_left.items()]
    away = [f"{count} x {item}" for item, count in build.out_of_service.items()]
    nothing = f"nothing; all that is owned{' and in service' if away else ''} is fitted"
    rows.append(("Not fitted", f"owned: {', '.join(shelf)}" if shelf else nothing))
    rows += [("Out of service", ", ".join(away))] if away else []
    rows += assumed_rows(report.assumed)
    every = list(days.values()) if days else [build]
    rows += [("WARNING", warning) for warning in dict.fromkeys(w for own in every for w in own.warnings)]
    rows += [("NOT CHECKED", what) for what in dict.fromkeys(what for own in every for what in own.not_checked)]
    out.print()
    out.print(labelled(rows))


def _spare(build: BuildReport) -> list[str]:
    """What is left by signal, with what of it is short; and of what nothing is left, though it is asked for."""
    short = f"under a tenth of what {'a room asks' if any(f.room for f in build.frames) else 'is asked'}"
    left = [
        f"{s.channels} {'/'.join(s.signals)} {s.direction}{f' ({short})' if s.scarce else ''}"
        for s in build.spare
        if s.channels
    ]
    none = [f"no {'/'.join(s.signals)} {s.direction}" for s in build.spare if s.scarce and not s.channels]
    return [", ".join(told) for told in (left, none) if told] or ["none"]


def order_rows(build: BuildReport) -> list[str]:
    """What is ordered, a line for each price; what cannot be had has none."""
    lines = [f"{line.count} x {line.item} at {line.price} = {line.total}" for line in build.order_lines]
    return lines + [f"{count} x {item}: cannot be had, so no price" for item, count in build.not_to_be_had.items()]


def without_price(build: BuildReport) -> str:
    """What a cost leaves out."""
    count = sum(build.not_to_be_had.values())
    return f" without {count} item{'s' if count > 1 else ''} that cannot be had" if count else ""


def assumed_rows(assumed: Sequence[str]) -> list[tuple[str, str]]:
    """What stands in where the scenario does not say; no row where it says all."""
    return [("Assumed", f"{'; '.join(assumed)}, since the scenario does not say")] if assumed else []


def show_notes(out: Console, notes: Iterable[str]) -> None:
    """What is worth knowing of an answer, a line each."""
    for note in notes:
        out.print(Text(f"NOTE: {note}"))


def show_judged(out: Console, report: Report, title: str, clean: str = "Clean") -> None:
    """What is wrong with builds, or that they are clean, as in "Clean on band, film", and notes of what is no fault."""
    if report.faults:
        count = len(report.faults)
        out.print(Text(f"{count} fault{'s' if count > 1 else ''}: {title}", "bold"))
        table = grid("rule", "fault")
        for fault in report.faults:
            table.add_row(fault.rule, fault.text)
        out.print(indented(table))
    else:
        out.print(Text(f"{clean}: {title}", "bold"))
    show_notes(out, report.notes)


def show_assumed(out: Console, assumed: Sequence[str]) -> None:
    """The same below a screen that has no such rows."""
    if assumed:
        out.print()
        out.print(labelled(assumed_rows(assumed)))

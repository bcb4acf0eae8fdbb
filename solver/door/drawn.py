"""What is asked of a build that is given, without any search."""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.answers import asking

if TYPE_CHECKING:
    from pathlib import Path

    from solver.reports.channels import ChannelList
    from solver.reports.found import Found
    from solver.reports.inputlist import NumberedList
    from solver.reports.labels import LabelList
    from solver.reports.looms import LoomList
    from solver.reports.report import Report
    from solver.room.build import Build
    from solver.room.hardware import Hardware
    from solver.room.scenario import Scenario


def check(scenario: str | Path | Scenario, build: str | Path | Build, *, hardware: Hardware | None = None) -> Report:
    """Check a build against a scenario, rule by rule, without any search.

    Parameters
    ----------
    scenario, hardware
        As for `plan`.
    build
        A build file, or a build.

    Returns
    -------
    Report
        `outcome` is ``clean`` or ``faulty``, with `faults`.

    Raises
    ------
    FileFaults
        With every fault of every file.
    WrongQuestion
        If a scenario that is no file comes without its hardware.

    Examples
    --------
    >>> report = solver.check("scenarios/quay-filled.toml", "scenarios/quay-filled-drawn.toml")
    >>> report.outcome, len(report.faults) > 0
    ('faulty', True)
    """
    from solver.answers.check import check

    return check(*asking.drawn(scenario, build, hardware))


def channels(
    scenario: str | Path | Scenario,
    build: str | Path | Build,
    *,
    hardware: Hardware | None = None,
    room: str | None = None,
    setup: str | None = None,
    phase: str | None = None,
    by: asking.ListedBy = "number",
) -> ChannelList:
    """List every number of a build, the card channel that answers it, and what it carries.

    Parameters
    ----------
    scenario, hardware
        As for `plan`.
    build
        The file of a build, or a build that stands for itself.
    room
        One of several rooms; None for all of them.
    setup, phase
        One of several kinds of day, or one of several phases; None where there are none.
    by
        What the rows are in order of.

    Returns
    -------
    ChannelList
        `rows` has a row a number; `as_csv()` is the same for a spreadsheet. `outcome` is ``faulty`` where `check`
        finds the build so.

    Raises
    ------
    FileFaults, WrongQuestion
        As for `check`; also if no room has that name.

    Examples
    --------
    >>> found = solver.channels("scenarios/quay-filled.toml", "scenarios/quay-filled-drawn.toml")
    >>> found.outcome, found.rows[0].number, found.rows[0].slot
    ('faulty', 1, 1)
    """
    asking.one_of("by", by, tuple(asking.LISTED_BY))
    files, new = asking.on_day(scenario, build, hardware, setup, phase)
    from solver.answers.channels import channels

    return channels(files, new, room, by)


def looms(
    scenario: str | Path | Scenario,
    build: str | Path | Build,
    *,
    hardware: Hardware | None = None,
    room: str | None = None,
    setup: str | None = None,
    phase: str | None = None,
) -> LoomList:
    """List the looms of a build, pin by pin, and the plugs that they take at the cards.

    Parameters
    ----------
    scenario, hardware
        As for `plan`.
    build
        The file of a build, or a build that stands for itself.
    room
        One of several rooms; None for all of them.
    setup, phase
        One of several kinds of day, or one of several phases; None where there are none.

    Returns
    -------
    LoomList
        `looms` has one for each connector with a number, `not_wired` the numbers whose pins no file tells; `as_csv()`
        is for a spreadsheet.

    Raises
    ------
    FileFaults, WrongQuestion
        As for `check`; also if no room has that name.

    Examples
    --------
    >>> found = solver.looms("scenarios/quay-mix-rig.toml", "scenarios/quay-mix-rig-next-drawn.toml")
    >>> found.looms[0].name, found.looms[0].lines[0].hot, found.not_wired
    ('M1-in', '24', [])
    """
    files, new = asking.on_day(scenario, build, hardware, setup, phase)
    from solver.answers.looms import looms

    return looms(files, new, room)


def labels(
    scenario: str | Path | Scenario,
    build: str | Path | Build,
    *,
    hardware: Hardware | None = None,
    room: str | None = None,
    setup: str | None = None,
    phase: str | None = None,
    width: int = 12,
) -> LabelList:
    """Make texts for labels: rows of bays, slots, both ends of looms.

    Parameters
    ----------
    scenario, hardware
        As for `plan`.
    build
        The file of a build, or a build that stands for itself.
    room
        One of several rooms; None for all of them.
    setup, phase
        One of several kinds of day, or one of several phases; None where there are none.
    width
        Characters that a label has room for, 1 to 60.

    Returns
    -------
    LabelList
        `labels` with their texts, and in full; `as_csv()` is for label printers.

    Raises
    ------
    FileFaults, WrongQuestion
        As for `check`; also if no room has that name.

    Examples
    --------
    >>> found = solver.labels("scenarios/quay-mix-rig.toml", "scenarios/quay-mix-rig-next-drawn.toml")
    >>> found.labels[0].strip, found.labels[0].at, found.labels[0].text
    ('P1 A', 'A1', 'outb rtns 1')
    """
    asking.whole("width", width, asking.MOST_LABEL)
    files, new = asking.on_day(scenario, build, hardware, setup, phase)
    from solver.answers.labels import labels

    return labels(files, new, room, width)


def find(
    scenario: str | Path | Scenario,
    build: str | Path | Build,
    what: str,
    *,
    hardware: Hardware | None = None,
    room: str | None = None,
    setup: str | None = None,
    phase: str | None = None,
) -> Found:
    """Find a number, a need or one of its channels, a slot, a card or a loom, and all that is on its path.

    Parameters
    ----------
    scenario, hardware
        As for `plan`.
    build
        The file of a build, or a build that stands for itself.
    what
        A name: ``A:37``, ``A:in:37``, ``drum mics``, ``drum mics 3``, ``slot:A:5``, ``card:mic-8``,
        ``loom:A5-in``, ``bay:B14``.
    room
        One of several rooms; None for all of them.
    setup, phase
        One of several kinds of day, or one of several phases; None where there are none.

    Returns
    -------
    Found
        `channels` with their paths, and in `find` of each the names that lead on and back.

    Raises
    ------
    FileFaults, WrongQuestion
        As for `check`; also if nothing has that name.

    Examples
    --------
    >>> found = solver.find("scenarios/quay-mix-rig.toml", "scenarios/quay-mix-rig-next-drawn.toml", "M:in:17")
    >>> found.channels[0].find["need"], found.channels[0].find["loom"]
    ('outboard returns 9', 'loom:M2-in')
    """
    files, new = asking.on_day(scenario, build, hardware, setup, phase)
    from solver.answers.find import find

    return find(files, new, what, room)


def input_list(
    scenario: str | Path | Scenario,
    build: str | Path | Build,
    *,
    hardware: Hardware | None = None,
    room: str | None = None,
    setup: str | None = None,
    phase: str | None = None,
    check: str | Path | None = None,
) -> NumberedList:
    """Fill the numbers of a build into the input list of a scenario; the command is called ``list``.

    Parameters
    ----------
    scenario, hardware
        As for `plan`. A scenario that is no file has no list; one is made of its needs.
    build
        The file of a build, or a build that stands for itself.
    room
        One of several rooms, which has to be named.
    check
        A list that somebody edited, to compare with the build.

    Returns
    -------
    NumberedList
        `lines` has a row for each line that asks for a channel; `as_csv()` is the list as a file, with other numbers
        and nothing else changed; `changes` are what the list to compare has otherwise.

    Raises
    ------
    FileFaults, WrongQuestion
        As for `check`; also with all faults of the list to compare, or if no room has that name.

    Examples
    --------
    >>> found = solver.input_list("scenarios/quay-drum-list.toml", "scenarios/quay-drum-list-drawn.toml")
    >>> [(line.name, line.number) for line in found.lines[:2]]
    [('kick in', 1), ('kick out', 2)]
    """
    from pathlib import Path

    files, new = asking.on_day(scenario, build, hardware, setup, phase)
    from solver.answers.input_list import input_list

    return input_list(files, new, room, None if check is None else Path(check))

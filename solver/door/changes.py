"""What changes hands between two builds, in which order, and what is left beside the frame: asked of given builds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.answers import asking

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path
    from typing import Literal

    from solver.reports.difference import Difference
    from solver.reports.pack import Pack
    from solver.reports.work_order import WorkOrder
    from solver.room.build import Build
    from solver.room.hardware import Hardware
    from solver.room.scenario import Scenario


def diff(
    scenario: str | Path | Scenario,
    old: str | Path | Build,
    new: str | Path | Build,
    *,
    hardware: Hardware | None = None,
    room: str | None = None,
    setup: str | None = None,
    from_setup: str | None = None,
    phase: str | None = None,
    from_phase: str | None = None,
) -> Difference:
    """Say what changes hands between two builds: boards, straps, cards, lids, and where needs' channels are.

    Parameters
    ----------
    scenario, hardware
        As for `plan`.
    old, new
        What stands and what is to stand, each the file of a build or a build that stands for itself.
    room
        One of several rooms; None for all of them.
    setup, from_setup
        The kind of day of either build, where there are several; that of what stands is `setup` where it is None.
    phase, from_phase
        The same of phases; that of what stands is the one before `phase` where nothing says what stands.

    Returns
    -------
    Difference
        `nothing_to_do` where both are the same. `outcome` is ``faulty`` where `check` finds the later build so.

    Raises
    ------
    FileFaults, WrongQuestion
        As for `check`; also if no room has that name.

    Examples
    --------
    >>> first, then = "scenarios/quay-mix-rig-first-drawn.toml", "scenarios/quay-mix-rig-next-drawn.toml"
    >>> found = solver.diff("scenarios/quay-mix-rig.toml", first, then)
    >>> found.lids_off, len(found.cards)
    (['M'], 6)
    >>> solver.diff("scenarios/quay-mix-rig.toml", then, then).nothing_to_do
    True
    """
    change = asking.changed(scenario, new, old, hardware, (setup, phase), (from_setup, from_phase))
    assert change.old is not None
    from solver.answers.diff import diff

    return diff(change.loaded, change.old, change.new, room, change.earlier)


def work_order(
    scenario: str | Path | Scenario,
    build: str | Path | Build,
    *,
    old: str | Path | Build | None = None,
    hardware: Hardware | None = None,
    room: str | None = None,
    setup: str | None = None,
    from_setup: str | None = None,
    phase: str | None = None,
    from_phase: str | None = None,
    time: Literal["10", "30", "all"] = "all",
) -> WorkOrder:
    """Say what to do until a build stands, in the safe order, and how to test it.

    Parameters
    ----------
    scenario, hardware
        As for `plan`.
    build
        The file of a build, or a build that stands for itself.
    old
        What stands, in the same forms; None for what the scenario says (`installed`), or else for empty frames.
    room
        One of several rooms; None for all of them.
    setup, from_setup
        The kind of day of either build, where there are several; that of what stands is `setup` where it is None.
    phase, from_phase
        The same of phases; that of what stands is the one before `phase` where nothing says what stands.
    time
        Minutes that there are to test, ``10`` or ``30``, or ``all`` for every check.

    Returns
    -------
    WorkOrder
        `sections` has the steps, `test_sheet` what to test, `retype` the numbers that change. `outcome` is ``faulty``
        where `check` finds the build so.

    Raises
    ------
    FileFaults, WrongQuestion
        As for `check`; also if no room has that name.

    Examples
    --------
    >>> order = solver.work_order("scenarios/quay-filled.toml", "scenarios/quay-filled-drawn.toml", time="10")
    >>> order.outcome, order.cards_in, order.sections[0].steps[0].action
    ('faulty', 10, 'amplifiers off')
    """
    asking.one_of("time", time, tuple(asking.TESTED))
    change = asking.changed(scenario, build, old, hardware, (setup, phase), (from_setup, from_phase))
    from solver.answers.work_order import work_order

    return work_order(change.loaded, change.new, change.old, room, time, change.earlier)


def pack(
    scenario: str | Path | Scenario,
    build: str | Path | Build,
    *,
    old: str | Path | Build | None = None,
    hardware: Hardware | None = None,
    room: str | None = None,
    setup: str | None = None,
    from_setup: str | None = None,
    phase: str | None = None,
    from_phase: str | None = None,
    width: int = 12,
    made_on: date | None = None,
) -> Pack:
    """Say all that is said of a build, as the folder of the command has it in ``pack.json``; nothing is written.

    Parameters
    ----------
    scenario, hardware
        As for `plan`.
    build
        The file of a build, or a build that stands for itself.
    old
        What stands, in the same forms; None for what the scenario says (`installed`), or else for empty frames.
    room
        One of several rooms; None for all of them.
    setup, from_setup
        The kind of day of either build, where there are several; that of what stands is `setup` where it is None.
    phase, from_phase
        The same of phases; that of what stands is the one before `phase` where nothing says what stands.
    width
        Characters that a label has room for, 1 to 60.
    made_on
        The date that sheets bear; None for today.

    Returns
    -------
    Pack
        The documents of `check`, `channels`, `looms`, `labels` and `work_order`, test sheets, and what to retype in
        the recorder. `outcome` is ``faulty`` where any of them is; `tables()` are the CSV files by their names.

    Raises
    ------
    FileFaults, WrongQuestion
        As for `check`; also if no room has that name.

    Examples
    --------
    >>> first, then = "scenarios/quay-mix-rig-first-drawn.toml", "scenarios/quay-mix-rig-next-drawn.toml"
    >>> found = solver.pack("scenarios/quay-mix-rig.toml", then, old=first)
    >>> found.outcome, found.recorder[8].old_number, found.recorder[8].number
    ('clean', 9, 17)
    """
    from datetime import date
    from pathlib import Path

    asking.whole("width", width, asking.MOST_LABEL)
    change = asking.changed(scenario, build, old, hardware, (setup, phase), (from_setup, from_phase))
    from solver.answers.pack import contents_of, pack

    read = dict(change.loaded.read)
    if isinstance(old, str | Path):
        read[Path(old)] = "the build that stands"
    made = made_on or date.today()
    return pack(change.loaded, change.new, made, change.old, room, width, contents_of(read), change.earlier)

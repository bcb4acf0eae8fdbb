"""Which line feeds whom with one clock."""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.answers import asking

if TYPE_CHECKING:
    from pathlib import Path

    from solver.reports.clock_tree import ClockTrees
    from solver.room.build import Build
    from solver.room.hardware import Hardware
    from solver.room.scenario import Scenario


def clock(
    scenario: str | Path | Scenario,
    build: str | Path | Build | None = None,
    *,
    hardware: Hardware | None = None,
    limit_s: float | None = None,
) -> ClockTrees:
    """Find the best way to feed every device of a scenario with one clock, or check the lines that it draws.

    Parameters
    ----------
    scenario, hardware, limit_s
        As for `plan`.
    build
        The file of a build, or a build that stands for itself, whose boards and used frames count; None for what the
        scenario alone says.

    Returns
    -------
    ClockTrees
        For each room who leads and every line in order, or the devices that are in the way.

    Raises
    ------
    FileFaults, WrongQuestion, SearchError
        As for `plan`; also if no room has a device for a clock.

    Examples
    --------
    >>> found = solver.clock("scenarios/quay-mix-rig.toml")
    >>> found.trees[0].reference, [line.devices for line in found.trees[0].lines]
    ('house clock', [['M', 'recorder']])
    """
    if build is None:
        files, stands = asking.loaded(scenario, hardware), None
    else:
        files, stands = asking.drawn(scenario, build, hardware)
    from solver.answers.clock_tree import clock_tree

    return asking.searched(limit_s, lambda clock: clock_tree(files, clock, stands))

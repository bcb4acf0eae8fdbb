"""Where everything goes in the racks of a scenario, and what a build draws from the mains."""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.answers import asking

if TYPE_CHECKING:
    from pathlib import Path

    from solver.reports.power import Power
    from solver.reports.rack import Racks
    from solver.room.build import Build
    from solver.room.hardware import Hardware
    from solver.room.scenario import Scenario


def rack(
    scenario: str | Path | Scenario,
    build: str | Path | Build | None = None,
    *,
    anew: bool = False,
    hardware: Hardware | None = None,
    limit_s: float | None = None,
    workers: int | None = None,
) -> Racks:
    """Find a place for everything in the racks of a scenario.

    Parameters
    ----------
    scenario, hardware, limit_s, workers
        As for `plan`.
    build
        The file of a build, or a build that stands for itself; None for the best plan.
    anew
        Whether racks that the build draws are given new places.

    Returns
    -------
    Racks
        Each rack with everything in its place, or what would make places for it.

    Raises
    ------
    FileFaults, WrongQuestion, SearchError
        As for `plan`; also if the scenario has no rack.

    Examples
    --------
    >>> found = solver.rack("scenarios/quay-live-room.toml", "scenarios/quay-live-room-drawn.toml")
    >>> {place.name: place.unit for place in found.racks[0].places}["A"]
    6
    """
    threads = asking.threads(workers)
    if build is None:
        files, stands = asking.loaded(scenario, hardware), None
    else:
        files, stands = asking.drawn(scenario, build, hardware)
    from solver.answers.rack import rack

    return asking.searched(limit_s, lambda clock: rack(files, stands, threads, clock, anew=anew)[0])


def power(scenario: str | Path | Scenario, build: str | Path | Build, *, hardware: Hardware | None = None) -> Power:
    """Say what a build draws from the mains, by frame and by breaker.

    Parameters
    ----------
    scenario, hardware
        As for `plan`.
    build
        The file of a build, or a build that stands for itself.

    Returns
    -------
    Power
        Figures at full load; what no file tells is null and named in `not_checked`.

    Raises
    ------
    FileFaults, WrongQuestion
        As for `check`.

    Examples
    --------
    >>> found = solver.power("scenarios/quay-mix-rig.toml", "scenarios/quay-mix-rig-first-drawn.toml")
    >>> [(breaker.name, breaker.feeds) for breaker in found.breakers]
    [('7', ['M'])]
    """
    files, stands = asking.drawn(scenario, build, hardware)
    from solver.answers.power import power

    return power(files, stands)

"""What a build loses where something fails, and what mends it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.answers import asking

if TYPE_CHECKING:
    from pathlib import Path

    from solver.reports.failed import Failed, SinglePoints
    from solver.room.build import Build
    from solver.room.hardware import Hardware
    from solver.room.scenario import Scenario


def failed(
    scenario: str | Path | Scenario,
    build: str | Path | Build,
    *what: str,
    room: str | None = None,
    hardware: Hardware | None = None,
    limit_s: float | None = None,
    workers: int | None = None,
) -> Failed:
    """Say what a build loses where something fails, and what mends it, the least work first.

    Parameters
    ----------
    scenario, hardware, limit_s, workers
        As for `plan`.
    build
        The file of a build, or a build that stands for itself.
    what
        Names as `find` knows them, which fail together: ``slot:A:5`` or ``card:mic-8`` for cards, ``A:in:37`` for one
        channel, ``loom:A5-in``, ``bay:B14``; and of a frame ``frame:A`` for all of it, ``board:A``, ``supply:A`` for
        one of its supplies, ``fan:A`` for one of its fans, ``rail:A:+5``.
    room
        One of several rooms.

    Returns
    -------
    Failed
        `repairs` has the best patching to idle numbers, the best from the shelf, what needs that are less important
        can give, and, where the shelf does not mend all, the best with a hire and with an order.

    Raises
    ------
    FileFaults, WrongQuestion, SearchError
        As for `plan`; also if nothing is named or has such a name.

    Examples
    --------
    >>> room, stands = "scenarios/quay-live-room.toml", "scenarios/quay-live-room-drawn.toml"
    >>> found = solver.failed(room, stands, "slot:A:5")
    >>> [(repair.how, repair.outcome) for repair in found.repairs]
    [('patching', 'whole'), ('shelf', 'none'), ('order', 'whole')]
    """
    threads = asking.threads(workers)
    files, stands = asking.drawn(scenario, build, hardware)
    from solver.answers.failed import failed

    return asking.searched(limit_s, lambda clock: failed(files, stands, what, threads, clock, room))


def single_points(
    scenario: str | Path | Scenario,
    build: str | Path | Build,
    *,
    room: str | None = None,
    hardware: Hardware | None = None,
    limit_s: float | None = None,
) -> SinglePoints:
    """Say what a build loses when one card, supply, board or frame fails, for each of them, the worst first.

    Parameters
    ----------
    scenario, hardware, limit_s
        As for `plan`.
    build
        The file of a build, or a build that stands for itself.
    room
        One of several rooms.

    Returns
    -------
    SinglePoints
        `points`, each with the channels that are lost once all is patched that can be.

    Raises
    ------
    FileFaults, WrongQuestion
        As for `check`.

    Examples
    --------
    >>> found = solver.single_points("scenarios/quay-live-room.toml", "scenarios/quay-live-room-drawn.toml")
    >>> [(point.what, point.lost) for point in found.points[:2]]
    [('board:A', 59), ('slot:A:1', 8)]
    """
    files, stands = asking.drawn(scenario, build, hardware)
    from solver.answers.single_points import single_points

    return asking.searched(limit_s, lambda clock: single_points(files, stands, clock, room))

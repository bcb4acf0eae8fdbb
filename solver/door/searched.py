"""What is asked of the builds that a search finds: which there are, how far each need can go, what one is made of."""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.answers import asking

if TYPE_CHECKING:
    from pathlib import Path

    from solver.reports.explanation import Explanation
    from solver.reports.reach import ReachReport
    from solver.reports.report import Report
    from solver.reports.share import RoomAnswers
    from solver.room.build import Build
    from solver.room.hardware import Hardware
    from solver.room.scenario import Scenario


def plan(
    scenario: str | Path | Scenario,
    *,
    hardware: Hardware | None = None,
    top: int = 5,
    limit_s: float | None = None,
    workers: int | None = None,
) -> Report:
    """Rank the builds that a scenario makes possible; of several rooms together, find the best.

    Parameters
    ----------
    scenario
        A file, or a scenario that stands for itself.
    hardware
        That of a scenario that is no file.
    top
        At most so many builds, 1 to 100; several rooms have one.
    limit_s
        Seconds that the search may take, from 0.01; None for no limit.
    workers
        Threads, 1 to 64; None for one for each core, at most 4. A proven answer does not depend on it.

    Returns
    -------
    Report
        `outcome` is ``found``, ``impossible`` (proven, with `clash`) or ``unknown``, where a limit was over first.

    Raises
    ------
    FileFaults
        With every fault of every file.
    WrongQuestion
        If a parameter cannot be as it is.
    SearchError
        If the search and the audit of its builds disagree, which is a defect.

    Examples
    --------
    >>> report = solver.plan("scenarios/quay-mix-rig.toml", top=2, limit_s=60)
    >>> [(build.cost, build.unused.total, build.proven) for build in report.builds]
    [('3030.00', 12, True), ('3220.00', 12, True)]
    """
    asking.whole("top", top, asking.MOST_BUILDS)
    threads = asking.threads(workers)
    files = asking.loaded(scenario, hardware)
    from solver.answers.asked import surveyed
    from solver.answers.plan import plan

    asked = surveyed(files)
    return asking.searched(limit_s, lambda clock: plan(asked, files, top, threads, clock).report)


def front(
    scenario: str | Path | Scenario,
    *,
    hardware: Hardware | None = None,
    room: str | None = None,
    limit_s: float | None = None,
    workers: int | None = None,
) -> Report | RoomAnswers:
    """Find every build that no other beats on the scenario's criteria.

    Parameters
    ----------
    scenario, hardware, limit_s, workers
        As for `plan`.
    room
        One of several rooms.

    Returns
    -------
    Report or RoomAnswers
        The builds, and under `front` what each step from one to the next buys; about one of several rooms two such
        answers: with what the best plan of all rooms leaves for it, and alone with everything. Of phases, under
        `phases.front`, the ways to buy that no other beats in the cost of the first one and of all.

    Raises
    ------
    FileFaults, WrongQuestion, SearchError
        As for `plan`; also if there are several rooms and none is named, or none has that name.

    Examples
    --------
    >>> report = solver.front("scenarios/quay-mix-rig.toml")
    >>> [build.cost for build in report.builds]
    ['3030.00', '3220.00', '2380.00']
    """
    threads = asking.threads(workers)
    files = asking.loaded(scenario, hardware)
    from solver.answers.asked import Asked, answered
    from solver.answers.front import front

    if files.scenario.phase and room is None:
        from solver.answers.phases import front_in_phases

        return asking.searched(limit_s, lambda clock: front_in_phases(files, threads, clock)[0])
    asked = Asked.of(files, room)
    return answered(asked, files, lambda survey, clock: front(survey, threads, clock)[0], limit_s, threads)


def reach(
    scenario: str | Path | Scenario,
    *,
    hardware: Hardware | None = None,
    need: str | None = None,
    room: str | None = None,
    limit_s: float | None = None,
    workers: int | None = None,
) -> ReachReport | RoomAnswers:
    """Say how many channels each need can have, what stops it, and what each step costs.

    Parameters
    ----------
    scenario, hardware, limit_s, workers
        As for `plan`.
    need
        One need alone, or a signal such as ``mic in`` that none asks for.
    room
        One of several rooms.

    Returns
    -------
    ReachReport or RoomAnswers
        The most channels of each need, in channels, with the costs on the way.

    Raises
    ------
    FileFaults, WrongQuestion, SearchError
        As for `plan`; also if no need or room has that name.

    Examples
    --------
    >>> report = solver.reach("scenarios/quay-mix-rig.toml", need="outboard returns")
    >>> report.needs[0].asked, report.needs[0].within_budget.channels
    (16, 24)
    """
    threads = asking.threads(workers)
    files = asking.loaded(scenario, hardware)
    from solver.answers.asked import Asked, answered, needs_meant
    from solver.answers.reach import reach

    asked = Asked.of(files, room)
    names = needs_meant(asked.survey, need)
    return answered(asked, files, lambda survey, clock: reach(survey, names, threads, clock), limit_s, threads)


def explain(
    scenario: str | Path | Scenario,
    *,
    hardware: Hardware | None = None,
    show: int | None = None,
    against: int | None = None,
    build: str | Path | Build | None = None,
    room: str | None = None,
    limit_s: float | None = None,
    workers: int | None = None,
) -> Explanation | RoomAnswers:
    """Say what each figure of a build is made of, and which limits are near.

    Parameters
    ----------
    scenario, hardware, limit_s, workers
        As for `plan`.
    show
        The number of the build to explain, 1 to 100; the best one without it.
    against
        The number of a build of the search to compare it with.
    build
        A build file, or a build, to explain in place of one that the search finds.
    room
        One of several rooms.

    Returns
    -------
    Explanation or RoomAnswers
        What is not used and why, the hottest gap, the limits, the nearest first.

    Raises
    ------
    FileFaults, WrongQuestion, SearchError
        As for `plan`; also if the search finds fewer builds than are asked for.

    Examples
    --------
    >>> explanation = solver.explain("scenarios/quay-mix-rig.toml")
    >>> sum(idle.channels for idle in explanation.idle) == explanation.build.unused.idle
    True
    """
    threads = asking.threads(workers)
    for name, number in (("show", show), ("against", against)):
        if number is not None:
            asking.whole(name, number, asking.MOST_BUILDS)
    from solver.answers.asked import Asked, as_document, with_defaults
    from solver.answers.explain import ToExplain, explain, rankings

    meant = ToExplain(show, against, drawn=build is not None)
    if build is None:
        files, held = asking.loaded(scenario, hardware), None
    else:
        files, held = asking.drawn(scenario, build, hardware)
    asked = Asked.of(files, room)
    if meant.top:
        ranked = asking.searched(limit_s, lambda clock: rankings(asked, meant, held, threads, clock))
    else:
        ranked = rankings(asked, meant, held, threads, None)
    answers = ranked.each(lambda one: explain(one.survey, one.answer, meant, held))
    return as_document(with_defaults(answers, files), files)


def tolerance(
    scenario: str | Path | Scenario,
    *,
    hardware: Hardware | None = None,
    limit_s: float | None = None,
    workers: int | None = None,
) -> Report:
    """Say which builds are the best where prices are not sure, and which is never far from the best.

    Parameters
    ----------
    scenario, hardware, limit_s, workers
        As for `plan`; a scenario of one room that has a `tolerance`.

    Returns
    -------
    Report
        The builds with their figures at today's prices, and under `tolerance` what becomes of each.

    Raises
    ------
    FileFaults, WrongQuestion, SearchError
        As for `plan`; also if no price is said not to be sure.

    Examples
    --------
    >>> report = solver.tolerance("scenarios/quay-quotes.toml")
    >>> [(build.number, build.excess) for build in report.tolerance.builds]
    [(1, '510.00'), (2, '590.00')]
    """
    threads = asking.threads(workers)
    files = asking.loaded(scenario, hardware)
    from solver.answers.tolerance import check_unsure, tolerance

    check_unsure(files)
    return asking.searched(limit_s, lambda clock: tolerance(files, threads, clock)[0])

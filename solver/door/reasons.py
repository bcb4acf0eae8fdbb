"""Why something cannot be, or is not done: asked of a search."""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.answers import asking

if TYPE_CHECKING:
    from decimal import Decimal
    from pathlib import Path
    from typing import Literal

    from solver.reports.campus_why import CampusWhy
    from solver.reports.explanation import WhyNot
    from solver.reports.report import Report
    from solver.reports.share import RoomAnswers
    from solver.room.hardware import Hardware
    from solver.room.scenario import Scenario


def why(
    scenario: str | Path | Scenario,
    *,
    hardware: Hardware | None = None,
    by: Literal["work", "money"] = "work",
    room: str | None = None,
    limit_s: float | None = None,
    workers: int | None = None,
) -> Report | CampusWhy | RoomAnswers:
    """Say why a scenario is impossible, and the smallest ways out; of several rooms, which clash over what.

    Parameters
    ----------
    scenario, hardware, limit_s, workers
        As for `plan`.
    by
        Order ways out by the work that they mean, or by what the cheapest build then costs.
    room
        One of several rooms; without it the question is about all of them together.

    Returns
    -------
    Report, CampusWhy or RoomAnswers
        `clash` of a report has the ways out and what cannot all be kept; `CampusWhy` is the answer about several rooms,
        `RoomAnswers` that about one of them.

    Raises
    ------
    FileFaults, WrongQuestion, SearchError
        As for `plan`; also if no room has that name.

    Examples
    --------
    >>> report = solver.why("scenarios/quay-impossible.toml")
    >>> report.clash.ways[0].changes[0].text
    'drop 8 of 40 line inputs on "line tie lines"; 32 left'
    """
    asking.one_of("by", by, ("work", "money"))
    threads = asking.threads(workers)
    files = asking.loaded(scenario, hardware)
    from solver.answers.asked import Asked, answered, surveyed
    from solver.answers.why import why
    from solver.answers.why_rooms import why_rooms
    from solver.judge.campus import Campus

    campus = surveyed(files) if room is None else None
    if isinstance(campus, Campus):
        return asking.searched(limit_s, lambda clock: why_rooms(campus, files, clock, threads, by)[0])
    asked = Asked.of(files, room)
    return answered(asked, files, lambda survey, clock: why(survey, clock, threads, by)[0], limit_s, threads)


def why_not(
    scenario: str | Path | Scenario,
    *,
    hardware: Hardware | None = None,
    setting: str | None = None,
    card: str | None = None,
    slot: int | None = None,
    board: str | None = None,
    cost: Decimal | int | str | None = None,
    without_orders: bool = False,
    frame: str | None = None,
    room: str | None = None,
    limit_s: float | None = None,
    workers: int | None = None,
) -> WhyNot | RoomAnswers:
    """Say why the best build does not do something, or how much worse it is when it does.

    Parameters
    ----------
    scenario, hardware, limit_s, workers
        As for `plan`.
    setting
        A setting of a strap group, ``GROUP=NAME``.
    card, slot
        A card, anywhere or in a slot.
    board
        A board.
    cost
        What orders may come to, in the scenario's currency; as text, `Decimal` or whole number, never a float.
    without_orders
        Stock alone.
    frame
        The frame that is meant, where there are several.
    room
        One of several rooms.

    Returns
    -------
    WhyNot or RoomAnswers
        The best build, and what the best one that does it has otherwise, or why there is none.

    Raises
    ------
    FileFaults, WrongQuestion, SearchError
        As for `plan`; also if a name is not there, or the parts of the question contradict each other.

    Examples
    --------
    >>> answer = solver.why_not("scenarios/quay-mix-rig.toml", cost="2500")
    >>> answer.outcome, answer.comparison.other.cost
    ('worse', '2380.00')
    """
    threads = asking.threads(workers)
    most = None if cost is None else asking.amount("cost", cost)
    if slot is not None:
        asking.whole("slot", slot)
    from solver.answers.supposing import Question, supposition

    question = Question(setting, card, slot, board, most, without_orders, frame)
    files = asking.loaded(scenario, hardware)
    from solver.answers.asked import Asked, answered
    from solver.answers.why_not import why_not

    asked = Asked.of(files, room)
    wish = supposition(asked.survey, question)
    return answered(asked, files, lambda survey, clock: why_not(survey, wish, threads, clock), limit_s, threads)

"""Strapwork's engine, and its door for programs: one function a question, which gives the document of the answer.

>>> import solver
>>> solver.plan("scenarios/quay-mix-rig.toml", top=1).builds[0].cost
'3030.00'

Each takes the file of a scenario, or a `Scenario` with its `Hardware`, and the options of the command that has its
name. What it gives is what the command prints with ``--format json``: `as_json` has the same bytes. A limit that is
over, or a plan that is proven impossible, is an answer; whatever is raised is a `StrapworkError`: `FileFaults` with
all that is wrong with the files, `WrongQuestion` for what cannot be asked so, and `SearchError` for a defect of this
package. No signal is listened to, so that any thread may ask. The search package is imported when it is first needed.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from solver.room.errors import StrapworkError, WrongQuestion

if TYPE_CHECKING:
    from decimal import Decimal
    from pathlib import Path
    from typing import Literal

    from solver.files.reading import Loaded
    from solver.reports.blocks import BlocksReport
    from solver.reports.campus_why import CampusWhy
    from solver.reports.channels import ChannelList
    from solver.reports.difference import Difference
    from solver.reports.explanation import Explanation, WhyNot
    from solver.reports.found import Found
    from solver.reports.inputlist import NumberedList
    from solver.reports.labels import LabelList
    from solver.reports.looms import LoomList
    from solver.reports.reach import ReachReport
    from solver.reports.report import Report
    from solver.reports.share import RoomAnswers
    from solver.reports.work_order import WorkOrder
    from solver.room.build import Build
    from solver.room.faults import FileFaults
    from solver.room.hardware import Hardware
    from solver.room.scenario import Scenario
    from solver.search.solve.clock import SearchError

__all__ = [
    "Build",
    "FileFaults",
    "Hardware",
    "Scenario",
    "SearchError",
    "StrapworkError",
    "WrongQuestion",
    "blocks",
    "channels",
    "check",
    "diff",
    "explain",
    "find",
    "front",
    "input_list",
    "labels",
    "load",
    "looms",
    "plan",
    "reach",
    "why",
    "why_not",
    "work_order",
]

_LATER = {
    "Build": "solver.room.build",
    "FileFaults": "solver.room.faults",
    "Hardware": "solver.room.hardware",
    "Scenario": "solver.room.scenario",
    "SearchError": "solver.search.solve.clock",
}
"""What is imported when it is asked for."""


def __getattr__(name: str) -> Any:
    if name not in _LATER:
        raise AttributeError(f"module 'solver' has no attribute {name!r}")
    return getattr(import_module(_LATER[name]), name)


def load(scenario: str | Path) -> Loaded:
    """Read a scenario and its hardware, to ask about it more than once or with changes.

    Parameters
    ----------
    scenario
        The file.

    Returns
    -------
    Loaded
        `scenario`, `hardware` and the `warnings` about the files.

    Raises
    ------
    FileFaults
        With every fault of every file.

    Examples
    --------
    >>> files = solver.load("scenarios/quay-mix-rig.toml")
    >>> less = files.scenario.model_copy(update={"budget": 3000})
    >>> solver.plan(less, hardware=files.hardware, top=1).builds[0].cost
    '2380.00'
    """
    from solver.answers.asking import loaded

    return loaded(scenario, None)


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
    from solver.answers import asking

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
        answers: with what the best plan of all rooms leaves for it, and alone with everything.

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
    from solver.answers import asking

    threads = asking.threads(workers)
    files = asking.loaded(scenario, hardware)
    from solver.answers.asked import Asked, as_document, with_defaults
    from solver.answers.front import front

    asked = Asked.of(files, room)
    answers = asking.searched(
        limit_s, lambda clock: asked.answers(lambda survey: front(survey, threads, clock)[0], clock, threads)
    )
    return as_document(with_defaults(answers, files), files)


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
    from solver.answers import asking

    asking.one_of("by", by, ("work", "money"))
    threads = asking.threads(workers)
    files = asking.loaded(scenario, hardware)
    from solver.answers.asked import Asked, as_document, surveyed, with_defaults
    from solver.answers.why import why
    from solver.answers.why_rooms import why_rooms
    from solver.judge.campus import Campus

    campus = surveyed(files) if room is None else None
    if isinstance(campus, Campus):
        return asking.searched(limit_s, lambda clock: why_rooms(campus, files, clock, threads, by)[0])
    asked = Asked.of(files, room)
    answers = asking.searched(
        limit_s, lambda clock: asked.answers(lambda survey: why(survey, clock, threads, by)[0], clock, threads)
    )
    return as_document(with_defaults(answers, files), files)


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
    from solver.answers import asking

    threads = asking.threads(workers)
    most = None if cost is None else asking.amount("cost", cost)
    if slot is not None:
        asking.whole("slot", slot)
    from solver.answers.supposing import Question, supposition

    question = Question(setting, card, slot, board, most, without_orders, frame)
    files = asking.loaded(scenario, hardware)
    from solver.answers.asked import Asked, as_document, with_defaults
    from solver.answers.why_not import why_not

    asked = Asked.of(files, room)
    wish = supposition(asked.survey, question)
    answers = asking.searched(
        limit_s, lambda clock: asked.answers(lambda survey: why_not(survey, wish, threads, clock), clock, threads)
    )
    return as_document(with_defaults(answers, files), files)


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
    (16, 40)
    """
    from solver.answers import asking

    threads = asking.threads(workers)
    files = asking.loaded(scenario, hardware)
    from solver.answers.asked import Asked, as_document, needs_meant, with_defaults
    from solver.answers.reach import reach

    asked = Asked.of(files, room)
    names = needs_meant(asked.survey, need)
    answers = asking.searched(
        limit_s, lambda clock: asked.answers(lambda survey: reach(survey, names, threads, clock), clock, threads)
    )
    return as_document(with_defaults(answers, files), files)


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
    from solver.answers import asking

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
    from solver.answers.asking import drawn
    from solver.answers.check import check

    return check(*drawn(scenario, build, hardware))


def channels(
    scenario: str | Path | Scenario,
    build: str | Path | Build,
    *,
    hardware: Hardware | None = None,
    room: str | None = None,
    by: Literal["number", "slot", "need"] = "number",
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
    from solver.answers import asking

    asking.one_of("by", by, tuple(asking.LISTED_BY))
    files, new = asking.drawn(scenario, build, hardware)
    from solver.answers.channels import channels

    return channels(files, new, room, by)


def looms(
    scenario: str | Path | Scenario,
    build: str | Path | Build,
    *,
    hardware: Hardware | None = None,
    room: str | None = None,
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
    from solver.answers import asking

    files, new = asking.drawn(scenario, build, hardware)
    from solver.answers.looms import looms

    return looms(files, new, room)


def labels(
    scenario: str | Path | Scenario,
    build: str | Path | Build,
    *,
    hardware: Hardware | None = None,
    room: str | None = None,
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
    from solver.answers import asking

    asking.whole("width", width, asking.MOST_LABEL)
    files, new = asking.drawn(scenario, build, hardware)
    from solver.answers.labels import labels

    return labels(files, new, room, width)


def find(
    scenario: str | Path | Scenario,
    build: str | Path | Build,
    what: str,
    *,
    hardware: Hardware | None = None,
    room: str | None = None,
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
    from solver.answers import asking

    files, new = asking.drawn(scenario, build, hardware)
    from solver.answers.find import find

    return find(files, new, what, room)


def input_list(
    scenario: str | Path | Scenario,
    build: str | Path | Build,
    *,
    hardware: Hardware | None = None,
    room: str | None = None,
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

    from solver.answers import asking

    files, new = asking.drawn(scenario, build, hardware)
    from solver.answers.input_list import input_list

    return input_list(files, new, room, None if check is None else Path(check))


def diff(
    scenario: str | Path | Scenario,
    old: str | Path | Build,
    new: str | Path | Build,
    *,
    hardware: Hardware | None = None,
    room: str | None = None,
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
    from solver.answers import asking

    files, after = asking.drawn(scenario, new, hardware)
    before = asking.drawn(scenario, old, hardware)[1]
    from solver.answers.diff import diff

    return diff(files, before, after, room)


def work_order(
    scenario: str | Path | Scenario,
    build: str | Path | Build,
    *,
    old: str | Path | Build | None = None,
    hardware: Hardware | None = None,
    room: str | None = None,
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
        What stands, in the same forms; None for empty frames.
    room
        One of several rooms; None for all of them.
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
    from solver.answers import asking

    asking.one_of("time", time, tuple(asking.TESTED))
    files, new = asking.drawn(scenario, build, hardware)
    was = None if old is None else asking.drawn(scenario, old, hardware)[1]
    from solver.answers.work_order import work_order

    return work_order(files, new, was, room, time)


def blocks(
    hardware: str | Path | Hardware, *, chassis: str | None = None, board: str | None = None, rate: int = 48000
) -> BlocksReport:
    """Show what each strap setting of a board numbers.

    Parameters
    ----------
    hardware
        A hardware file, or hardware that stands for itself.
    chassis, board
        Only this chassis, only this board.
    rate
        Sample rate in hertz.

    Returns
    -------
    BlocksReport
        Every legal setting, with the first number and the width of each slot's block.

    Raises
    ------
    FileFaults
        With every fault of the file.
    WrongQuestion
        If there is no such chassis, board or rate.

    Examples
    --------
    >>> report = solver.blocks("scenarios/hardware/quay.toml", chassis="tern-6", board="slate-32")
    >>> report.boards[0].settings[0].inputs[0]
    [1, 8]
    """
    from pathlib import Path

    from solver.answers.blocks import blocks, fitted
    from solver.files.reading import load_hardware, take_hardware

    if isinstance(hardware, str | Path):
        found, warnings, name = *load_hardware([Path(hardware)]), str(hardware)
    else:
        found, warnings, name = *take_hardware(hardware), "the hardware"
    return blocks(fitted(found, name, chassis, board, rate), warnings)

"""What every question takes: a scenario by its file or as it stands, a limit, workers. Nothing heavy is imported."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Literal, TypeAlias, TypeVar, get_args

from solver.room.errors import Parameter, WrongQuestion

if TYPE_CHECKING:
    from solver.answers.on_day import Change
    from solver.files.reading import Loaded
    from solver.room.build import Build
    from solver.room.hardware import Hardware
    from solver.room.scenario import Scenario
    from solver.search.solve.clock import Clock

Answer = TypeVar("Answer")

MOST_BUILDS = 100
"""So many builds are ranked at most."""

MOST_WORKERS = 64

LEAST_LABEL, LABEL_WIDTH, MOST_LABEL = 4, 12, 60
"""Characters of a label: the fewest, those without an option, the most."""

TESTED: Mapping[str, Literal["10", "30", "all"]] = {"10": "10", "30": "30", "all": "all"}
"""How long a test may take: minutes, or as long as everything takes."""

ListedBy: TypeAlias = Literal["number", "slot", "need", "bay", "far-end"]

LISTED_BY: Mapping[str, ListedBy] = {by: by for by in get_args(ListedBy)}
"""What the rows of `channels` can be in order of."""


def usual_workers() -> int:
    """A thread for each core that this process may use, up to four."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return min(4, cores)


def loaded(scenario: str | Path | Scenario, hardware: Hardware | None) -> Loaded:
    """A scenario with its hardware: read, or taken as it stands and checked like files.

    Raises
    ------
    FileFaults
        With all faults of all files.
    WrongQuestion
        If a scenario comes without its hardware, or a file with some.
    """
    from solver.files.reading import load_scenario, take_scenario

    if isinstance(scenario, str | Path):
        if hardware is not None:
            raise WrongQuestion("the file of a scenario names its own hardware", about="hardware")
        return load_scenario(Path(scenario))
    if hardware is None:
        raise WrongQuestion("a scenario that is no file needs ", Parameter("hardware"), about="hardware")
    return take_scenario(scenario, hardware)


def drawn(
    scenario: str | Path | Scenario, build: str | Path | Build, hardware: Hardware | None
) -> tuple[Loaded, Build]:
    """The same, and a build of it.

    Raises
    ------
    FileFaults
        With all faults of all files.
    WrongQuestion
        As `loaded`.
    """
    from solver.files.reading import check_build_names, load_build, load_drawn, take_build

    if isinstance(scenario, str | Path) and isinstance(build, str | Path) and hardware is None:
        return load_drawn(Path(scenario), Path(build))
    given = loaded(scenario, hardware)
    if not isinstance(build, str | Path):
        return given, take_build(build, given)
    read = load_build(Path(build))
    check_build_names(Path(build), read, given)
    return given, read


def on_day(
    scenario: str | Path | Scenario,
    build: str | Path | Build,
    hardware: Hardware | None,
    setup: str | None,
    phase: str | None,
) -> tuple[Loaded, Build]:
    """The same as they are on one of several kinds of day, or in one of several phases, where there are some.

    Raises
    ------
    FileFaults, WrongQuestion
        As `drawn`; also if no kind of day or phase has that name, or there are several and none is named.
    """
    from solver.answers import on_day

    return on_day.on_day(*drawn(scenario, build, hardware), on_day.when(setup, phase))


def changed(
    scenario: str | Path | Scenario,
    build: str | Path | Build,
    old: str | Path | Build | None,
    hardware: Hardware | None,
    asked: tuple[str | None, str | None],
    since: tuple[str | None, str | None],
) -> Change:
    """A build and what stands, each as on its kind of day or in its phase, where there are some.

    Parameters
    ----------
    asked, since
        The kind of day and the phase of either; one of them at most.

    Raises
    ------
    FileFaults, WrongQuestion
        As `on_day`.
    """
    from solver.answers.on_day import change_on_days, when

    files, new = drawn(scenario, build, hardware)
    was = None if old is None else drawn(scenario, old, hardware)[1]
    return change_on_days(files, new, was, when(*asked), when(*since))


def searched(limit_s: float | None, ask: Callable[[Clock], Answer]) -> Answer:
    """What a search comes to within its limit; it listens to no signal, and leaves nothing running behind.

    Raises
    ------
    WrongQuestion
        If there is no such limit.
    """
    from solver.room.words import LEAST_SECONDS, MOST_SECONDS
    from solver.search.solve.clock import Clock

    if limit_s is not None and not float(LEAST_SECONDS) <= limit_s <= MOST_SECONDS:
        raise WrongQuestion(f"must be {LEAST_SECONDS} to {MOST_SECONDS} seconds, found {limit_s}", about="limit_s")
    clock = Clock(limit_s)
    try:
        return ask(clock)
    finally:
        clock.stop()


def threads(workers: int | None) -> int:
    """How many threads search.

    Raises
    ------
    WrongQuestion
        If there cannot be so many.
    """
    return usual_workers() if workers is None else whole("workers", workers, MOST_WORKERS)


def whole(name: str, number: int, most: int | None = None) -> int:
    """A whole number from 1.

    Raises
    ------
    WrongQuestion
        If it is none, or more than `most`.
    """
    if not isinstance(number, int) or isinstance(number, bool) or not 1 <= number <= (most or number):
        upto = "at least 1" if most is None else f"1 to {most}"
        raise WrongQuestion(f"must be a whole number, {upto}, found {number!r}", about=name)
    return number


def one_of(name: str, word: str, known: Sequence[str]) -> None:
    """See that a word is one that is known.

    Raises
    ------
    WrongQuestion
        If it is not.
    """
    if word not in known:
        raise WrongQuestion(f"{word!r} is none of {', '.join(known)}", about=name)


def amount(name: str, given: Decimal | int | str) -> Decimal:
    """An amount of money, exact as the files have it.

    Raises
    ------
    WrongQuestion
        If it is none.
    """
    from solver.room.faults import quote
    from solver.room.words import parse_amount

    text = f"{given:f}" if isinstance(given, Decimal) else str(given)
    try:
        return parse_amount(text)
    except ValueError as error:
        raise WrongQuestion(f"{error}, found {quote(text)}", about=name) from None

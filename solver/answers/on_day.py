"""One of several kinds of day, or one of several phases, as if there were no other."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from solver.answers.times import times
from solver.files.reading import Loaded
from solver.room.build import Build
from solver.room.errors import Parameter, WrongQuestion
from solver.room.faults import nearest, quote

Key: TypeAlias = Literal["setup", "phase"]


@dataclass(frozen=True)
class When:
    """The kind of day or the phase that is asked about, by its name."""

    key: Key
    name: str


def when(setup: str | None, phase: str | None) -> When | None:
    """What is asked about, if anything is.

    Raises
    ------
    WrongQuestion
        If both are named.
    """
    if setup is not None and phase is not None:
        raise WrongQuestion(
            "a scenario has setups or phases, not both; leave one out of ",
            Parameter("setup"),
            " and ",
            Parameter("phase"),
        )
    if setup is not None:
        return When("setup", setup)
    return None if phase is None else When("phase", phase)


def on_day(loaded: Loaded, build: Build, asked: When | None, about: str = "") -> tuple[Loaded, Build]:
    """A scenario and a build of it as they are at one of its times; both as they are where it has but one.

    Parameters
    ----------
    about
        What the parameters that name it begin with.

    Raises
    ------
    WrongQuestion
        If there are several and none is named, or if there is none of that name.
    """
    sort: Key = "phase" if loaded.scenario.phase else "setup"
    each = {} if not loaded.scenario.setup and not loaded.scenario.phase else times(loaded, build)
    known = ", ".join(map(quote, each))
    if asked is None and not each:
        return loaded, build
    if asked is None:
        raise WrongQuestion(f"{loaded.name} has several {sort}s: {known}; name one with ", Parameter(about + sort))
    if not each:
        wrong = about + asked.key
        raise WrongQuestion(f"{loaded.name} has no {asked.key}s; leave ", Parameter(wrong), " out", about=wrong)
    if asked.key != sort:
        wrong = about + asked.key
        raise WrongQuestion(f"{loaded.name} has {sort}s: {known}; name one with ", Parameter(about + sort), about=wrong)
    if asked.name not in each:
        near = nearest(asked.name, list(each))
        meant = f"did you mean {quote(near)}?" if near else f"there are {known}"
        raise WrongQuestion(f"{quote(asked.name)} is no {sort} of {loaded.name}; {meant}", about=about + sort)
    own, then = each[asked.name]
    title = f"{own.scenario.title}, {asked.name}"
    return replace(own, scenario=own.scenario.model_copy(update={"title": title})), then


@dataclass(frozen=True)
class Earlier:
    """The scenario at another time, which is `asked`; what one kind of day does not need stays plugged for the next."""

    loaded: Loaded
    asked: When

    @property
    def stays_plugged(self) -> bool:
        """Whether what is not needed any more will be again."""
        return self.asked.key == "setup"

    @property
    def note(self) -> str:
        """What lists say of it."""
        return f"what stands: {self.asked.key} {quote(self.asked.name)}"


@dataclass(frozen=True)
class Change:
    """A scenario, the build to come, the one that stands, and the scenario at the time of that, where it is another."""

    loaded: Loaded
    new: Build
    old: Build | None
    earlier: Earlier | None


def change_on_days(loaded: Loaded, new: Build, old: Build | None, asked: When | None, since: When | None) -> Change:
    """Both builds as they are at the times that are named; that of what stands is the same where none is named.

    Without `old` the same build stands as it is at the time `since`, or in the phase before; without either nothing is
    said to stand.

    Raises
    ------
    WrongQuestion
        As `on_day`.
    """
    day, to_come = on_day(loaded, new, asked)
    if old is None and since is None:
        since = _before(loaded, asked)
    if old is None and since is None:
        return Change(day, to_come, None, None)
    then, stands = on_day(loaded, old or new, since or asked, "from_")
    earlier = None if since is None or since == asked else Earlier(then, since)
    return Change(day, to_come, stands, earlier)


def _before(loaded: Loaded, asked: When | None) -> When | None:
    """The phase before the one that is asked about."""
    names = [phase.name for phase in loaded.scenario.phase]
    at = names.index(asked.name) if asked is not None and asked.name in names else 0
    return When("phase", names[at - 1]) if at else None

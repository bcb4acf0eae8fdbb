"""One of several kinds of day, as if there were no other."""

from __future__ import annotations

from dataclasses import dataclass, replace

from solver.files.reading import Loaded
from solver.room.build import Build
from solver.room.errors import Parameter, WrongQuestion
from solver.room.faults import nearest, quote
from solver.room.setups import of_day, scenario_of


def on_day(loaded: Loaded, build: Build, setup: str | None, about: str = "setup") -> tuple[Loaded, Build]:
    """A scenario and a build of it as they are on one kind of day; both as they are where there are no such days.

    Parameters
    ----------
    about
        The parameter that names the day.

    Raises
    ------
    WrongQuestion
        If there are several and none is named, or if there is none of that name.
    """
    days = {own.name: own for own in loaded.scenario.setup}
    known = ", ".join(map(quote, days))
    if setup is None and not days:
        return loaded, build
    if setup is None:
        raise WrongQuestion(f"{loaded.name} has several setups: {known}; name one with ", Parameter(about))
    if setup not in days:
        if not days:
            raise WrongQuestion(f"{loaded.name} has no setups; leave ", Parameter(about), " out", about=about)
        near = nearest(setup, list(days))
        meant = f"did you mean {quote(near)}?" if near else f"there are {known}"
        raise WrongQuestion(f"{quote(setup)} is no setup of {loaded.name}; {meant}", about=about)
    own = scenario_of(loaded.scenario, days[setup])
    title = f"{own.title}, {setup}"
    return replace(loaded, scenario=own.model_copy(update={"title": title})), of_day(build, setup)


@dataclass(frozen=True)
class Change:
    """A scenario, the build to come, the one that stands, and the scenario on the day of that, where it is another."""

    loaded: Loaded
    new: Build
    old: Build | None
    earlier: Loaded | None


def change_on_days(loaded: Loaded, new: Build, old: Build | None, setup: str | None, from_setup: str | None) -> Change:
    """Both builds as they are on the days that are named; that of what stands is the same where none is named.

    Without `old` the same build stands as it is on the day of `from_setup`; without either nothing is said to stand.

    Raises
    ------
    WrongQuestion
        As `on_day`.
    """
    day, to_come = on_day(loaded, new, setup)
    if old is None and from_setup is None:
        return Change(day, to_come, None, None)
    then, stands = on_day(loaded, old or new, from_setup or setup, "from_setup")
    return Change(day, to_come, stands, None if from_setup in (None, setup) else then)

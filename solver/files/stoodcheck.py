"""What a scenario says of what stands already: that it can stand there, and that it is owned."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from solver.files.partcheck import known, money, repeated
from solver.room.build import Build
from solver.room.faults import Fault, unknown
from solver.room.scenario import MOVING, Scenario, fixed_place
from solver.room.words import MOST_SLOTS


def check_ranked_from(file: str, scenario: Scenario) -> Iterator[Fault]:
    """Criteria that count what is moved where nothing stands, and what stands where nothing can be made of it."""
    if isinstance(scenario.installed, str):
        message = "a build is read where the scenario is; load its file, or give the build itself"
        yield Fault(file, ("installed",), message, scenario.installed)
    if scenario.installed is None:
        counting = [criterion for criterion in scenario.rank if criterion in MOVING]
        if counting:
            told = " and ".join([", ".join(counting[:-1]), counting[-1]] if counting[:-1] else counting)
            count = "count" if counting[:-1] else "counts"
            yield Fault(file, ("installed",), f"is missing: {told} {count} from what stands, so name its build file")
    elif scenario.room:
        yield Fault(file, ("installed",), "is for scenarios of one room")


def check_fixed(file: str, scenario: Scenario, slots: Mapping[str, int]) -> Iterator[Fault]:
    """What is fixed where nothing stands, in no frame, or in no slot.

    Parameters
    ----------
    slots
        How many slots each frame has, as far as its chassis is known.
    """
    if scenario.fixed and scenario.installed is None:
        yield Fault(file, ("fixed",), "there is nothing to fix: name the build file that stands as installed")
    elif not scenario.room:
        yield from repeated(file, ("fixed",), scenario.fixed)
        names = [frame.name for frame in scenario.frame]
        for entry in scenario.fixed:
            name, slot = fixed_place(entry, names)
            if name not in names:
                yield unknown(file, ("fixed", entry), name, names, "is no frame of this scenario")
            elif slot is not None and not 1 <= slot <= slots.get(name, MOST_SLOTS):
                yield Fault(file, ("fixed", entry), f"{name} has slots 1 to {slots.get(name, MOST_SLOTS)}", entry)


def check_hires(file: str, scenario: Scenario, cards: Collection[str]) -> Iterator[Fault]:
    """What may be hired that is no card, and prices with more decimals than the currency has."""
    if scenario.hire and scenario.room:
        yield Fault(file, ("hire",), "is for scenarios of one room")
    for n, hire in enumerate(scenario.hire, 1):
        yield from known(file, ("hire", n, "card"), hire.card, cards, "card")
        yield from money(file, ("hire", n, "day_price"), hire.day_price, scenario.currency)


def check_owned(file: str, scenario: Scenario, stood: Build) -> Iterator[Fault]:
    """A frame that stands and is to be bought, and items of which stock counts fewer than stand."""
    bought = {frame.name for frame in scenario.frame if not frame.owned}
    for built in stood.frame:
        if built.name in bought:
            message = "stands there already, so it is owned: leave out owned = false"
            yield Fault(file, ("frame", built.name, "owned"), message, "false")
    for item, count in scenario.stock.items():
        owned = scenario.owned[item]
        if count < owned:
            message = f"{count} in stock, but {owned} stand: stock counts what stands too, so {owned} are owned"
            yield Fault(file, ("stock", item), message, str(count), severity="warning")

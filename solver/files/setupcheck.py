"""What a scenario says of several kinds of day: that each can be one, and that all else of it goes with them."""

from __future__ import annotations

from collections.abc import Iterator

from solver.files.partscheck import check_parts, said_in_vain
from solver.room.faults import Fault, describe
from solver.room.scenario import Scenario
from solver.room.words import SAMPLE_RATES


def check_setups(file: str, scenario: Scenario) -> Iterator[Fault]:
    """Kinds of day whose needs or rates are not known, and what does not go with several of them."""
    if not scenario.setup:
        yield from said_in_vain(file, scenario, "setup")
        return
    yield from check_parts(file, scenario, "setup", scenario.setup, ("installed", "tolerance", "slack"))
    for setup in scenario.setup:
        if setup.sample_rate is not None and setup.sample_rate not in SAMPLE_RATES:
            allowed = tuple(map(str, sorted(SAMPLE_RATES)))
            found = describe(setup.sample_rate)
            message = f"{found} Hz is no known sample rate"
            yield Fault(file, ("setup", setup.name, "sample_rate"), message, found, allowed)

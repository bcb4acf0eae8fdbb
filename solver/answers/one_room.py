"""One room of a build as something fails in it: as it stands, with what the other rooms leave, and these beside it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

from solver.answers.asked import Asked
from solver.answers.handed_over import HandedOver, handed_over
from solver.files.reading import Loaded
from solver.fitted.standing import Standing
from solver.handover.wiring import Wiring
from solver.judge.campus import stand_campus
from solver.reports.share import as_only_room, left_for
from solver.room.assets import SHELF
from solver.room.build import Build
from solver.room.errors import WrongQuestion
from solver.room.scenario import Scenario


@dataclass(frozen=True)
class OneRoom:
    """A room as it is handed over, and the other rooms; what no other room uses is in the scenario's stock."""

    handed: HandedOver
    scenario: Scenario
    standing: Standing
    wiring: Wiring
    others: tuple[Standing, ...] = ()


def one_room(loaded: Loaded, build: Build, name: str | None = None) -> OneRoom:
    """The only room of a build, or one of several by its name.

    A build is what stands where the scenario tells of nothing that does, unless it needs what is told to be on the
    shelf.

    Raises
    ------
    WrongQuestion
        If no room has that name, there are several and none is named, or a frame has no numbers.
    """
    others: tuple[Standing, ...] = ()
    asked = Asked.of(loaded, name)
    if asked.campus is None:
        if loaded.scenario.installed is None and _stands_beside_the_shelf(loaded.scenario, build):
            loaded = replace(loaded, scenario=loaded.scenario.model_copy(update={"installed": build}))
        handed = handed_over(loaded, build)
        own = handed
    else:
        campus = stand_campus(asked.campus, build)
        others = tuple(standing for at, standing in enumerate(campus.rooms) if at != asked.index)
        handed = handed_over(loaded, build, name)
        frames = tuple(f.model_copy(update={"room": None}) for f in build.frame if f.room == name)
        loaded = replace(loaded, scenario=as_only_room(left_for(asked.campus, campus, asked.index)))
        own = handed_over(loaded, build.model_copy(update={"frame": frames}))
    (standing,) = own.wiring.rooms
    if unset := [frame.site.name for frame in standing.frames if frame.layout is None]:
        told = f"frame {', '.join(unset)} has no numbers, since the build does not say all of its straps"
        raise WrongQuestion(told, about="build")
    return OneRoom(handed, loaded.scenario, standing, own.wiring, others)


def _stands_beside_the_shelf(scenario: Scenario, build: Build) -> bool:
    """Whether cards with serial numbers that are on the shelf can be there while a build stands."""
    used = Counter(card for frame in build.frame for card in frame.cards.values())
    used.update(asset.card for asset in scenario.asset if asset.at == SHELF)
    return bool(scenario.asset) and all(used[own.card] <= scenario.stock.get(own.card, 0) for own in scenario.asset)

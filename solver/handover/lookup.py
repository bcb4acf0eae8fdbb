"""From any name on a path, a number, a need's channel, a slot, a card, a loom or a point, to all that is on it."""

from __future__ import annotations

from dataclasses import dataclass

from solver.handover.trail import PlaceInFrame, Trail
from solver.room.faults import nearest


@dataclass(frozen=True)
class Trails:
    """All that can be asked for in a build."""

    trails: tuple[Trail, ...]
    places: tuple[PlaceInFrame, ...]

    def names(self) -> set[str]:
        """Every name that finds something."""
        found = {name for trail in self.trails for name in trail.names()}
        return found | {name for place in self.places for name in place.names()}

    def by_name(self, name: str) -> tuple[list[Trail], list[PlaceInFrame]]:
        """What has a name, in capitals or not where none is written so; a name may find several things."""
        for fold in (str, str.casefold):
            wanted = fold(name)
            trails = [trail for trail in self.trails if wanted in map(fold, trail.names())]
            places = [place for place in self.places if wanted in map(fold, place.names())]
            if trails or places:
                return trails, places
        return [], []

    def nearest(self, name: str) -> str | None:
        """The name most like one that finds nothing; it may lack what kinds of names begin with alone."""
        names = sorted(self.names())
        whole = next((each for each in names if each.partition(":")[2].casefold() == name.casefold()), None)
        return whole or nearest(name, names)

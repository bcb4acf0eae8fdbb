"""A build as it is handed over, with what every document of it begins with."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Literal, TypedDict

from solver.answers.standing_rooms import odd_frames, stood_rooms
from solver.files.reading import Loaded
from solver.handover.looms import Numbered
from solver.handover.wiring import Wiring
from solver.reports.bays import wiring_limits
from solver.reports.element import BrokenLimit, FileFault, file_warnings
from solver.reports.out_of_service import out_of_service
from solver.room.build import Build


class Head(TypedDict):
    """What every document of a build that is handed over has."""

    scenario: str
    room: str | None
    sample_rate: int
    outcome: Literal["clean", "faulty"]
    faults: list[BrokenLimit]
    warnings: list[FileFault]


@dataclass(frozen=True)
class HandedOver:
    """What follows from a build, what is wrong with it, and what is worth knowing of all of it."""

    wiring: Wiring
    head: Head
    others: list[str]
    """Notes beside those of the wiring."""

    @property
    def notes(self) -> list[str]:
        """What is worth knowing of all of it."""
        return [*(note.text for note in self.wiring.notes), *self.others]

    def notes_of(self, channels: Collection[Numbered]) -> list[str]:
        """What is worth knowing of some channels, and of the build."""
        return [*(note.text for note in self.wiring.notes if not note.channels.isdisjoint(channels)), *self.others]


def handed_over(loaded: Loaded, build: Build, room: str | None = None) -> HandedOver:
    """A build as it stands in one of several rooms, or in all of them.

    Raises
    ------
    WrongQuestion
        If no room has that name.
    """
    stood = stood_rooms(loaded, build, room)
    wiring = Wiring(tuple(stood.rooms))
    faults = [*stood.faults, *wiring_limits(wiring)]
    head = Head(
        scenario=loaded.scenario.title,
        room=room,
        sample_rate=stood.sample_rate,
        outcome="faulty" if faults else "clean",
        faults=faults,
        warnings=file_warnings(loaded.warnings),
    )
    return HandedOver(wiring, head, [*out_of_service(loaded.scenario), *odd_frames("the build", stood.rooms)])

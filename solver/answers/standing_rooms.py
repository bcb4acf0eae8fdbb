"""A build as it stands, room by room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from solver.files.reading import Loaded
from solver.fitted.frame import FrameStanding
from solver.fitted.standing import Standing, stand
from solver.reports.checking import check_room
from solver.reports.element import BrokenLimit
from solver.room.build import Build
from solver.room.ready import survey_room
from solver.room.survey import Survey

if TYPE_CHECKING:
    from solver.reports.report import Report


SERVED = "told as it would serve the needs best; serves in the build file settles it"


@dataclass(frozen=True)
class Stood:
    """A build as it stands in the rooms asked about, what is wrong with it there, and the sample rate in hertz."""

    rooms: list[Standing]
    faults: list[BrokenLimit]
    sample_rate: int


def stood_rooms(loaded: Loaded, build: Build, room: str | None = None) -> Stood:
    """What stands, as `standing_rooms`, and the faults that `check` finds there."""
    rooms = standing_rooms(loaded, build, room)
    faults = [fault for fault in _faults(loaded, build, rooms) if room is None or fault.room in (None, room)]
    rate = rooms[0].survey.sample_rate if len(rooms) == 1 else loaded.scenario.sample_rate
    return Stood(rooms, faults, rate)


def _faults(loaded: Loaded, build: Build, rooms: Sequence[Standing]) -> Sequence[BrokenLimit]:
    """What `check` finds, without the figures that it tells beside."""
    if len(loaded.scenario.rooms()) > 1:
        return campus_report(loaded, build).faults
    (only,) = rooms
    return check_room(only.survey, build, bare=only).faults


def campus_report(loaded: Loaded, build: Build) -> Report:
    """What the rules say of a build of several rooms."""
    from solver.judge.campus import survey_campus  # most builds are of one room, and are over in a blink
    from solver.reports.describe_campus import check_campus_report

    return check_campus_report(survey_campus(loaded.scenario, loaded.hardware), build)


def standing_rooms(loaded: Loaded, build: Build, room: str | None = None) -> list[Standing]:
    """What stands in one of several rooms, or in all of them.

    Raises
    ------
    WrongQuestion
        If no room has that name.
    """
    alone = len(loaded.scenario.rooms()) == 1
    return [stand(survey, build if alone else _own(build, survey)) for survey in _surveys(loaded, room)]


def _surveys(loaded: Loaded, room: str | None) -> list[Survey]:
    if room is not None:
        from solver.answers.asked import Asked  # knows what every question gives; most builds are of one room

        asked = Asked.of(loaded, room)
        return [asked.survey if asked.campus is None else asked.campus.rooms[asked.index]]
    if len(loaded.scenario.rooms()) > 1:
        from solver.judge.campus import survey_campus

        return list(survey_campus(loaded.scenario, loaded.hardware).rooms)
    return [survey_room(loaded.scenario, loaded.hardware)]


def _own(build: Build, survey: Survey) -> Build:
    """The frames of one room."""
    return build.model_copy(update={"frame": tuple(frame for frame in build.frame if frame.room == survey.room)})


def questions(loaded: Loaded, build: Build) -> dict[tuple[str | None, str], str]:
    """What has to be asked before straps are set as a build has them, by room and frame."""
    from solver.reports import clock_words

    if loaded.scenario.setup or loaded.scenario.phase:
        return {}
    rooms = standing_rooms(loaded, build)
    return {(room.survey.room, frame): said for room in rooms for frame, said in clock_words.questions(room).items()}


def odd_frames(name: str, rooms: Sequence[Standing]) -> list[str]:
    """Frames of which no number, what they serve or not every card can be told, with what the build is called."""
    silent = [name for room in rooms for name in room.allotted]
    notes = [f"{name}: what frame {', '.join(silent)} serves is not said: {SERVED}"] if silent else []
    unset = [frame.site.name for room in rooms for frame in room.frames if frame.layout is None]
    if unset:
        notes.append(f"{name}: frame {', '.join(unset)} has no numbers, since its straps are not all said")
    doubled = [frame.site.name for room in rooms for frame in room.frames if _overlaps(frame)]
    if doubled:
        notes.append(f"{name}: two cards take one slot of frame {', '.join(doubled)}; see what is there")
    return notes


def _overlaps(frame: FrameStanding) -> bool:
    covered = [slot for seat in frame.seats for slot in seat.covers]
    return len(covered) != len(set(covered))

"""A build as it stands, room by room."""

from __future__ import annotations

from solver.answers.asked import Asked
from solver.files.reading import Loaded
from solver.fitted.standing import Standing, stand
from solver.room.build import Build
from solver.room.survey import Survey, survey_room


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
        asked = Asked.of(loaded, room)
        return [asked.survey if asked.campus is None else asked.campus.rooms[asked.place]]
    if len(loaded.scenario.rooms()) > 1:
        from solver.judge.campus import survey_campus

        return list(survey_campus(loaded.scenario, loaded.hardware).rooms)
    return [survey_room(loaded.scenario, loaded.hardware)]


def _own(build: Build, survey: Survey) -> Build:
    """The frames of one room."""
    return build.model_copy(update={"frame": tuple(frame for frame in build.frame if frame.room == survey.room)})

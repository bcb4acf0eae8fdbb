"""The document of a scenario, and the scenario with changes made in it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any

from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.survey import Survey
from solver.room.wish import Change, Document
from solver.room.words import as_data


def apply(
    survey: Survey,
    document: Document,
    changes: Sequence[Change],
    number: Callable[[Decimal], Any] = lambda value: value,
) -> None:
    """Make changes in a scenario's document, parsed TOML or the like, in place.

    Parameters
    ----------
    number
        How the document writes a decimal number.
    """
    room = room_in(survey, document)
    for change in sorted(changes, key=lambda c: c.wish.rank, reverse=True):
        change.wish.apply(survey, document, room, change, number)
    for index in reversed(range(len(room.get("need", ())))):
        if not room["need"][index]["channels"] and not room["need"][index].get("spare", 0):
            _take_out(room["need"], index)  # a file may not ask for nothing


def _take_out(needs: Any, index: int) -> None:
    """Take a need out, and its name from where others are to be apart from it."""
    name = needs[index]["name"]
    del needs[index]
    for need in needs:
        if name in need.get("apart_from", ()):
            need["apart_from"].remove(name)
            if not need["apart_from"]:
                del need["apart_from"]


def room_in(survey: Survey, document: Document) -> Document:
    """The part of a scenario's document that is about a room."""
    if not survey.scenario.room:
        return document
    found: Document = next(room for room in document["room"] if room["name"] == survey.room)
    return found


def changed(survey: Survey, changes: Sequence[Change]) -> Scenario:
    """The scenario with changes made."""
    document = document_of(survey.scenario)
    apply(survey, document, changes)
    return Scenario.model_validate(document)


def all_needed(survey: Survey) -> Survey:
    """The room with every need to be met, those that are nice to have too."""
    document = document_of(survey.scenario)
    for need in room_in(survey, document)["need"]:
        need["importance"] = "must"
    return survey_room(Scenario.model_validate(document), survey.hardware)


def document_of(scenario: Scenario) -> dict[str, Any]:
    """A scenario as nested dicts and lists, which can be changed and validated again."""
    return as_data(scenario)

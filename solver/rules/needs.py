"""Every need gets the channels that it asks for, and those to spare."""

from __future__ import annotations

from collections.abc import Iterator

from solver.rules.limit import Draft, Limit, Place
from solver.standing import Standing
from solver.survey import Survey

CODE = "needs"


def limits(survey: Survey) -> Iterator[Limit]:
    """For each need: at least its channels and spare."""
    for need in survey.needs:
        yield Limit(
            CODE,
            Place(subject=need.name, direction=need.direction),
            need.demand,
            "channels",
            at_least=True,
            source=("need", need.place, "channels"),
            give=range(1, need.demand + 1),
        )


def used(survey: Survey, standing: Standing, limit: Limit) -> int | None:
    """Channels that serve the need; not judged where a frame without legal settings has no numbers."""
    need = next(n for n in survey.needs if n.name == limit.place.subject)
    served = {(frame.site.index, use.slot, use.index) for frame, use in standing.uses(need)}
    if len(served) < limit.bound and any(frame.layout is None for frame in standing.frames):
        return None
    return len(served)


def constrain(draft: Draft, limit: Limit) -> None:
    """Channels of the lines that serve the need."""
    need = next(n for n in draft.survey.needs if n.name == limit.place.subject)
    draft.ask(limit, need)

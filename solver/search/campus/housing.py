"""From a room's allotment and seats to the build that stands there."""

from __future__ import annotations

import dataclasses

from solver.fitted.standing import Standing, stand, with_terminations
from solver.judge import criteria
from solver.room.build import Build
from solver.room.survey import Shortage, Survey
from solver.search.ask.ranking import rank
from solver.search.campus.group import frame_order, need_order
from solver.search.model.allotment import Allotment
from solver.search.model.seating import Seating
from solver.search.solve.clock import Clock
from solver.search.solve.standing import as_stands


def best_seats(survey: Survey, allotment: Allotment, seating: Seating, clock: Clock) -> Standing:
    """The seats that rank first for a room's allotment; those already found where the clock ends that."""
    plain = as_stands(survey, seating)
    items = dict(allotment.items)
    ranked = tuple(c for c in survey.rank if c != "cost")
    alone = dataclasses.replace(
        survey,
        stock=items,
        offers={},
        budget=None,
        must_seat=tuple((card, n, 0) for card, n in items.items() if card in survey.kinds),
        rank=ranked or ("cost",),
        slack={},
        short=Shortage(),
    )
    found = rank(alone, 1, clock=clock)
    if not found.builds or not found.builds[0].proven:
        return plain
    best = stand(survey, found.builds[0].build)
    ours, theirs = (criteria.figures(survey, s) for s in (plain, best))
    sums = [c for c in ranked if c != "cooling"]
    worse = any(criteria.value(survey, theirs, c) > criteria.value(survey, ours, c) for c in ranked)
    return plain if worse and sums else best


def as_built(survey: Survey, standing: Standing, room: Survey) -> Standing:
    """A room's build from that of a like room, names exchanged."""
    frames = {a.name: b.name for a, b in zip(frame_order(survey), frame_order(room), strict=True)}
    needs = {a.name: b.name for a, b in zip(need_order(survey), need_order(room), strict=True)}
    built = []
    for frame in standing.frames:
        serves = tuple(s.model_copy(update={"need": needs[s.need]}) for s in frame.built.serves or ())
        names = {"name": frames[frame.site.name], "room": room.room, "serves": serves}
        built.append(frame.built.model_copy(update=names))
    return stand(room, with_terminations(room, Build(frame=tuple(built))))

"""A build at once, kept until a better one is found: layouts from cards counted over runs, seats from one small model.

Of several frames with many settings, layouts come from alike frames counted together, and the first is near the best.

It is no proof of anything, and nothing that is proven depends on it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from solver.judge import criteria
from solver.room.kind import Kind
from solver.room.straps import Layout
from solver.room.survey import Survey
from solver.room.words import DIRECTIONS
from solver.search.model.basis import Option
from solver.search.model.options import useful_kinds
from solver.search.model.scale import MARGIN, NEVER, Stage
from solver.search.model.seating import Seating
from solver.search.model.statement import RoomStatement
from solver.search.solve.clock import Clock
from solver.search.solve.part import Part, Shared
from solver.search.solve.several import Several, over_runs
from solver.search.solve.solving import solve
from solver.search.solve.stages import Chosen, RankedBuild, audited
from solver.search.solve.together import together

LAYOUTS = (64, 32, 0)
"""Of so many layouts of all frames together is chosen, in turn while there is no seating; of two a frame at least."""

MANY_LAYOUTS, MANY_SLOTS = 64, 20
"""Rooms with more are so large that their first build may otherwise be long in coming."""

BETTERED = 30
"""The search itself finds the best of a single frame of no more slots as soon as better seats are found here."""

COUNTING = 0.5
"""Work to choose layouts by counting alike frames, in the solver's deterministic seconds."""

CHOOSING, SEATING, BETTERING = 0.3, 0.5, 0.3
"""Work to choose layouts over runs, to seat cards in them, and to find better seats, in the same seconds."""


def worth_while(survey: Survey) -> bool:
    """Whether a room is so large that its first build may otherwise be long in coming."""
    layouts = sum(len(site.candidates) for site in survey.frames)
    return _slots(survey) > MANY_SLOTS or (len(survey.frames) > 1 and layouts > MANY_LAYOUTS)


def _slots(survey: Survey) -> int:
    return sum(len(site.slots) for site in survey.frames)


def seatings_at_once(survey: Survey, clock: Clock) -> Iterator[Seating]:
    """Seatings that keep every limit, a later one better; none where none is found in a moment."""
    shared = Shared.of(survey, rough=True)
    kinds = useful_kinds(survey)
    first_sums = _first_sums(survey, shared)
    room = together(survey, kinds, shared)
    if room is not None and first_sums:
        found = False
        for seating in room.at_once(first_sums, clock, COUNTING, SEATING):
            found = True
            yield seating
        if found:
            return
    for options in _choices(survey, kinds, shared, clock):
        part = Part(survey, options, kinds, shared)
        answer = part.minimise(MARGIN, {}, (), clock, effort=SEATING)
        if answer.seating is None and answer.bound < NEVER and over_runs(survey):
            part = Several(survey, options, kinds, shared)
            answer = part.minimise(MARGIN, {}, (), clock, effort=SEATING)
        if answer.seating is not None:
            yield answer.seating
            if len(survey.frames) > 1 or _slots(survey) > BETTERED:
                better = part.minimise(first_sums, {}, (), clock, effort=BETTERING).seating
                if better is not None:
                    yield better
            return


def keep_at_once(survey: Survey, clock: Clock, kept: list[RankedBuild]) -> None:
    """Keep the best build that is found in a moment, audited, whatever becomes of the search."""
    for seating in seatings_at_once(survey, clock):
        build = audited(survey, Chosen(seating, stages=dict.fromkeys(survey.rank, False)))
        kept[:] = [min([*kept, build], key=lambda b: [criteria.value(survey, b.figures, c) for c in survey.rank])]


def _choices(
    survey: Survey, kinds: Sequence[Kind], shared: Shared, clock: Clock
) -> Iterator[Sequence[Sequence[Option]]]:
    """What frames may be: one option each in turn; at last some of all options together."""
    for most in LAYOUTS:
        chosen = _chosen(survey, _some_options(survey, most), kinds, shared, clock)
        if chosen is not None:
            yield chosen
    yield _some_options(survey, LAYOUTS[-1])


def _chosen(
    survey: Survey, options: Sequence[Sequence[Option]], kinds: Sequence[Kind], shared: Shared, clock: Clock
) -> list[list[Option]] | None:
    """One option for each frame so that everything can be served, as far as cards counted over runs can tell."""
    counted = RoomStatement(survey, options, kinds, shared.limits, slot_by_slot=False, margin_mk=survey.refuse_mk)
    counted.keep(survey.refuse_mk)
    status, solver = solve(counted.model, clock, CHOOSING, any_will_do=True)
    if status not in ("found", "proven"):
        return None
    return [
        [option for option, term in counted.choices(site) if isinstance(term, int) or solver.boolean_value(term)]
        for site in survey.frames
    ]


def _first_sums(survey: Survey, shared: Shared) -> Stage:
    """The criteria that are sums, the first first, while they fit into one."""
    stage: Stage = ()
    for criterion in survey.rank:
        if criterion != "cooling" and (not stage or shared.scale.fits((*stage, criterion))):
            stage = (*stage, criterion)
    return stage


def _some_options(survey: Survey, most: int) -> list[list[Option]]:
    """For each frame what it may be: layouts spread from most inputs to most outputs, and that it is not used."""
    own_most = max(2, most // max(1, len(survey.frames)))
    found: list[list[Option]] = []
    for site in survey.frames:
        ordered = sorted(site.candidates, key=_inputs_beyond_outputs)
        step = max(1, -(-len(ordered) // own_most))
        own: list[Option] = list(ordered[step // 2 :: step])
        found.append(own if site.spec.pins or site.spec.must_use else [*own, None])
    return found


def _inputs_beyond_outputs(layout: Layout) -> int:
    inputs, outputs = (sum(block.width for block in layout.blocks(d)) for d in DIRECTIONS)
    return inputs - outputs

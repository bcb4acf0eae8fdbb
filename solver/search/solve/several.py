"""Rooms of several frames: what each frame gets is settled over runs for all of them, then each frame is seated alone.

Each combination of settings has a model over runs of all frames, whose least value is a bound. What it gives a frame is
seated slot by slot; where that cannot be, the least of it that cannot is kept out for all alike frames and all layouts
of the same board in which those cards begin in the same slots. What is seated is audited, and where its figures are not
those of the model over runs, the slots of just those cards are asked.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import count
from math import ceil
from typing import Any

from solver.room.kind import Kind
from solver.room.straps import Layout
from solver.room.survey import Survey
from solver.room.words import DIRECTIONS, Direction
from solver.search.model.alike import Given
from solver.search.model.basis import Option
from solver.search.model.cpsat import cp_model
from solver.search.model.inturn import Digit, InTurn, least_number
from solver.search.model.listed import exclude
from solver.search.model.scale import MARGIN, NEVER, TIES, Caps, Stage
from solver.search.model.seating import Seating
from solver.search.model.services import expression
from solver.search.model.statement import RoomStatement, StatedOption
from solver.search.solve.asking import Key, key_of
from solver.search.solve.bought import cost_within
from solver.search.solve.clock import Clock
from solver.search.solve.contents import MOST, ROUNDS, Contents, just_these
from solver.search.solve.counted import OverRuns, keep
from solver.search.solve.cuts import Cut, Cuts, Known
from solver.search.solve.given import asked_of, fill_as, last_in_use
from solver.search.solve.part import Answer, Part, Shared, digits_at_once
from solver.search.solve.recounted import recounted
from solver.search.solve.seat import core, seat
from solver.search.solve.solving import solve

MOST_CUT = 20
"""Where effort is limited, so often is asked again when something cannot be seated."""

SOON, SOON_CUT = 0.1, 4
"""Work over runs and cuts before a margin is asked of the slots instead."""

HALVINGS = 4
"""So often something better is asked for, halfway between the best that is found and what is not possible."""

IN_ORDER = 0.15
"""Work after which a model that is asked for the first in order is given cuts, in deterministic seconds."""

IN_SLOTS = 5.0
"""Work that this is worth, in the solver's deterministic seconds."""


def over_runs(survey: Survey) -> bool:
    """Whether a room can be settled over runs: those do not say which numbers carry a need, or which card stays."""
    return len(survey.frames) > 1 and not survey.particular and not survey.from_what_stands


class Several(Part):
    """One model over runs of all frames, of one combination of settings or of many; what it gives is seated in slots.

    Where settings are chosen first it is asked of one combination; that many give the same answers tests hold.
    """

    spare = 500

    def __init__(
        self,
        survey: Survey,
        options: Sequence[Sequence[Layout | None]],
        kinds: Sequence[Kind],
        shared: Shared,
        known: Known | None = None,
    ) -> None:
        super().__init__(survey, options, kinds, shared)
        self._purchases = shared.purchases
        self._known = known or Known()
        self._models: dict[tuple[str, ...], OverRuns] = {}
        self._exact: dict[tuple[Key, tuple[str, ...]], Part] = {}
        self._contents: dict[frozenset[tuple[Stage, int]], Contents | None] = {}

    def _counted(self, cost: int | None) -> OverRuns:
        """The model over runs with the cards that there can be within a cost."""
        kinds = self._purchases.kinds_within(self.kinds, cost)
        key = tuple(kind.id for kind in kinds)
        if key not in self._models:
            self._models[key] = OverRuns(self.survey, self.options, kinds, self.shared)
        return self._models[key]

    @cached_property
    def _alike(self) -> list[str]:
        return [repr(site.alike) for site in self.survey.frames]

    def unasked(self, stage: Stage, caps: Caps, listed: Sequence[Seating]) -> bool:
        """A first bound is asked for where settings are fixed; else the model over runs itself is asked at once."""
        return all(len(own) == 1 for own in self.options) and super().unasked(stage, caps, listed)

    def minimise(
        self,
        stage: Stage,
        caps: Caps,
        listed: Sequence[Seating],
        clock: Clock,
        cutoff: int | None = None,
        effort: float | None = None,
    ) -> Answer:
        """As any model does; the effort is that of one solve, and there is one more each time a frame is not seated."""
        known = self._contents.get(frozenset(caps.items())) if stage == MARGIN else None
        if known is not None:
            return self._remember(stage, caps, known.any(listed))
        if stage == MARGIN and not listed and self._has_few_cards(caps):
            soon = self._search(stage, caps, listed, clock, None, SOON, most_cut=SOON_CUT)
            if soon.seating is None and soon.bound < NEVER:
                exact = self._slots([own[0] for own in self.options], caps)
                soon = exact.minimise(stage, caps, listed, clock, effort=IN_SLOTS)
            if soon.seating is not None or soon.bound >= NEVER:
                return self._remember(stage, caps, soon)
        return self._remember(stage, caps, self._search(stage, caps, listed, clock, cutoff, effort))

    def soon(self, stage: Stage, least: int, clock: Clock, effort: float) -> Iterator[Seating]:
        """Seatings that are found in a moment, each better in a stage that is not below `least` than the one before."""
        found = self._search(stage, {}, (), clock, None, effort, most_cut=SOON_CUT)
        if found.seating is not None:
            yield found.seating
            return
        caps: dict[Stage, int] = {}
        most: int | None = None
        for _ in range(HALVINGS):
            found = self._search(MARGIN, caps, (), clock, None, effort, most_cut=SOON_CUT)
            if found.seating is not None:
                yield found.seating
                most = self._value(stage, {}, found.seating)
            elif caps:
                least = caps[stage] + 1
            if most is None:
                return
            caps = {stage: (least + most) // 2}

    def _has_few_cards(self, caps: Caps) -> bool:
        """Whether settings are given and it is known what can be bought, so that slots are often quicker than cuts."""
        cost = cost_within(self.scale, caps)
        return cost is not None and self._purchases.are_known(cost) and all(len(own) == 1 for own in self.options)

    def tried(
        self,
        stage: Stage,
        caps: Caps,
        listed: Sequence[Seating],
        clock: Clock,
        lower: int,
        most: int | None,
        effort: float,
    ) -> Answer:
        """Something that meets a bound, else the least value."""
        if stage != MARGIN and lower > -NEVER:
            met = self.minimise(MARGIN, {**caps, stage: lower}, listed, clock, effort=effort)
            if met.seating is not None:
                return Answer(lower, met.seating, lower)
            if met.bound >= NEVER:
                self._know(stage, caps, lower + 1)
        return self.minimise(stage, caps, listed, clock, most, effort)

    def as_given(
        self,
        stage: Stage,
        caps: Caps,
        listed: Sequence[Seating],
        clock: Clock,
        frames: Sequence[Given | None],
        most: int,
        effort: float,
    ) -> Answer:
        """A stage within a value where alike frames are filled as a model says that counts them together.

        Where nothing is found that says nothing of other fillings.
        """
        capped = caps if stage == MARGIN else {**caps, stage: most}
        found = self._search(MARGIN, capped, listed, clock, None, effort, frames)
        return replace(found, value=None if found.seating is None else self._value(stage, caps, found.seating))

    def _search(
        self,
        stage: Stage,
        caps: Caps,
        listed: Sequence[Seating],
        clock: Clock,
        cutoff: int | None,
        effort: float | None,
        frames: Sequence[Given | None] = (),
        most_cut: int = MOST_CUT,
    ) -> Answer:
        """The least of a stage: what the model over runs says, seated; what cannot be seated is kept out."""
        room, goal = self._stated(stage, caps, listed, cutoff, frames)
        moves = not isinstance(goal, int)
        cuts = self._known_cuts(room, caps)
        best = Answer(None, None, self.lower(stage, caps))
        for n in count():
            if effort is not None and n == most_cut:
                break
            status, solver = solve(room.model, clock, effort, any_will_do=not moves)
            if status == "none":
                never = NEVER if cutoff is None or not moves else cutoff + 1
                return replace(best, bound=never if best.value is None else best.value)
            if moves and status in ("proven", "found", "open"):
                best = replace(best, bound=max(best.bound, ceil(solver.best_objective_bound - 1e-6)))
            if status in ("open", "late"):
                return best
            seating, sure = self._seated(room, solver, caps, cuts, clock)
            if seating is None:
                if sure:
                    continue
                return best
            found = self._value(stage, caps, seating)
            if found is not None and (not moves or found <= solver.value(goal)):
                return Answer(found, seating, min(best.bound, found) if moves else 0)
            # The model over runs does not know everything: ask the slots of just these cards.
            exact = self._among_slots(stage, caps, listed, room, solver, clock)
            if exact.value is not None and (best.value is None or exact.value < best.value):
                best = Answer(exact.value, exact.seating, best.bound)
                if not moves:
                    return exact
                room.model.add(goal <= exact.value - 1)
            if exact.bound < (NEVER if exact.value is None else exact.value):
                return best
            cuts.no_such_counts(self._chosen(room, solver), solver.value)
        return best

    def _stated(
        self,
        stage: Stage,
        caps: Caps,
        listed: Sequence[Seating],
        cutoff: int | None,
        frames: Sequence[Given | None],
    ) -> tuple[RoomStatement, Any]:
        """The model of a question, and what it minimises."""
        within = caps if cutoff is None else {stage: cutoff, **caps}
        cost = cost_within(self.scale, within)
        counted = self._counted(cost)
        goal = counted.goal(stage)
        room = self._kept(counted, caps, listed, tied=stage == TIES or TIES in caps)
        self._purchases.hold(room, cost)
        fill_as(room, frames)
        if cutoff is not None and not isinstance(goal, int):
            room.model.add(goal <= cutoff)
        guide = counted.guide(caps) if stage == MARGIN else goal
        if not isinstance(guide, int):
            room.model.minimize(guide)
        return room, goal

    def _known_cuts(self, room: RoomStatement, caps: Caps) -> Cuts:
        """The rows of what could not be seated before at the margin that is kept, or at less."""
        cuts = Cuts(room, self._alike)
        for cut in self._known.cuts:
            if cut.asked.margin_mk <= caps.get(MARGIN, self.survey.refuse_mk):
                cuts.keep_out(cut)
        return cuts

    def _kept(self, counted: OverRuns, caps: Caps, listed: Sequence[Seating], *, tied: bool) -> RoomStatement:
        room = counted.kept(caps, tied=tied)
        for seating in listed:
            exclude(self.survey, room, seating)
        return room

    # Seating

    def _chosen(self, room: RoomStatement, solver: cp_model.CpSolver) -> list[StatedOption]:
        """The option of each frame in a solution."""
        return [
            next(o for o in own if isinstance(o.chosen, int) or solver.boolean_value(o.chosen)) for own in room.frames
        ]

    def _seated(
        self, room: RoomStatement, solver: cp_model.CpSolver, caps: Caps, cuts: Cuts | None, clock: Clock
    ) -> tuple[Seating | None, bool]:
        """A solution frame by frame in slots; None where one cannot be seated, and whether that is sure.

        What cannot be is kept out of later ones where there are `cuts`.
        """
        cards: list[tuple[tuple[int, str], ...]] = []
        every: dict[Direction, dict[int, int]] = {d: {} for d in DIRECTIONS}
        options = self._chosen(room, solver)
        failed = False
        for option in options:
            for direction in DIRECTIONS:
                every[direction][option.site.index] = last_in_use(option, direction, solver.value)
            if room.by_slots(option.site.name):
                cards.append(tuple((p.slot, p.kind.id) for p in option.placements if solver.value(p.term)))
                continue
            asked = asked_of(option, solver.value, caps.get(MARGIN, self.survey.refuse_mk))
            if asked is None:
                cards.append(())
                continue
            key = (
                self._alike[option.site.index],
                id(option.layout) if asked.lacking else asked.layout.board,
                tuple((a.kind.id, a.starts, a.count, a.used) for a in asked.cards),
                tuple(asked.ends.items()),
                tuple(asked.lacking.items()),
                asked.margin_mk,
            )
            if key not in self._known.seats:
                found = seat(self.survey, asked, clock)
                if not found.sure:
                    return None, False
                self._known.seats[key] = found.cards
            own = self._known.seats[key]
            if own is None:
                failed = True
                if cuts is None:
                    continue
                cut = Cut(core(self.survey, asked, clock), self._alike[option.site.index])
                self._known.cuts.append(cut)
                cuts.keep_out(cut)
            else:
                cards.append(own)
        if failed:
            return None, not clock.over
        ends = every if self._counts_holes else None
        return Seating(tuple(o.layout for o in options), tuple(cards), ends), True

    @property
    def _counts_holes(self) -> bool:
        return bool({"unused", "holes"} & set(self.survey.rank))

    def _value(self, stage: Stage, caps: Caps, seating: Seating) -> int | None:
        return recounted(self.survey, self.scale, stage, caps, seating)

    def _slots(self, options: Sequence[Option], caps: Caps) -> Part:
        """The exact model of some settings, with the cards that there can be within caps."""
        kinds = self._purchases.kinds_within(self.kinds, cost_within(self.scale, caps))
        key = key_of(options), tuple(kind.id for kind in kinds)
        if key not in self._exact:
            self._exact[key] = Part(self.survey, [[option] for option in options], kinds, self.shared)
        return self._exact[key]

    def _among_slots(
        self,
        stage: Stage,
        caps: Caps,
        listed: Sequence[Seating],
        room: RoomStatement,
        solver: cp_model.CpSolver,
        clock: Clock,
    ) -> Answer:
        """The least of a stage with the settings and just the cards of a solution."""
        options = self._chosen(room, solver)
        counts: list[tuple[int, str, Sequence[int], int, int]] = []
        for option in options:
            for placed in option.placements:
                number = solver.value(placed.term)
                counts.append((option.site.index, placed.kind.id, placed.starts, number, number))
        return self._slots([o.layout for o in options], caps).with_counts(stage, caps, listed, counts, clock)

    # Ties

    def _contents_within(self, caps: Caps, clock: Clock) -> Contents | None:
        """Every list of cards within caps that say all; None where settings are open, or where they are too many."""
        key = frozenset(caps.items())
        if any(len(own) > 1 for own in self.options) or TIES not in caps:
            return None
        if key not in self._contents:
            found = self._every_content(caps, clock)
            if found is None and clock.over:
                return None
            self._contents[key] = None if found is None else Contents(self.survey, found)
        return self._contents[key]

    def _every_content(self, caps: Caps, clock: Clock) -> list[Seating] | None:
        """A seating of each list of cards, each kept out of the model over runs once it is found."""
        room, _ = self._stated(MARGIN, caps, (), None, ())
        cuts = self._known_cuts(room, caps)
        found: list[Seating] = []
        for _ in range(ROUNDS):
            status, solver = solve(room.model, clock, any_will_do=True, easy=IN_ORDER, choices=False)
            if status == "none":
                return found
            if status not in ("found", "proven") or len(found) == MOST:
                break
            seating, sure = self._seated(room, solver, caps, cuts, clock)
            if seating is None:
                if not sure:
                    break
                continue
            cuts.no_such_cards(self._chosen(room, solver), solver.value)
            if self._value(TIES, caps, seating) is None:
                # The model over runs does not know everything: ask the slots of just these cards.
                exact = self._slots(seating.options, caps).first_of(caps, (), just_these(self.survey, seating), clock)
                if exact.seating is None:
                    if exact.bound < NEVER:
                        break
                    continue
                seating = exact.seating
            found.append(seating)
        return None

    def first(self, caps: Caps, listed: Sequence[Seating], clock: Clock) -> Answer:
        """The first in order: of all layouts, then of what the slots of each frame hold, one frame after the other."""
        options: Sequence[Option] = [own[0] for own in self.options]
        contents = self._contents_within(caps, clock)
        if contents is not None:
            slots = self._slots(options, caps)
            return contents.first(listed, lambda just: slots.first_of(caps, (), just, clock))
        cost = cost_within(self.scale, caps)
        kinds = self._purchases.kinds_within(self.kinds, cost)
        if any(len(own) > 1 for own in self.options):
            room = self._kept(self._counted(cost), caps, listed, tied=True)
            self._purchases.hold(room, cost)
            digits = [list(enumerate(term for _, term in room.choices(site))) for site in self.survey.frames]
            answer = self._first_digits(room, digits, caps, listed, clock)
            if answer.seating is None:
                return answer
            options = answer.seating.options
        before: list[tuple[tuple[int, str], ...]] = []
        answer = Answer(None, None, 0)
        for site in self.survey.frames:
            if options[site.index] is None and answer.seating is not None:
                before.append(())
                continue
            turn = InTurn(self.survey, options, kinds, self.shared.limits, before)
            turn.cost()
            keep(turn, self.scale, caps, expression(turn.ties()), self.survey.refuse_mk)
            for seating in listed:
                exclude(self.survey, turn, seating)
            self._purchases.hold(turn, cost)
            answer = self._first_digits(turn, turn.digits, caps, listed, clock)
            if answer.seating is None:
                return answer
            before.append(answer.seating.cards[site.index])
        return replace(answer, bound=0)

    def _first_digits(
        self, room: RoomStatement, digits: Sequence[Digit], caps: Caps, listed: Sequence[Seating], clock: Clock
    ) -> Answer:
        """The seating whose digits are the least, the first ones first; as many at once as make small numbers."""
        answer = Answer(None, None, 0)
        cuts = self._known_cuts(room, caps)
        base = 2 + max(map(len, digits), default=0)
        together = digits_at_once(base)
        for at in range(0, max(1, len(digits)), together):
            asked = digits[at : at + together]
            goal = least_number(asked, base)
            if not isinstance(goal, int):
                room.model.minimize(goal)
            answer = self._least_seated(room, cuts, caps, listed, clock)
            if answer.seating is None:
                return answer
            if not isinstance(goal, int):
                room.model.add(goal == answer.bound)
        return answer

    def _least_seated(
        self, room: RoomStatement, cuts: Cuts, caps: Caps, listed: Sequence[Seating], clock: Clock
    ) -> Answer:
        """The least value of a model that can be seated, and its seating."""
        while True:
            status, solver = solve(room.model, clock, easy=IN_ORDER)
            if status != "proven":
                return Answer(None, None, NEVER if status == "none" else 0)
            seating, sure = self._seated(room, solver, caps, cuts, clock)
            if seating is None:
                if not sure:
                    return Answer(None, None, 0)
                continue
            if self._value(TIES, caps, seating) is None:
                exact = self._among_slots(MARGIN, caps, listed, room, solver, clock)
                if exact.seating is None:
                    if exact.bound < NEVER:
                        return Answer(None, None, 0)
                    cuts.no_such_counts(self._chosen(room, solver), solver.value)
                    continue
                seating = exact.seating
            return Answer(0, seating, round(solver.objective_value))

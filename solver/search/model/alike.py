"""A room of several frames in a model that counts: how many alike frames have a layout and end in which of its runs.

It does not grow with the frames and has no two solutions that only exchange frames, and what a frame leaves as holes
is a plain sum once it is said in which runs its numbers end. Cards are counted by their sort alone, that is by what
channels they have and what heat they may stand beside; which kinds they are is said once for all alike frames.

It is a relaxation: pins are left out, rails and companions are kept by alike frames together.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from math import gcd
from typing import Any, TypeAlias

from solver import rules
from solver.judge import criteria
from solver.room.kind import Kind, LineType
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Survey
from solver.room.words import DIRECTIONS, Direction
from solver.rules.limit import Cell, Limit, Load, Rule, Seat
from solver.search.model.answered import Answering
from solver.search.model.basis import Basis, Option
from solver.search.model.cpsat import cp_model
from solver.search.model.outlasting import Bringing, lines_of
from solver.search.model.services import add, expression
from solver.search.model.statement import Run, Terms, open_slots_of, runs_of

Profile: TypeAlias = tuple[tuple[int, ...], ...]
"""The numbers that a card's parts answer, direction by direction."""


@dataclass(frozen=True)
class Place:
    """Where cards of one sort may stand in a layout: over which runs, beginning in which slots."""

    kinds: tuple[Kind, ...]
    runs: tuple[int, ...]
    starts: tuple[int, ...]
    answered: Profile

    def numbers(self, direction: Direction, part: int) -> int:
        """How many numbers a card there answers with one of its parts."""
        return self.answered[DIRECTIONS.index(direction)][part]

    def parts(self, direction: Direction) -> list[tuple[int, int, int]]:
        """The parts that answer numbers: which, in which run, how many."""
        own = ((part, run, self.numbers(direction, part)) for part, run in enumerate(self.runs))
        return [entry for entry in own if entry[2]]


@dataclass
class Class:
    """Frames of one layout whose numbers in use end in the same runs: None where none are in use."""

    site: FrameSite
    layout: Layout
    ends: dict[Direction, int | None]
    runs: list[list[int]]
    number: Any
    counts: list[tuple[Place, Any]] = field(default_factory=list)


@dataclass(frozen=True)
class Block:
    """What a model says of one layout alone: its variables, the first one how many frames have it, and its rows."""

    option: Option
    variables: range
    rows: range


@dataclass(frozen=True)
class Given:
    """What a solution gives a frame: its class, and how many cards stand where in all frames of that class."""

    own: Class
    counts: tuple[tuple[Place, int], ...]

    @property
    def layout(self) -> Layout:
        """The numbers of its slots."""
        return self.own.layout


_Placed: TypeAlias = tuple[Place, Any, dict[tuple[Direction, int], Any]]
"""A place, how many cards stand there, and how many of them are in use, by direction and part."""


class AlikeStatement(Basis):
    """Implements `solver.rules.limit.Draft` for alike frames together: the first of them stands for all.

    Parameters
    ----------
    survey
        The room.
    options
        For each frame what it may be, the same for alike frames.
    kinds
        The cards under consideration.
    limits
        What to state; of rules that are graded none.
    margin_mk
        The cooling margin to keep.
    neighbours
        Whether to say what that asks of neighbours too, which takes more sorts of card.
    """

    def __init__(
        self,
        survey: Survey,
        options: Sequence[Sequence[Option]],
        kinds: Sequence[Kind],
        limits: Sequence[tuple[Rule, Limit]],
        *,
        margin_mk: int,
        neighbours: bool,
    ) -> None:
        super().__init__(survey, options, kinds, whole_cards=True)
        graded = [(rule, limit) for rule in rules.LIST for limit in rule.at(survey, margin_mk)]
        self._every = [*limits, *graded]
        self._margin_mk = margin_mk
        self._neighbours = neighbours
        self.groups = survey.groups_of_alike_frames()
        self.classes: list[Class] = []
        self.blocks: dict[int, list[Block]] = {group[0]: [] for group in self.groups}
        """By the first of alike frames."""
        self._used: dict[str, tuple[int, Any]] = {}
        self._cells: dict[int, list[tuple[str, Run]]] = {group[0]: [] for group in self.groups}
        self._seats: list[Seat] = []
        self._boards: dict[int, str] = {}
        self._holes: Terms = []
        self._parted: dict[str, Terms] = {"stranded": [], "idle": []}
        self._lines: list[tuple[FrameSite, Direction, LineType, int, Any]] = []
        self._brought: list[Bringing] = []
        self._supplied: set[tuple[int, Direction]] = set()
        for group in self.groups:
            self._state_group(group)
        self._state_limits()

    def _choose(self, own: Sequence[Option]) -> list[tuple[Option, Any]]:
        """How many have each is said of alike frames together."""
        return []

    # Rules

    def _state_limits(self) -> None:
        """What is said of whole frames and of the room; what is said of single slots is known to places."""
        first = {self.survey.frames[group[0]].name for group in self.groups}
        stated = [
            (rule, limit)
            for rule, limit in self._every
            if limit.place.slot is None and rule.speaks_of != "straps" and (self._neighbours or not rule.graded)
        ]
        for rule, limit in stated:
            if limit.place.frame in first:
                self._say(rule, limit)
        for site, direction, line_type, lines, used in self._lines:
            if (site.index, direction) in self._supplied:
                self.services.supply.setdefault((direction, line_type), []).append((lines, used))
        of_the_room = [entry for entry in stated if entry[1].place.frame is None]
        super()._state([entry for entry in of_the_room if entry[0].speaks_of == "lines"])
        for rule, limit in of_the_room:
            if rule.speaks_of != "lines":
                self._say(rule, limit)

    def _say(self, rule: Rule, limit: Limit) -> None:
        rule.relax(self, limit)

    def may_seat(self, site: FrameSite, places: Iterable[tuple[int, Kind]]) -> None:
        """Places are worked out with the classes."""

    def seats(self, site: FrameSite | None = None, card: str | None = None, board: str | None = None) -> Sequence[Seat]:
        return [
            seat
            for seat in self._seats
            if (site is None or seat.site is site)
            and (card is None or seat.kind.id == card)
            and (board is None or self._boards[id(seat)] == board)
        ]

    def laid(self) -> Sequence[tuple[Seat, Layout]]:
        return []

    def cells(self, site: FrameSite, slot: int | None = None, board: str | None = None) -> Sequence[Cell]:
        every = self._cells.get(site.index, [])
        return [run for own, run in every if board in (None, own) and (slot is None or slot in run.slots)]

    def covering(self, cell: Cell) -> Sequence[tuple[int, Seat]]:
        assert isinstance(cell, Run)
        return cell.over

    def hold(self, limit: Limit, load: Load, cell: Cell | None = None, *, whole: bool = False) -> None:
        """A limit of a frame holds for as many as are used, one at least for all."""
        if cell is None and limit.place.frame is not None:
            size, used = self._used[limit.place.frame]
            bound = limit.bound * (size if limit.at_least else used)
            add(self.model, expression(load) >= bound if limit.at_least else expression(load) <= bound)
        else:
            super().hold(limit, load, cell, whole=whole)

    def apart(
        self, limit: Limit, lefts: Load, rights: Load, board: tuple[FrameSite, str], *, alone: bool = False
    ) -> None:
        """Nothing: terms count cards, and those of one run need not stand side by side."""

    def _answering(self, site: FrameSite, direction: Direction) -> Iterable[Answering]:
        return ()

    def _bringing(self) -> list[Bringing]:
        return self._brought

    def line_types(self, direction: Direction) -> Sequence[LineType]:
        found = {line_type for _, own, line_type, _, _ in self._lines if own == direction}
        return sorted(found, key=lambda t: t.key)

    def supply(self, limit: Limit, site: FrameSite, direction: Direction) -> None:
        self._supplied.add((site.index, direction))

    # Alike frames

    def _state_group(self, group: Sequence[int]) -> None:
        site, size = self.survey.frames[group[0]], len(group)
        choices: list[tuple[Option, Any]] = []
        placed: dict[tuple[str, tuple[str, ...], Profile], list[_Placed]] = {}
        for option in self.options[site.index]:
            term = self.model.new_int_var(0, size, "")
            choices.append((option, term))
            if option is None:
                self._end_block(site, option, term, 0)
                continue
            before = len(self.model.proto.constraints)
            classes = list(self._classes(site, option, size))
            add(self.model, expression([(1, own.number) for own in classes]) == term)
            self.classes += classes
            for own in classes:
                for place, count, used in self._fill(own, size):
                    key = option.board, tuple(kind.id for kind in place.kinds), place.answered
                    placed.setdefault(key, []).append((place, count, used))
            self._end_block(site, option, term, before)
        self._choices[site.index] = choices
        add(self.model, expression([(1, term) for _, term in choices]) == size)
        self._used[site.name] = size, expression([(1, term) for option, term in choices if option is not None])
        for (board, _, answered), own_places in placed.items():
            self._say_which(site, board, own_places[0][0].kinds, answered, own_places)

    def _end_block(self, site: FrameSite, option: Option, term: Any, first_row: int) -> None:
        variables = range(term.index, len(self.model.proto.variables))
        rows = range(first_row, len(self.model.proto.constraints)) if option is not None else range(0)
        self.blocks[site.index].append(Block(option, variables, rows))

    def _classes(self, site: FrameSite, layout: Layout, size: int) -> Iterable[Class]:
        """Every pair of runs in which numbers may end; where both end in one run, either end may be the later."""
        open_slots = open_slots_of(self._every, site, layout, self.kinds)
        runs = runs_of(self.survey, site, layout, open_slots)
        places = list(self._places(site, layout, runs, open_slots))
        ends: dict[Direction, list[int | None]] = {}
        for direction in DIRECTIONS:
            numbered = {run for place in places for _, run, _ in place.parts(direction)}
            ends[direction] = [None, *sorted(numbered)] if self._with_holes else [max(numbered, default=None)]
        for last_in in ends["in"]:
            for last_out in ends["out"]:
                own_ends: dict[Direction, int | None] = {"in": last_in, "out": last_out}
                own = Class(site, layout, own_ends, runs, self.model.new_int_var(0, size, ""))
                for place in places:
                    in_use = any(self._within(own, d, run) for d in DIRECTIONS for _, run, _ in place.parts(d))
                    if in_use or not self._sure or any(kind.id in self._wanted for kind in place.kinds):
                        own.counts.append((place, self.model.new_int_var(0, size * len(place.starts), "")))
                yield own

    @staticmethod
    def _within(own: Class, direction: Direction, run: int) -> bool:
        end = own.ends[direction]
        return end is not None and run <= end

    def _places(
        self, site: FrameSite, layout: Layout, runs: Sequence[Sequence[int]], open_slots: dict[str, set[int]]
    ) -> Iterable[Place]:
        run_of = {slot: index for index, slots in enumerate(runs) for slot in slots}
        apart = rules.apart(self.survey, site, layout.board, self.kinds, self._margin_mk) if self._neighbours else ()
        sorts: dict[object, list[Kind]] = {}
        for kind in self.kinds:
            channels = [[len(kind.on(d, part)) for part in range(kind.span)] for d in DIRECTIONS]
            heat = [(kind.id in c.lefts, kind.id in c.rights) for one in apart for c in one.clashes]
            own = kind.span, channels, heat, sorted(open_slots[kind.id]), self._serves_for_sure(kind)
            sorts.setdefault(repr((*own, kind.id in self._wanted)), []).append(kind)
        for kinds in sorts.values():
            one = kinds[0]
            by_runs: dict[tuple[int, ...], list[int]] = {}
            for start in site.slots:
                covers = range(start, start + one.span)
                if open_slots[one.id].issuperset(covers) and any(self._worth(layout, start, k) for k in kinds):
                    by_runs.setdefault(tuple(run_of[slot] for slot in covers), []).append(start)
            for over, starts in by_runs.items():
                answered = tuple(
                    tuple(
                        min(len(one.on(d, part)), layout.block(d, starts[0] + part).width) for part in range(one.span)
                    )
                    for d in DIRECTIONS
                )
                yield Place(tuple(kinds), over, tuple(starts), answered)

    # One class

    def _fill(self, own: Class, size: int) -> list[_Placed]:
        """Cards in the slots of a class, and of each how many are in use: by direction and part."""
        runs = [Run(own.site, slots, own.number) for slots in own.runs]
        found = []
        for place, count in own.counts:
            seat = Seat(own.site, place.starts[0], place.kinds[0], count)
            for run in dict.fromkeys(place.runs):
                runs[run].over.append((place.runs.count(run), seat))
            if len(place.runs) > 1:
                self.model.add(count <= len(place.starts) * own.number)
            sure = self._serves_for_sure(place.kinds[0])
            used: dict[tuple[Direction, int], Any] = {}
            for direction in DIRECTIONS:
                for part, run, _ in place.parts(direction):
                    if not self._within(own, direction, run):
                        continue
                    in_use = count
                    if not sure and self._with_holes and run == own.ends[direction]:
                        in_use = self.model.new_int_var(0, size * len(place.starts), "")
                        self.model.add(in_use <= count)
                    used[direction, part] = in_use
            found.append((place, count, used))
        for run_cell in runs:
            self._cells[own.site.index].append((own.layout.board, run_cell))
            add(self.model, expression([(n, s.term) for n, s in run_cell.over]) <= len(run_cell.slots) * own.number)
        add(self.model, expression([(1, count) for _, count, _ in found]) >= own.number)
        if self._with_holes:
            last = {d: end for d in DIRECTIONS if (end := self._count_holes(own, size, d, found)) is not None}
            self._share_end(own, last, found)
        return found

    def _count_holes(
        self,
        own: Class,
        size: int,
        direction: Direction,
        found: Sequence[_Placed],
    ) -> Any:
        """Holes are the numbers up to the last slot in use, less those answered and those that its own card lacks."""
        end = own.ends[direction]
        if end is None:
            return None
        widths = [own.layout.block(direction, slots[0]).width for slots in own.runs]
        answered: Terms = []
        last: dict[int, Terms] = {}
        for place, _, used in found:
            for part, run, numbers in place.parts(direction):
                if (direction, part) in used:
                    answered.append((numbers, used[direction, part]))
                    if run == end:
                        last.setdefault(numbers, []).append((1, used[direction, part]))
        up_to = self.model.new_int_var(0, size * len(own.runs[end]), "")
        in_end = expression([entry for terms in last.values() for entry in terms])
        self.model.add(up_to <= len(own.runs[end]) * own.number)
        self.model.add(in_end <= up_to)
        self.model.add(in_end >= own.number)
        lacking: Terms = []
        for numbers, terms in last.items():
            if numbers < widths[end]:
                lacks = self.model.new_int_var(0, size, "")
                self.model.add(lacks <= expression(terms))
                lacking.append((widths[end] - numbers, lacks))
        add(self.model, expression([(1, term) for _, term in lacking]) <= own.number)
        before = sum(widths[run] * len(own.runs[run]) for run in range(end))
        reached = [(before, own.number), (widths[end], up_to)]
        step = gcd(*(amount for amount, _ in [*reached, *answered, *lacking]))
        most = size * (before + widths[end] * len(own.runs[end]))
        holes = self.model.new_int_var(0, most // step, "")
        self.model.add(expression([(step, holes), *answered, *lacking]) >= expression(reached))
        self._holes.append((step, holes))
        return up_to

    def _share_end(
        self,
        own: Class,
        last: dict[Direction, Any],
        found: Sequence[_Placed],
    ) -> None:
        """Where both directions end in one run, its cards in use reach no further than the later of the ends."""
        end = own.ends["in"]
        if end is None or end != own.ends["out"] or len(own.runs[end]) < 2:
            return
        busy: Terms = []
        for place, _, used in found:
            for part, run in enumerate(place.runs):
                counts = [used[d, part] for d in DIRECTIONS if (d, part) in used and run == end]
                if not counts:
                    continue
                either = counts[0]
                if len(counts) > 1 and counts[0] is not counts[1]:
                    either = self.model.new_int_var(0, either.domain.max(), "")
                    for count in counts:
                        self.model.add(either >= count)
                busy.append((1, either))
        outputs_later = self.model.new_int_var(0, own.number.domain.max(), "")
        self.model.add(outputs_later <= own.number)
        most = len(own.runs[end])
        self.model.add(expression(busy) <= last["in"] + most * outputs_later)
        self.model.add(expression(busy) <= last["out"] + most * own.number - most * outputs_later)

    # Kinds

    def _say_which(
        self,
        site: FrameSite,
        board: str,
        kinds: Sequence[Kind],
        answered: Profile,
        places: Sequence[_Placed],
    ) -> None:
        """How many of the cards that answer such numbers are of which kind, and in use."""
        most = sum(int(count.domain.max()) for _, count, _ in places)
        numbered = sum(map(sum, answered))
        terms = {}
        for kind in kinds:
            terms[kind.id] = self.model.new_int_var(0, most, "")
            seat = Seat(site, places[0][0].starts[0], kind, terms[kind.id])
            self._seats.append(seat)
            self._boards[id(seat)] = board
            channels = sum(len(kind.on(d, part)) for d in DIRECTIONS for part in range(kind.span))
            lines = lines_of(kind, lambda direction, part: answered[DIRECTIONS.index(direction)][part])
            self._brought += [Bringing(lines, terms[kind.id])] if lines else []
            self._parted["stranded"].append((channels - numbered, terms[kind.id]))
            self._parted["idle"].append((numbered, terms[kind.id]))
        counted = expression([(1, count) for _, count, _ in places])
        add(self.model, expression([(1, term) for term in terms.values()]) == counted)
        for n, direction in enumerate(DIRECTIONS):
            for part, numbers in enumerate(answered[n]):
                if numbers:
                    self._say_in_use(site, direction, part, numbers, kinds, terms, places)

    def _say_in_use(
        self,
        site: FrameSite,
        direction: Direction,
        part: int,
        numbers: int,
        kinds: Sequence[Kind],
        terms: dict[str, Any],
        places: Sequence[_Placed],
    ) -> None:
        own = [used.get((direction, part)) for _, _, used in places]
        every = all(term is count for term, (_, count, _) in zip(own, places, strict=True))
        in_use: Terms = []
        for kind in kinds:
            term = terms[kind.id]
            if not every:
                term = self.model.new_int_var(0, int(term.domain.max()), "")
                self.model.add(term <= terms[kind.id])
                in_use.append((1, term))
            for line_type, lines in kind.lines(direction, part, numbers).items():
                self._lines.append((site, direction, line_type, lines, term))
        if in_use:
            add(self.model, expression(in_use) <= expression([(1, term) for term in own if term is not None]))

    # What it comes to

    def _most_bought(self, item: str, load: Load) -> int:
        kind = self.survey.kinds.get(item)
        slots = sum(len(site.slots) for site in self.survey.frames)
        fitting = len(self.survey.frames) if kind is None else slots // kind.span
        most = self.survey.most_of(item)
        return fitting if most is None else min(fitting, most)

    def stranded(self) -> Load:
        return self._parted["stranded"]

    def holes(self) -> Load:
        return self._holes

    def idle(self) -> Load:
        return [*self._parted["idle"], (-self.survey.due, 1)]

    def criterion(self, name: str) -> Load:
        """The sum that a criterion counts."""
        return criteria.objective(self, name)

    # Solutions

    @cached_property
    def layouts_by_frame(self) -> list[list[tuple[Option, Any]]]:
        """For each frame its options in order and terms that say which it has; alike frames have theirs in order.

        Adds what that takes to this model; ask a copy.
        """
        found: list[list[tuple[Option, Any]]] = [[] for _ in self.survey.frames]
        for group in self.groups:
            choices = self._choices[group[0]]
            for frame in group:
                found[frame] = [(option, self.model.new_bool_var("")) for option, _ in choices]
                self.model.add_exactly_one(term for _, term in found[frame])
            for n, (_, number) in enumerate(choices):
                self.model.add(expression([(1, found[frame][n][1]) for frame in group]) == number)
            ranks = [expression([(n, term) for n, (_, term) in enumerate(found[frame])]) for frame in group]
            for one, other in pairwise(ranks):
                add(self.model, one <= other)
        return found

    def given(self, solver: cp_model.CpSolver) -> tuple[Given | None, ...]:
        """What a solution gives each frame: alike frames have their layouts in order, those that are not used last."""
        found: list[Given | None] = [None] * len(self.survey.frames)
        for group in self.groups:
            order = {id(option): n for n, (option, _) in enumerate(self._choices[group[0]])}
            own: list[Given] = []
            for one in self.classes:
                if one.site.index == group[0] and solver.value(one.number):
                    counts = tuple((place, solver.value(count)) for place, count in one.counts)
                    own += [Given(one, counts)] * solver.value(one.number)
            own.sort(key=lambda one: order[id(one.layout)])
            for frame, given in zip(group, own, strict=False):
                found[frame] = given
        return tuple(found)

    def keep_out(self, options: Sequence[Option]) -> None:
        """Other settings than these, however alike frames are exchanged."""
        ways: list[Any] = []
        for group in self.groups:
            for option, number in self._choices[group[0]]:
                have = sum(options[frame] is option for frame in group)
                if have:
                    fewer = self.model.new_bool_var("")
                    self.model.add(number <= have - 1).only_enforce_if(fewer)
                    ways.append(fewer)
        self.model.add_bool_or(ways or [False])

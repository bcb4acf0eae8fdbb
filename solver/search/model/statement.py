"""A room in a model that counts cards over runs of like slots, or slot by slot.

Over runs it is a relaxation: neighbours' heat is left out, and where spanning cards straddle is not settled. Slot by
slot every rule of a room is stated, so that each answer can be seated as it stands.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import groupby
from typing import Any

from solver import rules
from solver.judge import criteria
from solver.room.kind import Kind, LineType, whole_lines
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Survey
from solver.room.words import DIRECTIONS, Direction
from solver.rules.limit import Cell, Limit, Load, Rule, Seat
from solver.search.model.allotment import PARTS, SHORTS, Allotment, Weights
from solver.search.model.answered import Answering
from solver.search.model.basis import Basis
from solver.search.model.cpsat import cp_model
from solver.search.model.services import add, expression
from solver.search.model.setting import CardSwitches

Terms = list[tuple[int, Any]]
"""A weighted sum of decision variables."""


@dataclass(frozen=True, slots=True)
class Placement(Seat):
    """So many cards of a kind, each over the same runs of a layout, in any of some places."""

    layout: Layout
    runs: tuple[int, ...]
    starts: Sequence[int]


@dataclass(frozen=True, slots=True)
class Run(Cell):
    """Adjacent slots of one layout, and how many of them each card of a placement takes."""

    over: list[tuple[int, Seat]] = field(default_factory=list)


@dataclass
class StatedOption:
    """One option of a frame with its terms: a layout and the cards in it, or that the frame is not used."""

    site: FrameSite
    layout: Layout | None
    chosen: Any
    placements: list[Placement] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    last_slots: dict[Direction, list[tuple[int, Any]]] = field(default_factory=dict)
    in_use: dict[tuple[int, int], tuple[int, list[Any]]] = field(default_factory=dict)
    """By placement and part: its run, and how many are in use, direction by direction."""
    holes: dict[Direction, Any] = field(default_factory=dict)
    switches: dict[int, CardSwitches] = field(default_factory=dict)
    """By placement how its cards are set."""


def open_slots_of(
    limits: Sequence[tuple[Rule, Limit]], site: FrameSite, layout: Layout, kinds: Sequence[Kind]
) -> dict[str, set[int]]:
    """The slots of a frame that no limit keeps a kind of card out of."""
    own = [(rule, limit) for rule, limit in limits if limit.place.frame == site.name]
    return {
        k.id: set(site.slots).difference(*(rule.shuts(limit, site, layout, k) for rule, limit in own)) for k in kinds
    }


def runs_of(survey: Survey, site: FrameSite, layout: Layout, open_slots: Mapping[str, set[int]]) -> list[list[int]]:
    """Neighbouring slots that nothing but their place tells apart."""

    def nature(slot: int) -> object:
        apart = [rule.tells_apart(survey, site, layout, slot) for rule in rules.LIST]
        closed = sorted(card for card, slots in open_slots.items() if slot not in slots)
        widths = [(layout.block(d, slot).width, layout.fewest(d, slot)) for d in DIRECTIONS]
        return widths, closed, apart

    return [list(slots) for _, slots in groupby(site.slots, key=nature)]


class RoomStatement(Basis):
    """Implements `solver.rules.limit.Draft` over runs of slots.

    Parameters
    ----------
    survey
        The room.
    options
        For each frame what it may be: layouts, None for not used.
    kinds
        The cards under consideration.
    limits
        What to state; of rules that are graded none.
    slot_by_slot
        Whether every slot is a run of its own and the graded rules are stated.
    margin_mk
        The cooling margin to keep.
    short_known
        Whether the room is short of exactly what the survey allows for; otherwise of that at most, and how much counts.
    whole_cards
        Whether rows about lines are also rounded up to whole cards.
    model
        Where to state it; by default a model of its own.
    """

    def __init__(
        self,
        survey: Survey,
        options: Sequence[Sequence[Layout | None]],
        kinds: Sequence[Kind],
        limits: Sequence[tuple[Rule, Limit]],
        *,
        slot_by_slot: bool,
        margin_mk: int,
        short_known: bool = True,
        whole_cards: bool = False,
        model: cp_model.CpModel | None = None,
    ) -> None:
        super().__init__(survey, options, kinds, whole_cards=whole_cards, model=model)
        self.slot_by_slot = slot_by_slot
        graded = [(rule, limit) for rule in rules.LIST for limit in rule.at(survey, margin_mk)]
        self._limits = [*limits, *graded]
        self.frames = [
            [StatedOption(site, layout, chosen) for layout, chosen in self.choices(site)] for site in survey.frames
        ]
        self._short_known = short_known
        self._idle_alone = "idle" in survey.rank
        self._supplied: set[tuple[int, Direction]] = set()
        self._parts: dict[str, Terms] = {part: [] for part in PARTS}
        self._answering_parts: dict[tuple[int, Direction], list[Answering]] = {}
        self._lines: list[tuple[FrameSite, Direction, LineType, int, Any]] = []
        self._heed(limits)
        self._state(self._limits if slot_by_slot else limits)

    def _state(self, limits: Sequence[tuple[Rule, Limit]]) -> None:
        """Frame by frame: cards in slots, what they load, their numbers; then who is served, and the rest.

        The order of rows and terms decides which of several equal solutions a solver finds. In this one campuses were
        measured; in others single ones took a hundred times as long. Of several layouts each has its terms together.
        """
        for site in self.survey.frames:
            own = [entry for entry in limits if entry[1].place.frame == site.name]
            seated = [entry for entry in own if entry[0].speaks_of == "cards"]
            for rule, limit in seated:
                self._say(rule, limit)
            for option in self._options(site):
                add(self.model, expression([(1, p.term) for p in option.placements]) >= option.chosen)
            loads = [entry for entry in own if entry not in seated]
            for rule, limit in sorted(loads, key=lambda entry: entry[1].place.subject or ""):
                self._say(rule, limit)
            for option in self._options(site):
                if len(self.choices(site)) == 1:
                    self._number(option)
        for site, direction, line_type, lines, used in self._lines:
            if (site.index, direction) in self._supplied:
                self.services.supply.setdefault((direction, line_type), []).append((lines, used))
        of_the_room = [entry for entry in limits if entry[1].place.frame is None]
        super()._state([entry for entry in of_the_room if entry[0].speaks_of == "lines"])
        for rule, limit in of_the_room:
            if rule.speaks_of != "lines":
                self._say(rule, limit)

    def by_slots(self, frame: str | None) -> bool:
        """Whether a frame is stated slot by slot; None for what is said of the room."""
        return self.slot_by_slot

    def _say(self, rule: Rule, limit: Limit) -> None:
        (rule.constrain if self.by_slots(limit.place.frame) else rule.relax)(self, limit)

    # Seats

    def may_seat(self, site: FrameSite, places: Iterable[tuple[int, Kind]]) -> None:
        starts: dict[str, list[int]] = {kind.id: [] for kind in self.kinds}
        for slot, kind in places:
            starts[kind.id].append(slot)
        for option in self.frames[site.index]:
            if option.layout is not None:
                self._fill(option, option.layout, starts)

    def seats(self, site: FrameSite | None = None, card: str | None = None, board: str | None = None) -> Sequence[Seat]:
        return [
            placed
            for option in self._options(site, board)
            for placed in option.placements
            if card is None or placed.kind.id == card
        ]

    def laid(self) -> Sequence[tuple[Seat, Layout]]:
        return [(placed, placed.layout) for option in self._options(None) for placed in option.placements]

    def cells(self, site: FrameSite, slot: int | None = None, board: str | None = None) -> Sequence[Cell]:
        every = (cell for option in self._options(site, board) for cell in option.runs)
        return [cell for cell in every if slot is None or slot in cell.slots]

    def _options(self, site: FrameSite | None, board: str | None = None) -> Iterable[StatedOption]:
        frames = self.frames if site is None else [self.frames[site.index]]
        used = (option for own in frames for option in own if option.layout is not None)
        return (option for option in used if board is None or (option.layout and option.layout.board == board))

    def covering(self, cell: Cell) -> Sequence[tuple[int, Seat]]:
        assert isinstance(cell, Run)
        return cell.over

    def apart(
        self, limit: Limit, lefts: Load, rights: Load, board: tuple[FrameSite, str], *, alone: bool = False
    ) -> None:
        if self.by_slots(board[0].name):
            self._at_most([*lefts, *rights], 0 if alone else 1)

    # One layout of one frame

    def _fill(self, option: StatedOption, layout: Layout, starts: Mapping[str, Sequence[int]]) -> None:
        site = option.site
        open_slots = open_slots_of(self._limits, site, layout, self.kinds)
        by_slots = self.by_slots(site.name)
        runs = [[n] for n in site.slots] if by_slots else runs_of(self.survey, site, layout, open_slots)
        option.runs = [Run(site, slots, option.chosen) for slots in runs]
        run_of = {slot: index for index, slots in enumerate(runs) for slot in slots}
        for kind in self.kinds:
            by_runs: dict[tuple[int, ...], list[int]] = {}
            for start in starts[kind.id]:
                covers = range(start, start + kind.span)
                if open_slots[kind.id].issuperset(covers) and self._worth(layout, start, kind):
                    by_runs.setdefault(tuple(run_of[slot] for slot in covers), []).append(start)
            for over, places in by_runs.items():
                count = self.model.new_int_var(0, len(places), "")
                placed = Placement(site, places[0], kind, count, layout, over, places)
                option.placements.append(placed)
                for run in dict.fromkeys(over):
                    option.runs[run].over.append((over.count(run), placed))
        if len(self.choices(site)) > 1:
            self._number(option)

    def _number(self, option: StatedOption) -> None:
        """Say what becomes of the channels of its cards."""
        if option.layout is not None:
            runs = [run.slots for run in option.runs]
            for direction in DIRECTIONS:
                self._number_side(option, option.layout, runs, direction)
            self._share_ends(option, runs)

    # Numbers and holes

    def _number_side(
        self, option: StatedOption, layout: Layout, runs: Sequence[Sequence[int]], direction: Direction
    ) -> None:
        """Channels by what becomes of them; those of parts past the last slot in use serve nothing and fill no hole."""
        widths = [layout.block(direction, slots[0]).width for slots in runs]
        fewest = [layout.fewest(direction, slots[0]) for slots in runs]
        in_use: dict[int, Terms] = {}
        by_answered: dict[tuple[int, int], Terms] = {}
        answered_below: Terms = []
        for placed in option.placements:
            for part, run in enumerate(placed.runs):
                channels = len(placed.kind.on(direction, part))
                answered = min(channels, widths[run])
                self._parts["stranded"].append((channels - answered, placed.term))
                if not answered:
                    continue
                surely = min(channels, fewest[run])
                self._parts["idle"].append((surely if self._idle_alone else answered, placed.term))
                used = placed.term
                if not self._serves_for_sure(placed.kind):
                    used = self.model.new_int_var(0, len(placed.starts), "")
                    self.model.add(used <= placed.term)
                switches = option.switches.setdefault(
                    id(placed), CardSwitches(self.model, placed.kind, len(placed.starts), placed.term)
                )
                silent = self._silent(placed, layout, direction, part)
                ways = [way.without(silent) for way in switches.ways(direction, part, used)]
                here = Answering(
                    runs[run][0], placed.kind, part, answered, ways, placed.term, [(layout, option.chosen)]
                )
                self._answering_parts.setdefault((option.site.index, direction), []).append(here)
                in_use.setdefault(run, []).append((1, used))
                option.in_use.setdefault((id(placed), part), (run, []))[1].append(used)
                by_answered.setdefault((run, surely), []).append((1, used))
                answered_below.append((surely, used))
                for way in ways:
                    for line_type, lines in whole_lines(way.channels, widths[run]).items():
                        self._lines.append((option.site, direction, line_type, lines, way.term))
        if self._with_holes and in_use:
            numbered = [run for run, width in enumerate(widths) if width]
            holes = self._count_holes(option, runs, numbered, fewest, direction, in_use, by_answered, answered_below)
            option.holes[direction] = holes
            self._parts["holes"].append((1, holes))

    def _silent(self, seat: Seat, layout: Layout, direction: Direction, part: int) -> Collection[int]:
        """Known where it is known in which slot the card stands."""
        assert isinstance(seat, Placement)
        return self._silenced(seat, layout, direction, part) if len(seat.starts) == 1 else ()

    def _count_holes(
        self,
        option: StatedOption,
        runs: Sequence[Sequence[int]],
        numbered: Sequence[int],
        widths: Sequence[int],
        direction: Direction,
        in_use: Mapping[int, Terms],
        by_answered: Mapping[tuple[int, int], Terms],
        answered: Terms,
    ) -> Any:
        """Holes are the numbers up to the last slot in use, less those answered and those that its own card lacks."""
        numbered = numbered[: numbered.index(max(in_use)) + 1]
        reached: Terms = []
        lacking: Terms = []
        lasts: list[Any] = []
        passed: Any = None
        ends: list[tuple[int, Any]] = []
        for run in numbered:
            slots = runs[run]
            up_to = self.model.new_int_var(0, len(slots), "")
            if passed is not None:
                self.model.add(up_to <= len(slots) * passed)
            add(self.model, expression(in_use.get(run, [])) <= up_to)
            passed = self.model.new_bool_var("")
            self.model.add(up_to >= len(slots) * passed)
            reached.append((widths[run], up_to))
            ends.append((slots[0], up_to))
            for (own, count), terms in by_answered.items():
                if own == run and count < widths[run]:
                    last = self.model.new_bool_var("")
                    self.model.add(last <= expression(terms))
                    self.model.add(last + passed <= option.chosen)
                    lasts.append(last)
                    lacking.append((widths[run] - count, last))
        if lasts:
            add(self.model, expression([(1, last) for last in lasts]) <= option.chosen)
        option.last_slots[direction] = ends
        most = sum(widths[run] * len(runs[run]) for run in numbered)
        holes = self.model.new_int_var(0, most, "")
        add(self.model, expression([(1, holes), *answered, *lacking]) >= expression(reached))
        return holes

    def _share_ends(self, option: StatedOption, runs: Sequence[Sequence[int]]) -> None:
        """Where both directions end in one run, its cards in use reach no further than the later of the ends."""
        if not self._with_holes or any(d not in option.last_slots for d in DIRECTIONS):
            return
        ends = {d: dict(option.last_slots[d]) for d in DIRECTIONS}
        for index, slots in enumerate(runs):
            if len(slots) < 2 or any(slots[0] not in ends[d] for d in DIRECTIONS):
                continue
            busy: Terms = []
            for run, counts in option.in_use.values():
                if run == index:
                    either = counts[0]
                    if len(counts) > 1 and counts[0] is not counts[1]:
                        either = self.model.new_int_var(0, len(slots), "")
                        for count in counts:
                            self.model.add(either >= count)
                    busy.append((1, either))
            outputs_later = self.model.new_bool_var("")
            most = len(slots)
            add(self.model, expression(busy) <= ends["in"][slots[0]] + most * outputs_later)
            add(self.model, expression(busy) <= ends["out"][slots[0]] + most - most * outputs_later)

    # Services

    def _answering(self, site: FrameSite, direction: Direction) -> Iterable[Answering]:
        assert self.slot_by_slot, "over runs the terms count cards"
        return self._answering_parts.get((site.index, direction), ())

    def line_types(self, direction: Direction) -> Sequence[LineType]:
        found = {line_type for _, own, line_type, _, _ in self._lines if own == direction}
        return sorted(found, key=lambda t: t.key)

    def supply(self, limit: Limit, site: FrameSite, direction: Direction) -> None:
        self._supplied.add((site.index, direction))

    # What it comes to

    @cached_property
    def most(self) -> dict[str, int]:
        """How many of each item fit at all."""
        slots = sum(len(site.slots) for site in self.survey.frames)
        found = {}
        for item in self.taken:
            kind = self.survey.kinds.get(item)
            fitting = len(self.survey.frames) if kind is None else slots // kind.span
            most = self.survey.most_of(item)
            found[item] = fitting if most is None else min(fitting, most)
        return found

    def _most_bought(self, item: str, load: Load) -> int:
        return self.most[item]

    @cached_property
    def taken(self) -> dict[str, Load]:
        """How many of each item are taken, of those that can be."""
        names: dict[str, None] = {}
        for option in self._options(None):
            board = [option.layout.board] if option.layout else []
            names |= dict.fromkeys([*(p.kind.id for p in option.placements), option.site.chassis.id, *board])
        return {item: load for item in names if (load := self.items(item))}

    def stranded(self) -> Load:
        return self._parts["stranded"]

    def holes(self) -> Load:
        return self._parts["holes"]

    def idle(self) -> Load:
        return [*self._parts["idle"], *self._due]

    @property
    def _due(self) -> Load:
        return [(-self.survey.due, 1)] if self._short_known else [(-sum(self.survey.demand.values()), 1), *self.short()]

    def weighed(self, weights: Weights) -> Terms:
        """The weighted sum of items, unused channels and what is short."""
        terms = [(weights.items.get(i, 0) * n, term) for i, own in self.taken.items() for n, term in own]
        sums = {name: self.criterion(name) for name in (*PARTS, *SHORTS)}
        return [*terms, *((weights.parts.get(name, 0) * n, term) for name, own in sums.items() for n, term in own)]

    def criterion(self, name: str) -> Load:
        """The sum that a criterion counts."""
        return criteria.objective(self, name)

    def keep_within(self, weights: Weights, most: int) -> None:
        """Keep a weighted sum within a value."""
        add(self.model, expression(self.weighed(weights)) <= most)

    def allotment(self, solver: cp_model.CpSolver) -> Allotment:
        """What a solution takes."""

        def counted(terms: Load) -> int:
            return sum(a * (t if isinstance(t, int) else solver.value(t)) for a, t in terms)

        counts = {item: counted(terms) for item, terms in self.taken.items()}
        found = {name: counted(self.criterion(name)) for name in (*PARTS, *SHORTS)}
        return Allotment(tuple(sorted((i, n) for i, n in counts.items() if n)), **found)

"""What one room can be built of: a model that counts cards over runs of like slots, or slot by slot.

Over runs it is a relaxation: neighbours' heat is left out, and where spanning cards straddle is not settled. Slot by
slot every rule of a room is stated, so each of its answers can be seated as it stands. Both leave stock, offers and
budget to those who share them: they minimise a weighted sum of items and unused channels.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations, groupby, product
from typing import Any

from ortools.sat.python import cp_model

from solver.search.clock import Clock
from solver.straps import Layout
from solver.survey import FrameSite, Kind, LineType, Survey
from solver.words import DIRECTIONS, Direction

MOST_MODELS = 64
"""Up to so many combinations of settings each get a model of their own."""

ANSWERS_KEPT = 8
"""Of so many answers a model remembers what they say about others."""

MOST_SIGNALS = 8
"""Up to so many signals of one direction every set of them is looked at."""

PARTS = ("stranded", "holes", "idle")
"""The parts of unused capacity."""

Terms = list[tuple[int, Any]]
"""A weighted sum of decision variables."""


@dataclass(frozen=True)
class Weights:
    """What a room is built to minimise: so much for each item, and for each unused channel by its part."""

    items: Mapping[str, int]
    parts: Mapping[str, int]

    def of(self, allotment: Allotment) -> int:
        """The weighted sum of an allotment."""
        return sum(self.items.get(item, 0) * count for item, count in allotment.items) + sum(
            weight * allotment.value(part) for part, weight in self.parts.items()
        )


@dataclass(frozen=True)
class Allotment:
    """What a room takes of each item, in order of ids, and the unused channels that it leaves."""

    items: tuple[tuple[str, int], ...]
    stranded: int
    holes: int
    idle: int

    def value(self, criterion: str) -> int:
        """A criterion's value; money is not a room's own."""
        return self.stranded + self.holes + self.idle if criterion == "unused" else int(getattr(self, criterion))

    def no_worse(self, other: Allotment, criteria: Iterable[str]) -> bool:
        """Whether it takes no more of any item and leaves no more by any of some criteria."""
        theirs = dict(other.items)
        return all(count <= theirs.get(item, 0) for item, count in self.items) and all(
            self.value(c) <= other.value(c) for c in criteria
        )


@dataclass(frozen=True)
class Seats:
    """Where everything stands: for each frame its layout, or None, its cards by slot, and the last slots in use."""

    layouts: tuple[Layout | None, ...]
    cards: tuple[tuple[tuple[int, str], ...], ...]
    ends: Mapping[Direction, Mapping[int, int]]


@dataclass(frozen=True)
class Found:
    """The answer of a model: the least weighted sum (None: nothing found), and whether that is proven."""

    least: int | None
    proven: bool
    allotment: Allotment | None = None
    seats: Seats | None = None


@dataclass
class _Placement:
    """So many cards of a kind, each over the same runs."""

    kind: Kind
    runs: tuple[int, ...]
    count: Any
    starts: list[int]


@dataclass
class _Option:
    """One layout in one frame."""

    site: FrameSite
    layout: Layout | None
    chosen: Any
    placements: list[_Placement] = field(default_factory=list)
    last_slots: dict[Direction, list[tuple[int, Any]]] = field(default_factory=dict)
    in_use: dict[tuple[int, int], tuple[int, list[Any]]] = field(default_factory=dict)
    """By placement and part: its run, and how many are in use, direction by direction."""


def useful_kinds(survey: Survey) -> list[Kind]:
    """Kinds that can be had and could serve something, fill a pin or have to be seated.

    Any other card can be taken out of a build for nothing, unless holes count alone.
    """
    wanted = wanted_cards(survey)
    asked = {(n.direction, n.signal) for n in survey.needs if n.demand}
    return [
        kind
        for kind in survey.kinds.values()
        if survey.most_of(kind.id) != 0
        and (
            kind.id in wanted
            or "holes" in survey.rank
            or any(
                (direction, signal) in asked
                for (direction, _), channels in kind.channels.items()
                for channel in channels
                for signal in channel.line_type.signals
            )
        )
    ]


def wanted_cards(survey: Survey) -> set[str]:
    """Cards that a pin or the scenario asks for by name."""
    pinned = {card for site in survey.frames for card in site.spec.pins.values()}
    return pinned | {card for card, _, _ in survey.must_seat}


def options_of(survey: Survey) -> list[list[list[Layout | None]]]:
    """The models that a room needs, each as a list of options for every frame; none if a frame has no option."""
    own: list[list[Layout | None]] = [
        list(site.candidates) + ([] if site.spec.pins else [None]) for site in survey.frames
    ]
    if any(not options for options in own):
        return []
    total = 1
    for options in own:
        total *= len(options)
    if total > MOST_MODELS:
        return [own]
    return [
        [[option] for option in combination] for combination in product(*own) if _numbers_enough(survey, combination)
    ]


def _numbers_enough(survey: Survey, layouts: Sequence[Layout | None]) -> bool:
    return all(
        sum(block.width for w in layouts if w is not None for block in (w.inputs if d == "in" else w.outputs))
        >= survey.demand[d]
        for d in DIRECTIONS
    )


class RoomModel:
    """One model of a room.

    Parameters
    ----------
    survey
        The room; its stock, offers and budget only bound how many of an item it could take at all.
    options
        For each frame what it may be: layouts, None for not used.
    kinds
        The cards under consideration.
    slot_by_slot
        Whether every slot is a run of its own and neighbours' heat is stated.
    margin_mk
        The cooling margin to keep.
    model
        Where to state it; by default a model of its own.
    """

    def __init__(
        self,
        survey: Survey,
        options: Sequence[Sequence[Layout | None]],
        kinds: Sequence[Kind],
        *,
        slot_by_slot: bool,
        margin_mk: int,
        model: cp_model.CpModel | None = None,
    ) -> None:
        self.survey = survey
        self.options = options
        self.kinds = kinds
        self.slot_by_slot = slot_by_slot
        self.margin_mk = margin_mk
        self.model = cp_model.CpModel() if model is None else model
        self.items: dict[str, Terms] = {}
        self.parts: dict[str, Terms] = {part: [] for part in PARTS}
        self._lines: dict[tuple[Direction, LineType], Terms] = {}
        self._options: list[list[_Option]] = []
        self._answered: list[tuple[Weights, int]] = []
        self._fewer: dict[tuple[str, int], Any] = {}
        self._wanted = wanted_cards(survey)
        self._counts_holes = bool({"unused", "holes"} & set(survey.rank))
        self._asked = {d: {n.signal for n in survey.needs if n.direction == d and n.demand} for d in DIRECTIONS}
        for site, own in zip(survey.frames, options, strict=True):
            built = []
            for layout in own:
                chosen: Any = 1 if len(own) == 1 else self.model.new_bool_var("")
                built.append(_Option(site, layout, chosen))
            if len(built) > 1:
                self.model.add_exactly_one(option.chosen for option in built)
            self._options.append(built)
            for option in built:
                if option.layout is not None:
                    self._fill(option, option.layout)
        self._meet_needs()
        for card, count, _ in survey.must_seat:
            self._hold(_sum(self.items.get(card, [])) >= count)
        for item, terms in self.items.items():
            most = survey.most_of(item)
            if most is not None:
                self._hold(_sum(terms) <= most)

    # One layout of one frame

    def _fill(self, option: _Option, layout: Layout) -> None:
        site, spec = option.site, option.site.spec
        runs = self._runs(site, layout)
        run_of = {slot: index for index, slots in enumerate(runs) for slot in slots}
        alone = {k.id for k in self.kinds if self._too_hot(site, layout.board, k, None)}
        open_slots = {k.id: self._open_slots(site, layout.board, k) for k in self.kinds}
        pins = {int(slot): card for slot, card in spec.pins.items()}
        for kind in self.kinds:
            if kind.id in alone:
                continue
            starts_by_runs: dict[tuple[int, ...], list[int]] = {}
            for start in site.slots:
                covers = range(start, start + kind.span)
                if all(slot in open_slots[kind.id] for slot in covers) and self._worth(kind, layout, start):
                    starts_by_runs.setdefault(tuple(run_of[slot] for slot in covers), []).append(start)
            for own, starts in starts_by_runs.items():
                count = self.model.new_int_var(0, len(starts), "")
                option.placements.append(_Placement(kind, own, count, starts))
                self.items.setdefault(kind.id, []).append((1, count))
        for index, slots in enumerate(runs):
            taken = [(p.runs.count(index), p.count) for p in option.placements if index in p.runs]
            if taken:
                self._hold(_sum(taken) <= len(slots) * option.chosen)
        for slot, card in pins.items():
            here = [(1, p.count) for p in option.placements if p.kind.id == card and slot in p.starts]
            self._hold(_sum(here) >= option.chosen)
        self._hold(_sum([(1, p.count) for p in option.placements]) >= option.chosen)
        self._carry(option, layout)
        if not spec.owned:
            self.items.setdefault(site.chassis.id, []).append((1, option.chosen))
        if not (spec.owned and spec.board):
            self.items.setdefault(layout.board, []).append((1, option.chosen))
        for direction in DIRECTIONS:
            self._number(option, layout, runs, direction)
        self._share_ends(option, layout, runs)
        if self.slot_by_slot:
            self._keep_cool(option, layout)

    def _runs(self, site: FrameSite, layout: Layout) -> list[list[int]]:
        """Neighbouring slots that nothing but their place tells apart."""
        pinned = {
            int(slot) + part
            for slot, card in site.spec.pins.items()
            for part in range(self.survey.kinds[card].span if card in self.survey.kinds else 1)
        }

        def nature(slot: int) -> object:
            if self.slot_by_slot or slot in pinned:
                return slot
            closed = {k.id for k in self.kinds if slot not in self._open_slots(site, layout.board, k)}
            return layout.block("in", slot).width, layout.block("out", slot).width, sorted(closed)

        return [list(slots) for _, slots in groupby(site.slots, key=nature)]

    @staticmethod
    def _open_slots(site: FrameSite, board: str, kind: Kind) -> set[int]:
        closed = site.refused.get(kind.id, frozenset()) | site.reserved.get(board, frozenset())
        return set(site.slots) - closed - set(site.spec.keep_empty)

    def _worth(self, kind: Kind, layout: Layout, start: int) -> bool:
        return (
            kind.id in self._wanted
            or "holes" in self.survey.rank
            or any(
                bool(line_type.signals & self._asked[direction])
                for direction in DIRECTIONS
                for part in range(kind.span)
                for line_type in kind.lines(direction, part, layout.block(direction, start + part).width)
            )
        )

    def _carry(self, option: _Option, layout: Layout) -> None:
        """Rails of the frame carry its cards and board."""
        site = option.site
        if site.rails_ma is None:
            return
        board = site.board_rails_ma[layout.board] or {}
        rails = {rail for p in option.placements for rail in p.kind.rails_ma or {}} | set(board)
        for rail in sorted(rails):
            load = [((p.kind.rails_ma or {}).get(rail, 0), p.count) for p in option.placements]
            load.append((board.get(rail, 0), option.chosen))
            self._hold(_sum(load) <= site.rails_ma.get(rail, 0))

    # Numbers and holes

    def _number(self, option: _Option, layout: Layout, runs: Sequence[Sequence[int]], direction: Direction) -> None:
        """Channels by what becomes of them; those of parts past the last slot in use serve nothing and fill no hole."""
        widths = [layout.block(direction, slots[0]).width for slots in runs]
        in_use: dict[int, Terms] = {}
        by_answered: dict[tuple[int, int], Terms] = {}
        answered_below: Terms = []
        for placed in option.placements:
            for part, run in enumerate(placed.runs):
                channels = len(placed.kind.on(direction, part))
                answered = min(channels, widths[run])
                self.parts["stranded"].append((channels - answered, placed.count))
                if not answered:
                    continue
                self.parts["idle"].append((answered, placed.count))
                used = placed.count
                if not self._serves_for_sure(placed.kind):
                    used = self.model.new_int_var(0, len(placed.starts), "")
                    self.model.add(used <= placed.count)
                in_use.setdefault(run, []).append((1, used))
                option.in_use.setdefault((id(placed), part), (run, []))[1].append(used)
                by_answered.setdefault((run, answered), []).append((1, used))
                answered_below.append((answered, used))
                for line_type, lines in placed.kind.lines(direction, part, widths[run]).items():
                    self._lines.setdefault((direction, line_type), []).append((lines, used))
        if self._counts_holes and in_use:
            self._count_holes(option, runs, widths, direction, in_use, by_answered, answered_below)

    def _serves_for_sure(self, kind: Kind) -> bool:
        """Whether a card serves something in its only slot and direction, or could be taken out for nothing."""
        sides = [direction for direction in DIRECTIONS if kind.on(direction, 0)]
        return kind.span == 1 and len(sides) == 1 and kind.id not in self._wanted and "holes" not in self.survey.rank

    def _count_holes(
        self,
        option: _Option,
        runs: Sequence[Sequence[int]],
        widths: Sequence[int],
        direction: Direction,
        in_use: Mapping[int, Terms],
        by_answered: Mapping[tuple[int, int], Terms],
        answered: Terms,
    ) -> None:
        """Holes are the numbers up to the last slot in use, less those answered and those that its own card lacks."""
        numbered = [run for run, width in enumerate(widths) if width]
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
            self._hold(_sum(in_use.get(run, [])) <= up_to)
            passed = self.model.new_bool_var("")
            self.model.add(up_to >= len(slots) * passed)
            reached.append((widths[run], up_to))
            ends.append((slots[0], up_to))
            for (own, count), terms in by_answered.items():
                if own == run and count < widths[run]:
                    last = self.model.new_bool_var("")
                    self.model.add(last <= _sum(terms))
                    self.model.add(last + passed <= 1)
                    lasts.append(last)
                    lacking.append((widths[run] - count, last))
        if lasts:
            self.model.add_at_most_one(lasts)
        option.last_slots[direction] = ends
        most = sum(widths[run] * len(runs[run]) for run in numbered)
        holes = self.model.new_int_var(0, most, "")
        self._hold(_sum([(1, holes), *answered, *lacking]) >= _sum(reached))
        self.parts["holes"].append((1, holes))

    def _share_ends(self, option: _Option, layout: Layout, runs: Sequence[Sequence[int]]) -> None:
        """Where both directions end in one run, its cards in use reach no further than the later of the ends."""
        if not self._counts_holes or any(d not in option.last_slots for d in DIRECTIONS):
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
            self._hold(_sum(busy) <= ends["in"][slots[0]] + most * outputs_later)
            self._hold(_sum(busy) <= ends["out"][slots[0]] + most - most * outputs_later)

    # Heat

    def _too_hot(self, site: FrameSite, board: str, left: Kind | None, right: Kind | None) -> bool:
        margin = site.margin_mk(left, right, board)
        return margin is not None and margin < self.margin_mk

    def _keep_cool(self, option: _Option, layout: Layout) -> None:
        """Neighbours that together are too hot exclude each other."""
        by_end: dict[int, list[_Placement]] = {}
        by_start: dict[int, list[_Placement]] = {}
        for placed in option.placements:
            by_start.setdefault(placed.starts[0], []).append(placed)
            by_end.setdefault(placed.starts[0] + placed.kind.span - 1, []).append(placed)
        for gap in option.site.slots:
            lefts, rights = by_end.get(gap, []), by_start.get(gap + 1, [])
            for one, others, turned in ((lefts, rights, False), (rights, lefts, True)):
                for placed in one:
                    bad = [
                        other.count
                        for other in others
                        if self._too_hot(
                            option.site,
                            layout.board,
                            other.kind if turned else placed.kind,
                            placed.kind if turned else other.kind,
                        )
                    ]
                    if bad:
                        self.model.add(placed.count + sum(bad) <= 1)

    # Needs

    def _meet_needs(self) -> None:
        for direction in DIRECTIONS:
            needs = [n for n in self.survey.needs if n.direction == direction and n.demand]
            types = [t for d, t in self._lines if d == direction]
            grains = {t.grain for t in types if any(n.signal in t.signals for n in needs)}
            if len(grains) <= 1 and len({n.signal for n in needs}) <= MOST_SIGNALS:
                self._cover(direction, needs, types, next(iter(grains), 1))
            else:
                self._deal(direction, needs, types)

    def _cover(self, direction: Direction, needs: Sequence[Any], types: Sequence[LineType], grain: int) -> None:
        """Each set of signals finds enough lines that take any of them: all needs can then be met (Hall)."""
        wanted: Counter[str] = Counter()
        for need in needs:
            wanted[need.signal] += -(-need.demand // grain)
        signals = sorted(wanted)
        for size in range(1, len(signals) + 1):
            for chosen in combinations(signals, size):
                takers = [t for t in types if t.signals & set(chosen)]
                if size > 1 and not any(len(t.signals & set(chosen)) > 1 for t in takers):
                    continue
                supply = [term for t in takers for term in self._lines[direction, t]]
                self._hold(_sum(supply) >= sum(wanted[s] for s in chosen))

    def _deal(self, direction: Direction, needs: Sequence[Any], types: Sequence[LineType]) -> None:
        """Lines of different sizes are dealt to the needs one by one."""
        dealt: dict[LineType, Terms] = {}
        for need in needs:
            got: Terms = []
            for line_type in types:
                if need.signal in line_type.signals:
                    lines = self.model.new_int_var(0, -(-need.demand // line_type.grain), "")
                    got.append((line_type.grain, lines))
                    dealt.setdefault(line_type, []).append((1, lines))
            self._hold(_sum(got) >= need.demand)
        for line_type, terms in dealt.items():
            self._hold(_sum(terms) <= _sum(self._lines[direction, line_type]))

    # Asking

    @cached_property
    def most(self) -> dict[str, int]:
        """How many of each item fit at all."""
        slots = sum(len(site.slots) for site in self.survey.frames)
        found = {}
        for item in self.items:
            kind = self.survey.kinds.get(item)
            fitting = len(self.survey.frames) if kind is None else slots // kind.span
            most = self.survey.most_of(item)
            found[item] = fitting if most is None else min(fitting, most)
        return found

    def floor(self, weights: Weights) -> int:
        """What the least weighted sum cannot fall below, from answers at other weights."""
        return max((value - self._dearer(before, weights) for before, value in self._answered), default=-(10**18))

    def _dearer(self, before: Weights, now: Weights) -> int:
        """By how much any allotment's weighted sum can have fallen since."""
        fallen = sum(
            (weight - now.items.get(item, 0)) * most
            for item, most in self.most.items()
            if (weight := before.items.get(item, 0)) > now.items.get(item, 0)
        )
        if any(weight > now.parts.get(part, 0) for part, weight in before.parts.items()):
            return 10**18
        return fallen

    def least(self, weights: Weights, clock: Clock) -> Found:
        """The least weighted sum, proven unless the clock ends it."""
        total = _sum(self.weighed(weights))
        self.model.minimize(total)
        solver = _solver()
        status = clock.solve(solver, self.model)
        if status == "none":
            self._remember(weights, 10**18)
            return Found(None, True)
        if status in ("open", "late"):
            return Found(None, False)
        value = total if isinstance(total, int) else round(solver.objective_value)
        if status == "proven":
            self._remember(weights, value)
        return Found(value, status == "proven", self.allotment(solver), self._seats(solver))

    def weighed(self, weights: Weights) -> Terms:
        """The weighted sum of items and unused channels."""
        terms = [(weights.items.get(i, 0) * n, term) for i, own in self.items.items() for n, term in own]
        terms += [(weights.parts.get(p, 0) * n, term) for p, own in self.parts.items() for n, term in own]
        return [*terms, (-weights.parts.get("idle", 0), sum(self.survey.demand.values()))]

    def criterion(self, name: str) -> Terms:
        """The sum that a criterion counts."""
        parts = PARTS if name == "unused" else (name,)
        due = sum(self.survey.demand.values()) if "idle" in parts else 0
        return [*(term for part in parts for term in self.parts[part]), (-1, due)]

    def _remember(self, weights: Weights, value: int) -> None:
        self._answered = [*self._answered[-ANSWERS_KEPT + 1 :], (weights, value)]

    def fix(self, allotment: Allotment, criteria: Sequence[str]) -> None:
        """Ask for exactly these items, and for no more of some criteria."""
        counts = dict(allotment.items)
        for item in sorted({*self.items, *counts}):
            self._hold(_sum(self.items.get(item, [])) == counts.get(item, 0))
        self.cap({c: allotment.value(c) for c in criteria})

    def cap(self, most: Mapping[str, int]) -> None:
        """Keep criteria within values."""
        for criterion, value in most.items():
            self._hold(_sum(self.criterion(criterion)) <= value)

    def keep(self, weights: Weights, most: int) -> None:
        """Keep a weighted sum within a value."""
        self._hold(_sum(self.weighed(weights)) <= most)

    def exclude(self, allotment: Allotment, criteria: Sequence[str]) -> None:
        """Ask for fewer of some item than an allotment has, or less of some criterion."""
        ways = [self._at_most(item, count - 1, self.items.get(item, [])) for item, count in allotment.items]
        ways += [self._at_most(c, allotment.value(c) - 1, self.criterion(c)) for c in criteria]
        self.model.add_bool_or(ways)

    def _at_most(self, name: str, most: int, terms: Terms) -> Any:
        """A literal that keeps a sum within a value."""
        if (name, most) not in self._fewer:
            fewer = self.model.new_bool_var("")
            self.model.add(_sum(terms) <= most).only_enforce_if(fewer)
            self._fewer[name, most] = fewer
        return self._fewer[name, most]

    def copy(self) -> RoomModel:
        """The same on a copy of the model, so that more can be asked of the copy alone."""
        twin = RoomModel.__new__(RoomModel)
        twin.__dict__.update(self.__dict__)
        twin.model = self.model.clone()
        twin._fewer = dict(self._fewer)
        return twin

    def allotment(self, solver: cp_model.CpSolver) -> Allotment:
        """What a solution takes."""

        def total(terms: Terms) -> int:
            return sum(a * (t if isinstance(t, int) else solver.value(t)) for a, t in terms)

        counts = {item: total(terms) for item, terms in self.items.items()}
        found = {part: total(terms) for part, terms in self.parts.items()}
        found["idle"] -= sum(self.survey.demand.values())
        return Allotment(tuple(sorted((i, n) for i, n in counts.items() if n)), **found)

    def _seats(self, solver: cp_model.CpSolver) -> Seats | None:
        if not self.slot_by_slot:
            return None
        layouts: list[Layout | None] = []
        cards = []
        ends: dict[Direction, dict[int, int]] = {d: {} for d in DIRECTIONS}
        for own in self._options:
            option = next(o for o in own if isinstance(o.chosen, int) or solver.boolean_value(o.chosen))
            layouts.append(option.layout)
            taken = [(p.starts[0], p.kind.id) for p in option.placements if solver.value(p.count)]
            cards.append(tuple(sorted(taken)))
            for direction in DIRECTIONS:
                last = [slot for slot, up_to in option.last_slots.get(direction, []) if solver.value(up_to)]
                ends[direction][option.site.index] = max(last, default=0)
        return Seats(tuple(layouts), tuple(cards), ends)

    def _hold(self, constraint: Any) -> None:
        """Add a constraint that may have turned out to be a plain truth value."""
        if isinstance(constraint, bool):
            if not constraint:
                self.model.add_bool_or([])
        else:
            self.model.add(constraint)


def _sum(terms: Terms) -> Any:
    fixed = sum(amount * term for amount, term in terms if isinstance(term, int))
    moving = [(amount, term) for amount, term in terms if amount and not isinstance(term, int)]
    if not moving:
        return fixed
    return cp_model.LinearExpr.weighted_sum([t for _, t in moving], [a for a, _ in moving]) + fixed


def _solver() -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    parameters = solver.parameters
    parameters.num_workers = 1
    parameters.random_seed = 1
    # Small models asked many times: presolve costs more than it saves.
    parameters.cp_model_presolve = False
    parameters.symmetry_level = 0
    parameters.linearization_level = 1
    parameters.catch_sigint_signal = False
    return solver


def room_models(survey: Survey, kinds: Sequence[Kind], *, slot_by_slot: bool, margin_mk: int) -> Iterator[RoomModel]:
    """The models that together say what a room can be built of."""
    for options in options_of(survey):
        yield RoomModel(survey, options, kinds, slot_by_slot=slot_by_slot, margin_mk=margin_mk)

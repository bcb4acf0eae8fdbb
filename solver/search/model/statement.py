"""A room stated in a model: cards counted over runs of like slots, or slot by slot.

Over runs it is a relaxation: neighbours' heat is left out, and where spanning cards straddle is not settled. Slot by
slot every rule of a room is stated, so that each answer can be seated as it stands. Stock, offers and budget are left
to those who share them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations, groupby
from typing import Any, Self

from solver import rules
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Kind, LineType, Need, Survey
from solver.room.termination import rows
from solver.room.words import DIRECTIONS, Direction
from solver.rules.cooling import too_hot
from solver.search.model.allotment import PARTS, SHORTS, Allotment, Weights
from solver.search.model.cpsat import Model, cp_model
from solver.search.model.services import add, expression

MOST_SIGNALS = 8
"""Up to so many signals of one direction every set of them is looked at."""

Terms = list[tuple[int, Any]]
"""A weighted sum of decision variables."""


@dataclass
class Placement:
    """So many cards of a kind, each over the same runs."""

    kind: Kind
    runs: tuple[int, ...]
    count: Any
    starts: list[int]


@dataclass
class Option:
    """One layout in one frame."""

    site: FrameSite
    layout: Layout | None
    chosen: Any
    placements: list[Placement] = field(default_factory=list)
    lengths: list[int] = field(default_factory=list)
    """How many slots each run has."""
    last_slots: dict[Direction, list[tuple[int, Any]]] = field(default_factory=dict)
    in_use: dict[tuple[int, int], tuple[int, list[Any]]] = field(default_factory=dict)
    """By placement and part: its run, and how many are in use, direction by direction."""


class RoomStatement:
    """A room in a CP-SAT model.

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
    short_known
        Whether the room is short of exactly what the survey allows for; otherwise of that at most, and how much counts.
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
        short_known: bool = True,
        model: cp_model.CpModel | None = None,
    ) -> None:
        self.survey = survey
        self.options = options
        self.kinds = kinds
        self.slot_by_slot = slot_by_slot
        self.margin_mk = margin_mk
        self.model = Model() if model is None else model
        self.items: dict[str, Terms] = {}
        self.parts: dict[str, Terms] = {part: [] for part in PARTS}
        self._lines: dict[tuple[Direction, LineType], Terms] = {}
        self.frames: list[list[Option]] = []
        self._wanted = rules.wanted(survey)
        self._sure = "holes" not in survey.rank and not rules.losing_a_card_hurts(survey)
        self._counts_holes = bool({"unused", "holes"} & set(survey.rank))
        self._asked = {d: {n.signal for n in survey.needs if n.direction == d and n.demand} for d in DIRECTIONS}
        for site, own in zip(survey.frames, options, strict=True):
            built = []
            for layout in own:
                chosen: Any = 1 if len(own) == 1 else self.model.new_bool_var("")
                built.append(Option(site, layout, chosen))
            if len(built) > 1:
                self.model.add_exactly_one(option.chosen for option in built)
            self.frames.append(built)
            for option in built:
                if option.layout is not None:
                    self._fill(option, option.layout)
        self._lacking: dict[Need, Any] = {}
        self._lacks: dict[Need, Any] = {}
        self._lack_no_more()
        self._due: Terms = [(-survey.due, 1)]
        if not short_known:
            self._due = [(-sum(survey.demand.values()), 1), *self.criterion("short")]
        seats = [(site.index, site.line) for site in survey.frames if site.line]
        for _, load in rows(seats, lambda index: self.choices(survey.frames[index])):
            add(self.model, expression(load) <= 0)
        self._meet_needs()
        for card, count, _ in survey.must_seat:
            add(self.model, expression(self.items.get(card, [])) >= count)
        for item, terms in self.items.items():
            most = survey.most_of(item)
            if most is not None:
                add(self.model, expression(terms) <= most)

    def copy(self) -> Self:
        """The same on a copy of the model, so that more can be asked of the copy alone."""
        twin = copy(self)
        twin.model = self.model.clone()
        return twin

    def choices(self, site: FrameSite) -> Sequence[tuple[Layout | None, Any]]:
        """Every option of a frame and the term that says that it holds."""
        return [(option.layout, option.chosen) for option in self.frames[site.index]]

    def count(self, site: FrameSite, card: str) -> Terms:
        """How many cards of a kind a frame holds."""
        return [(1, p.count) for option in self.frames[site.index] for p in option.placements if p.kind.id == card]

    # One layout of one frame

    def _fill(self, option: Option, layout: Layout) -> None:
        site, spec = option.site, option.site.spec
        open_slots = {k.id: self._open_slots(site, layout, k) for k in self.kinds}
        runs = self._runs(site, layout, open_slots)
        option.lengths = [len(slots) for slots in runs]
        run_of = {slot: index for index, slots in enumerate(runs) for slot in slots}
        alone = {k.id for k in self.kinds if self._too_hot(site, layout.board, k, None)}
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
                option.placements.append(Placement(kind, own, count, starts))
                self.items.setdefault(kind.id, []).append((1, count))
        for index, slots in enumerate(runs):
            taken = [(p.runs.count(index), p.count) for p in option.placements if index in p.runs]
            if taken:
                add(self.model, expression(taken) <= len(slots) * option.chosen)
        for slot, card in pins.items():
            here = [(1, p.count) for p in option.placements if p.kind.id == card and slot in p.starts]
            add(self.model, expression(here) >= option.chosen)
        add(self.model, expression([(1, p.count) for p in option.placements]) >= option.chosen)
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

    def _runs(self, site: FrameSite, layout: Layout, open_slots: Mapping[str, set[int]]) -> list[list[int]]:
        """Neighbouring slots that nothing but their place tells apart."""

        def nature(slot: int) -> object:
            if self.slot_by_slot:
                return slot
            apart = [rule.tells_apart(self.survey, site, layout, slot) for rule in rules.LIST]
            closed = sorted(card for card, slots in open_slots.items() if slot not in slots)
            return layout.block("in", slot).width, layout.block("out", slot).width, closed, apart

        return [list(slots) for _, slots in groupby(site.slots, key=nature)]

    @staticmethod
    def _open_slots(site: FrameSite, layout: Layout, kind: Kind) -> set[int]:
        return set(site.slots).difference(*(rule.shuts(site, layout, kind) for rule in rules.LIST))

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

    def _carry(self, option: Option, layout: Layout) -> None:
        """Rails of the frame carry its cards and board."""
        site = option.site
        if site.rails_ma is None:
            return
        board = site.board_rails_ma[layout.board] or {}
        rails = {rail for p in option.placements for rail in p.kind.rails_ma or {}} | set(board)
        for rail in sorted(rails):
            load = [((p.kind.rails_ma or {}).get(rail, 0), p.count) for p in option.placements]
            load.append((board.get(rail, 0), option.chosen))
            add(self.model, expression(load) <= site.rails_ma.get(rail, 0))

    # Numbers and holes

    def _number(self, option: Option, layout: Layout, runs: Sequence[Sequence[int]], direction: Direction) -> None:
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
        return self._sure and kind.span == 1 and len(sides) == 1 and kind.id not in self._wanted

    def _count_holes(
        self,
        option: Option,
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
            add(self.model, expression(in_use.get(run, [])) <= up_to)
            passed = self.model.new_bool_var("")
            self.model.add(up_to >= len(slots) * passed)
            reached.append((widths[run], up_to))
            ends.append((slots[0], up_to))
            for (own, count), terms in by_answered.items():
                if own == run and count < widths[run]:
                    last = self.model.new_bool_var("")
                    self.model.add(last <= expression(terms))
                    self.model.add(last + passed <= 1)
                    lasts.append(last)
                    lacking.append((widths[run] - count, last))
        if lasts:
            self.model.add_at_most_one(lasts)
        option.last_slots[direction] = ends
        most = sum(widths[run] * len(runs[run]) for run in numbered)
        holes = self.model.new_int_var(0, most, "")
        add(self.model, expression([(1, holes), *answered, *lacking]) >= expression(reached))
        self.parts["holes"].append((1, holes))

    def _share_ends(self, option: Option, layout: Layout, runs: Sequence[Sequence[int]]) -> None:
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
            add(self.model, expression(busy) <= ends["in"][slots[0]] + most * outputs_later)
            add(self.model, expression(busy) <= ends["out"][slots[0]] + most - most * outputs_later)

    # Heat

    def _too_hot(self, site: FrameSite, board: str, left: Kind | None, right: Kind | None) -> bool:
        margin = site.margin_mk(left, right, board)
        return margin is not None and margin < self.margin_mk

    def _keep_cool(self, option: Option, layout: Layout) -> None:
        """Neighbours that together are too hot exclude each other."""
        by_end: dict[int, list[Placement]] = {}
        by_start: dict[int, list[Placement]] = {}
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

    def spread(self, margin_mk: int) -> None:
        """Require what a margin asks of counts, in each run of n slots.

        Cards that may not stand left of certain others: of both, no more than n + 1, those that are both counted twice.
        """
        for option in (option for own in self.frames for option in own):
            if option.layout is None:
                continue
            hot = too_hot(option.site, option.layout.board, self.kinds, margin_mk)
            add(self.model, expression([(1, p.count) for p in option.placements if p.kind.id in hot.alone]) <= 0)
            for run, slots in enumerate(option.lengths):
                own = [p for p in option.placements if p.runs == (run,)]
                for clash in hot.clashes:
                    load = [((p.kind.id in clash.lefts) + (p.kind.id in clash.rights), p.count) for p in own]
                    add(self.model, expression(load) <= slots + 1)

    # Needs

    def _lack_no_more(self) -> None:
        """Needs that are nice to have lack no more together than they may."""
        short = self.survey.short
        for need in self.survey.needs:
            most = self.survey.may_lack(need)
            if most:
                self._lacking[need] = self.model.new_int_var(0, most, "")
                self._lacks[need] = self.model.new_bool_var("")
                self.model.add(self._lacking[need] <= most * self._lacks[need])
        add(self.model, expression(self.criterion("short")) <= short.channels)
        add(self.model, expression(self.criterion("short_needs")) <= short.needs)

    def _meet_needs(self) -> None:
        for direction in DIRECTIONS:
            left = [n for n in self.survey.needs if n.direction == direction and n.demand]
            types = [t for d, t in self._lines if d == direction]
            while left:
                signals = {left[0].signal}
                while True:
                    takers = [t for t in types if t.signals & signals]
                    wider = signals | {n.signal for n in left if any(n.signal in t.signals for t in takers)}
                    if wider == signals:
                        break
                    signals = wider
                needs = [n for n in left if n.signal in signals]
                left = [n for n in left if n.signal not in signals]
                grains = {t.grain for t in takers}
                if len(grains) <= 1 and len(signals) <= MOST_SIGNALS:
                    self._cover(direction, needs, takers, next(iter(grains), 1))
                else:
                    self._deal(direction, needs, takers)

    def _cover(self, direction: Direction, needs: Sequence[Need], types: Sequence[LineType], grain: int) -> None:
        """Each set of signals finds enough lines that take any of them: all needs can then be met (Hall)."""
        wanted: dict[str, Any] = {}
        for need in needs:
            wanted[need.signal] = wanted.get(need.signal, 0) + self._lines_of(need, grain)
        signals = sorted(wanted)
        for size in range(1, len(signals) + 1):
            for chosen in combinations(signals, size):
                takers = [t for t in types if t.signals & set(chosen)]
                if size > 1 and not any(len(t.signals & set(chosen)) > 1 for t in takers):
                    continue
                supply = [term for t in takers for term in self._lines[direction, t]]
                add(self.model, expression(supply) >= sum(wanted[s] for s in chosen))

    def _lines_of(self, need: Need, grain: int) -> Any:
        """Whole lines that a need asks for."""
        if need not in self._lacking:
            return -(-need.demand // grain)
        if grain == 1:
            return need.demand - self._lacking[need]
        lines = self.model.new_int_var(0, -(-need.demand // grain), "")
        self.model.add(grain * lines >= need.demand - self._lacking[need])
        return lines

    def _deal(self, direction: Direction, needs: Sequence[Need], types: Sequence[LineType]) -> None:
        """Lines of different sizes are dealt to the needs one by one."""
        dealt: dict[LineType, Terms] = {}
        for need in needs:
            got: Terms = []
            for line_type in types:
                if need.signal in line_type.signals:
                    lines = self.model.new_int_var(0, -(-need.demand // line_type.grain), "")
                    got.append((line_type.grain, lines))
                    dealt.setdefault(line_type, []).append((1, lines))
            add(self.model, expression(got) >= need.demand - self._lacking.get(need, 0))
        for line_type, terms in dealt.items():
            add(self.model, expression(terms) <= expression(self._lines[direction, line_type]))

    # What it comes to

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

    def weighed(self, weights: Weights) -> Terms:
        """The weighted sum of items, unused channels and what is short."""
        terms = [(weights.items.get(i, 0) * n, term) for i, own in self.items.items() for n, term in own]
        terms += [(weights.parts.get(p, 0) * n, term) for p, own in self.parts.items() for n, term in own]
        terms += [(weights.parts.get(s, 0) * n, term) for s in SHORTS for n, term in self.criterion(s)]
        return [*terms, *((weights.parts.get("idle", 0) * n, term) for n, term in self._due)]

    def criterion(self, name: str) -> Terms:
        """The sum that a criterion counts."""
        if name in SHORTS:
            return [(1, term) for term in (self._lacking if name == "short" else self._lacks).values()]
        parts = PARTS if name == "unused" else (name,)
        return [*(term for part in parts for term in self.parts[part]), *(self._due if "idle" in parts else ())]

    def keep(self, weights: Weights, most: int) -> None:
        """Keep a weighted sum within a value."""
        add(self.model, expression(self.weighed(weights)) <= most)

    def allotment(self, solver: cp_model.CpSolver) -> Allotment:
        """What a solution takes."""

        def counted(terms: Terms) -> int:
            return sum(a * (t if isinstance(t, int) else solver.value(t)) for a, t in terms)

        counts = {item: counted(terms) for item, terms in self.items.items()}
        found = {part: counted(terms) for part, terms in self.parts.items()}
        found["idle"] += counted(self._due)
        found |= {name: counted(self.criterion(name)) for name in SHORTS}
        return Allotment(tuple(sorted((i, n) for i, n in counts.items() if n)), **found)

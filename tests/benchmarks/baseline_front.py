"""A front of cost, unused capacity and cooling by plain means: a fixed mark that a faster search is measured against.

It is written the way the problem first comes to mind, once, and is not to be tuned: one CP-SAT model over all strap
combinations, the heat beside cards as a maximum over sums, default parameters but for a fixed seed and the time that is
left, and the epsilon-constraint method: for every cooling level the least cost, the least unused capacity at it, then
again with less unused capacity, until nothing is left. Data come from the survey, and nothing from the search.

    python tests/benchmarks/baseline_front.py SCENARIO
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

from ortools.sat.python import cp_model

from solver.physics.heat import permitted_heat_mw
from solver.room.kind import Kind, LineType
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Survey
from solver.room.words import DIRECTIONS, Direction

CAP_S = 120.0
"""Seconds for one front."""

Point = tuple[int, int, int]
"""Cost in minor units, unused channels, cooling level (higher is better)."""

Terms = cp_model.LinearExpr | int
"""What the model can add up and compare."""


@dataclass
class _Model:
    """The one model: a frame with a layout and cards, and its three figures."""

    survey: Survey
    site: FrameSite
    model: cp_model.CpModel = field(default_factory=cp_model.CpModel)

    def __post_init__(self) -> None:
        self.layouts = {layout: self.model.new_bool_var(str(layout.straps)) for layout in self.site.candidates}
        self.empty = self.model.new_bool_var("nothing in the frame")
        self.model.add_exactly_one([*self.layouts.values(), self.empty])
        self.seats = {
            (slot, kind.id): self.model.new_bool_var(f"{kind.id} in {slot}")
            for kind in self.survey.kinds.values()
            for slot in self.site.slots
            if slot + kind.span - 1 in self.site.slots
        }
        for seat in self.seats.values():
            self.model.add_implication(seat, ~self.empty)
        self._seat()
        self._rails()
        self.cost = self._cost()
        self.unused = sum(self._unused(direction) for direction in DIRECTIONS)
        self.level = self._level()

    def _kind(self, card: str) -> Kind:
        return self.survey.kinds[card]

    def _covering(self, slot: int) -> list[tuple[int, Kind, cp_model.IntVar]]:
        """Seats that take a slot: which of the card's slots it is, the kind, the literal."""
        return [
            (slot - first, self._kind(card), seat)
            for (first, card), seat in self.seats.items()
            if first <= slot < first + self._kind(card).span
        ]

    def _on(self, board: str) -> Terms:
        return sum(literal for layout, literal in self.layouts.items() if layout.board == board)

    def _seat(self) -> None:
        site, spec = self.site, self.site.spec
        for slot in site.slots:
            covering = self._covering(slot)
            self.model.add(sum(seat for _, _, seat in covering) <= 1)
            for _, kind, seat in covering:
                if slot in spec.keep_empty or slot in site.refused.get(kind.id, ()):
                    self.model.add(seat == 0)
                for board, reserved in site.reserved.items():
                    if slot in reserved:
                        self.model.add(seat + self._on(board) <= 1)
        for pinned, card in spec.pins.items():
            self.model.add(sum(seat for key, seat in self.seats.items() if key == (int(pinned), card)) == 1)
        for card, count, _ in self.survey.must_seat:
            self.model.add(self._count(card) >= count)

    def _count(self, card: str) -> Terms:
        return sum(seat for (_, held), seat in self.seats.items() if held == card)

    def _rails(self) -> None:
        if self.site.rails_ma is None:
            return
        boards = {layout.board for layout in self.layouts}
        drawn = [self._kind(card).rails_ma or {} for _, card in self.seats]
        for rail in {r for d in [*drawn, *(self.site.board_rails_ma[b] or {} for b in boards)] for r in d}:
            cards = sum(d.get(rail, 0) * seat for d, seat in zip(drawn, self.seats.values(), strict=True))
            own = sum((self.site.board_rails_ma[b] or {}).get(rail, 0) * self._on(b) for b in boards)
            self.model.add(cards + own <= self.site.rails_ma.get(rail, 0))

    def _cost(self) -> Terms:
        survey, spec = self.survey, self.site.spec
        used: dict[str, Terms] = {card: self._count(card) for card in survey.kinds}
        if not spec.owned:
            used[self.site.chassis.id] = 1 - self.empty
        if not (spec.owned and spec.board):
            used |= {board: self._on(board) for board in {layout.board for layout in self.layouts}}
        cost: Terms = 0
        for item, count in used.items():
            bought = []
            for offer in survey.offers.get(item, ()):
                most = len(self.site.slots) if offer.at_most is None else offer.at_most
                bought.append(self.model.new_int_var(0, most, f"{item} at {offer.price}"))
                cost += offer.price * bought[-1]
            self.model.add(count <= survey.stock.get(item, 0) + sum(bought))
        if survey.budget is not None:
            self.model.add(cost <= survey.budget)
        return cost

    def _blocks(self, layout: Layout, direction: Direction) -> list[int]:
        return [layout.block(direction, slot).width for slot in self.site.slots]

    def _unused(self, direction: Direction) -> Terms:
        """Channels of all cards that no need asks for, and holes."""
        model, slots = self.model, self.site.slots
        channels: Terms = 0
        holes = []
        serving: dict[LineType, Terms] = {}
        reached = {slot: model.new_bool_var(f"{direction} numbers past {slot} used") for slot in slots}
        for slot in slots:
            covering = self._covering(slot)
            channels += sum(len(kind.on(direction, part)) * seat for part, kind, seat in covering)
            holes.append(model.new_int_var(0, 1024, f"holes of {slot} {direction}"))
            types = {c.line_type for part, kind, _ in covering for c in kind.on(direction, part)}
            busy = {t: model.new_int_var(0, 1024, f"lines of {slot} {direction}") for t in types}
            for layout, chosen in self.layouts.items():
                width = self._blocks(layout, direction)[slot - 1]
                answered = sum(min(width, len(kind.on(direction, part))) * seat for part, kind, seat in covering)
                model.add(holes[-1] >= width - answered).only_enforce_if(chosen, reached[slot])
                for line_type, count in busy.items():
                    numbered = sum(
                        kind.lines(direction, part, width).get(line_type, 0) * seat for part, kind, seat in covering
                    )
                    model.add(count <= numbered).only_enforce_if(chosen)
            for line_type, count in busy.items():
                model.add(count == 0).only_enforce_if(self.empty)
                serving[line_type] = serving.get(line_type, 0) + count
                if slot - 1 in slots:
                    model.add(count == 0).only_enforce_if(~reached[slot - 1])
            if slot - 1 in slots:
                model.add_implication(reached[slot], reached[slot - 1])
        self._needs(direction, serving)
        return channels + sum(holes) - self.survey.demand[direction]

    def _needs(self, direction: Direction, serving: dict[LineType, Terms]) -> None:
        given: dict[LineType, Terms] = dict.fromkeys(serving, 0)
        for need in self.survey.needs:
            if need.direction != direction:
                continue
            got: Terms = 0
            for line_type in serving:
                if need.signal in line_type.signals:
                    lines = self.model.new_int_var(0, 1024, f"lines for {need.name}")
                    given[line_type] += lines
                    got += line_type.grain * lines
            self.model.add(got >= need.demand)
        for line_type, count in serving.items():
            self.model.add(given[line_type] <= count)

    def _level(self) -> cp_model.IntVar:
        """The cooling level: for each air limit, the greatest heat beside a card of it says how far one may go."""
        survey, site, model = self.survey, self.site, self.model
        least = min(survey.refuse_mk // survey.step_mk, survey.top_level)
        level = model.new_int_var(least, survey.top_level, "level")
        if site.air is None:
            return level
        heat = {kind.id: kind.heat_mw or 0 for kind in survey.kinds.values()}
        greatest = 2 * max(heat.values(), default=0)
        limits = {k.air_limit_mk for k in survey.kinds.values() if k.air_limit_mk is not None}
        for limit in sorted(limits):
            beside = []
            for gap in range(site.gaps):
                left = {(s, c): x for (s, c), x in self.seats.items() if s + self._kind(c).span - 1 == gap}
                right = {(s, c): x for (s, c), x in self.seats.items() if s == gap + 1}
                present = [x for (_, c), x in {**left, **right}.items() if self._kind(c).air_limit_mk == limit]
                near = model.new_bool_var(f"limit {limit} beside gap {gap}")
                model.add_max_equality(near, [*present, 0])
                counted = model.new_int_var(0, greatest, f"heat of gap {gap} for limit {limit}")
                total = sum(heat[c] * x for (_, c), x in {**left, **right}.items())
                model.add(counted == total).only_enforce_if(near)
                model.add(counted == 0).only_enforce_if(~near)
                beside.append((near, counted))
            hottest = model.new_int_var(0, greatest, f"greatest heat for limit {limit}")
            model.add_max_equality(hottest, [counted for _, counted in beside])
            some = model.new_bool_var(f"limit {limit} somewhere")
            model.add_max_equality(some, [near for near, _ in beside])
            for step in range(least, survey.top_level + 1):
                reached = model.new_bool_var(f"level {step} for limit {limit}")
                model.add(level >= step).only_enforce_if(reached)
                model.add(level < step).only_enforce_if(~reached)
                margin = max(survey.refuse_mk, step * survey.step_mk)
                permitted = permitted_heat_mw(site.air, limit, margin)
                for board in {layout.board for layout in self.layouts}:
                    # Half the cards' heat and the board's share, rounded up, is at most what is permitted.
                    room = (2 * site.gaps * permitted - 2 * site.shared_mw[board]) // site.gaps
                    for layout, chosen in self.layouts.items():
                        if layout.board == board:
                            model.add(hottest <= room).only_enforce_if(reached, some, chosen)
        return level

    def least(self, aim: Terms, until: float) -> int | None:
        """The least value of a sum, None if there is none; `TimeoutError` when time runs out."""
        self.model.minimize(aim)
        solver = cp_model.CpSolver()
        solver.parameters.random_seed = 1
        solver.parameters.max_time_in_seconds = max(0.0, until - time.monotonic())
        status = solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return None
        if status != cp_model.OPTIMAL:
            raise TimeoutError(solver.status_name(status))
        return round(solver.objective_value)


def front(survey: Survey, cap_s: float = CAP_S) -> tuple[list[Point], bool, float]:
    """The front of a room with one frame on cost, unused capacity and cooling level.

    Parameters
    ----------
    survey
        The room, made ready. Its own criteria, their order and slack are not looked at.
    cap_s
        Seconds for the whole front, building the model included.

    Returns
    -------
    list of Point
        Points that no other one found beats, by cost, then unused capacity.
    bool
        Whether the enumeration finished. If not, points may be missing, and some of these may be beaten.
    float
        Seconds that it took.
    """
    start = time.monotonic()
    (site,) = survey.frames
    found: set[Point] = set()
    finished = True
    try:
        least = min(survey.refuse_mk // survey.step_mk, survey.top_level)
        for level in range(least, survey.top_level + 1):
            most: int | None = None
            while True:
                model = _Model(survey, site)
                model.model.add(model.level >= level)
                if most is not None:
                    model.model.add(model.unused <= most)
                cost = model.least(model.cost, start + cap_s)
                if cost is None:
                    break
                model.model.add(model.cost == cost)
                unused = model.least(model.unused, start + cap_s)
                if unused is None:
                    raise ValueError(f"cost {cost} was found, and then not")
                found.add((cost, unused, level))
                most = unused - 1
    except TimeoutError:
        finished = False
    beaten = {p for p in found for q in found if p != q and q[0] <= p[0] and q[1] <= p[1] and q[2] >= p[2]}
    return sorted(found - beaten), finished, time.monotonic() - start


def main() -> None:
    """Print the front of a scenario file."""
    from solver.files.reading import load_scenario
    from solver.room.ready import survey_room

    loaded = load_scenario(Path(sys.argv[1]))
    points, finished, seconds = front(survey_room(loaded.scenario, loaded.hardware))
    for cost, unused, level in points:
        print(cost, unused, level)
    print(f"{len(points)} points, {'complete' if finished else 'not complete'}, {seconds:.1f} s")


if __name__ == "__main__":
    main()

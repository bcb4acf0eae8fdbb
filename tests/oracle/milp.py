"""A second optimiser for scenarios of one frame: mixed-integer programs for HiGHS, through `scipy.optimize.milp`.

Written from the words of `scenarios/RULES.md`. With the search it shares nouns and air formula, with the full planner
the numbering of slots, the lines of one card in one place and the air of a frame; rules and criteria are stated anew,
as linear rows. There is a program for each combination of settings of each board; every figure in it is a whole number.
What HiGHS returns is rounded and every row is checked again in whole numbers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from airflow import air_through
from brute_force import SIDES, Answers, Numbering, answers, numberings
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from solver.physics.heat import permitted_heat_mw
from solver.room.hardware import Board, Card, Hardware
from solver.room.scenario import Scenario
from solver.room.words import CURRENCY_DECIMALS, SAMPLE_RATES, in_thousandths, parse_percent, parse_ranges

Sum = dict[int, int]
"""A sum of columns: column to factor."""

OPTIMAL, OUT_OF_LIMITS, INFEASIBLE = 0, 1, 2
"""What `scipy.optimize.milp` reports as `status`."""


@dataclass(frozen=True)
class Optimum:
    """The best build's figures. Cost in minor units; `level` in cooling steps, higher is better."""

    cost: int
    unused: int
    level: int


class _Program:
    """Columns and rows; every column is a whole number."""

    def __init__(self) -> None:
        self.most: list[int] = []
        self.rows: list[tuple[Sum, int]] = []

    def column(self, most: int = 1) -> int:
        """A whole number from 0 to `most`."""
        self.most.append(most)
        return len(self.most) - 1

    def at_most(self, sums: Iterable[tuple[int, int]], bound: int) -> None:
        """Factors and columns whose sum must not pass a bound."""
        total: Sum = {}
        for factor, column in sums:
            total[column] = total.get(column, 0) + factor
        self.rows.append((total, bound))

    def least(self, objective: Sum, caps: Iterable[tuple[Sum, int]] = ()) -> tuple[int, list[int]] | None:
        """The least value and the columns that have it; None if no columns keep every row."""
        rows = [*self.rows, *caps]
        if any(not total and bound < 0 for total, bound in rows):
            return None
        rows = [(total, bound) for total, bound in rows if total]
        entries = [(r, c, f) for r, (total, _) in enumerate(rows) for c, f in total.items()]
        row, column, factor = (np.array(x) for x in zip(*entries, strict=True))
        matrix = csr_array((factor.astype(float), (row, column)), shape=(len(rows), len(self.most)))
        aim = np.zeros(len(self.most))
        for c, f in objective.items():
            aim[c] = f
        result = milp(
            aim,
            integrality=np.ones(len(self.most)),
            bounds=Bounds(0, np.array(self.most, dtype=float)),
            constraints=LinearConstraint(matrix, ub=np.array([bound for _, bound in rows], dtype=float)),
            options={"mip_rel_gap": 0},
        )
        if result.status == INFEASIBLE:
            return None
        if result.status != OPTIMAL:
            raise RuntimeError(f"HiGHS gives no proven answer: {result.message}")
        values = [round(x) for x in result.x]
        broken = [r for r in rows if sum(f * values[c] for c, f in r[0].items()) > r[1]]
        if broken or any(not 0 <= v <= m for v, m in zip(values, self.most, strict=True)):
            raise RuntimeError(f"HiGHS breaks {broken or 'a bound'} once rounded")
        return sum(f * values[c] for c, f in objective.items()), values


class _Way:
    """The program of one board with one combination of settings."""

    def __init__(self, task: _Task, board: Board, numbering: Numbering) -> None:
        self.task = task
        self.program = _Program()
        self.seats: dict[tuple[int, str], int] = {}
        self.seat_cards(board)
        self.cost: Sum = {}
        self.supply(board)
        self.hold_rails(board)
        self.unused: Sum = {}
        self.offset = -sum(n.channels + n.spare for n in task.room.need)
        for direction in SIDES:
            self.serve(direction, numbering)
        self.shared_mw = in_thousandths((board.heat_w or Decimal(0)) + task.supply_loss)

    def over(self, slot: int) -> Iterator[tuple[int, str, int]]:
        """Seats whose card takes a slot: first slot, card, column."""
        for (first, card), column in self.seats.items():
            if first <= slot < first + self.task.card[card].span:
                yield first, card, column

    def seat_cards(self, board: Board) -> None:
        """One card a slot; closed slots, refusals, pins and cards that must be seated."""
        task, frame = self.task, self.task.frame
        closed = {*frame.keep_empty, *board.reserved}
        refused = {(c, s) for r in task.chassis.refuses for c in r.cards for s in parse_ranges(r.slots)}
        for card in task.card.values():
            for first in range(1, task.slots - card.span + 2):
                taken = range(first, first + card.span)
                if not any(s in closed or (card.id, s) in refused for s in taken):
                    self.seats[first, card.id] = self.program.column()
        for slot in range(1, task.slots + 1):
            self.program.at_most([(1, column) for _, _, column in self.over(slot)], 1)
        for pinned, card_id in frame.pins.items():
            found = self.seats.get((int(pinned), card_id))
            self.program.at_most([] if found is None else [(-1, found)], -1)
        for must in task.room.must_seat:
            self.program.at_most([(-1, column) for column in self.of(must.card)], -must.count)

    def of(self, card: str) -> list[int]:
        """The columns of a card, wherever it stands."""
        return [column for (_, c), column in self.seats.items() if c == card]

    def supply(self, board: Board) -> None:
        """Stock first, then what is bought from each offer; the budget."""
        task = self.task
        wanted: list[tuple[str, list[tuple[int, int]], int]] = [
            (c, [(1, column) for column in self.of(c)], 0) for c in task.card
        ]
        if not task.frame.owned:
            wanted.append((task.chassis.id, [], 1))
        if not (task.frame.owned and task.frame.board):
            wanted.append((board.id, [], 1))
        for item, seats, fixed in wanted:
            bought = []
            for price, at_most in task.offers.get(item, ()):
                column = self.program.column(task.slots if at_most is None else min(at_most, task.slots))
                bought.append((-1, column))
                self.cost[column] = price
            self.program.at_most([*seats, *bought], task.scenario.stock.get(item, 0) - fixed)
        if task.budget is not None:
            self.program.at_most([(f, c) for c, f in self.cost.items()], task.budget)

    def hold_rails(self, board: Board) -> None:
        """No rail carries more than the reserve leaves; a rail that the chassis lacks carries nothing."""
        task = self.task
        if task.chassis.rails is None:
            return
        drawing: list[Board | Card] = [board, *task.card.values()]
        drawn = {r for i in drawing for r in i.rails or {}}
        for rail in sorted(drawn):
            usable = int(task.chassis.rails.get(rail, Decimal(0)) * 1000) * (100 - task.reserve) // 100
            cards = [
                (in_thousandths((task.card[card].rails or {}).get(rail, Decimal(0))), column)
                for (_, card), column in self.seats.items()
            ]
            own = in_thousandths((board.rails or {}).get(rail, Decimal(0)))
            self.program.at_most([(f, c) for f, c in cards if f], usable - own)

    def serve(self, direction: str, numbering: Numbering) -> None:
        """Needs by whole lines, and what stays unused.

        Stranded, idle and serving channels are all the channels of the cards, so unused is that sum, less what is
        asked for, and the holes. In a block the card's channels answer the first numbers, so below a line that
        serves nothing is missing but what the blocks of earlier slots leave unanswered.
        """
        task, program = self.task, self.program
        blocks = numbering.blocks[direction]
        found = {seat: answers(task.card[seat[1]], task.family, seat[0], direction, blocks) for seat in self.seats}
        for seat, own in found.items():
            channels = len(own.numbers) + own.stranded
            if channels:
                self.unused[self.seats[seat]] = self.unused.get(self.seats[seat], 0) + channels
        # reached[slot]: whether some line in a later slot serves.
        reached = {slot: program.column() for slot in range(1, task.slots)}
        for slot in range(2, task.slots):
            program.at_most([(1, reached[slot]), (-1, reached[slot - 1])], 0)
        lines: dict[tuple[int, frozenset[str]], list[tuple[int, int]]] = {}
        for seat, own in found.items():
            self.open_lines(seat, own, blocks, reached, lines)
        self.meet_needs(direction, lines)
        for slot, column in reached.items():
            first, width = blocks[slot - 1]
            if width:
                answered = [
                    (-sum(first <= n < first + width for n in found[first_slot, card].numbers), seat)
                    for first_slot, card, seat in self.over(slot)
                ]
                holes = program.column(width)
                program.at_most([(width, column), *((f, c) for f, c in answered if f), (-1, holes)], 0)
                self.unused[holes] = 1

    def open_lines(
        self,
        seat: tuple[int, str],
        own: Answers,
        blocks: tuple[tuple[int, int], ...],
        reached: Mapping[int, int],
        lines: dict[tuple[int, frozenset[str]], list[tuple[int, int]]],
    ) -> None:
        """Lines of a seat serve only if it is taken, and with them the slots before count as reached."""
        per_slot: dict[tuple[int, int, frozenset[str]], int] = {}
        for lowest, size, signals in own.lines:
            slot = next(s for s, (first, width) in enumerate(blocks, 1) if width and first <= lowest < first + width)
            per_slot[slot, size, signals] = per_slot.get((slot, size, signals), 0) + 1
        for (slot, size, signals), count in per_slot.items():
            busy = self.program.column()
            serving = self.program.column(count)
            self.program.at_most([(1, busy), (-1, self.seats[seat])], 0)
            self.program.at_most([(1, serving), (-count, busy)], 0)
            if slot > 1:
                self.program.at_most([(1, busy), (-1, reached[slot - 1])], 0)
            lines.setdefault((size, signals), []).append((1, serving))

    def meet_needs(self, direction: str, lines: Mapping[tuple[int, frozenset[str]], list[tuple[int, int]]]) -> None:
        """Each serving line goes to one need that its port takes."""
        given: dict[tuple[int, frozenset[str]], list[tuple[int, int]]] = {kind: [] for kind in lines}
        for need in self.task.room.need:
            if need.direction != direction:
                continue
            demand = need.channels + need.spare
            for_need = []
            for size, signals in lines:
                if need.signal in signals:
                    column = self.program.column(-(-demand // size))
                    given[size, signals].append((1, column))
                    for_need.append((-size, column))
            self.program.at_most(for_need, -demand)
        for kind, serving in lines.items():
            self.program.at_most([*given[kind], *((-f, c) for f, c in serving)], 0)

    def cool(self, margin_mk: int) -> list[tuple[Sum, int]]:
        """Rows that keep a margin beside every card.

        Half of both cards' heat and a share of what is common, rounded up once, is at most what the gap permits.
        Doubled and without the share: the cards' heat is at most `room`. Without a limit nothing is asked.
        """
        task = self.task
        if task.air is None:
            return []
        gaps = task.slots + 1
        heats = {c.id: in_thousandths(c.heat_w or Decimal(0)) for c in task.card.values()}
        greatest = max(heats.values(), default=0)
        room = {}
        for card in task.card.values():
            if card.air_limit_c is None:
                room[card.id] = 2 * greatest
            else:
                permitted = permitted_heat_mw(task.air, int(card.air_limit_c * 1000), margin_mk)
                room[card.id] = min(2 * greatest, (2 * gaps * permitted - 2 * self.shared_mw) // gaps)
        rows = []
        for gap in range(gaps):
            ends = [(c, col) for (s, c), col in self.seats.items() if s + task.card[c].span - 1 == gap]
            begins = [(c, col) for (s, c), col in self.seats.items() if s == gap + 1]
            for near, far in ((ends, begins), (begins, ends)):
                # With no near card the far one's heat is at most `greatest`; with one, their sum is at most its room.
                total = {col: heats[c] - room[c] + greatest for c, col in near}
                total |= {col: heats[c] for c, col in far}
                rows.append((total, greatest))
        return rows


class _Task:
    """A scenario of one frame and one room, its figures as whole numbers."""

    def __init__(self, scenario: Scenario, hardware: Hardware) -> None:
        (self.room,) = scenario.rooms()
        (self.frame,) = self.room.frame
        self.scenario = scenario
        self.card: dict[str, Card] = {c.id: c for c in hardware.card}
        self.board = {b.id: b for b in hardware.board}
        self.chassis = next(c for c in hardware.chassis if c.id == self.frame.chassis)
        self.slots = self.chassis.slot_count
        self.family = SAMPLE_RATES[self.room.sample_rate or scenario.sample_rate]
        unit = 10 ** CURRENCY_DECIMALS[scenario.currency]
        self.budget = None if scenario.budget is None else int(scenario.budget * unit)
        prices = {i.id: i.price for group in (hardware.card, hardware.board, hardware.chassis) for i in group}
        self.offers: dict[str, list[tuple[int, int | None]]] = {}
        for offer in scenario.offer:
            price = prices[offer.item] if offer.price is None else offer.price
            self.offers.setdefault(offer.item, []).append((int((price or Decimal(0)) * unit), offer.at_most))
        self.reserve = parse_percent(scenario.limits.rail_reserve, 90)
        self.refuse_mk = in_thousandths(scenario.limits.refuse_below_k)
        self.step_mk = in_thousandths(scenario.limits.step_k)
        self.top_level = in_thousandths(scenario.limits.enough_k) // self.step_mk
        supply = self.chassis.supply
        self.supply_loss = Decimal(0) if supply.external else supply.count * supply.loss_w
        self.air = air_through(self.frame, self.chassis, self.room, scenario)

    def margin_mk(self, level: int) -> int:
        """The margin that a level asks for; less than is refused is never enough."""
        return max(self.refuse_mk, level * self.step_mk)

    def ways(self) -> list[_Way]:
        """Every board that can stand in the frame, with every legal combination that is asked for."""
        names = [self.frame.board] if self.frame.board else sorted(self.chassis.boards)
        boards = [self.board[n] for n in names]
        different: dict[object, tuple[Board, Numbering]] = {}
        for board in boards:
            for numbering in numberings(board, self.slots, self.family, self.frame.straps):
                if numbering.legal:
                    different.setdefault((board.id, tuple(sorted(numbering.blocks.items()))), (board, numbering))
        return [_Way(self, *pair) for pair in different.values()]


def _least(ways: list[_Way], caps: Mapping[str, int], aim: str, below: int | None = None) -> tuple[int, list[_Way]]:
    """The least value of a sum over the ways, and those that have it; no ways if none keeps the caps."""
    best = below
    having: list[_Way] = []
    for way in ways:
        rows = [(way.cost, caps["cost"])] if "cost" in caps else []
        if "unused" in caps:
            rows.append((way.unused, caps["unused"] - way.offset))
        rows += way.cool(caps["margin"])
        objective, offset = (way.cost, 0) if aim == "cost" else (way.unused, way.offset)
        if best is not None:
            rows.append((objective, best - offset))
        found = way.program.least(objective, rows)
        if found is None:
            continue
        value = found[0] + offset
        having = [*having, way] if value == best else [way]
        best = value
    return best or 0, having


def _keeping(ways: list[_Way], caps: Mapping[str, int]) -> list[_Way]:
    """The ways in which some build keeps every cap."""
    found = []
    for way in ways:
        rows = [(way.cost, caps["cost"]), (way.unused, caps["unused"] - way.offset), *way.cool(caps["margin"])]
        if way.program.least({}, rows) is not None:
            found.append(way)
    return found


def _nothing_asked(task: _Task) -> bool:
    demand = sum(n.channels + n.spare for n in task.room.need)
    return not (demand or task.frame.pins or task.room.must_seat)


def optimum(scenario: Scenario, hardware: Hardware) -> Optimum | None:
    """Least cost, then least unused capacity at it, then the greatest cooling level; None if nothing works.

    For scenarios of one frame that rank by these three, without slack.
    """
    task = _Task(scenario, hardware)
    if _nothing_asked(task):
        return Optimum(0, 0, task.top_level)
    level = task.refuse_mk // task.step_mk
    caps = {"margin": task.refuse_mk}
    ways = task.ways()
    for criterion in ("cost", "unused"):
        caps[criterion], ways = _least(ways, caps, criterion)
        if not ways:
            return None
    while level < task.top_level:
        ways = _keeping(ways, {**caps, "margin": task.margin_mk(level + 1)})
        if not ways:
            break
        level += 1
    return Optimum(caps["cost"], caps["unused"], min(level, task.top_level))


def front(scenario: Scenario, hardware: Hardware) -> list[Optimum]:
    """Every triple of cost, unused capacity and cooling level that none beats, by cost, then unused capacity.

    For each level, the least unused capacity within a cost that falls from point to point.
    """
    task = _Task(scenario, hardware)
    if _nothing_asked(task):
        return [Optimum(0, 0, task.top_level)]
    every = task.ways()
    points: set[tuple[int, int, int]] = set()
    for level in range(min(task.refuse_mk // task.step_mk, task.top_level), task.top_level + 1):
        caps = {"margin": task.margin_mk(level)}
        while True:
            cost, ways = _least(every, caps, "cost")
            if not ways:
                break
            unused, _ = _least(ways, {**caps, "cost": cost}, "unused")
            points.add((cost, unused, -level))
            caps["unused"] = unused - 1
    beaten = {p for p in points for q in points if p != q and all(a <= b for a, b in zip(q, p, strict=True))}
    return [Optimum(cost, unused, -level) for cost, unused, level in sorted(points - beaten)]

"""A campus as one mixed-integer programme on HiGHS: what the search by prices is measured against.

Written from the scenario and the hardware file alone, with the numbering of the exhaustive planner. Like the search it
counts cards over runs of like slots and takes kinds with the same ports and span as one, drawing as little as the
best of them. Each setting of each frame has its own counts and its own choice of the last slot in use.
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import combinations, groupby

import brute_force
import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from solver.room.hardware import Board, Card, Chassis, Hardware
from solver.room.scenario import Frame, Room, Scenario
from solver.room.words import CURRENCY_DECIMALS, SAMPLE_RATES, Family, in_thousandths, parse_percent, parse_ranges

Row = dict[int, float]
"""Factors by the number of their variable."""
Lines = dict[tuple[str, tuple[str, ...], int], Row]
"""The lines in use of a direction, some signals and a number of channels."""
Count = tuple[list[Card], tuple[int, ...], int]
"""Kinds that are taken as one, the run of each slot that they cover, and the variable that counts them."""
Both = dict[tuple[int, int], dict[str, int]]
"""By the place of a count and the slot of the card: the variables that count cards in use, by direction."""
Ends = dict[str, dict[int, int]]
"""By direction and slot: the variable that says that the slot is the last in use."""


@dataclass(frozen=True)
class Solved:
    """What HiGHS came to: the incumbent (None: none), its bound, and seconds with building."""

    value: float | None
    bound: float
    seconds: float
    finished: bool


@dataclass
class _Programme:
    upper: list[float] = field(default_factory=list)
    rows: list[tuple[Row, float, float]] = field(default_factory=list)

    def variable(self, most: float) -> int:
        self.upper.append(most)
        return len(self.upper) - 1

    def at_most(self, row: Row, bound: float) -> None:
        self.rows.append((row, -np.inf, bound))

    def at_least(self, row: Row, bound: float) -> None:
        self.rows.append((row, bound, np.inf))

    def solve(self, goal: Row, cap_s: float, started: float) -> Solved:
        data: list[float] = []
        columns: list[int] = []
        starts = [0]
        for row, _, _ in self.rows:
            data += row.values()
            columns += row.keys()
            starts.append(len(data))
        matrix = csr_array((data, columns, starts), shape=(len(self.rows), len(self.upper)))
        weights = np.zeros(len(self.upper))
        for index, amount in goal.items():
            weights[index] = amount
        found = milp(
            weights,
            integrality=np.ones(len(self.upper)),
            bounds=Bounds(0, np.array(self.upper)),
            constraints=LinearConstraint(matrix, [r[1] for r in self.rows], [r[2] for r in self.rows]),
            options={"mip_rel_gap": 0, "time_limit": cap_s},
        )
        value = None if found.x is None else float(found.fun)
        bound = float(found.mip_dual_bound) if found.mip_dual_bound is not None else -np.inf
        return Solved(value, bound, time.perf_counter() - started, found.status == 0)


def _add(row: Row, index: int, amount: float) -> None:
    row[index] = row.get(index, 0) + amount


def _hang_together(signals: Sequence[str], lines: Sequence[set[str]]) -> bool:
    """Whether lines that take several signals connect all of these; otherwise smaller sets say as much."""
    reached = {signals[0]}
    for _ in signals:
        for line in lines:
            if line & reached:
                reached |= line & set(signals)
    return len(reached) == len(signals)


class CampusProgramme:
    """The rows and columns of one campus; cost in minor units, unused in channels."""

    def __init__(self, scenario: Scenario, hardware: Hardware) -> None:
        self.started = time.perf_counter()
        self.scenario = scenario
        self.hardware = hardware
        self.programme = _Programme()
        self.unused: Row = {}
        self.cost: Row = {}
        self.idle_asked = 0
        self.items: dict[str, Row] = {}
        self.pools = self._pools()
        for room in scenario.rooms():
            self._room(room)
        self._shop()

    def _pools(self) -> list[list[Card]]:
        rooms = self.scenario.rooms()
        families = sorted({SAMPLE_RATES[r.sample_rate or self.scenario.sample_rate] for r in rooms})

        def nature(card: Card) -> str:
            ports = [
                (p.direction, p.on_slot, sorted(p.signals), p.grain, [p.channels.get(f, 0) for f in families])
                for p in card.ports
            ]
            refused = [(c.id, r.slots) for c in self.hardware.chassis for r in c.refuses if card.id in r.cards]
            return repr((card.span, ports, refused))

        had = {i for i, n in self.scenario.stock.items() if n} | {o.item for o in self.scenario.offer if o.at_most != 0}
        cards = sorted((c for c in self.hardware.card if c.id in had), key=lambda c: (nature(c), c.id))
        return [list(own) for _, own in groupby(cards, key=nature)]

    def _room(self, room: Room) -> None:
        family = SAMPLE_RATES[room.sample_rate or self.scenario.sample_rate]
        lines: Lines = {}
        for frame in room.frame:
            self._frame(room, frame, family, lines)
        for direction in ("in", "out"):
            needs = [n for n in room.need if n.direction == direction]
            self.idle_asked += sum(n.channels + n.spare for n in needs)
            signals = sorted({n.signal for n in needs})
            for size in range(1, len(signals) + 1):
                for chosen in combinations(signals, size):
                    taking = {k: row for k, row in lines.items() if k[0] == direction and set(k[1]) & set(chosen)}
                    if not _hang_together(chosen, [set(k[1]) for k in taking]):
                        continue
                    grains = {k[2] for k in taking}
                    assert len(grains) <= 1, "lines of one size for the signals that are asked together"
                    grain = next(iter(grains), 1)
                    asked = sum(-(-(n.channels + n.spare) // grain) for n in needs if n.signal in chosen)
                    supply: Row = {}
                    for row in taking.values():
                        for index, amount in row.items():
                            _add(supply, index, amount)
                    self.programme.at_least(supply, asked)

    def _frame(self, room: Room, frame: Frame, family: Family, lines: Lines) -> None:
        chassis = next(c for c in self.hardware.chassis if c.id == frame.chassis)
        board = next(b for b in self.hardware.board if b.id == frame.board)
        numberings = [n for n in brute_force.numberings(board, chassis.slot_count, family, frame.straps) if n.legal]
        distinct = {repr(n.blocks): n for n in numberings}
        chosen: Row = {}
        for numbering in distinct.values():
            used = self.programme.variable(1)
            chosen[used] = 1
            self._layout(frame, chassis, board, numbering.blocks, used, family, lines)
        self.programme.at_most(chosen, 1)
        if not frame.owned:
            row = self.items.setdefault(chassis.id, {})
            for used in chosen:
                _add(row, used, 1)
        if not frame.owned:
            row = self.items.setdefault(board.id, {})
            for used in chosen:
                _add(row, used, 1)

    def _layout(
        self,
        frame: Frame,
        chassis: Chassis,
        board: Board,
        blocks: Mapping[str, Sequence[tuple[int, int]]],
        used: int,
        family: Family,
        lines: Lines,
    ) -> None:
        p = self.programme
        slots = range(1, chassis.slot_count + 1)
        refused = {(c, s) for r in chassis.refuses for c in r.cards for s in parse_ranges(r.slots)}

        def nature(slot: int) -> tuple[int, int, list[bool]]:
            return (
                blocks["in"][slot - 1][1],
                blocks["out"][slot - 1][1],
                [(pool[0].id, slot) in refused for pool in self.pools],
            )

        runs = [list(own) for _, own in groupby(slots, key=nature)]
        run_of = {slot: r for r, own in enumerate(runs) for slot in own}
        taken: list[Row] = [{} for _ in runs]
        load: dict[str, Row] = {}
        counts: list[Count] = []
        for pool in self.pools:
            card = pool[0]
            places: dict[tuple[int, ...], int] = {}
            for start in slots:
                covers = range(start, start + card.span)
                if covers[-1] in slots and not any((card.id, s) in refused for s in covers):
                    key = tuple(run_of[s] for s in covers)
                    places[key] = places.get(key, 0) + 1
            for key, most in places.items():
                count = p.variable(most)
                counts.append((pool, key, count))
                for r in key:
                    _add(taken[r], count, 1)
                _add(self.items.setdefault(card.id, {}), count, 1)
                for rail in {rail for c in pool for rail in c.rails or {}}:
                    least = min(in_thousandths((c.rails or {}).get(rail, Decimal(0))) for c in pool)
                    _add(load.setdefault(rail, {}), count, least)
        for r, row in enumerate(taken):
            p.at_most({**row, used: -len(runs[r])}, 0)
        reserve = parse_percent(self.scenario.limits.rail_reserve, 90)
        for rail in {*load, *(board.rails or {})}:
            bound = int((chassis.rails or {}).get(rail, Decimal(0)) * 1000) * (100 - reserve) // 100
            p.at_most({**load.get(rail, {}), used: in_thousandths((board.rails or {}).get(rail, Decimal(0)))}, bound)
        in_use: dict[tuple[str, int], Row] = {}
        ends: Ends = {}
        both: Both = {}
        for direction in ("in", "out"):
            widths = [blocks[direction][own[0] - 1][1] for own in runs]
            last = {s: p.variable(1) for s in slots if blocks[direction][s - 1][1]}
            ends[direction] = last
            p.at_most({**dict.fromkeys(last.values(), 1.0), used: -1}, 0)
            holes = p.variable(sum(w for _, w in blocks[direction]))
            _add(self.unused, holes, 1)
            below: Row = {holes: 1}
            for s, end in last.items():
                first, width = blocks[direction][s - 1]
                _add(below, end, -(first + width - 1))
            by_answered: dict[tuple[int, int], Row] = {}
            for at, (pool, key, count) in enumerate(counts):
                for part, r in enumerate(key):
                    ports = [q for q in pool[0].ports if q.direction == direction and q.on_slot == part + 1]
                    channels = sum(q.channels.get(family, 0) for q in ports)
                    if channels:
                        _add(self.unused, count, channels)
                    answered = min(channels, widths[r])
                    if not answered:
                        continue
                    serves = p.variable(p.upper[count])
                    p.at_most({serves: 1, count: -1}, 0)
                    _add(in_use.setdefault((direction, r), {}), serves, 1)
                    _add(by_answered.setdefault((r, answered), {}), serves, 1)
                    _add(below, serves, answered)
                    both.setdefault((at, part), {})[direction] = serves
                    passed = 0
                    for port in ports:
                        total = port.channels.get(family, 0)
                        whole = sum(
                            passed + i + port.grain <= widths[r] for i in range(0, total - port.grain + 1, port.grain)
                        )
                        passed += total
                        if whole:
                            key_of_lines = (direction, tuple(sorted(port.signals)), port.grain)
                            _add(lines.setdefault(key_of_lines, {}), serves, whole)
            for r, own in enumerate(runs):
                row = dict(in_use.get((direction, r), {}))
                for s, end in last.items():
                    _add(row, end, -sum(t <= s for t in own))
                p.at_most(row, 0)
                lacks: Row = {}
                for (run, answered), row_of in by_answered.items():
                    if run == r and answered < widths[r]:
                        narrow = p.variable(1)
                        lacks[narrow] = 1
                        p.at_most({narrow: 1, **{i: -a for i, a in row_of.items()}}, 0)
                        _add(below, narrow, widths[r] - answered)
                if lacks:
                    p.at_most({**lacks, **{end: -1.0 for s, end in last.items() if s in own}}, 0)
            p.at_least(below, 0)
        for r, own in enumerate(runs):
            self._meet_in_one_run(r, own, counts, both, ends)

    def _meet_in_one_run(self, r: int, own: Sequence[int], counts: Sequence[Count], both: Both, ends: Ends) -> None:
        """Cards in use in a run reach no further than the later of the two ends."""
        p = self.programme
        row: Row = {}
        for (at, part), serves in both.items():
            if counts[at][1][part] == r:
                either = p.variable(len(own))
                _add(row, either, 1)
                for index in serves.values():
                    p.at_most({index: 1, either: -1}, 0)
        if not row or len(own) < 2:
            return
        later = p.variable(1)
        for direction, big in (("in", -1), ("out", 1)):
            held = dict(row)
            for s, end in ends[direction].items():
                _add(held, end, -sum(t <= s for t in own))
            held[later] = big * len(own)
            p.at_most(held, 0 if big < 0 else len(own))

    def _shop(self) -> None:
        listed = {x.id: x for g in (self.hardware.card, self.hardware.board, self.hardware.chassis) for x in g}
        unit = 10 ** CURRENCY_DECIMALS[self.scenario.currency]
        first = {card.id: pool[0].id for pool in self.pools for card in pool}
        stock: dict[str, int] = {}
        for item, count in self.scenario.stock.items():
            stock[first.get(item, item)] = stock.get(first.get(item, item), 0) + count
        bought: dict[str, Row] = {}
        for offer in self.scenario.offer:
            price = offer.price if offer.price is not None else listed[offer.item].price
            number = self.programme.variable(10_000 if offer.at_most is None else offer.at_most)
            bought.setdefault(first.get(offer.item, offer.item), {})[number] = -1
            self.cost[number] = float((price or Decimal(0)) * unit)
        for item, row in self.items.items():
            self.programme.at_most({**row, **bought.get(item, {})}, stock.get(item, 0))

    def least_cost(self, cap_s: float) -> Solved:
        """The least cost."""
        return self.programme.solve(self.cost, cap_s, self.started)

    def least_unused(self, cost: int, cap_s: float) -> Solved:
        """The least unused capacity within a cost; the time counts from here."""
        started = time.perf_counter()
        self.programme.at_most(self.cost, cost)
        found = self.programme.solve(self.unused, cap_s, started)
        shift = self.idle_asked
        value = None if found.value is None else found.value - shift
        return Solved(value, found.bound - shift, found.seconds, found.finished)

"""Every smallest way out of an impossible scenario of a few slots, found by judging every build of its hardware.

Read from `scenarios/RULES.md` alone; it shares the nouns and the air formula with what it checks. Each build of the
hardware says how far each wish of the scenario would have to give way for it: that is a list of amounts, one for each
wish. The ways out are the lists whose wishes are not more than another list's need, and of those with the same wishes
the ones that no other undercuts.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from functools import lru_cache
from itertools import product
from typing import Any, TypeAlias

from airflow import air_through
from company import in_company, plugged

from solver.physics.heat import margin_mk
from solver.room.hardware import Board, Card, Chassis, Hardware
from solver.room.scenario import Frame, Scenario
from solver.room.words import CURRENCY_DECIMALS, SAMPLE_RATES, in_thousandths, parse_percent, parse_ranges

Wish = tuple[str | int, ...]
Way = frozenset[tuple[Wish, int]]
Lines = tuple[tuple[int, tuple[str, ...], int], ...]
"""Channels of a line, the signals that it takes, and how many such lines there are."""
Choice: TypeAlias = tuple[Lines, Lines, tuple[str, ...], tuple[tuple[Wish, int], ...]]
"""What a frame can be: its lines in and out, its items, and how far its own wishes give way for it."""


class Bench:
    """One scenario and all that can be put together from its hardware. Frames may be many, slots only few."""

    def __init__(self, scenario: Scenario, hardware: Hardware) -> None:
        self.scenario = scenario
        self.room = scenario.rooms()[0]
        self.family = SAMPLE_RATES[self.room.sample_rate or scenario.sample_rate]
        self.cards = {c.id: c for c in hardware.card}
        self.boards = {b.id: b for b in hardware.board}
        self.chassis = {c.id: c for c in hardware.chassis}
        self.unit = 10 ** CURRENCY_DECIMALS[scenario.currency]
        self.reserve = parse_percent(scenario.limits.rail_reserve, 90)
        self.refuse = in_thousandths(scenario.limits.refuse_below_k)
        listed: dict[str, Card | Board | Chassis] = {**self.cards, **self.boards, **self.chassis}
        self.list_price = {i: int((item.price or Decimal(0)) * self.unit) for i, item in listed.items()}
        self.offers: dict[str, list[tuple[int, int | None]]] = {i: [] for i in listed}
        for offer in scenario.offer:
            price = self.list_price[offer.item] if offer.price is None else int(offer.price * self.unit)
            self.offers[offer.item].append((price, offer.at_most))
        for own in self.offers.values():
            own.sort(key=lambda o: (o[0], o[1] is None, o[1] or 0))
        self.budget = None if scenario.budget is None else int(scenario.budget * self.unit)
        self.needs = [
            (place, n.direction, n.signal, n.channels + n.spare)
            for place, n in enumerate(self.room.need)
            if n.importance == "must" and n.channels + n.spare
        ]
        self.wishes = list(self._wishes())
        self.place = {wish: index for index, wish in enumerate(self.wishes)}

    def most(self, item: str) -> int | None:
        """How many can be had; None for any number."""
        caps = [at_most for _, at_most in self.offers[item]]
        if None in caps:
            return None
        return self.scenario.stock.get(item, 0) + sum(c or 0 for c in caps)

    def _wishes(self) -> Iterator[Wish]:
        if self.budget is not None:
            yield ("budget",)
        for place, _, _, _ in self.needs:
            yield ("need", place)
        for item in self.offers:
            if self.most(item) is not None:
                yield ("item", item)
        for place, _ in enumerate(self.room.must_seat):
            yield ("must_seat", place)
        for frame in self.room.frame:
            for pinned in frame.pins:
                yield ("pin", frame.name, int(pinned))
            for slot in sorted(set(frame.keep_empty)):
                yield ("empty", frame.name, slot)
            for group in frame.straps:
                yield ("strap", frame.name, group)
        if self.refuse:
            yield ("margin",)
        if self.reserve:
            yield ("reserve",)

    # One frame

    def seatings(self, slots: int, slot: int = 1) -> Iterator[tuple[tuple[int, str], ...]]:
        """First slots and cards, every way to fill the slots from `slot` on."""
        if slot > slots:
            yield ()
            return
        yield from self.seatings(slots, slot + 1)
        for card in self.cards.values():
            if slot + card.span - 1 <= slots:
                for rest in self.seatings(slots, slot + card.span):
                    yield ((slot, card.id), *rest)

    def numberings(
        self, frame: Frame, board: Board, slots: int
    ) -> set[tuple[tuple[int, ...], tuple[int, ...], tuple[str, ...]]]:
        """Widths that legal settings leave each slot in and out, and the groups that are not as asked for."""
        found = set()
        for combination in product(*(group.settings() for group in board.strap_group)):
            names = {g.name: s.name for g, s in zip(board.strap_group, combination, strict=True)}
            if any(ban and all(names.get(g) == s for g, s in ban.items()) for ban in board.never_together):
                continue
            sides = []
            for side in ("inputs", "outputs"):
                first: int | None = getattr(board, side).first_slot
                widths: Any = getattr(board, side).widths
                for setting in combination:
                    over = getattr(setting, side)
                    first = first if over.first_slot is None else over.first_slot
                    widths = widths if over.widths is None else over.widths
                left = getattr(board.limits[self.family], side)
                own = []
                for slot in range(1, slots + 1):
                    width = widths if isinstance(widths, int) else 0
                    for run in () if widths is None or isinstance(widths, int) else widths:
                        width = run.width if slot in parse_ranges(run.slots) else width
                    if slot < (first or 1):
                        width = 0
                    over_limit = width > left
                    if over_limit and board.at_limit == "drop":
                        width = 0
                    own.append(min(width, left))
                    left = 0 if over_limit else left - width
                sides.append(tuple(own))
            strays = tuple(g for g, s in sorted(frame.straps.items()) if names.get(g, s) != s)
            found.add((sides[0], sides[1], strays))
        return found

    def lines(
        self, seats: Sequence[tuple[int, str]], direction: str, widths: Sequence[int]
    ) -> Counter[tuple[int, tuple[str, ...]]]:
        """Lines of a seating that have all their numbers, by size and signals."""
        found: Counter[tuple[int, tuple[str, ...]]] = Counter()
        for slot, name in seats:
            card = self.cards[name]
            for part in range(card.span):
                channel = 0
                for port in card.ports:
                    if port.direction != direction or port.on_slot != part + 1:
                        continue
                    count = port.channels.get(self.family, 0)
                    for _ in range(count // port.grain):
                        channel += port.grain
                        if channel <= widths[slot + part - 1]:
                            found[port.grain, tuple(sorted(port.signals))] += 1
        return found

    def reserve_given(self, chassis: Chassis, board: Board, seats: Sequence[tuple[int, str]]) -> int | None:
        """By how many per cent the reserve has to give way; None where no reserve is enough."""
        if chassis.rails is None:
            return 0
        load: Counter[str] = Counter()
        drawing: list[Board | Card] = [board, *(self.cards[c] for _, c in seats)]
        for item in drawing:
            for rail, amperes in (item.rails or {}).items():
                load[rail] += in_thousandths(amperes)
        for less in range(self.reserve + 1):
            share = 100 - self.reserve + less
            if all(ma <= in_thousandths(chassis.rails.get(r, Decimal(0))) * share // 100 for r, ma in load.items()):
                return less
        return None

    def margin_given(
        self, frame: Frame, chassis: Chassis, board: Board, seats: Sequence[tuple[int, str]]
    ) -> int | None:
        """By how many kelvin the refused margin has to give way, down to 0; None where that is not enough."""
        air = air_through(frame, chassis, self.room, self.scenario)
        if air is None:
            return 0
        gaps = air.gaps
        loss = Decimal(0) if chassis.supply.external else chassis.supply.count * chassis.supply.loss_w
        shared = in_thousandths((board.heat_w or Decimal(0)) + loss)
        least = None
        for gap in range(gaps):
            beside = [self.cards[c] for s, c in seats if s == gap + 1 or s + self.cards[c].span - 1 == gap]
            limits = [int(c.air_limit_c * 1000) for c in beside if c.air_limit_c is not None]
            if limits:
                halves = sum(in_thousandths(c.heat_w or Decimal(0)) for c in beside)
                heat = -(-(halves * gaps + 2 * shared) // (2 * gaps))
                margin = margin_mk(air, min(limits), heat)
                least = margin if least is None else min(least, margin)
        if least is None:
            return 0
        return max(0, -(-(self.refuse - least) // 1000)) if least >= 0 else None

    def frame_choices(self, frame: Frame) -> set[Choice]:
        """All that a frame can be."""
        chassis = self.chassis[frame.chassis]
        slots = chassis.slot_count
        pins = {int(slot): card for slot, card in frame.pins.items()}
        found: set[Choice] = {((), (), (), tuple((("pin", frame.name, slot), 1) for slot in sorted(pins)))}
        boards = [frame.board] if frame.board else sorted(chassis.boards)
        numberings = {
            b: self.numberings(frame, self.boards[b], slots) for b in boards if self.family in self.boards[b].limits
        }
        refused = {(c, s) for r in chassis.refuses for c in r.cards for s in parse_ranges(r.slots)}
        for seats in self.seatings(slots):
            if not seats:
                continue
            covered = {s: c for first, c in seats for s in range(first, first + self.cards[c].span)}
            if any((c, s) in refused for s, c in covered.items()) or not in_company(seats, self.cards):
                continue
            if not plugged(chassis, [self.cards[c] for _, c in seats]):
                continue
            given: dict[Wish, int] = {}
            given.update({("pin", frame.name, s): 1 for s, c in pins.items() if dict(seats).get(s) != c})
            given.update({("empty", frame.name, s): 1 for s in frame.keep_empty if s in covered})
            for board, choices in numberings.items():
                if any(s in covered for s in self.boards[board].reserved):
                    continue
                reserve = self.reserve_given(chassis, self.boards[board], seats)
                margin = self.margin_given(frame, chassis, self.boards[board], seats)
                if reserve is None or margin is None:
                    continue
                items = [c for _, c in seats]
                items += [] if frame.owned else [chassis.id]
                items += [] if frame.owned and frame.board else [board]
                own: dict[Wish, int] = {**given, ("reserve",): reserve, ("margin",): margin}
                for into, out, strays in choices:
                    every: dict[Wish, int] = {**own, **{("strap", frame.name, g): 1 for g in strays}}
                    sides = [self.lines(seats, d, w) for d, w in (("in", into), ("out", out))]
                    frozen = [tuple(sorted((*line, n) for line, n in side.items())) for side in sides]
                    wishes = tuple(sorted(((w, a) for w, a in every.items() if a), key=repr))
                    found.add((frozen[0], frozen[1], tuple(sorted(items)), wishes))
        return found

    # All frames

    def cost(self, items: Mapping[str, int]) -> int:
        """Stock first, then the cheapest offers; what is beyond them at the price of the dearest, or of the list."""
        total = 0
        for item, used in items.items():
            short = max(0, used - self.scenario.stock.get(item, 0))
            price = self.list_price[item]
            for price, at_most in self.offers[item]:
                take = short if at_most is None else min(short, at_most)
                total += take * price
                short -= take
            total += short * price
        return total

    def amounts(self) -> Iterator[tuple[int, ...]]:
        """How far each wish gives way, for every build."""
        seen = set()
        for parts in product(*(self.frame_choices(frame) for frame in self.room.frame)):
            items = Counter(item for part in parts for item in part[2])
            given = [0] * len(self.wishes)
            for part in parts:
                for wish, amount in part[3]:
                    given[self.place[wish]] = max(given[self.place[wish]], amount)
            for item, used in items.items():
                most = self.most(item)
                if most is not None and used > most:
                    given[self.place["item", item]] = used - most
            for place, must in enumerate(self.room.must_seat):
                given[self.place["must_seat", place]] = max(0, must.count - items[must.card])
            if self.budget is not None:
                given[self.place[("budget",)]] = max(0, self.cost(items) - self.budget)
            sides = []
            for side in ([part[0] for part in parts], [part[1] for part in parts]):
                together: Counter[tuple[int, tuple[str, ...]]] = Counter()
                for lines in side:
                    for size, signals, count in lines:
                        together[size, signals] += count
                sides.append(tuple(sorted((*line, count) for line, count in together.items())))
            key = (tuple(given), *sides)
            if key in seen:
                continue
            seen.add(key)
            asked = [tuple((n[2], n[3]) for n in self.needs if n[1] == d) for d in ("in", "out")]
            places = [[self.place["need", n[0]] for n in self.needs if n[1] == d] for d in ("in", "out")]
            for lacks in product(*(shortfalls(s, a) for s, a in zip(sides, asked, strict=True))):
                whole = list(given)
                for own, lack in zip(places, lacks, strict=True):
                    for place, amount in zip(own, lack, strict=True):
                        whole[place] = amount
                yield tuple(whole)


@lru_cache(maxsize=200_000)
def shortfalls(lines: Lines, needs: tuple[tuple[str, int], ...]) -> list[tuple[int, ...]]:
    """What needs of one direction may lack when lines are given to them in every way; none that another undercuts."""
    states = {tuple(asked for _, asked in needs)}
    for size, signals, count in lines:
        for _ in range(count):
            states |= {
                (*lack[:i], max(0, lack[i] - size), *lack[i + 1 :])
                for lack in states
                for i, (signal, _) in enumerate(needs)
                if signal in signals and lack[i]
            }
    return least(states)


def least(vectors: set[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Those that no other undercuts."""
    kept: list[tuple[int, ...]] = []
    for vector in sorted(vectors, key=lambda v: (sum(v), v)):
        if not any(all(a <= b for a, b in zip(other, vector, strict=True)) for other in kept):
            kept.append(vector)
    return kept


def ways_out(scenario: Scenario, hardware: Hardware) -> set[Way]:
    """Every smallest way out: wishes, and how far each gives way. A single empty one where the scenario is possible."""
    bench = Bench(scenario, hardware)
    by_wishes: dict[frozenset[int], set[tuple[int, ...]]] = {}
    for vector in bench.amounts():
        by_wishes.setdefault(frozenset(i for i, amount in enumerate(vector) if amount), set()).add(vector)
    minimal = [wishes for wishes in by_wishes if not any(other < wishes for other in by_wishes)]
    found: set[Way] = set()
    for wishes in minimal:
        for vector in least(by_wishes[wishes]):
            found.add(frozenset((bench.wishes[i], vector[i]) for i in wishes))
    return found

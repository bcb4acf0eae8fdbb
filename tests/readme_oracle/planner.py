"""A planner that tries every build of tiny frames, by the words of `scenarios/RULES.md` alone.

Nothing of the search or of the rules is used: only the nouns of the files, their words for figures, and the formulas of
`solver.physics.heat`, which these do not spell out. `Room.builds` tries boards, settings and seatings,
and what serves what; `best` and `front` choose among them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import lru_cache
from itertools import product

from solver.physics import heat
from solver.room.hardware import Board, Card, Chassis, FanAir, Hardware, StrapGroup
from solver.room.scenario import Frame, Scenario
from solver.room.words import DIRECTIONS, SAMPLE_RATES, Direction, Family, in_thousandths, parse_percent, parse_ranges

NO_MARGIN = 10**9
"""Of a build without a gap whose margin is known."""

Asked = tuple[str, int, bool]
"""Of a need its signal, how many channels it asks for, and whether it is nice to have."""


@dataclass(frozen=True)
class Line:
    """Channels of a card that serve together: their numbers, where one is missing none, and what they take."""

    slot: int
    channels: tuple[int, ...]
    numbers: tuple[int, ...]
    signals: frozenset[str]


@dataclass(frozen=True)
class Side:
    """One direction of a frame: the lines that could serve, each with the holes below it, and what has no number."""

    lines: tuple[Line, ...] = ()
    holes: tuple[int, ...] = ()
    numbered: int = 0
    stranded: int = 0
    answered: frozenset[int] = frozenset()
    all_lines: tuple[Line, ...] = ()
    channel_number: Mapping[tuple[int, int], int | None] = field(default_factory=dict, hash=False, compare=False)


@dataclass(frozen=True)
class Set:
    """One way to set a board's straps: its numbers, whether it ends a clock line, how many others it closes."""

    straps: tuple[tuple[str, str], ...]
    blocks: tuple[tuple[tuple[int, ...], ...], ...]
    ends: bool | None
    closed: int


@dataclass(frozen=True)
class Placed:
    """A frame as it could stand."""

    frame: str
    board: str
    setting: Set
    cards: tuple[tuple[int, str], ...]
    sides: tuple[Side, Side]
    margin: int

    @property
    def counts(self) -> Counter[str]:
        return Counter(card for _, card in self.cards)


@dataclass(frozen=True)
class Figures:
    """What a build is ranked by and how its ties end, and what of its needs is short."""

    must_short: int
    short: int
    short_needs: int
    cost: int
    stranded: int
    holes: int
    idle: int
    margin: int
    spent: int
    cards: int
    frames: int
    closed: int


@dataclass(frozen=True)
class Found:
    figures: Figures
    placed: tuple[Placed, ...]


class Room:
    """A scenario of one room with its hardware, every figure a whole number."""

    def __init__(self, scenario: Scenario, hardware: Hardware) -> None:
        self.scenario = scenario
        self.cards = {card.id: card for card in hardware.card}
        self.boards = {board.id: board for board in hardware.board}
        self.chassis = {chassis.id: chassis for chassis in hardware.chassis}
        self.family = SAMPLE_RATES[scenario.sample_rate]
        self.frames = {frame.name: frame for frame in scenario.frame}
        self.lines = {name: line for line in scenario.clock_line for name in line.frames}
        self.needs = {
            way: tuple(
                (n.signal, n.channels + n.spare, n.importance == "nice") for n in scenario.need if n.direction == way
            )
            for way in DIRECTIONS
        }
        limits = scenario.limits
        self.refuse, self.enough = in_thousandths(limits.refuse_below_k), in_thousandths(limits.enough_k)
        self.step = in_thousandths(limits.step_k)
        self.numbered: dict[tuple[str, tuple[tuple[str, str], ...], Direction], tuple[tuple[int, ...], ...]] = {}
        self.holes_first = bool({"unused", "holes"} & set(scenario.rank))

    # Settings and numbers

    def settings(self, board: Board, asked: Mapping[str, str], end: bool | None = None) -> Iterator[Set]:
        """Every legal setting of a board that keeps what is asked for; `end`: it has to end its line, or must not."""
        groups = board.strap_group
        loud = [group for group in groups if renumbers(group)]
        quiet = [group for group in groups if not renumbers(group)]
        for chosen in product(*(names_of(g, asked.get(g.name)) for g in loud)):
            fixed = dict(zip((g.name for g in loud), chosen, strict=True))
            ways = []
            for rest in product(*(names_of(g, asked.get(g.name)) for g in quiet)):
                straps = {**fixed, **dict(zip((g.name for g in quiet), rest, strict=True))}
                if banned(board, straps) or (end is not None and ends(board, straps) not in (None, end)):
                    continue
                moved = sum(name != at_rest(g) for g, name in zip(quiet, rest, strict=True) if g.name not in asked)
                closed = sum(closes(g, name) for g, name in zip(quiet, rest, strict=True))
                ways.append(((moved, closed, rest), straps))
            if ways:
                yield self.setting_of(board, min(ways, key=lambda way: way[0])[1])

    def setting_of(self, board: Board, straps: Mapping[str, str]) -> Set:
        ending = board.clock_input.strap_group if board.clock_input else None
        closed = sum(closes(g, straps[g.name]) for g in board.strap_group if g.name in straps and g.name != ending)
        names = tuple((g.name, straps[g.name]) for g in board.strap_group if g.name in straps)
        blocks = tuple(self.numbers(board, straps, way) for way in DIRECTIONS)
        return Set(names, blocks, ends(board, straps), closed)

    def numbers(self, board: Board, straps: Mapping[str, str], way: Direction) -> tuple[tuple[int, ...], ...]:
        """The numbers of each slot from 1 on, of so many slots as a chassis may have."""
        key = (board.id, tuple(sorted(straps.items())), way)
        if key not in self.numbered:
            self.numbered[key] = numbers(board, straps, way, self.family)
        return self.numbered[key]

    # One frame

    def sides(self, setting: Set, cards: Iterable[tuple[int, str]]) -> tuple[Side, Side]:
        return self._side(setting, tuple(cards), 0), self._side(setting, tuple(cards), 1)

    def _side(self, setting: Set, cards: tuple[tuple[int, str], ...], n: int) -> Side:
        way, blocks = DIRECTIONS[n], setting.blocks[n]
        lines: list[Line] = []
        numbers: dict[tuple[int, int], int | None] = {}
        for slot, name in cards:
            counted: Counter[int] = Counter()
            for port in self.cards[name].ports:
                if port.direction != way:
                    continue
                there = slot + port.on_slot - 1
                block = blocks[there - 1] if there <= len(blocks) else ()
                own = range(counted[there] + 1, counted[there] + port.channels.get(self.family, 0) + 1)
                counted[there] += len(own)
                numbers |= {(there, c): block[c - 1] if c <= len(block) else None for c in own}
                for first in range(own.start, own.stop - port.grain + 1, port.grain):
                    channels = tuple(range(first, first + port.grain))
                    given = tuple(number for c in channels if (number := numbers[there, c]) is not None)
                    lines.append(Line(there, channels, given, frozenset(port.signals)))
        answered = frozenset(number for number in numbers.values() if number is not None)
        whole = tuple(sorted((ln for ln in lines if len(ln.numbers) == len(ln.channels)), key=lambda ln: ln.numbers))
        holes = tuple(len(set(range(1, line.numbers[-1])) - answered) for line in whole)
        return Side(whole, holes, len(answered), len(numbers) - len(answered), answered, tuple(lines), numbers)

    def margin(self, frame: Frame, board: Board, cards: Iterable[tuple[int, str]]) -> int:
        """The least margin of the frame's gaps in millikelvin: one below the first slot, one above each."""
        chassis, room_air = self.chassis[frame.chassis], self.scenario.air
        if chassis.air is None or room_air is None:
            return NO_MARGIN
        gaps = chassis.slot_count + 1
        left: dict[int, Card] = {}
        right: dict[int, Card] = {}
        for slot, name in cards:
            right[slot - 1] = self.cards[name]
            left[slot - 1 + self.cards[name].span] = self.cards[name]
        shared = in_thousandths(board.heat_w) if board.heat_w is not None else 0
        if not chassis.supply.external:
            shared += in_thousandths(chassis.supply.all_loss_w)
        least = NO_MARGIN
        for gap in range(gaps):
            beside = [side[gap] for side in (left, right) if gap in side]
            limits = [in_thousandths(card.air_limit_c) for card in beside if card.air_limit_c is not None]
            if not limits:
                continue
            watts = [
                in_thousandths(c.heat_w) if (c := side.get(gap)) and c.heat_w is not None else 0
                for side in (left, right)
            ]
            total = heat.gap_heat_mw(watts[0], watts[1], shared, gaps)
            least = min(least, _margin(self.air(frame, chassis), min(limits), total))
        return least

    def air(self, frame: Frame, chassis: Chassis) -> heat.Air:
        """The air on its way through a frame, as a measurement corrects it."""
        room, air, gaps = self.scenario.air, chassis.air, chassis.slot_count + 1
        assert room is not None
        assert air is not None
        inlet = in_thousandths(room.inlet_c) + in_thousandths(frame.inlet_rise_k)
        path: heat.Fan | heat.Draught
        if isinstance(air, FanAir):
            path = heat.Fan(float(air.flow_m3_h), float(air.derate))
        else:
            vents = frame.vents
            path = heat.Draught(
                *(float(a) for a in (air.gap_area_cm2, air.opening_below_cm2, air.opening_above_cm2, air.stack_mm)),
                *(None if v is None else float(v) for v in (vents.below_cm2, vents.above_cm2, air.card_mm)),
            )
        plain = heat.Air(path, gaps, inlet, int(room.altitude_m))
        if frame.measured is None:
            return plain
        return replace(
            plain, flow_factor=heat.flow_factor(plain, float(frame.measured.gap_w), float(frame.measured.rise_k))
        )

    def overdrawn(self, chassis: Chassis, board: Board, cards: Iterable[str]) -> set[str]:
        """Rails on which more is drawn than the supply leaves."""
        if chassis.rails is None:
            return set()
        drawn: Counter[str] = Counter()
        for rails in [board.rails, *(self.cards[card].rails for card in cards)]:
            drawn.update({rail: in_thousandths(amps) for rail, amps in (rails or {}).items()})
        left = 100 - parse_percent(self.scenario.limits.rail_reserve, 90)
        return {rail for rail, ma in drawn.items() if ma > int(chassis.rails.get(rail, 0) * 1000) * left // 100}

    def boards_of(self, frame: Frame) -> list[Board]:
        fit = self.chassis[frame.chassis].boards
        return [self.boards[board] for board in ([frame.board] if frame.board else fit) if board in fit]

    def refused(self, chassis: Chassis, slot: int, card: str) -> bool:
        """Whether the chassis keeps a card out of a slot that it would take."""
        taken = set(range(slot, slot + self.cards[card].span))
        return any(card in refusal.cards and taken & set(parse_ranges(refusal.slots)) for refusal in chassis.refuses)

    def company(self, cards: Iterable[tuple[int, str]]) -> set[str]:
        """Rules that the cards of a frame break about which others they need or exclude there."""
        seats = list(cards)
        wrong = set()
        for name in {card for _, card in seats}:
            own = [slot for slot, card in seats if card == name]
            for need in self.cards[name].needs:
                others = [slot for slot, card in seats if card == need.card]
                beside = [[at for at in others if self._meet((slot, name), (at, need.card))] for slot in own]
                if need.within == "frame":
                    met = -(-len(own) // need.per) <= len(others)
                else:
                    met = any(max(Counter(way).values()) <= need.per for way in product(*beside))
                wrong |= set() if met else {"companions"}
            for ban in self.cards[name].excludes:
                for slot in own:
                    others = [at for at, card in seats if card == ban.card and at != slot]
                    if any(ban.within == "frame" or self._meet((slot, name), (at, ban.card)) for at in others):
                        wrong.add("exclusions")
        return wrong

    def _meet(self, one: tuple[int, str], other: tuple[int, str]) -> bool:
        """Whether two cards stand with no slot between."""
        (low, left), (high, _) = sorted((one, other))
        return low + self.cards[left].span == high

    def seatings(self, frame: Frame, board: Board) -> Iterator[tuple[tuple[int, str], ...]]:
        chassis = self.chassis[frame.chassis]
        shut = set(board.reserved) | set(frame.keep_empty)
        pins = {int(slot): card for slot, card in frame.pins.items()}

        def from_slot(slot: int) -> Iterator[tuple[tuple[int, str], ...]]:
            if slot > chassis.slot_count:
                yield ()
                return
            if slot not in pins:
                yield from from_slot(slot + 1)
            for card in self.cards.values():
                taken = range(slot, slot + card.span)
                if taken[-1] > chassis.slot_count or shut & set(taken) or pins.get(slot, card.id) != card.id:
                    continue
                if any(other in pins for other in taken[1:]) or self.refused(chassis, slot, card.id):
                    continue
                for rest in from_slot(taken.stop):
                    yield ((slot, card.id), *rest)

        yield from (seating for seating in from_slot(1) if seating)

    def placings(self, frame: Frame) -> list[Placed]:
        """Every way in which a frame can stand by itself."""
        found: list[Placed] = []
        wanted = (None, True, False) if frame.name in self.lines else (None,)
        for board in self.boards_of(frame):
            if self.family not in board.limits:
                continue
            settings: dict[tuple[object, ...], Set] = {}
            for end in wanted[-2:] if len(wanted) > 1 else wanted:
                for s in self.settings(board, frame.straps, end):
                    settings.setdefault((s.blocks, s.ends), s)
                    if s.closed < settings[s.blocks, s.ends].closed:
                        settings[s.blocks, s.ends] = s
            for cards in self.seatings(frame, board):
                if self.company(cards):
                    continue
                if self.overdrawn(self.chassis[frame.chassis], board, [card for _, card in cards]):
                    continue
                margin = self.margin(frame, board, cards)
                if margin < self.refuse:
                    continue
                for setting in settings.values():
                    found.append(Placed(frame.name, board.id, setting, cards, self.sides(setting, cards), margin))
        return found

    # Several frames

    def bought(self, placed: Iterable[Placed]) -> tuple[int, bool]:
        """What a build costs, and whether stock and offers have everything."""
        used: Counter[tuple[str, str]] = Counter()
        for one in placed:
            frame = self.frames[one.frame]
            used.update(("card", card) for _, card in one.cards)
            if not frame.owned:
                used["chassis", frame.chassis] += 1
            if not frame.owned or frame.board is None:
                used["board", one.board] += 1
        shelves: dict[str, Mapping[str, Card | Chassis | Board]] = {
            "card": self.cards,
            "chassis": self.chassis,
            "board": self.boards,
        }
        cost, there = 0, True
        for (kind, item), worn in used.items():
            count = worn - min(worn, self.scenario.stock.get(item, 0))
            offers = (
                sorted(
                    (
                        money(o.price if o.price is not None else shelves[kind][item].price),
                        9999 if o.at_most is None else o.at_most,
                    )
                    for o in self.scenario.offer
                    if getattr(o, kind) == item
                )
                if count
                else []
            )
            for price, most in offers:
                taken = min(count, most)
                cost, count = cost + taken * price, count - taken
            there = there and not count
        return cost, there

    def affordable(self, cost: int) -> bool:
        return self.scenario.budget is None or cost <= money(self.scenario.budget)

    def clock_faults(self, ended: Mapping[str, bool | None]) -> set[int]:
        """Clock lines that are not ended once, at their last used frame; None where the board does not say."""
        wrong = set()
        for n, line in enumerate(self.scenario.clock_line):
            used = [name for name in line.frames if name in ended]
            for name in used:
                must = name == used[-1] and not line.terminator
                if ended[name] is not None and ended[name] != must:
                    wrong.add(n)
        return wrong

    def served(
        self, sides: Iterable[tuple[Side, Side]], needs: Mapping[Direction, tuple[Asked, ...]] | None = None
    ) -> tuple[int, ...]:
        """Channels short that must not be, nice ones, nice needs, holes, other signals spent, channels that serve."""
        needs = self.needs if needs is None else needs
        total = [0] * 6
        both = list(sides)
        for n, way in enumerate(DIRECTIONS):
            frames = tuple(
                tuple(
                    (holes, len(line.channels), line.signals)
                    for line, holes in zip(s[n].lines, s[n].holes, strict=True)
                )
                for s in both
            )
            for m, value in enumerate(best_service(frames, needs[way], self.holes_first)):
                total[m] += value
        return tuple(total)

    def figures(self, placed: tuple[Placed, ...], cost: int) -> Figures:
        must, nice, needs, holes, spent, serving = self.served(p.sides for p in placed)
        return Figures(
            must,
            nice,
            needs,
            cost,
            sum(side.stranded for p in placed for side in p.sides),
            holes,
            sum(side.numbered for p in placed for side in p.sides) - serving,
            min((p.margin for p in placed), default=NO_MARGIN),
            spent,
            sum(len(p.cards) for p in placed),
            len(placed),
            sum(p.setting.closed for p in placed),
        )

    def builds(self) -> list[Found]:
        """Every build that keeps all rules and is short of nothing but what is nice; alike ones once."""
        choices: list[list[Placed | None]] = []
        for frame in self.scenario.frame:
            alike: dict[object, Placed | None] = {} if frame.pins or frame.must_use else {None: None}
            for p in self.placings(frame):
                kind = (
                    p.board,
                    tuple(sorted(p.counts.items())),
                    tuple(tuple((ln.signals, len(ln.channels)) for ln in s.lines) for s in p.sides),
                    tuple((s.holes, s.numbered, s.stranded) for s in p.sides),
                    p.margin,
                    p.setting.ends,
                )
                other = alike.get(kind)
                if other is None or p.setting.closed < other.setting.closed:
                    alike[kind] = p
            choices.append(list(alike.values()))
        found: list[Found] = []
        for build in product(*choices):
            placed = tuple(p for p in build if p is not None)
            if self.clock_faults({p.frame: p.setting.ends for p in placed}):
                continue
            counts = sum((p.counts for p in placed), Counter[str]())
            if any(counts[must.card] < must.count for must in self.scenario.must_seat):
                continue
            cost, there = self.bought(placed)
            if there and self.affordable(cost):
                figures = self.figures(placed, cost)
                if not figures.must_short:
                    found.append(Found(figures, placed))
        if not found:
            return []
        least = min((f.figures.short, f.figures.short_needs) for f in found)
        return [f for f in found if (f.figures.short, f.figures.short_needs) == least]

    # Ranking

    def value(self, figures: Figures, criterion: str) -> int:
        """Less is better."""
        if criterion == "unused":
            return figures.stranded + figures.holes + figures.idle
        if criterion == "cooling":
            return -(min(figures.margin, self.enough) // self.step)
        return int(getattr(figures, criterion))

    def values(self, figures: Figures) -> tuple[int, ...]:
        return tuple(self.value(figures, criterion) for criterion in self.scenario.rank)

    def order(self, figures: Figures) -> tuple[int, ...]:
        coolest = -figures.margin if "cooling" in self.scenario.rank else 0
        return (*self.values(figures), coolest, figures.spent, figures.cards, figures.frames, figures.closed)

    def best(self, builds: list[Found]) -> Found:
        left = builds
        for criterion in self.scenario.rank:
            least = min(self.value(f.figures, criterion) for f in left)
            slack = self.scenario.slack.get(criterion, 0)
            if isinstance(slack, str):
                cap = least * (100 + parse_percent(slack, 1000)) // 100
            elif criterion == "cooling":
                cap = least + 1000 * slack // self.step
            else:
                cap = least + slack
            left = [f for f in left if self.value(f.figures, criterion) <= cap]
        return min(left, key=lambda f: self.order(f.figures))

    def front(self, builds: list[Found]) -> set[tuple[int, ...]]:
        points = {self.values(f.figures) for f in builds}
        return {p for p in points if not any(q != p and all(a <= b for a, b in zip(q, p, strict=True)) for q in points)}


def money(amount: Decimal | None) -> int:
    """Hundredths of an amount that one of the files gives."""
    assert amount is not None
    return int(amount * 100)


def renumbers(group: StrapGroup) -> bool:
    return any(
        value is not None
        for setting in group.setting
        for blocks in (setting.inputs, setting.outputs)
        for value in (blocks.first_slot, blocks.widths)
    )


def names_of(group: StrapGroup, asked: str | None) -> list[str]:
    """Every setting of a group by its name, or the one that is asked for."""
    names = [setting.name for setting in group.setting]
    if group.kind == "links" and group.open_is_legal and "open" not in names:
        names.insert(0, "open")
    return names if asked is None else [name for name in names if same(name, asked)]


def same(name: str, asked: str) -> bool:
    return sorted(name.split("+")) == sorted(asked.split("+"))


def closes(group: StrapGroup, name: str) -> int:
    return 0 if group.kind == "switch" or name == "open" else len(name.split("+"))


def at_rest(group: StrapGroup) -> str:
    if group.wanted is not None:
        return group.wanted
    return min(names_of(group, None), key=lambda name: (closes(group, name), name))


def banned(board: Board, straps: Mapping[str, str]) -> bool:
    return any(all(same(straps.get(g, ""), name) for g, name in ban.items()) for ban in board.never_together)


def ends(board: Board, straps: Mapping[str, str]) -> bool | None:
    """Whether a board so set ends its clock line, None where it does not say or cannot."""
    clock = board.clock_input
    if clock is None or clock.termination == "none":
        return None
    if clock.termination == "fixed":
        return True
    assert clock.strap_group is not None
    assert clock.setting is not None
    return clock.strap_group in straps and same(straps[clock.strap_group], clock.setting)


def numbers(board: Board, chosen: Mapping[str, str], way: Direction, family: Family) -> tuple[tuple[int, ...], ...]:
    blocks = board.inputs if way == "in" else board.outputs
    first, widths = blocks.first_slot, blocks.widths
    for group in board.strap_group:
        for setting in group.setting:
            if group.name in chosen and same(setting.name, chosen[group.name]):
                new = setting.inputs if way == "in" else setting.outputs
                first = first if new.first_slot is None else new.first_slot
                widths = widths if new.widths is None else new.widths
    wide = [0] * 64
    if isinstance(widths, int):
        wide = [widths] * 64
    else:
        for run in widths or ():
            for slot in parse_ranges(run.slots):
                wide[slot - 1] = run.width
    limit = board.limits.get(family)
    most = 0 if limit is None else limit.inputs if way == "in" else limit.outputs
    given: list[tuple[int, ...]] = []
    at = 1
    for slot in range(1, 65):
        if first is None or slot < first:
            given.append(())
            continue
        block = range(at, at + wide[slot - 1])
        at = block.stop
        if block and block[-1] > most:
            given.append(() if board.at_limit == "drop" else tuple(n for n in block if n <= most))
            at = most + 10**6
        else:
            given.append(tuple(block))
    return tuple(given)


@lru_cache(maxsize=20000)
def _margin(air: heat.Air, limit: int, milliwatts: int) -> int:
    return heat.margin_mk(air, limit, milliwatts)


Frames = tuple[tuple[tuple[int, int, frozenset[str]], ...], ...]


@lru_cache(maxsize=200000)
def best_service(frames: Frames, needs: tuple[Asked, ...], holes_first: bool) -> tuple[int, int, int, int, int, int]:
    """By trying every need for every line: shorts, needs short, holes, other signals spent, channels that serve."""
    start = (tuple(asked for _, asked, _ in needs), (0,) * len(frames))
    states: dict[tuple[tuple[int, ...], tuple[int, ...]], int] = {start: 0}
    for f, lines in enumerate(frames):
        for holes, size, signals in lines:
            for (left, below), spent in list(states.items()):
                for n, (signal, _, _) in enumerate(needs):
                    if signal not in signals or not left[n]:
                        continue
                    after = (
                        (*left[:n], max(0, left[n] - size), *left[n + 1 :]),
                        (*below[:f], max(below[f], holes), *below[f + 1 :]),
                    )
                    now = spent + (len(signals) - 1) * size
                    if now < states.get(after, 10**9):
                        states[after] = now

    def key(state: tuple[tuple[tuple[int, ...], tuple[int, ...]], int]) -> tuple[int, ...]:
        (left, below), spent = state
        must = sum(lack for lack, (_, _, nice) in zip(left, needs, strict=True) if not nice)
        soft = [lack for lack, (_, _, nice) in zip(left, needs, strict=True) if nice and lack]
        last = (sum(below), spent) if holes_first else (spent, sum(below))
        return (must, sum(soft), len(soft), *last)

    best = min(states.items(), key=key)
    must, soft, short, *_ = key(best)
    (left, below), spent = best
    return must, soft, short, sum(below), spent, sum(asked for _, asked, _ in needs) - sum(left)

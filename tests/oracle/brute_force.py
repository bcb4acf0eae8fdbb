"""A second planner that tries everything, for scenarios of a few slots.

It shares the nouns and the air formula with the planner that it checks, and nothing else: numbering, serving,
money, rails, heat of the gaps, ranking and tie-breaks are worked out anew, the plain way.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cached_property, lru_cache
from itertools import permutations, product
from typing import Any

import numbered
from airflow import air_through, own_margins
from company import in_company, plugged
from linked import that_come
from patched import have_points

from solver.physics.heat import Air, margin_mk
from solver.room.build import Build, BuiltFrame
from solver.room.hardware import Blocks, Board, Card, Chassis, Hardware, Setting
from solver.room.scenario import CriterionName, Frame, Need, Scenario
from solver.room.words import CURRENCY_DECIMALS, SAMPLE_RATES, Family, in_thousandths, parse_percent, parse_ranges

RULES = (
    "seats",
    "kept_empty",
    "pins",
    "must_seat",
    "straps",
    "numbers",
    "needs",
    "channels",
    "stock",
    "budget",
    "rails",
    "cooling",
)
MOVING = {"cards_moved", "straps_moved", "lids_off", "renumbered"}
SIDES = {"in": "inputs", "out": "outputs"}
UNCHECKED = 10**9
"""The margin of a build of which none can be checked, in millikelvin: more than any other."""

Seats = tuple[tuple[int, str], ...]
"""First slot and card id, in slot order."""


@dataclass(frozen=True)
class Numbering:
    """One combination of settings of one board: what each slot gets, as (first number, width)."""

    board: str
    straps: tuple[tuple[str, str], ...]
    closed: int
    blocks: Mapping[str, tuple[tuple[int, int], ...]]
    legal: bool

    @property
    def order(self) -> tuple[Any, ...]:
        """Place among the layouts of a frame."""
        return self.board, self.closed, self.straps


@dataclass(frozen=True)
class Answers:
    """What one card in one place and one direction answers.

    `lines` holds (lowest number, channels, signals) of every line whose channels all have numbers; `places` the
    numbers with the slot of the card that carries each, counted from 0.
    """

    numbers: tuple[int, ...]
    places: tuple[tuple[int, int], ...]
    stranded: int
    lines: tuple[tuple[int, int, frozenset[str]], ...]


@dataclass(frozen=True)
class Candidate:
    """A build that keeps every rule, with its figures. Frames in name order; an unused one has no layout.

    `short` counts channels that needs which are nice to have lack, `short_needs` those needs.
    """

    frames: tuple[str, ...]
    layouts: tuple[Numbering | None, ...]
    seats: tuple[Seats, ...]
    slots: tuple[int, ...]
    spans: Mapping[str, int] = field(repr=False)
    cost: int = 0
    stranded: int = 0
    holes: int = 0
    idle: int = 0
    level: int = 0
    margin: int = 0
    misfit: int = 0
    short: int = 0
    short_needs: int = 0
    cards_moved: int = 0
    straps_moved: int = 0
    lids_off: int = 0
    renumbered: int = 0

    @property
    def unused(self) -> int:
        """Stranded, holes and idle together."""
        return self.stranded + self.holes + self.idle

    def bad(self, criterion: str) -> int:
        """The figure of a criterion, turned so that lower is better."""
        return -self.level if criterion == "cooling" else int(getattr(self, criterion))

    @property
    def cards(self) -> int:
        """Cards in all frames."""
        return sum(len(s) for s in self.seats)

    @property
    def closed(self) -> int:
        """Straps closed in all used frames."""
        return sum(w.closed for w in self.layouts if w)

    def tie(self, cooling: bool) -> tuple[Any, ...]:
        """What decides among builds of equal criteria; the least is chosen."""
        # An unused frame comes last, and so does an empty slot: (0, id) for a card that begins here, (1, "") for none.
        layouts = tuple((0, *layout.order) if layout else (1,) for layout in self.layouts)
        rows = []
        for seats, slots in zip(self.seats, self.slots, strict=True):
            held = dict(seats)
            rows.append(tuple((0, held[slot]) if slot in held else (1, "") for slot in range(1, slots + 1)))
        frames = sum(layout is not None for layout in self.layouts)
        return (-self.margin if cooling else 0, self.misfit, self.cards, frames, self.closed, layouts, tuple(rows))

    def figures(self) -> dict[str, int]:
        """The criteria; money in minor units, `margin` in millikelvin, also above what is enough."""
        names = ("cost", "stranded", "holes", "idle", "unused", "level", "margin", "misfit")
        return {name: getattr(self, name) for name in names}

    def used(self) -> dict[str, tuple[str, dict[str, str], dict[int, str]]]:
        """Board, straps and cards of each used frame."""
        return {
            name: (layout.board, dict(layout.straps), dict(seats))
            for name, layout, seats in zip(self.frames, self.layouts, self.seats, strict=True)
            if layout
        }

    def build(self) -> Build:
        """The same as a build file holds it."""
        return Build(
            frame=tuple(
                BuiltFrame(name=n, board=b, straps=s, cards={str(k): c for k, c in cards.items()})
                for n, (b, s, cards) in self.used().items()
            )
        )


@dataclass(frozen=True)
class Answer:
    """The best build, if any. `binding` names the rules that alone turn down some candidate."""

    feasible: bool
    figures: dict[str, int]
    best: dict[str, tuple[str, dict[str, str], dict[int, str]]]
    binding: frozenset[str]
    candidate: Candidate | None
    builds: int


def blocks_of(first_slot: int, widths: Sequence[int], limit: int, at_limit: str) -> tuple[tuple[int, int], ...]:
    """First number and width of each slot, by dealing out one number after the other."""
    dealt = 0
    over = False
    found = []
    for slot, width in enumerate(widths, start=1):
        given = 0
        if slot >= first_slot and not over:
            if dealt + width <= limit:
                given = width
            else:
                over = True
                given = limit - dealt if at_limit == "cut" else 0
        found.append((dealt + 1, given) if given else (0, 0))
        dealt += given
    return tuple(found)


def _widths(blocks: Blocks, slots: int) -> list[int]:
    if isinstance(blocks.widths, int):
        return [blocks.widths] * slots
    width_by_slot = {s: run.width for run in blocks.widths or () for s in parse_ranges(run.slots)}
    return [width_by_slot.get(slot, 0) for slot in range(1, slots + 1)]


def _overrides(setting: Setting) -> bool:
    return any(v is not None for b in (setting.inputs, setting.outputs) for v in (b.first_slot, b.widths))


def numberings(
    board: Board, slots: int, family: Family, asked: Mapping[str, str], stands: Mapping[str, str] | None = None
) -> list[Numbering]:
    """Every combination of settings; `legal` says whether it may be set and is what the scenario asks for.

    Of the groups that change no number all combinations are tried beside each of the others: what is asked for stays,
    then, where builds are ranked by what is moved, what `stands`,
    the fewest others move from where they stand by themselves, then the fewest straps are closed.
    """
    if family not in board.limits:
        return []
    loud = [g for g in board.strap_group if any(_overrides(s) for s in g.settings())]
    found = []
    for combination in product(*(g.settings() for g in loud)):
        standing = {g.name: s for g, s in zip(loud, combination, strict=True)}
        every = [_stand(board, standing, asked, beside, stands or {}) for beside in product(*_silent(board))]
        _, _, banned, settings = min(every, key=lambda s: (s[2], s[0], s[1]))
        named = {g: s.name for g, s in settings.items()}
        other = any(named[g] != s for g, s in asked.items() if g in named)
        blocks = {}
        for direction, side in SIDES.items():
            own: Blocks = getattr(board, side)
            for setting in settings.values():
                over: Blocks = getattr(setting, side)
                if over.first_slot is not None:
                    own = own.model_copy(update={"first_slot": over.first_slot})
                if over.widths is not None:
                    own = own.model_copy(update={"widths": over.widths})
            limit = getattr(board.limits[family], side)
            blocks[direction] = blocks_of(own.first_slot or 1, _widths(own, slots), limit, board.at_limit)
        found.append(
            Numbering(
                board=board.id,
                straps=tuple(named.items()),
                closed=sum(len(s.closed or ()) for s in settings.values()),
                blocks=blocks,
                legal=not banned and not other,
            )
        )
    return found


def _silent(board: Board) -> list[tuple[Setting, ...]]:
    return [g.settings() for g in board.strap_group if not any(_overrides(s) for s in g.settings())]


def _stand(
    board: Board,
    loud: Mapping[str, Setting],
    asked: Mapping[str, str],
    beside: Sequence[Setting],
    stands: Mapping[str, str],
) -> tuple[tuple[int, int], tuple[Any, ...], bool, dict[str, Setting]]:
    """How far settings of the groups that change no number are from where they stand by themselves, and what bans."""
    left = list(beside)
    settings = {g.name: loud[g.name] if g.name in loud else left.pop(0) for g in board.strap_group}
    strayed = moved = 0
    for group in board.strap_group:
        if group.name in loud:
            continue
        own = settings[group.name]
        now = stands.get(group.name)
        first = min(
            group.settings(), key=lambda s: (s.name != now, s.name != group.wanted, len(s.closed or ()), s.name)
        )
        if group.name in asked:
            strayed += own.name != asked[group.name]
        else:
            moved += own.name != first.name
    named = {g: s.name for g, s in settings.items()}
    banned = any(ban and ban.items() <= named.items() for ban in board.never_together)
    closed = sum(len(s.closed or ()) for s in settings.values())
    return (strayed, moved), (closed, [s.name for s in settings.values()]), banned, settings


def answers(card: Card, family: Family, slot: int, direction: str, blocks: Sequence[tuple[int, int]]) -> Answers:
    """Numbers and lines of a card that begins in `slot`."""
    places: list[tuple[int, int]] = []
    stranded = 0
    lines = []
    for part in range(card.span):
        first, width = blocks[slot + part - 1]
        channel = 0
        for port in card.ports:
            if port.direction != direction or port.on_slot != part + 1:
                continue
            count = port.channels.get(family, 0)
            for start in range(0, count, port.grain):
                line = [channel + start + i for i in range(port.grain)]
                if line[-1] < width and start + port.grain <= count:
                    lines.append((first + line[0], port.grain, frozenset(port.signals)))
            channel += count
        places += [(part, first + i) for i in range(min(channel, width))]
        stranded += max(0, channel - width)
    return Answers(tuple(n for _, n in places), tuple(places), stranded, tuple(lines))


Line = tuple[int, int, int, tuple[str, ...]]
"""Channels of a line, its frame, the numbers below it that nothing answers, the signals it takes."""


@lru_cache(maxsize=100_000)
def least_holes_and_misfit(
    lines: tuple[Line, ...],
    needs: tuple[tuple[str, int], ...],
    frames: int,
    plain_first: bool = False,
    used: tuple[int, ...] = (),
) -> tuple[int, int] | None:
    """Try every way to give lines of one direction to needs of it; None if the needs cannot all be met.

    Lines come in order of falling size. A need that still lacks channels may take the next one, so the last
    one taken is the smallest and was wanted: no line in the set is superfluous, and every such set is reached.
    The numbers below a line that nothing answers only grow with its number, so the most of them over the
    lines used in a frame are the holes below the highest number used there. `used` says so of lines that are in use
    already, by frame.
    """
    left = sum(line[0] for line in lines)
    begin = tuple(d for _, d in needs), used or (0,) * frames
    states: dict[tuple[tuple[int, ...], tuple[int, ...]], int] = {begin: 0}
    for size, frame, below, signals in lines:
        if left < min((sum(lack) for lack, _ in states), default=0):
            return None
        left -= size
        grown = dict(states)
        for (lack, tops), misfit in states.items():
            for index, (signal, _) in enumerate(needs):
                if lack[index] <= 0 or signal not in signals:
                    continue
                lacking = (*lack[:index], max(0, lack[index] - size), *lack[index + 1 :])
                topped = (*tops[:frame], max(tops[frame], below), *tops[frame + 1 :])
                cost = misfit + size * (len(signals) - 1)
                if sum(lacking) <= left and cost < grown.get((lacking, topped), cost + 1):
                    grown[lacking, topped] = cost
        states = {state: cost for state, cost in grown.items() if sum(state[0]) <= left}
    done = [(sum(tops), misfit) for (lack, tops), misfit in states.items() if not any(lack)]
    return min(done, key=lambda d: d[::-1] if plain_first else d, default=None)


Served = tuple[int, int, int, int]
"""Channels short, needs short, holes and misfit."""


@lru_cache(maxsize=100_000)
def least_short(
    lines: tuple[Line, ...],
    needs: tuple[tuple[str, int, bool], ...],
    frames: int,
    plain_first: bool,
    used: tuple[int, ...] = (),
) -> Served | None:
    """Like `least_holes_and_misfit` with needs that are nice to have, which may lack channels: as few as can be.

    Every way to let each line serve a need that still lacks channels, or none, is tried, whatever it leaves.
    """
    begin = tuple(d for _, d, _ in needs), used or (0,) * frames
    states: dict[tuple[tuple[int, ...], tuple[int, ...]], int] = {begin: 0}
    for size, frame, below, signals in lines:
        grown = dict(states)
        for (lack, tops), misfit in states.items():
            for index, (signal, _, _) in enumerate(needs):
                if lack[index] > 0 and signal in signals:
                    lacking = (*lack[:index], max(0, lack[index] - size), *lack[index + 1 :])
                    topped = (*tops[:frame], max(tops[frame], below), *tops[frame + 1 :])
                    cost = misfit + size * (len(signals) - 1)
                    grown[lacking, topped] = min(cost, grown.get((lacking, topped), cost))
        states = grown
    done = [
        (sum(lack), sum(n > 0 for n in lack), sum(tops), misfit)
        for (lack, tops), misfit in states.items()
        if not any(n and not nice for n, (_, _, nice) in zip(lack, needs, strict=True))
    ]
    return min(done, key=lambda d: (*d[:2], *d[:1:-1]) if plain_first else d, default=None)


@dataclass(frozen=True)
class _Choice:
    """One board and seating of one frame, whatever its straps."""

    seats: Seats
    layouts: tuple[Numbering | None, ...]
    broken: frozenset[str]
    items: tuple[str, ...]
    margin: int | None


class _Trial:
    """Everything that can be tried for one scenario.

    What breaks a rule is looked at no further once the rule is known to bind; where nobody asks which ones do, as if
    all were known to.
    """

    def __init__(self, scenario: Scenario, hardware: Hardware, *, which_bind: bool = False) -> None:
        self.spans = {c.id: c.span for c in hardware.card}
        self.out = [(entry.key, entry.what) for entry in scenario.out_of_service]
        self.as_it_stood = scenario.installed.frame if isinstance(scenario.installed, Build) else ()
        self.at_home: set[tuple[str, int, str]] = set()
        self.there: dict[tuple[str, int], tuple[str, int, str]] = {}
        self.dead_cards: set[tuple[str, int]] = set()
        scenario = self.without_what_is_out(scenario)
        self.scenario = scenario
        self.room = scenario.rooms()[0]
        self.frames = sorted(self.room.frame, key=lambda f: f.name)
        self.family = SAMPLE_RATES[self.room.sample_rate or scenario.sample_rate]
        self.card = {c.id: c for c in hardware.card}
        self.board = {b.id: b for b in hardware.board}
        self.chassis = {c.id: c for c in hardware.chassis}
        self.unit = 10 ** CURRENCY_DECIMALS[scenario.currency]
        limits = scenario.limits
        self.enough = in_thousandths(limits.enough_k)
        self.refuse = in_thousandths(limits.refuse_below_k)
        self.step = in_thousandths(limits.step_k)
        self.reserve = parse_percent(limits.rail_reserve, 90)
        self.price: dict[str, list[tuple[int, int | None]]] = {}
        listed: dict[str, Card | Board | Chassis] = {**self.card, **self.board, **self.chassis}
        for offer in scenario.offer:
            price = offer.price if offer.price is not None else listed[offer.item].price
            self.price.setdefault(offer.item, []).append((int((price or Decimal(0)) * self.unit), offer.at_most))
        self.paid: dict[tuple[str, int], int | None] = {}
        self.best_served: dict[Any, dict[numbered.Ties, Served]] = {}
        self.answered: dict[tuple[str, str, int, str, tuple[tuple[int, int], ...]], Answers] = {}
        self.chosen: dict[str, list[_Choice]] = {}
        self.ask(self.room.need)
        self.margins: dict[tuple[Air, int, int], int] = {}
        self.heat = {i.id: in_thousandths(i.heat_w or Decimal(0)) for i in hardware.card}
        drawing: list[Card | Board] = [*hardware.card, *hardware.board]
        self.rails = {
            i.id: {rail: in_thousandths(amperes) for rail, amperes in (i.rails or {}).items()} for i in drawing
        }
        self.binding: set[str] = set() if which_bind else set(RULES)

    def without_what_is_out(self, scenario: Scenario) -> Scenario:
        """The scenario without cards and stock that are out of service; cards with a bad channel stay at home."""
        stock, frames = Counter(scenario.stock) | self.standing(scenario), []
        slots = {what for sort, what in self.out if sort == "slot"}
        bad = {what.replace(":in:", ":").replace(":out:", ":").split(".")[0] for s, what in self.out if s == "channel"}
        stock.subtract(what for sort, what in self.out if sort == "stock")
        for built in scenario.installed.frame if isinstance(scenario.installed, Build) else ():
            for slot, card in built.seats():
                self.there |= {(built.name, slot + n): (built.name, slot, card) for n in range(self.spans[card])}
                if f"{built.name}:{slot}" in slots:
                    stock[card] -= 1
                    self.dead_cards.add((built.name, slot))
                elif bad & {f"{built.name}:{slot + n}" for n in range(self.spans[card])}:
                    stock[card] -= 1
                    self.at_home.add((built.name, slot, card))
            left = {slot: card for slot, card in built.cards.items() if f"{built.name}:{slot}" not in slots}
            frames.append(built.model_copy(update={"cards": left}))
        installed = Build(frame=tuple(frames)) if isinstance(scenario.installed, Build) else scenario.installed
        return scenario.model_copy(update={"installed": installed, "stock": dict(stock)})

    def standing(self, scenario: Scenario) -> Counter[str]:
        """Whatever stands, which is owned; a board that comes with its frame is none of stock."""
        own = {frame.name: frame.board for frame in scenario.frame}
        boards = [built.board for built in self.as_it_stood if built.board != own.get(built.name)]
        return Counter([*boards, *(card for built in self.as_it_stood for card in built.cards.values())])

    def works(self, seat: tuple[str, int, str], direction: str, answers: Answers, layout: Numbering) -> Answers:
        """What a card answers without the lines of which a number, or its own channel behind it, is out of service."""
        frame, begin, _ = seat
        bad = set()
        for part, number in answers.places:
            first, _ = layout.blocks[direction][begin + part - 1]
            said = [("number", str(number))]
            if self.there.get((frame, begin + part), seat) == seat and (frame, begin) not in self.dead_cards:
                said.append(("channel", f"{begin + part}.{number - first + 1}"))
            names = {(sort, f"{frame}:{side}{what}") for sort, what in said for side in ("", f"{direction}:")}
            bad |= {number} if names & set(self.out) else set()
        lines = [line for line in answers.lines if not bad & set(range(line[0], line[0] + line[1]))]
        return replace(answers, lines=tuple(lines))

    def ask(self, asked: Sequence[Need]) -> None:
        """Ask for other needs; what frames can hold stays as it is."""
        self.best_served.clear()
        by_name = {need.name: need for need in asked}
        self.tied = {name: by_name[other] for name, other in numbered.ties(asked).items()}
        self.apart = numbered.apart(asked)
        self.parted = {name for pair in self.apart for name in pair}
        told = self.parted | set(self.tied)
        asking = [need.name for need in asked if numbered.wishes(need) or need.name in told]
        self.numbered = {d: [n for n in asked if n.direction == d and n.name in asking] for d in SIDES}
        self.asked = {d: sum(n.channels + n.spare for n in asked if n.direction == d) for d in SIDES}
        asked = [n for n in asked if n.name not in asking]
        self.needs = {d: tuple((n.signal, n.channels + n.spare) for n in asked if n.direction == d) for d in SIDES}
        self.nice = {
            d: frozenset(i for i, n in enumerate(n for n in asked if n.direction == d) if n.importance == "nice")
            for d in SIDES
        }

    def seatings(self, slots: int, slot: int = 1) -> Iterator[Seats]:
        """Every way to fill the slots from `slot` on."""
        if slot > slots:
            yield ()
            return
        yield from self.seatings(slots, slot + 1)
        for card in self.card.values():
            if slot + card.span - 1 <= slots:
                for rest in self.seatings(slots, slot + card.span):
                    yield ((slot, card.id), *rest)

    def covered(self, seats: Seats) -> dict[int, str]:
        """Slot to card, every slot of a spanning card."""
        return {s: card for slot, card in seats for s in range(slot, slot + self.spans[card])}

    def rails_hold(self, chassis: Chassis, board: Board, cards: Sequence[str]) -> bool:
        """Whether no rail carries more than the reserve leaves."""
        if chassis.rails is None:
            return True
        left = self.left_of_rails(chassis)
        load: dict[str, int] = {}
        for item in (board.id, *cards):
            for rail, milliamperes in self.rails[item].items():
                load[rail] = load.get(rail, 0) + milliamperes
        return all(
            milliamperes <= int(chassis.rails.get(rail, Decimal(0)) * 1000) * (100 - self.reserve) // 100
            and (left is None or milliamperes <= left.get(rail, milliamperes))
            for rail, milliamperes in load.items()
        )

    def left_of_rails(self, chassis: Chassis) -> dict[str, int] | None:
        """What all supplies but one deliver on each rail, where that has to do."""
        survive, supply = self.scenario.survive, chassis.supply
        if survive is None or survive.supplies is None or (supply.rails is None and supply.count > 1):
            return None
        each = supply.rails or chassis.rails or {}
        return {rail: (supply.count - 1) * int(amperes * 1000) for rail, amperes in each.items()}

    def worst_margin(self, frame: Frame, chassis: Chassis, board: Board, seats: Seats) -> int | None:
        """The least margin of any gap beside a card; None where nothing can be said."""
        air = air_through(frame, chassis, self.room, self.scenario)
        if air is None:
            return None
        gaps = air.gaps
        loss = Decimal(0) if chassis.supply.external else chassis.supply.count * chassis.supply.loss_w
        shared = in_thousandths((board.heat_w or Decimal(0)) + loss)
        ends = {slot + self.spans[card] - 1: card for slot, card in seats}
        starts = dict(seats)
        margins: list[int] = []
        for gap in range(gaps):
            # Inside a spanning card no card ends and none begins, so nothing is looked at.
            beside = [self.card[c] for c in (ends.get(gap), starts.get(gap + 1)) if c]
            if any(card.hot_at is not None for card in beside):
                margins += own_margins(air, beside, shared)
                continue
            halves = sum(self.heat[c.id] for c in beside)
            # halves/2 + shared/gaps, rounded up
            heat = -(-(halves * gaps + 2 * shared) // (2 * gaps))
            for card in beside:
                if card.air_limit_c is not None:
                    key = (air, int(card.air_limit_c * 1000), heat)
                    if key not in self.margins:
                        self.margins[key] = margin_mk(*key)
                    margins.append(self.margins[key])
        return min(margins, default=None)

    def choices(self, frame: Frame) -> list[_Choice]:
        """Every board and seating of a frame that breaks no more than one rule."""
        if frame.name not in self.chosen:
            self.chosen[frame.name] = self._choices(frame)
        return self.chosen[frame.name]

    def _choices(self, frame: Frame) -> list[_Choice]:
        chassis = self.chassis[frame.chassis]
        slots = chassis.slot_count
        on_hand = {i for i, n in self.scenario.stock.items() if n} | set(self.price)
        boards = [frame.board] if frame.board else sorted(b for b in chassis.boards if b in on_hand)
        layouts = {
            b: self.least_to_set(frame, numberings(self.board[b], slots, self.family, frame.straps, self.now(frame, b)))
            for b in boards
        }
        ports = self.room.host_port
        for board, every in layouts.items() if ports else ():
            come = that_come(ports, frame.name, self.board[board], self.family)
            layouts[board] = tuple(
                replace(w, blocks={d: come(d, blocks) for d, blocks in w.blocks.items()}) for w in every
            )
        refused = {(c, s) for r in chassis.refuses for c in r.cards for s in parse_ranges(r.slots)}
        found = []
        for seats in self.seatings(slots):
            covered = self.covered(seats)
            broken = set()
            if any((c, s) in refused for s, c in covered.items()):
                broken.add("seats")
            if any(s in covered for s in frame.keep_empty):
                broken.add("kept_empty")
            if any(dict(seats).get(int(s)) != c for s, c in frame.pins.items()):
                broken.add("pins")
            if len(broken) > 1 or broken & self.binding:
                continue
            if frame.must_use and not seats:
                continue
            if not in_company(seats, self.card):
                continue
            if not seats:
                found.append(_Choice((), (None,), frozenset(broken), (), None))
                continue
            cards = [c for _, c in seats]
            for board in boards:
                own = set(broken)
                if any(s in covered for s in self.board[board].reserved):
                    own.add("seats")
                if not self.rails_hold(chassis, self.board[board], cards):
                    own.add("rails")
                if not plugged(chassis, [self.card[card] for card in cards]):
                    continue
                if len(own) > 1 or own & self.binding:
                    continue
                margin = self.worst_margin(frame, chassis, self.board[board], seats)
                if margin is not None and margin < self.refuse:
                    own.add("cooling")
                if len(own) > 1 or own & self.binding:
                    continue
                items = [card for slot, card in seats if (frame.name, slot, card) not in self.at_home]
                if not frame.owned:
                    items.append(chassis.id)
                if not (frame.owned and frame.board):
                    items.append(board)
                found.append(_Choice(seats, layouts[board], frozenset(own), tuple(items), margin))
        return found

    def price_of(self, item: str, used: int) -> int | None:
        """What it costs to have so many of an item, the cheapest offers first; None if they run out."""
        if (item, used) not in self.paid:
            short = max(0, used - self.scenario.stock.get(item, 0))
            total = 0
            for price, at_most in sorted(self.price.get(item, ()), key=lambda o: o[0]):
                take = short if at_most is None else min(short, at_most)
                total += take * price
                short -= take
            self.paid[item, used] = None if short else total
        return self.paid[item, used]

    def cost(self, items: Counter[str]) -> int | None:
        """The money for everything; None if something cannot be had."""
        total = 0
        for item, used in items.items():
            price = self.price_of(item, used)
            if price is None:
                return None
            total += price
        return total

    def answer(self, frame: str, card: str, slot: int, direction: str, layout: Numbering) -> Answers:
        """Like `answers`, remembered, without what is out of service."""
        key = (frame if self.out else "", card, slot, direction, layout.blocks[direction])
        if key not in self.answered:
            found = answers(self.card[card], self.family, slot, direction, layout.blocks[direction])
            self.answered[key] = self.works((frame, slot, card), direction, found, layout) if self.out else found
        return self.answered[key]

    def of_cards(self, frame: int, seats: Seats, direction: str, layout: Numbering) -> list[Answers]:
        """What each card of a frame answers."""
        return [self.answer(self.frames[frame].name, card, slot, direction, layout) for slot, card in seats]

    def ways_to_serve(self, layouts: Sequence[Numbering | None], seats: Sequence[Seats]) -> list[tuple[int, ...]]:
        """What `served` says and the channels that get another number; of several ways those that none betters."""
        if not self.survives(layouts, seats):
            return []
        if "renumbered" not in self.scenario.rank:
            one = self.served(layouts, seats)
            return [] if one is None else [(*one, 0)]
        stranded = answered = 0
        sides: list[list[tuple[int, ...]]] = []
        for direction in self.needs:
            lines: list[tuple[int, int, int, frozenset[str], int]] = []
            for index, (layout, own) in enumerate(zip(layouts, seats, strict=True)):
                found = (
                    [self.answer(self.frames[index].name, card, slot, direction, layout) for slot, card in own]
                    if layout
                    else []
                )
                heard = {n for a in found for n in a.numbers}
                answered += len(heard)
                stranded += sum(a.stranded for a in found)
                for lowest, size, signals in (line for a in found for line in a.lines):
                    below = lowest - 1 - sum(n < lowest for n in heard)
                    lines.append((size, index, below, signals, lowest))
            sides.append(self._ways_of(sorted(lines, key=lambda line: -line[0]), direction, len(layouts)))
        both = {tuple(a + b for a, b in zip(own, theirs, strict=True)) for own, theirs in product(*sides)}
        return [
            (stranded, way[2], answered - (sum(self.asked.values()) - way[0]), way[3], way[0], way[1], way[4])
            for way in _unbeaten(both)
        ]

    def survives(self, layouts: Sequence[Numbering | None], seats: Sequence[Seats]) -> bool:
        """Whether critical needs find enough channels, those to spare left out, with each card taken away in turn."""
        survive = self.scenario.survive
        if survive is None or survive.cards is None or survive.with_ != "repatch":
            return True
        for direction in SIDES:
            critical = [n for n in self.room.need if n.direction == direction and n.critical and n.channels]
            asked = tuple((need.signal, need.channels) for need in critical)
            lines = [
                (-size, index, slot, tuple(sorted(signals)))
                for index, (layout, own) in enumerate(zip(layouts, seats, strict=True))
                if layout is not None
                for slot, card in own
                for _, size, signals in self.answer(self.frames[index].name, card, slot, direction, layout).lines
            ]
            for gone in {(index, slot) for index, own in enumerate(seats) for slot, _ in own} if asked else ():
                left = tuple((-size, 0, 0, takes) for size, *at, takes in sorted(lines) if tuple(at) != gone)
                if least_holes_and_misfit(left, asked, 1) is None:
                    return False
            if asked and not any(seats):
                return False
        return True

    def _ways_of(
        self, lines: Sequence[tuple[int, int, int, frozenset[str], int]], direction: str, frames: int
    ) -> list[tuple[int, ...]]:
        """Short channels and needs, holes, misfit and other numbers of every way to give lines to needs.

        A need may have more lines than it must, where it keeps numbers on them.
        """
        needs = [need for need in self.room.need if need.direction == direction]
        had = [self.had.get(need.name, frozenset()) for need in needs]
        asked = tuple(need.demand for need in needs)
        states: set[tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...], int]]
        states = {(asked, (0,) * frames, (0,) * len(needs), 0)}
        for size, frame, below, signals, lowest in lines:
            grown = set(states)
            for lack, tops, kept, misfit in states:
                for n, need in enumerate(needs):
                    same = sum((frame, number) in had[n] for number in range(lowest, lowest + size))
                    if need.signal not in signals or (lack[n] <= 0 and not same):
                        continue
                    grown.add(
                        (
                            (*lack[:n], max(0, lack[n] - size), *lack[n + 1 :]),
                            (*tops[:frame], max(tops[frame], below), *tops[frame + 1 :]),
                            (*kept[:n], kept[n] + same, *kept[n + 1 :]),
                            misfit + size * (len(signals) - 1),
                        )
                    )
            states = grown
        found = set()
        for lack, tops, kept, misfit in states:
            if any(lacks and need.importance != "nice" for lacks, need in zip(lack, needs, strict=True)):
                continue
            served = [whole - lacks for whole, lacks in zip(asked, lack, strict=True)]
            other = sum(
                min(len(before), has) - min(has, same) for before, has, same in zip(had, served, kept, strict=True)
            )
            found.add((sum(lack), sum(n > 0 for n in lack), sum(tops), misfit, other))
        return _unbeaten(found)

    @cached_property
    def had(self) -> dict[str, frozenset[tuple[int, int]]]:
        """By need the frames and numbers that its channels have in what stands, counted by hand."""
        installed, places = self.scenario.installed, {frame.name: n for n, frame in enumerate(self.frames)}
        needs = {need.name: need for need in self.room.need}
        found: dict[str, set[tuple[int, int]]] = {}
        for built in installed.frame if isinstance(installed, Build) else ():
            board, chassis = self.board[built.board], self.chassis[self.frames[places[built.name]].chassis]
            loud = {g.name for g in board.strap_group if any(_overrides(s) for s in g.settings())}
            if not loud <= built.straps.keys() or self.family not in board.limits:
                continue
            layout = next(
                w
                for w in numberings(board, chassis.slot_count, self.family, {})
                if all(dict(w.straps)[g] == built.straps[g] for g in loud)
            )
            cards = {int(slot): card for slot, card in built.cards.items()}
            for service in built.serves or ():
                need = needs[service.need]
                first, width = layout.blocks[need.direction][service.slot - 1]
                able = set(range(first, first + width))
                for begin, card in cards.items():
                    if begin <= service.slot < begin + self.spans[card]:
                        own = self.answer(built.name, card, begin, need.direction, layout).lines
                        able = {n for low, size, takes in own if need.signal in takes for n in range(low, low + size)}
                numbers = {first + index - 1 for index in parse_ranges(service.channels)}
                found.setdefault(need.name, set()).update((places[built.name], n) for n in numbers & able)
        return {name: frozenset(own) for name, own in found.items()}

    def served(self, layouts: Sequence[Numbering | None], seats: Sequence[Seats]) -> tuple[int, ...] | None:
        """Stranded, holes, idle, misfit, and what is short; None if needs that have to be met are not."""
        stranded = answered = 0
        sides: list[dict[numbered.Ties, Served]] = []
        for direction in self.needs:
            lines: list[Line] = []
            places: list[numbered.Place] = []
            answering = 0
            for index, (layout, own) in enumerate(zip(layouts, seats, strict=True)):
                if layout is None:
                    continue
                found = self.of_cards(index, own, direction, layout)
                heard = {n for a in found for n in a.numbers}
                answering += len(heard)
                stranded += sum(a.stranded for a in found)
                for (slot, _), answer in zip(own, found, strict=True):
                    for lowest, size, signals in answer.lines:
                        below = lowest - 1 - sum(n < lowest for n in heard)
                        places += (
                            []
                            if not self.numbered[direction]
                            else [
                                numbered.Place(index, lowest + n, slot, len(lines), size, below, signals)
                                for n in range(size)
                            ]
                        )
                        lines.append((size, index, below, tuple(sorted(signals))))
            answered += answering
            sides.append(self._served_best(lines, places, len(layouts), direction))
        both = [
            [a + b for a, b in zip(own, theirs, strict=True)]
            for (ties, own), (others, theirs) in product(*(side.items() for side in sides))
            if ties.agree(others, self.apart)
        ]
        if not both:
            return None
        short, short_needs, holes, misfit = min(both, key=self._worth)
        return stranded, holes, answered - (sum(self.asked.values()) - short), misfit, short, short_needs

    def _worth(self, served: Sequence[int]) -> tuple[int, ...]:
        """What is compared of ways to serve, the least is the best."""
        plain_first = not {"unused", "holes"} & set(self.scenario.rank)
        return (*served[:2], *served[:1:-1]) if plain_first else tuple(served)

    def _served_best(
        self, lines: Sequence[Line], places: Sequence[numbered.Place], frames: int, direction: str
    ) -> dict[numbered.Ties, Served]:
        """The best of all ways to serve the needs of a direction, those that ask for certain numbers first.

        By what needs that are tied to some of the other direction then have.
        """
        key = tuple(lines), tuple(places), direction
        if key not in self.best_served:
            plain_first = not {"unused", "holes"} & set(self.scenario.rank)
            needs, nice = self.needs[direction], self.nice[direction]
            found: dict[numbered.Ties, Served] = {}
            names = [frame.name for frame in self.frames]
            places = sorted(places, key=lambda p: (p.frame, p.number))
            givings = numbered.givings(self.numbered[direction], places, names, self.tied, self.parted)
            for taken, tops, given_up, ties, lacking in givings:
                left = tuple(sorted((line for n, line in enumerate(lines) if n not in taken), reverse=True))
                begin = tuple(tops.get(index, 0) for index in range(frames))
                if nice:
                    flagged = tuple((*need, i in nice) for i, need in enumerate(needs))
                    rest = least_short(left, flagged, frames, plain_first, begin)
                else:
                    two = least_holes_and_misfit(left, needs, frames, plain_first, begin)
                    rest = two and (0, 0, *two)
                if rest is not None:
                    own = (rest[0] + lacking[0], rest[1] + lacking[1], rest[2], rest[3] + given_up)
                    found[ties] = min(found.get(ties, own), own, key=self._worth)
            self.best_served[key] = found
        return self.best_served[key]

    def why_not_served(self, seats: Sequence[Seats]) -> str:
        """Which rule stands in the way.

        `needs` if some need alone lacks channels even with every channel numbered, else `channels` if the
        needs together do, else `numbers`.
        """
        unlimited = [(1000 * i + 1, 1000) for i in range(64)]
        rule = "numbers"
        for direction, needs in self.needs.items():
            lines = [
                (size, 0, 0, tuple(sorted(signals)))
                for own in seats
                for slot, card in own
                for _, size, signals in answers(self.card[card], self.family, slot, direction, unlimited).lines
            ]
            lines.sort(reverse=True)
            if any(least_holes_and_misfit(tuple(lines), (need,), 1) is None for need in needs):
                return "needs"
            if least_holes_and_misfit(tuple(lines), needs, 1) is None:
                rule = "channels"
        return rule

    def have_points(self, seats: Sequence[Seats], layouts: Sequence[Numbering | None]) -> bool:
        """Whether the bays have room for all looms that they take."""
        frames = [(own, layout.blocks) for own, layout in zip(seats, layouts, strict=True) if layout is not None]
        return have_points(frames, self.card, self.family, self.room.bay)

    def candidates(self) -> list[Candidate]:
        """Every build that keeps all rules and is least short: in channels, then in needs."""
        budget = None if self.scenario.budget is None else int(self.scenario.budget * self.unit)
        slots = tuple(self.chassis[f.chassis].slot_count for f in self.frames)
        names = tuple(f.name for f in self.frames)
        found: list[Candidate] = []
        for combination in product(*(self.choices(f) for f in self.frames)):
            broken = frozenset[str]().union(*(c.broken for c in combination))
            if len(broken) > 1 or broken & self.binding:
                continue
            items = Counter(i for c in combination for i in c.items)
            seated = Counter(card for c in combination for _, card in c.seats)
            if any(seated[m.card] < m.count for m in self.room.must_seat):
                broken |= {"must_seat"}
            cost = self.cost(items)
            if cost is None:
                broken |= {"stock"}
            elif budget is not None and cost > budget:
                broken |= {"budget"}
            if len(broken) > 1 or broken & self.binding:
                continue
            margins = [c.margin for c in combination if c.margin is not None]
            margin = min(margins, default=UNCHECKED)
            seats = tuple(c.seats for c in combination)
            for layouts in product(*(c.layouts for c in combination)):
                rejected = broken
                if any(w is not None and not w.legal for w in layouts):
                    rejected |= {"straps"}
                if len(rejected) > 1 or rejected & self.binding:
                    continue
                if self.room.bay and not self.have_points(seats, layouts):
                    continue
                figures = self.ways_to_serve(layouts, seats)
                if not figures:
                    if not rejected and not {"needs", "channels", "numbers"} <= self.binding:
                        self.binding.add(self.why_not_served(seats))
                    continue
                if rejected:
                    self.binding |= rejected
                    continue
                moved = self.moved(names, layouts, seats)
                for stranded, holes, idle, misfit, short, short_needs, renumbered in figures:
                    found.append(
                        Candidate(
                            frames=names,
                            layouts=layouts,
                            seats=seats,
                            slots=slots,
                            spans=self.spans,
                            cost=cost or 0,
                            stranded=stranded,
                            holes=holes,
                            idle=idle,
                            level=min(margin, self.enough) // self.step,
                            margin=margin,
                            misfit=misfit,
                            short=short,
                            short_needs=short_needs,
                            renumbered=renumbered,
                            **moved,
                        )
                    )
        found = [c for c in found if self.stays(c)]
        least = min(((c.short, c.short_needs) for c in found), default=None)
        return [c for c in found if (c.short, c.short_needs) == least]

    def stays(self, candidate: Candidate) -> bool:
        """Whether all that is fixed is as it stands: slot by slot, and strap by strap of whole frames."""
        installed = self.scenario.installed
        stands = {f.name: f for f in installed.frame} if isinstance(installed, Build) else {}
        for name, layout, seats in zip(candidate.frames, candidate.layouts, candidate.seats, strict=True):
            was = stands.get(name)
            before = {
                slot + n: (slot, card) for slot, card in (was.seats() if was else ()) for n in range(self.spans[card])
            }
            after = {slot + n: (slot, card) for slot, card in seats for n in range(self.spans[card])}
            own = [entry.partition(":")[2] for entry in self.scenario.fixed if entry.partition(":")[0] == name]
            slots = {*before, *after} if "" in own else {int(slot) for slot in own}
            if any(before.get(slot) != after.get(slot) for slot in slots):
                return False
            moved = self.moved([name], [layout], [seats])
            if "" in own and was and layout and (layout.board != was.board or moved["straps_moved"]):
                return False
        return True

    def now(self, frame: Frame, board: str) -> Mapping[str, str]:
        """How a board's groups stand in a frame, where builds are ranked by what is moved."""
        installed = self.scenario.installed
        fixed = any(entry.partition(":")[0] == frame.name for entry in self.scenario.fixed)
        if not isinstance(installed, Build) or not (fixed or MOVING & set(self.scenario.rank)):
            return {}
        return next((f.straps for f in installed.frame if f.name == frame.name and f.board == board), {})

    def least_to_set(self, frame: Frame, every: Sequence[Numbering]) -> tuple[Numbering, ...]:
        """Of legal settings that number alike those that set the fewest straps, where what is moved is ranked."""
        fixed = any(entry.partition(":")[0] == frame.name for entry in self.scenario.fixed)
        if not (fixed or MOVING & set(self.scenario.rank)):
            return tuple(every)

        def touched(layout: Numbering) -> int:
            return self.moved([frame.name], [layout], [()])["straps_moved"]

        return tuple(
            w for w in every if not any(o.legal and o.blocks == w.blocks and touched(o) < touched(w) for o in every)
        )

    def moved(
        self, names: Sequence[str], layouts: Sequence[Numbering | None], seats: Sequence[Seats]
    ) -> dict[str, int]:
        """What is carried, set and opened on the way from what stands, strap by strap and slot by slot."""
        total = {"cards_moved": 0, "straps_moved": 0, "lids_off": 0}
        if not isinstance(self.scenario.installed, Build):
            return total
        for name, layout, own in zip(names, layouts, seats, strict=True):
            was = next((f for f in self.scenario.installed.frame if f.name == name), None)
            before = {int(slot): card for slot, card in was.cards.items()} if was else {}
            after = dict(own)
            gone = [slot for slot, card in before.items() if after.get(slot) != card]
            come = [slot for slot, card in after.items() if before.get(slot) != card]
            touched = 0
            if layout is not None:
                same = was is not None and was.board == layout.board
                for strap, position in self.positions(layout.board, dict(layout.straps)).items():
                    known = self.positions(layout.board, was.straps) if was is not None and same else {}
                    touched += known.get(strap) != position
            other = layout is not None and (was is None or was.board != layout.board)
            total["cards_moved"] += len(before if other else gone)
            total["straps_moved"] += touched
            total["lids_off"] += bool(gone or come or touched or other)
        return total

    def positions(self, board: str, named: Mapping[str, str]) -> dict[str, str]:
        """Where every strap and switch of a board is that settings are named for."""
        found = {}
        for group in self.board[board].strap_group:
            setting = next((s for s in group.settings() if s.name == named.get(group.name)), None)
            if setting is None:
                continue
            if group.kind == "switch":
                found[group.name] = setting.name
            for strap in group.straps:
                found[f"{group.name}/{strap}"] = "on" if strap in (setting.closed or ()) else "off"
        return found

    def slack(self, criterion: CriterionName, best: int) -> int:
        """How far a stage may fall behind its best value."""
        given = self.scenario.slack.get(criterion, 0)
        if isinstance(given, str):
            return abs(best) * parse_percent(given, 1000) // 100
        if criterion == "cooling":
            return given * 1000 // self.step
        return given * self.unit if criterion == "cost" else given

    def choose(self, candidates: Sequence[Candidate]) -> Candidate | None:
        """The best by the scenario's order: stages with slack, a closing pass without, then the ties."""
        left = list(candidates)
        if not left:
            return None
        rank = self.scenario.rank
        for criterion in rank:
            best = min(c.bad(criterion) for c in left)
            cap = best + self.slack(criterion, best)
            left = [c for c in left if c.bad(criterion) <= cap]
        for criterion in rank:
            best = min(c.bad(criterion) for c in left)
            left = [c for c in left if c.bad(criterion) == best]
        return min(left, key=lambda c: c.tie("cooling" in rank))

    def alike(self) -> list[tuple[int, ...]]:
        """Every order of the frames that swaps only frames that nothing but their names tells apart."""

        def nature(frame: Frame) -> dict[str, object]:
            asked = [numbered.asked_in(need, names) for need in self.room.need]
            here = [entry[1] for entry in asked if entry and entry[0] == frame.name]
            own = {**frame.model_dump(exclude={"name"}), "keep_empty": sorted(frame.keep_empty), "asked": here}
            out = [(sort, *what.split(":", 1)) for sort, what in self.out if ":" in what]
            own["out"] = sorted((sort, what) for sort, name, what in out if name == frame.name)
            own["come"] = [
                that_come(self.room.host_port, frame.name, board, self.family)(d, [(1, 10**4)])
                for board in self.board.values()
                for d in SIDES
            ]
            stands = [f.model_dump(exclude={"name"}) for f in self.as_it_stood if f.name == frame.name]
            return {**own, "stands": stands}

        names = [frame.name for frame in self.frames]

        same = [nature(f) for f in self.frames]
        indices = range(len(same))
        return [p for p in permutations(indices) if all(same[i] == same[j] for i, j in zip(indices, p, strict=True))]

    def repeats(self, later: Candidate, listed: Candidate) -> bool:
        """Whether a build only adds cards to a listed one, or moves what changes no number."""
        return any(all(self._contains(later, j, listed, i) for i, j in enumerate(order)) for order in self.alike())

    def _contains(self, later: Candidate, theirs: int, listed: Candidate, own: int) -> bool:
        seats = listed.seats[own]
        if Counter(c for _, c in seats) - Counter(c for _, c in later.seats[theirs]):
            return False
        if not seats:
            return True
        before, after = listed.layouts[own], later.layouts[theirs]
        if before is None or after is None or before.board != after.board:
            return False
        return all(
            self.answer("", c, s, d, before).places == self.answer("", c, s, d, after).places
            for s, c in seats
            for d in SIDES
        )


def _unbeaten(ways: Iterable[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Those that none other betters in one figure and equals in the rest."""
    every = sorted(set(ways))
    return [
        way for way in every if not any(o != way and all(a <= b for a, b in zip(o, way, strict=True)) for o in every)
    ]


def plan(scenario: Scenario, hardware: Hardware) -> Answer:
    """The best build of a one-room scenario, by trying all."""
    trial = _Trial(scenario, hardware, which_bind=True)
    candidates = trial.candidates()
    best = trial.choose(candidates)
    return Answer(
        feasible=best is not None,
        figures=best.figures() if best else {},
        best=best.used() if best else {},
        binding=frozenset(trial.binding),
        candidate=best,
        builds=len(candidates),
    )


def best(scenario: Scenario, hardware: Hardware) -> Candidate | None:
    """The best build of a one-room scenario, by trying all; sooner than `plan`, which says which rules bind."""
    trial = _Trial(scenario, hardware)
    return trial.choose(trial.candidates())


def ranked(scenario: Scenario, hardware: Hardware, top: int, binding: Counter[str] | None = None) -> list[Candidate]:
    """The best builds in order; each differs from all before it in more than added cards or idle strap moves.

    `binding` counts the rules that bind, where it is given.
    """
    trial = _Trial(scenario, hardware, which_bind=binding is not None)
    left = trial.candidates()
    if binding is not None:
        binding.update(trial.binding)
    found: list[Candidate] = []
    while len(found) < top:
        best = trial.choose(left)
        if best is None:
            break
        found.append(best)
        left = [c for c in left if not trial.repeats(c, best)]
    return found


def every(scenario: Scenario, hardware: Hardware) -> list[Candidate]:
    """Every build of a one-room scenario that keeps all rules."""
    return _Trial(scenario, hardware).candidates()


def front(scenario: Scenario, hardware: Hardware, criteria: Sequence[str] | None = None) -> list[tuple[int, ...]]:
    """Every vector of criteria that no build beats, in order. Cooling levels are given as they are, higher better."""
    names = tuple(criteria or scenario.rank)
    points = {tuple(c.bad(n) for n in names) for c in _Trial(scenario, hardware).candidates()}
    best = [
        p for p in sorted(points) if not any(q != p and all(a <= b for a, b in zip(q, p, strict=True)) for q in points)
    ]
    return [tuple(-v if n == "cooling" else v for n, v in zip(names, p, strict=True)) for p in best]

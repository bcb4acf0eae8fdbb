"""A build made ready: cards and numbers resolved against a survey, with no judgement yet."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace
from functools import cached_property

from solver.fitted.cards_set import CardSwitch, StraySet, read_cards_set, stood_sets, told
from solver.fitted.decided import Held, Served, serve_however
from solver.fitted.placing import Patience
from solver.fitted.serving import Line
from solver.fitted.settings import Stray, read_settings
from solver.fitted.unknown import Unchecked, Unknown
from solver.room.build import Build, BuiltFrame, CardSet, Service
from solver.room.buying import bought
from solver.room.hardware import LEVEL
from solver.room.kind import Channel, Kind
from solver.room.straps import NO_BLOCK, Block, Layout, lay_out
from solver.room.survey import FrameSite, Need, Survey
from solver.room.termination import settled
from solver.room.traits import ALIKE_LEVEL, Trait
from solver.room.words import DIRECTIONS, MOST_CHANNELS, Direction, write_ranges


@dataclass(frozen=True, slots=True)
class Seated:
    """A card in its first slot."""

    slot: int
    kind: Kind

    @property
    def covers(self) -> range:
        """Every slot that the card takes."""
        return range(self.slot, self.slot + self.kind.span)


@dataclass(frozen=True, slots=True)
class Use:
    """A card channel that is to serve a need; `number` is None where it has none, `channel` where there is none."""

    need: Need
    slot: int
    index: int
    channel: Channel | None
    number: int | None


@dataclass(frozen=True)
class FrameStanding:
    """One frame of a build. `layout` is None when its settings are not known, so that it has no numbers.

    `named` are the channels that are to serve, `uses` those of them that do: no more than a need asks for, each once,
    and only what can. `strays` tells what is wrong with its settings, `stray_sets` with those of its cards. In a slot
    that several cards take, the one that begins there counts, else the first.
    """

    site: FrameSite
    built: BuiltFrame
    layout: Layout | None
    seats: tuple[Seated, ...]
    named: tuple[Use, ...] = ()
    uses: tuple[Use, ...] = ()
    strays: tuple[Stray, ...] = ()
    set_to: Mapping[CardSwitch, Collection[str]] = field(default_factory=dict, compare=False)
    """The choices that switches of its cards may have, by the card's first slot; others stand as cards come."""
    stray_sets: tuple[StraySet, ...] = ()
    _channels: dict[Direction, tuple[tuple[int, Channel, int | None], ...]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    _lines: dict[Direction, list[Line]] = field(default_factory=dict, init=False, repr=False, compare=False)
    _answered: dict[Direction, frozenset[int]] = field(default_factory=dict, init=False, repr=False, compare=False)

    def block(self, direction: Direction, slot: int) -> Block:
        """The block of a slot; none outside the chassis or without legal settings."""
        if self.layout is None or slot not in self.site.slots:
            return NO_BLOCK
        return self.layout.block(direction, slot)

    def channels(self, direction: Direction) -> tuple[tuple[int, Channel, int | None], ...]:
        """Slot, channel and number of every card channel of one direction; None where it does not come to the host."""
        if direction not in self._channels:
            last = self.last(direction)
            self._channels[direction] = tuple(
                (slot, channel, number if number is not None and number <= last else None)
                for seat in self.seats
                for part, slot in enumerate(seat.covers)
                if self.occupant(slot) is seat
                for channel in self._set(seat, direction, part)
                for number in (self.on_board(direction, slot, channel.index),)
            )
        return self._channels[direction]

    def on_board(self, direction: Direction, slot: int, index: int) -> int | None:
        """The number that the board gives a channel of a slot, whether or not it comes to the host."""
        block = self.block(direction, slot)
        return block.first + index - 1 if index <= block.width else None

    def last(self, direction: Direction) -> int:
        """The last number that comes to the host; of a frame that is cabled to none the last that there can be."""
        reach = self.site.reach.get(self.built.board)
        return MOST_CHANNELS if reach is None else reach[direction]

    def _set(self, seat: Seated, direction: Direction, part: int) -> tuple[Channel, ...]:
        return seat.kind.set_to(
            direction, part, lambda switch: self.set_to.get((seat.slot, switch), (switch.setting.usual,))
        )

    def choice(self, use: Use, setting: str) -> str | None:
        """What a setting is at where a channel is to serve; None where its card has no such setting."""
        return self.set_on(use.slot, use.need.direction, use.index).get(setting)

    def set_on(self, slot: int, direction: Direction, index: int) -> dict[str, str]:
        """What is set for a card channel, by setting; of several choices that are left open the first by name."""
        seat = self.occupant(slot)
        if seat is None:
            return {}
        return {
            switch.setting.name: min(self.set_to.get((seat.slot, switch), (switch.setting.usual,)))
            for switch in seat.kind.switches_at(direction, slot - seat.slot, index)
        }

    def choices(self, seat: Seated) -> dict[CardSwitch, str]:
        """What everything that can be set on a card is at."""
        every = ((seat.slot, switch) for switch in seat.kind.switches)
        return {own: min(self.set_to.get(own, (own[1].setting.usual,))) for own in every}

    def changed(self, seat: Seated) -> tuple[CardSet, ...]:
        """The settings of a card of which something is not as it comes, told whole."""
        choices = self.choices(seat)
        off = {(s.setting.name, s.setting.direction) for (_, s), to in choices.items() if to != s.setting.usual}
        own = {at: to for at, to in choices.items() if (at[1].setting.name, at[1].setting.direction) in off}
        return told(own, usual=True)

    def answered(self, direction: Direction) -> Set[int]:
        """Every number that a card channel answers."""
        if direction not in self._answered:
            numbers = (number for _, _, number in self.channels(direction) if number is not None)
            self._answered[direction] = frozenset(numbers)
        return self._answered[direction]

    def stranded(self, direction: Direction) -> int:
        """Card channels without a number."""
        return sum(number is None for _, _, number in self.channels(direction))

    def holes(self, direction: Direction) -> list[int]:
        """Numbers below the highest used one that nothing answers."""
        used = [u.number for u in self.uses if u.number is not None and u.need.direction == direction]
        return sorted(set(range(1, max(used, default=0))) - self.answered(direction))

    def lines(self, direction: Direction) -> Sequence[Line]:
        """The lines that can serve a need: all their channels are numbered."""
        if direction not in self._lines:
            numbered = {(slot, ch.index): number for slot, ch, number in self.channels(direction) if number is not None}
            frame = self.site.index
            self._lines[direction] = [
                Line(frame, direction, slot, ch.line, ch.line_type, numbered[slot, ch.index], self._card(slot))
                for slot, ch, _ in self.channels(direction)
                if ch.index == ch.line[0] and all((slot, i) in numbered for i in ch.line)
                if not any((slot, i) in self.dead(direction) for i in ch.line)
            ]
        return self._lines[direction]

    def dead(self, direction: Direction) -> Mapping[tuple[int, int], int]:
        """By slot and place there the channels that are out of service, with the entry that says so."""
        if not self.site.dead:
            return {}
        found: dict[tuple[int, int], int] = {}
        for slot, channel, number in self.channels(direction):
            seat = self.occupant(slot)
            place = None if seat is None else (seat.kind.id, direction, slot - seat.slot, channel.index)
            for dead in self.site.dead:
                if seat is not None and place is not None and dead.hits(place, seat.slot, number):
                    found.setdefault((slot, channel.index), dead.entry)
        return found

    def _card(self, slot: int) -> int:
        """The first slot of the card that counts as standing in a slot."""
        seat = self.occupant(slot)
        return 0 if seat is None else seat.slot

    def can_serve(self, use: Use) -> bool:
        """Whether a channel is there, takes the need's signal and has a number like all of its line.

        Without a layout nobody knows the numbers: then they are not asked for.
        """
        if use.channel is None or use.need.signal not in use.channel.line_type.signals:
            return False
        return self.layout is None or (use.slot, use.channel.line) in self._whole[use.need.direction]

    @cached_property
    def _whole(self) -> dict[Direction, frozenset[tuple[int, tuple[int, ...]]]]:
        return {d: frozenset((line.slot, line.channels) for line in self.lines(d)) for d in DIRECTIONS}

    def occupant(self, slot: int) -> Seated | None:
        """The card that counts as standing in a slot."""
        return self._occupants.get(slot)

    @cached_property
    def _occupants(self) -> dict[int, Seated]:
        covering = {slot: seat for seat in reversed(self.seats) for slot in seat.covers}
        return {**covering, **{seat.slot: seat for seat in self.seats}}

    def gap_margins(self) -> list[tuple[int, int]]:
        """Gap (counted from 0, left of slot 1) and its margin in mK, where something can be said."""
        found: list[tuple[int, int]] = []
        if self.layout is None:
            return found
        for gap in range(self.site.gaps):
            left, right = self.occupant(gap), self.occupant(gap + 1)
            if left is not None and left is right:
                continue
            margin = self.site.margin_mk(left.kind if left else None, right.kind if right else None, self.layout.board)
            if margin is not None:
                found.append((gap, margin))
        return found


@dataclass(frozen=True)
class Standing:
    """A build against a survey."""

    survey: Survey
    frames: tuple[FrameStanding, ...]
    untried: tuple[str, ...] = ()
    """The frames that do not say what serves what, where there are ways that were not tried."""
    allotted: tuple[str, ...] = field(default=(), compare=False)
    """The frames that do not say what serves what."""

    @cached_property
    def by_name(self) -> dict[str, FrameStanding]:
        """The frames that are used."""
        return {frame.site.name: frame for frame in self.frames}

    @cached_property
    def cards(self) -> Counter[str]:
        """Cards of each kind over all frames."""
        return Counter(seat.kind.id for frame in self.frames for seat in frame.seats)

    @cached_property
    def items(self) -> Counter[str]:
        """Everything that stock or offers must supply: cards, chassis and boards.

        A card that can be used where it stands alone is taken elsewhere too.
        """
        found = Counter(self.cards)
        seats = {(frame.site.name, seat.slot, seat.kind.id) for frame in self.frames for seat in frame.seats}
        for site in self.survey.frames:
            found.update(card for slot, card in site.worn if (site.name, slot, card) not in seats)
        for frame in self.frames:
            spec = frame.site.spec
            if not spec.owned:
                found[frame.site.chassis.id] += 1
            if not (spec.owned and spec.board):
                found[frame.built.board] += 1
        return found

    @cached_property
    def orders(self) -> dict[str, list[tuple[int, int]]]:
        """What must be bought: count and price for each offer drawn on, by item."""
        drawn = {item: bought(self.survey, item, used) for item, used in sorted(self.items.items())}
        return {item: [(count, offer.price) for count, offer in own] for item, own in drawn.items() if own}

    @cached_property
    def cost(self) -> int:
        """Total of the orders in minor units."""
        return sum(count * price for lines in self.orders.values() for count, price in lines)

    def uses(self, need: Need) -> list[tuple[FrameStanding, Use]]:
        """Every channel that serves a need."""
        return self._uses.get(need, [])

    @cached_property
    def _uses(self) -> dict[Need, list[tuple[FrameStanding, Use]]]:
        found: dict[Need, list[tuple[FrameStanding, Use]]] = {}
        for frame in self.frames:
            for use in frame.uses:
                found.setdefault(use.need, []).append((frame, use))
        return found

    def in_order(self, need: Need) -> list[tuple[FrameStanding, Use]]:
        """The channels that serve a need in the order in which it counts them: channel 1 first.

        That is the order of the numbers that it lists, or a need that has the same numbers, else of frames and numbers.
        """
        wanted = self.survey.listing(need)

        def key(entry: tuple[FrameStanding, Use]) -> tuple[object, ...]:
            frame, use = entry
            listed = wanted.listed if wanted is not None and wanted.frame == frame.site.index else ()
            at = listed.index(use.number) if use.number in listed else len(listed)
            return at, frame.site.name, use.number is None, use.number or 0, use.slot, use.index

        return sorted(self.uses(need), key=key)

    def served(self, need: Need) -> int:
        """How many channels serve a need."""
        return len(self.uses(need))

    def surplus(self, need: Need) -> int:
        """How many more channels could serve a need, among those that are to serve it, than it asks for."""
        able = {
            (frame.site.index, use.slot, use.index)
            for frame in self.frames
            for use in frame.named
            if use.need == need and frame.can_serve(use)
        }
        return max(0, len(able) - need.demand)

    def short(self) -> dict[Need, int]:
        """The needs that are nice to have and not met whole, and the channels that each lacks."""
        lacking = {need: need.demand - self.served(need) for need in self.survey.needs if need.nice}
        return {need: lacks for need, lacks in lacking.items() if lacks > 0}

    def _of_latencies(self, need: Need) -> list[str]:
        """The cards that serve a need beside others, and whose latency is not known."""
        seats = [seat for frame, use in self.uses(need) if (seat := frame.occupant(use.slot)) is not None]
        kinds = {seat.kind.id: seat.kind for seat in seats}
        return [kind.id for kind in kinds.values() if kind.latency is None] if len(kinds) > 1 else []

    def unknowns(self) -> Counter[Unknown]:
        """The figures that this build would need and the files do not give, and how many items lack each."""
        hardware = self.survey.hardware
        found: Counter[Unknown] = Counter()
        for card in (c for c in hardware.card if c.id in self.cards):
            figures: list[tuple[Unchecked, str, object]] = [
                ("rails", "current", card.rails),
                ("cooling", "heat", card.heat_w),
                ("cooling", "air limit", card.air_limit_c),
            ]
            found.update({Unknown(what, name, card.id): self.cards[card.id] for what, name, f in figures if f is None})
        prices = {i.id: i.price for group in (hardware.card, hardware.board, hardware.chassis) for i in group}
        unpriced = {o.item for o in self.survey.scenario.offer if o.price is None and prices.get(o.item) is None}
        for item in (item for item in self.orders if item in unpriced):
            found[Unknown("cost", "price", item)] += sum(count for count, _ in self.orders[item])
        found.update(Unknown("numbers", "what serves what", name) for name in self.untried)
        alike = [need for need in self.survey.needs if need.one_latency]
        for kind in sorted({kind for need in alike for kind in self._of_latencies(need)}):
            found[Unknown("latency", "latency", kind)] = self.cards[kind]
        for frame in self.frames:
            site = frame.site
            board = next(b for b in hardware.board if b.id == frame.built.board)
            if site.left_ma is None and self.survey.scenario.survive and self.survey.scenario.survive.supplies:
                found[Unknown("supplies", "what each supply delivers", site.chassis.id)] += 1
            if site.rails_ma is None:
                found[Unknown("rails", "rail figures", site.chassis.id)] += 1
            elif board.rails is None:
                found[Unknown("rails", "current", board.id)] += 1
            if site.chassis.air is None:
                found[Unknown("cooling", "air figures", site.chassis.id)] += 1
            elif site.air is None:
                room = f" in room {self.survey.room}" if self.survey.room else ""
                found[Unknown("cooling", "air temperature", f"frame {site.name}{room}")] += 1
            elif board.heat_w is None:
                found[Unknown("cooling", "heat", board.id)] += 1
            if not site.reach and self.survey.host_ports:
                found[Unknown("host link", "host port", f"frame {site.name}")] += 1
            if site.line is not None and board.clock_input is None:
                found[Unknown("clock line", "clock input", board.id)] += 1
        return found


def _layout(survey: Survey, site: FrameSite, built: BuiltFrame) -> tuple[Layout | None, tuple[Stray, ...]]:
    """The numbers of a frame, None where a group that changes them is not set, and what is wrong with its settings."""
    board = next(b for b in survey.hardware.board if b.id == built.board)
    read = read_settings(board, built.straps, survey.family)
    if read.undecided:
        return None, read.strays
    return lay_out(board, site.chassis.slot_count, survey.family, read.chosen), read.strays


def _named(survey: Survey, frame: FrameStanding, services: tuple[Service, ...]) -> tuple[Use, ...]:
    by_place = {
        (direction, slot, channel.index): (channel, number)
        for direction in DIRECTIONS
        for slot, channel, number in frame.channels(direction)
    }
    needs = {need.name: need for need in survey.needs}
    found: list[Use] = []
    for service in services:
        need = needs.get(service.need)
        if need is None:
            continue
        for index in service.indices():
            channel, number = by_place.get((need.direction, service.slot, index), (None, None))
            found.append(Use(need, service.slot, index, channel, number))
    return tuple(found)


def _serving(frames: Sequence[FrameStanding]) -> tuple[FrameStanding, ...]:
    """The frames with the channels that serve: of each need the first ones that can, up to what it asks for."""
    left: dict[Need, int] = {}
    found: list[FrameStanding] = []
    for frame in frames:
        able = {(use.need, use.slot, use.index): use for use in frame.named if frame.can_serve(use)}
        uses: list[Use] = []
        for use in sorted(able.values(), key=lambda use: (use.need.name, use.slot, use.index)):
            if left.setdefault(use.need, use.need.demand):
                left[use.need] -= 1
                uses.append(use)
        found.append(replace(frame, uses=tuple(uses)))
    return tuple(found)


def holes_below(frame: FrameStanding, direction: Direction) -> dict[tuple[int, int], int]:
    """Frame index and slot to the holes that use of that slot leaves below it."""
    answered = sorted(frame.answered(direction))
    blocks = {slot: frame.block(direction, slot) for slot in frame.site.slots}
    return {
        (frame.site.index, slot): block.first - 1 - bisect_left(answered, block.first)
        for slot, block in blocks.items()
        if block.width
    }


def stand(
    survey: Survey,
    build: Build,
    ends: Mapping[Direction, Mapping[int, int]] | None = None,
    set_to: Mapping[str, Mapping[CardSwitch, Collection[str]]] | None = None,
    held: Held | None = None,
    *,
    patiently: bool = False,
) -> Standing:
    """Resolve a build. Frames that do not say what serves what are allotted what the others leave of the needs.

    Parameters
    ----------
    ends
        By direction, then frame index: the last slot that may serve, where the search has settled it.
    set_to
        By frame the choices that switches of its cards may have, in place of what the build says.
    held
        What is said of what serves what. The plainest lines serve the rest then.
    patiently
        Whether every way to serve is tried, however long that takes, and what is short then stays so.
    """
    patience = Patience(None) if patiently else Patience()
    frames: list[FrameStanding] = []
    for built in sorted(build.frame, key=lambda f: f.name):
        site = survey.site(built.name)
        if site is None or not built.cards:
            continue
        seats = tuple(Seated(slot, survey.kinds[card]) for slot, card in built.seats())
        layout, strays = _layout(survey, site, built)
        frame = FrameStanding(site, built, layout, seats, strays=strays)
        frames.append(_as_set(frame, None if set_to is None else set_to.get(site.name, {})))
    silent = [frame for frame in frames if frame.built.serves is None]
    if silent:
        needs = _left(survey, _serving([_naming(survey, f) for f in frames if f.built.serves is not None]))
        lines = [line for frame in silent for direction in DIRECTIONS for line in frame.lines(direction)]
        holes = {d: {k: v for f in silent for k, v in holes_below(f, d).items()} for d in DIRECTIONS}
        plain_first = held is not None or not {"unused", "holes"} & set(survey.rank)
        served = serve_however(
            needs, lines, holes, ends, patience, held=held or Held(), plain_first=plain_first, strictly=patiently
        )
        frames = [_with_services(f, _services(f, served)) if f.built.serves is None else f for f in frames]
    allotted = tuple(frame.site.name for frame in silent)
    untried = allotted if patience.over else ()
    return Standing(survey, _serving([_naming(survey, frame) for frame in frames]), untried, allotted)


def uses_of_nothing(survey: Survey, build: Build) -> Iterator[tuple[str, Use]]:
    """By frame what is said to serve in slots in which nothing stands, with the numbers that it would have."""
    for built in sorted(build.frame, key=lambda f: f.name):
        site = survey.site(built.name)
        if site is None:
            continue
        layout, strays = _layout(survey, site, built)
        seats = tuple(Seated(slot, survey.kinds[card]) for slot, card in built.seats())
        frame = FrameStanding(site, built, layout, seats, strays=strays)
        for use in _named(survey, frame, built.serves or ()):
            block = frame.block(use.need.direction, use.slot)
            if frame.occupant(use.slot) is None and use.index <= block.width:
                yield site.name, replace(use, number=block.first + use.index - 1)


def _as_set(frame: FrameStanding, set_to: Mapping[CardSwitch, Collection[str]] | None) -> FrameStanding:
    """A frame with its cards set as it says, or as they may be."""
    if set_to is not None:
        return replace(frame, set_to=set_to)
    if not frame.built.settings:
        return frame

    def card_in(slot: int) -> tuple[int, Kind] | None:
        seat = frame.occupant(slot)
        return None if seat is None else (seat.slot, seat.kind)

    chosen, strays = read_cards_set(frame.built.settings, card_in)
    return replace(frame, set_to={switch: (choice,) for switch, choice in chosen.items()}, stray_sets=strays)


def set_for_needs(standing: Standing) -> Standing:
    """The same with its cards set as what they serve asks for, whole lines alike, and else as they stood or come."""
    stood = {f.site.name: _stood(standing.survey, f) for f in standing.frames}
    levels = {need: level for need in standing.survey.needs if (level := _level(standing, need, stood)) is not None}
    frames = []
    for frame in standing.frames:
        chosen = dict(stood[frame.site.name])
        for use in frame.uses:
            seat, asked = frame.occupant(use.slot), dict(use.need.traits)
            if use.need in levels:
                asked[LEVEL] = levels[use.need]
            if seat is None or use.channel is None or not asked:
                continue
            for index in use.channel.line:
                for switch in seat.kind.switches_at(use.need.direction, use.slot - seat.slot, index):
                    if switch.setting.name in asked:
                        chosen[seat.slot, switch] = asked[switch.setting.name]
        built = frame.built.model_copy(update={"settings": told(chosen)})
        frames.append(_as_set(replace(frame, built=built), None))
    return replace(standing, frames=tuple(frames))


def _stood(survey: Survey, frame: FrameStanding) -> dict[CardSwitch, str]:
    return stood_sets(survey, frame.site.name, ((seat.slot, seat.kind.id) for seat in frame.seats))


def _level(standing: Standing, need: Need, stood: Mapping[str, Mapping[CardSwitch, str]]) -> str | None:
    """The full-scale level at which all lines of a need are alike, where that is asked for; few settings are changed.

    Of equal ones it is the first.
    """
    one = next((one for one in need.one_of if one.of[0] == ALIKE_LEVEL), None)
    if one is None:
        return None
    uses = [(f, use) for f in standing.frames for use in f.uses if one in use.need.one_of and use.channel is not None]
    ways = [way for way in one.ways if all(u.channel and way in u.channel.line_type.traits for _, u in uses)]

    def changed(way: Trait) -> int:
        before = [
            stood[frame.site.name].get((seat.slot, switch), switch.setting.usual)
            for frame, use in uses
            for seat in [frame.occupant(use.slot)]
            if seat is not None
            for switch in seat.kind.switches_at(use.need.direction, use.slot - seat.slot, use.index)
            if switch.setting.name == LEVEL
        ]
        return sum(choice != way[1] for choice in before)

    return min(ways, key=changed)[1] if ways else None


def _naming(survey: Survey, frame: FrameStanding) -> FrameStanding:
    return replace(frame, named=_named(survey, frame, frame.built.serves or ()))


def _left(survey: Survey, frames: Sequence[FrameStanding]) -> list[Need]:
    """The needs with what these frames leave of them."""
    served = Counter(use.need for frame in frames for use in frame.uses)
    left = {need: need.demand - served[need] for need in survey.needs}
    begun = {need.name for need in survey.needs if served[need]}
    return [
        replace(need, channels=count, spare=0, wanted=None if {need.name, _partner(need)} & begun else need.wanted)
        for need, count in left.items()
        if count
    ]


def _partner(need: Need) -> str | None:
    return None if need.wanted is None else need.wanted.partner


def _with_services(frame: FrameStanding, services: tuple[Service, ...]) -> FrameStanding:
    built = frame.built.model_copy(update={"serves": services})
    return replace(frame, built=built)


def _services(frame: FrameStanding, served: Served) -> tuple[Service, ...]:
    found: list[Service] = []
    for need, lines in sorted(served.items()):
        by_slot: dict[int, list[int]] = {}
        for line, channels in lines:
            if line.frame == frame.site.index:
                by_slot.setdefault(line.slot, []).extend(channels)
        found.extend(Service(need=need, slot=s, channels=write_ranges(c)) for s, c in sorted(by_slot.items()))
    return tuple(found)


def with_terminations(survey: Survey, build: Build) -> Build:
    """A build of a room in which the last used frame of each clock line ends it, and no other does."""
    if not survey.clock_lines:
        return build
    boards = {board.id: board for board in survey.hardware.board}
    seats = {site.name: site.line for site in survey.frames if site.line}
    return settled(build, boards, seats, {site.name: site.spec.straps for site in survey.frames})


def build_of(standing: Standing, title: str | None = None) -> Build:
    """The build again, with what serves what filled in."""
    return Build(title=title, frame=tuple(frame.built for frame in standing.frames))

"""A scenario made ready: every legal layout of every frame, every kind of card and every need worked out once."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import ROUND_FLOOR, Decimal

from solver.physics.power import usable_ma
from solver.room.airway import air_of
from solver.room.build import Build
from solver.room.contacts import contacts
from solver.room.errors import WrongQuestion
from solver.room.hardware import LEVEL, PHANTOM, Board, Card, Chassis, Hardware, Port
from solver.room.kind import Channel, Kind, LineType
from solver.room.links import Reach, reach
from solver.room.out_of_service import CardChannel, Dead
from solver.room.out_of_service import Frame as Standing
from solver.room.pinouts import pinouts
from solver.room.rail_names import is_phantom
from solver.room.scenario import MOVING, Frame, ListedNeed, Room, Scenario
from solver.room.scenario import Need as ScenarioNeed
from solver.room.signals import NO_PHANTOM
from solver.room.stood import NOTHING, Stood
from solver.room.straps import Layout, Numbering
from solver.room.survey import FrameSite, Need, Offer, Survey, Wanted, cheapest_first
from solver.room.termination import LineSeat, line_seats, settings_on_a_line, told_apart
from solver.room.traits import ALIKE_LEVEL, CONVERTED, LATENCY, Ask, OneOf, Trait
from solver.room.words import (
    CURRENCY_DECIMALS,
    DIRECTIONS,
    SAMPLE_RATES,
    Direction,
    Family,
    in_thousandths,
    parse_percent,
    parse_ranges,
)


def _kind(card: Card, family: Family) -> Kind:
    channels: dict[tuple[Direction, int], tuple[Channel, ...]] = {}
    ports: dict[tuple[Direction, int], tuple[Port, ...]] = {}
    for direction in DIRECTIONS:
        for part in range(card.span):
            found: list[Channel] = []
            own: list[Port] = []
            for port in card.ports:
                if port.direction != direction or port.on_slot != part + 1:
                    continue
                line_type = LineType(frozenset(port.signals), port.grain)
                start = len(found)
                for offset in range(port.channels.get(family, 0)):
                    first = start + offset // port.grain * port.grain + 1
                    line = tuple(range(first, first + port.grain))
                    found.append(Channel(start + offset + 1, line_type, line))
                    own.append(port)
            channels[direction, part] = tuple(found)
            ports[direction, part] = tuple(own)
    return Kind(
        id=card.id,
        span=card.span,
        heat_mw=None if card.heat_w is None else in_thousandths(card.heat_w),
        rails_ma=_drawn_ma(card, family),
        air_limit_mk=None if card.air_limit_c is None else in_thousandths(card.air_limit_c, ROUND_FLOOR),
        hot_at=None if card.hot_at is None else in_thousandths(card.hot_at),
        channels=channels,
        card=card,
        ports=ports,
        latency=card.latency_samples.get(family),
    )


def _drawn_ma(card: Card, family: Family) -> Mapping[str, int] | None:
    """What a card draws on its rails; on that of phantom power no less than all channels that it feeds may draw."""
    if card.rails is None:
        return None
    fed_ma = sum(port.channels.get(family, 0) * (port.phantom_ma_per_channel or Decimal(0)) for port in card.ports)
    least = in_thousandths(Decimal(fed_ma) / 1000)
    drawn = {rail: in_thousandths(amperes) for rail, amperes in card.rails.items()}
    return {rail: max(ma, least) if is_phantom(rail) else ma for rail, ma in drawn.items()}


def layouts_in(frame: Frame, board: Board, chassis: Chassis, family: Family, seat: LineSeat | None) -> Iterator[Layout]:
    """The legal layouts of a board in a frame; what ends a clock line is settled later."""
    numbering = Numbering(board, chassis.slot_count, family)
    for settings, ends in settings_on_a_line(board, frame.straps, seat):
        layout = numbering.layout(settings)
        yield layout if ends is None else replace(layout, ends=ends)


def _moving(layout: Layout, stood: Stood | None, board: Board) -> Layout:
    """A layout with how many straps it takes to have it from what stands."""
    if stood is None:
        return layout
    named = {group.name: group.settings() for group in board.strap_group}
    settings = {group: next(s for s in named[group] if s.name == name) for group, name in layout.straps}
    return replace(layout, to_set=stood.to_set(board, settings))


def _distinct(layouts: Iterable[Layout]) -> tuple[Layout, ...]:
    """One layout for each different numbering of a board: the one with the fewest straps to set and closed."""
    found: dict[object, Layout] = {}
    for layout in sorted(layouts, key=lambda w: (w.to_set, w.closed, w.board, w.straps)):
        found.setdefault((layout.board, layout.inputs, layout.outputs, layout.ends), layout)
    return tuple(sorted(found.values(), key=lambda w: (w.board, w.closed, w.straps)))


class Parts:
    """What frames of one scenario have in common, worked out once."""

    def __init__(self, scenario: Scenario, hardware: Hardware) -> None:
        self.chassis = {chassis.id: chassis for chassis in hardware.chassis}
        self._pinouts = pinouts(hardware.pinout)
        self._cards = sorted(hardware.card, key=lambda card: card.id)
        self._kinds: dict[Family, dict[str, Kind]] = {}
        self._boards = {board.id: board for board in sorted(hardware.board, key=lambda b: b.id)}
        self._on_hand = {*(i for i, n in scenario.owned.items() if n), *(o.item for o in scenario.offer)}
        self._layouts: dict[object, tuple[tuple[Layout, ...], tuple[Layout, ...]]] = {}
        self._shared_mw: dict[Decimal, dict[str, int]] = {}
        self._refused: dict[str, dict[str, frozenset[int]]] = {}
        self.rails_ma = {
            b.id: None if b.rails is None else {r: in_thousandths(a) for r, a in b.rails.items()}
            for b in hardware.board
        }
        self.reserved = {b.id: frozenset(b.reserved) for b in hardware.board}

    def kinds(self, family: Family) -> dict[str, Kind]:
        """Every kind of card at a sample-rate family, by id."""
        if family not in self._kinds:
            self._kinds[family] = {card.id: _kind(card, family) for card in self._cards}
        return self._kinds[family]

    def boards(self, frame: Frame) -> list[Board]:
        """The boards that may stand in a frame."""
        own = [frame.board] if frame.board else self.chassis[frame.chassis].boards
        return [b for b in self._boards.values() if b.id in own and (frame.board or b.id in self._on_hand)]

    def layouts(
        self, frame: Frame, family: Family, seat: LineSeat | None, stood: Stood | None
    ) -> tuple[tuple[Layout, ...], tuple[Layout, ...]]:
        """All legal layouts of a frame at its place on a clock line, and its candidates."""
        key = frame.chassis, frame.board, frozenset(frame.straps.items()), family, seat, stood
        if key not in self._layouts:
            self._layouts[key] = self._worked_out(frame, family, seat, stood)
        return self._layouts[key]

    def _worked_out(
        self, frame: Frame, family: Family, seat: LineSeat | None, stood: Stood | None
    ) -> tuple[tuple[Layout, ...], tuple[Layout, ...]]:
        chassis = self.chassis[frame.chassis]
        every = tuple(
            _moving(layout, stood, board)
            for board in self.boards(frame)
            if family in board.limits
            for layout in layouts_in(frame, stood.left_standing(board) if stood else board, chassis, family, seat)
        )
        asked = frame.straps
        return every, _distinct(w for w in every if all(dict(w.straps).get(g, s) == s for g, s in asked.items()))

    def reach(self, frame: Frame, room: Room, family: Family) -> dict[str, Reach]:
        """What the host ports of a frame carry, by board; nothing where none is cabled to it."""
        if not room.host_port:
            return {}
        found = {board.id: reach(room.host_port, frame.name, board, family) for board in self.boards(frame)}
        return {board: own for board, own in found.items() if own is not None}

    def plugs(self, family: Family) -> Mapping[str, frozenset[CardChannel]]:
        """The channels on connectors, by the connector's name on its card."""
        found: dict[str, set[CardChannel]] = {}
        for card in self._cards:
            for (direction, part, channel), contact in contacts(card, family, self._pinouts).items():
                found.setdefault(contact.connector.id, set()).add((card.id, direction, part, channel))
        return {name: frozenset(own) for name, own in found.items()}

    def shared_mw(self, loss_w: Decimal) -> Mapping[str, int]:
        """The heat of each board with what a supply inside loses."""
        if loss_w not in self._shared_mw:
            boards = self._boards.values()
            self._shared_mw[loss_w] = {b.id: in_thousandths((b.heat_w or Decimal(0)) + loss_w) for b in boards}
        return self._shared_mw[loss_w]

    def refused(self, chassis: Chassis) -> Mapping[str, frozenset[int]]:
        """The slots that a chassis refuses to cards."""
        if chassis.id not in self._refused:
            found: dict[str, set[int]] = {}
            for refusal in chassis.refuses:
                for card in refusal.cards:
                    found.setdefault(card, set()).update(parse_ranges(refusal.slots))
            self._refused[chassis.id] = {card: frozenset(slots) for card, slots in found.items()}
        return self._refused[chassis.id]


def _tied_by_a_line(sites: Sequence[FrameSite]) -> tuple[FrameSite, ...]:
    """Frames of lines on which the settings decide who may end them are told apart by their places there."""
    tied = {site.line.index for site in sites if site.line and any(w.ends is not None for w in site.layouts)}
    return tuple(
        replace(site, tied=(site.line.index, site.line.position)) if site.line and site.line.index in tied else site
        for site in sites
    )


def _site(index: int, frame: Frame, parts: Parts, scenario: Scenario, room: Room, family: Family) -> FrameSite:
    seat = line_seats(room).get(frame.name)
    chassis = parts.chassis[frame.chassis]
    stood = _stood(scenario, frame)
    dead = _dead(scenario, frame, room, parts, family)
    uncut = every, candidates = parts.layouts(frame, family, seat, stood)
    carried = parts.reach(frame, room, family)
    if carried:
        every, candidates = (tuple(w.up_to(carried[w.board]) for w in own) for own in uncut)
        candidates = _distinct(candidates)
    reserve = parse_percent(scenario.limits.rail_reserve, 90)
    full_rails_ma = {r: in_thousandths(a, ROUND_FLOOR) for r, a in sorted((chassis.rails or {}).items())}
    loss = Decimal(0) if chassis.supply.external else chassis.supply.all_loss_w
    return FrameSite(
        index=index,
        name=frame.name,
        spec=frame,
        chassis=chassis,
        line=seat,
        layouts=every,
        candidates=candidates,
        rails_ma=None if chassis.rails is None else {r: usable_ma(a, reserve) for r, a in full_rails_ma.items()},
        full_rails_ma=full_rails_ma,
        left_ma=_left_ma(chassis),
        board_rails_ma=parts.rails_ma,
        shared_mw=parts.shared_mw(loss),
        air=air_of(frame, chassis, scenario.air_at(room, frame.name)),
        refused=parts.refused(chassis),
        reserved=parts.reserved,
        tied=told_apart(parts.boards(frame), frame.straps, seat),
        stood=stood,
        reach=carried,
        uncut=uncut if carried else ((), ()),
        fixed=scenario.fixed_in(frame.name),
        dead=dead,
        worn=tuple(dict.fromkeys(own.seat for own in dead if own.seat is not None)),
    )


def _left_ma(chassis: Chassis) -> Mapping[str, int] | None:
    """What is left of each rail without one of the supplies."""
    supply = chassis.supply
    each = supply.rails or (chassis.rails if supply.count == 1 else None)
    if each is None:
        return None
    return {rail: (supply.count - 1) * in_thousandths(each[rail], ROUND_FLOOR) for rail in sorted(each)}


def _dead(scenario: Scenario, frame: Frame, room: Room, parts: Parts, family: Family) -> tuple[Dead, ...]:
    """What of a frame is out of service."""
    if not scenario.out_of_service:
        return ()
    kinds = parts.kinds(family)
    built = scenario.installed.frame if isinstance(scenario.installed, Build) else ()
    seats = [seat for own in built if own.name == frame.name for seat in own.seats()]
    there = Standing(
        name=frame.name,
        slots=parts.chassis[frame.chassis].slot_count,
        seats={n: (first, card) for first, card in seats for n in range(first, first + kinds[card].span)},
        gone=[slot for name, slot in scenario.gone if name == frame.name],
        plugs=lambda: parts.plugs(family),
    )
    return there.dead(scenario.out_of_service, [own.name for own in room.frame])


def _stood(scenario: Scenario, frame: Frame) -> Stood | None:
    """What stands in a frame, where builds are ranked by what is moved."""
    if scenario.stands is None or not (MOVING & set(scenario.rank) or scenario.fixed_in(frame.name)):
        return None
    stood = Stood.in_frame(scenario.stands, frame.name)
    return replace(stood, frame=frame.name) if stood != NOTHING and "renumbered" in scenario.rank else stood


def _wanted(
    need: ScenarioNeed, sites: Sequence[FrameSite], sends: str | None, away: Sequence[str], may_lose: int | None
) -> Wanted | None:
    """What a need asks of its numbers, if anything, or another that comes back on it or is to be away from it."""
    if not need.particular and sends is None and not away and may_lose is None:
        return None
    asked = need.numbers
    frame = None if asked is None else next(s.index for s in sites if asked.frame in (None, s.name))
    return Wanted(
        frame=frame,
        listed=() if asked is None or asked.list is None else parse_ranges(asked.list),
        first=None if asked is None else asked.from_,
        consecutive=need.consecutive,
        bank=need.bank_of or 1,
        one_card=need.one_card,
        pairs=need.pairs,
        returns=need.returns_on,
        sends=sends,
        most_on_card=need.max_per_card,
        may_lose=may_lose,
        apart=need.apart_from,
        apart_from_it=tuple(away),
        one_frame=len(sites) > 1 and not need.may_split and bool(need.returns_on or (need.pairs and need.demand > 2)),
    )


def _traits(need: ScenarioNeed, hardware: Hardware) -> tuple[Trait, ...]:
    """What a need asks of settings: no phantom power for some signals, where any input that takes them may feed it."""
    found = dict(need.settings)
    barred = need.phantom is None and need.signal in NO_PHANTOM
    if need.phantom == "wanted":
        found[PHANTOM] = "on"
    elif need.direction == "in" and (barred or need.phantom == "forbidden"):
        ports = [port for card in hardware.card for port in card.ports if need.signal in port.signals]
        if any(port.phantom_ma_per_channel for port in ports):
            found[PHANTOM] = "off"
    if need.asynchronous:
        found |= [CONVERTED]
    return tuple(sorted(found.items()))


def _latencies(need: ScenarioNeed, kinds: Collection[Kind]) -> list[int]:
    """The latencies of cards that can serve a need, as far as they are known."""
    return sorted({kind.latency for kind in kinds if kind.latency is not None and _takes(kind, need)})


def _one_latency(need: ScenarioNeed, room: Room, kinds: Collection[Kind]) -> bool:
    """Whether a need asks for one latency, or what it asks implies that where any is known."""
    if need.same_latency is not None:
        return need.same_latency
    implied = need.pairs or need.returns_on or any(other.returns_on == need.name for other in room.need)
    return bool(implied) and bool(_latencies(need, kinds))


def _one_of(need: ScenarioNeed, room: Room, kinds: Collection[Kind]) -> tuple[OneOf, ...]:
    """What the lines of a need are to be alike in, where cards that can serve it differ."""
    found = []
    latencies = _latencies(need, kinds) if _one_latency(need, room, kinds) else []
    if len(latencies) > 1:
        found.append(OneOf((LATENCY, need.name), tuple((LATENCY, str(n)) for n in latencies)))
    send = need if need.returns_on else next((n for n in room.need if n.returns_on == need.name), None)
    back = None if send is None else next((n for n in room.need if n.name == send.returns_on), None)
    if send is not None and back is not None:
        there = [_levels(n, kinds) for n in (send, back)]
        asked = {n.settings[LEVEL] for n in (send, back) if LEVEL in n.settings}
        if all(there):
            levels = sorted(asked or set.union(*there))
            found.append(OneOf((ALIKE_LEVEL, send.name), tuple((ALIKE_LEVEL, level) for level in levels)))
    return tuple(found)


def _takes(kind: Kind, need: ScenarioNeed) -> bool:
    return kind.taking(need.direction, need.signal) > 0


def _levels(need: ScenarioNeed, kinds: Iterable[Kind]) -> set[str]:
    """The full-scale levels that cards may have which can serve a need."""
    settings = [setting for kind in kinds if _takes(kind, need) for setting in kind.card.settings()]
    return {choice for s in settings if (s.name, s.direction) == (LEVEL, need.direction) for choice in s.every}


def _asked_of_lines(needs: Iterable[Need]) -> dict[Direction, frozenset[Ask]]:
    """By direction what needs ask beside a signal; nothing where none does."""
    asking = [need for need in needs if need.traits or need.one_of]
    return {d: frozenset(ask for n in asking if n.direction == d for ask in n.asks) for d in DIRECTIONS if asking}


def _asked_by_name(sites: Sequence[FrameSite], room: Room) -> tuple[FrameSite, ...]:
    """Frames whose numbers needs ask for are told apart by those."""
    asking = [(need.name, need.numbers.frame) for need in room.need if need.numbers is not None]
    asked = {site.name: sorted(need for need, frame in asking if frame in (None, site.name)) for site in sites}
    return tuple(replace(site, asked=tuple(asked[site.name])) if asked[site.name] else site for site in sites)


def survey_room(scenario: Scenario, hardware: Hardware, room: Room | None = None, parts: Parts | None = None) -> Survey:
    """Make one room of a scenario ready; without `room`, its only one. `parts` are those of its other rooms.

    The files must have passed the loader's checks: every id is defined, every figure in range.

    Raises
    ------
    WrongQuestion
        If it has several kinds of day or phases, each of which is a room of its own (`setups`, `phases`).
    """
    if scenario.setup:
        raise WrongQuestion(
            f"{scenario.title} has several kinds of day, which only plan and check know, and lists one at a time"
        )
    if scenario.phase:
        raise WrongQuestion(
            f"{scenario.title} has phases, which only plan, front and check know, and lists one at a time"
        )
    parts = parts or Parts(scenario, hardware)
    room = room or scenario.rooms()[0]
    rate = room.sample_rate or scenario.sample_rate
    family = SAMPLE_RATES[rate]
    decimals = CURRENCY_DECIMALS[scenario.currency]

    def minor(amount: Decimal) -> int:
        return int(amount.scaleb(decimals))

    sites = _tied_by_a_line(
        [
            _site(index, frame, parts, scenario, room, family)
            for index, frame in enumerate(sorted(room.frame, key=lambda f: f.name))
        ]
    )
    sites = _asked_by_name(sites, room)
    sends = {need.returns_on: need.name for need in room.need if need.returns_on is not None}
    away: dict[str, list[str]] = {}
    for name, other in sorted((need.name, other) for need in room.need for other in need.apart_from):
        away.setdefault(other, []).append(name)
    prices = {i.id: i.price for group in (hardware.card, hardware.board, hardware.chassis) for i in group}
    offers: dict[str, list[Offer]] = {}
    for index, offer in enumerate(scenario.offer):
        price = offer.price if offer.price is not None else prices.get(offer.item)
        offers.setdefault(offer.item, []).append(Offer(offer.item, minor(price or Decimal(0)), offer.at_most, index))
    kinds = parts.kinds(family)
    repatched, spread = (
        scenario.survive is not None and scenario.survive.cards is not None and scenario.survive.with_ == how
        for how in ("repatch", "nothing")
    )
    needs = tuple(
        sorted(
            (
                Need(
                    n.name,
                    n.direction,
                    n.signal,
                    n.channels,
                    n.spare,
                    index,
                    n.importance == "nice",
                    critical=n.critical and repatched,
                    names=n.channel_names,
                    wanted=_wanted(
                        n, sites, sends.get(n.name), away.get(n.name, ()), n.spare if n.critical and spread else None
                    ),
                    traits=_traits(n, hardware),
                    one_of=_one_of(n, room, kinds.values()),
                    one_latency=_one_latency(n, room, kinds.values()),
                    lines=n.lines if isinstance(n, ListedNeed) else (),
                )
                for index, n in enumerate(room.need)
            ),
            key=lambda n: n.name,
        )
    )
    asked = _asked_of_lines(needs)
    if asked:
        kinds = {card: kind.asked_of(asked) for card, kind in kinds.items()}
    limits = scenario.limits
    return Survey(
        title=scenario.title,
        room=room.name or None,
        currency=scenario.currency,
        decimals=decimals,
        sample_rate=rate,
        family=family,
        kinds=kinds,
        frames=sites,
        needs=needs,
        must_seat=tuple(sorted((m.card, m.count, index) for index, m in enumerate(room.must_seat))),
        stock=dict(scenario.in_service),
        offers={item: cheapest_first(own) for item, own in offers.items()},
        budget=None if scenario.budget is None else minor(scenario.budget),
        rank=scenario.rank,
        slack={str(c): s for c, s in scenario.slack.items()},
        refuse_mk=in_thousandths(limits.refuse_below_k),
        warn_mk=in_thousandths(limits.warn_below_k),
        enough_mk=in_thousandths(limits.enough_k),
        step_mk=in_thousandths(limits.step_k),
        hardware=hardware,
        scenario=scenario,
    )

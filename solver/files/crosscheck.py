"""What must agree within a scenario or a build, and between it and its hardware: ids, slots, straps, signals, money."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import replace
from decimal import Decimal

from solver.files.assetcheck import check_assets
from solver.files.baycheck import check_bays
from solver.files.clockcheck import check_clock
from solver.files.endcheck import check_ends
from solver.files.linecheck import check_clock_lines
from solver.files.linkcheck import check_links
from solver.files.mainscheck import check_breakers
from solver.files.numbercheck import check_numbers, check_numbers_there
from solver.files.partcheck import (
    MOST_TIED,
    Parts,
    combinations_of,
    known,
    money,
    repeated,
    same_names,
    settings_known,
    slots_there,
)
from solver.files.phasecheck import check_orders, check_phases
from solver.files.rackcheck import check_drawn_racks, check_racks
from solver.files.railcheck import check_rails_in_use
from solver.files.servicecheck import check_out_of_service, on_the_shelf
from solver.files.settingcheck import check_need_settings
from solver.files.setupcheck import check_setups
from solver.files.stoodcheck import check_fixed, check_hires, check_owned, check_ranked_from
from solver.files.survivecheck import check_one_supply, check_survive, check_survived
from solver.files.tolerancecheck import check_offered, check_ranges
from solver.room.airway import air_of
from solver.room.build import Build
from solver.room.faults import Fault, Path, describe, first_told, quote, unknown
from solver.room.hardware import Board, Chassis, Hardware
from solver.room.pinouts import pinouts
from solver.room.scenario import Frame, Need, Room, RoomAir, Scenario
from solver.room.straps import count_settings, legal_settings
from solver.room.words import CURRENCY_DECIMALS, SAMPLE_RATES, Family, nearest_rate

MOST_LAYOUTS = 20_000
"""Combinations of settings that all frames of a scenario may have with all the boards that they may take."""


IN_ROOMS = ("frame", "need", "needs_from", "must_seat", "clock_line", "clock", "bay", "rack", "breaker", "host_port")
"""Keys that stand in rooms where there are rooms."""


def check_scenario(file: str, scenario: Scenario) -> list[Fault]:
    """Faults of a scenario that can be seen without its hardware."""
    return first_told(_scenario(file, scenario))


def _scenario(file: str, scenario: Scenario) -> Iterator[Fault]:
    if scenario.currency not in CURRENCY_DECIMALS:
        yield unknown(file, ("currency",), scenario.currency, CURRENCY_DECIMALS, "is no known currency")
    yield from money(file, ("budget",), scenario.budget, scenario.currency)
    yield from repeated(file, ("hardware",), scenario.hardware)
    yield from _ranking(file, scenario)
    yield from check_ranked_from(file, scenario)
    yield from check_ranges(file, scenario)
    yield from check_setups(file, scenario)
    yield from check_survive(file, scenario)
    yield from check_phases(file, scenario)
    limits = scenario.limits
    if not limits.refuse_below_k <= limits.warn_below_k <= limits.enough_k:
        keys = ("refuse_below_k", "warn_below_k", "enough_k")
        usual = {key: "" if key in limits.model_fields_set else " as usual" for key in keys}
        figures = ", ".join(f"{getattr(limits, key)}{usual[key]}" for key in keys)
        message = f"refuse_below_k, warn_below_k and enough_k: none may be less than the one before, found {figures}"
        yield Fault(file, ("limits",), message, figures)
    for n, offer in enumerate(scenario.offer, 1):
        kinds = [key for key in ("board", "card", "chassis") if getattr(offer, key) is not None]
        if len(kinds) != 1:
            found = " and ".join(kinds) or "none"
            message = f"must name one card, one chassis or one board, found {found}"
            yield Fault(file, ("offer", n), message, found)
        yield from money(file, ("offer", n, "price"), offer.price, scenario.currency)
    if scenario.room:
        for key in IN_ROOMS:
            if getattr(scenario, key):
                yield Fault(file, (key,), "must stand in a room where there are rooms", "top level")
    elif not scenario.frame:
        yield Fault(file, ("frame",), "there is no frame; begin one with [[frame]]")
    yield from same_names(file, (), "room", [room.name for room in scenario.room])
    yield from _rate(file, ("sample_rate",), scenario.sample_rate)
    for path, room in _rooms(scenario):
        if room.needs_from is not None:
            message = "a list is read where the scenario is; load its file, or give the needs themselves"
            yield Fault(file, (*path, "needs_from"), message, room.needs_from)
        if room.sample_rate is not None:
            yield from _rate(file, (*path, "sample_rate"), room.sample_rate)
        yield from same_names(file, path, "frame", [frame.name for frame in room.frame])
        for frame in room.frame:
            yield from repeated(file, (*path, "frame", frame.name, "keep_empty"), list(map(str, frame.keep_empty)))
        yield from same_names(file, path, "bay", [bay.name for bay in room.bay])
        yield from same_names(file, path, "need", [need.name for need in room.need])
        for need in room.need:
            yield from _asked_for(file, (*path, "need", need.name), need)
            yield from check_survived(file, scenario, (*path, "need", need.name), need)
        yield from check_numbers(file, path, room)


def _asked_for(file: str, path: Path, need: Need) -> Iterator[Fault]:
    """A need that asks for nothing, or names more channels than it asks for."""
    asked, names = need.channels + need.spare, len(need.channel_names)
    if not asked:
        yield Fault(file, (*path, "channels"), "asks for no channel and no spare", "0")
    elif names > asked:
        message = f"names {names} channels of {asked}; the last of them are not used"
        yield Fault(file, (*path, "channel_names"), message, str(names), severity="warning")


def check_together(file: str, scenario: Scenario, parts: Parts, faulty: Set[str] = frozenset()) -> list[Fault]:
    """Faults of a scenario against its hardware.

    Parameters
    ----------
    faulty
        Boards with faults of their own, by id. Their settings are not tried: bans and groups may name nothing.
    """
    return first_told(_together(file, scenario, parts, faulty))


def _together(file: str, scenario: Scenario, parts: Parts, faulty: Set[str]) -> Iterator[Fault]:
    stand = _Stand(scenario, parts, faulty)
    kinds = {"card": set(stand.cards), "chassis": set(stand.chassis), "board": set(stand.boards)}
    everything = {item for ids in kinds.values() for item in ids}
    for item in scenario.stock:
        if item not in everything:
            yield unknown(file, ("stock", item), item, everything, "is in none of these hardware files")
    for n, offer in enumerate(scenario.offer, 1):
        for kind, ids in kinds.items():
            yield from known(file, ("offer", n, kind), getattr(offer, kind), ids, kind)
    yield from check_offered(file, scenario, {"card": stand.cards, "chassis": stand.chassis, "board": stand.boards})
    sizes = {f.name: stand.chassis[f.chassis].slot_count for f in scenario.frame if f.chassis in stand.chassis}
    yield from check_fixed(file, scenario, sizes)
    yield from check_hires(file, scenario, stand.cards)
    yield from check_assets(file, scenario, stand.cards, on_the_shelf(scenario))
    yield from check_out_of_service(file, scenario, sizes, stand.cards.values(), stand.boards.values())
    times = [set(day.needs) for day in scenario.setup] or [set(phase.needs) for phase in scenario.phase]
    for path, room in _rooms(scenario):
        family = SAMPLE_RATES.get(room.sample_rate or scenario.sample_rate)
        for frame in room.frame:
            yield from _frame(file, (*path, "frame", frame.name), frame, stand, family)
            yield from _measured(file, (*path, "frame", frame.name), frame, stand, scenario.air_at(room, frame.name))
            if frame.chassis in stand.chassis:
                chassis = stand.chassis[frame.chassis]
                yield from check_one_supply(file, (*path, "frame", frame.name), scenario, chassis)
        for need in room.need:
            for own in _families(scenario, need, family):
                yield from _need(file, (*path, "need", need.name), need, stand, own)
        if family is not None:
            yield from check_numbers_there(file, path, room, stand.boards, stand.chassis, stand.cards, family)
        for n, seated in enumerate(room.must_seat, 1):
            yield from known(file, (*path, "must_seat", n, "card"), seated.card, stand.cards, "card")
        yield from check_clock_lines(file, path, room, stand.boards)
        yield from check_clock(file, path, room, stand.boards)
        yield from check_bays(file, path, room, stand.signals)
        yield from check_ends(file, path, room, stand.pinouts, times)
        yield from check_racks(file, path, room, stand.chassis)
        yield from check_breakers(file, path, room, scenario, stand.chassis)
        yield from check_links(file, path, room, stand.boards, family)
    if scenario.stands is not None:
        for fault in _build(file, scenario.stands, scenario, stand):
            yield replace(fault, path=("installed", *fault.path))
        yield from check_owned(file, scenario, scenario.stands)
    yield from _settings_of_all(file, scenario, stand)
    yield from check_rails_in_use(scenario, parts)


def _families(scenario: Scenario, need: Need, family: Family | None) -> list[Family | None]:
    """The families of sample rates at which a need has to be met: those of the setups that have it."""
    own = [setup.sample_rate or scenario.sample_rate for setup in scenario.setup if need.name in setup.needs]
    return [*dict.fromkeys(SAMPLE_RATES.get(rate) for rate in own)] if scenario.setup else [family]


def _settings_of_all(file: str, scenario: Scenario, stand: _Stand) -> Iterator[Fault]:
    """More combinations of settings than can be laid out in a moment; frames that may be set alike count once."""
    counts: dict[object, int] = {}
    for path, room in _rooms(scenario):
        for frame in room.frame:
            chassis = stand.chassis.get(frame.chassis)
            if chassis is not None:
                key = frame.chassis, frame.board, frozenset(frame.straps.items()), room.sample_rate
                if key not in counts:
                    counts[key] = sum(map(combinations_of, stand.fitting(frame, chassis)))
        total = sum(counts.values())
        if total > MOST_LAYOUTS:
            message = f"frames with the boards that they may take make {total} combinations of settings; "
            message += f"must be at most {MOST_LAYOUTS}: say which boards they have"
            yield Fault(file, (*path, "frame"), message, str(total))
            return


def check_build(file: str, build: Build, scenario: Scenario, hardware: Hardware) -> list[Fault]:
    """Rooms, frames, boards and cards of a build that neither the scenario nor the hardware knows.

    Without those nothing can be judged. Whatever else a build says is judged with it: see `solver.reports.checking`.
    """
    return first_told(_build(file, build, scenario, _Stand(scenario, [("", hardware)])))


def _build(file: str, build: Build, scenario: Scenario, stand: _Stand) -> Iterator[Fault]:
    rooms = {room.name if scenario.room else None: room for _, room in _rooms(scenario)}
    seen: set[tuple[str | None, ...]] = set()
    times = {"setup": [setup.name for setup in scenario.setup], "phase": [phase.name for phase in scenario.phase]}
    yield from check_orders(file, build, scenario)
    for built in build.frame:
        path: Path = ("frame", built.name)
        if (built.room, built.setup, built.phase, built.name) in seen:
            yield Fault(file, path, "is told twice", built.name)
        seen.add((built.room, built.setup, built.phase, built.name))
        for key, names in times.items():
            own = getattr(built, key)
            if own is None and names:
                yield Fault(file, (*path, key), "is missing", None, tuple(names))
            elif own is not None and own not in names:
                yield unknown(file, (*path, key), own, names, f"is no {key} of this scenario")
        room = rooms.get(built.room)
        if room is None:
            names = [name for name in rooms if name]
            if built.room is None:
                yield Fault(file, (*path, "room"), "is missing", None, tuple(sorted(names)))
            else:
                yield unknown(file, (*path, "room"), built.room, names, "is no room of this scenario")
            continue
        frames = {frame.name: frame for frame in room.frame}
        if built.name not in frames:
            yield unknown(file, path, built.name, frames, "is no frame of this scenario")
            continue
        for slot, card in built.seats():
            yield from known(file, (*path, "cards", str(slot)), card, stand.cards, "card")
        yield from known(file, (*path, "board"), built.board, stand.boards, "board")
    yield from check_drawn_racks(file, build, rooms, stand.chassis)


class _Stand:
    """What the hardware files define, by id, and what a scenario owns or may buy."""

    def __init__(self, scenario: Scenario, parts: Parts, faulty: Set[str] = frozenset()) -> None:
        self.faulty = faulty
        self.cards = {card.id: card for _, part in parts for card in part.card}
        self.boards = {board.id: board for _, part in parts for board in part.board}
        self.chassis = {chassis.id: chassis for _, part in parts for chassis in part.chassis}
        stock = {item for item, count in scenario.owned.items() if count}
        self.obtainable = stock | {offer.item for offer in scenario.offer if offer.at_most != 0}
        ports = [port for card in self.cards.values() for port in card.ports]
        self.signals = {signal for port in ports for signal in port.signals}
        self.numbered = {
            (port.direction, signal, family)
            for port in ports
            for family, channels in port.channels.items()
            if channels
            for signal in port.signals
        }
        self.pinouts = pinouts(pinout for _, part in parts for pinout in part.pinout)
        self._settable: dict[object, bool] = {}

    def fitting(self, frame: Frame, chassis: Chassis) -> list[Board]:
        """The boards that a frame may take."""
        ids = [frame.board] if frame.board is not None else chassis.boards
        return [self.boards[board] for board in ids if board in self.boards]

    def settable(self, frame: Frame, boards: Sequence[Board]) -> bool:
        """Whether a frame can be set as it is asked for, with any of its boards; settings that no board has cannot."""
        key = frozenset(frame.straps.items()), tuple(board.id for board in boards)
        if key not in self._settable:
            settings = {(g.name, s.name) for board in boards for g in board.strap_group for s in g.settings()}
            known = frame.straps.items() <= settings
            self._settable[key] = not known or any(_may_be_set(board, frame.straps) for board in boards)
        return self._settable[key]


def _rooms(scenario: Scenario) -> list[tuple[Path, Room]]:
    """Rooms and where their keys stand."""
    return [(("room", room.name) if scenario.room else (), room) for room in scenario.rooms()]


def _rate(file: str, path: Path, rate: int) -> Iterator[Fault]:
    if rate not in SAMPLE_RATES:
        allowed = tuple(str(each) for each in sorted(SAMPLE_RATES))
        close = nearest_rate(rate)
        near = None if close is None else str(close)
        shown = describe(rate)
        yield Fault(file, path, f"{shown} Hz is no known sample rate", shown, allowed, near, bare=True)


def _ranking(file: str, scenario: Scenario) -> Iterator[Fault]:
    if not scenario.rank:
        yield Fault(file, ("rank",), "must not be empty")
    yield from repeated(file, ("rank",), scenario.rank)
    for criterion, slack in scenario.slack.items():
        if criterion not in scenario.rank:
            yield unknown(file, ("slack", criterion), criterion, scenario.rank, "is not in rank")
        if isinstance(slack, str) and criterion != "cost":
            message = f"{quote(slack)}: per cent are for cost only; give a whole number"
            yield Fault(file, ("slack", criterion), message, slack)
        if isinstance(slack, int) and criterion == "cost":
            message = f'must be per cent of the cost, such as "5 %", found {slack}'
            yield Fault(file, ("slack", criterion), message, str(slack))
        if isinstance(slack, int) and criterion == "cooling":
            yield from _cooling_slack(file, slack, scenario.limits.step_k)
    if scenario.rank and scenario.yielding == scenario.rank[-1:]:
        last = scenario.rank[-1]
        message = f"{last} is ranked last, and nothing before it has slack: this changes no plan"
        yield Fault(file, ("slack", last), message, str(scenario.slack[last]), severity="warning")


def _cooling_slack(file: str, slack: int, step_k: Decimal) -> Iterator[Fault]:
    """A warning of kelvin that make no whole step: margins are compared in steps."""
    if slack % step_k:
        steps = slack // step_k
        counts = f"counts as {(steps * step_k).normalize():f} K" if steps else "gives up nothing"
        message = f"margins are compared in steps of {step_k} K (step_k), so {slack} K {counts}"
        yield Fault(file, ("slack", "cooling"), message, str(slack), severity="warning")


def _seats(file: str, path: Path, seats: Iterable[tuple[str, str]], chassis: Chassis, stand: _Stand) -> Iterator[Fault]:
    """Cards on slots: each known, each slot there."""
    for slot, card in sorted(seats, key=lambda seat: int(seat[0])):
        yield from known(file, (*path, slot), card, stand.cards, "card")
        yield from slots_there(file, (*path, slot), [int(slot)], chassis)
        span = stand.cards[card].span if card in stand.cards else 1
        if int(slot) <= chassis.slot_count < int(slot) + span - 1:
            message = f"{card} takes {span} slots, and {chassis.id} has slots 1 to {chassis.slot_count}"
            yield Fault(file, (*path, slot), message, card)


def _frame(file: str, path: Path, frame: Frame, stand: _Stand, family: Family | None) -> Iterator[Fault]:
    yield from known(file, (*path, "chassis"), frame.chassis, stand.chassis, "chassis")
    yield from known(file, (*path, "board"), frame.board, stand.boards, "board")
    chassis = stand.chassis.get(frame.chassis)
    if chassis is None:
        for slot, card in frame.pins.items():
            yield from known(file, (*path, "pins", slot), card, stand.cards, "card")
        return
    yield from _seats(file, (*path, "pins"), frame.pins.items(), chassis, stand)
    yield from slots_there(file, (*path, "keep_empty"), frame.keep_empty, chassis)
    if frame.board in stand.boards and frame.board not in chassis.boards:
        what = f"does not fit {chassis.id}"
        yield unknown(file, (*path, "board"), frame.board, chassis.boards, what)
    if not frame.owned:
        yield from _to_be_had(file, path, frame, stand)
    boards = stand.fitting(frame, chassis)
    if not boards:
        return
    if frame.straps:
        yield from settings_known(file, (*path, "straps"), frame.straps, boards)
    if frame.board is None and not any(board.id in stand.obtainable for board in boards):
        message = f"no board that fits {chassis.id} is in stock or on offer"
        yield Fault(file, (*path, "board"), message, None, tuple(sorted(chassis.boards)), severity="warning")
    if not any(board.id in stand.faulty for board in boards):
        yield from _settable(file, path, frame, boards, stand)
    if family is not None and not any(family in board.limits for board in boards):
        told = ", ".join(board.id for board in boards)
        message = f"{told} {'has' if len(boards) == 1 else 'have'} no limits for the {family} kHz family"
        yield Fault(file, (*path, "board"), message, told)


def _to_be_had(file: str, path: Path, frame: Frame, stand: _Stand) -> Iterator[Fault]:
    """A warning of the chassis and of the board that a frame not owned names, where they cannot be had."""
    named = (("chassis", frame.chassis, stand.chassis), ("board", frame.board, stand.boards))
    for key, item, every in named:
        if item in every and item not in stand.obtainable:
            message = f"{item} is neither in stock nor on offer, so this frame, which is not owned, can never be used"
            yield Fault(file, (*path, key), message, item, severity="warning")


def _settable(file: str, path: Path, frame: Frame, boards: Sequence[Board], stand: _Stand) -> Iterator[Fault]:
    """Whether what a frame asks of its straps can be, with any of its boards, and in how many ways nearly."""
    ways = {board.id: count_settings(board, frame.straps) for board in boards if board.never_together and frame.straps}
    if any(count > MOST_TIED for count in ways.values()):
        board_id = max(ways, key=lambda one: ways[one])
        message = (
            f"asks for what never_together of {board_id} bans, in so many places that {ways[board_id]} combinations "
        )
        message += f"of settings come closest; must be at most {MOST_TIED}"
        yield Fault(file, (*path, "straps"), message, str(ways[board_id]))
    elif not stand.settable(frame, boards):
        told = " or ".join(board.id for board in boards)
        message = f"no legal combination of settings of {told} has this: never_together leaves none, so the frame "
        yield Fault(file, (*path, "straps"), f"{message}can never be used", severity="warning")


def _may_be_set(board: Board, asked: Mapping[str, str]) -> bool:
    """Whether any legal combination of settings has those that are asked for."""
    if not board.never_together:
        return True
    every = legal_settings(board, asked)
    return any(all(s[g].name == setting for g, setting in asked.items() if g in s) for s in every)


def _measured(file: str, path: Path, frame: Frame, stand: _Stand, room_air: RoomAir | None) -> Iterator[Fault]:
    """A measured rise that no calibration of this frame can explain; blanks of which nothing depends."""
    chassis = stand.chassis.get(frame.chassis)
    if chassis is not None and chassis.air is not None and chassis.air.path == "draught" and not frame.blanks:
        message = "has no effect: in a draught each gap draws its own air"
        yield Fault(file, (*path, "blanks"), message, "false", severity="warning")
    if frame.measured is None or chassis is None:
        return
    try:
        air_of(frame, chassis, room_air)
    except ValueError as error:
        yield Fault(file, (*path, "measured"), str(error), None)


def _need(file: str, path: Path, need: Need, stand: _Stand, family: Family | None) -> Iterator[Fault]:
    if need.signal not in stand.signals:
        what = "is no signal of these hardware files"
        yield unknown(file, (*path, "signal"), need.signal, stand.signals, what)
        return
    if family is not None and (need.direction, need.signal, family) not in stand.numbered:
        way = "takes in" if need.direction == "in" else "gives out"
        message = f"no card {way} {quote(need.signal)} in the {family} kHz family"
        yield Fault(file, (*path, "signal"), message, need.signal, severity="warning")
    yield from check_need_settings(file, path, need, stand.cards)

"""What must agree between the keys of a file and between files: ids, slots, straps, signals, money."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from itertools import combinations

from solver.airway import air_of
from solver.build import Build, BuiltFrame
from solver.faults import Fault, Path, quote, unknown
from solver.hardware import Blocks, Board, Card, Chassis, Hardware, Setting, StrapGroup
from solver.scenario import Frame, Need, Room, RoomAir, Scenario
from solver.words import CURRENCY_DECIMALS, SAMPLE_RATES, Family, in_thousandths, parse_ranges, write_ranges

Parts = Sequence[tuple[str, Hardware]]
"""Hardware files as they are shown, and what they hold."""

HEAT_FACTOR = 2
"""A heat this many times more or less than what the rails deliver is warned about."""

VOLTS = re.compile(r"[+-]?[0-9]{1,3}(\.[0-9]{1,3})?")
"""Rails with other names, such as "fan", do not tell what they deliver."""


def check_hardware(parts: Parts, currency: str | None = None) -> list[Fault]:
    """Faults and warnings within and between hardware files.

    Parameters
    ----------
    parts
        All the files that are used together.
    currency
        Whose decimals prices must keep to, if known.
    """
    cards = {card.id for _, part in parts for card in part.card}
    boards = {board.id for _, part in parts for board in part.board}
    housed = {board for _, part in parts for chassis in part.chassis for board in chassis.boards}
    faults = list(_same_ids(parts))
    for file, part in parts:
        for card in part.card:
            faults += _card(file, card)
        for board in part.board:
            faults += _board(file, board)
            if board.id not in housed:
                message = "fits no chassis of these hardware files"
                faults.append(Fault(file, ("board", board.id), message, severity="warning"))
        for chassis in part.chassis:
            faults += _chassis(file, chassis, cards, boards)
        for kind, items in _kinds(part):
            for item in items:
                faults += _money(file, (kind, item.id, "price"), item.price, currency)
    return faults


def check_scenario(file: str, scenario: Scenario) -> list[Fault]:
    """Faults of a scenario that can be seen without its hardware."""
    faults: list[Fault] = []
    if scenario.currency not in CURRENCY_DECIMALS:
        faults.append(unknown(file, ("currency",), scenario.currency, CURRENCY_DECIMALS, "is no known currency"))
    faults += _money(file, ("budget",), scenario.budget, scenario.currency)
    faults += _repeated(file, ("hardware",), scenario.hardware)
    faults += _ranking(file, scenario)
    limits = scenario.limits
    if not limits.refuse_below_k <= limits.warn_below_k <= limits.enough_k:
        figures = f"{limits.refuse_below_k}, {limits.warn_below_k}, {limits.enough_k}"
        message = f"refuse_below_k, warn_below_k and enough_k must not fall, found {figures}"
        faults.append(Fault(file, ("limits",), message, figures))
    for n, offer in enumerate(scenario.offer, 1):
        kinds = [key for key in ("board", "card", "chassis") if getattr(offer, key) is not None]
        if len(kinds) != 1:
            found = " and ".join(kinds) or "none"
            message = f"must name one card, one chassis or one board, found {found}"
            faults.append(Fault(file, ("offer", n), message, found))
        faults += _money(file, ("offer", n, "price"), offer.price, scenario.currency)
    if scenario.room:
        for key in ("frame", "need", "must_seat"):
            if getattr(scenario, key):
                faults.append(Fault(file, (key,), "must stand in a room where there are rooms", "top level"))
    elif not scenario.frame:
        faults.append(Fault(file, ("frame",), "there is no frame; begin one with [[frame]]"))
    faults += _same_names(file, (), "room", [room.name for room in scenario.room])
    faults += _rate(file, ("sample_rate",), scenario.sample_rate)
    for place, room in _rooms(scenario):
        if room.sample_rate is not None:
            faults += _rate(file, (*place, "sample_rate"), room.sample_rate)
        faults += _same_names(file, place, "frame", [frame.name for frame in room.frame])
        faults += _same_names(file, place, "need", [need.name for need in room.need])
        for need in room.need:
            if not need.channels + need.spare:
                message = "asks for no channel and no spare"
                faults.append(Fault(file, (*place, "need", need.name, "channels"), message, "0"))
    return faults


def check_together(file: str, scenario: Scenario, parts: Parts) -> list[Fault]:
    """Faults of a scenario against its hardware."""
    stand = _Stand(scenario, parts)
    faults: list[Fault] = []
    kinds = {"card": set(stand.cards), "chassis": set(stand.chassis), "board": set(stand.boards)}
    everything = {item for ids in kinds.values() for item in ids}
    for item in scenario.stock:
        if item not in everything:
            faults.append(unknown(file, ("stock", item), item, everything, "is in none of these hardware files"))
    for n, offer in enumerate(scenario.offer, 1):
        for kind, ids in kinds.items():
            faults += _known(file, ("offer", n, kind), getattr(offer, kind), ids, kind)
    for place, room in _rooms(scenario):
        family = SAMPLE_RATES.get(room.sample_rate or scenario.sample_rate)
        for frame in room.frame:
            faults += _frame(file, (*place, "frame", frame.name), frame, stand, family)
            faults += _measured(file, (*place, "frame", frame.name), frame, stand, room.air or scenario.air)
        for need in room.need:
            faults += _need(file, (*place, "need", need.name), need, stand, family)
        for n, seated in enumerate(room.must_seat, 1):
            faults += _known(file, (*place, "must_seat", n, "card"), seated.card, stand.cards, "card")
    return faults


def check_build(file: str, build: Build, scenario: Scenario, hardware: Hardware) -> list[Fault]:
    """Names and slots in a build that neither the scenario nor the hardware knows."""
    stand = _Stand(scenario, [("", hardware)])
    faults: list[Fault] = []
    rooms = {room.name if scenario.room else None: room for _, room in _rooms(scenario)}
    seen: set[tuple[str | None, str]] = set()
    for built in build.frame:
        place: Path = ("frame", built.name)
        if (built.room, built.name) in seen:
            faults.append(Fault(file, place, "is told twice", built.name))
        seen.add((built.room, built.name))
        room = rooms.get(built.room)
        if room is None:
            names = [name for name in rooms if name]
            if built.room is None:
                faults.append(Fault(file, (*place, "room"), "is missing", None, tuple(sorted(names))))
            else:
                faults.append(unknown(file, (*place, "room"), built.room, names, "is no room of this scenario"))
            continue
        frames = {frame.name: frame for frame in room.frame}
        if built.name not in frames:
            faults.append(unknown(file, place, built.name, frames, "is no frame of this scenario"))
            continue
        faults += _built(file, place, built, stand.chassis[frames[built.name].chassis], stand)
        needs = [need.name for need in room.need]
        spans = {int(slot): stand.cards[card].span for slot, card in built.cards.items() if card in stand.cards}
        taken = {slot + part for slot, span in spans.items() for part in range(span)}
        for n, service in enumerate(built.serves or (), 1):
            where = (*place, "serves", n)
            if service.need not in needs:
                faults.append(unknown(file, (*where, "need"), service.need, needs, "is no need of this scenario"))
            if service.slot not in taken and not set(built.cards.values()) - set(stand.cards):
                message = f"no card stands in slot {service.slot}"
                faults.append(Fault(file, (*where, "slot"), message, str(service.slot)))
    return faults


class _Stand:
    """What the hardware files define, by id, and what a scenario owns or may buy."""

    def __init__(self, scenario: Scenario, parts: Parts) -> None:
        self.cards = {card.id: card for _, part in parts for card in part.card}
        self.boards = {board.id: board for _, part in parts for board in part.board}
        self.chassis = {chassis.id: chassis for _, part in parts for chassis in part.chassis}
        stock = {item for item, count in scenario.stock.items() if count}
        self.obtainable = stock | {offer.item for offer in scenario.offer if offer.at_most != 0}


def _kinds(part: Hardware) -> tuple[tuple[str, Sequence[Card | Board | Chassis]], ...]:
    return (("card", part.card), ("board", part.board), ("chassis", part.chassis))


def _rooms(scenario: Scenario) -> list[tuple[Path, Room]]:
    """Rooms and where their keys stand."""
    return [(("room", room.name) if scenario.room else (), room) for room in scenario.rooms()]


def _same_ids(parts: Parts) -> Iterator[Fault]:
    first: dict[str, tuple[str, str]] = {}
    for file, part in parts:
        for kind, items in _kinds(part):
            for item in items:
                if item.id in first:
                    where, other = first[item.id]
                    within = "this file" if where == file else where
                    message = f"{quote(item.id)} is already the id of a {other} in {within}"
                    yield Fault(file, (kind, item.id, "id"), message, item.id)
                else:
                    first[item.id] = (file, kind)


def _same_names(file: str, place: Path, key: str, names: Sequence[str]) -> Iterator[Fault]:
    for n, name in enumerate(names):
        if name in names[:n]:
            message = f"{quote(name)} is already the name of another {key}"
            yield Fault(file, (*place, key, name, "name"), message, name)


def _repeated(file: str, place: Path, names: Sequence[str]) -> Iterator[Fault]:
    for n, name in enumerate(names):
        if name in names[:n]:
            yield Fault(file, place, f"{quote(name)} stands there twice", name)


def _known(file: str, place: Path, found: str | None, ids: Iterable[str], kind: str) -> Iterator[Fault]:
    if found is not None and found not in set(ids):
        yield unknown(file, place, found, ids, f"is no {kind} of these hardware files")


def _money(file: str, place: Path, amount: Decimal | None, currency: str | None) -> Iterator[Fault]:
    decimals = CURRENCY_DECIMALS.get(currency or "")
    if amount is not None and decimals is not None and amount != round(amount, decimals):
        message = f"{amount} has more decimals than {currency} has ({decimals})"
        yield Fault(file, place, message, str(amount))


def _rate(file: str, place: Path, rate: int) -> Iterator[Fault]:
    if rate not in SAMPLE_RATES:
        allowed = tuple(str(each) for each in sorted(SAMPLE_RATES))
        close = min(SAMPLE_RATES, key=lambda each: (abs(each - rate), each))
        yield Fault(file, place, f"{str(rate)[:20]} Hz is no known sample rate", str(rate)[:20], allowed, str(close))


def _ranking(file: str, scenario: Scenario) -> Iterator[Fault]:
    if not scenario.rank:
        yield Fault(file, ("rank",), "must not be empty")
    yield from _repeated(file, ("rank",), scenario.rank)
    for criterion, slack in scenario.slack.items():
        if criterion not in scenario.rank:
            yield unknown(file, ("slack", criterion), criterion, scenario.rank, "is not in rank")
        if isinstance(slack, str) and criterion != "cost":
            message = f"{quote(slack)}: per cent are for cost only; give a whole number"
            yield Fault(file, ("slack", criterion), message, slack)


def _card(file: str, card: Card) -> Iterator[Fault]:
    from solver.physics.power import rail_heat_mw

    for n, port in enumerate(card.ports, 1):
        place: Path = ("card", card.id, "ports", n)
        if port.on_slot > card.span:
            message = f"{port.on_slot} is past the card's span of {card.span}"
            yield Fault(file, (*place, "on_slot"), message, str(port.on_slot))
        for family, channels in port.channels.items():
            if channels % port.grain:
                message = f"{channels} channels cannot be divided by the grain {port.grain}"
                yield Fault(file, (*place, "channels", family), message, str(channels))
        yield from _repeated(file, (*place, "signals"), port.signals)
    if card.heat_w is not None and card.rails and all(VOLTS.fullmatch(rail) for rail in card.rails):
        delivered = rail_heat_mw({rail: in_thousandths(amperes) for rail, amperes in card.rails.items()})
        heat = in_thousandths(card.heat_w)
        if delivered and not delivered <= heat * HEAT_FACTOR <= delivered * HEAT_FACTOR**2:
            message = f"{card.heat_w} W is far from the {delivered / 1000:.1f} W that its rails deliver"
            yield Fault(file, ("card", card.id, "heat_w"), message, str(card.heat_w), severity="warning")


def _blocks(file: str, place: Path, blocks: Blocks, whole: bool) -> Iterator[Fault]:
    for key in ("first_slot", "widths"):
        if whole and getattr(blocks, key) is None:
            yield Fault(file, (*place, key), "is missing")
    if isinstance(blocks.widths, tuple):
        taken: set[int] = set()
        for n, run in enumerate(blocks.widths, 1):
            slots = parse_ranges(run.slots)
            twice = [slot for slot in slots if slot in taken]
            if twice:
                message = f"slots {write_ranges(twice)} have a width already"
                yield Fault(file, (*place, "widths", n, "slots"), message, run.slots)
            taken.update(slots)


def _board(file: str, board: Board) -> Iterator[Fault]:
    place: Path = ("board", board.id)
    yield from _blocks(file, (*place, "inputs"), board.inputs, True)
    yield from _blocks(file, (*place, "outputs"), board.outputs, True)
    yield from _same_names(file, place, "strap_group", [group.name for group in board.strap_group])
    for group in board.strap_group:
        yield from _group(file, (*place, "strap_group", group.name), group)
    for one, two in combinations(board.strap_group, 2):
        where = (*place, "strap_group", two.name)
        for strap in dict.fromkeys(two.straps):
            if strap in one.straps:
                message = f"{quote(strap)} is already a strap of group {quote(one.name)}"
                yield Fault(file, (*where, "straps"), message, strap)
        for key in sorted(_overrides(one) & _overrides(two)):
            message = f"sets {key}, which group {quote(one.name)} sets already"
            yield Fault(file, where, message, key)
    groups = {group.name: group for group in board.strap_group}
    for n, never in enumerate(board.never_together, 1):
        where = (*place, "never_together", n)
        if not never:
            yield Fault(file, where, "must not be empty")
        yield from _straps(file, where, never, [board])
    for name, group in groups.items():
        if group.wanted is not None:
            names = [setting.name for setting in group.settings()]
            if group.wanted not in names:
                where = (*place, "strap_group", name, "wanted")
                yield unknown(file, where, group.wanted, names, f"is no setting of {quote(name)}")


def _overrides(group: StrapGroup) -> set[str]:
    """Which of the four block keys a group's settings set."""
    return {
        f"{side}.{key}"
        for setting in group.setting
        for side in ("inputs", "outputs")
        for key in ("first_slot", "widths")
        if getattr(getattr(setting, side), key) is not None
    }


def _group(file: str, place: Path, group: StrapGroup) -> Iterator[Fault]:
    yield from _repeated(file, (*place, "straps"), group.straps)
    for strap in group.straps:
        if strap == "open" or "+" in strap:
            yield Fault(file, (*place, "straps"), f'{quote(strap)}: a strap is not called "open" or with a "+"', strap)
    if not group.settings():
        yield Fault(file, (*place, "setting"), "there is no setting")
    seen: set[frozenset[str]] = set()
    for n, setting in enumerate(group.setting, 1):
        where = (*place, "setting", setting.name if setting.position or setting.closed else n)
        right, wrong = ("closed", "position") if group.kind == "links" else ("position", "closed")
        if getattr(setting, wrong) is not None:
            yield Fault(file, (*where, wrong), f"a setting of {_kind_words(group)} has {right}, not {wrong}", wrong)
        elif getattr(setting, right) is None:
            yield Fault(file, (*where, right), "is missing")
        else:
            yield from _setting(file, where, group, setting)
            state = frozenset(setting.closed or (() if setting.position is None else (setting.position,)))
            if state in seen:
                yield Fault(file, where, "stands there twice", setting.name)
            seen.add(state)
        yield from _blocks(file, (*where, "inputs"), setting.inputs, False)
        yield from _blocks(file, (*where, "outputs"), setting.outputs, False)
    if group.kind == "links":
        used = {strap for setting in group.setting for strap in setting.closed or ()}
        for strap in dict.fromkeys(group.straps):
            if strap not in used:
                message = f"{quote(strap)} is closed in no setting"
                yield Fault(file, (*place, "straps"), message, strap, severity="warning")


def _kind_words(group: StrapGroup) -> str:
    return "a links group" if group.kind == "links" else "a switch"


def _setting(file: str, place: Path, group: StrapGroup, setting: Setting) -> Iterator[Fault]:
    if setting.closed is None:
        return
    if not setting.closed and not group.open_is_legal:
        yield Fault(file, (*place, "closed"), "closes nothing, but open_is_legal is false")
    yield from _repeated(file, (*place, "closed"), setting.closed)
    for strap in dict.fromkeys(setting.closed):
        if strap not in group.straps:
            yield unknown(file, (*place, "closed"), strap, group.straps, f"is no strap of {quote(group.name)}")


def _chassis(file: str, chassis: Chassis, cards: set[str], boards: set[str]) -> Iterator[Fault]:
    place: Path = ("chassis", chassis.id)
    for n, board in enumerate(chassis.boards, 1):
        yield from _known(file, (*place, "boards", n), board, boards, "board")
    yield from _repeated(file, (*place, "boards"), chassis.boards)
    if chassis.cards == "flat" and chassis.air is not None and chassis.air.path == "draught":
        message = "flat cards get no draught between them; they need a fan"
        yield Fault(file, (*place, "air", "path"), message, "draught", ("fan",))
    for n, refusal in enumerate(chassis.refuses, 1):
        where = (*place, "refuses", n)
        yield from _slots(file, (*where, "slots"), parse_ranges(refusal.slots), chassis)
        for card in refusal.cards:
            yield from _known(file, (*where, "cards"), card, cards, "card")


def _slots(file: str, place: Path, slots: Iterable[int], chassis: Chassis) -> Iterator[Fault]:
    outside = [slot for slot in slots if slot > chassis.slot_count]
    if outside:
        told = write_ranges(outside)
        message = f"{chassis.id} has slots 1 to {chassis.slot_count}"
        if place[-1] != told:
            message = f"slot {told} is not there: {message}"
        yield Fault(file, place, message, told)


def _seats(
    file: str, place: Path, seats: Iterable[tuple[str, str]], chassis: Chassis, stand: _Stand
) -> Iterator[Fault]:
    """Cards on slots: each known, each slot there."""
    for slot, card in sorted(seats, key=lambda seat: int(seat[0])):
        yield from _known(file, (*place, slot), card, stand.cards, "card")
        yield from _slots(file, (*place, slot), [int(slot)], chassis)
        span = stand.cards[card].span if card in stand.cards else 1
        if int(slot) <= chassis.slot_count < int(slot) + span - 1:
            message = f"{card} takes {span} slots, and {chassis.id} has slots 1 to {chassis.slot_count}"
            yield Fault(file, (*place, slot), message, card)


def _straps(file: str, place: Path, straps: dict[str, str], boards: Sequence[Board]) -> Iterator[Fault]:
    """Groups and settings that none of the boards has."""
    groups: dict[str, set[str]] = {}
    for board in boards:
        for group in board.strap_group:
            groups.setdefault(group.name, set()).update(setting.name for setting in group.settings())
    owner = boards[0].id if len(boards) == 1 else "these boards"
    for name, setting in straps.items():
        if name not in groups:
            yield unknown(file, (*place, name), name, groups, f"is no strap group of {owner}")
        elif setting not in groups[name]:
            yield unknown(file, (*place, name), setting, groups[name], f"is no setting of {quote(name)}")


def _frame(file: str, place: Path, frame: Frame, stand: _Stand, family: Family | None) -> Iterator[Fault]:
    yield from _known(file, (*place, "chassis"), frame.chassis, stand.chassis, "chassis")
    yield from _known(file, (*place, "board"), frame.board, stand.boards, "board")
    chassis = stand.chassis.get(frame.chassis)
    if chassis is None:
        for slot, card in frame.pins.items():
            yield from _known(file, (*place, "pins", slot), card, stand.cards, "card")
        return
    yield from _seats(file, (*place, "pins"), frame.pins.items(), chassis, stand)
    yield from _slots(file, (*place, "keep_empty"), frame.keep_empty, chassis)
    if frame.board in stand.boards and frame.board not in chassis.boards:
        what = f"does not fit {chassis.id}"
        yield unknown(file, (*place, "board"), frame.board, chassis.boards, what)
    ids = [frame.board] if frame.board is not None else chassis.boards
    boards = [stand.boards[board] for board in ids if board in stand.boards]
    if not boards:
        return
    yield from _straps(file, (*place, "straps"), frame.straps, boards)
    if frame.board is None and not any(board.id in stand.obtainable for board in boards):
        message = f"no board that fits {chassis.id} is in stock or on offer"
        yield Fault(file, (*place, "board"), message, None, tuple(sorted(chassis.boards)), severity="warning")
    if family is not None and not any(family in board.limits for board in boards):
        told = ", ".join(board.id for board in boards)
        message = f"{told} {'has' if len(boards) == 1 else 'have'} no limits for the {family} kHz family"
        yield Fault(file, (*place, "board"), message, told)


def _measured(file: str, place: Path, frame: Frame, stand: _Stand, room_air: RoomAir | None) -> Iterator[Fault]:
    """A measured rise that no calibration of this frame can explain."""
    chassis = stand.chassis.get(frame.chassis)
    if frame.measured is None or chassis is None:
        return
    try:
        air_of(frame, chassis, room_air)
    except ValueError as error:
        yield Fault(file, (*place, "measured"), str(error), None)


def _need(file: str, place: Path, need: Need, stand: _Stand, family: Family | None) -> Iterator[Fault]:
    ports = [port for card in stand.cards.values() for port in card.ports]
    signals = {signal for port in ports for signal in port.signals}
    if need.signal not in signals:
        what = "is no signal of these hardware files"
        yield unknown(file, (*place, "signal"), need.signal, signals, what)
        return
    fitting = [port for port in ports if port.direction == need.direction and need.signal in port.signals]
    if family is not None and not any(port.channels.get(family) for port in fitting):
        way = "takes in" if need.direction == "in" else "gives out"
        message = f"no card {way} {quote(need.signal)} in the {family} kHz family"
        yield Fault(file, (*place, "signal"), message, need.signal, severity="warning")


def _built(file: str, place: Path, built: BuiltFrame, chassis: Chassis, stand: _Stand) -> Iterator[Fault]:
    """Names and slots of one built frame."""
    yield from _seats(file, (*place, "cards"), built.cards.items(), chassis, stand)
    yield from _known(file, (*place, "board"), built.board, stand.boards, "board")
    if built.board not in stand.boards:
        return
    board = stand.boards[built.board]
    if board.id not in chassis.boards:
        yield unknown(file, (*place, "board"), board.id, chassis.boards, f"does not fit {chassis.id}")
    yield from _straps(file, (*place, "straps"), built.straps, [board])
    for group in board.strap_group:
        if group.name not in built.straps and _overrides(group):
            names: tuple[str, ...] = tuple(sorted(setting.name for setting in group.settings()))
            yield Fault(file, (*place, "straps", group.name), "is missing", None, names)

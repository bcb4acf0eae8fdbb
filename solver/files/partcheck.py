"""What must agree within and between hardware files: ids, slots, straps, what a rail delivers."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import combinations
from math import prod

from solver.files.companioncheck import check_companions
from solver.files.connectorcheck import check_connectors, check_pinout, same_pinouts
from solver.files.linecheck import check_clock_input
from solver.files.phantomcheck import check_phantom, check_phantom_ports
from solver.files.railcheck import check_rails
from solver.files.settingcheck import check_card_settings
from solver.room.connectors import Pinout
from solver.room.faults import Fault, Path, first_told, quote, unknown
from solver.room.hardware import Blocks, Board, Card, Chassis, FanAir, Hardware, Setting, StrapGroup
from solver.room.pinouts import pinouts
from solver.room.silent import most_combinations
from solver.room.words import CURRENCY_DECIMALS, in_thousandths, parse_ranges, write_ranges

Parts = Sequence[tuple[str, Hardware]]
"""Hardware files as they are shown, and what they hold."""

MOST_COMBINATIONS = 4096
"""Combinations of settings that one board may have; each is laid out in every frame."""

MOST_TIED = 2000
"""Combinations of settings that groups which change no number may be tied into."""

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
    every_card = {card.id: card for _, part in parts for card in part.card}
    cards = set(every_card)
    boards = {board.id for _, part in parts for board in part.board}
    every_chassis = [chassis for _, part in parts for chassis in part.chassis]
    reserved = {board.id: board.reserved for _, part in parts for board in part.board}
    roomiest: dict[str, int] = {}
    for chassis in every_chassis:
        for board_id in chassis.boards:
            roomiest[board_id] = max(chassis.slot_count, roomiest.get(board_id, 0))
    twice = [*_same_ids(parts), *same_pinouts(parts)]
    pinned = _pinouts(parts)
    rails = check_rails(parts)

    def faults_of(file: str, part: Hardware) -> Iterator[Fault]:
        yield from (fault for fault in twice if fault.file == file)
        for card in part.card:
            yield from _card(file, card)
            yield from check_companions(file, card, every_card)
            yield from check_connectors(file, card, pinned)
            if every_chassis and not any(_takes(chassis, card, reserved) for chassis in every_chassis):
                message = "no slot of any chassis of these hardware files takes it"
                yield Fault(file, ("card", card.id), message, severity="warning")
            yield from _supply_cables(file, card, every_chassis)
        for pinout in part.pinout:
            yield from check_pinout(file, pinout, pinned)
        for board in part.board:
            yield from _board(file, board, roomiest.get(board.id))
            if board.id not in roomiest:
                message = "fits no chassis of these hardware files"
                yield Fault(file, ("board", board.id), message, severity="warning")
        for chassis in part.chassis:
            yield from _chassis(file, chassis, cards, boards)
        for kind, items in _kinds(part):
            for item in items:
                yield from money(file, (kind, item.id, "price"), item.price, currency)
        yield from rails[file]

    return [fault for file, part in parts for fault in first_told(faults_of(file, part))]


def _supply_cables(file: str, card: Card, every_chassis: Sequence[Chassis]) -> Iterator[Fault]:
    """Warnings of sorts of socket that no chassis has, where all tell theirs: the card can stand in none."""
    told = [chassis.supply_sockets for chassis in every_chassis if chassis.supply_sockets is not None]
    if not told or len(told) < len(every_chassis):
        return
    there = {sort for sockets in told for sort, count in sockets.items() if count}
    for sort in dict.fromkeys(card.supply_cables):
        if sort not in there:
            message = "is a socket of no chassis of these hardware files, so this card can stand in none"
            yield unknown(file, ("card", card.id, "supply_cables"), sort, there, message, severity="warning")


def _pinouts(parts: Parts) -> Mapping[str, Pinout]:
    """Every pinout that can be named; published ones are not looked up where no file speaks of any."""
    if not any(part.pinout or any(card.connector for card in part.card) for _, part in parts):
        return {}
    return pinouts(pinout for _, part in parts for pinout in part.pinout)


def _kinds(part: Hardware) -> tuple[tuple[str, Sequence[Card | Board | Chassis]], ...]:
    return (("card", part.card), ("board", part.board), ("chassis", part.chassis))


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


def same_names(file: str, path: Path, key: str, names: Sequence[str]) -> Iterator[Fault]:
    """Names that two entries of a list bear."""
    for name in _seen_before(names):
        message = f"{quote(name)} is already the name of another {key}"
        yield Fault(file, (*path, key, name, "name"), message, name)


def repeated(file: str, path: Path, names: Sequence[str]) -> Iterator[Fault]:
    """Names that stand twice in one list."""
    for name in _seen_before(names):
        yield Fault(file, path, f"{quote(name)} stands there twice", name)


def _seen_before(names: Iterable[str]) -> Iterator[str]:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            yield name
        seen.add(name)


def known(file: str, path: Path, found: str | None, ids: Iterable[str], kind: str) -> Iterator[Fault]:
    """An id that no hardware file describes, with the nearest that one does."""
    if found is not None and found not in set(ids):
        yield unknown(file, path, found, ids, f"is no {kind} of these hardware files")


def money(file: str, path: Path, amount: Decimal | None, currency: str | None) -> Iterator[Fault]:
    """An amount with more decimals than its currency has."""
    decimals = CURRENCY_DECIMALS.get(currency or "")
    if amount is not None and decimals is not None and amount != round(amount, decimals):
        message = f"{amount} has more decimals than {currency} has ({decimals})"
        yield Fault(file, path, message, str(amount))


def slots_there(file: str, path: Path, slots: Iterable[int], chassis: Chassis) -> Iterator[Fault]:
    """Slots past the last one of a chassis."""
    outside = [slot for slot in slots if slot > chassis.slot_count]
    if outside:
        told = write_ranges(outside)
        message = f"{chassis.id} has slots 1 to {chassis.slot_count}"
        if path[-1] != told:
            message = f"slot{f's {told} are' if len(outside) > 1 else f' {told} is'} not there: {message}"
        yield Fault(file, path, message, told)


def settings_known(file: str, path: Path, straps: dict[str, str], boards: Sequence[Board]) -> Iterator[Fault]:
    """Groups and settings that none of the boards has."""
    groups: dict[str, set[str]] = {}
    for board in boards:
        for group in board.strap_group:
            groups.setdefault(group.name, set()).update(setting.name for setting in group.settings())
    owner = boards[0].id if len(boards) == 1 else "these boards"
    for name, setting in straps.items():
        if name not in groups:
            yield unknown(file, (*path, name), name, groups, f"is no strap group of {owner}")
        elif setting not in groups[name]:
            yield unknown(file, (*path, name), setting, groups[name], f"is no setting of {quote(name)}")


def _card(file: str, card: Card) -> Iterator[Fault]:
    from solver.physics.power import rail_heat_mw

    for n, port in enumerate(card.ports, 1):
        path: Path = ("card", card.id, "ports", n)
        if port.on_slot > card.span:
            message = f"{port.on_slot} is past the card's span of {card.span}"
            yield Fault(file, (*path, "on_slot"), message, str(port.on_slot))
        for family, channels in port.channels.items():
            if channels % port.grain:
                message = f"{channels} channels cannot be divided by the grain {port.grain}"
                yield Fault(file, (*path, "channels", family), message, str(channels))
        yield from repeated(file, (*path, "signals"), port.signals)
        if port.rate_conversion and port.direction != "in":
            yield Fault(file, (*path, "rate_conversion"), "is said of inputs, and these are outputs", "true")
    yield from check_card_settings(file, card)
    yield from check_phantom_ports(file, card)
    yield from check_phantom(file, card)
    if card.heat_w is not None and card.rails and all(VOLTS.fullmatch(rail) for rail in card.rails):
        delivered = rail_heat_mw({rail: in_thousandths(amperes) for rail, amperes in card.rails.items()})
        heat = in_thousandths(card.heat_w)
        if delivered and not delivered <= heat * HEAT_FACTOR <= delivered * HEAT_FACTOR**2:
            message = f"{card.heat_w} W is far from the {delivered / 1000:.1f} W that its rails deliver"
            yield Fault(file, ("card", card.id, "heat_w"), message, str(card.heat_w), severity="warning")


def _takes(chassis: Chassis, card: Card, reserved: Mapping[str, Sequence[int]]) -> bool:
    """Whether the card can stand anywhere in the chassis, with any of its boards."""
    refused = {slot for refusal in chassis.refuses if card.id in refusal.cards for slot in parse_ranges(refusal.slots)}
    return any(
        not any(slot in refused or slot in reserved.get(board, ()) for slot in range(first, first + card.span))
        for board in chassis.boards
        for first in range(1, chassis.slot_count - card.span + 2)
    )


def _blocks(file: str, path: Path, blocks: Blocks, whole: bool, roomiest: int | None) -> Iterator[Fault]:
    """Faults of first slot and widths. `roomiest` is the most slots of a chassis that takes the board, if any does."""
    for key in ("first_slot", "widths"):
        if whole and getattr(blocks, key) is None:
            yield Fault(file, (*path, key), "is missing")
    if blocks.first_slot is not None:
        yield from _beyond(file, (*path, "first_slot"), [blocks.first_slot], roomiest)
    if not isinstance(blocks.widths, tuple):
        return
    taken: set[int] = set()
    for n, run in enumerate(blocks.widths, 1):
        slots = parse_ranges(run.slots)
        twice = [slot for slot in slots if slot in taken]
        if twice:
            message = f"{_slots_words(twice)} a width already"
            yield Fault(file, (*path, "widths", n, "slots"), message, run.slots)
        yield from _beyond(file, (*path, "widths", n, "slots"), slots, roomiest)
        taken.update(slots)
    bare = [slot for slot in range(min(taken, default=1), (roomiest or max(taken, default=0)) + 1) if slot not in taken]
    if bare:
        message = f"{_slots_words(bare)} no width; write width = 0 if that is meant"
        yield Fault(file, (*path, "widths"), message, write_ranges(bare), severity="warning")


def _slots_words(slots: Sequence[int]) -> str:
    return f"slot {slots[0]} has" if len(slots) == 1 else f"slots {write_ranges(list(slots))} have"


def _beyond(file: str, path: Path, slots: Sequence[int], roomiest: int | None) -> Iterator[Fault]:
    """A warning of slots that no chassis with this board has."""
    beyond = [slot for slot in slots if roomiest is not None and slot > roomiest]
    if beyond:
        told = write_ranges(beyond)
        message = f"no chassis that takes this board has slot{'s' if len(beyond) > 1 else ''} {told}"
        yield Fault(file, path, message, told, severity="warning")


def _board(file: str, board: Board, roomiest: int | None) -> Iterator[Fault]:
    path: Path = ("board", board.id)
    yield from _blocks(file, (*path, "inputs"), board.inputs, True, roomiest)
    yield from _blocks(file, (*path, "outputs"), board.outputs, True, roomiest)
    yield from repeated(file, (*path, "reserved"), [str(slot) for slot in board.reserved])
    yield from _beyond(file, (*path, "reserved"), board.reserved, roomiest)
    yield from same_names(file, path, "strap_group", [group.name for group in board.strap_group])
    for group in board.strap_group:
        yield from _group(file, (*path, "strap_group", group.name), group, roomiest)
    combinations_in_all = combinations_of(board)
    if combinations_in_all > MOST_COMBINATIONS:
        message = f"makes {combinations_in_all} combinations of settings; must be at most {MOST_COMBINATIONS}"
        yield Fault(file, (*path, "strap_group"), message, str(combinations_in_all))
    tied = most_combinations(board)
    if tied > MOST_TIED:
        message = f"ties groups that change no number into {tied} combinations; must be at most {MOST_TIED}"
        yield Fault(file, (*path, "never_together"), message, str(tied))
    for one, two in combinations(board.strap_group, 2):
        where = (*path, "strap_group", two.name)
        for strap in dict.fromkeys(two.straps):
            if strap in one.straps:
                message = f"{quote(strap)} is already a strap of group {quote(one.name)}"
                yield Fault(file, (*where, "straps"), message, strap)
        for key in sorted(overrides(one) & overrides(two)):
            message = f"sets {key}, which group {quote(one.name)} sets already"
            yield Fault(file, where, message, key)
    groups = {group.name: group for group in board.strap_group}
    for n, never in enumerate(board.never_together, 1):
        where = (*path, "never_together", n)
        if not never:
            yield Fault(file, where, "must not be empty")
        yield from settings_known(file, where, never, [board])
    yield from check_clock_input(file, board)
    yield from same_names(file, path, "host_port", [port.name for port in board.host_port])
    for name, group in groups.items():
        if group.wanted is not None:
            names = [setting.name for setting in group.settings()]
            if group.wanted not in names:
                where = (*path, "strap_group", name, "wanted")
                yield unknown(file, where, group.wanted, names, f"is no setting of {quote(name)}")


def combinations_of(board: Board) -> int:
    """How many combinations there are of the settings that change numbers, legal or not."""
    return prod(len(group.settings()) for group in board.strap_group if overrides(group))


def overrides(group: StrapGroup) -> set[str]:
    """Which of the four block keys a group's settings set."""
    return {
        f"{side}.{key}"
        for setting in group.setting
        for side in ("inputs", "outputs")
        for key in ("first_slot", "widths")
        if getattr(getattr(setting, side), key) is not None
    }


def _group(file: str, path: Path, group: StrapGroup, roomiest: int | None) -> Iterator[Fault]:
    yield from repeated(file, (*path, "straps"), group.straps)
    for strap in group.straps:
        if strap == "open" or "+" in strap:
            yield Fault(file, (*path, "straps"), f'{quote(strap)}: a strap is not called "open" or with a "+"', strap)
    if not group.settings():
        yield Fault(file, (*path, "setting"), "there is no setting")
    seen: set[frozenset[str]] = set()
    for n, setting in enumerate(group.setting, 1):
        where = (*path, "setting", setting.name if setting.position or setting.closed else n)
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
        yield from _blocks(file, (*where, "inputs"), setting.inputs, False, roomiest)
        yield from _blocks(file, (*where, "outputs"), setting.outputs, False, roomiest)
    if group.kind == "links":
        used = {strap for setting in group.setting for strap in setting.closed or ()}
        for strap in dict.fromkeys(group.straps):
            if strap not in used:
                message = f"{quote(strap)} is closed in no setting"
                yield Fault(file, (*path, "straps"), message, strap, severity="warning")


def _kind_words(group: StrapGroup) -> str:
    return "a links group" if group.kind == "links" else "a switch"


def _setting(file: str, path: Path, group: StrapGroup, setting: Setting) -> Iterator[Fault]:
    if setting.closed is None:
        return
    if not setting.closed and not group.open_is_legal:
        yield Fault(file, (*path, "closed"), "closes nothing, but open_is_legal is false")
    yield from repeated(file, (*path, "closed"), setting.closed)
    for strap in dict.fromkeys(setting.closed):
        if strap not in group.straps:
            yield unknown(file, (*path, "closed"), strap, group.straps, f"is no strap of {quote(group.name)}")


def _chassis(file: str, chassis: Chassis, cards: set[str], boards: set[str]) -> Iterator[Fault]:
    path: Path = ("chassis", chassis.id)
    for n, board in enumerate(chassis.boards, 1):
        yield from known(file, (*path, "boards", n), board, boards, "board")
    yield from repeated(file, (*path, "boards"), chassis.boards)
    sides = ("top", "bottom") if chassis.cards == "flat" else ("left", "right")
    if chassis.slot_1 is not None and chassis.slot_1 not in sides:
        lie = "flat cards lie above each other" if chassis.cards == "flat" else "upright cards stand side by side"
        message = f"{quote(chassis.slot_1)} is for other cards; {lie}"
        yield Fault(file, (*path, "slot_1"), message, chassis.slot_1, sides)
    if chassis.cards == "flat" and chassis.air is not None and chassis.air.path == "draught":
        message = "flat cards get no draught between them; they need a fan"
        yield Fault(file, (*path, "air", "path"), message, "draught", ("fan",))
    if chassis.air is not None and chassis.air.path == "draught" and chassis.air.card_mm is not None:
        card_mm, stack_mm = chassis.air.card_mm, chassis.air.stack_mm
        if card_mm > stack_mm:
            message = f"must be at most stack_mm, {stack_mm}"
            yield Fault(file, (*path, "air", "card_mm"), message, str(card_mm))
    if isinstance(chassis.air, FanAir):
        yield from _fan(file, (*path, "air"), chassis, chassis.air)
    yield from _supply_rails(file, (*path, "supply", "rails"), chassis)
    for n, refusal in enumerate(chassis.refuses, 1):
        where = (*path, "refuses", n)
        yield from slots_there(file, (*where, "slots"), parse_ranges(refusal.slots), chassis)
        for card in refusal.cards:
            yield from known(file, (*where, "cards"), card, cards, "card")


def _fan(file: str, path: Path, chassis: Chassis, air: FanAir) -> Iterator[Fault]:
    """What open slots let by is compared with gaps; between flat cards no air rises by itself."""
    if air.leak_cm2 is not None and air.gap_area_cm2 is None:
        yield Fault(file, (*path, "gap_area_cm2"), "is missing, beside which leak_cm2 counts")
    if air.leak_cm2 is None and air.gap_area_cm2 is not None:
        yield Fault(file, (*path, "gap_area_cm2"), "has no effect without leak_cm2", severity="warning")
    if air.still is not None and air.fans != 1:
        yield Fault(file, (*path, "still"), "is for a frame with one fan: fans = 1")
    elif air.still is not None and chassis.cards == "flat":
        yield Fault(file, (*path, "still"), "flat cards get no draught between them")


def _supply_rails(file: str, path: Path, chassis: Chassis) -> Iterator[Fault]:
    """What each supply delivers: of every rail of the chassis, and all of it together no less than may be drawn."""
    each, every = chassis.supply.rails, chassis.rails or {}
    if each is None:
        return
    for rail in [*each, *(rail for rail in every if rail not in each)]:
        together = each.get(rail, Decimal(0)) * chassis.supply.count
        if rail not in every:
            yield unknown(file, (*path, rail), rail, every, "is no rail of this chassis")
        elif together < every[rail]:
            message = f"all supplies together deliver {together} A, and {every[rail]} A may be drawn"
            yield Fault(file, (*path, rail), message, str(together))

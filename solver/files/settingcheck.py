"""Settings of cards, and needs that ask for them: what can be set, and whether any card can be set so."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from solver.files.phantomcheck import check_phantom_wanted
from solver.room.faults import Fault, Path, quote, unknown
from solver.room.hardware import PHANTOM, PHANTOM_CHOICES, Card, CardSetting
from solver.room.scenario import Need
from solver.room.traits import NOT_SET
from solver.room.words import SIDES


def check_card_settings(file: str, card: Card) -> Iterator[Fault]:
    """Faults of what can be set on a card."""
    counts = Counter((setting.name, setting.direction) for setting in card.setting)
    for setting in card.setting:
        path: Path = ("card", card.id, "setting", setting.name)
        if counts[setting.name, setting.direction] > 1:
            counts[setting.name, setting.direction] = 0
            yield Fault(file, (*path, "name"), f"is told twice for {SIDES[setting.direction]}", setting.name)
        if setting.name in NOT_SET:
            yield Fault(file, (*path, "name"), "is no setting: the card says it of itself", setting.name)
        yield from _bank(file, path, setting, card)
        yield from _choices(file, path, setting)
        ports = [port for port in card.ports if port.direction == setting.direction]
        if not ports:
            message = f"{card.id} has no {SIDES[setting.direction]} to set"
            yield Fault(file, (*path, "direction"), message, setting.direction)
        elif setting.name == PHANTOM and not any(port.phantom_ma_per_channel for port in ports):
            yield Fault(file, (*path, "name"), "no port feeds it: phantom_ma_per_channel says which do", PHANTOM)


def _bank(file: str, path: Path, setting: CardSetting, card: Card) -> Iterator[Fault]:
    """A bank is told where there are banks, and parts no line."""
    if setting.per != "bank":
        if setting.bank is not None:
            yield Fault(file, (*path, "bank"), 'is only for per = "bank"', str(setting.bank))
        return
    if setting.bank is None:
        yield Fault(file, (*path, "bank"), "is missing: how many channels are set together?")
        return
    for family in sorted({family for port in card.ports for family in port.channels}, key=int):
        for slot in range(1, card.span + 1):
            first = 0
            for port in card.ports:
                if port.direction == setting.direction and port.on_slot == slot:
                    channels = port.channels.get(family, 0)
                    heads = range(first, first + channels, port.grain)
                    if any(head // setting.bank != (head + port.grain - 1) // setting.bank for head in heads):
                        message = f"parts a line of {port.grain} channels in the {family} kHz family"
                        yield Fault(file, (*path, "bank"), message, str(setting.bank))
                        return
                    first += channels


def _choices(file: str, path: Path, setting: CardSetting) -> Iterator[Fault]:
    if not setting.every:
        yield Fault(file, (*path, "choices"), "is missing: what can it be set to?")
        return
    for choice, times in Counter(setting.every).items():
        if times > 1:
            yield Fault(file, (*path, "choices"), f"{quote(choice)} is named twice", choice)
        if setting.name == PHANTOM and choice not in PHANTOM_CHOICES:
            yield unknown(file, (*path, "choices"), choice, PHANTOM_CHOICES, "is no choice of phantom power")
    if setting.default is not None and setting.default not in setting.every:
        yield unknown(file, (*path, "default"), setting.default, setting.every, "is none of its choices")


def check_need_settings(file: str, path: Path, need: Need, cards: Mapping[str, Card]) -> Iterator[Fault]:
    """Whether cards can be set as a need asks: each setting by itself, and then all of them on one port."""
    yield from check_phantom_wanted(file, path, need, cards)
    yield from _converted(file, path, need, cards)
    settings = [s for card in cards.values() for s in card.settings() if s.direction == need.direction]
    known: dict[str, set[str]] = {}
    for setting in settings:
        known.setdefault(setting.name, set()).update(setting.every)
    wrong = False
    for name, choice in need.settings.items():
        own = (*path, "settings", name)
        if name == PHANTOM:
            wrong = True
            yield Fault(file, own, 'is asked for with phantom = "wanted" or "forbidden"', choice)
        elif name not in known:
            wrong = True
            what = f"can be set on {SIDES[need.direction]} of no card of these hardware files"
            yield unknown(file, own, name, known.keys() - {PHANTOM}, what)
        elif choice not in known[name]:
            wrong = True
            yield unknown(file, own, choice, known[name], f"is no choice of {quote(name)} on any card")
    if need.settings and not wrong and not any(_can_be_set(card, need) for card in cards.values()):
        told = " and ".join(f"{name} {choice}" for name, choice in need.settings.items())
        message = f"no card that takes {quote(need.signal)} can be set to {told}"
        yield Fault(file, (*path, "settings"), message, told)


def _converted(file: str, path: Path, need: Need, cards: Mapping[str, Card]) -> Iterator[Fault]:
    """A source without a common clock where no input converts."""
    if not need.asynchronous:
        return
    place = (*path, "asynchronous")
    ports = [port for card in cards.values() for port in card.ports if need.signal in port.signals]
    if need.direction != "in":
        yield Fault(file, place, "is said of sources, and this need is out", "true")
    elif not any(port.rate_conversion for port in ports if port.direction == "in"):
        message = f"no input that takes {quote(need.signal)} converts from any clock (rate_conversion)"
        yield Fault(file, place, message, "true")


def _can_be_set(card: Card, need: Need) -> bool:
    choices = {s.name: s.every for s in card.settings() if s.direction == need.direction}
    takes = any(port.direction == need.direction and need.signal in port.signals for port in card.ports)
    return takes and all(choice in choices.get(name, ()) for name, choice in need.settings.items())

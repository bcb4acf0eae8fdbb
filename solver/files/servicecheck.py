"""What a scenario says is out of service: that it is there, and told once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping

from solver.room.assets import SHELF
from solver.room.build import Build
from solver.room.faults import Fault, Path, unknown
from solver.room.hardware import Board, Card
from solver.room.out_of_service import SORTS, OutOfService, loom_at, spot
from solver.room.scenario import Scenario
from solver.room.words import MOST_SLOTS

WRITTEN = {"slot": '"A:5"', "channel": '"A:5.3" or "A:in:5.3"', "number": '"A:37" or "A:in:37"'}
"""How places are written, by key."""


def check_out_of_service(
    file: str, scenario: Scenario, slots: Mapping[str, int], cards: Collection[Card], boards: Collection[Board]
) -> Iterator[Fault]:
    """Entries that name nothing, several things, what is not there, or what another names.

    Parameters
    ----------
    slots
        How many slots each frame has, as far as its chassis is known.
    cards, boards
        All of the hardware files.
    """
    connectors = {own.id for card in cards for own in card.connector}
    most = _most_channels(cards), max((own for board in boards for own in _most_numbers(board)), default=0)
    looms = {
        loom_at(name, slot) + own for name, most in slots.items() for slot in range(1, most + 1) for own in connectors
    }
    shelf = on_the_shelf(scenario)
    shelf.subtract(own.card for own in scenario.asset if own.at == SHELF)
    seen: set[tuple[str, str | int]] = set()
    for n, entry in enumerate(scenario.out_of_service, 1):
        path: Path = ("out_of_service", n)
        own = [sort for sort in SORTS if getattr(entry, sort) is not None]
        if scenario.room:
            yield Fault(file, path, "is for scenarios of one room")
            return
        if len(own) != 1:
            yield Fault(file, path, f"must have one of {', '.join(SORTS)}; it has {' and '.join(own) or 'none'}")
            continue
        at = (*path, entry.key)
        what = scenario.seat_of(entry) or (entry.key, entry.what)
        shelf[entry.what] -= entry.key == "stock"
        if entry.key == "stock":
            yield from _in_stock(file, scenario, at, entry, shelf[entry.what])
        elif what in seen:
            yield Fault(file, at, "is told twice", entry.what)
        elif entry.key == "asset" and scenario.asset_of(entry) is None:
            yield unknown(file, at, entry.what, [own.serial for own in scenario.asset], "is the serial of no asset")
        elif entry.key == "loom" and entry.what not in looms:
            yield Fault(file, at, 'is the name of no loom, such as "A5-in": frame, slot and connector', entry.what)
        elif entry.key not in ("loom", "asset"):
            yield from _placed(file, scenario, at, entry, slots, most)
        seen.add(what)


def _in_stock(file: str, scenario: Scenario, path: Path, entry: OutOfService, left: int) -> Iterator[Fault]:
    """One in stock, with so many left there that have no serial numbers."""
    if left >= 0:
        return
    if any(own.card == entry.what and own.at == SHELF for own in scenario.asset):
        message = "all that is left in stock has serial numbers: name the asset"
    else:
        message = "so many are not in stock beside those that stand; a slot names what stands"
    yield Fault(file, path, message, entry.what)


def _most_channels(cards: Collection[Card]) -> int:
    """The most channels that one slot of a card has in one direction at any rate."""
    found: Counter[tuple[str, str, int, str]] = Counter()
    for card in cards:
        for port in card.ports:
            for family, channels in port.channels.items():
                found[card.id, port.direction, port.on_slot, family] += channels
    return max(found.values(), default=0)


def _most_numbers(board: Board) -> Iterator[int]:
    for limit in board.limits.values():
        yield from (limit.inputs, limit.outputs)


def on_the_shelf(scenario: Scenario) -> Counter[str]:
    """What is in stock and does not stand."""
    shelf = Counter(scenario.stock)
    boards = {frame.name: frame.board for frame in scenario.frame}
    for built in scenario.installed.frame if isinstance(scenario.installed, Build) else ():
        shelf.subtract(built.cards.values())
        shelf[built.board] -= boards.get(built.name) != built.board
    return shelf


def _placed(
    file: str, scenario: Scenario, path: Path, entry: OutOfService, slots: Mapping[str, int], most: tuple[int, int]
) -> Iterator[Fault]:
    channels, numbers = most
    names = [frame.name for frame in scenario.frame]
    at = spot(entry, names)
    if at is None:
        yield Fault(file, path, f"must be written like {WRITTEN[entry.key]}", entry.what)
    elif at.frame not in names:
        yield unknown(file, path, at.frame, names, "is no frame of this scenario")
    elif at.slot is not None and at.slot > slots.get(at.frame, MOST_SLOTS):
        yield Fault(file, path, f"{at.frame} has slots 1 to {slots.get(at.frame, MOST_SLOTS)}", entry.what)
    elif at.channel is not None and at.channel > channels:
        yield Fault(file, path, f"no card has more than {channels} channels a slot", entry.what)
    elif at.number is not None and at.number > numbers:
        yield Fault(file, path, f"no board has numbers above {numbers}", entry.what)
    elif entry.key == "slot" and scenario.installed is None:
        yield Fault(
            file, path, "only what stands tells which card that is: name its build file as installed", entry.what
        )
    elif entry.key == "slot" and (at.frame, at.slot) not in scenario.gone and isinstance(scenario.installed, Build):
        yield Fault(file, path, "no card has its first slot there in what stands", entry.what)

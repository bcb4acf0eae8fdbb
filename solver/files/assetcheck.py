"""What a scenario says of single cards by their serial numbers: that each is one, is owned, and is where it is said."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator

from solver.files.partcheck import known
from solver.room.assets import SHELF, Asset
from solver.room.build import Build
from solver.room.faults import Fault, Path, quote, unknown
from solver.room.scenario import Scenario


def check_assets(file: str, scenario: Scenario, cards: Collection[str], shelf: Counter[str]) -> Iterator[Fault]:
    """Assets that are told twice, of no card, in no slot, where another card stands, or not owned.

    Parameters
    ----------
    cards
        Ids of all of the hardware files.
    shelf
        How many of each item are in stock and do not stand.
    """
    if scenario.asset and scenario.room:
        yield Fault(file, ("asset",), "is for scenarios of one room")
        return
    left, seen, places = shelf.copy(), set[str](), dict[tuple[str, int], str]()
    for n, asset in enumerate(scenario.asset, 1):
        path: Path = ("asset", n)
        yield from known(file, (*path, "card"), asset.card, cards, "card")
        if (serial := asset.serial.strip().casefold()) in seen:
            told = "is told twice, capitals and spaces at its ends apart; each card has its own"
            yield Fault(file, (*path, "serial"), told, asset.serial)
        seen.add(serial)
        if asset.at == SHELF:
            left[asset.card] -= 1
            if left[asset.card] < 0:
                beside = " beside those that stand" if scenario.installed is not None else ""
                many = f"stock has {max(0, shelf[asset.card])} x {asset.card}{beside}, and this is one more"
                yield Fault(file, (*path, "at"), many, asset.at)
            continue
        place = scenario.slot_at(asset.at)
        yield from _placed(file, (*path, "at"), scenario, asset, place)
        if place is not None and place in places:
            yield Fault(file, (*path, "at"), f"{quote(places[place])} is there: a slot has one card", asset.at)
        elif place is not None:
            places[place] = asset.serial


def _placed(file: str, path: Path, scenario: Scenario, asset: Asset, place: tuple[str, int] | None) -> Iterator[Fault]:
    """An asset that is in no slot, or in one where its card does not stand."""
    names = [frame.name for frame in scenario.frame]
    stands = scenario.installed
    if place is None:
        yield Fault(file, path, 'must be a slot, such as "A:5", or "shelf"', asset.at)
    elif place[0] not in names:
        yield unknown(file, path, place[0], names, "is no frame of this scenario")
    elif stands is None:
        yield Fault(file, path, "only what stands has cards in slots: name its build file as installed", asset.at)
    elif isinstance(stands, Build):
        there = {(built.name, slot): card for built in stands.frame for slot, card in built.seats()}.get(place)
        if there is None:
            yield Fault(file, path, "no card has its first slot there in what stands", asset.at)
        elif there != asset.card:
            yield Fault(file, path, f"{there} stands there, and not {asset.card}", asset.at)

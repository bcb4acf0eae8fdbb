"""What a build says is set on its cards: which choices hold, and what is wrong with what it says."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from solver.room.build import CardSet
from solver.room.faults import quote, unknown
from solver.room.kind import Kind
from solver.room.survey import Survey
from solver.room.traits import Switch
from solver.room.words import SIDES, Direction, write_ranges

CardSwitch = tuple[int, Switch]
"""A switch of the card whose first slot this is."""


@dataclass(frozen=True, slots=True)
class StraySet:
    """One thing that is wrong with what is set on the card in a slot."""

    slot: int
    setting: str
    text: str


def read_cards_set(
    entries: Iterable[CardSet], card_in: Callable[[int], tuple[int, Kind] | None]
) -> tuple[dict[CardSwitch, str], tuple[StraySet, ...]]:
    """The choices that entries make, by card and switch, and what is wrong with them.

    Parameters
    ----------
    card_in
        The first slot and the kind of the card that stands in a slot; None for an empty one.
    """
    chosen: dict[CardSwitch, str] = {}
    strays: list[StraySet] = []
    for entry in entries:
        card = card_in(entry.slot)
        if card is None:
            strays.append(StraySet(entry.slot, entry.setting, f"no card stands there to set {quote(entry.setting)} on"))
            continue
        text = _wrong(entry, *card)
        if text is None:
            for switch in _meant(entry, *card):
                if chosen.setdefault((card[0], switch), entry.to) != entry.to:
                    text = f"{quote(entry.setting)} is set to {chosen[card[0], switch]} and to {entry.to}"
        if text is not None:
            strays.append(StraySet(entry.slot, entry.setting, text))
    return chosen, tuple(strays)


def stood_sets(survey: Survey, frame: str, cards: Iterable[tuple[int, str]]) -> dict[CardSwitch, str]:
    """What is set, and not as it comes, on those cards of a frame that stand in the same slots already."""
    stands = survey.scenario.stands
    built = None if stands is None else next((own for own in stands.frame if own.name == frame), None)
    if built is None:
        return {}
    kept = {slot: survey.kinds[card] for slot, card in {*built.seats()} & {*cards}}
    seats = {slot: (first, kind) for first, kind in kept.items() for slot in range(first, first + kind.span)}
    return read_cards_set(built.settings, seats.get)[0]


def _own(entry: CardSet, first: int, kind: Kind) -> list[Switch]:
    """The switches of the slot that set what an entry names."""
    return [
        switch
        for switch in kind.switches
        if (switch.setting.name, switch.setting.direction) == (entry.setting, entry.direction)
        and any(part == entry.slot - first for part, _ in switch.places)
    ]


def _meant(entry: CardSet, first: int, kind: Kind) -> list[Switch]:
    part, named = entry.slot - first, set(entry.indices())
    return [s for s in _own(entry, first, kind) if not named or any((part, index) in s.places for index in named)]


def _wrong(entry: CardSet, first: int, kind: Kind) -> str | None:
    """What is wrong with an entry by itself."""
    own, part = _own(entry, first, kind), entry.slot - first
    if not own:
        names = sorted({s.setting.name for s in kind.switches if s.setting.direction == entry.direction})
        what = f"cannot be set on {SIDES[entry.direction]} of {kind.id} there"
        return unknown("", (), entry.setting, names, what).text()
    choices = own[0].setting.every
    if entry.to not in choices:
        return unknown("", (), entry.to, choices, f"is no choice of {quote(entry.setting)} on {kind.id}").text()
    if entry.channels is None:
        return None
    named = set(entry.indices())
    reached = {index for switch in own for at, index in switch.places if at == part}
    if not named <= reached:
        return f"{kind.id} has no {quote(entry.setting)} on {_channels(entry.direction, named - reached)} there"
    for switch in _meant(entry, first, kind):
        together = {index for at, index in switch.places if at == part}
        if not together <= named:
            return f"{quote(entry.setting)} of {kind.id} sets {_channels(entry.direction, together)} together"
    return None


def _channels(direction: Direction, indices: Iterable[int]) -> str:
    numbers = sorted(indices)
    return f"{direction}put channel{'s' if len(numbers) > 1 else ''} {write_ranges(numbers)}"


def told(choices: Mapping[CardSwitch, str], *, usual: bool = False) -> tuple[CardSet, ...]:
    """What is set on the cards of a frame as a build file says it: all that is not as cards come, or that too."""
    runs: dict[tuple[int, Direction, str, str], list[int] | None] = {}
    for (first, switch), choice in choices.items():
        setting = switch.setting
        if choice == setting.usual and not usual:
            continue
        if setting.per == "card":
            runs[first + switch.places[0][0], setting.direction, setting.name, choice] = None
            continue
        for part, index in switch.places:
            own = runs.setdefault((first + part, setting.direction, setting.name, choice), [])
            assert own is not None  # one setting is per card or it is not
            own.append(index)
    return tuple(
        CardSet(slot=slot, setting=name, direction=direction, to=choice, channels=_ranges(indices))
        for (slot, direction, name, choice), indices in sorted(runs.items(), key=lambda run: run[0])
    )


def _ranges(indices: Sequence[int] | None) -> str | None:
    return None if indices is None else write_ranges(sorted(indices))

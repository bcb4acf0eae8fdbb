"""What is set on cards, in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import TypeAlias

from solver.fitted.cards_set import told
from solver.fitted.frame import FrameStanding, Seated
from solver.fitted.moves import SetMove
from solver.fitted.standing import Standing
from solver.reports.explanation import SetFor
from solver.reports.report import CardSetTo
from solver.room.build import CardSet
from solver.room.hardware import LEVEL, PHANTOM
from solver.room.survey import Need
from solver.room.traits import ALIKE_LEVEL
from solver.room.words import Direction, parse_ranges

SetTo: TypeAlias = CardSet | CardSetTo
"""What is set on channels of a card, or on all of it."""


def settings_words(settings: Sequence[SetTo]) -> str:
    """What a card is set to, setting by setting: which channels are at which choice."""
    by_setting: dict[tuple[str, Direction], list[SetTo]] = {}
    for entry in settings:
        by_setting.setdefault((entry.setting, entry.direction), []).append(entry)
    both = len({name for name, _ in by_setting}) < len(by_setting)
    return "; ".join(f"{name}{f' {way}' if both else ''}{_choices(own)}" for (name, way), own in by_setting.items())


def _choices(settings: Sequence[SetTo]) -> str:
    """`` +18 dBu``, or ``, channels 1-4 off, 5-8 on``."""
    own = sorted(settings, key=lambda entry: parse_ranges(entry.channels) if entry.channels else ())
    if own[0].channels is None:
        return f" {own[0].to}"
    return f", channels {', '.join(f'{entry.channels} {entry.to}' for entry in own)}"


def set_cards(standing: Standing) -> list[SetFor]:
    """What cards are set to that some need asks for, or that is not as they come, and for which needs."""
    found = []
    for frame in standing.frames:
        for seat in frame.seats:
            off = {(entry.setting, entry.direction) for entry in frame.changed(seat)}
            for entry in told(frame.choices(seat), usual=True):
                uses = [use for use in frame.uses if (use.slot, use.need.direction) == (entry.slot, entry.direction)]
                on_it = [use for use in uses if entry.channels is None or use.index in entry.indices()]
                needs = list(dict.fromkeys(use.need.name for use in on_it if entry.setting in _asks(use.need)))
                if needs or (entry.setting, entry.direction) in off:
                    own = entry.model_dump(exclude={"format"})
                    found.append(SetFor(frame=frame.site.name, card=seat.kind.id, needs=needs, **own))
    return found


def _asks(need: Need) -> set[str]:
    """The settings that a need asks for, or is to have alike."""
    return {setting for setting, _ in need.traits} | {LEVEL for one in need.one_of if one.of[0] == ALIKE_LEVEL}


def before_seating(frame: FrameStanding, seat: Seated) -> str:
    """Everything that its hardware file says can be set on a card, but phantom power; empty where that is nothing."""
    listed = {setting.name for setting in seat.kind.card.setting if setting.name != PHANTOM}
    choices = {at: to for at, to in frame.choices(seat).items() if at[1].setting.name in listed}
    return settings_words(told(choices, usual=True))


def otherwise(settings: Iterable[SetMove]) -> Iterator[tuple[SetMove, str]]:
    """What cards that stay or get another slot are to be set to, but for phantom power: a move of each, and words."""
    told_of = [move for move in settings if move.before is not None and move.setting != PHANTOM]
    for _, own in groupby(told_of, lambda move: (move.key, move.slot)):
        moves = list(own)
        sets = [
            CardSet(slot=m.slot, setting=m.setting, direction=m.direction, to=m.after, channels=m.channels)
            for m in moves
        ]
        yield moves[0], settings_words(sets)

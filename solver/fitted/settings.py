"""The strap settings that a build names, read against its board: which hold, and what is wrong with the others."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product

from solver.room.faults import nearest, quote, unknown
from solver.room.hardware import Board, Setting
from solver.room.silent import changes_numbers
from solver.room.straps import breaks_ban
from solver.room.words import Family


@dataclass(frozen=True, slots=True)
class Stray:
    """One thing that is wrong with the settings of a built frame. `groups` are the strap groups that it is about."""

    groups: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Settings:
    """What a build says of a board's strap groups.

    `chosen` has the settings that are known, `strays` what is wrong, `undecided` the groups that change numbers and
    are not set, so that there are no numbers.
    """

    chosen: Mapping[str, Setting]
    strays: tuple[Stray, ...]
    undecided: tuple[str, ...]


def read_settings(board: Board, straps: Mapping[str, str], family: Family) -> Settings:
    """Read a built frame's straps. A group whose name is nearly right is read as the one that is meant."""
    groups = {group.name: {s.name: s for s in group.settings()} for group in board.strap_group}
    given: dict[str, str] = {}
    strays: list[Stray] = []
    for name, setting in straps.items():
        if name in groups:
            given[name] = setting
            continue
        strays.append(Stray((name,), unknown("", (), name, groups, f"is no strap group of {board.id}").text()))
        meant = nearest(name, groups.keys() - straps.keys())
        if meant is not None:
            given.setdefault(meant, setting)
    chosen: dict[str, Setting] = {}
    undecided: list[str] = []
    for group in board.strap_group:
        settings, asked = groups[group.name], given.get(group.name)
        if asked is not None and asked in settings:
            chosen[group.name] = settings[asked]
            continue
        if asked is None:
            strays.append(Stray((group.name,), f"{quote(group.name)}: which setting? ({', '.join(sorted(settings))})"))
        else:
            what = f"is no setting of {quote(group.name)}"
            strays.append(Stray((group.name,), unknown("", (), asked, settings, what).text()))
        if changes_numbers(group):
            undecided.append(group.name)
    ban = breaks_ban(board, {group: setting.name for group, setting in chosen.items()})
    if ban is not None:
        both = " and ".join(f"{quote(group)} at {setting}" for group, setting in sorted(ban.items()))
        strays.append(Stray(tuple(sorted(ban)), f"{both} may never stand together on {board.id}"))
    if family not in board.limits:
        strays.append(Stray((), f"{board.id} has no limits for the {family} kHz family, so it numbers nothing"))
    return Settings(chosen, tuple(strays), tuple(undecided))


def legal_fillings(board: Board, settings: Settings) -> list[dict[str, str]]:
    """Every way to set the undecided groups that breaks no more bans, in the order of the board and of names."""
    choices = [
        [(group.name, s.name) for s in sorted(group.settings(), key=lambda s: (len(s.closed or ()), s.name))]
        for group in board.strap_group
        if group.name in settings.undecided
    ]
    known = {group: setting.name for group, setting in settings.chosen.items()}
    broken = breaks_ban(board, known)
    found = [dict(way) for way in product(*choices)]
    return [way for way in found if breaks_ban(board, {**known, **way}) == broken]

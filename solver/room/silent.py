"""Strap groups that change no number: where they stand beside a board's other settings.

A group that is left out stands as its board wants it, and one that is asked for as it is asked for. What a board bans
(``never_together``) is looked at with the other settings: a ban that they break is resolved by other settings of the
groups in it, the fewest groups that do.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from math import prod

from solver.room.hardware import Board, Setting, StrapGroup

Ban = Mapping[str, str]
Choice = dict[str, Setting]


def changes_numbers(group: StrapGroup) -> bool:
    """Whether any setting of the group overrides a first slot or a width."""
    return any(b.first_slot is not None or b.widths is not None for s in group.setting for b in (s.inputs, s.outputs))


def default_setting(group: StrapGroup) -> Setting:
    """The setting of a group that changes no numbers when nobody asks for one and no ban forbids it."""
    settings = group.settings()
    wanted = [s for s in settings if s.name == group.wanted]
    return wanted[0] if wanted else min(settings, key=_plainness)


def _plainness(setting: Setting) -> tuple[int, str]:
    """For sorting: the fewest straps closed come first, then the first name."""
    return len(setting.closed or ()), setting.name


@dataclass
class SilentGroups:
    """The groups of a board that change no number, and what its bans leave of their settings.

    `asked` has the settings that are asked for, by group. A group that is asked for strays from that only where nothing
    else is legal: what says so is a way out of a clash, never a build.
    """

    board: Board
    asked: Mapping[str, str]
    groups: dict[str, list[Setting]] = field(init=False)
    """The settings that are worth a look, group by group: where it stands at first, then others, the plainest first."""
    _known: dict[tuple[tuple[tuple[str, str], ...], ...], list[list[Choice]]] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        self.groups = {}
        for group in self.board.strap_group:
            if changes_numbers(group):
                continue
            wanted = [s for s in group.settings() if s.name == self.asked.get(group.name)]
            first = wanted[0] if wanted else default_setting(group)
            self.groups[group.name] = [first, *self._others(group, first)]

    def _others(self, group: StrapGroup, first: Setting) -> Iterator[Setting]:
        """The other settings worth a look, the plainest first: none after the first one that no ban names."""
        banned = {ban[group.name] for ban in self.board.never_together if group.name in ban}
        for setting in sorted(group.settings(), key=_plainness):
            if setting.name == first.name:
                continue
            yield setting
            if setting.name not in banned:
                return

    def beside(self, numbering: Mapping[str, Setting]) -> list[Choice]:
        """What stands beside settings that change numbers, group to setting; nothing where no choice is legal.

        The first holds what is asked for where that can be. Otherwise there is one for each smallest set of groups that
        have to stray from it.
        """
        return [
            {group: moved.get(group, own[0]) for group, own in self.groups.items()}
            for resolutions in product(*self._apart(numbering))
            for moved in [{g: s for resolution in resolutions for g, s in resolution.items()}]
        ]

    def count_beside(self, numbering: Mapping[str, Setting]) -> int:
        """How many choices `beside` has, without making them: bans that nothing ties together multiply."""
        return prod(map(len, self._apart(numbering)))

    def _apart(self, numbering: Mapping[str, Setting]) -> list[list[Choice]]:
        """What moves, for each set of groups that bans tie together; one that has no choice leaves none at all."""
        open_bans = []
        for ban in self.board.never_together:
            left = tuple((g, s) for g, s in sorted(ban.items()) if g not in numbering)
            if ban and all(numbering[g].name == s for g, s in ban.items() if g in numbering):
                open_bans.append(left)
        key = tuple(sorted(set(open_bans)))
        if key not in self._known:
            bans: list[Ban] = [dict(ban) for ban in key]
            illegal = any(not ban for ban in bans)
            tied = [] if illegal else _tied(bans)
            apart = [self._resolutions([ban for ban in bans if set(ban) & own]) for own in tied]
            self._known[key] = [[]] if illegal else apart
        return self._known[key]

    def _resolutions(self, bans: Sequence[Ban]) -> list[Choice]:
        """What moves so that bans that are tied together are kept: the plainest for each smallest set that strays."""
        concerned = {group for ban in bans for group in ban}
        best: dict[frozenset[str], tuple[tuple[int, int, list[str]], Choice]] = {}
        for moved in self._legal(bans, {}, set()):
            straying = frozenset(moved) & set(self.asked)
            place = (
                len(moved) - len(straying),
                sum(len(self._at(moved, group).closed or ()) for group in concerned),
                [self._at(moved, group).name for group in self.groups if group in concerned],
            )
            if straying not in best or place < best[straying][0]:
                best[straying] = place, moved
        return [moved for straying, (_, moved) in best.items() if not any(less < straying for less in best)]

    def _at(self, moved: Mapping[str, Setting], group: str) -> Setting:
        return moved.get(group, self.groups[group][0])

    def _legal(self, bans: Sequence[Ban], moved: Choice, seen: set[frozenset[tuple[str, str]]]) -> Iterator[Choice]:
        """Moves that leave no ban broken, each of them made because a ban was: every smallest one is among them."""
        named = frozenset((group, setting.name) for group, setting in moved.items())
        if named in seen:
            return
        seen.add(named)
        broken = next((b for b in bans if all(self._at(moved, g).name == s for g, s in b.items())), None)
        if broken is None:
            yield moved
            return
        for group in sorted(set(broken) - set(moved)):
            for setting in self.groups[group][1:]:
                yield from self._legal(bans, {**moved, group: setting}, seen)


def _tied(bans: Sequence[Ban]) -> list[set[str]]:
    """The groups of bans, parted where no ban ties them together."""
    found: list[set[str]] = []
    for ban in bans:
        joined = [own for own in found if own & set(ban)]
        found = [own for own in found if own not in joined] + [set(ban).union(*joined)]
    return found


def most_combinations(board: Board) -> int:
    """Combinations of settings of the silent groups that bans tie together, of those with the most."""
    if not all(group.settings() for group in board.strap_group):
        return 1
    silent = SilentGroups(board, {})
    bans = [{g: s for g, s in ban.items() if g in silent.groups} for ban in board.never_together]
    return max((prod(len(silent.groups[group]) for group in own) for own in _tied([b for b in bans if b])), default=1)

"""Builds that are listed already, and what sets another one apart from them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations, product
from typing import Protocol

from solver.room.straps import Layout
from solver.room.survey import FrameSite, Survey
from solver.room.words import DIRECTIONS
from solver.rules.limit import Load, Term
from solver.search.model.cpsat import cp_model
from solver.search.model.services import expression


@dataclass(frozen=True)
class Seating:
    """What a solve found: for each frame its option and the seats taken."""

    options: tuple[Layout | None, ...]
    cards: tuple[tuple[tuple[int, str], ...], ...]
    ends: dict[str, dict[int, int]] | None = None

    def counts(self, frame: int) -> Counter[str]:
        """Cards of each kind in a frame."""
        return Counter(card for _, card in self.cards[frame])


def _same_numbers(survey: Survey, seating: Seating, frame: int, option: Layout | None) -> bool:
    """Whether a layout gives every card of a listed frame the numbers that it has there."""
    listed = seating.options[frame]
    if listed is None or option is listed:
        return True
    if option is None or option.board != listed.board:
        return False
    for slot, card in seating.cards[frame]:
        kind = survey.kinds[card]
        for direction in DIRECTIONS:
            for part in range(kind.span):
                channels = len(kind.on(direction, part))
                here, there = listed.block(direction, slot + part), option.block(direction, slot + part)
                numbers = [b.first + i for b in (here,) for i in range(min(channels, b.width))]
                if numbers != [b.first + i for b in (there,) for i in range(min(channels, b.width))]:
                    return False
    return True


def _renamings(survey: Survey, seating: Seating) -> Iterator[tuple[int, ...]]:
    """For each frame the listed frame whose content it would repeat, alike frames exchanged in every way."""
    groups = survey.groups_of_alike_frames()
    orders: list[list[tuple[int, ...]]] = []
    for group in groups:
        used = [i for i in group if seating.options[i] is not None]
        seen: dict[tuple[object, ...], tuple[int, ...]] = {}
        for chosen in permutations(group, len(used)):
            source = dict(zip(chosen, used, strict=True))
            spare = [i for i in group if i not in used]
            order = tuple(source[i] if i in source else spare[0] if spare else i for i in group)
            content = tuple((seating.options[i] is None, seating.options[i], seating.cards[i]) for i in order)
            seen.setdefault(content, order)
        orders.append(list(seen.values()))
    for combination in product(*orders):
        pairs = zip(groups, combination, strict=True)
        mapping = {i: j for group, order in pairs for i, j in zip(group, order, strict=True)}
        yield tuple(mapping[i] for i in range(len(survey.frames)))


def repeats(survey: Survey, found: Seating, listed: Seating) -> bool:
    """Whether a seating only adds cards to a listed one or moves straps that change nothing there."""
    return any(
        all(
            found.counts(i) >= listed.counts(j) and _same_numbers(survey, listed, j, found.options[i])
            for i, j in enumerate(renaming)
        )
        for renaming in _renamings(survey, listed)
    )


def may_repeat(survey: Survey, options: Sequence[Sequence[Layout | None]], listed: Seating) -> bool:
    """Whether a seating with some of these options for each frame could repeat a listed one."""
    return any(
        all(any(_same_numbers(survey, listed, j, option) for option in options[i]) for i, j in enumerate(renaming))
        for renaming in _renamings(survey, listed)
    )


class _Counted(Protocol):
    """A model that says which options its frames have and how many cards of a kind they hold."""

    @property
    def model(self) -> cp_model.CpModel: ...

    def choices(self, site: FrameSite) -> Sequence[tuple[Layout | None, Term]]: ...

    def count(self, site: FrameSite, card: str) -> Load: ...


def exclude(survey: Survey, counted: _Counted, listed: Seating) -> None:
    """Require fewer of some card than a listed build has, or numbers that differ from its."""
    for renaming in _renamings(survey, listed):
        ways = []
        vacuous = False
        for site in survey.frames:
            source = renaming[site.index]
            differing = [t for o, t in counted.choices(site) if not _same_numbers(survey, listed, source, o)]
            if any(isinstance(t, int) for t in differing):
                vacuous = True
                break
            ways += differing
            for card, count in sorted(listed.counts(source).items()):
                fewer = counted.model.new_bool_var("")
                counted.model.add(expression(counted.count(site, card)) <= count - 1).only_enforce_if(fewer)
                ways.append(fewer)
        if not vacuous:
            counted.model.add_bool_or(ways)

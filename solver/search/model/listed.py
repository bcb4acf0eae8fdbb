"""Builds that are listed already, and what sets another one apart from them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import Protocol

from solver.room.straps import Layout
from solver.room.survey import FrameSite, Survey
from solver.room.words import DIRECTIONS
from solver.rules.limit import Load, Term
from solver.search.model.cpsat import cp_model
from solver.search.model.seating import Seating
from solver.search.model.services import expression


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


def _paired(hosts: Sequence[Collection[int]]) -> bool:
    """Whether each of as many guests as hosts can be given another host; for each host the guests that it can take."""
    host_of: dict[int, int] = {}

    def place(host: int, tried: set[int]) -> bool:
        for guest in hosts[host]:
            if guest not in tried:
                tried.add(guest)
                if guest not in host_of or place(host_of[guest], tried):
                    host_of[guest] = host
                    return True
        return False

    return all(place(host, set()) for host in range(len(hosts)))


def _repeated(survey: Survey, fits: Callable[[int, int], bool]) -> bool:
    """Whether alike frames can be exchanged so that each fits another listed one: frame first, then the listed one."""
    return all(
        _paired([[n for n, listed in enumerate(group) if fits(frame, listed)] for frame in group])
        for group in survey.groups_of_alike_frames()
    )


def repeats(survey: Survey, found: Seating, listed: Seating) -> bool:
    """Whether a seating only adds cards to a listed one or moves straps that change nothing there."""
    return _repeated(
        survey,
        lambda i, j: found.counts(i) >= listed.counts(j) and _same_numbers(survey, listed, j, found.options[i]),
    )


def may_repeat(survey: Survey, options: Sequence[Sequence[Layout | None]], listed: Seating) -> bool:
    """Whether a seating with some of these options for each frame could repeat a listed one."""
    return _repeated(survey, lambda i, j: any(_same_numbers(survey, listed, j, option) for option in options[i]))


class _Counted(Protocol):
    """A model that says which options its frames have and how many cards of a kind they hold."""

    @property
    def model(self) -> cp_model.CpModel: ...

    def choices(self, site: FrameSite) -> Sequence[tuple[Layout | None, Term]]: ...

    def count(self, site: FrameSite, card: str) -> Load: ...


def exclude(survey: Survey, counted: _Counted, listed: Seating) -> None:
    """Require fewer of some card than a listed build has, or numbers that differ from its, however frames are matched.

    Alike frames cannot be matched with the listed ones if and only if fewer of both together cover every pair that
    fits (Koenig): the cover is part of the model, so that no order of frames has to be tried.
    """
    unlike = _Unlike(survey, counted, listed)
    ways: list[Term] = []
    for group in survey.groups_of_alike_frames():
        contents: dict[tuple[object, ...], list[int]] = {}
        for i in group:
            if listed.options[i] is not None:
                contents.setdefault((listed.options[i], listed.cards[i]), []).append(i)
        used = sum(map(len, contents.values()))
        if not used:
            continue
        if len(group) == 1:
            own = unlike.ways(group[0], group[0])
            if own is None:
                return
            ways += own
            continue
        differs = counted.model.new_bool_var("")
        ways.append(differs)
        frames = {i: counted.model.new_bool_var("") for i in group}
        covered = {same[0]: counted.model.new_bool_var("") for same in contents.values()}
        load = [(1, term) for term in frames.values()]
        load += [(len(same), covered[same[0]]) for same in contents.values()]
        counted.model.add(expression(load) <= used - 1).only_enforce_if(differs)
        for i, frame in frames.items():
            for j, content in covered.items():
                own = unlike.ways(i, j)
                if own is not None:
                    counted.model.add_bool_or([~differs, frame, content, *own])
    counted.model.add_bool_or(ways)


class _Unlike:
    """In which ways a frame does not have what a listed one has: terms, each of which says that it does not."""

    def __init__(self, survey: Survey, counted: _Counted, listed: Seating) -> None:
        self._survey = survey
        self._counted = counted
        self._listed = listed
        self._fewer: dict[tuple[int, str, int], Term] = {}

    def ways(self, frame: int, source: int) -> list[Term] | None:
        """The ways, or None where it never has."""
        site = self._survey.frames[frame]
        found = [
            term
            for option, term in self._counted.choices(site)
            if not _same_numbers(self._survey, self._listed, source, option)
        ]
        if any(isinstance(term, int) for term in found):
            return None
        counts = sorted(self._listed.counts(source).items())
        return found + [self._fewer_than(site, card, count) for card, count in counts]

    def _fewer_than(self, site: FrameSite, card: str, count: int) -> Term:
        key = site.index, card, count
        if key not in self._fewer:
            fewer = self._counted.model.new_bool_var("")
            load = expression(self._counted.count(site, card))
            self._counted.model.add(load <= count - 1).only_enforce_if(fewer)
            self._fewer[key] = fewer
        return self._fewer[key]

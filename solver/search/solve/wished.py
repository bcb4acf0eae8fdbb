"""What needs ask of their channels, as rows on which channel is where: each channel that does not have it is a loss."""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, TypeAlias

from solver.fitted.serving import Line
from solver.fitted.wishes_kept import Wish
from solver.room.survey import Need, Wanted
from solver.room.traits import ALIKE_LEVEL, LATENCY
from solver.rules.limit import Load, Term
from solver.search.model.services import expression

Place: TypeAlias = tuple[str, int, tuple[str, int]]
"""A frame, a number, and the card that answers it, by frame and first slot."""

Loss: TypeAlias = tuple[int, Term]


@dataclass(frozen=True)
class Channel:
    """A channel of a need: by places whether it is there, and whether it is nowhere."""

    at: Mapping[Place, Term]
    lost: Term

    def on(self, places: Collection[Place]) -> Load:
        """Whether it is at any of some places."""
        return [(1, self.at[place]) for place in places if place in self.at]


@dataclass(frozen=True)
class Wished:
    """Needs of which each channel is told apart, since they ask for something of numbers; and the lines of all needs.

    Of wishes that were `broken` nothing more can be lost.
    """

    model: Any
    frames: Sequence[str]
    """By their indices."""
    channels: Mapping[Need, Sequence[Channel]]
    taken: Mapping[Need, Sequence[tuple[str, Line, Term]]]
    """The lines that may serve a need, each with its frame and whether it does."""
    broken: Collection[tuple[Need, Wish]]

    def losses(self) -> tuple[Load, Load]:
        """How many channels do not have what their needs ask for, wish by wish; those of nice needs apart.

        One that is lost counts for nothing, nor does one because of it.
        """
        must: list[Loss] = []
        nice: list[Loss] = []
        for need, own in self.channels.items():
            for wish, loss in self._of(need.wanted, own) if need.wanted is not None else ():
                if (need, wish) not in self.broken:
                    (nice if need.nice else must).append(loss)
        for need, loss in self._alike():
            (nice if need.nice else must).append(loss)
        return must, nice

    def _of(self, wanted: Wanted, own: Sequence[Channel]) -> Iterator[tuple[Wish, Loss]]:
        every = dict.fromkeys(place for channel in own for place in channel.at)
        if wanted.frame is not None:
            for channel, number in zip(own, wanted.numbers(len(own)), strict=False):
                there = [place for place in channel.at if place[:2] == (self.frames[wanted.frame], number)]
                yield "asked-numbers", self._loss([([(1, 1)], [*channel.on(there), (1, channel.lost)])])
        if wanted.consecutive:
            before = {p: [q for q in every if q[:2] == (p[0], p[1] - 1)] for p in every}
            yield from (("consecutive", self._unless(c, one, before)) for one, c in pairwise(own))
            yield from (("banks", each) for each in own[0].on([p for p in every if (p[1] - 1) % wanted.bank]))
            if wanted.one_card:
                yield from (("one-card", each) for each in self._in_one(own, {p: p[2] for p in every}))
        if wanted.one_frame:
            yield from (("one-frame", each) for each in self._in_one(own, {p: p[0] for p in every}))
        if wanted.pairs:
            for one in own[::2]:
                yield from (("pairs", each) for each in one.on([place for place in every if place[1] % 2 == 0]))
            before = {p: [(p[0], p[1] - 1, p[2])] if p[1] % 2 == 0 else [] for p in every}
            yield from (("pairs", self._unless(c, one, before)) for one, c in zip(own[::2], own[1::2], strict=False))
        if wanted.returns is not None:
            back = next((channels for need, channels in self.channels.items() if need.name == wanted.returns), ())
            for channel, other in zip(own, back, strict=False):
                comes = {place: [q for q in other.at if q[:2] == place[:2]] for place in channel.at}
                yield "returns-on", self._unless(channel, other, comes)
        for card in {place[2]: None for place in every} if wanted.most_on_card is not None else ():
            over = self.model.new_int_var(0, len(own), "")
            here = [each for channel in own for each in channel.on([place for place in every if place[2] == card])]
            self.model.add(expression([*here, (-1, over)]) <= wanted.most_on_card)
            yield "per-card", (1, over)
        others = [each for need, lines in self.taken.items() if need.name in wanted.apart for each in lines]
        for channel in own if others else ():
            yield (
                "apart-from",
                self._loss(
                    [
                        ([(1, term), (1, other)], [(1, 1)])
                        for (_, _, card), term in channel.at.items()
                        for frame, line, other in others
                        if (frame, line.card) == card
                    ]
                ),
            )

    def _unless(self, channel: Channel, other: Channel, where: Mapping[Place, Collection[Place]]) -> Loss:
        """A channel that is at a place while another is there and not where it belongs then."""
        return self._loss(
            [([(1, term)], [*other.on(where[place]), (1, other.lost)]) for place, term in channel.at.items()]
        )

    def _in_one(self, own: Sequence[Channel], part: Mapping[Place, Hashable]) -> Iterator[Loss]:
        """Each channel that is in another part than most of them."""
        places: dict[Hashable, list[Place]] = {}
        for place, each in part.items():
            places.setdefault(each, []).append(place)
        chosen = [(there, self.model.new_bool_var("")) for there in places.values()]
        self.model.add_at_most_one(term for _, term in chosen)
        yield from (self._loss([(channel.on(there), [(1, term)]) for there, term in chosen]) for channel in own)

    def _alike(self) -> Iterator[tuple[Need, Loss]]:
        """The channels of each line that is otherwise than most that are to be alike with it."""
        for one in dict.fromkeys(one for need in self.taken for one in need.one_of):
            wish = {LATENCY: "same-latency", ALIKE_LEVEL: "alike-levels"}[one.of[0]]
            asking = [need for need in self.taken if one in need.one_of]
            if any((need, wish) in self.broken for need in asking):
                continue
            chosen = {way: self.model.new_bool_var("") for way in one.ways}
            self.model.add_exactly_one(chosen.values())
            for need in asking:
                for _, line, term in self.taken[need]:
                    goes = [(1, own) for way, own in chosen.items() if way in line.line_type.traits]
                    yield need, (len(line.channels), self._loss([([(1, term)], goes)])[1])

    def _loss(self, rows: Sequence[tuple[Load, Load]]) -> Loss:
        """One if any load is more than what is beside it."""
        loss = self.model.new_bool_var("")
        for load, enough in rows:
            self.model.add(expression([*load, *((-amount, term) for amount, term in enough), (-1, loss)]) <= 0)
        return 1, loss

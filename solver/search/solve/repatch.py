"""Where channels go whose lines fail: which line serves which need, and as few others moved as can be.

Numbers stay where they are; a channel is moved when it gets another one.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, TypeAlias

from solver.fitted.moves import Spot, serving
from solver.fitted.repatched import Repatch, Repatched
from solver.fitted.serving import Line
from solver.fitted.standing import FrameStanding, Standing, stand
from solver.room.build import Build, Service
from solver.room.survey import Need
from solver.room.words import DIRECTIONS, Direction, write_ranges
from solver.search.model.cpsat import cp_model
from solver.search.model.services import expression
from solver.search.solve.clock import Clock, Stopped
from solver.search.solve.solving import solve

CardChannel: TypeAlias = tuple[str, Direction, int, int]
"""A frame by name, a direction, a slot, and a channel that counts along the slot."""

Load: TypeAlias = list[tuple[int, Any]]


def repatch(before: Standing, after: Sequence[FrameStanding], dead: Collection[CardChannel], clock: Clock) -> Repatched:
    """Serve again what a build serves, from the lines that are left.

    First as few channels as can be are lost of needs that have to be met, then of those that are nice to have, then of
    those to spare; then as few as can be get another number, those to spare before others; last the plainest lines
    serve, and the first in order. Cards stay set as they are: a line serves no need that asks for another setting.

    Parameters
    ----------
    before
        The build as it stood.
    after
        Its frames as they stand then: without cards that are gone, or with others.
    dead
        Card channels that are there and do not work.

    Raises
    ------
    Stopped
        If the clock is over before anything is found.
    """
    served = {need: spots for (_, need), spots in serving([before]).items() if spots}
    model = _Model(served, list(_lines(after, dead)))
    chosen, proven = model.solved(clock)
    dealt = [each for need, spots in served.items() for each in _dealt(need, spots, chosen[need])]
    return Repatched(tuple(dealt), proven)


def keep_numbers(before: Standing, found: Standing, clock: Clock) -> Standing:
    """A build that serves as much from lines as plain, with as many channels as can be on numbers that they had before.

    Nothing is used beyond the last number that is in use, so that no gap is made. A build in which needs ask for
    certain numbers stays as it is, and so does one for which nothing is found.
    """
    if found.survey.particular:
        return found
    old = {need: spots for (_, need), spots in serving([before]).items()}
    served: dict[Need, list[Spot | None]] = {}
    for (_, need), now in serving([found]).items():
        own: list[Spot | None] = list(old.get(need, [])[: len(now)])
        served[need] = own + [None] * (len(now) - len(own))
    lines = [
        (name, line)
        for name, line in _lines(found.frames, ())
        if line.first + len(line.channels) - 1 <= _last(found.by_name[name], line.direction)
    ]
    chosen, proven = _Model(served, lines, plain_first=True).solved(clock)
    services: dict[str, list[Service]] = {frame.site.name: [] for frame in found.frames}
    for need, spots in served.items():
        mine = [spot for frame, line in chosen[need] for spot in _spots(found.survey.room, frame, line)]
        had = {(spot.frame, spot.number) for spot in spots if spot is not None}
        mine.sort(key=lambda spot: ((spot.frame, spot.number) not in had, spot.frame, spot.number or 0))
        if len(mine) < len(spots):
            return found
        by_slot: dict[tuple[str, int], list[int]] = {}
        for spot in mine[: len(spots)]:
            by_slot.setdefault((spot.frame, spot.slot), []).append(spot.card_channel)
        for (frame, slot), channels in sorted(by_slot.items()):
            services[frame].append(Service(need=need.name, slot=slot, channels=write_ranges(sorted(channels))))
    frames = tuple(
        frame.built.model_copy(
            update={"serves": tuple(sorted(services[frame.site.name], key=lambda s: (s.need, s.slot)))}
        )
        for frame in found.frames
    )
    return stand(found.survey, Build(title=found.survey.title, frame=frames)) if proven else found


def _last(frame: FrameStanding, direction: Direction) -> int:
    """The last number of a frame that serves anything in a direction; with all of its line."""
    used = [(use.channel, use.number) for use in frame.uses if use.need.direction == direction]
    ends = [number + channel.line[-1] - channel.index for channel, number in used if channel and number is not None]
    return max(ends, default=0)


def _lines(frames: Sequence[FrameStanding], dead: Collection[CardChannel]) -> Iterator[tuple[str, Line]]:
    """The lines that work, each with the name of its frame."""
    for frame in sorted(frames, key=lambda frame: frame.site.name):
        for direction in DIRECTIONS:
            for line in frame.lines(direction):
                if not any((frame.site.name, direction, line.slot, channel) in dead for channel in line.channels):
                    yield frame.site.name, line


def _spots(room: str | None, frame: str, line: Line) -> list[Spot]:
    return [Spot(room, frame, line.first + at, line.slot, channel) for at, channel in enumerate(line.channels)]


class _Model:
    """Which line serves which need."""

    def __init__(
        self,
        served: Mapping[Need, Sequence[Spot | None]],
        lines: Sequence[tuple[str, Line]],
        *,
        plain_first: bool = False,
    ) -> None:
        self.model = cp_model.CpModel()
        self.takes: dict[Need, list[tuple[str, Line, Any]]] = {need: [] for need in served}
        for frame, line in lines:
            terms = []
            for need, own in self.takes.items():
                if line.direction == need.direction and need.ask in line.line_type.asks:
                    terms.append(self.model.new_bool_var(""))
                    own.append((frame, line, terms[-1]))
            self.model.add_at_most_one(terms)
        must: Load = []
        nice: Load = []
        spare: Load = []
        for need, spots in served.items():
            real, rest = self._lacking(need, len(spots))
            (nice if need.nice else must).append((1, real))
            spare.append((1, rest))
        most = sum(map(len, served.values()))
        moved: Load = [
            (1 if channel > need.channels else most + 1, self._moved(need, spot))
            for need, spots in served.items()
            for channel, spot in enumerate(spots, start=1)
            if spot is not None
        ]
        misfit: Load = [(x.line_type.misfit, t) for own in self.takes.values() for _, x, t in own if x.line_type.misfit]
        order: Load = [(at, t) for own in self.takes.values() for at, (_, _, t) in enumerate(own, start=1)]
        rest = [misfit, moved] if plain_first else [moved, misfit]
        self.stages = [must, nice, spare, *rest, order]

    def _lacking(self, need: Need, served: int) -> tuple[Any, Any]:
        """How many channels a need lacks of so many: those that it asks for, and those to spare."""
        asked = min(served, need.channels)
        real, spare = (self.model.new_int_var(0, most, "") for most in (asked, served - asked))
        brought = [(len(line.channels), term) for _, line, term in self.takes[need]]
        self.model.add(expression([*brought, (1, real), (1, spare)]) >= served)
        return real, spare

    def _moved(self, need: Need, spot: Spot) -> Any:
        """Whether a channel of a need does not keep its number."""
        moved = self.model.new_bool_var("")
        here = [
            (1, term)
            for frame, line, term in self.takes[need]
            if frame == spot.frame and spot.number is not None and 0 <= spot.number - line.first < len(line.channels)
        ]
        self.model.add(expression([*here, (1, moved)]) >= 1)
        return moved

    def solved(self, clock: Clock) -> tuple[dict[Need, list[tuple[str, Line]]], bool]:
        """The lines of each need, and whether each stage is proven."""
        solver = None
        proven = True
        for load in self.stages:
            total = expression(load)
            if isinstance(total, int):
                continue
            self.model.minimize(total)
            status, found = solve(self.model, clock)
            if status not in ("proven", "found"):
                proven = False
                break
            solver = found
            proven = proven and status == "proven"
            self.model.add(total <= round(found.objective_value))
        if solver is None and not proven:
            raise Stopped
        return {
            need: [(frame, line) for frame, line, term in own if solver is not None and solver.boolean_value(term)]
            for need, own in self.takes.items()
        }, proven


def _dealt(need: Need, spots: Sequence[Spot], lines: Sequence[tuple[str, Line]]) -> list[Repatch]:
    """The channels of a need on the lines that it has: those that can keep their numbers, the others in order.

    Where lines are short, those to spare give theirs to others.
    """
    free = {(spot.frame, spot.number): spot for frame, line in lines for spot in _spots(spots[0].room, frame, line)}
    found: list[Repatch] = []
    for channel, spot in enumerate(spots, start=1):
        found.append(Repatch(need, channel, spot, free.pop((spot.frame, spot.number), None)))
    left = iter(free.values())
    found = [each if each.after is not None else replace(each, after=next(left, None)) for each in found]
    lost = [at for at, each in enumerate(found) if each.after is None and not each.spare]
    given = [at for at, each in enumerate(found) if each.after is not None and each.spare]
    for at, giver in zip(lost, given[-len(lost) :] if lost else [], strict=False):
        found[at], found[giver] = replace(found[at], after=found[giver].after), replace(found[giver], after=None)
    return found

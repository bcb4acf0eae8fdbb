"""Where channels go whose lines fail: which line serves which need, and as few others moved as can be.

Numbers stay where they are; a channel is moved when it gets another one.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, TypeAlias

from solver.fitted.frame import FrameStanding
from solver.fitted.moves import Spot, serving
from solver.fitted.repatched import Repatch, Repatched
from solver.fitted.serving import Line
from solver.fitted.standing import Standing
from solver.fitted.wishes_kept import Wish, astray, held
from solver.room.hardware import PHANTOM
from solver.room.survey import Need
from solver.room.words import DIRECTIONS, Direction
from solver.rules.limit import Load, Term
from solver.search.model.cpsat import cp_model
from solver.search.model.services import expression
from solver.search.solve.clock import Clock, Stopped
from solver.search.solve.order import digits
from solver.search.solve.solving import solve
from solver.search.solve.wished import Channel, Place, Wished

CardChannel: TypeAlias = tuple[str, Direction, int, int]
"""A frame by name, a direction, a slot, and a channel that counts along the slot."""


@dataclass(frozen=True)
class Others:
    """What other rooms lend: lines with their frames, what may give way on them, and the room of each frame."""

    lines: Sequence[tuple[str, Line]] = ()
    served: Mapping[Need, Sequence[Spot]] = field(default_factory=dict)
    room_of: Mapping[str, str | None] = field(default_factory=dict)


NOBODY = Others()


def repatch(
    before: Standing,
    after: Sequence[FrameStanding],
    dead: Collection[CardChannel],
    clock: Clock,
    unfed: Collection[tuple[str, int]] = (),
    *,
    borrow: bool = False,
    others: Others = NOBODY,
) -> Repatched:
    """Serve again what a build serves, from the lines that are left.

    First as few channels as can be are lost of needs that are critical, then of others that have to be met, then of
    those that are nice to have; then as few as can be, of needs that have to be met before nice ones, do not have what
    they had of what their needs ask for (`fitted/wishes_kept.py`); then as few as can be of those to spare are lost;
    then as few as can be get another number, those to spare before others; last the plainest lines serve, and the
    first in order. Where nothing is borrowed no need is left with fewer channels, but those to spare, than work where
    they are. Cards stay set as they are: a line serves no need that asks for another setting.

    Lines of other rooms serve as well, where there are any. Once as little as can be is lost of what is asked for, as
    little as can be is lost of what is to spare there, then as few lines as can be serve in a room that is not theirs.

    Parameters
    ----------
    before
        The build as it stood.
    after
        Its frames as they stand then: without cards that are gone, or with others.
    dead
        Card channels that are there and do not work.
    unfed
        Slots of frames of which no input gets phantom power, however it is set.
    borrow
        Whether channels that work may be given up for others.
    others
        What other rooms lend; their channels come after those of the room.

    Raises
    ------
    Stopped
        If the clock is over before anything is found.
    """
    served = {need: spots for (_, need), spots in serving([before]).items() if spots}
    broken = astray(before, held(before, served))
    frames = [site.name for site in before.survey.frames]
    model = _PatchModel(
        {**served, **others.served},
        [*_lines(after, dead), *others.lines],
        unfed,
        borrow=borrow,
        frames=frames,
        broken=broken,
        room_of=others.room_of,
    )
    return Repatched(*model.solved(clock))


def wants_phantom(need: Need) -> bool:
    """Whether a need asks for phantom power."""
    return (PHANTOM, "on") in need.traits


def carried_on(before: Standing, after: Standing, *, proven: bool) -> Repatched:
    """Where the channels of a build are in one that takes its place, need by need as far as they have names in both."""
    now = {need.name: spots for (_, need), spots in serving([after]).items()}
    pairs = ((need, spots) for (_, need), spots in serving([before]).items())
    return Repatched(tuple(each for need, own in pairs for each in _dealt(need, own, now.get(need.name, ()))), proven)


def _lines(frames: Sequence[FrameStanding], dead: Collection[CardChannel]) -> Iterator[tuple[str, Line]]:
    """The lines that work, each with the name of its frame."""
    for frame in sorted(frames, key=lambda frame: frame.site.name):
        for direction in DIRECTIONS:
            for line in frame.lines(direction):
                if not any((frame.site.name, direction, line.slot, channel) in dead for channel in line.channels):
                    yield frame.site.name, line


def _spots(room: str | None, frame: str, line: Line) -> list[Spot]:
    return [Spot(room, frame, line.first + at, line.slot, channel) for at, channel in enumerate(line.channels)]


class _PatchModel:
    """Which line serves which need, and of needs that ask for something of numbers which channel is where.

    `served` has where channels were, `lines` what is left with the frames of each, `frames` all by their indices, and
    `broken` what needs did not have before of what they ask for. `room_of` has the frames of other rooms.
    """

    def __init__(
        self,
        served: Mapping[Need, Sequence[Spot]],
        lines: Sequence[tuple[str, Line]],
        unfed: Collection[tuple[str, int]] = (),
        *,
        borrow: bool,
        frames: Sequence[str],
        broken: Collection[tuple[Need, Wish]],
        room_of: Mapping[str, str | None],
    ) -> None:
        self.model = cp_model.CpModel()
        self.served = served
        self.takes: dict[Need, list[tuple[str, Line, Any]]] = {need: [] for need in served}
        self._by_line: list[list[Term]] = []
        for frame, line in lines:
            terms: list[Term] = []
            for need, own in self.takes.items():
                lacks_power = wants_phantom(need) and (frame, line.slot) in unfed
                if line.direction == need.direction and need.ask in line.line_type.asks and not lacks_power:
                    terms.append(self.model.new_bool_var(""))
                    own.append((frame, line, terms[-1]))
            self.model.add_at_most_one(terms)
            self._by_line.append(terms)
        self._room_of = room_of
        self._away: dict[Need, list[Term]] = {}
        self.channels = {
            need: self._told_apart(need, len(spots)) for need, spots in served.items() if need.wanted is not None
        }
        critical: list[tuple[int, Term]] = []
        must: list[tuple[int, Term]] = []
        nice: list[tuple[int, Term]] = []
        spare: list[tuple[int, Term]] = []
        lent: list[tuple[int, Term]] = []
        away: list[tuple[int, Term]] = []
        for need, spots in served.items():
            lends = spots[0].frame in room_of
            work = 0 if borrow or lends else sum(bool(self._here(need, spot)) for spot in spots)
            real, rest = self._lacking(need, len(spots), work)
            (critical if need.critical else nice if need.nice else must).extend(real)
            (lent if lends else spare).extend(rest)
            away += [(len(line.channels), term) for frame, line, term in self._elsewhere(need)]
        most = sum(map(len, served.values()))
        moved: Load = [
            (1 if channel > need.channels else most + 1, self._moved(need, channel, spot))
            for need, spots in served.items()
            for channel, spot in enumerate(spots, start=1)
        ]
        misfit: Load = [(x.line_type.misfit, t) for own in self.takes.values() for _, x, t in own if x.line_type.misfit]
        apart = [list(channel.at.values()) for own in self.channels.values() for channel in own]
        self.stages = [
            critical,
            must,
            nice,
            lent,
            away,
            *Wished(self.model, frames, self.channels, self.takes, broken).losses(),
            spare,
            moved,
            misfit,
        ]
        self.stages += [*digits(self._by_line), *digits(apart)]

    def _elsewhere(self, need: Need) -> list[tuple[str, Line, Term]]:
        """The lines that may serve a need in a room that is not its own."""
        home = self._room_of.get(self.served[need][0].frame)
        return [each for each in self.takes[need] if self._room_of.get(each[0]) != home]

    def _told_apart(self, need: Need, count: int) -> list[Channel]:
        """So many channels of a need, each at one place of a line that serves it, or lost to what it asks for.

        Lines of other rooms do not keep to that: as many of those that are lost go on there as these carry.
        """
        elsewhere = self._elsewhere(need)
        others = {frame for frame, _, _ in elsewhere}
        at_home = [each for each in self.takes[need] if each[0] not in others]
        found = []
        on: dict[Place, list[tuple[int, Term]]] = {}
        for _ in range(count):
            at: dict[Place, Term] = {}
            for frame, line, _term in at_home:
                for number in range(line.first, line.first + len(line.channels)):
                    at[frame, number, (frame, line.card)] = self.model.new_bool_var("")
            for place, term in at.items():
                on.setdefault(place, []).append((1, term))
            found.append(Channel(at, self.model.new_bool_var("")))
            self.model.add_exactly_one([*at.values(), found[-1].lost])
        for frame, line, term in at_home:
            for number in range(line.first, line.first + len(line.channels)):
                self.model.add(expression([*on.get((frame, number, (frame, line.card)), []), (-1, term)]) <= 0)
        if elsewhere:
            away = self._away[need] = [self.model.new_bool_var("") for _ in found]
            for term, channel in zip(away, found, strict=True):
                self.model.add_implication(term, channel.lost)
            carried = [(-len(line.channels), term) for _, line, term in elsewhere]
            self.model.add(expression([*((1, term) for term in away), *carried]) <= 0)
        return found

    def _lacking(self, need: Need, served: int, kept: int) -> tuple[Load, Load]:
        """How many channels a need lacks of so many, of which some are `kept`: those that it asks for, and to spare."""
        asked = min(served, need.channels)
        most = max(0, asked - kept)
        if need in self.channels:
            lost: Load = [(1, channel.lost) for channel in self.channels[need]]
            away: Load = [(-1, term) for term in self._away.get(need, ())]
            if lost[:asked]:
                self.model.add(expression([*lost[:asked], *away[:asked]]) <= most)
            return [*lost[:asked], *away[:asked]], [*lost[asked:], *away[asked:]]
        real, spare = (self.model.new_int_var(0, count, "") for count in (most, served - asked))
        brought = [(len(line.channels), term) for _, line, term in self.takes[need]]
        self.model.add(expression([*brought, (1, real), (1, spare)]) >= served)
        if brought:
            self.model.add(expression(brought) <= served + max(size for size, _ in brought) - 1)
        return [(1, real)], [(1, spare)]

    def _moved(self, need: Need, channel: int, spot: Spot) -> Any:
        """Whether a channel of a need does not keep its number."""
        moved = self.model.new_bool_var("")
        self.model.add(expression([*self._here(need, spot, channel), (1, moved)]) >= 1)
        return moved

    def _here(self, need: Need, spot: Spot, channel: int | None = None) -> Load:
        """The line of a number that can serve a need there, with that channel of it; nothing where it works no more."""
        if channel is not None and need in self.channels:
            at = self.channels[need][channel - 1].at
            return [
                (1, term) for (frame, number, _), term in at.items() if (frame, number) == (spot.frame, spot.number)
            ]
        return [
            (1, term)
            for frame, line, term in self.takes[need]
            if frame == spot.frame and spot.number is not None and 0 <= spot.number - line.first < len(line.channels)
        ]

    def solved(self, clock: Clock) -> tuple[tuple[Repatch, ...], bool]:
        """Where each channel is, and whether each stage is proven."""
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
        dealt: list[Repatch] = []
        for need, spots in self.served.items():
            spot_of = {
                (spot.frame, spot.number): spot
                for frame, line, term in self.takes[need]
                if solver is not None and solver.boolean_value(term)
                for spot in _spots(spots[0].room, frame, line)
            }
            if need not in self.channels:
                dealt += _dealt(need, spots, list(spot_of.values()))
                continue
            others = {frame for frame, _, _ in self._elsewhere(need)}
            elsewhere = iter([spot for spot in spot_of.values() if spot.frame in others])
            away = self._away.get(need, [None] * len(spots))
            for n, (channel, spot, goes) in enumerate(zip(self.channels[need], spots, away, strict=True), 1):
                chosen = (p for p, term in channel.at.items() if solver is not None and solver.boolean_value(term))
                place = next(chosen, None)
                now = None if place is None else spot_of[place[0], place[1]]
                if goes is not None and solver is not None and solver.boolean_value(goes):
                    now = next(elsewhere)
                dealt.append(Repatch(need, n, spot, now))
        return tuple(dealt), proven


def _dealt(need: Need, spots: Sequence[Spot], now: Sequence[Spot]) -> list[Repatch]:
    """The channels of a need on what it has: those that can keep their numbers, the others in order.

    Where that is short, those to spare give theirs to others.
    """
    free = {(spot.frame, spot.number): spot for spot in now}
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

"""A build made ready: cards and numbers resolved against a survey, with no judgement yet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from solver.fitted.cards_set import CardSwitch, read_cards_set, stood_sets, told
from solver.fitted.decided import Held, Served, serve_however
from solver.fitted.frame import FrameStanding, Seated, Use, holes_below
from solver.fitted.placing import Patience
from solver.fitted.settings import read_settings
from solver.room.build import Build, BuiltFrame, Service
from solver.room.buying import bought
from solver.room.hardware import LEVEL
from solver.room.kind import Kind
from solver.room.straps import lay_out
from solver.room.survey import FrameSite, Need, Survey
from solver.room.termination import settled
from solver.room.traits import ALIKE_LEVEL, Trait
from solver.room.words import DIRECTIONS, Direction, write_ranges


@dataclass(frozen=True)
class Standing:
    """A build against a survey."""

    survey: Survey
    frames: tuple[FrameStanding, ...]
    untried: tuple[str, ...] = ()
    """The frames that do not say what serves what, where there are ways that were not tried."""
    allotted: tuple[str, ...] = field(default=(), compare=False)
    """The frames that do not say what serves what."""

    @cached_property
    def by_name(self) -> dict[str, FrameStanding]:
        """The frames that are used."""
        return {frame.site.name: frame for frame in self.frames}

    @cached_property
    def cards(self) -> Counter[str]:
        """Cards of each kind over all frames."""
        return Counter(seat.kind.id for frame in self.frames for seat in frame.seats)

    @cached_property
    def items(self) -> Counter[str]:
        """Everything that stock or offers must supply: cards, chassis and boards.

        A card that can be used where it stands alone is taken elsewhere too.
        """
        found = Counter(self.cards)
        seats = {(frame.site.name, seat.slot, seat.kind.id) for frame in self.frames for seat in frame.seats}
        for site in self.survey.frames:
            found.update(card for slot, card in site.worn if (site.name, slot, card) not in seats)
        for frame in self.frames:
            spec = frame.site.spec
            if not spec.owned:
                found[frame.site.chassis.id] += 1
            if not (spec.owned and spec.board):
                found[frame.built.board] += 1
        return found

    @cached_property
    def orders(self) -> dict[str, list[tuple[int, int]]]:
        """What must be bought: count and price for each offer drawn on, by item."""
        drawn = {item: bought(self.survey, item, used) for item, used in sorted(self.items.items())}
        return {item: [(count, offer.price) for count, offer in own] for item, own in drawn.items() if own}

    @cached_property
    def cost(self) -> int:
        """Total of the orders in minor units."""
        return sum(count * price for lines in self.orders.values() for count, price in lines)

    def uses(self, need: Need) -> list[tuple[FrameStanding, Use]]:
        """Every channel that serves a need."""
        return self._uses.get(need, [])

    @cached_property
    def _uses(self) -> dict[Need, list[tuple[FrameStanding, Use]]]:
        found: dict[Need, list[tuple[FrameStanding, Use]]] = {}
        for frame in self.frames:
            for use in frame.uses:
                found.setdefault(use.need, []).append((frame, use))
        return found

    def in_order(self, need: Need) -> list[tuple[FrameStanding, Use]]:
        """The channels that serve a need in the order in which it counts them: channel 1 first.

        That is the order of the numbers that it lists, or a need that has the same numbers, else of frames and numbers.
        """
        wanted = self.survey.listing(need)

        def key(entry: tuple[FrameStanding, Use]) -> tuple[object, ...]:
            frame, use = entry
            listed = wanted.listed if wanted is not None and wanted.frame == frame.site.index else ()
            at = listed.index(use.number) if use.number in listed else len(listed)
            return at, frame.site.name, use.number is None, use.number or 0, use.slot, use.index

        return sorted(self.uses(need), key=key)

    def served(self, need: Need) -> int:
        """How many channels serve a need."""
        return len(self.uses(need))

    def surplus(self, need: Need) -> int:
        """How many more channels could serve a need, among those that are to serve it, than it asks for."""
        able = {
            (frame.site.index, use.slot, use.index)
            for frame in self.frames
            for use in frame.named
            if use.need == need and frame.can_serve(use)
        }
        return max(0, len(able) - need.demand)

    def short(self) -> dict[Need, int]:
        """The needs that are nice to have and not met whole, and the channels that each lacks."""
        lacking = {need: need.demand - self.served(need) for need in self.survey.needs if need.nice}
        return {need: lacks for need, lacks in lacking.items() if lacks > 0}


def _frame(survey: Survey, site: FrameSite, built: BuiltFrame) -> FrameStanding:
    """A frame with its cards and numbers; without these where a group that changes them is not set."""
    board = next(b for b in survey.hardware.board if b.id == built.board)
    read = read_settings(board, built.straps, survey.family)
    layout = None if read.undecided else lay_out(board, site.chassis.slot_count, survey.family, read.chosen)
    seats = tuple(Seated(slot, survey.kinds[card]) for slot, card in built.seats())
    return FrameStanding(site, built, board, layout, seats, strays=read.strays)


def _named(survey: Survey, frame: FrameStanding, services: tuple[Service, ...]) -> tuple[Use, ...]:
    by_place = {
        (direction, slot, channel.index): (channel, number)
        for direction in DIRECTIONS
        for slot, channel, number in frame.channels(direction)
    }
    needs = {need.name: need for need in survey.needs}
    found: list[Use] = []
    for service in services:
        need = needs.get(service.need)
        if need is None:
            continue
        for index in service.indices():
            channel, number = by_place.get((need.direction, service.slot, index), (None, None))
            found.append(Use(need, service.slot, index, channel, number))
    return tuple(found)


def _serving(frames: Sequence[FrameStanding]) -> tuple[FrameStanding, ...]:
    """The frames with the channels that serve: of each need the first ones that can, up to what it asks for."""
    left: dict[Need, int] = {}
    found: list[FrameStanding] = []
    for frame in frames:
        able = {(use.need, use.slot, use.index): use for use in frame.named if frame.can_serve(use)}
        uses: list[Use] = []
        for use in sorted(able.values(), key=lambda use: (use.need.name, use.slot, use.index)):
            if left.setdefault(use.need, use.need.demand):
                left[use.need] -= 1
                uses.append(use)
        found.append(replace(frame, uses=tuple(uses)))
    return tuple(found)


def stand(
    survey: Survey,
    build: Build,
    ends: Mapping[Direction, Mapping[int, int]] | None = None,
    set_to: Mapping[str, Mapping[CardSwitch, Collection[str]]] | None = None,
    held: Held | None = None,
    *,
    patiently: bool = False,
) -> Standing:
    """Resolve a build. Frames that do not say what serves what are allotted what the others leave of the needs.

    Parameters
    ----------
    ends
        By direction, then frame index: the last slot that may serve, where the search has settled it.
    set_to
        By frame the choices that switches of its cards may have, in place of what the build says.
    held
        What is said of what serves what. The plainest lines serve the rest then.
    patiently
        Whether every way to serve is tried, however long that takes, and what is short then stays so.
    """
    patience = Patience(None) if patiently else Patience()
    frames: list[FrameStanding] = []
    for built in sorted(build.frame, key=lambda f: f.name):
        site = survey.site(built.name)
        if site is None or not built.cards:
            continue
        frame = _frame(survey, site, built)
        frames.append(_as_set(frame, None if set_to is None else set_to.get(site.name, {})))
    silent = [frame for frame in frames if frame.built.serves is None]
    if silent:
        needs = _left(survey, _serving([_naming(survey, f) for f in frames if f.built.serves is not None]))
        lines = [line for frame in silent for direction in DIRECTIONS for line in frame.lines(direction)]
        holes = {d: {k: v for f in silent for k, v in holes_below(f, d).items()} for d in DIRECTIONS}
        plain_first = held is not None or not {"unused", "holes"} & set(survey.rank)
        served = serve_however(
            needs, lines, holes, ends, patience, held=held or Held(), plain_first=plain_first, strictly=patiently
        )
        frames = [_with_services(f, _services(f, served)) if f.built.serves is None else f for f in frames]
    allotted = tuple(frame.site.name for frame in silent)
    untried = allotted if patience.over else ()
    return Standing(survey, _serving([_naming(survey, frame) for frame in frames]), untried, allotted)


def uses_of_nothing(survey: Survey, build: Build) -> Iterator[tuple[str, Use]]:
    """By frame what is said to serve in slots in which nothing stands, with the numbers that it would have."""
    for built in sorted(build.frame, key=lambda f: f.name):
        site = survey.site(built.name)
        if site is None:
            continue
        frame = _frame(survey, site, built)
        for use in _named(survey, frame, built.serves or ()):
            block = frame.block(use.need.direction, use.slot)
            if frame.occupant(use.slot) is None and use.index <= block.width:
                yield site.name, replace(use, number=block.first + use.index - 1)


def _as_set(frame: FrameStanding, set_to: Mapping[CardSwitch, Collection[str]] | None) -> FrameStanding:
    """A frame with its cards set as it says, or as they may be."""
    if set_to is not None:
        return replace(frame, set_to=set_to)
    if not frame.built.settings:
        return frame

    def card_in(slot: int) -> tuple[int, Kind] | None:
        seat = frame.occupant(slot)
        return None if seat is None else (seat.slot, seat.kind)

    chosen, strays = read_cards_set(frame.built.settings, card_in)
    return replace(frame, set_to={switch: (choice,) for switch, choice in chosen.items()}, stray_sets=strays)


def set_for_needs(standing: Standing) -> Standing:
    """The same with its cards set as what they serve asks for, whole lines alike, and else as they stood or come."""
    stood = {f.site.name: _stood(standing.survey, f) for f in standing.frames}
    levels = {need: level for need in standing.survey.needs if (level := _level(standing, need, stood)) is not None}
    frames = []
    for frame in standing.frames:
        chosen = dict(stood[frame.site.name])
        for use in frame.uses:
            seat, asked = frame.occupant(use.slot), dict(use.need.traits)
            if use.need in levels:
                asked[LEVEL] = levels[use.need]
            if seat is None or use.channel is None or not asked:
                continue
            for index in use.channel.line:
                for switch in seat.kind.switches_at(use.need.direction, use.slot - seat.slot, index):
                    if switch.setting.name in asked:
                        chosen[seat.slot, switch] = asked[switch.setting.name]
        built = frame.built.model_copy(update={"settings": told(chosen)})
        frames.append(_as_set(replace(frame, built=built), None))
    return replace(standing, frames=tuple(frames))


def _stood(survey: Survey, frame: FrameStanding) -> dict[CardSwitch, str]:
    return stood_sets(survey, frame.site.name, ((seat.slot, seat.kind.id) for seat in frame.seats))


def _level(standing: Standing, need: Need, stood: Mapping[str, Mapping[CardSwitch, str]]) -> str | None:
    """The full-scale level at which all lines of a need are alike, where that is asked for; few settings are changed.

    Of equal ones it is the first.
    """
    one = next((one for one in need.one_of if one.of[0] == ALIKE_LEVEL), None)
    if one is None:
        return None
    uses = [(f, use) for f in standing.frames for use in f.uses if one in use.need.one_of and use.channel is not None]
    ways = [way for way in one.ways if all(u.channel and way in u.channel.line_type.traits for _, u in uses)]

    def changed(way: Trait) -> int:
        before = [
            stood[frame.site.name].get((seat.slot, switch), switch.setting.usual)
            for frame, use in uses
            for seat in [frame.occupant(use.slot)]
            if seat is not None
            for switch in seat.kind.switches_at(use.need.direction, use.slot - seat.slot, use.index)
            if switch.setting.name == LEVEL
        ]
        return sum(choice != way[1] for choice in before)

    return min(ways, key=changed)[1] if ways else None


def _naming(survey: Survey, frame: FrameStanding) -> FrameStanding:
    return replace(frame, named=_named(survey, frame, frame.built.serves or ()))


def _left(survey: Survey, frames: Sequence[FrameStanding]) -> list[Need]:
    """The needs with what these frames leave of them."""
    served = Counter(use.need for frame in frames for use in frame.uses)
    left = {need: need.demand - served[need] for need in survey.needs}
    begun = {need.name for need in survey.needs if served[need]}
    return [
        replace(need, channels=count, spare=0, wanted=None if {need.name, _partner(need)} & begun else need.wanted)
        for need, count in left.items()
        if count
    ]


def _partner(need: Need) -> str | None:
    return None if need.wanted is None else need.wanted.partner


def _with_services(frame: FrameStanding, services: tuple[Service, ...]) -> FrameStanding:
    built = frame.built.model_copy(update={"serves": services})
    return replace(frame, built=built)


def _services(frame: FrameStanding, served: Served) -> tuple[Service, ...]:
    found: list[Service] = []
    for need, lines in sorted(served.items()):
        by_slot: dict[int, list[int]] = {}
        for line, channels in lines:
            if line.frame == frame.site.index:
                by_slot.setdefault(line.slot, []).extend(channels)
        found.extend(Service(need=need, slot=s, channels=write_ranges(c)) for s, c in sorted(by_slot.items()))
    return tuple(found)


def with_terminations(survey: Survey, build: Build) -> Build:
    """A build of a room in which the last used frame of each clock line ends it, and no other does."""
    if not survey.clock_lines:
        return build
    boards = {board.id: board for board in survey.hardware.board}
    seats = {site.name: site.line for site in survey.frames if site.line}
    return settled(build, boards, seats, {site.name: site.spec.straps for site in survey.frames})


def build_of(standing: Standing, title: str | None = None) -> Build:
    """The build again, with what serves what filled in."""
    return Build(title=title, frame=tuple(frame.built for frame in standing.frames))

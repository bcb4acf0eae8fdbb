"""What of a build fails, by the names that are told of it, and what that takes."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from solver.fitted.cooled import fan_fails, runs_without_a_fan
from solver.fitted.frame import FrameStanding
from solver.fitted.moves import Spot, serving
from solver.fitted.standing import Standing
from solver.fitted.supplied import draws, stops_with_a_supply, stops_without
from solver.handover.clocking import ClockPart, clock_parts, without_clock
from solver.handover.lookup import Trails
from solver.handover.trail import Trail
from solver.handover.wiring import Wiring
from solver.judge.clocks import Tree
from solver.relax.replaced import Seat
from solver.room.assets import Asset
from solver.room.errors import WrongQuestion
from solver.room.faults import nearest, quote
from solver.room.hardware import PHANTOM, FanAir
from solver.room.rail_names import is_phantom
from solver.room.signals import NO_PHANTOM
from solver.room.survey import Need
from solver.search.solve.repatch import CardChannel, wants_phantom

PARTS = ("frame:", "board:", "supply:", "fan:", "rail:", "clock:", "clock-line:")
"""What names of parts of frames and of the clock begin with."""


@dataclass
class Dead:
    """What has failed. Frames are told by their names."""

    channels: set[CardChannel] = field(default_factory=set)
    cards: set[Seat] = field(default_factory=set)
    """Cards that work no more."""
    suspects: set[Seat] = field(default_factory=set)
    """What is exchanged: those, and cards of which single channels fail."""
    lasting: set[CardChannel] = field(default_factory=set)
    """Channels that fail whatever card is there: on a loom or on points of bays."""
    frames: set[str] = field(default_factory=set)
    supplies: set[str] = field(default_factory=set)
    boards: set[str] = field(default_factory=set)
    fans: set[str] = field(default_factory=set)
    rails: set[tuple[str, str]] = field(default_factory=set)
    tree: Tree | None = None
    """The clock of the room, as its lines are drawn."""
    givers: set[str] = field(default_factory=set)
    """Devices that give no clock any more, but for boards."""
    below_lines: set[str] = field(default_factory=set)
    """Devices that get none, since a line fails."""
    shelved: list[Asset] = field(default_factory=list)
    """Cards in no slot of the build: nothing is lost with them, and none of them takes another's place."""

    def unclocked(self, fitted: Collection[str] = ()) -> set[str]:
        """Devices and frames that have no clock; some boards are `fitted` anew."""
        return self.below_lines | without_clock(self.tree, {*self.givers, *(self.boards - set(fitted))})

    def stopped(self, frame: FrameStanding, fitted: Collection[str] = ()) -> set[Seat]:
        """The cards of a frame that stand still, whatever else is seated; some boards are `fitted` anew."""
        name = frame.site.name
        whole = name in self.unclocked(fitted) or name in self.frames or (name in self.boards and name not in fitted)
        whole |= name in self.supplies and stops_with_a_supply(frame)
        whole |= name in self.fans and not runs_without_a_fan(frame)
        rails = [rail for own, rail in self.rails if own == name and not is_phantom(rail)]
        still = {slot for rail in rails for slot in stops_without(frame, rail)}
        return {(name, seat.slot) for seat in frame.seats if whole or seat.slot in still}

    def unfed(self, frames: Iterable[FrameStanding]) -> set[tuple[str, int]]:
        """The slots of which no input gets phantom power."""
        return {
            (frame.site.name, slot)
            for frame in frames
            for own, rail in self.rails
            if own == frame.site.name and is_phantom(rail)
            for seat in frame.seats
            if draws(seat.kind.rails_ma, rail)
            for slot in seat.covers
        }


@dataclass(frozen=True)
class Taken:
    """What of a build is lost."""

    cards: frozenset[Seat]
    slots: frozenset[tuple[str, int]]
    channels: frozenset[CardChannel]
    unfed: frozenset[tuple[str, int]]

    def takes(self, need: Need, spot: Spot) -> bool:
        """Whether a channel of a need is lost."""
        at = spot.frame, spot.slot
        return at in self.slots or _place(need, spot) in self.channels or (wants_phantom(need) and at in self.unfed)


def left_unfed(standing: Standing, taken: Taken) -> Iterator[tuple[Need, int, Spot]]:
    """The channels of needs that lose phantom power, where no file says whether their sources take any."""
    for (_, need), spots in serving([standing]).items():
        if PHANTOM in dict(need.traits) or need.direction != "in" or need.signal in NO_PHANTOM:
            continue
        for channel, spot in enumerate(spots, start=1):
            frame = standing.by_name[spot.frame]
            fed = (spot.frame, spot.slot) in taken.unfed and PHANTOM in frame.set_on(spot.slot, "in", spot.card_channel)
            if fed and not taken.takes(need, spot):
                yield need, channel, spot


def what_is_taken(standing: Standing, dead: Dead) -> Taken:
    """What of a build is lost with what has failed."""
    cards = frozenset(dead.cards | {seat for frame in standing.frames for seat in dead.stopped(frame)})
    slots = {
        (frame.site.name, slot)
        for frame in standing.frames
        for seat in frame.seats
        for slot in seat.covers
        if (frame.site.name, seat.slot) in cards
    }
    unfed = frozenset(dead.unfed(standing.frames))
    return Taken(cards, frozenset(slots), frozenset(dead.channels), unfed)


def _place(need: Need, spot: Spot) -> CardChannel:
    return spot.frame, need.direction, spot.slot, spot.card_channel


def what_fails(wiring: Wiring, standing: Standing, whats: Sequence[str]) -> Dead:
    """What the names mean, all of it together."""
    known = Trails(wiring.trails, wiring.places)
    names = {name: part for frame in standing.frames for name, part in _parts(frame).items()}
    parts = {name.casefold(): part for name, part in names.items()}
    seat_of = {
        (frame.site.name, slot): (frame.site.name, seat.slot)
        for frame in standing.frames
        for seat in frame.seats
        for slot in seat.covers
    }
    tree = wiring.clocks.get(standing.survey.room)
    dead = Dead(tree=tree)
    clocks = {part.name.casefold(): part for part in clock_parts(tree, standing.by_name)}
    for what in (each.strip() for each in whats):
        trails, places = known.by_name(what)
        if what.casefold() in parts:
            _fail(dead, parts[what.casefold()])
        elif what.casefold() in clocks:
            _fail_clock(dead, clocks[what.casefold()])
        elif places:
            seats = {seat_of.get((place.frame, slot)) for place in places for slot in place.slots}
            stand_there = {seat for seat in seats if seat is not None}
            if not stand_there:
                raise WrongQuestion(f"nothing stands in {quote(what)}", about="what")
            dead.cards |= stand_there
            dead.suspects |= stand_there
        elif trails:
            if what.casefold().startswith("bay:"):
                _see_that_cards_are_on_it(what, trails)
            own = {(t.channel.frame, t.channel.direction, t.channel.slot, t.channel.card_channel) for t in trails}
            dead.channels |= own
            if what.casefold().startswith(("loom:", "bay:")):
                dead.lasting |= own
            else:
                dead.suspects |= {seat_of[frame, slot] for frame, _, slot, _ in own}
        elif asset := next((own for own in standing.survey.scenario.asset if own.is_called(what)), None):
            dead.shelved += [asset] if asset not in dead.shelved else []
        else:
            if what.casefold().startswith("fan:"):
                _see_that_fans_are_told(standing, what)
            every = sorted([*names, *(part.name for part in clocks.values())])
            whole = f"frame:{what.partition(':')[2]}".casefold()
            if what.casefold().startswith("clock:") and whole in parts:
                near: str | None = f"frame:{parts[whole][1].site.name}"
            else:
                near = nearest(what, every) if what.casefold().startswith(PARTS) else known.nearest(what)
            meant = f"did you mean {quote(near)}?" if near else "ask with slot:A:5, A:in:37, loom:NAME or frame:A"
            raise WrongQuestion(f"nothing in this build is called {quote(what)}; {meant}", about="what")
    return dead


def _parts(frame: FrameStanding) -> dict[str, tuple[str, FrameStanding, str]]:
    """What may fail of a frame as a whole, by its name: which sort of part, where, and which rail."""
    name = frame.site.name
    found = {f"{sort}:{name}": (sort, frame, "") for sort in ("frame", "board", "supply")}
    if fan_fails(frame) is not None:
        found[f"fan:{name}"] = ("fan", frame, "")
    for rail in frame.site.full_rails_ma:
        found[f"rail:{name}:{rail}"] = ("rail", frame, rail)
    return found


def _fail_clock(dead: Dead, part: ClockPart) -> None:
    """What leads, passes on or carries a clock fails too."""
    if part.name.startswith("clock:"):
        dead.givers.add(part.name.partition(":")[2])
    else:
        dead.below_lines |= set(part.below)


def _fail(dead: Dead, part: tuple[str, FrameStanding, str]) -> None:
    """A part of a frame fails too."""
    sort, frame, rail = part
    name = frame.site.name
    if sort == "frame":
        dead.frames.add(name)
        dead.givers.add(name)
    elif sort == "board":
        dead.boards.add(name)
    elif sort == "rail":
        dead.rails.add((name, rail))
        if draws(frame.site.board_rails_ma.get(frame.built.board), rail):
            dead.givers.add(name)
    elif sort == "fan":
        fails = fan_fails(frame)
        if fails is not None and fails.runs_on is None:
            told = f"how warm {frame.site.name} gets and may get without a fan is not known"
            raise WrongQuestion(f"{told} ({fails.lacking}); switch it off", about="what")
        dead.fans.add(name)
        if not runs_without_a_fan(frame):
            dead.givers.add(name)
    else:
        if frame.site.chassis.supply.count > 1 and frame.site.left_ma is None:
            told = f"what each supply of {frame.site.chassis.id} delivers alone is not known (supply, rails)"
            raise WrongQuestion(told, about="what")
        dead.supplies.add(name)
        if stops_with_a_supply(frame):
            dead.givers.add(name)


def _see_that_fans_are_told(standing: Standing, what: str) -> None:
    """The frame may be there, and its files may say too little of its fans."""
    for frame in standing.frames:
        name, chassis = frame.site.name, frame.site.chassis
        if what.casefold() == f"fan:{name}".casefold():
            if not isinstance(chassis.air, FanAir):
                told = f"no file says that frame {name} has a fan (air of {chassis.id})"
            elif chassis.air.fans is None:
                told = f"no file says how many fans frame {name} has (fans under air of {chassis.id})"
            else:
                told = f"how warm {name} gets is not known (air around it)"
            raise WrongQuestion(told, about="what")


def _see_that_cards_are_on_it(what: str, trails: Sequence[Trail]) -> None:
    """Another number does not help where the far end's own point fails."""
    points = [trail.patched for trail in trails if trail.patched is not None]
    if any(what.casefold().endswith(f":{patched.far_point}".casefold()) for patched in points):
        raise WrongQuestion(
            f"{quote(what)} is the point of a far end, which no other number helps: plug the far end to a free point "
            "behind the bay",
            about="what",
        )

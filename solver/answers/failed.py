"""What is lost where something fails in a build, and what mends it, the least work first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from solver.answers.handed_over import HandedOver, handed_over
from solver.files.reading import Loaded
from solver.fitted.moves import Seat as SeatOf
from solver.fitted.moves import Spot, card_moves, moves, seats_of, serving
from solver.fitted.repatched import Repatch, Repatched
from solver.fitted.standing import FrameStanding, Standing, stand
from solver.fitted.supplied import keeps_running
from solver.handover.lookup import Trails
from solver.handover.trail import Trail
from solver.handover.wiring import Wiring
from solver.relax.replaced import Broken, Seat
from solver.reports.difference import card_change, strap_changes
from solver.reports.failed import (
    Failed,
    Points,
    Repair,
    SinglePoint,
    SinglePoints,
    moved,
    number_name,
    patched_text,
    seated_text,
)
from solver.reports.report import OrderLine
from solver.reports.wording import money
from solver.room.build import Build
from solver.room.errors import WrongQuestion
from solver.room.faults import quote
from solver.room.hardware import PHANTOM
from solver.room.ready import survey_room
from solver.room.scenario import Offer
from solver.room.survey import Need
from solver.search.ask.ranking import rank
from solver.search.solve.clock import Clock, Stopped
from solver.search.solve.repatch import CardChannel, carried_on, repatch
from solver.search.solve.stages import RankedBuild

LATE = "the limit was over before anything was found"

NOTHING = {
    "shelf": "nothing on the shelf makes up for it",
    "order": "nothing that is left on offer makes up for it",
}


@dataclass
class _Dead:
    """What has failed."""

    channels: set[CardChannel] = field(default_factory=set)
    cards: set[Seat] = field(default_factory=set)
    """Cards that work no more."""
    suspects: set[Seat] = field(default_factory=set)
    """What is exchanged: those, but not for a frame that fails, and cards of which single channels do."""


def failed(loaded: Loaded, build: Build, whats: Sequence[str], workers: int, clock: Clock) -> Failed:
    """What failing things take from a build, and how it is mended.

    Parameters
    ----------
    whats
        Names as `find` knows them: ``slot:A:5`` or ``card:ID`` for cards, ``A:in:37`` for one channel, ``loom:NAME``,
        ``bay:B14``, ``frame:A`` for all that stands in a frame, ``supply:A`` for one of its supplies. They
        fail together.

    Raises
    ------
    WrongQuestion
        If nothing has a name that is asked for, or the scenario has several rooms.
    """
    handed, standing = _one_room(loaded, build)
    dead = _dead(handed, standing, whats)
    repair = _Repairs(standing, dead, Points(handed.wiring.trails), workers, clock)
    affected = [
        moved(Repatch(need, channel, spot, None), repair.points, repair.points)
        for (_, need), spots in serving([standing]).items()
        for channel, spot in enumerate(spots, start=1)
        if _place(need, spot) in dead.channels
    ]
    return Failed(
        **handed.head,
        currency=standing.survey.currency,
        failed=list(dict.fromkeys(what.strip() for what in whats)),
        cards=[
            f"{seat.kind.id} in slot {seat.slot} of {frame.site.name}"
            for frame in standing.frames
            for seat in frame.seats
            if (frame.site.name, seat.slot) in dead.cards
        ],
        affected=affected,
        repairs=repair.all(loaded.scenario.offer) if affected else [],
        notes=handed.notes,
    )


def single_points(loaded: Loaded, build: Build, clock: Clock) -> SinglePoints:
    """What is lost of a build when one card, one of several supplies or a frame fails, for each of them.

    The worst comes first. Supplies of which nobody says what each delivers alone are left out.

    Raises
    ------
    WrongQuestion
        If the scenario has several rooms.
    """
    handed, standing = _one_room(loaded, build)
    cards = {f"slot:{frame.site.name}:{seat.slot}": seat.kind.id for frame in standing.frames for seat in frame.seats}
    frames = [f"frame:{frame.site.name}" for frame in standing.frames] if len(standing.frames) > 1 else []
    several = [frame for frame in standing.frames if frame.site.left_ma and frame.site.chassis.supply.count > 1]
    supplies = [f"supply:{frame.site.name}" for frame in several]
    points = Points(handed.wiring.trails)
    found: list[SinglePoint] = []
    try:
        for what in [*cards, *supplies, *frames]:
            clock.at = what
            dead = _dead(handed, standing, [what])
            patched = clock.step(_Repairs(standing, dead, points, 1, clock).patched)
            found.append(
                SinglePoint(
                    what=what,
                    card=cards.get(what),
                    channels=sum(_place(each.need, each.before) in dead.channels for each in patched.channels),
                    lost=len(patched.lost),
                    needs=dict(Counter(each.need.name for each in patched.lost)),
                    proven=patched.proven,
                )
            )
    except Stopped:
        pass
    complete = len(found) == len(cards) + len(supplies) + len(frames)
    found.sort(key=lambda point: (-point.lost, -point.channels))
    return SinglePoints(**handed.head, complete=complete, points=found, notes=handed.notes)


def _one_room(loaded: Loaded, build: Build) -> tuple[HandedOver, Standing]:
    """A build of a scenario of one room."""
    if len(loaded.scenario.rooms()) > 1:
        raise WrongQuestion("this is answered for scenarios of one room", about="scenario")
    handed = handed_over(loaded, build)
    (standing,) = handed.wiring.rooms
    return handed, standing


def _place(need: Need, spot: Spot) -> CardChannel:
    return spot.frame, need.direction, spot.slot, spot.card_channel


def _dead(handed: HandedOver, standing: Standing, whats: Sequence[str]) -> _Dead:
    """What the names mean, all of it together."""
    known = Trails(handed.wiring.trails, handed.wiring.places)
    frames = {f"frame:{frame.site.name}".casefold(): frame.site.name for frame in standing.frames}
    supplies = {f"supply:{frame.site.name}".casefold(): frame for frame in standing.frames}
    seat_of = {
        (frame.site.name, slot): (frame.site.name, seat.slot)
        for frame in standing.frames
        for seat in frame.seats
        for slot in seat.covers
    }
    dead = _Dead()
    for what in (each.strip() for each in whats):
        trails, places = known.by_name(what)
        if what.casefold() in frames:
            dead.cards |= {seat for seat in seat_of.values() if seat[0] == frames[what.casefold()]}
        elif what.casefold() in supplies:
            dead.cards |= _lost_with_a_supply(supplies[what.casefold()])
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
            if not what.casefold().startswith(("loom:", "bay:")):
                dead.suspects |= {seat_of[frame, slot] for frame, _, slot, _ in own}
        else:
            near = known.nearest(what)
            meant = f"did you mean {quote(near)}?" if near else "ask with slot:A:5, A:in:37, loom:NAME or frame:A"
            raise WrongQuestion(f"nothing in this build is called {quote(what)}; {meant}", about="what")
    dead.channels |= {
        (t.channel.frame, t.channel.direction, t.channel.slot, t.channel.card_channel)
        for t in handed.wiring.trails
        if seat_of.get((t.channel.frame, t.channel.slot)) in dead.cards
    }
    return dead


def _lost_with_a_supply(frame: FrameStanding) -> set[Seat]:
    """The cards that go with one supply of a frame: none where the others carry it, else all."""
    if frame.site.left_ma is None:
        chassis = frame.site.chassis.id
        raise WrongQuestion(f"what each supply of {chassis} delivers alone is not known (supply, rails)", about="what")
    return set() if keeps_running(frame) else {(frame.site.name, seat.slot) for seat in frame.seats}


def _see_that_cards_are_on_it(what: str, trails: Sequence[Trail]) -> None:
    """Another number does not help where the far end's own point fails."""
    points = [trail.patched for trail in trails if trail.patched is not None]
    if any(what.casefold().endswith(f":{patched.far_point}".casefold()) for patched in points):
        raise WrongQuestion(
            f"{quote(what)} is the point of a far end, which no other number helps: plug the far end to a free point "
            "behind the bay",
            about="what",
        )


@dataclass(frozen=True)
class _Repairs:
    """Ways to mend what a build has lost."""

    standing: Standing
    dead: _Dead
    points: Points
    workers: int
    clock: Clock

    @cached_property
    def suspects(self) -> frozenset[Seat]:
        """The cards that are exchanged: those of which something that is needed fails."""
        seats = {
            (frame.site.name, slot): (frame.site.name, seat.slot)
            for frame in self.standing.frames
            for seat in frame.seats
            for slot in seat.covers
        }
        needed = {
            seats[spot.frame, spot.slot]
            for (_, need), own in serving([self.standing]).items()
            for spot in own
            if _place(need, spot) in self.dead.channels
        }
        return frozenset(needed & self.dead.suspects)

    def all(self, offers: Sequence[Offer]) -> list[Repair]:
        """With the lids on; then from the shelf; then, where that does not mend all, with what is on offer."""
        found = [self._patching()]
        if self.suspects:
            found.append(self._seating("shelf", ()))
            if found[-1].outcome != "whole" and offers:
                found.append(self._seating("order", offers))
        return found

    def _patching(self) -> Repair:
        """From the lines that are left, with no card moved."""
        try:
            found = self.clock.step(self.patched)
        except Stopped:
            return Repair(how="patching", outcome="unknown", text=LATE)
        return self._repair("patching", found, self.points).model_copy(update={"notes": self._beware(found)})

    def _beware(self, found: Repatched) -> list[str]:
        """What patched channels do not keep to, and where phantom power is on that nobody wanted there."""
        patched = [each for each in found.moved if each.after is not None]
        asking = sorted({each.need.name for each in patched if each.need.wanted is not None})
        notes = [f"{quote(name)} asks for certain numbers or cards: patching does not keep to that" for name in asking]
        fed = [
            number_name(each.need.direction, each.after)
            for each in patched
            if each.after is not None
            and (PHANTOM, "on") not in each.need.traits
            and self.standing.by_name[each.after.frame]
            .set_on(each.after.slot, each.need.direction, each.after.card_channel)
            .get(PHANTOM)
            == "on"
        ]
        return [*notes, *([f"phantom power is on at {', '.join(fed)}"] if fed else [])]

    def patched(self) -> Repatched:
        """Where every channel is once all is patched that can be."""
        left = stand(self.standing.survey, Broken(self.standing, frozenset(self.dead.cards)).left)
        return repatch(self.standing, left.frames, self.dead.channels, self.clock)

    def _seating(self, how: Literal["shelf", "order"], offers: Sequence[Offer]) -> Repair:
        """Cards in empty slots or in those of the failed ones, or else wherever the fewest cards move."""
        broken = Broken(self.standing, self.suspects)
        for scenario in (broken.beside_the_rest, broken.anywhere, broken.as_far_as_can_be):
            survey = survey_room(scenario(offers), self.standing.survey.hardware)
            found = rank(survey, 1, workers=self.workers, clock=self.clock)
            if found.builds:
                repair = self._seated(how, broken, found.builds[0])
                if repair.cards or repair.straps:
                    return repair
            if found.outcome == "unknown" or (found.builds and not found.builds[0].proven):
                return Repair(how=how, outcome="unknown", text=LATE)
        return Repair(how=how, outcome="none", proven=True, text=NOTHING[how])

    def _seated(self, how: Literal["shelf", "order"], broken: Broken, best: RankedBuild) -> Repair:
        after, survey = best.standing, best.standing.survey
        patched = carried_on(self.standing, after, proven=best.proven)
        worn = {SeatOf(None, site.name, slot) for site in survey.frames for slot, _ in site.worn}
        cards = card_moves(seats_of(broken.left), seats_of(best.build), worn)
        straps = [change for frame in moves([self.standing], [after]).frames for change in strap_changes(frame)]
        spans = {kind.id: kind.span for kind in survey.kinds.values()}
        repair = self._repair(how, patched, Points(Wiring((after,)).trails))
        came = Counter(move.card for move in cards if move.before is None)
        for item, parts in after.orders.items():
            came[item] -= sum(count for count, _ in parts)
        return repair.model_copy(
            update={
                "text": f"{seated_text(cards, straps, spans)}; {repair.text}",
                "cards": [card_change(move) for move in cards],
                "straps": straps,
                "from_shelf": dict(sorted((+came).items())),
                "cost": money(survey, best.figures.cost),
                "order_lines": [
                    OrderLine(item=item, count=n, price=money(survey, price), total=money(survey, n * price))
                    for item, parts in after.orders.items()
                    for n, price in parts
                ],
            }
        )

    def _repair(self, how: Literal["patching", "shelf", "order"], found: Repatched, after: Points) -> Repair:
        told = [moved(each, self.points, after) for each in found.moved]
        outcome: Literal["whole", "partly"] = "partly" if found.lost else "whole"
        text = patched_text(told, len(found.lost))
        return Repair(how=how, outcome=outcome, proven=found.proven, text=text, moved=told, lost=len(found.lost))

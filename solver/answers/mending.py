"""Ways to mend what a build has lost: idle lines, the shelf, less important needs, other rooms, hired, ordered."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property
from typing import Literal, TypeAlias

from solver.fitted.card_moves import card_moves, seats_of, serials, worn_in
from solver.fitted.frame import FrameStanding
from solver.fitted.moves import moves, serving
from solver.fitted.repatched import Repatch, Repatched
from solver.fitted.standing import Standing, stand
from solver.handover.failing import Dead, Taken, what_is_taken
from solver.handover.wiring import Wiring
from solver.judge import audit
from solver.relax.replaced import Broken, Seat
from solver.reports.broken import broken_limit
from solver.reports.cooled import stopped_then
from solver.reports.difference import card_change, strap_changes
from solver.reports.failed import (
    Points,
    Repair,
    Way,
    moved,
    number_name,
    patched_text,
    seated_text,
)
from solver.reports.report import OrderLine
from solver.reports.wishes import wishes_lost
from solver.reports.wording import in_words, money
from solver.room.buying import bought, from_stock
from solver.room.faults import quote
from solver.room.hardware import PHANTOM
from solver.room.ready import survey_room
from solver.room.scenario import Offer, Scenario
from solver.room.survey import Survey
from solver.rules import ready_for
from solver.search.ask.ranking import rank
from solver.search.solve.clock import Clock, Stopped
from solver.search.solve.elsewhere import called, elsewhere
from solver.search.solve.repatch import CardChannel, carried_on, repatch
from solver.search.solve.stages import RankedBuild

LATE = "the limit was over before anything was found"

Exchange: TypeAlias = Literal["shelf", "hire", "order"]
"""Where cards that are seated come from."""

NOTHING: Mapping[Exchange, str] = {
    "shelf": "nothing on the shelf makes up for it",
    "hire": "nothing that can be hired makes up for it",
    "order": "nothing that is left on offer makes up for it",
}

LACKING: Mapping[Exchange, str] = {"shelf": "on the shelf", "hire": "to be hired", "order": "is left on offer"}


@dataclass(frozen=True)
class _Boards:
    """Boards that take the places of failed ones of their kind: in which frames, how many owned, orders with prices."""

    item: str
    frames: tuple[str, ...]
    owned: int
    orders: Sequence[tuple[int, int]]


def _with_boards(repair: Repair, boards: Sequence[_Boards], survey: Survey) -> Repair:
    """A repair with the boards that are exchanged in it."""
    had = [board for board in boards if board.frames]
    if not had:
        return repair
    said = [f"{board.item} into {' and '.join(board.frames)}, strapped as the one there" for board in had]
    lines = [
        OrderLine(item=board.item, count=n, price=money(survey, price), total=money(survey, n * price))
        for board in had
        for n, price in board.orders
    ]
    cost = sum((Decimal(line.total) for line in [*repair.order_lines, *lines]), Decimal(0))
    return repair.model_copy(
        update={
            "text": f"{', '.join(said)}; {repair.text}",
            "from_shelf": {**repair.from_shelf, **{board.item: board.owned for board in had if board.owned}},
            "order_lines": [*repair.order_lines, *lines],
            "cost": money(survey, int(cost.scaleb(survey.decimals))),
        }
    )


@dataclass(frozen=True)
class Repairs:
    """Ways to mend what a build has lost."""

    standing: Standing
    dead: Dead
    points: Points
    workers: int
    clock: Clock
    others: Sequence[Standing] = ()
    """Rooms that lines may be borrowed from."""

    @cached_property
    def taken(self) -> Taken:
        """What of the build is lost."""
        return what_is_taken(self.standing, self.dead)

    @property
    def unfed(self) -> Taken:
        """The same without what a board takes, since another one brings that back and feeds nothing."""
        return replace(self.taken, slots=frozenset(), channels=frozenset()) if self.dead.boards else self.taken

    @cached_property
    def suspects(self) -> frozenset[Seat]:
        """The cards that are exchanged, or else left out: failed ones, and those of which a needed channel fails."""
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
            if self.taken.takes(need, spot)
        }
        return frozenset((needed | self.dead.cards) & self.dead.suspects)

    def all(self, scenario: Scenario) -> list[Repair]:
        """On idle lines; from the shelf; from needs that are less important; from other rooms; hired; and ordered.

        What is borrowed helps where patching leaves something lost, hires and orders where the shelf does.
        """
        idle, kept = self._patching("patching", self.on_idle_lines)
        found = [idle]
        exchanged = bool(self.suspects or self.dead.boards)
        if exchanged:
            found.append(self._exchange("shelf", ()))
        whole = found[-1].outcome == "whole"
        if kept is not None and kept.lost:
            found += self._borrowed(kept)
            found += self._from_other_rooms(kept) if self.others else ()
        if exchanged and not whole and scenario.hire:
            hires = [Offer(card=hire.card, price=hire.day_price, at_most=hire.at_most) for hire in scenario.hire]
            found.append(self._exchange("hire", hires))
        if exchanged and not whole and scenario.offer:
            left = Broken(self.standing, frozenset()).left_of(scenario.offer)
            found.append(self._exchange("order", list(left)))
        return found

    def _patching(
        self, how: Literal["patching", "borrow", "room"], ask: Callable[[], Repatched]
    ) -> tuple[Repair, Repatched | None]:
        """From the lines that are left, with no card moved."""
        try:
            found = self.clock.step(ask)
        except Stopped:
            return Repair(how=how, outcome="unknown", text=LATE), None
        repair = self._repair(how, found, self.standing, self.points)
        return repair.model_copy(update={"notes": [*repair.notes, *self._beware(found)]}), found

    def _borrowed(self, kept: Repatched) -> Iterator[Repair]:
        """The same with channels that work given up for more important ones, where that helps any."""
        repair, found = self._patching("borrow", self.patched)
        if found is None:
            yield repair
        elif found.lost_by_importance != kept.lost_by_importance:
            ways = Counter(each.need.name for each in found.lost) - Counter(each.need.name for each in kept.lost)
            told = " and ".join(f"{count} of {quote(name)}" for name, count in ways.items())
            text = f"{told} {'gives' if ways.total() == 1 else 'give'} way; {repair.text}"
            yield repair.model_copy(update={"gives_way": dict(ways), "text": text})

    def _from_other_rooms(self, kept: Repatched) -> Iterator[Repair]:
        """On idle lines and those of other rooms, where that helps any."""
        own: list[Repatched] = []
        given: list[Repatch] = []

        def ask() -> Repatched:
            taken = self.taken
            found, there = elsewhere(self.standing, self._left, taken.channels, self.clock, taken.unfed, self.others)
            own.append(found)
            given.extend(there)
            return Repatched((*found.channels, *there), found.proven)

        repair, found = self._patching("room", ask)
        gone = Counter(each.need.name for each in given if each.after is None and not each.spare)
        if found is None:
            yield repair
        elif own[0].lost_by_importance < kept.lost_by_importance:
            borrowed = [each for each in found.moved if each.after is not None and each.after.frame not in self._names]
            asking = sorted({each.need.name for each in borrowed if each.need.wanted is not None})
            notes = [
                f"{quote(name)} asks for certain numbers or cards: other rooms do not keep to that" for name in asking
            ]
            notes.append("what another room carries needs a tie line there, and one clock for both rooms")
            told = " and ".join(f"{count} of {quote(name)}" for name, count in gone.items())
            text = f"{told} {'gives' if gone.total() == 1 else 'give'} way; {repair.text}" if told else repair.text
            yield repair.model_copy(update={"gives_way": dict(gone), "text": text, "notes": [*repair.notes, *notes]})

    @property
    def _names(self) -> frozenset[str]:
        """The frames of the room."""
        return frozenset(self.standing.by_name)

    @cached_property
    def _frames(self) -> Mapping[str, FrameStanding]:
        """Those, and those of other rooms, by what they are called."""
        theirs = {called(room, frame.site.name): frame for room in self.others for frame in room.frames}
        return {**theirs, **self.standing.by_name}

    def _beware(self, found: Repatched) -> list[str]:
        """Where phantom power is on that nobody wanted there."""
        patched = [each for each in found.moved if each.after is not None]
        fed = [
            number_name(each.need.direction, each.after)
            for each in patched
            if each.after is not None
            and (PHANTOM, "on") not in each.need.traits
            and self._frames[each.after.frame]
            .set_on(each.after.slot, each.need.direction, each.after.card_channel)
            .get(PHANTOM)
            == "on"
        ]
        return [f"phantom power is on at {', '.join(fed)}"] if fed else []

    def patched(self) -> Repatched:
        """Where every channel is once all is patched that can be, for the more important ones first."""
        return self._repatched(borrow=True)

    def on_idle_lines(self) -> Repatched:
        """The same where every channel that works goes on."""
        return self._repatched(borrow=False)

    def _repatched(self, *, borrow: bool) -> Repatched:
        taken = self.taken
        return repatch(self.standing, self._left, taken.channels, self.clock, taken.unfed, borrow=borrow)

    @cached_property
    def _left(self) -> Sequence[FrameStanding]:
        """The frames without the cards that are lost."""
        return stand(self.standing.survey, Broken(self.standing, self.taken.cards).left).frames

    def _exchange(self, how: Exchange, offers: Sequence[Offer]) -> Repair:
        """Boards by ones of their kind, strapped alike; and cards, in frames that are not down."""
        boards = self._boards(buy=how == "order")
        fitted = {frame for board in boards for frame in board.frames}
        down = {seat for frame in self.standing.frames for seat in self.dead.stopped(frame, fitted)}
        suspects = self.suspects - down
        if not suspects and not fitted:
            lack = f"no {' and no '.join(board.item for board in boards)} {LACKING[how]}" if boards else NOTHING[how]
            return Repair(how=how, outcome="none", proven=True, text=lack)
        try:
            found = self._seating(how, offers, suspects, fitted) if suspects else None
            if found is None or (found.outcome == "none" and fitted):
                # The boards alone: cards that failed and are not exchanged are still lost.
                lasts = self._as_lasts(self.standing, fitted, self._kept, self.dead.cards, self.dead.channels)
                found = self._repair(how, lasts, self.standing, self.points)
        except Stopped:
            return Repair(how=how, outcome="unknown", text=LATE)
        found = _with_boards(found, boards, self.standing.survey)
        if how != "shelf" and found.outcome in ("whole", "partly") and not found.order_lines:
            return Repair(how=how, outcome="none", proven=found.proven, text=NOTHING[how])
        return found

    @property
    def _kept(self) -> Repatched:
        return carried_on(self.standing, self.standing, proven=True)

    def _boards(self, *, buy: bool) -> list[_Boards]:
        """The boards that are to be had for those that failed, by their ids."""
        survey = self.standing.survey
        wanted: dict[str, list[str]] = {}
        for frame in self.standing.frames:
            if frame.site.name in self.dead.boards:
                wanted.setdefault(frame.built.board, []).append(frame.site.name)
        found = []
        for item, frames in sorted(wanted.items()):
            stand_there = self.standing.items[item]
            used = stand_there + len(frames)
            owned = from_stock(survey, item, used) - from_stock(survey, item, stand_there)
            lines = Counter({offer: count for count, offer in bought(survey, item, used)})
            lines.subtract({offer: count for count, offer in bought(survey, item, stand_there)})
            orders = [(count, offer.price) for offer, count in (+lines).items()] if buy else []
            found.append(_Boards(item, tuple(frames[: owned + sum(count for count, _ in orders)]), owned, orders))
        return found

    def _as_lasts(
        self,
        after: Standing,
        fitted: Collection[str],
        found: Repatched,
        gone: Collection[Seat] = (),
        channels: Collection[CardChannel] | None = None,
    ) -> Repatched:
        """The channels once cards and boards are exchanged, without what fails all the same.

        Parameters
        ----------
        gone
            Cards that are not exchanged.
        channels
            Card channels that fail; None for those on looms and points, which fail whatever card is there.
        """
        bad = self.dead.lasting if channels is None else channels
        down = frozenset(seat for frame in after.frames for seat in self.dead.stopped(frame, fitted)).union(gone)
        unfed = self.dead.unfed(after.frames)
        if not (down or unfed or bad):
            return found
        left = stand(after.survey, Broken(after, down).left)
        patched = repatch(self.standing, left.frames, bad, self.clock, unfed)
        return replace(patched, proven=found.proven and not patched.lost)

    def _seating(
        self,
        how: Exchange,
        offers: Sequence[Offer],
        suspects: frozenset[Seat],
        fitted: Collection[str],
    ) -> Repair:
        """Cards in empty slots or in those of the failed ones, or else wherever the fewest cards move.

        What is mended need not survive one failure more; a note says so where it does not.
        """
        broken = Broken(self.standing, suspects, self._shelved)
        for scenario in (broken.beside_the_rest, broken.anywhere, broken.as_far_as_can_be):
            survey = survey_room(scenario(offers), self.standing.survey.hardware)
            ready, plain = ready_for(survey)
            found = rank(plain, 1, workers=self.workers, clock=self.clock)
            if found.builds:
                repair = self._seated(how, broken, found.builds[0], fitted)
                if repair.cards or repair.straps:
                    lasts = not audit.faults(survey, stand(survey, found.builds[0].build))
                    what = " or ".join(in_words(survey, each) for each in ready)
                    note = [] if lasts else [f"mended so, it does not survive {what} that fails"]
                    note += [f"this mends what was wrong with the build, too: {self._wrong}"] if self._wrong else []
                    return repair.model_copy(update={"notes": [*repair.notes, *note]})
            if found.outcome == "unknown" or (found.builds and not found.builds[0].proven):
                return Repair(how=how, outcome="unknown", text=LATE)
        return Repair(how=how, outcome="none", proven=True, text=NOTHING[how])

    @cached_property
    def _shelved(self) -> tuple[str, ...]:
        """The cards on the shelf that have failed, but those that are known to be out of service."""
        scenario = self.standing.survey.scenario
        known = [scenario.asset_of(entry) for entry in scenario.out_of_service]
        return tuple(asset.card for asset in self.dead.shelved if asset not in known)

    @cached_property
    def _wrong(self) -> str:
        """What is wrong with the build as it stood, in words, beside needs that lacked channels already."""
        asked = Broken(self.standing, frozenset()).beside_the_rest(())
        survey = survey_room(asked, self.standing.survey.hardware)
        standing = stand(survey, Broken(self.standing, frozenset()).left)
        return "; ".join(broken_limit(survey, each, standing).text for each in audit.faults(survey, standing))

    def _seated(self, how: Exchange, broken: Broken, best: RankedBuild, fitted: Collection[str]) -> Repair:
        after, survey = best.standing, best.standing.survey
        patched = self._as_lasts(after, fitted, carried_on(self.standing, after, proven=best.proven))
        moved_cards = card_moves(seats_of(broken.left), seats_of(best.build), worn_in(after))
        cards = serials(self.standing).without(self.dead.shelved).named(moved_cards)
        straps = [change for frame in moves([self.standing], [after]).frames for change in strap_changes(frame)]
        spans = {kind.id: kind.span for kind in survey.kinds.values()}
        asked = stand(self.standing.survey, best.build)  # by all that needs ask for, kept before or not
        repair = self._repair(how, patched, asked, Points(Wiring((after,)).trails))
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

    @property
    def _without_fans(self) -> frozenset[str]:
        """Frames of which a fan fails and nothing else that stops them."""
        return frozenset(self.dead.fans - self.dead.frames)

    def _repair(self, how: Way, found: Repatched, after: Standing, points: Points) -> Repair:
        told = [moved(each, self.points, points) for each in found.moved]
        outcome: Literal["whole", "partly"] = "partly" if found.lost else "whole"
        text = patched_text(told, len(found.lost))
        return Repair(
            how=how,
            outcome=outcome,
            proven=found.proven,
            text=text,
            moved=told,
            lost=len(found.lost),
            notes=[*wishes_lost(found, self.standing, after), *stopped_then(self.standing, after, self._without_fans)],
        )

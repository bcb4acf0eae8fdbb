"""The scenario of a room in which cards have failed: what is left, and what may take their places."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from solver.fitted.frame import FrameStanding
from solver.fitted.moves import Spot, serving
from solver.fitted.standing import Standing
from solver.fitted.wishes_kept import Wish, astray, held
from solver.room.build import Build
from solver.room.buying import bought
from solver.room.out_of_service import ON_LINES
from solver.room.scenario import MOVING, CriterionName, Frame, Need, Offer, Scenario, fixed_place
from solver.room.silent import changes_numbers
from solver.room.survey import Need as SurveyNeed

Seat = tuple[str, int]
"""A frame by name, and the first slot of a card."""

UNASKED: Mapping[Wish, Mapping[str, object]] = {
    "asked-numbers": {"numbers": None},
    "consecutive": {"consecutive": False, "bank_of": None, "one_card": False},
    "banks": {"bank_of": None},
    "one-card": {"one_card": False},
    "one-frame": {"may_split": True},
    "pairs": {"pairs": False},
    "returns-on": {"returns_on": None},
    "per-card": {"max_per_card": None},
    "apart-from": {"apart_from": ()},
    "same-latency": {"same_latency": False},
    "alike-levels": {"returns_on": None},
}
"""What the keys of a need are where a wish is not asked for; one level asks of what comes back alone."""


@dataclass(frozen=True)
class Broken:
    """A build of which cards have failed, told by their seats. They are owned no longer."""

    standing: Standing
    dead: frozenset[Seat]
    shelved: tuple[str, ...] = ()
    """Cards on the shelf that have failed, too."""

    @cached_property
    def left(self) -> Build:
        """The build without them; what they served is still said, with the numbers that it had."""
        frames = []
        for frame in self.standing.frames:
            cards = {slot: card for slot, card in frame.built.cards.items() if not self._is_dead(frame, int(slot))}
            frames.append(frame.built.model_copy(update={"cards": cards}))
        return Build(frame=tuple(frames))

    def beside_the_rest(self, offers: Sequence[Offer]) -> Scenario:
        """Every other card, board and strap stays, and as few channels as can be get another number."""
        return self._with(self._held(), offers, ("renumbered", *self._rank))

    def as_far_as_can_be(self, offers: Sequence[Offer]) -> Scenario:
        """The same where not all can be had: every need may be short."""
        scenario = self.beside_the_rest(offers)
        needs = tuple(need.model_copy(update={"importance": "nice"}) for need in scenario.need)
        return scenario.model_copy(update={"need": needs})

    def anywhere(self, offers: Sequence[Offer]) -> Scenario:
        """Whatever moves the fewest cards, then straps, then numbers."""
        standing = {frame.site.name for frame in self.standing.frames}
        frames = [
            self._as_kept(spec).model_copy(update={"owned": spec.owned or spec.name in standing})
            for spec in self._scenario.frame
        ]
        return self._with(frames, offers, ("cards_moved", "straps_moved", "renumbered", *self._rank))

    def left_of(self, offers: Sequence[Offer]) -> Iterator[Offer]:
        """The scenario's offers without what the build as it stands draws on."""
        drawn = Counter[int]()
        for item, used in self.standing.items.items():
            for count, source in bought(self.standing.survey, item, used):
                drawn[source.index] += count
        for n, offer in enumerate(offers):
            if offer.at_most is None or offer.at_most > drawn[n]:
                left = None if offer.at_most is None else offer.at_most - drawn[n]
                yield offer.model_copy(update={"at_most": left})

    @property
    def _scenario(self) -> Scenario:
        return self.standing.survey.scenario

    @property
    def _rank(self) -> tuple[CriterionName, ...]:
        return tuple(c for c in self._scenario.rank if c not in MOVING) or ("cost",)

    def _is_dead(self, frame: FrameStanding, slot: int) -> bool:
        return (frame.site.name, slot) in self.dead

    def _as_kept(self, spec: Frame) -> Frame:
        """A frame with what the build keeps of its pins and empty slots, and to be used where it is."""
        frame = self.standing.by_name.get(spec.name)
        seats = () if frame is None else frame.seats
        cards = {str(seat.slot): seat.kind.id for seat in seats if (spec.name, seat.slot) not in self.dead}
        taken = {slot for seat in seats for slot in seat.covers}
        return spec.model_copy(
            update={
                "pins": {slot: card for slot, card in spec.pins.items() if cards.get(slot) == card},
                "keep_empty": tuple(slot for slot in spec.keep_empty if slot not in taken),
                "must_use": spec.must_use and bool(cards),
            }
        )

    def _fixed(self) -> Iterator[str]:
        """What is fixed, without the slots of what has failed."""
        frames = {frame.name for frame in self._scenario.frame}
        free = {
            (frame.site.name, slot)
            for frame in self.standing.frames
            for seat in frame.seats
            if self._is_dead(frame, seat.slot)
            for slot in seat.covers
        }
        for entry in self._scenario.fixed:
            name, slot = fixed_place(entry, frames)
            site = self.standing.survey.site(name)
            if slot is None and site is not None and any(own == name for own, _ in free):
                yield from (f"{name}:{other}" for other in site.slots if (name, other) not in free)
            elif (name, slot) not in free:
                yield entry

    def _held(self) -> list[Frame]:
        """The frames with all that is left in them held where it is."""
        standing = {frame.site.name: frame for frame in self.standing.frames}
        return [
            self._as_left(spec, standing[spec.name]) if spec.name in standing else self._unused(spec)
            for spec in self._scenario.frame
        ]

    def _as_left(self, spec: Frame, frame: FrameStanding) -> Frame:
        """A frame in which all stays that is left, and cards come to empty slots alone."""
        numbering = {group.name for group in frame.board.strap_group if changes_numbers(group)}
        straps = {group: setting for group, setting in frame.built.straps.items() if group in numbering}
        pins = {str(seat.slot): seat.kind.id for seat in frame.seats if not self._is_dead(frame, seat.slot)}
        return self._as_kept(spec).model_copy(
            update={
                "owned": True,
                "board": frame.built.board,
                "straps": {**spec.straps, **straps},
                "pins": pins,
                "must_use": False,
            }
        )

    def _unused(self, spec: Frame) -> Frame:
        """A frame in which nothing stands, and nothing comes."""
        site = self.standing.survey.site(spec.name)
        slots = tuple(site.slots) if site is not None else ()
        return spec.model_copy(update={"pins": {}, "keep_empty": slots, "must_use": False})

    def _with(self, frames: Sequence[Frame], offers: Sequence[Offer], rank: tuple[CriterionName, ...]) -> Scenario:
        gone = Counter(
            seat.kind.id for frame in self.standing.frames for seat in frame.seats if self._is_dead(frame, seat.slot)
        )
        gone.update(self.shelved)
        seated = self.standing.items
        stock = {item: max(0, max(count, seated[item]) - gone[item]) for item, count in self._owned.items()}
        return self._scenario.model_copy(
            update={
                "frame": tuple(frames),
                "need": tuple(self._as_served(need) for need in self._scenario.need),
                "stock": stock,
                "asset": (),
                "out_of_service": tuple(e for e in self._scenario.out_of_service if e.key in ON_LINES),
                "offer": tuple(offers),
                "budget": None,
                "must_seat": (),
                "fixed": tuple(self._fixed()),
                "installed": self.left,
                "rank": rank,
                "slack": {c: given for c, given in self._scenario.slack.items() if c in rank},
            }
        )

    def _as_served(self, need: Need) -> Need:
        """A need with no more channels than it had, and no wish that was not kept: these are not mended, too."""
        own, served = next(((n, s) for n, s in self._served.items() if n.name == need.name), (None, []))
        channels = min(need.channels, len(served))
        asked: dict[str, object] = {"channels": channels, "spare": min(need.spare, len(served) - channels)}
        if own is not None:
            asked["same_latency"] = own.one_latency  # said, for a wish that is not asked for may have implied it
        for wish, keys in UNASKED.items():
            if (need.name, wish) in self._not_kept:
                asked |= keys
        return need.model_copy(update=asked)

    @cached_property
    def _served(self) -> Mapping[SurveyNeed, list[Spot]]:
        return {need: spots for (_, need), spots in serving([self.standing]).items()}

    @cached_property
    def _not_kept(self) -> frozenset[tuple[str, Wish]]:
        """What the build did not keep of what needs ask for, by their names; levels with both directions."""
        found = astray(self.standing, held(self.standing, self._served))
        sends = {(one.of[1], wish) for need, wish in found if wish == "alike-levels" for one in need.one_of}
        return frozenset(sends | {(need.name, wish) for need, wish in found})

    @property
    def _owned(self) -> dict[str, int]:
        """What is in stock or stands: what stands is owned, whatever stock says of it."""
        return dict.fromkeys(self.standing.items, 0) | dict(self._scenario.in_service)

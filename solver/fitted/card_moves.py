"""Which cards come, go and move between two builds, and which of them are which by their serial numbers."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from solver.fitted.standing import Standing
from solver.room.assets import SHELF, Asset, with_serial
from solver.room.build import Build
from solver.room.scenario import Scenario
from solver.room.survey import Survey

FrameKey: TypeAlias = tuple[str | None, str]
"""Room, None where there is one, and name of a frame."""


@dataclass(frozen=True, slots=True)
class Seat:
    """A slot of a frame: the first of a card that spans several."""

    room: str | None
    frame: str
    slot: int

    @property
    def key(self) -> FrameKey:
        """The frame that it is in."""
        return self.room, self.frame


@dataclass(frozen=True, slots=True)
class CardMove:
    """A card that leaves (`after` None), comes (`before` None) or gets another slot."""

    card: str
    before: Seat | None
    after: Seat | None
    serial: str | None = None
    """Its serial number, where that is known."""
    dead: bool = False
    """Whether it is out of service, and so comes out."""

    @property
    def told(self) -> str:
        """The card in words."""
        return with_serial(self.card, self.serial)


def seats_of(build: Build) -> dict[Seat, str]:
    """The cards of a build of one room by their seats."""
    return {Seat(None, frame.name, slot): card for frame in build.frame for slot, card in frame.seats()}


def card_moves(before: Mapping[Seat, str], after: Mapping[Seat, str], worn: Collection[Seat] = ()) -> list[CardMove]:
    """Cards that stand in one build only, or elsewhere, kind by kind.

    A card that can stay in its frame is moved there, else in its room; but those in seats of `worn` are used there
    alone.
    """
    found: list[CardMove] = []
    for card in sorted({*before.values(), *after.values()}):
        gone = [seat for seat, kind in before.items() if kind == card and after.get(seat) != card]
        new = [seat for seat, kind in after.items() if kind == card and before.get(seat) != card]
        for near in (_same_frame, _same_room, _anywhere):
            for seat in list(gone):
                target = next((other for other in new if near(seat, other) and seat not in worn), None)
                if target is not None:
                    gone.remove(seat)
                    new.remove(target)
                    found.append(CardMove(card, seat, target))
        found += [CardMove(card, seat, None) for seat in gone]
        found += [CardMove(card, None, seat) for seat in new]
    return found


def _same_frame(one: Seat, other: Seat) -> bool:
    return one.key == other.key


def _same_room(one: Seat, other: Seat) -> bool:
    return one.room == other.room


def _anywhere(_: Seat, __: Seat) -> bool:
    return True


@dataclass(frozen=True)
class Serials:
    """The serial numbers of cards that stand, by their seats, and of those that are on the shelf and in service."""

    seats: Mapping[Seat, str]
    shelf: Sequence[tuple[str, str]]
    """Card and serial number; of cards of one kind the first comes first."""

    @classmethod
    def now(cls, scenario: Scenario) -> Serials:
        """Where the scenario says that they are; none where its frames are those of rooms or of phases."""
        if scenario.room or scenario.phase:
            return cls({}, ())
        away = {entry.asset for entry in scenario.out_of_service}
        at = {asset.serial: scenario.slot_at(asset.at) for asset in scenario.asset}
        return cls(
            {Seat(None, *place): serial for serial, place in at.items() if place is not None},
            [(own.card, own.serial) for own in scenario.asset if own.at == SHELF and own.serial not in away],
        )

    def in_frame(self, key: FrameKey) -> dict[int, str]:
        """Those in a frame, by slot."""
        return {seat.slot: serial for seat, serial in self.seats.items() if seat.key == key}

    def without(self, assets: Iterable[Asset]) -> Serials:
        """The same where some on the shelf are not to be seated."""
        bad = {asset.serial for asset in assets}
        return replace(self, shelf=[own for own in self.shelf if own[1] not in bad])

    def named(self, cards: Iterable[CardMove]) -> list[CardMove]:
        """Moves from here on, each with the serial number of its card."""
        shelf, found = list(self.shelf), []
        for move in cards:
            if move.before is not None:
                found.append(replace(move, serial=self.seats.get(move.before)))
                continue
            own = next((each for each in shelf if each[0] == move.card), None)
            if own is not None:
                shelf.remove(own)
            found.append(replace(move, serial=None if own is None else own[1]))
        return found

    def after(self, cards: Iterable[CardMove]) -> Serials:
        """Where they are once the cards are moved."""
        moved = self.named(cards)
        left, taken = {move.before for move in moved}, {move.after for move in moved}
        came = {move.serial for move in moved if move.before is None}
        return Serials(
            {seat: serial for seat, serial in self.seats.items() if seat not in left | taken}
            | {move.after: move.serial for move in moved if move.after is not None and move.serial is not None},
            [own for own in self.shelf if own[1] not in came]
            + [(move.card, move.serial) for move in moved if move.after is None and move.serial is not None],
        )


def serials(standing: Standing) -> Serials:
    """The serial numbers in a build: each card stays where it is now, or goes where the moves from there take it."""
    now = Serials.now(standing.survey.scenario)
    if not standing.survey.scenario.asset:
        return now
    return now.after(card_moves(_now(standing.survey), _seats(standing), worn_in(standing)))


def serials_before(before: Sequence[Standing], after: Sequence[Standing]) -> Serials:
    """Those that moves from one build to another begin with: they are known where the first is what stands now.

    Parameters
    ----------
    before, after
        The builds, room by room; no room at all before where nothing stands.
    """
    survey = after[0].survey
    here = {seat: card for room in before for seat, card in _seats(room).items()}
    every = survey.scenario.installed
    stands = [_now(survey), *([seats_of(every)] if isinstance(every, Build) else [])]
    return Serials.now(survey.scenario) if here in stands else Serials({}, ())


def _now(survey: Survey) -> dict[Seat, str]:
    """What stands now and is in service."""
    stands = survey.scenario.stands
    return {} if stands is None else seats_of(stands)


def _seats(standing: Standing) -> dict[Seat, str]:
    room = standing.survey.room
    return {Seat(room, frame.site.name, seat.slot): seat.kind.id for frame in standing.frames for seat in frame.seats}


def dead_in(before: Sequence[Standing]) -> dict[Seat, str]:
    """The cards of what stands now that are out of service; none where the builds are others.

    Parameters
    ----------
    before
        The builds, room by room.
    """
    scenarios = [room.survey.scenario for room in before[:1]]
    here = {seat: card for room in before for seat, card in _seats(room).items()}
    return {
        Seat(None, *place): card
        for scenario in scenarios
        if scenario.as_found is not None and here == seats_of(scenario.as_found)
        for place, card in sorted(scenario.gone.items())
    }


def worn_in(standing: Standing) -> set[Seat]:
    """The seats of cards that are used there or not at all."""
    survey = standing.survey
    return {Seat(survey.room, site.name, slot) for site in survey.frames for slot, _ in site.worn}

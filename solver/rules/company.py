"""What cards ask of other cards in their frame or directly beside them, whichever rule keeps it."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from itertools import groupby
from typing import ClassVar, Generic, Literal, TypeVar

from solver.fitted.frame import FrameStanding, Seated
from solver.fitted.standing import Standing
from solver.room.hardware import Companion, Exclusion
from solver.room.kind import Kind
from solver.room.message import Message, tell
from solver.room.survey import Survey
from solver.rules.limit import (
    Draft,
    Limit,
    Load,
    Place,
    Reading,
    Rule,
    Seat,
    Unyielding,
    in_several,
    site_of,
    whereabouts,
)

Entry = TypeVar("Entry", Companion, Exclusion)


class Company(Rule, Generic[Entry]):
    """A rule of what cards say of other cards.

    Each entry is a limit in every frame: how many of its cards there break what it says, which is 0 at most.
    """

    speaks_of = "cards"
    key: ClassVar[Literal["needs", "excludes"]]
    """Where a card's table in a hardware file has the entries."""

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each frame and each entry of a card: no card there breaks it."""
        for site in survey.frames:
            for name in self.entries(survey):
                yield Limit(self.code, Place(frame=site.name, subject=name), 0, "cards")

    def entries(self, survey: Survey) -> Mapping[str, tuple[Kind, Entry]]:
        """What each card says of another, under a name of its own: the limit's subject."""
        return {
            f"{kind.id} {self.key} {entry.card} ({entry.within})": (kind, entry)
            for kind in survey.kinds.values()
            for entry in self._of(kind)
        }

    def entry(self, survey: Survey, limit: Limit) -> tuple[str, Entry]:
        """The card that a limit speaks of, and what it says of another."""
        kind, entry = self.entries(survey)[limit.place.subject or ""]
        return kind.id, entry

    def _of(self, kind: Kind) -> Sequence[Entry]:
        found: Sequence[Entry] = getattr(kind.card, self.key)
        return found

    def unyielding(self, survey: Survey) -> Iterator[Unyielding]:
        for name, (kind, entry) in self.entries(survey).items():
            yield Unyielding(self.code, self.asks(kind.id, entry), partial(self._without, names=(name,)))

    def lifted(self, survey: Survey) -> Survey | None:
        names = list(self.entries(survey))
        return self._without(survey, names) if names else None

    def _without(self, survey: Survey, names: Collection[str]) -> Survey:
        """The room if cards did not say these things."""
        kept: dict[str, list[Entry]] = {}
        for name, (kind, entry) in self.entries(survey).items():
            kept.setdefault(kind.id, []).extend([] if name in names else [entry])
        cards = {card: survey.kinds[card].card.model_copy(update={self.key: tuple(own)}) for card, own in kept.items()}
        hardware = [cards.get(card.id, card) for card in survey.hardware.card]
        return replace(
            survey,
            kinds={card: replace(kind, card=cards.get(card, kind.card)) for card, kind in survey.kinds.items()},
            hardware=survey.hardware.model_copy(update={"card": tuple(hardware)}),
        )

    def others(self, survey: Survey) -> set[str]:
        """The cards that others say something of."""
        return {entry.card for _, entry in self.entries(survey).values()}

    def separates(self, survey: Survey, kind: Kind) -> object:
        """What it says of others, and itself where others say something of it."""
        return sorted(map(repr, self._of(kind))), kind.id if kind.id in self.others(survey) else None

    # How it is told

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        return tell("{where}: {said}", where=whereabouts(reading.limit), said=self.said(survey, reading, standing))

    def over(self, survey: Survey, reading: Reading) -> Message:
        where = in_several(survey, reading.limit)
        return tell("{where}{said}", where=where, said=self.said(survey, reading, None))

    @abstractmethod
    def asks(self, card: str, entry: Entry) -> Message:
        """What a card says of another."""

    @abstractmethod
    def said(self, survey: Survey, reading: Reading, standing: Standing | None) -> Message:
        """A broken limit but for its frame; with a build, what breaks it."""


def cards_of(frame: FrameStanding, card: str) -> list[Seated]:
    """The cards of a kind in a frame, from slot 1 on."""
    return sorted((seat for seat in frame.seats if seat.kind.id == card), key=lambda seat: seat.slot)


def seats_of(draft: Draft, limit: Limit, card: str) -> list[Seat]:
    """The open seats of a kind of card in the frame that a limit speaks of."""
    return list(draft.seats(site_of(draft.survey, limit), card))


def by_slot(seats: Sequence[Seat]) -> dict[int, Load]:
    """The seats of one kind of card by first slot."""
    ordered = sorted(seats, key=lambda seat: seat.slot)
    return {slot: [(1, seat.term) for seat in own] for slot, own in groupby(ordered, key=lambda seat: seat.slot)}


def counted(amount: int, seats: Sequence[Seat]) -> Load:
    """So much for each of these seats that is taken."""
    return [(amount, seat.term) for seat in seats]

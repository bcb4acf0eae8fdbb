"""Frames and slots that stay as they stand."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, ClassVar

from solver.fitted.standing import Standing
from solver.room.kind import Kind
from solver.room.message import Message, Said, Unit, joined, tell
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Survey
from solver.room.wish import Change, Document, LimitWish
from solver.room.words import Work
from solver.rules.limit import Draft, Limit, Place, Reading, Rule, site_of, whereabouts

SETTINGS = "board and straps"


@dataclass(frozen=True)
class Touched(LimitWish):
    """A frame, or one of its slots, that may be changed."""

    sort = "fixed"
    order = 65
    work: ClassVar[Work] = "lid off: move cards or straps"
    at_once = True

    frame: str
    slot: int | None = None

    @property
    def entry(self) -> str:
        """How the scenario writes it."""
        return self.frame if self.slot is None else f"{self.frame}:{self.slot}"

    @property
    def rank(self) -> tuple[object, ...]:
        return self.order, self.frame, self.slot or 0

    def path(self, survey: Survey) -> list[str | int]:
        return ["fixed", self.entry]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        document["fixed"] = [entry for entry in document["fixed"] if entry != self.entry]

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        if self.slot is None:
            return tell("let frame {frame} be changed", frame=self.frame)
        return tell("frame {frame}: let slot {slot} be changed", frame=self.frame, slot=self.slot)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return "as it stands", None

    def kept(self, survey: Survey) -> Message:
        if self.slot is None:
            return tell("frame {frame} stays as it stands", frame=self.frame)
        return tell("frame {frame}: slot {slot} stays as it stands", frame=self.frame, slot=self.slot)


class Fixed(Rule):
    """Frames and slots that the scenario fixes as they stand."""

    code = "fixed"
    speaks_of = "cards"
    sparing = True

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each slot, and for board and straps of a frame that is fixed whole: nothing is changed."""
        for site in survey.frames:
            for slot in sorted(site.fixed, key=lambda slot: slot or 0):
                wish = Touched(site.name, slot)
                for place in [slot] if slot else site.slots:
                    yield self._limit(Place(frame=site.name, slot=place), wish)
                if slot is None:
                    yield self._limit(Place(frame=site.name, subject=SETTINGS), wish)

    def _limit(self, place: Place, wish: Touched) -> Limit:
        unit: Unit = "settings" if place.slot is None else "cards"
        return Limit(self.code, place, 0, unit, source=("fixed", wish.entry), give=range(1, 2))

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int:
        """Whether something else stands there than stood, or the board is another or any strap set otherwise."""
        frame = standing.by_name.get(limit.place.frame or "")
        site = site_of(survey, limit)
        assert site.stood is not None
        if limit.place.slot is not None:
            seat = frame.occupant(limit.place.slot) if frame else None
            return int((None if seat is None else (seat.slot, seat.kind.id)) != _stood_in(site, survey, limit))
        if frame is None or not site.stood.board:
            return 0
        board = frame.board
        named = {g.name: s for g in board.strap_group for s in g.settings() if frame.built.straps.get(g.name) == s.name}
        return int(board.id != site.stood.board or site.stood.to_set(board, named) > 0)

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """The card that stands there is seated there, or none is; no layout for which a strap is set."""
        site, slot = site_of(draft.survey, limit), limit.place.slot
        assert site.stood is not None
        stood = _stood_in(site, draft.survey, limit)
        if slot is None:
            board = site.stood.board
            touched = [(1, t) for w, t in draft.layouts(site) if board and (w.board != board or w.to_set)]
            if touched:
                draft.hold(limit, touched)
        elif stood is None:
            for cell in draft.cells(site, slot):
                draft.hold(limit, [(taken, seat.term) for taken, seat in draft.covering(cell)])
        else:
            there = [(-1, seat.term) for seat in draft.seats(site, stood[1]) if seat.slot == stood[0]]
            draft.hold(limit, [(1, 1), *there])

    def tells_apart(self, survey: Survey, site: FrameSite, layout: Layout, slot: int) -> object:
        """Each slot that is fixed, and all that the card there takes."""
        if None in site.fixed:
            return slot
        kept = {s for own in site.fixed for s in _covered(site, survey, own or 0)}
        return slot if slot in kept else None

    def shuts(self, limit: Limit, site: FrameSite, layout: Layout, kind: Kind) -> Collection[int]:
        """The slot, to all but the card that stands in it."""
        slot = limit.place.slot
        if slot is None or site.stood is None:
            return ()
        stays = any(card == kind.id and slot in range(n, n + kind.span) for n, card in site.stood.cards)
        return () if stays else (slot,)

    def lifted(self, survey: Survey) -> Survey | None:
        if not any(site.fixed for site in survey.frames):
            return None
        return replace(survey, frames=tuple(replace(site, fixed=frozenset()) for site in survey.frames))

    def hurdle(self, survey: Survey, channels: int, broken: Sequence[Reading]) -> Message:
        wishes = dict.fromkeys(self._wish(each.limit) for each in broken)
        return joined([wish.kept(survey) for wish in wishes], "; ")

    def _wish(self, limit: Limit) -> Touched:
        whole = limit.source == ("fixed", limit.place.frame)
        return Touched(limit.place.frame or "", None if whole else limit.place.slot)

    def wish(self, limit: Limit) -> LimitWish | None:
        """It may be changed."""
        return self._wish(limit)

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        limit = reading.limit
        if limit.place.slot is None:
            return tell("{where}: board and straps are to stay as they stand", where=whereabouts(limit))
        stood = _stood_in(site_of(survey, limit), survey, limit)
        text = "{where}: {card} is to stay here" if stood else "{where}: this slot is to stay empty"
        return tell(text, where=whereabouts(limit), card=stood[1] if stood else "")


def _covered(site: FrameSite, survey: Survey, slot: int) -> range:
    """The slots of the card that stood in one, or that alone."""
    for first, card in site.stood.cards if site.stood else ():
        own = range(first, first + survey.kinds[card].span)
        if slot in own:
            return own
    return range(slot, slot + 1)


def _stood_in(site: FrameSite, survey: Survey, limit: Limit) -> tuple[int, str] | None:
    """The first slot and the card that stood in a limit's slot."""
    for first, card in site.stood.cards if site.stood else ():
        if (limit.place.slot or 0) in range(first, first + survey.kinds[card].span):
            return first, card
    return None

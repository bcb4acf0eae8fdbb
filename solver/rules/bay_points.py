"""Each loom that a bay takes has points there: as many pieces of looms as there are blocks that have room for them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, ClassVar

from solver.fitted.standing import Standing
from solver.room.faults import quote
from solver.room.kind import Kind
from solver.room.message import Message, Said, Unit, tell
from solver.room.points import BlockSort, Footprints, Piece, fitting, takes, unions
from solver.room.survey import Survey
from solver.room.wish import Change, Document, LimitWish, room_path
from solver.room.words import DIRECTIONS, Work
from solver.rules.limit import Draft, Limit, Near, Place, Reading, Rule

MOST_ROWS = 26


@dataclass(frozen=True)
class MoreRows(LimitWish):
    """A bay with more pairs of rows. `index` counts bays of the file from 0; amounts are blocks of points."""

    sort = "bay_rows"
    order = 45
    work: ClassVar[Work] = "buy"
    unit: ClassVar[Unit | None] = "blocks"
    guessed = True

    index: int

    def rows(self, survey: Survey, change: Change) -> tuple[int, int]:
        """Its rows before and after a change."""
        bay = Footprints(survey).bays[self.index]
        return bay.rows, bay.rows + 2 * -(-change.amount // max(1, bay.points // bay.block))

    def most(self, survey: Survey) -> int:
        bay = Footprints(survey).bays[self.index]
        return (MOST_ROWS - bay.rows) // 2 * max(1, bay.points // bay.block)

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "bay", self.index, "rows"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        room["bay"][self.index]["rows"] = self.rows(survey, change)[1]

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        before, after = self.rows(survey, change)
        name = quote(Footprints(survey).bays[self.index].name)
        text = "give bay {name} {more} more rows ({before} -> {after})"
        return tell(text, name=name, more=after - before, before=before, after=after)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return self.rows(survey, change)

    def kept(self, survey: Survey) -> Message:
        bay = Footprints(survey).bays[self.index]
        text = "bay {name} has {rows} rows of {points} points"
        return tell(text, name=quote(bay.name), rows=bay.rows, points=bay.points)


class BayPoints(Rule):
    """Bays that have points for all looms that they take."""

    code = "bay-points"
    speaks_of = "loads"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For bays that share lines together the blocks that they have; the last of them may get more rows."""
        prints = Footprints(survey)
        for group in _sharing(survey, prints):
            last = group[-1]
            blocks = sum(count for (at, _), count in prints.blocks.items() if at in group)
            yield Limit(
                self.code,
                Place(subject=prints.bays[last].name),
                blocks,
                "blocks",
                source=("bay", last, "rows"),
                give=range(1, MoreRows(last).most(survey) + 1),
            )

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int:
        """Pieces that are on blocks; where some have none, they come on top of all blocks."""
        prints = Footprints(survey)
        group = _group(survey, prints, limit)
        found: Counter[Piece] = Counter()
        for frame in standing.frames:
            for seat in frame.seats:
                own = {
                    (direction, slot - seat.slot): sum(
                        at == slot and number is not None for at, _, number in frame.channels(direction)
                    )
                    for direction in DIRECTIONS
                    for slot in seat.covers
                    if frame.occupant(slot) is seat
                }
                found += prints.pieces(seat.kind, own)
        own_pieces = {piece: n for piece, n in found.items() if _taken(prints, piece, group)}
        short = _short(own_pieces, prints)
        return limit.bound + short if short else sum(own_pieces.values())

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Of the pieces that fit some blocks alone there are no more than of these, whichever blocks they are.

        Rows of the last bay help where it takes some of them.
        """
        prints = Footprints(draft.survey)
        group = _group(draft.survey, prints, limit)
        loads: dict[Piece, list[tuple[int, Any]]] = {}
        for seat, layout in draft.laid():
            numbered = {
                (direction, slot - seat.slot): layout.fewest(direction, slot)
                for direction in DIRECTIONS
                for slot in seat.covers
            }
            for piece, count in prints.pieces(seat.kind, numbered).items():
                if _taken(prints, piece, group):
                    loads.setdefault(piece, []).append((count, seat.term))
        fits = {piece: fitting(piece, prints.bays, prints.blocks) for piece in loads}
        for own in sorted(unions(fits.values()), key=sorted):
            room = sum(prints.blocks[block] for block in own)
            load = [entry for piece, entries in loads.items() if fits[piece] <= own for entry in entries]
            gives = limit if any(at == group[-1] for at, _ in own) else replace(limit, source=None, give=range(0))
            draft.hold(gives, [*load, *([(limit.bound - room, 1)] if limit.bound > room else [])])

    def separates(self, survey: Survey, kind: Kind) -> object:
        """What its connectors take of bays, however many of its channels have numbers."""
        prints = Footprints(survey)
        if not prints.bays:
            return None
        sides = [(direction, part) for direction in DIRECTIONS for part in range(kind.span)]
        each = [prints.pieces(kind, {side: own}) for side in sides for own in range(1, len(kind.on(*side)) + 1)]
        return tuple(frozenset(pieces.items()) for pieces in each)

    # How it is told

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        prints = Footprints(survey)
        group = _group(survey, prints, reading.limit)
        last, short = prints.bays[group[-1]], reading.used - reading.limit.bound
        names = " and ".join(quote(prints.bays[at].name) for at in group)
        called = f"bay {names} is" if len(group) == 1 else f"bays {names} together are"
        lacks = tell(
            "{lacks} {blocks} block{s} of {size} points, {pairs} pairs"
            if last.block > 1
            else "{lacks} {blocks} pair{s} of points",
            lacks="it lacks" if len(group) == 1 else "they lack",
            blocks=short,
            s="" if short == 1 else "s",
            size=last.block,
            pairs=short * last.block,
        )
        rows = 2 * -(-short // last.blocks_in_a_row)
        more = tell("{rows} rows" if len(group) == 1 else "rows to the one that takes what lacks", rows=rows)
        text = "{called} too small: {lacks}; add {more}, another bay, or take fewer cards"
        return tell(text, called=called, lacks=lacks, more=more)

    def headroom(self, survey: Survey, reading: Reading, standing: Standing) -> Near | None:
        prints = Footprints(survey)
        group = _group(survey, prints, reading.limit)
        names, last = " and ".join(quote(prints.bays[at].name) for at in group), prints.bays[group[-1]]
        what = f"blocks of {last.block}" if last.block > 1 else "pairs of points"
        text = "bay {names}: {used} of {bound} {what}"
        said = tell(text, names=names, used=reading.used, bound=reading.limit.bound, what=what)
        return Near(said, tell("rows {rows} of {points}", rows=last.rows, points=last.points))

    def lifted(self, survey: Survey) -> Survey | None:
        return _without_bays(survey) if Footprints(survey).bays else None

    def over(self, survey: Survey, reading: Reading) -> Message:
        return self.fault(survey, reading)

    def wish(self, limit: Limit) -> LimitWish | None:
        """More rows for the last of the bays."""
        return MoreRows(int(limit.source[1])) if limit.source else None


def _sharing(survey: Survey, prints: Footprints) -> list[tuple[int, ...]]:
    """Bays that some card's lines may come on, those together that one line may."""
    groups: list[set[int]] = []
    lines = {
        (direction, frozenset(port.signals))
        for kind in survey.kinds.values()
        for (direction, _), ports in kind.ports.items()
        for port in ports
    }
    for direction, signals in lines if prints.bays else ():
        own = {at for at, bay in enumerate(prints.bays) if takes(bay, direction, signals)}
        if own:
            near = [group for group in groups if group & own]
            groups = [group for group in groups if not group & own] + [own.union(*near)]
    return sorted(tuple(sorted(group)) for group in groups)


def _group(survey: Survey, prints: Footprints, limit: Limit) -> tuple[int, ...]:
    """The bays that a limit is of."""
    return next(own for own in _sharing(survey, prints) if prints.bays[own[-1]].name == limit.place.subject)


def _taken(prints: Footprints, piece: Piece, group: Sequence[int]) -> bool:
    return any(takes(prints.bays[at], piece.direction, piece.signals) for at in group)


def _short(wanted: Mapping[Piece, int], prints: Footprints) -> int:
    """How many pieces have no block, dealt one by one, each in the place of another that has a block elsewhere."""
    free = Counter(prints.blocks)
    fits = {piece: sorted(fitting(piece, prints.bays, free)) for piece in wanted}
    on: Counter[tuple[BlockSort, Piece]] = Counter()

    def deal(piece: Piece, tried: set[BlockSort]) -> bool:
        for block in fits[piece]:
            if block in tried:
                continue
            tried.add(block)
            others = [other for other in fits if on[block, other] and other != piece]
            gone = None if free[block] else next((other for other in others if deal(other, tried)), None)
            if free[block]:
                free[block] -= 1
            elif gone is not None:
                on[block, gone] -= 1
            else:
                continue
            on[block, piece] += 1
            return True
        return False

    return sum(not deal(piece, set()) for piece, count in wanted.items() for _ in range(count))


def _without_bays(survey: Survey) -> Survey:
    scenario = survey.scenario
    if survey.room is None:
        return replace(survey, scenario=scenario.model_copy(update={"bay": ()}))
    rooms = tuple(r.model_copy(update={"bay": ()}) if r.name == survey.room else r for r in scenario.room)
    return replace(survey, scenario=scenario.model_copy(update={"room": rooms}))

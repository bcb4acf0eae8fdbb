"""Frames one after the other: those before stand, the one in turn is stated slot by slot, the rest over runs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, TypeAlias

from solver.room.kind import Kind
from solver.room.survey import FrameSite, Survey
from solver.rules.limit import Limit, Rule
from solver.search.model.basis import Option
from solver.search.model.services import expression
from solver.search.model.statement import Placement, RoomStatement

Digit: TypeAlias = Sequence[tuple[int, Any]]
"""Ranks and the terms that say which of them holds; a rank after all of them where none does."""


class InTurn(RoomStatement):
    """A room with given layouts whose first frames stand.

    Parameters
    ----------
    survey
        The room.
    options
        The layout of each frame, None where it is not used.
    kinds
        The cards under consideration.
    limits
        What to state; of rules that are graded none.
    before
        First slot and card id of all that the first frames hold. The frame after them is in turn.
    """

    def __init__(
        self,
        survey: Survey,
        options: Sequence[Option],
        kinds: Sequence[Kind],
        limits: Sequence[tuple[Rule, Limit]],
        before: Sequence[Sequence[tuple[int, str]]],
    ) -> None:
        self._before = before
        self._by_slots = {site.name for site in survey.frames[: len(before) + 1]}
        super().__init__(
            survey,
            [[option] for option in options],
            kinds,
            limits,
            slot_by_slot=False,
            margin_mk=survey.refuse_mk,
            whole_cards=True,
        )
        for seat in (seat for site in survey.frames[: len(before)] for seat in self.seats(site)):
            self.model.add(seat.term == 1)

    def by_slots(self, frame: str | None) -> bool:
        """The frame in turn is, and those before it are."""
        return frame in self._by_slots

    def may_seat(self, site: FrameSite, places: Iterable[tuple[int, Kind]]) -> None:
        """In frames that stand nothing but what stands there."""
        if site.index < len(self._before):
            places = [(slot, kind) for slot, kind in places if (slot, kind.id) in self._before[site.index]]
        super().may_seat(site, places)

    @property
    def digits(self) -> list[Digit]:
        """What each slot of the frame in turn holds, by ids; nothing comes last."""
        site = self.survey.frames[len(self._before)]
        starts: dict[int, list[Placement]] = {slot: [] for slot in site.slots}
        for own in self.frames[site.index]:
            for placed in own.placements:
                starts[placed.slot].append(placed)
        return [list(enumerate(p.term for p in sorted(own, key=lambda p: p.kind.id))) for own in starts.values() if own]


def least_number(digits: Sequence[Digit], base: int) -> Any:
    """The number that some digits make, less what it would be if none of their terms held."""
    places = reversed(range(len(digits)))
    return expression(
        [((rank + 1 - base) * base**n, term) for n, digit in zip(places, digits, strict=True) for rank, term in digit]
    )

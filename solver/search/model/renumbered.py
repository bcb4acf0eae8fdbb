"""How many channels of a need get another number than in what stands, as a load of a model, slot by slot.

Of a need whose channels nothing tells apart it is enough which of its numbers it keeps; the others are served like any.
Of one whose channels are told apart every number counts, since channels are counted in the order of their numbers.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Protocol

from solver.fitted.moves import Spot
from solver.room.survey import Need, Survey
from solver.rules.limit import Load, Number, Term
from solver.search.model.cpsat import cp_model
from solver.search.model.numbering import Numbering
from solver.search.model.services import Services, add, expression


class Serving(Protocol):
    """What of a draft the numbers of needs are stated on."""

    model: cp_model.CpModel
    survey: Survey
    services: Services
    on_numbers: dict[Need, Mapping[tuple[int, int], Term]]

    @property
    def numbering(self) -> Numbering:
        """The terms of its numbers."""

    def numbers(self, need: Need) -> Sequence[Number]:
        """Every number that may carry a need, with the term that says that it does."""


def channels_renumbered(draft: Serving, need: Need, before: Sequence[Spot]) -> Load:
    """The channels of a need that had a number and get another one, of where they were."""
    indices = {site.name: site.index for site in draft.survey.frames}
    spots = [None if spot.number is None else (indices[spot.frame], spot.number) for spot in before]
    served: Any = draft.services.asked[need]
    least = need.demand - draft.survey.may_lack(need)
    return (
        _told_apart(draft, need, spots, served, least) if need.definite else _alike(draft, need, spots, served, least)
    )


def _alike(
    draft: Serving, need: Need, spots: Sequence[tuple[int, int] | None], served: Any, least: int
) -> list[tuple[int, Term]]:
    """As many as had a number and have one, less the numbers that are kept."""
    had = {spot for spot in spots if spot is not None}
    terms = draft.on_numbers[need] = draft.numbering.keep(need, had)
    carried = expression([(1, term) for term in terms.values()])
    draft.services.kept[need] = carried
    add(draft.model, carried <= served)
    kept: Load = [(-1, term) for spot, term in terms.items() if spot in had]
    if len(had) <= least:
        return [(len(had), 1), *kept]
    if len(had) >= need.demand:
        return [(1, served), *kept]
    fewer = draft.model.new_int_var(least, len(had), "")
    is_less = draft.model.new_bool_var("")
    add(draft.model, fewer >= len(had) - (len(had) - least) * is_less)
    add(draft.model, fewer >= served - (need.demand - least) * (1 - is_less))
    return [(1, fewer), *kept]


def _told_apart(
    draft: Serving, need: Need, spots: Sequence[tuple[int, int] | None], served: Any, least: int
) -> list[tuple[int, Term]]:
    """Channel by channel: it keeps its number if that carries the need and as many before it do as channels are."""
    numbers = sorted(draft.numbers(need), key=lambda n: draft.survey.place(need, n.site.index, n.number))
    draft.on_numbers[need] = {(number.site.index, number.number): number.term for number in numbers}
    places = {(number.site.index, number.number): at for at, number in enumerate(numbers)}
    found: list[tuple[int, Term]] = []
    for channel, spot in enumerate(spots[: need.demand]):
        if spot is None:
            continue
        there: Term = 1
        if channel >= least:
            there = draft.model.new_bool_var("")
            add(draft.model, served - channel <= (need.demand - channel) * there)
        found.append((1, there))
        at = places.get(spot)
        if at is not None:
            kept = draft.model.new_bool_var("")
            add(draft.model, kept <= numbers[at].term)
            before = expression([(1, number.term) for number in numbers[:at]])
            if isinstance(before, int):
                add(draft.model, kept <= int(before == channel))
            else:
                draft.model.add(before == channel).only_enforce_if(kept)
            found.append((-1, kept))
    return found

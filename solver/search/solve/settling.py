"""What a seating leaves open: which numbers needs keep of those that they had, and how its cards are set.

One small model of just these seats is asked: for as few holes and as few channels that get another number as the search
claims, in the order of the ranking; then for the fewest other signals given up, for the fewest settings that are not as
cards stood or come, and for the first way in order.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, TypeAlias

from solver import rules
from solver.fitted.cards_set import CardSwitch, stood_sets
from solver.fitted.decided import Held
from solver.judge import criteria
from solver.room.survey import Survey
from solver.room.traits import Switch
from solver.room.words import DIRECTIONS
from solver.rules.limit import Load, Seat
from solver.search.model.cpsat import cp_model
from solver.search.model.draft import CpDraft, Ends
from solver.search.model.seating import Seating
from solver.search.model.services import add, expression
from solver.search.model.setting import SetAlike
from solver.search.solve.clock import Clock, SearchError
from solver.search.solve.order import digits
from solver.search.solve.solving import solve

Section: TypeAlias = tuple[Seat, Any, int, list[SetAlike]]
"""The card, direction and slot of channels that are set together, and the ways to set them."""


@dataclass(frozen=True)
class Settled:
    """What is settled of a seating.

    `choices` are those that switches of cards may have, by frame; None where no need asks anything of settings. `held`
    says what serves what as far as it matters; None where nothing stands.
    """

    choices: Mapping[str, Mapping[CardSwitch, Sequence[str]]] | None = None
    held: Held | None = None
    ends: Ends | None = None


def settled(survey: Survey, seating: Seating, reached: Mapping[str, int]) -> Settled:
    """Settle a seating.

    Parameters
    ----------
    reached
        What the search claims of criteria: no more than that.
    """
    stands = survey.scenario.stands is not None
    found = _Settling(survey, seating, reached).found() if stands or survey.switched else _Found()
    return Settled(
        _choices(survey, seating, found.shared) if any(need.traits or need.one_of for need in survey.needs) else None,
        found.held if stands else None,
        (found.ends if stands else None) or seating.ends,
    )


def _choices(
    survey: Survey, seating: Seating, shared: Mapping[tuple[str, int, Switch], tuple[str]]
) -> dict[str, dict[CardSwitch, Sequence[str]]]:
    """By frame what its cards may be set to: channels that are set one by one to anything."""
    found: dict[str, dict[CardSwitch, Sequence[str]]] = {}
    for site, own in zip(survey.frames, seating.cards, strict=True):
        found[site.name] = {}
        for slot, card in own:
            kind = survey.kinds[card]
            wanted = {d: kind.wanted(d) for d in DIRECTIONS}
            for switch in kind.switches:
                usual = switch.relevant(wanted[switch.setting.direction])[:1] if switch.shared else switch.setting.every
                found[site.name][slot, switch] = shared.get((site.name, slot, switch), usual)
    return found


@dataclass
class _Found:
    """The answers of one model: choices of switches that set several channels, by frame and first slot of the card."""

    shared: Mapping[tuple[str, int, Switch], tuple[str]] = field(default_factory=dict)
    held: Held = field(default_factory=Held)
    ends: Ends | None = None


class _Settling:
    """The model of one seating."""

    def __init__(self, survey: Survey, seating: Seating, reached: Mapping[str, int]) -> None:
        self.survey = survey
        self._cards = seating.cards
        seated = {card for own in seating.cards for _, card in own}
        kinds = [kind for kind in survey.kinds.values() if kind.id in seated]
        stands = survey.scenario.stands is not None
        room = replace(survey, rank=(*survey.rank, "holes", "renumbered")) if stands else survey
        limits = [(rule, limit) for rule, limit in rules.limits(room) if not rule.graded]
        self.draft = CpDraft(room, [[option] for option in seating.options], kinds, limits)
        self.draft.seat_as(seating.cards, seating.ends)
        for name in {"unused", "holes", "renumbered"} & reached.keys():
            add(self.draft.model, expression(criteria.objective(self.draft, name)) <= reached[name])
        self.sections: list[Section] = sorted(self.draft.ways(), key=lambda way: (way[0].site.index, way[2], way[1]))
        self._stands = stands

    def found(self) -> _Found:
        """The first of the best answers.

        Raises
        ------
        SearchError
            Where the cards cannot be set, or serve, as the search claims.
        """
        answer: cp_model.CpSolver | None = None
        for goal in [*self._goals(), *self._order()]:
            least = expression(goal)
            if isinstance(least, int):
                continue
            self.draft.model.minimize(least)
            status, answer = solve(self.draft.model, Clock(None))
            if status != "proven":
                raise SearchError("what is claimed of a seating cannot be had of it")
            add(self.draft.model, least <= round(answer.objective_value))
        return _Found() if answer is None else self._read(answer)

    def _read(self, answer: cp_model.CpSolver) -> _Found:
        shared = {
            (seat.site.name, seat.slot, switch): (choice,)
            for seat, _, _, ways in self.sections
            for way in ways
            if way.setup and answer.boolean_value(way.term)
            for switch, choice in way.setup.chosen
        }
        held = {
            need.name: [place for place, term in sorted(own.items()) if answer.value(term)]
            for need, own in self.draft.on_numbers.items()
        }
        lacking = {need.name: answer.value(term) for need, term in self.draft.lacks.items()}
        return _Found(shared, Held(held, lacking), self.draft.ends(answer))

    def _goals(self) -> Iterator[Load]:
        """What is as little as can be, the first first."""
        ranked = ["holes" if name == "unused" else name for name in self.survey.rank]
        own = dict.fromkeys(name for name in ranked if name in ("holes", "renumbered"))
        stood = {
            site.name: stood_sets(self.survey, site.name, own)
            for site, own in zip(self.survey.frames, self._cards, strict=True)
        }
        misfit = self.draft.services.given_up(self.draft.model, self.survey.needs)
        if self._stands:
            yield from (criteria.objective(self.draft, name) for name in own)
        yield misfit
        if self._stands:
            yield from (criteria.objective(self.draft, name) for name in ("holes", "renumbered") if name not in own)
        yield [
            (1, way.term)
            for seat, _, _, ways in self.sections
            for way in ways
            if way.setup
            for switch, choice in way.setup.chosen
            if choice != stood[seat.site.name].get((seat.slot, switch), switch.setting.usual)
        ]

    def _order(self) -> list[Load]:
        """The first ways of sections in order, then the first of the numbers that needs had."""
        ways = [[way.term for way in own] for _, _, _, own in self.sections]
        return digits([*ways, *([term] for own in self.draft.on_numbers.values() for _, term in sorted(own.items()))])

"""The phases in which a scenario is bought, each as a room of its own with the needs and the prices that it has."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

from solver.room.build import Build, Ordered
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.survey import Offer, Survey
from solver.room.times import Phase


@dataclass(frozen=True)
class Stretch:
    """A phase, and the room from it until the next one. `budget` in minor units; None for any amount."""

    phase: Phase
    survey: Survey
    budget: int | None


@dataclass(frozen=True)
class Bought:
    """So many of an offer that are ordered in a phase, told by its place; `offer` has what one costs then."""

    phase: int
    offer: Offer
    count: int

    @property
    def cost(self) -> int:
        """In minor units."""
        return self.count * self.offer.price


@dataclass(frozen=True)
class Phases:
    """The phases of a scenario in their order.

    `moves` says whether a card may leave its slot once or never, `cost_of` whether what all phases cost is the least or
    what the first one costs. `budget` is for all phases together.
    """

    stretches: tuple[Stretch, ...]
    moves: Literal["once", "never"]
    cost_of: Literal["all phases", "first phase"]

    @property
    def first(self) -> Survey:
        """The room as it is in the first of them."""
        return self.stretches[0].survey

    @property
    def budget(self) -> int | None:
        """What may be spent in all phases together, in minor units; None for any amount."""
        return self.first.budget

    def spent(self, bought: Iterable[Bought]) -> list[int]:
        """What each phase costs, in minor units."""
        costs = [0] * len(self.stretches)
        for own in bought:
            costs[own.phase] += own.cost
        return costs

    def stocked(self, at: int, bought: Iterable[Bought]) -> Survey:
        """The room in a phase, with all that was ordered until then in stock and nothing more on offer."""
        survey = self.stretches[at].survey
        ordered = Counter[str]()
        for own in bought:
            ordered[own.offer.item] += own.count if own.phase <= at else 0
        stock = {item: survey.stock.get(item, 0) + ordered[item] for item in {*survey.stock, *ordered}}
        return replace(survey, stock=stock, offers={}, budget=None)


def phases_of(scenario: Scenario, hardware: Hardware) -> Phases:
    """The phases of a scenario that has some."""
    stretches = []
    for phase in scenario.phase:
        survey = survey_room(scenario_in(scenario, phase), hardware)
        budget = None if phase.budget is None else int(phase.budget.scaleb(survey.decimals))
        stretches.append(Stretch(phase, survey, budget))
    return Phases(tuple(stretches), scenario.moves, scenario.cost_of)


def scenario_in(scenario: Scenario, phase: Phase) -> Scenario:
    """A scenario as it is in one of its phases, as if there were no other, without what needs lack that it lacks."""
    needs = tuple(need for need in scenario.need if need.name in phase.needs)
    ends = tuple(end for end in scenario.far_end if end.need is None or end.need in phase.needs)
    offers = tuple(
        offer.model_copy(update={"price": phase.prices[offer.item]}) if offer.item in phase.prices else offer
        for offer in scenario.offer
    )
    return scenario.model_copy(update={"need": needs, "far_end": ends, "offer": offers, "phase": ()})


def owned_in(scenario: Scenario, phase: Phase, build: Build) -> Scenario:
    """A scenario as it is in one of its phases once what a build orders until then is there; nothing is on offer."""
    until = [own.name for own in scenario.phase[: scenario.phase.index(phase) + 1]]
    stock = Counter(scenario.stock)
    for order in build.order:
        stock[order.item] += order.count if order.phase in until else 0
    update = {"stock": dict(stock), "offer": (), "budget": None}
    return scenario_in(scenario, phase).model_copy(update=update)


def with_all_money(phases: Phases, at: int) -> Survey:
    """The room in a phase by itself, with all that may be spent until then, at the lowest prices until then.

    Whatever is impossible there is impossible in the phase.
    """
    survey = phases.stretches[at].survey
    until = phases.stretches[: at + 1]
    given = [stretch.budget for stretch in until]
    together = None if None in given else sum(budget or 0 for budget in given)
    budgets = [budget for budget in (together, phases.budget) if budget is not None]
    least = {
        offer.index: min(o.price for s in until for o in s.survey.offers[item] if o.index == offer.index)
        for item, own in survey.offers.items()
        for offer in own
    }
    offers = tuple(
        offer.model_copy(update={"price": Decimal(least[index]).scaleb(-survey.decimals)})
        for index, offer in enumerate(survey.scenario.offer)
    )
    budget = Decimal(min(budgets)).scaleb(-survey.decimals) if budgets else None
    return survey_room(survey.scenario.model_copy(update={"budget": budget, "offer": offers}), survey.hardware)


def in_phase(build: Build, phase: str) -> Build:
    """The frames of a build as they are in a phase, as if there were no other."""
    frames = [frame.model_copy(update={"phase": None}) for frame in build.frame if frame.phase == phase]
    return build.model_copy(update={"frame": tuple(frames), "order": ()})


def of_all_phases(phases: Phases, builds: Sequence[Build], bought: Sequence[Bought]) -> Build:
    """The builds of all phases as one, with what is ordered for them."""
    frames = [
        frame.model_copy(update={"phase": stretch.phase.name})
        for stretch, build in zip(phases.stretches, builds, strict=True)
        for frame in build.frame
    ]
    return builds[0].model_copy(update={"frame": tuple(frames), "order": tuple(_ordered(phases, b) for b in bought)})


def _ordered(phases: Phases, bought: Bought) -> Ordered:
    survey, item = phases.first, bought.offer.item
    boards = {board.id for board in survey.hardware.board}
    sort = "card" if item in survey.kinds else "board" if item in boards else "chassis"
    price = Decimal(bought.offer.price).scaleb(-survey.decimals)
    phase = phases.stretches[bought.phase].phase.name
    return Ordered.model_validate({"phase": phase, sort: item, "count": bought.count, "price": str(price)})

"""How the cards of a seating are set: as the needs ask, with as few settings off what cards come with as can be.

Where several ways to set a card make a difference, one small model of just these seats is asked: first for the fewest
other signals given up, then for the fewest settings that are not as cards come, then for the first way in order.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from solver import rules
from solver.fitted.cards_set import CardSwitch
from solver.room.straps import Layout
from solver.room.survey import Survey
from solver.room.words import DIRECTIONS
from solver.rules.limit import Load
from solver.search.model.draft import CpDraft, Ends
from solver.search.model.services import add, expression
from solver.search.solve.clock import Clock
from solver.search.solve.solving import solve

MOST_AT_ONCE = 10**8
"""Ways of sections are asked for together while the numbers that they make as digits stay below this."""

Cards = Sequence[Sequence[tuple[int, str]]]
"""For each frame the first slots and ids of its cards."""


def card_choices(
    survey: Survey, options: Sequence[Layout | None], cards: Cards, ends: Ends | None
) -> dict[str, dict[CardSwitch, Sequence[str]]] | None:
    """By frame the choices that the switches of its cards may have; None where no need asks anything of settings.

    Channels that are set one by one may have any.
    """
    if not any(need.traits for need in survey.needs):
        return None
    shared = _shared(survey, options, cards, ends) if survey.switched else {}
    found: dict[str, dict[CardSwitch, Sequence[str]]] = {}
    for site, own in zip(survey.frames, cards, strict=True):
        found[site.name] = {}
        for slot, card in own:
            kind = survey.kinds[card]
            wanted = {d: kind.wanted(d) for d in DIRECTIONS}
            for switch in kind.switches:
                usual = switch.relevant(wanted[switch.setting.direction])[:1] if switch.shared else switch.setting.every
                found[site.name][slot, switch] = shared.get((site.name, slot, switch), usual)
    return found


def _shared(
    survey: Survey, options: Sequence[Layout | None], cards: Cards, ends: Ends | None
) -> Mapping[tuple[str, int, object], tuple[str]]:
    """The choices of switches that set several channels, by frame and first slot of the card."""
    seated = {card for own in cards for _, card in own}
    kinds = [kind for kind in survey.kinds.values() if kind.id in seated]
    limits = [(rule, limit) for rule, limit in rules.limits(survey) if not rule.graded]
    draft = CpDraft(survey, [[option] for option in options], kinds, limits)
    draft.seat_as(cards, ends)
    sections = sorted(draft.ways(), key=lambda way: (way[0].site.index, way[2], way[1]))
    changed = [
        (1, way.term)
        for _, _, _, ways in sections
        for way in ways
        if way.setup
        for switch, choice in way.setup.chosen
        if choice != switch.setting.usual
    ]
    goals: list[Load] = [draft.services.given_up(draft.model, survey.needs), changed]
    digits: list[Load] = []
    number = 1
    for _, _, _, ways in sections:
        if not digits or number * (len(ways) + 1) > MOST_AT_ONCE:
            digits.append([])
            number = 1
        scaled = [((len(ways) + 1) * amount, term) for amount, term in digits[-1]]
        digits[-1] = [*scaled, *((place - len(ways), way.term) for place, way in enumerate(ways))]
        number *= len(ways) + 1
    chosen: dict[tuple[str, int, object], tuple[str]] = {}
    for goal in [*goals, *digits]:
        least = expression(goal)
        if isinstance(least, int):
            continue
        draft.model.minimize(least)
        status, solver = solve(draft.model, Clock(None))
        if status != "proven":
            return {}
        add(draft.model, least <= round(solver.objective_value))
        chosen = {
            (seat.site.name, seat.slot, switch): (choice,)
            for seat, _, _, ways in sections
            for way in ways
            if way.setup and solver.boolean_value(way.term)
            for switch, choice in way.setup.chosen
        }
    return chosen

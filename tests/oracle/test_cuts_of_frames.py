"""What is kept out of models over runs because a frame cannot be seated: nothing that can be is lost."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

import generated_rooms
from amounts import some_or_all

from solver import rules
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.survey import Survey
from solver.room.words import Direction
from solver.search.ask.ranking import rank
from solver.search.model.cpsat import cp_model
from solver.search.model.options import useful_kinds
from solver.search.model.services import expression
from solver.search.model.statement import RoomStatement, StatedOption
from solver.search.solve.clock import Clock
from solver.search.solve.cuts import Cut, Cuts
from solver.search.solve.given import asked_of
from solver.search.solve.part import Shared
from solver.search.solve.seat import CardsAsked, FrameAsked, core, is_as_hard, seat
from solver.search.solve.solving import Way, new_solver

MARGINS = (5000, 7000, 9000)
"""Margins in mK at which many cards of the generated rooms may not be neighbours."""


def _feasible(model: cp_model.CpModel) -> bool:
    status = new_solver(Way.CUTS).solve(model)
    return new_solver(Way.CUTS).status_name(status) in ("OPTIMAL", "FEASIBLE")


def _instead(draw: random.Random, survey: Survey, asked: FrameAsked) -> FrameAsked:
    """Other cards of which a cut says that they cannot stand either."""
    every = [*survey.kinds.values()]
    apart = rules.apart(survey, asked.site, asked.layout.board, every, asked.margin_mk)
    cards = []
    for own in asked.cards:
        hard = [kind for kind in every if is_as_hard(kind, own.kind, apart) and not asked.lacking]
        meant = [kind for kind in every if kind.id in own.ids]
        for n in range(own.count):
            used = tuple((d, part, 1) for d, part, number in own.used if n < number)
            cards.append(CardsAsked(draw.choice(meant + hard), own.starts, 1, used))
    return replace(asked, cards=tuple(cards))


@some_or_all("seeds", 40, 2000)
def test_what_a_frame_cannot_hold_is_said_of_others_that_it_cannot_either(seeds: int) -> None:
    """Drawn cards in a stretch of slots, some in use no further than a slot of it; what remains of those that fail."""
    clock = Clock(None)
    failed = in_use = others = 0
    survey = survey_room(*generated_rooms.generated(1, frames=2, slots=8, settings=4))
    site = survey.frames[0]
    for seed in range(seeds):
        draw = random.Random(seed)
        layout, first = draw.choice(site.candidates), draw.randint(1, 3)
        starts = tuple(range(first, first + draw.randint(3, 5)))
        ends: dict[Direction, int] = {"in": draw.choice(starts), "out": draw.choice(starts)}
        cards = []
        for kind in draw.sample([kind for kind in survey.kinds.values() if kind.span == 1], 3):
            count = draw.randint(1, 2)
            used = tuple((d, 0, draw.randint(0, count)) for d in ends if kind.on(d, 0))
            cards.append(CardsAsked(kind, starts, count, used))
        asked = FrameAsked(site, layout, tuple(cards), ends, {}, draw.choice(MARGINS))
        if seat(survey, asked, clock).cards is None:
            least = core(survey, asked, clock)
            failed += 1
            in_use += any(number for own in least.cards for _, _, number in own.used)
            for _ in range(6):
                instead = _instead(draw, survey, least)
                others += {own.kind.id for own in instead.cards} != {own.kind.id for own in asked.cards}
                assert seat(survey, instead, clock).cards is None, seed
    assert min(failed, in_use * 4, others // 4) >= seeds // 8, (failed, in_use, others)


@some_or_all("seeds", 6, 200)
def test_what_can_be_seated_is_never_kept_out(seeds: int) -> None:
    """Random solutions over runs: those that cannot be seated are kept out, and those that can never are.

    Of every second room the model has half of the kinds, as where it is known what can be bought.
    """
    cut = kept = 0
    clock = Clock(None)
    for seed in range(seeds):
        draw = random.Random(seed)
        survey = survey_room(*generated_rooms.generated(seed, frames=2, slots=8, settings=4))
        margin = draw.choice(MARGINS)
        layouts = [draw.choice(site.candidates) for site in survey.frames]
        shared = Shared.of(survey, True)
        kinds = useful_kinds(survey)
        if seed % 2:
            kinds = sorted(draw.sample(kinds, max(4, len(kinds) // 2)), key=lambda kind: kind.id)
        room = RoomStatement(
            survey,
            [[layout] for layout in layouts],
            kinds,
            [(rule, limit) for rule, limit in shared.limits if rule.speaks_of == "cards" and limit.place.frame],
            slot_by_slot=False,
            margin_mk=survey.refuse_mk,
            whole_cards=True,
        )
        alike = [repr(site.alike) for site in survey.frames]
        solutions: list[tuple[list[int], bool]] = []
        cuts: list[Cut] = []
        for _ in range(16):
            asking = room.copy()
            options: list[StatedOption] = [own[0] for own in room.frames]
            wanted = expression([(draw.randint(-5, 4), p.term) for o in options for p in o.placements])
            used = expression(
                [(draw.randint(1, 9), t) for o in options for _, terms in o.in_use.values() for t in terms]
            )
            ends = expression(
                [(draw.randint(0, 12), t) for o in options for own in o.last_slots.values() for _, t in own]
            )
            asking.model.maximize(4 * wanted + used - ends)
            solver = new_solver(Way.CUTS)
            solver.solve(asking.model)
            seated = True
            for option in options:
                asked = asked_of(option, solver.value, margin)
                assert asked is not None
                if seat(survey, asked, clock).cards is None:
                    seated = False
                    cuts.append(Cut(core(survey, asked, clock), alike[option.site.index]))
            solutions.append((list(solver.response_proto.solution), seated))
        for values, seated in solutions:
            held = room.copy()
            for variable, value in enumerate(values):
                held.model.add(held.model.get_int_var_from_proto_index(variable) == value)
            keeper = Cuts(held, alike)
            for own in cuts:
                keeper.keep_out(own)
            assert _feasible(held.model) == seated, (seed, margin)
            cut, kept = cut + (not seated), kept + seated
    assert min(cut, kept) >= seeds, (cut, kept)


def _card(card: str, signal: str, price: int, heat_w: int, air_limit_c: int) -> dict[str, Any]:
    port = {"direction": "in", "signals": [signal], "channels": {"48": 8}}
    return {"id": card, "price": price, "heat_w": heat_w, "air_limit_c": air_limit_c, "ports": [port]}


def test_a_cut_that_names_cards_beyond_the_least_cost_keeps_out_no_cold_ones() -> None:
    """Two frames of four slots: six hot cards, a cold one and one that takes no warm air, which has to stand apart.

    Kept together with the cold one the frail card has 10.9 K to spare. What is too hot with it is said of dearer and
    hotter cards too, which the models of the least cost do not have.
    """
    cards = [
        _card("b-hot", "mic", 100, 20, 60),
        _card("c-proof", "mic", 500, 20, 90),
        _card("d-hotter", "mic", 500, 50, 90),
        _card("z-cold", "line", 100, 1, 90),
        _card("a-frail", "instrument", 100, 1, 37),
    ]
    settings = [{"position": str(n), "outputs": {"widths": 8 + n}} for n in range(10)]
    board = {
        "id": "main",
        "price": 100,
        "heat_w": 0,
        "limits": {"48": {"in": 32, "out": 200}},
        "inputs": {"first_slot": 1, "widths": 8},
        "outputs": {"first_slot": 1, "widths": 8},
        "strap_group": [{"name": "outs", "kind": "switch", "setting": settings}],
    }
    air = {"path": "fan", "flow_m3_h": 15, "derate": 1}
    chassis = {"id": "rack", "slot_count": 4, "boards": ["main"], "supply": {"external": True}, "air": air}
    needs = {"mic": 48, "line": 8, "instrument": 8}
    scenario = {
        "format": 1,
        "title": "Two frames",
        "hardware": ["rack.toml"],
        "currency": "GBP",
        "rank": ["cost", "unused", "cooling"],
        "offer": [{"card": card["id"]} for card in cards],
        "frame": [{"name": name, "chassis": "rack", "board": "main"} for name in ("F0", "F1")],
        "need": [{"name": s, "direction": "in", "signal": s, "channels": n} for s, n in needs.items()],
        "limits": {"refuse_below_k": 1, "warn_below_k": 1, "enough_k": 5, "step_k": 5},
        "air": {"inlet_c": 25},
    }
    hardware = {"format": 1, "card": cards, "board": [board], "chassis": [chassis]}
    survey = survey_room(Scenario.model_validate(scenario), Hardware.model_validate(hardware))
    best = rank(survey, 1).builds[0]
    assert (best.proven, best.figures.cost, best.figures.margin_mk) == (True, 80000, 10992)

"""Fifty frames on offer of six models, and sixty cards of ten kinds that must all be seated, against a plain model."""

from __future__ import annotations

import random
from collections import Counter
from decimal import Decimal

from amounts import some_or_all

from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.search.ask.ranking import rank
from solver.search.model.cpsat import cp_model, steady_solver

FRAMES, MODELS, CARDS, KINDS = 50, 6, 60, 10


def _drawn(seed: int) -> tuple[dict[int, int], list[tuple[int, int, int]]]:
    """How many cards there are by their tenths of an ampere, and models as ampere-tenths, slots and price."""
    draw = random.Random(f"racks on offer {seed}")
    sizes = sorted(draw.sample(range(10, 90, 5), KINDS))
    cards = Counter([*sizes, *(draw.choice(sizes) for _ in range(CARDS - KINDS))])
    models = [(draw.choice((100, 150, 200, 250, 300, 400)), draw.choice((4, 6, 8, 10, 12))) for _ in range(MODELS)]
    return dict(cards), [(load, slots, round(load * draw.uniform(0.8, 1.2)) + 5 * slots) for load, slots in models]


def _files(cards: dict[int, int], models: list[tuple[int, int, int]]) -> tuple[Scenario, Hardware]:
    board = {
        "id": "plain",
        "price": "0",
        "rails": {},
        "limits": {"48": {"in": 0, "out": 0}},
        "inputs": {"first_slot": 1, "widths": 0},
        "outputs": {"first_slot": 1, "widths": 0},
    }
    chassis = [
        {
            "id": f"model-{n}",
            "price": str(price),
            "slot_count": slots,
            "boards": ["plain"],
            "rails": {"+5": Decimal(load) / 10},
        }
        for n, (load, slots, price) in enumerate(models)
    ]
    scenario = {
        "format": 1,
        "title": "Racks on offer",
        "hardware": ["racks.toml"],
        "currency": "EUR",
        "rank": ["cost"],
        "limits": {"rail_reserve": "0 %"},
        "stock": {"plain": FRAMES, **{f"card-{size}": count for size, count in cards.items()}},
        "must_seat": [{"card": f"card-{size}", "count": count} for size, count in cards.items()],
        "offer": [{"chassis": f"model-{n}"} for n in range(MODELS)],
        "frame": [
            {"name": f"{n % MODELS}-{n // MODELS:02}", "chassis": f"model-{n % MODELS}", "owned": False}
            for n in range(FRAMES)
        ],
    }
    kinds = [{"id": f"card-{size}", "rails": {"+5": Decimal(size) / 10}} for size in cards]
    hardware = {"format": 1, "card": kinds, "board": [board], "chassis": chassis}
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def _least_price(cards: dict[int, int], models: list[tuple[int, int, int]]) -> int:
    """How many cards of each size a rack holds, rack by rack; those of a model are used in their order."""
    model = cp_model.CpModel()
    prices: list[cp_model.LinearExpr] = []
    held: dict[int, list[cp_model.IntVar]] = {size: [] for size in cards}
    for n, (load, slots, price) in enumerate(models):
        before: cp_model.IntVar | None = None
        for _ in range(n, FRAMES, MODELS):
            used = model.new_bool_var("")
            own = {size: model.new_int_var(0, min(slots, count), "") for size, count in cards.items()}
            model.add(sum(own.values()) <= slots * used)
            model.add(sum(size * term for size, term in own.items()) <= load * used)
            if before is not None:
                model.add_implication(used, before)
            before = used
            prices.append(price * used)
            for size, term in own.items():
                held[size].append(term)
    for size, count in cards.items():
        model.add(sum(held[size]) == count)
    model.minimize(sum(prices))
    solver = steady_solver()
    assert solver.solve(model) == cp_model.OPTIMAL
    return round(solver.objective_value)


@some_or_all("seeds", 1, 8)
def test_as_many_racks_as_are_worth_it(seeds: int) -> None:
    for seed in range(1, 1 + seeds):
        cards, models = _drawn(seed)
        best = rank(survey_room(*_files(cards, models)), top=1).builds[0]
        assert best.proven
        assert best.figures.cost == 100 * _least_price(cards, models)
        seated = Counter(card for frame in best.build.frame for card in frame.cards.values())
        assert seated == {f"card-{size}": count for size, count in cards.items()}

"""What sets a build apart from a listed one: alike frames exchanged, held against every order of them."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import permutations
from time import process_time

import pytest

from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Survey
from solver.search.model import listed
from solver.search.model.cpsat import Model, cp_model
from solver.search.model.seating import Seating

SLOTS = 3


def _room(frames: Sequence[str]) -> Survey:
    """Frames that are alike where the chassis is the same."""
    hardware = {
        "format": 1,
        "board": [
            {
                "id": "main",
                "limits": {"48": {"in": 99, "out": 99}},
                "inputs": {"widths": 8},
                "outputs": {"widths": 8},
                "strap_group": [
                    {"name": "w", "kind": "switch", "setting": [{"position": "4", "inputs": {"widths": 4}}]},
                    {"name": "f", "kind": "switch", "setting": [{"position": "2", "inputs": {"first_slot": 2}}]},
                ],
            }
        ],
        "chassis": [{"id": c, "slot_count": SLOTS, "boards": ["main"]} for c in sorted(set(frames))],
        "card": [
            {"id": c, "ports": [{"direction": "in", "signals": ["line"], "channels": {"48": n}}]}
            for c, n in (("four", 4), ("eight", 8))
        ],
    }
    scenario = {
        "format": 1,
        "title": "Gannet Quay",
        "hardware": ["quay.toml"],
        "currency": "GBP",
        "sample_rate": 48000,
        "frame": [{"name": f"f{n:02}", "chassis": c, "board": "main"} for n, c in enumerate(frames)],
        "need": [{"name": "returns", "direction": "in", "signal": "line", "channels": 4}],
        "offer": [{"card": "four"}, {"card": "eight"}],
    }
    return survey_room(Scenario.model_validate(scenario), Hardware.model_validate(hardware))


def _seating(draw: random.Random, survey: Survey) -> Seating:
    options: list[Layout | None] = []
    cards: list[tuple[tuple[int, str], ...]] = []
    for site in survey.frames:
        own = tuple((s, draw.choice(("four", "eight"))) for s in site.slots if draw.random() < 0.5)
        options.append(draw.choice(site.candidates) if own else None)
        cards.append(own)
    return Seating(tuple(options), tuple(cards))


def _by_every_order(survey: Survey, found: Seating, other: Seating) -> bool:
    return any(
        all(survey.frames[i].alike == survey.frames[j].alike for i, j in enumerate(order))
        and all(
            found.counts(i) >= other.counts(j) and listed._same_numbers(survey, other, j, found.options[i])
            for i, j in enumerate(order)
        )
        for order in permutations(range(len(survey.frames)))
    )


@dataclass
class _Counted:
    """A model whose frames have some options and hold some cards of each kind."""

    survey: Survey
    options: Sequence[Sequence[Layout | None]]
    model: cp_model.CpModel = field(default_factory=Model)

    def __post_init__(self) -> None:
        self.terms = []
        for own in self.options:
            self.terms.append([(o, 1 if len(own) == 1 else self.model.new_bool_var("")) for o in own])
            self.model.add_exactly_one(term for _, term in self.terms[-1])
        self.counts = [
            {card: self.model.new_int_var(0, SLOTS, "") for card in self.survey.kinds} for _ in self.survey.frames
        ]

    def choices(self, site: FrameSite) -> Sequence[tuple[Layout | None, object]]:
        return self.terms[site.index]

    def count(self, site: FrameSite, card: str) -> list[tuple[int, object]]:
        return [(1, self.counts[site.index][card])]

    def allows(self, seating: Seating) -> bool:
        for index, own in enumerate(self.terms):
            for option, term in own:
                self.model.add(term == int(option is seating.options[index]))
            held = Counter(card for _, card in seating.cards[index])
            for card, count in self.counts[index].items():
                self.model.add(count == held[card])
        return cp_model.CpSolver().solve(self.model) != cp_model.INFEASIBLE


@pytest.mark.parametrize("seed", range(60))
def test_a_build_is_excluded_where_some_order_of_alike_frames_repeats_a_listed_one(seed: int) -> None:
    draw = random.Random(seed)
    survey = _room([draw.choice("ab") for _ in range(draw.randint(1, 4))])
    for _ in range(8):
        other = _seating(draw, survey)
        found = _seating(draw, survey)
        if draw.random() < 0.7:  # the same with frames exchanged, and something more or less in one of them
            orders = [
                order
                for order in permutations(range(len(survey.frames)))
                if all(survey.frames[i].alike == survey.frames[j].alike for i, j in enumerate(order))
            ]
            order = draw.choice(orders)
            changed = draw.randrange(len(survey.frames))
            found = Seating(
                tuple(found.options[i] if i == changed else other.options[j] for i, j in enumerate(order)),
                tuple(found.cards[i] if i == changed else other.cards[j] for i, j in enumerate(order)),
            )
        repeated = _by_every_order(survey, found, other)
        assert listed.repeats(survey, found, other) == repeated
        several = draw.random() < 0.5
        options = [[None, *f.candidates] if several else [o] for f, o in zip(survey.frames, found.options, strict=True)]
        counted = _Counted(survey, options)
        listed.exclude(survey, counted, other)
        assert counted.allows(found) == (not repeated)
        full = Seating(
            found.options, tuple(tuple((s, c) for s in f.slots for c in survey.kinds) for f in survey.frames)
        )
        fitting = _by_every_order(survey, full, other)
        assert listed.may_repeat(survey, [[option] for option in found.options], other) == fitting


def test_forty_alike_frames_are_no_matter_of_orders() -> None:
    survey = _room(["a"] * 40)
    draw = random.Random(1)
    other = _seating(draw, survey)
    order = list(range(40))
    draw.shuffle(order)
    same = Seating(tuple(other.options[i] for i in order), tuple(other.cards[i] for i in order))
    before = process_time()
    assert listed.repeats(survey, same, other)
    counted = _Counted(survey, [[None, *f.candidates] for f in survey.frames])
    listed.exclude(survey, counted, other)
    assert not counted.allows(same)
    assert process_time() - before < 20

"""Arithmetic causes: sums of whole cards that can be redone with the price list, and never more than what it costs."""

from __future__ import annotations

import random
import tomllib
from decimal import Decimal
from itertools import product
from pathlib import Path

import brute_force
import clashing
from readme_oracle.generate import load
from readme_oracle.planner import Room

from solver.reports.causes import causes
from solver.reports.least_order import Line, cheapest
from solver.room.faults import FileFaults
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario

ROOT = Path(__file__).parents[2]


def told(budget: str, needs: list[tuple[str, str, int]], offers: str, stock: str = "") -> list[str]:
    """The causes of a scenario of the quay's hardware in one frame: needs as direction, signal and channels."""
    text = f"""
        format = 1
        title = "Gannet Quay, counting"
        hardware = ["quay.toml"]
        currency = "GBP"
        budget = "{budget}"
        [stock]
        {stock}
        {offers}
        [[frame]]
        name = "A"
        chassis = "petrel-12"
        board = "shale-64"
    """
    for number, (direction, signal, channels) in enumerate(needs):
        text += f"""
        [[need]]
        name = "need {number}"
        direction = "{direction}"
        signal = "{signal}"
        channels = {channels}
        """
    path = ROOT / "scenarios" / "hardware" / "quay.toml"
    hardware = tomllib.loads(path.read_text(encoding="utf-8"), parse_float=Decimal)
    survey = survey_room(Scenario.model_validate(tomllib.loads(text)), Hardware.model_validate(hardware))
    return [cause.text for cause in causes(survey)]


def offer(card: str, price: str, at_most: int | None = None) -> str:
    cap = "" if at_most is None else f"at_most = {at_most}"
    return f'[[offer]]\ncard = "{card}"\nprice = "{price}"\n{cap}\n'


BOTH = offer("line-in-16", "1440.00") + offer("line-in-8", "860.00")


def test_a_whole_card_is_bought_and_named() -> None:
    assert told("500.00", [("in", "line", 16)], BOTH, "line-in-8 = 1") == [
        "16 line inputs are asked for, stock has 8: the least order for 8 more is 1 x line-in-8 at 860.00 = 860.00; "
        "the budget is 500.00"
    ]


def test_the_least_order_may_mix_cards() -> None:
    assert told("2000.00", [("in", "line", 24)], BOTH) == [
        "24 line inputs are asked for, stock has 0: the least order for 24 more is 1 x line-in-16 at 1440.00 + "
        "1 x line-in-8 at 860.00 = 2300.00; the budget is 2000.00"
    ]


def test_offers_run_out_and_the_dearer_ones_follow() -> None:
    offers = offer("line-in-8", "500.00", 1) + offer("line-in-8", "860.00", 1) + offer("line-in-16", "1440.00", 1)
    assert told("1000.00", [("in", "line", 24)], offers) == [
        "24 line inputs are asked for, stock has 0: the least order for 24 more is 1 x line-in-16 at 1440.00 + "
        "1 x line-in-8 at 500.00 = 1940.00; the budget is 1000.00"
    ]


def test_what_the_budget_just_pays_is_no_cause() -> None:
    assert told("860.00", [("in", "line", 16)], BOTH, "line-in-8 = 1") == []
    assert len(told("859.99", [("in", "line", 16)], BOTH, "line-in-8 = 1")) == 1


def test_the_cards_that_there_are_at_most_are_named() -> None:
    offers = offer("line-in-8", "860.00", 1)
    assert told("9000.00", [("in", "line", 40)], offers, "line-in-16 = 1") == [
        "40 line input channels are asked for; the cards in stock and on offer have 24: 1 x line-in-16 with 16 + "
        "1 x line-in-8 with 8"
    ]


def test_the_least_order_is_that_of_trying_all() -> None:
    r = random.Random(5)
    for _ in range(400):
        offers = [
            Line(f"card-{n}", r.randint(0, 30), r.choice((1, 2, 3, 4, 8, 16)), r.randint(0, 3))
            for n in range(r.randint(1, 4))
        ]
        channels = r.randint(1, 30)
        orders = [
            (sum(n * o.price for n, o in zip(counts, offers, strict=True)), sum(counts))
            for counts in product(*(range(o.count + 1) for o in offers))
            if sum(n * o.channels for n, o in zip(counts, offers, strict=True)) >= channels
        ]
        found = cheapest(offers, channels)
        if not orders:
            assert found is None
            continue
        assert found is not None
        assert (sum(x.count * x.price for x in found), sum(x.count for x in found)) == min(orders)
        assert sum(x.count * x.channels for x in found) >= channels
        for line in found:
            assert line.count <= sum(o.count for o in offers if (o.card, o.price) == (line.card, line.price))


def test_a_scenario_with_a_cause_is_impossible() -> None:
    told_of: set[str] = set()
    for seed in range(400):
        scenario, hardware = clashing.pair(seed)
        if any(need.importance == "nice" for need in scenario.need):
            continue
        found = {cause.code for cause in causes(survey_room(scenario, hardware))}
        if found:
            assert not brute_force.ranked(scenario, hardware, 1), seed
        told_of |= found
    assert {"budget", "cards"} <= told_of


def has_to_be_used(budget: str, frames: str, having: str, chassis: str = "tern-6") -> list[str]:
    """The causes of frames that have to be used, of hardware of the quay; nothing is asked for."""
    scenario = f"""
        format = 1
        title = "Gannet Quay, counting"
        hardware = ["quay.toml"]
        currency = "GBP"
        {budget}
        {having}
    """
    for name, own in zip("ABCD", frames.split(";"), strict=False):
        scenario += f'[[frame]]\nname = "{name}"\nchassis = "{chassis}"\nmust_use = true\n{own}\n'
    path = ROOT / "scenarios" / "hardware" / "quay.toml"
    hardware = tomllib.loads(path.read_text(encoding="utf-8"), parse_float=Decimal)
    survey = survey_room(Scenario.model_validate(tomllib.loads(scenario)), Hardware.model_validate(hardware))
    return [cause.text for cause in causes(survey)]


OWNED = 'board = "slate-32"'
NEW = 'board = "slate-32"\nowned = false'


def test_more_frames_have_to_be_used_than_there_are_cards() -> None:
    assert has_to_be_used("", f"{OWNED};{OWNED};{OWNED}", "[stock]\nmic-8 = 1\naes-8 = 1") == [
        "frames A, B and C have to be used; each takes a card, and stock and offers have 2"
    ]
    assert has_to_be_used("", f"{OWNED};{OWNED}", "[stock]\nmic-8 = 1\naes-8 = 1") == []


def test_more_frames_have_to_be_used_than_there_are_chassis_and_boards() -> None:
    having = '[stock]\nmic-8 = 4\ntern-6 = 1\n[[offer]]\nboard = "slate-32"\nat_most = 2\n'
    assert has_to_be_used("", f"{OWNED};{NEW};{NEW}", having) == [
        "frames B and C have to be used; each takes 1 x tern-6, and stock and offers have 1"
    ]
    assert has_to_be_used("", f"{OWNED};{NEW}", having) == []
    assert has_to_be_used("", NEW, "[stock]\nmic-8 = 1\nslate-32 = 1") == [
        "frame A has to be used; it takes 1 x tern-6, and stock and offers have none"
    ]
    boards = "[stock]\nmic-8 = 4\nslate-32 = 1\nflint-48 = 1"
    assert has_to_be_used("", ";;", boards) == [
        "frames A, B and C have to be used; each takes 1 x flint-48 or slate-32, and stock and offers have 2"
    ]


def test_frames_that_have_to_be_used_cost_more_than_the_budget() -> None:
    having = (
        '[stock]\nmic-8 = 4\ntern-6 = 1\n[[offer]]\nchassis = "tern-6"\nprice = "900.00"\n'
        '[[offer]]\nboard = "slate-32"\nprice = "1100.00"\n'
    )
    assert has_to_be_used('budget = "3000.00"', f"{NEW};{NEW}", having) == [
        "frames A and B have to be used: the least order is 1 x tern-6 at 900.00 + 2 x slate-32 at 1100.00 = 3100.00; "
        "the budget is 3000.00"
    ]
    assert has_to_be_used('budget = "3100.00"', f"{NEW};{NEW}", having) == []


def test_nothing_can_stand_in_a_frame_that_has_to_be_used() -> None:
    shut = f"{OWNED}\nkeep_empty = [1, 2, 3, 4, 5, 6]"
    assert has_to_be_used("", f"{OWNED};{shut}", "[stock]\nmic-8 = 2") == [
        "frame B has to be used; no card and board to be had can stand in it"
    ]
    assert has_to_be_used("", f"{OWNED};{OWNED}\nkeep_empty = [1, 2, 3, 4, 5]", "[stock]\nmic-8 = 2") == []


def test_no_scenario_has_a_build_where_counting_shows_that_frames_cannot_be_used(tmp_path: Path) -> None:
    shown = 0
    for seed in range(200):
        try:
            loaded = load(tmp_path, seed)
        except FileFaults:
            continue
        frames = tuple(frame.model_copy(update={"must_use": True}) for frame in loaded.scenario.frame)
        scenario = loaded.scenario.model_copy(update={"frame": frames})
        if any(cause.code == "must-use" for cause in causes(survey_room(scenario, loaded.hardware))):
            assert not Room(scenario, loaded.hardware).builds(), seed
            shown += 1
    assert shown >= 20

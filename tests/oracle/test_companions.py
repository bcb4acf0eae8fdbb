"""Cards that need and exclude others: plans, ways out and campuses against trying everything."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import astuple

import brute_force
import clashing
import generate
import test_ways_out
import ways_out
from amounts import some_or_all
from campus_against import same_plan
from test_against_brute_force import _compare

from solver.reports.wording import in_words
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.search.ask.clash import clash


def _without_company(hardware: Hardware) -> Hardware:
    plain = [card.model_copy(update={"needs": (), "excludes": ()}) for card in hardware.card]
    return hardware.model_copy(update={"card": tuple(plain)})


@some_or_all("seeds", range(120), range(2000))
def test_plans_have_the_same_best_builds_and_company_matters(seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = generate.random_companioned(seed)
        seen[_compare(survey_room(scenario, hardware), scenario, hardware)] += 1
        before = brute_force.best(scenario, _without_company(hardware))
        after = brute_force.best(scenario, hardware)
        seen["made impossible"] += before is not None and after is None
        if before is not None and after is not None:
            seen["moved"] += before.seats != after.seats
        if after is not None:
            seen["fed"] += any(card == "card-f" for own in after.seats for _, card in own)
    assert seen["found"] >= len(seeds) // 4, seen
    assert min(seen["made impossible"], seen["moved"], seen["fed"]) >= len(seeds) // 20, seen


def _clashing(most: int) -> Iterator[tuple[int, Scenario, Hardware, set[ways_out.Way]]]:
    """So many impossible scenarios with company: seed, scenario, hardware, ways out."""
    for seed in range(100 * most):
        scenario, plain = clashing.pair(seed)
        drawn = plain.model_dump(exclude_unset=True)
        document = scenario.model_dump(exclude_unset=True)
        company = {"stock": dict(document.get("stock", {})), "offer": list(document.get("offer", ()))}
        drawn["card"] = [dict(card) for card in drawn["card"]]
        if len(drawn["card"]) < 2:
            continue
        generate.add_companions(generate.Seeded(seed), company, drawn)
        scenario = type(scenario).model_validate({**document, **company})
        hardware = Hardware.model_validate(drawn)
        if len(ways_out.Bench(scenario, hardware).wishes) > clashing.MOST_WISHES:
            continue
        expected = ways_out.ways_out(scenario, hardware)
        if frozenset() in expected:
            continue
        yield seed, scenario, hardware, expected
        most -= 1
        if not most:
            return


@some_or_all("most", 20, 400)
def test_every_way_out_is_found_where_company_is_asked_for(most: int) -> None:
    seen: Counter[str] = Counter()
    for seed, scenario, hardware, expected in _clashing(most):
        assert test_ways_out.found(scenario, hardware) == expected, seed
        seen["scenarios"] += 1
        seen["that company alone makes impossible"] += frozenset() in ways_out.ways_out(
            scenario, _without_company(hardware)
        )
    assert seen["scenarios"] == most
    assert seen["that company alone makes impossible"] >= most // 20, seen


def _sentences(hardware: Hardware) -> list[str]:
    """What cards ask of others, in words of this test's own."""
    where = {"next": "directly beside", "frame": "in the frame"}
    found = []
    for card in hardware.card:
        for need in card.needs:
            own = (
                f" of its own {where[need.within]}"
                if need.per == 1
                else f" {where[need.within]}, one for each {need.per}"
            )
            found.append(f"{card.id} needs a {need.card}{own}")
        for ban in card.excludes:
            apart = "directly beside" if ban.within == "next" else "in"
            if ban.card == card.id:
                found.append(f"no two {card.id} {'directly beside each other' if apart != 'in' else 'in one frame'}")
            else:
                found.append(f"{card.id} excludes {ban.card} {apart} {'it' if apart != 'in' else 'its frame'}")
    return found


def _asking(hardware: Hardware, sentences: Collection[str]) -> Hardware:
    """The hardware whose cards ask for no more than some sentences say."""
    cards = []
    for card in hardware.card:
        alone = hardware.model_copy(update={"card": (card,)})
        kept = [said in sentences for said in _sentences(alone)]
        needs = [need for need, left in zip(card.needs, kept[: len(card.needs)], strict=True) if left]
        bans = [ban for ban, left in zip(card.excludes, kept[len(card.needs) :], strict=True) if left]
        cards.append(card.model_copy(update={"needs": tuple(needs), "excludes": tuple(bans)}))
    return hardware.model_copy(update={"card": tuple(cards)})


@some_or_all("most", 20, 400)
def test_what_cards_ask_is_part_of_a_clash_where_and_only_where_it_has_to_be(most: int) -> None:
    seen: Counter[str] = Counter()
    for seed, scenario, hardware, _ in _clashing(most):
        survey = survey_room(scenario, hardware)
        found = clash(survey, extent=test_ways_out.EVERYTHING)
        kept = {(wish.sort, *astuple(wish)) for wish in found.because}
        told = [in_words(survey, own.said) for own in found.hardware]
        assert set(told) <= set(_sentences(hardware)), seed
        for asked in (told, *(set(told) - {said} for said in told)):
            ways = ways_out.ways_out(scenario, _asking(hardware, asked))
            in_the_way = all(kept & {wish for wish, _ in way} for way in ways)
            assert in_the_way == (asked is told), (seed, asked)
        seen["with company" if told else "without"] += 1
        seen.update({own.rule for own in found.hardware})
    assert min(seen["with company"], seen["without"], seen["companions"]) >= most // 10, seen
    assert seen["exclusions"] or most < 100, seen


@some_or_all("seeds", range(30), range(400))
def test_campuses_have_the_same_best_plan(seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = generate.companioned_campus(seed)
        plans = same_plan(seed, scenario, hardware, seen)
        if plans is None:
            continue
        _, expected, _ = plans
        seen["fed"] += any(card == "card-f" for room in expected.rooms for own in room.seats for _, card in own)
    assert min(seen["found"], seen["impossible"]) >= len(seeds) // 10, seen
    assert seen["fed"] >= len(seeds) // 30, seen

"""Every rule by itself: what the search allows of it is what a build's reading allows, seating by seating.

A rule is stated with the fewest others that it means anything with: those that open seats, and for needs, numbers,
lines and signals each other. All that CP-SAT allows, whatever its auxiliary terms are, is compared with all seatings
and all ways to say what serves what whose readings keep the limits. Over runs nothing that slots allow is forbidden.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from itertools import chain, combinations, product
from typing import Any

import generate
import pytest
from amounts import some_or_all

from solver import rules
from solver.fitted import wishes_kept
from solver.fitted.standing import stand, with_terminations
from solver.judge import criteria
from solver.relax.replaced import UNASKED
from solver.reports.wording import in_words
from solver.room.build import Build, BuiltFrame, CardSet, Service
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Survey
from solver.room.words import SIDES
from solver.rules.limit import Limit, Reading, Rule
from solver.rules.wanted import OfNumbers
from solver.search.model.cpsat import cp_model
from solver.search.model.draft import CpDraft
from solver.search.model.options import options_of, useful_kinds
from solver.search.model.services import expression
from solver.search.model.statement import Placement, RoomStatement

Options = Sequence[Sequence[Layout | None]]
Seating = tuple[tuple[Layout | None, ...], frozenset[tuple[str, int, str]]]
"""What each frame is, and frame, slot and card of each seat."""

NO_MARGIN = -(10**9)
"""A margin in mK that every build keeps."""

SERVING = frozenset({"serves", "signals", "channels", "numbers", "host-link", "needs"})

SET = frozenset({"cards-set", "phantom", "card-settings", "alike-levels"})
"""Rules for which cards are set in every way."""


@dataclass(frozen=True)
class Case:
    """A tiny survey in which a rule forbids something that the others with it do not."""

    survey: Survey
    codes: frozenset[str]


def _card(name: str, span: int = 1, signals: tuple[str, ...] = ("line",), channels: int = 2, **more: Any) -> Any:
    port = {"direction": "in", "signals": list(signals), "channels": {"48": channels}, "on_slot": span}
    return {"id": name, "span": span, "price": "10", "ports": [{**port, **more.pop("port", {})}], **more}


def _need(name: str, channels: int, signal: str = "line") -> dict[str, Any]:
    return {"name": name, "direction": "in", "signal": signal, "channels": channels}


def _survey(
    cards: Sequence[Any] = (_card("one"),),
    slots: int = 2,
    needs: Sequence[Any] = (_need("n", 2),),
    frame: dict[str, Any] | None = None,
    board: dict[str, Any] | None = None,
    chassis: dict[str, Any] | None = None,
    frames: Sequence[str] = ("A",),
    spare: dict[str, Any] | None = None,
    **more: Any,
) -> Survey:
    plain_board = {
        "id": "reef",
        "limits": {"48": {"in": 8, "out": 8}},
        "inputs": {"first_slot": 1, "widths": 2},
        "outputs": {"first_slot": 1, "widths": 0},
        **(board or {}),
    }
    other_board = {**plain_board, "id": "spare", "strap_group": [], "price": "5", **(spare or {})}
    plain_chassis = {"id": "crate", "slot_count": slots, "boards": ["reef", "spare"], **(chassis or {})}
    hardware = {"format": 1, "card": list(cards), "board": [plain_board, other_board], "chassis": [plain_chassis]}
    own = {"chassis": "crate", "board": "reef", "owned": True, **(frame or {})}
    scenario = {
        "format": 1,
        "title": "Gannet Quay",
        "hardware": ["reef.toml"],
        "currency": "GBP",
        "rank": ["holes"],
        "frame": [{"name": name, **own} for name in frames],
        "offer": [{"card": card["id"]} for card in cards],
        "need": list(needs),
        **more,
    }
    return survey_room(Scenario.model_validate(scenario), Hardware.model_validate(hardware))


WIDE = [_card("one"), _card("two", span=2)]
STRAP = {
    "name": "start",
    "kind": "links",
    "straps": ["W1"],
    "setting": [{"closed": ["W1"], "inputs": {"first_slot": 2}}],
}
CLOCK = {"name": "clock", "kind": "links", "straps": ["E1"], "wanted": "E1", "setting": [{"closed": ["E1"]}]}
ENDED = {
    "strap_group": [{**STRAP}, CLOCK],
    "clock_input": {"termination": "switched", "strap_group": "clock", "setting": "E1"},
    "never_together": [{"start": "open", "clock": "open"}],
}
"""A board that may be passed on only where its blocks start at the second slot."""
TRUNK = {"name": "1", "kind": "trunk", "channels": {"48": {"in": 3, "out": 0}}}
BAY = {"gauge": "bantam", "rear": {"connector": "multi", "block": 2}}
WARM = {"path": "fan", "flow_m3_h": 6}
HOT = [_card("hot", heat_w=14, air_limit_c=50), _card("mild", heat_w=6, air_limit_c=55)]
DRAWS = [_card("one", rails={"+5": Decimal("0.6")}), _card("big", rails={"+5": Decimal("1.1")})]


@cache
def _cases() -> dict[str, Case]:
    """For each rule its survey, and the rules that are stated with it."""
    own = {
        "seats": _survey(WIDE, 3),
        "refused": _survey(WIDE, 3, chassis={"refuses": [{"cards": ["one"], "slots": "1"}]}, board={"reserved": [3]}),
        "kept-empty": _survey(WIDE, 3, frame={"keep_empty": [2]}),
        "pins": _survey(WIDE, 3, frame={"pins": {"2": "two"}}),
        "fixed": _survey(
            WIDE,
            frames=("A", "B"),
            board={"strap_group": [STRAP]},
            needs=[],
            installed={
                "format": 1,
                "frame": [
                    {"name": "A", "board": "reef", "straps": {"start": "open"}, "cards": {"1": "one"}},
                    {"name": "B", "board": "reef", "cards": {"1": "two"}},
                ],
            },
            fixed=["A", "B:2"],
        ),
        "must-seat": _survey(WIDE, 3, must_seat=[{"card": "one", "count": 2}]),
        "must-use": _survey(slots=1, frames=("A", "B"), frame={"must_use": True}),
        "straps": _survey(board={"strap_group": [STRAP]}, frame={"straps": {"start": "W1"}}),
        "clock-line": _survey(
            slots=2, frames=("A", "B"), board=ENDED, clock_line=[{"frames": ["A", "B"]}], needs=[_need("n", 1)]
        ),
        "companions": _survey(
            [
                _card("fed", needs=[{"card": "feed", "within": "next"}]),
                {"id": "feed", "price": "10"},
                _card("two", span=2, needs=[{"card": "feed", "per": 2, "within": "frame"}]),
            ],
            5,
        ),
        "exclusions": _survey(
            [
                _card("one", excludes=[{"card": "two", "within": "next"}, {"card": "odd", "within": "frame"}]),
                _card("two", span=2),
                _card("odd", excludes=[{"card": "odd", "within": "frame"}]),
            ],
            4,
        ),
        "stock": _survey(WIDE, 3, stock={"one": 1}, offer=[{"card": "one", "at_most": 1}, {"card": "two"}]),
        "budget": _survey(
            WIDE,
            3,
            stock={"one": 1},
            offer=[{"card": "one", "price": "7", "at_most": 1}, {"card": "one", "price": "9"}, {"card": "two"}],
            budget="15",
        ),
        "rails": _survey(DRAWS, 3, chassis={"rails": {"+5": Decimal("2.0")}}, board={"rails": {"+5": Decimal("0.1")}}),
        "supplies": _survey(
            DRAWS,
            3,
            chassis={
                "rails": {"+5": Decimal("4.0")},
                "supply": {"count": 3, "rails": {"+5": Decimal("1.4")}},
            },
            board={"rails": {"+5": Decimal("0.1")}},
            survive={"supplies": 1},
        ),
        "supply-sockets": _survey(
            [
                _card("one", supply_cables=["aux"]),
                _card("two", span=2, supply_cables=["aux", "ring", "aux"]),
                _card("new"),
            ],
            4,
            chassis={"supply_sockets": {"aux": 2}},
        ),
        "bay-points": _survey(
            [_card("one"), _card("solo", channels=1), _card("two", span=2, signals=("mic",))],
            3,
            board={"strap_group": [STRAP]},
            bay=[
                {**BAY, "name": "P", "signals": ["line"], "points": 1},
                {**BAY, "name": "Q", "signals": ["line", "mic"], "points": 2},
            ],
        ),
        "cooling": _survey(
            HOT,
            3,
            chassis={"air": WARM},
            air={"inlet_c": 25},
            board={"heat_w": 1},
            spare={"heat_w": 12},
            frame={"board": None},
            offer=[{"card": "hot"}, {"card": "mild"}, {"board": "reef"}, {"board": "spare"}],
        ),
    }
    found = {code: Case(survey, frozenset({"seats", code})) for code, survey in own.items()}
    lines = [_card("mix", signals=("line", "mic")), _card("mic", signals=("mic",))]
    both = [_need("l", 2), _need("m", 2, "mic")]
    serving = {
        "serves": _survey(needs=[_need("n", 3)]),
        "signals": _survey(lines, needs=[_need("l", 2)]),
        "channels": _survey(lines, needs=both),
        "numbers": _survey(needs=[_need("n", 3)], board={"limits": {"48": {"in": 3, "out": 8}}, "at_limit": "cut"}),
        "needs": _survey(needs=[_need("n", 3)]),
        "host-link": _survey(needs=[_need("n", 3)], host_port=[{**TRUNK, "frame": "A"}]),
    }
    found |= {code: Case(survey, SERVING | {"seats"}) for code, survey in serving.items()}
    critical = {**_need("n", 2), "spare": 1, "critical": True}
    lasting = _survey([_card("one"), _card("solo", channels=1)], 3, needs=[critical], survive={"cards": 1})
    found["survive"] = Case(lasting, SERVING | {"seats", "survive"})
    solo = _card("solo", channels=1)
    both_slots = {**_card("two", span=2), "ports": [{**solo["ports"][0], "on_slot": slot} for slot in (1, 2)]}
    straps: dict[str, Any] = {"board": {"strap_group": [STRAP]}}
    run = {**_need("n", 2), "consecutive": True}
    mixed = {**_card("mixed"), "ports": [*_card("mixed", signals=("mic",))["ports"], *solo["ports"]]}
    late = {**_card("late"), "ports": [*_card("late", signals=("mic",), channels=1)["ports"], *_card("late")["ports"]]}
    narrow: dict[str, Any] = {"board": {"strap_group": [STRAP], "inputs": {"first_slot": 1, "widths": 1}}}
    wide: dict[str, Any] = {"board": {"strap_group": [STRAP], "inputs": {"first_slot": 1, "widths": 3}}}
    numbered = {
        "asked-numbers": _survey(
            [_card("one"), _card("mix", signals=("line", "mic"))],
            needs=[{**_need("n", 2), "numbers": "1-2"}, _need("m", 1, "mic")],
            **straps,
        ),
        "consecutive": _survey([_card("one"), solo], 3, needs=[{**run, "channels": 3}], **straps),
        "banks": _survey([_card("one"), solo], 3, needs=[{**run, "bank_of": 4}], **straps),
        "one-card": _survey([solo, both_slots], 3, needs=[{**run, "one_card": True}], **narrow),
        "pairs": _survey([_card("one"), mixed, late, solo], needs=[{**_need("n", 3), "pairs": True}], **wide),
    }
    duo = {**_card("duo"), "ports": [_card("duo")["ports"][0], {**_card("duo")["ports"][0], "direction": "out"}]}
    out = _card("out", channels=1, port={"direction": "out"})
    late_out: dict[str, Any] = {"board": {"strap_group": [STRAP], "outputs": {"first_slot": 1, "widths": 2}}}
    numbered["returns-on"] = _survey(
        [_card("one"), out, duo],
        needs=[_need("n", 2), {**_need("s", 2), "direction": "out", "returns_on": "n"}],
        **late_out,
    )
    numbered["per-card"] = _survey([_card("one"), solo], 3, needs=[{**_need("n", 3), "max_per_card": 1}], **straps)
    numbered["spread"] = _survey(
        [_card("one"), solo],
        3,
        needs=[{**_need("n", 2), "spare": 1, "critical": True}],
        survive={"cards": 1, "with": "nothing"},
        **straps,
    )
    numbered["apart-from"] = _survey(
        [_card("one", signals=("line", "mic")), both_slots],
        3,
        needs=[{**_need("n", 2), "apart_from": ["m"]}, _need("m", 1, "mic")],
        **straps,
    )
    fed: dict[str, Any] = {"signals": ("mic",), "port": {"phantom_ma_per_channel": 10}}
    power = {"name": "phantom", "direction": "in", "per": "card"}
    level = {"name": "level", "direction": "in", "choices": ["low", "high"]}
    apart = {**both_slots, "setting": [{**level, "per": "card"}]}
    cards_set = {
        "cards-set": _survey([_card("one", channels=1, setting=[{**level, "per": "channel"}])], needs=[_need("n", 1)]),
        "phantom": _survey(
            [_card("fed", **fed, setting=[power]), _card("each", **fed, channels=1)],
            needs=[{**_need("w", 1, "mic"), "phantom": "wanted"}, {**_need("f", 1, "mic"), "phantom": "forbidden"}],
        ),
        "card-settings": _survey(
            [apart, _card("bank", setting=[{**level, "per": "bank", "bank": 2}])],
            needs=[
                {**_need("h", 1), "settings": {"level": "high"}},
                {**_need("l", 1), "settings": {"level": "low"}},
            ],
        ),
    }
    full = [{"name": "full_scale_level", "per": "card", "direction": d, "choices": ["low", "high"]} for d in SIDES]
    low = [{**own, "choices": ["low"]} for own in full]
    solo_duo = {**duo, "ports": [{**port, "channels": {"48": 1}} for port in duo["ports"]]}
    cards_set |= {
        "rate-conversion": _survey(
            [_card("one"), _card("any", port={"rate_conversion": True})],
            needs=[{**_need("n", 2), "asynchronous": True}, _need("m", 1)],
        ),
        "same-latency": _survey(
            [_card("soon", latency_samples={"48": 9}), _card("late", channels=1, latency_samples={"48": 12}), solo],
            needs=[{**_need("n", 2), "same_latency": True}],
            **straps,
        ),
        "alike-levels": _survey(
            [{**solo_duo, "setting": full}, {**solo_duo, "id": "low", "setting": low}],
            needs=[_need("n", 1), {**_need("s", 1), "direction": "out", "returns_on": "n"}],
            board={"outputs": {"first_slot": 1, "widths": 2}},
        ),
    }
    found |= {code: Case(survey, SERVING | {"seats", code}) for code, survey in cards_set.items()}
    numbered["one-frame"] = _survey(
        [_card("one"), _card("wide", channels=3)],
        slots=1,
        needs=[{**_need("n", 3), "pairs": True}],
        frames=("A", "B"),
        board={"inputs": {"first_slot": 1, "widths": 3}},
    )
    found_out = {"date": "2026-11-20", "symptom": "hum", "found_by": "house technician"}
    numbered["out-of-service"] = _survey(
        [_card("one"), both_slots],
        3,
        needs=[_need("n", 2)],
        out_of_service=[{**found_out, "channel": "A:2.1"}, {**found_out, "number": "A:in:2"}],
        **straps,
    )
    with_it = {"banks": {"consecutive"}, "one-card": {"consecutive"}, "one-frame": {"pairs"}}
    return found | {
        code: Case(survey, SERVING | {"seats", code} | with_it.get(code, set())) for code, survey in numbered.items()
    }


def _limits(survey: Survey, codes: frozenset[str]) -> list[tuple[Rule, Limit]]:
    return [(rule, limit) for rule, limit in rules.limits(survey) if rule.code in codes]


def _options(survey: Survey) -> list[list[Layout | None]]:
    """Every legal layout of each frame, asked for or not, and that it is not used."""
    return [[*site.layouts, None] for site in survey.frames]


# What the search allows


def _drafted(survey: Survey, options: Options, codes: frozenset[str]) -> CpDraft:
    return CpDraft(survey, options, list(survey.kinds.values()), _limits(survey, codes))


def _counted(survey: Survey, options: Options, codes: frozenset[str], *, slot_by_slot: bool) -> RoomStatement:
    """The same rules in a model that counts cards; those that are graded where they are among them."""
    graded = any(rules.ALL[code].graded for code in codes)
    room = RoomStatement(
        survey,
        options,
        list(survey.kinds.values()),
        [entry for entry in _limits(survey, codes) if not entry[0].graded],
        slot_by_slot=slot_by_slot,
        margin_mk=survey.refuse_mk if graded else NO_MARGIN,
    )
    if graded and not slot_by_slot:
        room.keep(survey.refuse_mk)
    return room


def _stated(draft: CpDraft | RoomStatement) -> Iterator[Seating]:
    """All that a model allows, whatever else its terms may be."""
    survey = draft.survey
    seats = [(site, seat) for site in survey.frames for seat in draft.seats(site)]
    chosen = [term for site in survey.frames for _, term in draft.choices(site)]
    terms = [*(seat.term for _, seat in seats), *(term for term in chosen if not isinstance(term, int))]
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    while solver.solve(draft.model) == cp_model.OPTIMAL:
        values = [solver.boolean_value(term) for term in terms]
        taken = [(site.name, seat.slot, seat.kind.id) for site, seat in seats if solver.boolean_value(seat.term)]
        layouts = [
            next(o for o, t in draft.choices(site) if isinstance(t, int) or solver.boolean_value(t))
            for site in survey.frames
        ]
        assert len({entry[:2] for entry in taken}) == len(taken)
        yield tuple(layouts), frozenset(taken)
        if not terms:
            break
        draft.model.add_bool_or([~t if value else t for t, value in zip(terms, values, strict=True)])


# What readings of builds allow


def _contents(site: FrameSite, layout: Layout | None, cards: Sequence[str]) -> list[dict[int, str]]:
    """Whatever may stand in a frame: nothing where it is not used, a card at least where it is."""
    if layout is None:
        return [{}]
    every = product([None, *cards], repeat=len(site.slots))
    return [
        {slot: card for slot, card in zip(site.slots, own, strict=True) if card is not None}
        for own in every
        if any(card is not None for card in own)
    ]


def _services(survey: Survey, cards: dict[int, str], *, strange: bool) -> Iterator[tuple[Service, ...]]:
    """Every way to say what serves what: any needs by any channel, and by one that is not there if `strange`."""
    names = [need.name for need in survey.needs]
    sets = [list(own) for size in range(len(names) + 1) for own in combinations(names, size)]
    places = [
        (slot + part, index + 1)
        for slot, card in sorted(cards.items())
        for part in range(survey.kinds[card].span)
        for index in range(len(survey.kinds[card].on("in", part)))
    ]
    last = [(slot, 9) for slot in sorted(cards)[-1:] if strange]
    for own in product(sets, repeat=len(places) + len(last)):
        told = [
            Service(need=name, slot=slot, channels=str(index))
            for (slot, index), chosen in zip([*places, *last], own, strict=True)
            for name in chosen
        ]
        yield tuple(told)


def _settings(survey: Survey, cards: dict[int, str], codes: frozenset[str]) -> Iterator[tuple[CardSet, ...]]:
    """Every way to set the cards, where that is asked; and something to set that is not there."""
    own = [(slot, switch) for slot, card in cards.items() for switch in survey.kinds[card].switches]
    for chosen in product(*(switch.setting.every for _, switch in own)) if codes & SET else [()]:
        yield tuple(
            CardSet(
                slot=slot + switch.places[0][0],
                setting=switch.setting.name,
                direction=switch.setting.direction,
                to=choice,
                channels=None if switch.setting.per == "card" else ",".join(str(index) for _, index in switch.places),
            )
            for (slot, switch), choice in zip(own, chosen, strict=True)
        )
    if "cards-set" in codes:
        yield (CardSet(slot=min(cards), setting="height", direction="in", to="high"),)


def _broken(survey: Survey, limits: Sequence[tuple[Rule, Limit]], build: Build) -> set[str]:
    """The rules whose readings of a build break a limit."""
    standing = stand(survey, with_terminations(survey, build))
    readings = [(limit, rule.used(survey, standing, limit)) for rule, limit in limits]
    return {limit.rule for limit, used in readings if used is not None and not limit.kept_by(used)}


def _read(survey: Survey, options: Options, codes: frozenset[str]) -> Iterator[tuple[Seating, list[set[str]]]]:
    """All seatings, with what is broken by each way to say what serves what, where that is asked."""
    limits = _limits(survey, codes)
    for layouts in product(*options):
        own = [_contents(site, layout, list(survey.kinds)) for site, layout in zip(survey.frames, layouts, strict=True)]
        for contents in product(*own):
            used = [
                (site.name, layout, cards)
                for site, layout, cards in zip(survey.frames, layouts, contents, strict=True)
                if layout is not None
            ]
            broken = []
            own_cards = used[0][2] if used else {}
            ways = [
                list(_services(survey, cards, strange=not codes & SET)) if codes & SERVING else [()]
                for _, _, cards in used
            ]
            for served, settings in product(product(*ways), _settings(survey, own_cards, codes) if used else [()]):
                frames = [
                    BuiltFrame(
                        name=name,
                        board=layout.board,
                        straps=dict(layout.straps),
                        cards={str(slot): card for slot, card in cards.items()},
                        serves=serves,
                        settings=settings,
                    )
                    for (name, layout, cards), serves in zip(used, served, strict=True)
                ]
                broken.append(_broken(survey, limits, Build(frame=tuple(frames))))
            seats = frozenset((name, slot, card) for name, _, cards in used for slot, card in cards.items())
            yield (layouts, seats), broken


@cache
def _judged(code: str) -> tuple[list[Seating], bool]:
    """The seatings that keep the limits of a rule's case, and whether any breaks those of this rule alone."""
    case = _cases()[code]
    every = list(_read(case.survey, _options(case.survey), case.codes))
    alone = any({code} in broken for _, broken in every)
    return [seating for seating, broken in every if set() in broken], alone


def test_every_rule_has_a_case() -> None:
    assert set(_cases()) == set(rules.ALL)


@pytest.mark.parametrize("code", list(rules.ALL))
def test_a_broken_limit_is_told_without_a_build(code: str) -> None:
    survey = _cases()[code].survey
    limits = list(rules.ALL[code].limits(survey))
    assert limits
    for limit in limits:
        broken = Reading(limit, limit.bound - 1 if limit.at_least else limit.bound + 1)
        assert in_words(survey, rules.ALL[code].fault(survey, broken)), limit


@pytest.mark.parametrize("code", list(rules.ALL))
def test_the_search_allows_what_readings_allow(code: str) -> None:
    case, (read, alone) = _cases()[code], _judged(code)
    options = _options(case.survey)
    apart = [[[option] for option in combination] for combination in product(*options)]
    assert read
    assert alone, "the rule by itself forbids nothing here"
    assert set(chain.from_iterable(_stated(_drafted(case.survey, one, case.codes)) for one in apart)) == set(read)
    assert set(_stated(_drafted(case.survey, options, case.codes))) == set(read)
    assert set(_stated(_counted(case.survey, options, case.codes, slot_by_slot=True))) == set(read)


@pytest.mark.parametrize("code", list(rules.ALL))
def test_runs_forbid_nothing_that_readings_allow(code: str) -> None:
    case, (read, _) = _cases()[code], _judged(code)
    options = _options(case.survey)
    together = _counted(case.survey, options, case.codes, slot_by_slot=False)
    for layouts in dict.fromkeys(layouts for layouts, _ in read):
        apart = _counted(case.survey, [[layout] for layout in layouts], case.codes, slot_by_slot=False)
        for seating in (own for own in read if own[0] == layouts):
            assert _least(_counting(apart, seating), 0) == 0, seating
            assert _least(_counting(together, seating), 0) == 0, seating
    assert read


# Over runs, all rules together


def _counting(room: RoomStatement, seating: Seating) -> RoomStatement:
    """The model with the counts of a seating; a seating that it has no place for makes it impossible."""
    asked, places = room.copy(), set(seating[1])
    for seat in asked.seats():
        assert isinstance(seat, Placement)
        layout = seating[0][seat.site.index]
        own = {place for place in places if place[0] == seat.site.name and place[2] == seat.kind.id}
        here = {place for place in own if place[1] in seat.starts and layout is seat.layout}
        places -= here
        asked.model.add(seat.term == len(here))
    if places:
        asked.model.add_bool_or([])
    return asked


def _least(room: RoomStatement | CpDraft, goal: Any) -> int | None:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    room.model.minimize(goal)
    if solver.solve(room.model) != cp_model.OPTIMAL:
        return None
    return goal if isinstance(goal, int) else round(solver.objective_value)


MOST_SEATINGS = 12
"""Of each model of a scenario so many seatings are compared."""


def _compared(survey: Survey) -> int:
    """How many seatings of a room are allowed over runs at no more of any criterion than slot by slot."""
    compared = 0
    kinds = useful_kinds(survey)
    limits = [(rule, limit) for rule, limit in rules.limits(survey) if not rule.graded]
    wanted = [criterion for criterion in survey.rank if criterion != "cooling"]
    for options in options_of(survey)[:3]:
        draft = CpDraft(survey, options, kinds, limits)
        draft.keep(survey.refuse_mk)
        loads = {criterion: expression(criteria.objective(draft, criterion)) for criterion in wanted}
        room = RoomStatement(survey, options, kinds, limits, slot_by_slot=False, margin_mk=survey.refuse_mk)
        over = {criterion: expression(room.criterion(criterion)) for criterion in wanted}
        room.keep(survey.refuse_mk)
        terms = [seat.term for seat in draft.seats()]
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        for _ in range(MOST_SEATINGS):
            if solver.solve(draft.model) != cp_model.OPTIMAL:
                break
            values = [solver.boolean_value(term) for term in terms]
            taken = [
                (seat.site.name, seat.slot, seat.kind.id)
                for seat, value in zip(draft.seats(), values, strict=True)
                if value
            ]
            asked = _counting(room, (tuple(own[0] for own in options), frozenset(taken)))
            fixed = draft.copy()
            for term, value in zip(terms, values, strict=True):
                fixed.model.add(term == value)
            assert _least(asked, 0) == 0, taken
            for criterion in wanted:
                least, bound = _least(fixed, loads[criterion]), _least(asked, over[criterion])
                assert least is not None
                assert bound is not None
                assert bound <= least, (criterion, taken)
            compared += 1
            if not terms:
                break
            draft.model.add_bool_or([~t if value else t for t, value in zip(terms, values, strict=True)])
    return compared


@some_or_all("amount", 40, 500)
def test_runs_forbid_nothing_that_slots_allow(amount: int) -> None:
    drawn = [generate.random_pair, generate.random_nice, generate.random_banning]
    compared = [_compared(survey_room(*drawn[seed % 3](seed))) for seed in range(amount)]
    assert sum(map(bool, compared)) * 3 >= amount
    assert sum(compared) >= 2 * amount


def test_repairs_know_every_rule_about_the_numbers_of_a_need() -> None:
    """All but `spread`: how few channels one card takes with it is over once one has failed."""
    known = {rule.code for rule in rules.LIST if isinstance(rule, OfNumbers)} - {"spread"}
    assert len(known) >= 8
    assert known <= UNASKED.keys()
    assert known <= set(re.findall(r'yield "([a-z-]+)"', inspect.getsource(wishes_kept)))

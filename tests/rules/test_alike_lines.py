"""One latency, one full-scale level of sends and returns, and rate conversion: what the search finds, what checks say.

Full-scale levels of EBU R68 (digital full scale at +18 dBu) and SMPTE RP 155 (+24 dBu), both from memory.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

import pytest

from solver.fitted.standing import stand
from solver.judge import audit
from solver.judge.campus import survey_campus
from solver.reports.broken import broken_limits
from solver.room.build import Build
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.survey import Survey
from solver.search.ask.clash import clash
from solver.search.ask.ranking import rank
from solver.search.campus.planning import plan_campus

R68, RP155 = "+18 dBu", "+24 dBu"
LEVEL = {"name": "full_scale_level", "choices": [R68, RP155], "per": "bank", "bank": 4}


def _port(direction: str, signal: str, channels: int = 8, **more: Any) -> dict[str, Any]:
    return {"direction": direction, "signals": [signal], "channels": {"48": channels, "96": channels}, **more}


def _card(name: str, price: int, *ports: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"id": name, "price": price, "ports": list(ports), **more}


def _samples(fewer: int) -> dict[str, int]:
    return {"48": fewer, "96": 2 * fewer}


EARLY = _card("early", 70, _port("in", "mic", 4), latency_samples=_samples(10))
LATE = _card("late", 90, _port("in", "mic", 8), latency_samples=_samples(14))
UNKNOWN = _card("unknown", 400, _port("in", "mic", 4))
AES = _card("aes", 60, _port("in", "aes3"))
CONVERTING = _card("converting", 150, _port("in", "aes3", rate_conversion=True))
SENDS = _card("sends", 100, _port("out", "line"), setting=[{**LEVEL, "direction": "out", "default": RP155}])
RETURNS = _card("returns", 100, _port("in", "line"), setting=[{**LEVEL, "direction": "in"}])
CARDS = [EARLY, LATE, UNKNOWN, AES, CONVERTING, SENDS, RETURNS]


def _need(name: str, signal: str, channels: int, direction: str = "in", **more: Any) -> dict[str, Any]:
    return {"name": name, "direction": direction, "signal": signal, "channels": channels, **more}


def _survey(*needs: dict[str, Any], cards: list[Any] | None = None, slots: int = 6, **more: Any) -> Survey:
    own = CARDS if cards is None else cards
    board = {
        "id": "reef",
        "limits": {"48": {"in": 64, "out": 64}, "96": {"in": 64, "out": 64}},
        "inputs": {"first_slot": 1, "widths": 8},
        "outputs": {"first_slot": 2, "widths": 8},
    }
    hardware = {
        "format": 1,
        "card": own,
        "board": [board],
        "chassis": [{"id": "crate", "slot_count": slots, "boards": ["reef"]}],
    }
    scenario = {
        "format": 1,
        "title": "Gannet Quay",
        "hardware": ["reef.toml"],
        "currency": "GBP",
        "frame": [{"name": "A", "chassis": "crate", "board": "reef"}],
        "offer": [{"card": card["id"]} for card in own],
        "need": list(needs),
        **more,
    }
    return survey_room(Scenario.model_validate(scenario), Hardware.model_validate(hardware))


def _best(survey: Survey) -> tuple[int, list[str]]:
    """What the best build costs, and its cards."""
    build = rank(survey, 1).builds[0]
    (frame,) = build.build.frame
    return build.figures.cost // 100, sorted(card for _, card in frame.seats())


# The audit

DRUMS = _need("drums", "mic", 6, same_latency=True)
TAPE = _need("tape", "aes3", 2, asynchronous=True)
OUT = _need("inserts", "line", 4, "out", returns_on="back")
BACK = _need("back", "line", 4)
BUILD: dict[str, Any] = {
    "format": 1,
    "frame": [
        {
            "name": "A",
            "board": "reef",
            "cards": {"1": "late", "2": "early", "3": "converting", "4": "aes", "5": "returns", "6": "sends"},
            "settings": [{"slot": 6, "setting": "full_scale_level", "direction": "out", "to": R68, "channels": "1-4"}],
            "serves": [
                {"need": "drums", "slot": 1, "channels": "1-6"},
                {"need": "tape", "slot": 3, "channels": "1-2"},
                {"need": "inserts", "slot": 6, "channels": "1-4"},
                {"need": "back", "slot": 5, "channels": "1-4"},
            ],
        }
    ],
}


def _serve(place: int, *entries: dict[str, Any]) -> Callable[[dict[str, Any]], Any]:
    return lambda frame: frame["serves"].__setitem__(slice(place, place + 1), entries)


MUTATIONS: dict[str, tuple[Callable[[dict[str, Any]], Any], str]] = {
    "same-latency": (
        _serve(0, {"need": "drums", "slot": 1, "channels": "1-4"}, {"need": "drums", "slot": 2, "channels": "1-2"}),
        'need "drums" asks for cards of one latency: 4 on late (14 samples), 2 on early (10 samples)',
    ),
    "rate-conversion": (
        _serve(1, {"need": "tape", "slot": 4, "channels": "1-2"}),
        'frame A, slot 4: input channels 1-2 of aes are without rate conversion, and "tape" has no common clock',
    ),
    "alike-levels": (
        lambda frame: frame.update(settings=[]),
        'need "inserts" and its returns, "back", are to have one full-scale level: 4 on sends (+24 dBu), '
        "4 on returns (+18 dBu)",
    ),
}


def _faults(build: dict[str, Any], **changes: Any) -> list[tuple[str, str]]:
    survey = _survey({**DRUMS, **changes}, TAPE, OUT, BACK)
    standing = stand(survey, Build.model_validate(build))
    told = [broken_limits(survey, reading, standing) for reading in audit.faults(survey, standing)]
    return [(fault.rule, fault.text) for own in told for fault in own]


def test_the_build_is_clean() -> None:
    assert _faults(BUILD) == []


@pytest.mark.parametrize("rule", sorted(MUTATIONS))
def test_a_mutation_yields_its_own_fault(rule: str) -> None:
    build = copy.deepcopy(BUILD)
    mutate, text = MUTATIONS[rule]
    mutate(build["frame"][0])
    assert _faults(build) == [(rule, text)]
    if rule == "same-latency":
        assert _faults(build, same_latency=False) == []


def test_a_latency_that_no_file_tells_is_not_checked() -> None:
    build = copy.deepcopy(BUILD)
    frame = build["frame"][0]
    frame["cards"]["2"] = "unknown"
    MUTATIONS["same-latency"][0](frame)
    survey = _survey(DRUMS, TAPE, OUT, BACK)
    standing = stand(survey, Build.model_validate(build))
    assert not audit.faults(survey, standing)
    assert {(u.unchecked, u.item) for u in audit.unknowns(survey, standing) if u.unchecked == "latency"} == {
        ("latency", "unknown")
    }
    assert not [
        u for u in audit.unknowns(survey, stand(survey, Build.model_validate(BUILD))) if u.unchecked == "latency"
    ]


# The search, with costs worked out by hand


@pytest.mark.parametrize(
    ("needs", "cost", "cards"),
    [
        ([_need("drums", "mic", 6)], 90, ["late"]),
        ([_need("drums", "mic", 12)], 160, ["early", "late"]),
        ([_need("drums", "mic", 12, same_latency=True)], 180, ["late", "late"]),
        # stereo pairs imply it, and it can be given up
        ([_need("drums", "mic", 12, pairs=True)], 180, ["late", "late"]),
        ([_need("drums", "mic", 12, pairs=True, same_latency=False)], 160, ["early", "late"]),
        # each need by itself: the room may hold both
        ([_need(n, "mic", c, same_latency=True) for n, c in (("drums", 8), ("choir", 4))], 160, ["early", "late"]),
        ([_need("drums", "mic", 12, consecutive=True, same_latency=True)], 180, ["late", "late"]),
        ([_need("tape", "aes3", 4)], 60, ["aes"]),
        ([_need("tape", "aes3", 4, asynchronous=True)], 150, ["converting"]),
        ([_need("tape", "aes3", 4, asynchronous=True), _need("disk", "aes3", 8)], 210, ["aes", "converting"]),
    ],
)
def test_the_search_finds_the_least_cost(needs: list[dict[str, Any]], cost: int, cards: list[str]) -> None:
    assert _best(_survey(*needs)) == (cost, cards)


def test_a_rate_has_latencies_of_its_own() -> None:
    only = [_card("a", 70, _port("in", "mic", 4), latency_samples={"48": 9, "96": 12}), LATE]
    needs = [_need("drums", "mic", 12, same_latency=True)]
    assert _best(_survey(*needs, cards=only)) == (180, ["late", "late"])
    only = [{**only[0], "latency_samples": {"48": 9, "96": 28}}, LATE]
    assert _best(_survey(*needs, cards=only, sample_rate=96000)) == (160, ["a", "late"])


def _levels(survey: Survey) -> dict[str, set[str | None]]:
    """The full-scale levels of each need in the best build, read again."""
    (frame,) = stand(survey, rank(survey, 1).builds[0].build).frames
    found: dict[str, set[str | None]] = {}
    for use in frame.uses:
        found.setdefault(use.need.name, set()).add(frame.choice(use, "full_scale_level"))
    return found


@pytest.mark.parametrize(
    ("needs", "levels"),
    [
        ([OUT, BACK], [{R68}, {R68}]),
        ([OUT, {**BACK, "settings": {"full_scale_level": RP155}}], [{RP155}, {RP155}]),
        ([{**OUT, "settings": {"full_scale_level": R68}}, BACK], [{R68}, {R68}]),
        ([_need("inserts", "line", 4, "out"), BACK], [{RP155}, {R68}]),
    ],
)
def test_sends_and_returns_have_one_level(needs: list[dict[str, Any]], levels: list[set[str]]) -> None:
    found = _levels(_survey(*needs))
    assert [found["inserts"], found["back"]] == levels


def test_rooms_that_differ_in_nothing_else_get_their_own_cards() -> None:
    survey = _survey(_need("drums", "mic", 12))
    room = survey.scenario.rooms()[0]
    asking = room.need[0].model_copy(update={"same_latency": True})
    rooms = [
        room.model_copy(update={"name": name, "need": (need,)})
        for name, need in (("hall", room.need[0]), ("booth", asking))
    ]
    scenario = survey.scenario.model_copy(update={"room": tuple(rooms), "frame": (), "need": ()})
    found = plan_campus(survey_campus(scenario, survey.hardware))
    assert found.best is not None
    assert found.best.figures.cost // 100 == 160 + 180


@pytest.mark.parametrize(
    ("needs", "cards", "slots", "sorts"),
    [
        ([_need("drums", "mic", 12, same_latency=True)], [EARLY, LATE], 2, {"latency"}),
        ([_need("drums", "mic", 12, pairs=True)], [EARLY, LATE], 2, {"latency"}),
        ([_need("tape", "aes3", 4, asynchronous=True)], [AES], 1, {"clock"}),
        (
            [{**OUT, "settings": {"full_scale_level": R68}}, BACK],
            [SENDS, {**RETURNS, "setting": [{**LEVEL, "direction": "in", "choices": [RP155]}]}],
            6,
            {"returns"},
        ),
    ],
)
def test_each_may_be_given_up_in_a_way_out(
    needs: list[dict[str, Any]], cards: list[Any], slots: int, sorts: set[str]
) -> None:
    offer = [{"card": card["id"], **({"at_most": 1} if card is LATE else {})} for card in cards]
    survey = _survey(*needs, cards=cards, slots=slots, offer=offer)
    assert rank(survey, 1).outcome == "impossible"
    found = clash(survey)
    assert found is not None
    assert sorts in [{change.wish.sort for change in way.changes} for way in found.ways]

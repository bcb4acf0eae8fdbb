"""Needs that are nice to have: what gives way is the least, proven; by hand, against trying all, in every answer."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import Any

import brute_force
import generate
import pytest
import test_against_brute_force
import test_reach
import test_why

from cli.main import run
from solver.judge import audit
from solver.reports.causes import causes
from solver.reports.report import Report
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Need as AskedNeed
from solver.room.scenario import Scenario
from solver.room.survey import Need
from solver.rules.needs import FewerChannels
from solver.search.ask.clash import clash
from solver.search.ask.front import front
from solver.search.ask.ranking import rank
from solver.search.ask.reach import reach
from solver.search.solve import shortage
from solver.search.solve.clock import Clock


def _card(name: str, price: str, signals: str, channels: int, grain: int = 1) -> dict[str, Any]:
    port = {"direction": "in", "signals": signals.split(), "channels": {"48": channels}, "grain": grain}
    return {"id": name, "price": price, "ports": [port]}


def _need(name: str, signal: str, channels: int, spare: int = 0, importance: str = "nice") -> dict[str, Any]:
    asked = {"name": name, "direction": "in", "signal": signal, "channels": channels, "spare": spare}
    return {**asked, "importance": importance}


def _pair(
    slots: int,
    cards: list[dict[str, Any]],
    needs: list[dict[str, Any]],
    *,
    numbers: int = 32,
    width: int = 8,
    **more: Any,
) -> tuple[Scenario, Hardware]:
    """A frame of some slots, every card on offer."""
    hardware = {
        "format": 1,
        "card": cards,
        "board": [
            {
                "id": "reef-32",
                "limits": {"48": {"in": numbers, "out": 8}},
                "inputs": {"first_slot": 1, "widths": width},
                "outputs": {"first_slot": 1, "widths": 0},
            }
        ],
        "chassis": [{"id": f"gully-{slots}", "slot_count": slots, "boards": ["reef-32"]}],
    }
    scenario = {
        "format": 1,
        "title": "Gannet Quay, annex",
        "hardware": ["reef.toml"],
        "currency": "GBP",
        "rank": ["cost"],
        "frame": [{"name": "A", "chassis": f"gully-{slots}", "board": "reef-32"}],
        "offer": [{"card": card["id"]} for card in cards],
        "need": needs,
        **more,
    }
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def _given_way(scenario: Scenario, hardware: Hardware, top: int = 5) -> list[tuple[int, dict[str, int]]]:
    """The cost of each build and what gives way in it; every build proven."""
    found = rank(survey_room(scenario, hardware), top)
    assert all(build.proven for build in found.builds)
    return [(b.figures.cost, {n.name: lacks for n, lacks in b.standing.short().items()}) for b in found.builds]


MIC, LINE = _card("mic-4", "300.00", "mic", 4), _card("line-4", "200.00", "line", 4)


def test_nothing_gives_way_where_every_need_can_be_met() -> None:
    pair = _pair(2, [MIC, LINE], [_need("talkback", "mic", 1), _need("returns", "line", 4)])
    assert _given_way(*pair)[0] == (50000, {})


def test_the_fewest_channels_give_way_before_the_ranking_is_asked() -> None:
    # One slot for two needs: the dearer card leaves two channels short, the cheaper one three.
    pair = _pair(1, [MIC, LINE], [_need("booth", "mic", 3), _need("returns", "line", 2)])
    assert _given_way(*pair) == [(30000, {"returns": 2})]


def test_among_equal_channels_the_fewest_needs_give_way_then_the_ranking_decides() -> None:
    # A line card leaves two channels of one need short, a mic card one channel of each of two needs, and is cheaper.
    needs = [_need("booth", "mic", 2), _need("lamp", "line", 1), _need("tape", "line", 1)]
    mic, line = _card("mic-2", "100.00", "mic", 2), _card("line-2", "400.00", "line", 2)
    assert _given_way(*_pair(1, [mic, line], needs)) == [(40000, {"booth": 2})]
    # Without the third need both leave one need short of as many channels: the cheaper card, then the dearer one.
    needs = [_need("booth", "mic", 2), _need("lamp", "line", 2)]
    assert _given_way(*_pair(1, [mic, line], needs)) == [(10000, {"lamp": 2}), (40000, {"booth": 2})]


def test_spare_channels_give_way_first_and_count_alike() -> None:
    pair = _pair(1, [LINE], [_need("returns", "line", 3, spare=2)])
    assert _given_way(*pair) == [(20000, {"returns": 1})]
    # Spare or not, either card leaves six channels of two needs short: the cheaper one comes first.
    both = _pair(1, [MIC, LINE], [_need("returns", "line", 3, spare=2), _need("booth", "mic", 5)])
    assert _given_way(*both) == [(20000, {"booth": 5, "returns": 1}), (30000, {"booth": 1, "returns": 5})]


def test_pairs_are_dropped_whole_only_where_that_is_the_least() -> None:
    # Two pairs for needs of three and of two: three take both pairs, or two of them and two the other need's.
    card = _card("duo-4", "100.00", "line", 4, grain=2)
    for names in ("lamp", "tape"), ("tape", "lamp"):
        needs = [_need(names[0], "line", 3), _need(names[1], "line", 2)]
        assert _given_way(*_pair(1, [card], needs)) == [(10000, {names[0]: 1})]


def test_needs_that_have_to_be_met_never_give_way() -> None:
    needs = [_need("booth", "mic", 4, importance="must"), _need("returns", "line", 8)]
    assert _given_way(*_pair(1, [MIC, LINE], needs)) == [(30000, {"returns": 8})]
    needs[0] = _need("booth", "mic", 5, importance="must")
    scenario, hardware = _pair(1, [MIC, LINE], needs)
    assert rank(survey_room(scenario, hardware)).outcome == "impossible"


def test_a_budget_lets_needs_give_way_and_a_seated_card_may_serve_nothing() -> None:
    needs = [_need("booth", "mic", 4), _need("returns", "line", 4)]
    assert _given_way(*_pair(2, [MIC, LINE], needs, budget="200.00")) == [(20000, {"booth": 4})]
    seated = _pair(1, [MIC, LINE], [_need("returns", "line", 4)], must_seat=[{"card": "mic-4"}])
    assert _given_way(*seated) == [(30000, {"returns": 4})]


def test_numbers_that_are_too_few_for_all_are_enough_for_what_is_left() -> None:
    needs = [_need("booth", "mic", 4, importance="must"), _need("returns", "line", 4)]
    assert _given_way(*_pair(2, [MIC, LINE], needs, numbers=6, width=4)) == [(50000, {"returns": 2})]


def test_seeded_scenarios_have_the_same_builds() -> None:
    seen: Counter[str] = Counter()
    for seed in range(150):
        scenario, hardware = generate.random_nice(seed)
        survey = survey_room(scenario, hardware)
        outcome = test_against_brute_force._compare(survey, scenario, hardware)
        best = brute_force.best(scenario, hardware)
        seen[outcome] += 1
        seen["gives way"] += bool(best and best.short)
        seen["of several needs"] += bool(best and best.short_needs > 1)
        seen["pairs"] += bool(best and best.short and any(p.grain > 1 for c in hardware.card for p in c.ports))
        seen["two frames"] += bool(best and best.short and len(scenario.frame) > 1)
        seen["slack"] += bool(best and best.short and scenario.slack)
    assert len(seen) == 7
    assert min(seen.values()) >= 5, seen


def test_the_front_is_that_of_the_builds_that_are_least_short() -> None:
    several = 0
    for seed in range(100):
        scenario, hardware = generate.random_nice(seed)
        survey = survey_room(scenario, hardware)
        found = front(survey)
        expected = brute_force.front(scenario, hardware)
        names = ["level" if c == "cooling" else c for c in survey.rank]
        assert sorted(tuple(int(getattr(p.figures, n)) for n in names) for p in found.points) == sorted(expected), seed
        assert found.complete
        several += len(expected) > 1 and found.points[0].figures.short > 0
    assert several >= 2


def _with(scenario: Scenario, need: Need, channels: int, amounts: dict[str, int]) -> Scenario:
    """One need with so many channels, others with so many fewer, all of them to be met."""
    needs = []
    for asked in scenario.need:
        left = channels if asked.name == need.name else asked.channels + asked.spare - amounts.get(asked.name, 0)
        if left:
            own = {"name": asked.name, "direction": asked.direction, "signal": asked.signal, "channels": left}
            needs.append(AskedNeed(**own))
    return scenario.model_copy(update={"need": tuple(needs), "budget": None})


def _curve(scenario: Scenario, hardware: Hardware, need: Need, short: int, needs: int) -> dict[int, int]:
    """The least cost of each number of channels, with all short of no more than that together, by trying everything."""
    nice = [n for n in scenario.need if n.importance == "nice" and n.name != need.name]
    found: dict[int, int] = {}
    for channels in range(max(1, need.demand - short if need.nice else need.demand), need.demand + 9):
        lacking = max(0, need.demand - channels)
        costs = []
        for amounts in product(*(range(min(short, n.channels + n.spare) + 1) for n in nice)):
            if sum(amounts) + lacking > short or sum(a > 0 for a in amounts) + (lacking > 0) > needs:
                continue
            given = dict(zip((n.name for n in nice), amounts, strict=True))
            cost = test_reach._least_cost(_with(scenario, need, channels, given), hardware)
            costs += [] if cost is None else [cost]
        if costs:
            found[channels] = min(costs)
        elif found:
            break
    return found


def test_how_far_a_need_reaches_keeps_all_others_as_far_as_the_plan_does() -> None:
    seen = 0
    for seed in range(40):
        scenario, hardware = generate.random_nice(seed)
        best = brute_force.best(scenario, hardware)
        if best is None or not 0 < best.short <= 4:
            continue
        seen += 1
        survey = survey_room(scenario, hardware)
        found = reach(survey)
        assert found.outcome == "found"
        for one in [r for r in found.reaches if not r.bare]:
            # More channels are never easier, so that a step holds for all below it.
            curve = _curve(scenario, hardware, one.need, best.short, best.short_needs)
            least = {n: min(cost for m, cost in curve.items() if m >= n) for n in curve}
            steps = {n: s.cost for s in one.steps for n in range(s.first, s.last + 1) if n in least}
            assert steps == least, (seed, one.need)
            assert one.unlimited.channels == max(curve, default=0), (seed, one.need)
            assert one.unlimited.proven
    assert seen >= 8


def test_what_is_nice_to_have_is_no_part_of_a_clash() -> None:
    seen = 0
    for seed in range(60):
        scenario, hardware = generate.random_nice(seed)
        survey = survey_room(scenario, hardware)
        if not any(need.nice for need in survey.needs) or rank(survey, 1).outcome != "impossible":
            continue
        seen += 1
        found = clash(survey, Clock(), extent=test_why.EVERYTHING)
        nice = {FewerChannels(need.index) for need in survey.needs if need.nice}
        assert not nice & {change.wish for way in found.ways for change in way.changes}
        assert not nice & set(found.because)
        test_why._laws_hold(survey, hardware, found)
        named = {cause.subject for cause in causes(survey) if cause.code == "cards"}
        assert named <= {need.signal for need in survey.needs if not need.nice}
    assert seen >= 8


def test_what_is_short_is_no_fault_and_counts_in_the_figures() -> None:
    scenario, hardware = _pair(1, [MIC, LINE], [_need("booth", "mic", 3), _need("returns", "line", 2)])
    survey = survey_room(scenario, hardware)
    (build,) = rank(survey).builds
    assert audit.faults(survey, build.standing) == []
    assert (build.figures.short, build.figures.short_needs, build.figures.idle) == (2, 1, 1)
    assert build.stages == {"short": True, "short_needs": True, "cost": True, "ties": True}


def test_what_is_not_proven_the_fewest_is_not_said_to_be(monkeypatch: pytest.MonkeyPatch) -> None:
    scenario, hardware = _pair(1, [MIC, LINE], [_need("booth", "mic", 3), _need("returns", "line", 2)])
    survey = survey_room(scenario, hardware)
    least = shortage.least_short(survey, Clock())
    assert least.proven
    monkeypatch.setattr(shortage, "least_short", lambda *_: replace(least, proven=False, bound=1))
    found = rank(survey)
    assert [(b.proven, set(b.stages.values()), b.bounds) for b in found.builds] == [(False, {False}, {"short": 1})]
    assert not found.complete
    points = front(survey)
    assert not points.complete
    assert not any(point.proven for point in points.points)


def test_a_build_is_shown_where_the_time_is_over_before_any_was_ranked(monkeypatch: pytest.MonkeyPatch) -> None:
    scenario, hardware = _pair(1, [MIC, LINE], [_need("booth", "mic", 3), _need("returns", "line", 2)])
    survey = survey_room(scenario, hardware)
    clock = Clock()

    original = shortage.least_short
    monkeypatch.setattr(shortage, "least_short", lambda *a: _stopping(original, clock, *a))
    found = rank(survey, clock=clock)
    assert [(b.proven, b.figures.short) for b in found.builds] == [(False, 2)]
    assert found.stopped


def _stopping(original: Any, clock: Clock, *arguments: Any) -> Any:
    found = original(*arguments)
    clock.stop()
    return found


HARDWARE = """\
format = 1
[[card]]
id = "mic-4"
price = "300.00"
ports = [{ direction = "in", signals = ["mic"], channels = { "48" = 4 } }]
[[card]]
id = "line-4"
price = "200.00"
ports = [{ direction = "in", signals = ["line"], channels = { "48" = 4 } }]
[[board]]
id = "reef-32"
limits = { "48" = { in = 32, out = 8 } }
inputs = { first_slot = 1, widths = 8 }
outputs = { first_slot = 1, widths = 0 }
[[chassis]]
id = "gully-1"
slot_count = 1
boards = ["reef-32"]
"""

ANNEX = """\
format = 1
title = "Gannet Quay, annex"
hardware = ["reef.toml"]
currency = "GBP"
rank = ["cost"]
[stock]
mic-4 = 1
[[offer]]
card = "line-4"
[[frame]]
name = "A"
chassis = "gully-1"
board = "reef-32"
[[need]]
name = "booth"
direction = "in"
signal = "mic"
channels = 3
importance = "nice"
[[need]]
name = "returns"
direction = "in"
signal = "line"
channels = 2
spare = 1
importance = "nice"
"""


@pytest.fixture
def annex(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setenv("COLUMNS", "80")
    (tmp_path / "reef.toml").write_text(HARDWARE, encoding="utf-8")
    (tmp_path / "annex.toml").write_text(ANNEX, encoding="utf-8")
    return str(tmp_path / "annex.toml")


def _told(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = 0) -> str:
    assert run(arguments) == code
    return str(capsys.readouterr().out)


def test_a_plan_says_what_gives_way_in_each_build(annex: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert _told(capsys, "plan", annex) == PLAN
    report = Report.model_validate_json(_told(capsys, "plan", annex, "--format", "json"))
    assert [[short.model_dump() for short in build.short] for build in report.builds] == [
        [
            {
                "room": None,
                "need": "returns",
                "direction": "in",
                "signal": "line",
                "asked": 3,
                "short": 3,
                "text": 'drop all 3 line inputs on "returns"',
            }
        ],
        [
            {
                "room": None,
                "need": "booth",
                "direction": "in",
                "signal": "mic",
                "asked": 3,
                "short": 3,
                "text": 'drop all 3 mic inputs on "booth"',
            }
        ],
    ]
    assert report.builds[0].stages == {"short": True, "short_needs": True, "cost": True, "ties": True}


def test_why_says_what_it_takes_to_meet_everything(annex: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert _told(capsys, "why", annex) == WHY


def test_front_reach_and_explain_say_what_gives_way(annex: str, capsys: pytest.CaptureFixture[str]) -> None:
    note = "NOTE: not all that is nice to have can be met: 3 channels of 1 need give way;"
    for command in ("front", "reach"):
        assert note in _told(capsys, command, annex)
    assert 'Not all that is nice to have is met\n  gives way  drop all 3 line inputs on "returns"\n' in _told(
        capsys, "explain", annex
    )


def test_why_not_counts_what_more_is_dropped(annex: str, capsys: pytest.CaptureFixture[str]) -> None:
    answer = json.loads(_told(capsys, "why-not", annex, "--card", "line-4", "--format", "json"))
    figures = {f["figure"]: (f["shown"], f["other"], f["difference"]) for f in answer["comparison"]["figures"]}
    assert figures["short"] == ("3", "3", "0")
    assert figures["cost"] == ("0.00", "200.00", "+200.00")


PLAN = """\
Gannet Quay, annex, 48 kHz, ranked by cost
2 builds, each proven; no further one exists
NOTE: not all that is nice to have can be met: 3 channels of 1 need give way;
proven the fewest channels, then the fewest needs

   cost GBP  unused  no number  gaps  not used      cooling  settings; against 1
1      0.00       1          0     0         1  not checked  A: reef-32
2    200.00       1          0     0         1  not checked  +1 line-4, -1 mic-4
                                                             drop all 3 mic
                                                             inputs on "booth"

Build 1, frame A: gully-1 with reef-32
  3 U high; what it draws is not known

  seen from the rear, slot 1 on the left
  slot |     1     |
       +-----------+
  card |   mic-4   |
  in   |    1-4    |
  out  |           |
       +-----------+

  slot  card   in   out  carries
  1     mic-4  1-4  -    booth on 1-3; 1 not used

  loads  inputs in use 3 of 32; outputs in use 0 of 8

Gives way    drop all 3 line inputs on "returns"
Spare        1 mic in
Order        nothing
Not fitted   nothing; all that is owned is fitted
Assumed      48 kHz, since the scenario does not say
NOT CHECKED  air figures unknown: gully-1; heat and air limit unknown: mic-4; so
             cooling is not checked
NOT CHECKED  rail figures unknown: gully-1; current unknown: mic-4; so rails are
             not checked

Before you open a frame: disconnect the mains and wait; beware of static, hot
surfaces and weight (two to lift); keep air paths free. The maker's manual wins
over this plan. Mains and fixed wiring are for licensed people under local code.
"""
WHY = """\
Possible, but not with all that is nice to have: Gannet Quay, annex, 48 kHz
  not all that is nice to have can be met: 3 channels of 1 need give way; proven
  the fewest channels, then the fewest needs
  drop all 3 line inputs on "returns"

Ways out, the least work first; each smallest set of things to change is listed
     work      lid  change                                    least cost GBP
  1  give up   on   drop all 3 line inputs on "returns"                 0.00
     channels
  2  give up   on   drop all 3 mic inputs on "booth"                  200.00
     channels
  3  buy       off  buy one more frame, gully-1 with reef-32          200.00

These cannot all be kept, whatever else gives way
  "booth" asks for 3 mic inputs
  "returns" asks for 3 line inputs, 1 of them spare
  Frames, boards and sample rate stay as they are in that; all but any one can
  be kept if all else that could gives way.

Assumed  48 kHz, since the scenario does not say

Before you open a frame: disconnect the mains and wait; beware of static, hot
surfaces and weight (two to lift); keep air paths free. The maker's manual wins
over this plan. Mains and fixed wiring are for licensed people under local code.
"""

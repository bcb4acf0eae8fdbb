"""Why a scenario is impossible: whole texts, and ways out and clashes against trying every change."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterable
from itertools import combinations, product
from pathlib import Path

import brute_force
import generate
import pytest
import tomlkit
from hypothesis import HealthCheck, given, settings
from inside import strapwork
from test_why_not import HARDWARE

from solver import rules
from solver.files.reading import load_scenario
from solver.judge import audit
from solver.relax.document import changed
from solver.relax.other import OtherWish
from solver.reports.report import Report
from solver.room.buying import left_in_stock
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.survey import Survey
from solver.room.wish import Change, Wish
from solver.rules.budget import MoreMoney
from solver.rules.straps import OtherSetting
from solver.search.ask.clash import Clash, Extent, clash
from solver.search.ask.ranking import rank
from solver.search.solve.clock import Clock

ROOT = Path(__file__).parents[2]
TEXTS = Path(__file__).parent / "clashes"
SEEDS = range(24)
EVERYTHING = Extent(ways=10**6, sets=10**6, amounts=10**6, trades=10**6, patience=None)
LIVE, MIX, TRACKING, TOO_SMALL, CHAPEL, INSERTS = (
    f"quay-{name}.toml" for name in ("live-room", "mix-rig", "tracking-96k", "impossible", "chapel", "inserts")
)

CASES: dict[str, tuple[str, list[tuple[str, str]]]] = {
    "numbers": (TOO_SMALL, []),
    "budget": (LIVE, [('budget = "9000.00"', 'budget = "2000.00"')]),
    "offers": (LIVE, [('[[offer]]\ncard = "instrument-4"\n', ""), ("channels = 4\n\n[[need]]\nname = \"reverb in\"",
               "channels = 7\n\n[[need]]\nname = \"reverb in\"")]),
    "cooling": (LIVE, [("inlet_c = 27", "inlet_c = 42.6")]),
    "reserve": (LIVE, [('rail_reserve = "20 %"', 'rail_reserve = "60 %"')]),
    "kept-empty": (LIVE, [('board = "shale-64"', 'board = "shale-64"\nkeep_empty = [3, 4, 5, 6, 7, 8, 9]')]),
    "pins": (LIVE, [('board = "shale-64"', 'board = "shale-64"\npins = { "1" = "line-out-8", "2" = "line-out-8" }'),
             ("channels = 14\nspare = 2\n\n[[need]]\nname = \"reverb out\"",
              "channels = 32\n\n[[need]]\nname = \"reverb out\"")]),
    "must-seat": (LIVE, [('[[need]]\nname = "drums"',
                  '[[must_seat]]\ncard = "mic-16"\ncount = 3\n\n[[need]]\nname = "drums"')]),
    "straps": (TRACKING, [('board = "shale-64"', 'board = "shale-64"\nstraps = { "input width" = "open" }')]),
    "board": (LIVE, [("board = \"shale-64\"", "board = \"slate-32\"")]),
    "rate": (TRACKING, [("sample_rate = 96000", "sample_rate = 192000")]),
    "budget-and-slots": (LIVE, [('budget = "9000.00"', 'budget = "2500.00"'),
                         ('board = "shale-64"', 'board = "shale-64"\nkeep_empty = [8, 12]')]),
    "heat-and-money": (LIVE, [("inlet_c = 27", "inlet_c = 30.5"), ('budget = "9000.00"', 'budget = "3000.00"')]),
    "pin-on-kept-slot": (MIX, [('chassis = "tern-6"',
                         'chassis = "tern-6"\nkeep_empty = [2]\npins = { "2" = "line-in-8" }')]),
    "inserts": (INSERTS, [('board = "shale-64"', 'board = "shale-64"\npins = { "12" = "aes-8" }\nkeep_empty = [10]'),
                ('board = "shale-64"', 'board = "shale-64"\nstraps = { "output start" = "open" }')]),
    "company": (CHAPEL, [("owned = true", "owned = true\nkeep_empty = [7, 8]")]),
}  # fmt: skip


def edited(name: str, folder: Path) -> Path:
    """A shipped scenario with one thing made impossible."""
    base, edits = CASES[name]
    text = (ROOT / "scenarios" / base).read_text(encoding="utf-8")
    for before, after in edits:
        assert before in text, before
        text = text.replace(before, after, 1)
    text = text.replace('"hardware/', f'"{(ROOT / "scenarios" / "hardware").as_posix()}/')
    path = folder / base
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    "name", [pytest.param(n, marks=pytest.mark.slow) if n in ("kept-empty", "reserve", "pins") else n for n in CASES]
)
def test_why_reads_whole(name: str, tmp_path: Path) -> None:
    ran = strapwork("why", edited(name, tmp_path))
    assert ran.stdout == (TEXTS / f"{name}.txt").read_text(encoding="utf-8")
    assert ran.returncode == 1
    assert max(map(len, ran.stdout.splitlines())) <= 80


def test_the_document_says_what_the_screen_says(tmp_path: Path) -> None:
    ran = strapwork("why", edited("budget-and-slots", tmp_path), "--by", "money", "--format", "json")
    report = Report.model_validate_json(ran.stdout)
    assert report.outcome == "impossible"
    assert report.clash is not None
    assert report.clash.complete
    assert report.clash.minimal
    costs = [way.cost for way in report.clash.ways]
    assert costs == sorted(costs, key=lambda cost: float(cost or 0))
    assert {way.work for way in report.clash.ways} == {"give up channels", "buy"}
    assert report.clash.because[-1].path == ["budget"]


def test_a_way_out_that_is_applied_keeps_the_comments_and_plans(tmp_path: Path) -> None:
    scenario, changed_file = edited("pin-on-kept-slot", tmp_path), tmp_path / "changed.toml"
    assert strapwork("why", scenario, "--apply", 1, "--to", changed_file).returncode == 0
    before, after = scenario.read_text(encoding="utf-8"), changed_file.read_text(encoding="utf-8")
    assert re.findall("#.*", before) == re.findall("#.*", after)
    assert tomlkit.parse(after)["frame"][0]["keep_empty"] == []
    assert strapwork("plan", changed_file, "--top", 1).returncode == 0
    again = strapwork("why", scenario, "--apply", 2, "--to", changed_file)
    assert again.returncode == 2
    assert changed_file.read_text(encoding="utf-8") == after


@pytest.mark.parametrize(
    ("stock", "told", "cost"),
    [
        ("", "buy one more frame, petrel-12 with shale-64, 3500.00", "4360.00"),
        ("shale-64 = 1\n", "buy one more frame, petrel-12 with shale-64 from stock, 1650.00", "2510.00"),
        ("petrel-12 = 1\n", "buy one more frame, petrel-12 from stock with shale-64, 1850.00", "2710.00"),
        ("petrel-12 = 1\nshale-64 = 1\n", "use one more frame, petrel-12 with shale-64, all from stock", "860.00"),
    ],
)
def test_one_more_frame_takes_from_stock_what_nothing_else_needs(
    stock: str, told: str, cost: str, tmp_path: Path
) -> None:
    scenario, changed_file = edited("numbers", tmp_path), tmp_path / "changed.toml"
    text = scenario.read_text(encoding="utf-8")
    scenario.write_text(text.replace("[stock]\n", f"[stock]\n{stock}"), encoding="utf-8")
    report = Report.model_validate_json(strapwork("why", scenario, "--format", "json").stdout)
    assert report.clash is not None
    way = report.clash.ways[2]
    assert ([change.text for change in way.changes], way.cost) == ([told], cost)
    assert way.work == ("buy" if "buy" in told else "lid off: move cards or straps")
    assert strapwork("why", scenario, "--apply", 3, "--to", changed_file).returncode == 0
    planned = Report.model_validate_json(strapwork("plan", changed_file, "--top", 1, "--format", "json").stdout)
    assert planned.builds[0].cost == cost


def test_stock_that_a_frame_of_the_scenario_may_need_is_not_left(tmp_path: Path) -> None:
    scenario = edited("numbers", tmp_path)
    text = scenario.read_text(encoding="utf-8")
    for owned, stock, left in (("true", 1, 1), ("false", 1, 0), ("false", 2, 1), ("false", 0, 0)):
        frame = f'board = "shale-64"\nowned = {owned}'
        own = text.replace('board = "shale-64"', frame).replace("[stock]", f"[stock]\nshale-64 = {stock}")
        scenario.write_text(own, encoding="utf-8")
        loaded = load_scenario(scenario)
        survey = survey_room(loaded.scenario, loaded.hardware)
        assert left_in_stock(survey, "shale-64") == left


def test_what_is_nice_to_have_gives_way_and_the_plan_says_so(tmp_path: Path) -> None:
    scenario = edited("numbers", tmp_path)
    text = scenario.read_text(encoding="utf-8").replace("channels = 40", 'channels = 40\nimportance = "nice"')
    scenario.write_text(text, encoding="utf-8")
    ran = strapwork("plan", scenario, "--format", "json")
    report = Report.model_validate_json(ran.stdout)
    assert ran.returncode == 0
    assert report.notes == [
        "not all that is nice to have can be met: 8 channels of 1 need give way; "
        "proven the fewest channels, then the fewest needs"
    ]
    assert [short.text for short in report.builds[0].short] == ['drop 8 of 40 line inputs on "line tie lines"; 32 left']


def test_why_not_tells_the_price_or_the_reason() -> None:
    worse = strapwork("why-not", "scenarios/quay-mix-rig.toml", "--card", "line-in-8", "--format", "json")
    does = strapwork("why-not", "scenarios/quay-mix-rig.toml", "--card", "line-in-16")
    never = strapwork("why-not", "scenarios/quay-mix-rig.toml", "--without-orders")
    wrong = strapwork("why-not", "scenarios/quay-mix-rig.toml", "--card", "line-in-17")
    assert [ran.returncode for ran in (worse, does, never, wrong)] == [0, 0, 1, 2]
    assert "does this already" in does.stdout
    assert "drop 16 of 24 line outputs" in never.stdout
    assert "spend" not in never.stdout
    figures = {f["figure"]: f["difference"] for f in json.loads(worse.stdout)["comparison"]["figures"]}
    assert any(difference not in ("0", None) for difference in figures.values())


def _freed(survey: Survey) -> dict[Wish, list[Change]]:
    """For every wish the changes that let it give way as far as it may; one for each other setting."""
    found: dict[Wish, list[Change]] = {}
    for wish in rules.wishes(survey):
        match wish:
            case MoreMoney():
                found[wish] = [Change(wish, 10**9)]
            case OtherSetting(frame=frame, group=group):
                site = next(site for site in survey.frames if site.name == frame)
                settings = {dict(layout.straps).get(group) for layout in site.layouts}
                others = sorted(s for s in settings if s not in (None, site.spec.straps[group]))
                if others:
                    found[wish] = [Change(wish, 1, setting) for setting in others]
            case _:
                found[wish] = [Change(wish, wish.most(survey))]
    return found


def _possible(survey: Survey, hardware: Hardware, freed: dict[Wish, list[Change]], keys: Iterable[Wish]) -> bool:
    ways = product(*(freed[key] for key in keys))
    return any(brute_force.ranked(changed(survey, changes), hardware, 1) for changes in ways)


def _impossible(seeds: range) -> list[tuple[int, Scenario, Hardware, Survey]]:
    found = []
    for seed in seeds:
        scenario, hardware = generate.random_pair(seed)
        survey = survey_room(scenario, hardware)
        if rank(survey, top=1).outcome == "impossible":
            found.append((seed, scenario, hardware, survey))
    return found


def test_ways_out_and_clashes_are_those_that_trying_every_change_finds() -> None:
    kinds: Counter[str] = Counter()
    for seed, _, hardware, survey in _impossible(SEEDS):
        found = clash(survey, Clock(), extent=EVERYTHING)
        assert found.complete, seed
        assert found.minimal, seed
        freed = _freed(survey)
        loosened = [way for way in found.ways if not isinstance(way.changes[0].wish, OtherWish)]
        sets = [frozenset(change.wish for change in way.changes) for way in loosened]
        assert not any(one < other for one in sets for other in sets), seed
        expected: list[frozenset[Wish]] = []
        for size in (1, 2):
            for keys in map(frozenset, combinations(sorted(freed, key=lambda wish: wish.rank), size)):
                if not any(one <= keys for one in expected) and _possible(survey, hardware, freed, keys):
                    expected.append(keys)
        assert {keys for keys in sets if len(keys) <= 2} == set(expected), seed
        for way in found.ways:
            kinds.update(change.wish.sort for change in way.changes)
        _laws_hold(survey, hardware, found)
        for way in loosened:
            for place, change in enumerate(way.changes):
                if change.amount > 1:
                    less = Change(change.wish, change.amount - 1, change.choice)
                    nearly = (*way.changes[:place], less, *way.changes[place + 1 :])
                    assert not brute_force.ranked(changed(survey, nearly), hardware, 1), (seed, change)
    assert len(kinds) >= 6, kinds


def _laws_hold(survey: Survey, hardware: Hardware, found: Clash) -> None:
    """Every way out plans and none holds another; the clash alone is impossible, and possible without any member."""
    for way in found.ways:
        after = survey_room(changed(survey, way.changes), hardware)
        assert audit.faults(after, way.cheapest.standing) == [], way.changes
        assert rank(after, 1).outcome == "found", way.changes
    sets = [frozenset(change.wish for change in way.changes) for way in found.ways]
    assert not any(one < other for one in sets for other in sets), sets
    freed = _freed(survey)
    others = [key for key in freed if key not in found.because]
    if found.because:
        assert not _possible(survey, hardware, freed, others)
    for key in found.because:
        assert _possible(survey, hardware, freed, [*others, key]), key


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(pair=generate.tiny_scenarios())
def test_the_laws_of_ways_out_and_clashes_hold_for_any_scenario(pair: tuple[Scenario, Hardware]) -> None:
    survey = survey_room(*pair)
    if rank(survey, top=1).outcome == "impossible":
        found = clash(survey, extent=EVERYTHING)
        assert found.minimal
        _laws_hold(survey, pair[1], found)


ONE_CARD_SHORT = """
format = 1
title = "Gannet Quay, two stages in eight numbers"
hardware = ["stages.toml"]
currency = "GBP"
sample_rate = 48000
budget = "500.00"
rank = ["cost"]
stock = { mic-4 = 1 }
frame = [{ name = "B", chassis = "two-slots", board = "short" }]
need = [
  { name = "great stage", direction = "in", signal = "mic", channels = 8 },
  { name = "small stage", direction = "in", signal = "mic", channels = 4 },
]
"""


def test_what_clashes_is_said_to_hold_with_all_else_given_up_and_no_further(tmp_path: Path) -> None:
    """Without the small stage the great one still lacks a card: the rest cannot be kept as it is."""
    (tmp_path / "stages.toml").write_text(HARDWARE, encoding="utf-8")
    for name, text in (
        ("both", ONE_CARD_SHORT),
        ("great", re.sub(r".*small stage.*\n", "", ONE_CARD_SHORT)),
        ("bought", re.sub(r".*small stage.*\n", "", ONE_CARD_SHORT).replace("mic-4 = 1", "mic-4 = 2")),
    ):
        (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
    said = strapwork("why", tmp_path / "both.toml").stdout
    assert (
        "These cannot all be kept, whatever else gives way\n"
        '  "great stage" asks for 8 mic inputs\n'
        '  "small stage" asks for 4 mic inputs\n'
        "  Frames, boards and sample rate stay as they are in that; all but any one can\n"
        "  be kept if all else that could gives way.\n"
    ) in said
    assert strapwork("why", tmp_path / "great.toml").stdout.startswith("Impossible, proven")
    assert strapwork("why", tmp_path / "bought.toml").stdout.startswith("Possible")

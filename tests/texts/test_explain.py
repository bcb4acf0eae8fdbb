"""The explanation: its parts add up to the report's figures, its reasons and amounts hold, its screens read whole."""

from __future__ import annotations

import json
from collections import Counter
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import generate
import pytest
from inside import strapwork

from solver.files.reading import load_scenario
from solver.physics.air import CP, density_kg_m3
from solver.physics.heat import margin_mk
from solver.reports.checking import check_report, check_room
from solver.reports.comparison import compare
from solver.reports.describe import describe_build
from solver.reports.explain import explanation
from solver.reports.explanation import Explanation
from solver.reports.report import BuildReport
from solver.room.build import Build
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.survey import Survey
from solver.search.ask.ranking import rank

ROOT = Path(__file__).parents[2]
EXPLAINED = Path(__file__).parent / "explained"
SCREENS = {
    "tracking-96k": ("scenarios/quay-tracking-96k.toml",),
    "mix-rig-against-3": ("scenarios/quay-mix-rig.toml", "--against", "3"),
    "live-room": ("scenarios/quay-live-room.toml",),
    "filled-as-drawn": ("scenarios/quay-filled.toml", "--build", "scenarios/quay-filled-drawn.toml"),
    "impossible": ("scenarios/quay-impossible.toml",),
    "chapel": ("scenarios/quay-chapel.toml",),
}
SEEDS = range(600, 760)


@cache
def _found() -> list[tuple[Survey, list[Explanation]]]:
    """Every build of generated scenarios, each compared with the first."""
    found = []
    for seed in SEEDS:
        survey = survey_room(*generate.random_pair(seed))
        builds = rank(survey, top=3).builds
        reports = [describe_build(survey, b.standing, b.figures, n, b.proven) for n, b in enumerate(builds, 1)]
        documents = [
            explanation(survey, "found", b.standing, report, reports[0])
            for b, report in zip(builds, reports, strict=True)
        ]
        if documents:
            found.append((survey, documents))
    return found


def _documents() -> list[Explanation]:
    return [document for _, documents in _found() for document in documents]


def _explained(document: Explanation) -> BuildReport:
    assert document.build is not None
    return document.build


def test_the_parts_add_up_to_the_figures_of_the_report() -> None:
    seen: Counter[str] = Counter()
    for document in _documents():
        build = _explained(document)
        for part in ("stranded", "holes", "idle"):
            channels = [entry.channels for entry in getattr(document, part)]
            assert all(channels)
            assert sum(channels) == getattr(build.unused, part)
            seen[part] += len(channels)
        assert sum((Decimal(line.total) for line in build.order_lines), Decimal(0)) == Decimal(build.cost)
        seen.update(entry.reason for entry in document.stranded)
        seen["halves"] += sum(entry.halves for entry in document.idle)
    assert all(seen[what] >= 5 for what in ("stranded", "holes", "idle", "halves", "no-block", "wider-than-its-block"))
    assert seen["past-the-limit"] >= 5


def test_the_hottest_gap_adds_up_and_is_the_one_of_the_report() -> None:
    seen = 0
    for document in _documents():
        gap, build = document.hottest, _explained(document)
        assert (gap is None) == (build.cooling.margin_k is None)
        if gap is None:
            continue
        seen += 1
        assert (gap.frame, gap.slots, gap.margin_k) == (
            build.cooling.frame,
            build.cooling.slots,
            build.cooling.margin_k,
        )
        assert sum(card.share_w for card in gap.cards) + gap.board_w + gap.supply_w == pytest.approx(gap.heat_w)
        assert gap.air_c == pytest.approx(gap.inlet_c + gap.rise_k)
        assert gap.margin_k == pytest.approx(gap.limit_c - gap.air_c)
        assert gap.limit_c == min(card.air_limit_c for card in gap.cards if card.air_limit_c is not None)
        assert set(gap.limited_by) == {card.card for card in gap.cards if card.air_limit_c == gap.limit_c}
    assert seen >= 20


def test_the_next_step_needs_just_that_much_less_heat() -> None:
    seen = 0
    for survey, documents in _found():
        for document in documents:
            step = document.next_step
            if step is None:
                continue
            assert document.hottest is not None
            assert step.gaps[0].slots == document.hottest.slots
            assert step.margin_k > document.hottest.margin_k
            for gap in step.gaps:
                site = survey.site(gap.frame)
                assert site is not None
                assert site.air is not None
                kinds = [survey.kinds[card] for card in gap.cards]
                limit = min(k.air_limit_mk for k in kinds if k.air_limit_mk is not None)
                board = next(f.board for f in _explained(document).frames if f.name == gap.frame)
                now = site.heat_mw(kinds[0], kinds[1] if len(kinds) > 1 else None, board)
                assert margin_mk(site.air, limit, now) == round(gap.margin_k * 1000) < step.margin_k * 1000
                if gap.less_w is not None:
                    enough = now - round(gap.less_w * 1000)
                    assert margin_mk(site.air, limit, enough) >= step.margin_k * 1000
                    assert margin_mk(site.air, limit, enough + 1) < step.margin_k * 1000
                    seen += 1
    assert seen >= 20


def test_limits_come_nearest_first_with_what_is_left() -> None:
    seen: Counter[str] = Counter()
    for document in _documents():
        percents = [limit.left_percent for limit in document.headroom]
        told = [p for p in percents if p is not None]
        assert told == sorted(told)
        assert percents[: len(told)] == told
        for limit in document.headroom:
            left, used, bound = Decimal(limit.left), Decimal(limit.used), Decimal(limit.bound)
            tolerance = Decimal("0.01") if limit.unit == "A" else Decimal("0.1") if limit.unit == "K" else 0
            assert abs(left - (used - bound if limit.at_least else bound - used)) <= tolerance
            assert left >= 0
            assert limit.tight == (limit.left_percent is not None and limit.left_percent < 10)
            assert limit.left_percent is None or limit.left_percent <= 100
            seen[limit.rule] += 1
        loads = {
            (frame.name, load.what, load.used, load.limit)
            for frame in _explained(document).frames
            for load in frame.loads
        }
        rails = {(r.frame, f"rail {r.subject}", r.used, r.bound) for r in document.headroom if r.rule == "rails"}
        numbers = {
            (r.frame, f"{r.subject}puts in use", r.used, r.bound) for r in document.headroom if r.rule == "numbers"
        }
        assert rails | numbers <= loads
    assert all(seen[rule] >= 5 for rule in ("stock", "budget", "rails", "cooling", "seats", "numbers"))


def test_what_the_hardware_is_and_what_the_user_wrote_are_told_apart() -> None:
    nature = {"seats", "numbers"}
    for document in _documents():
        for limit in document.headroom:
            assert (limit.source is None) == (limit.rule in nature)


def _cards(build: BuildReport) -> Counter[tuple[str, str, int]]:
    return Counter((card, f.name, int(slot)) for f in build.frames for slot, card in f.cards.items())


def test_a_comparison_turns_one_build_into_the_other() -> None:
    moved = added = strapped = 0
    for document in _documents():
        shown, against = _explained(document), document.against
        assert against is not None
        other = against.other
        cards, boards = _cards(shown), 0
        for change in against.cards:
            if change.before is not None:
                cards[change.card, change.before.frame, change.before.slot] -= 1
            if change.after is not None:
                cards[change.card, change.after.frame, change.after.slot] += 1
            moved += change.before is not None and change.after is not None
            added += change.before is None
        assert +cards == _cards(other)
        assert min(cards.values(), default=0) >= 0
        straps: dict[str, tuple[str | None, set[str], dict[str, str]]] = {
            f.name: (f.board, set(f.close), dict(f.switches)) for f in shown.frames
        }
        for own in against.frames:
            if own.taken == "in the shown only":
                del straps[own.frame]
                continue
            board, closed, switches = straps.get(own.frame, (None, set(), {}))
            boards += own.board not in (None, board)
            if own.board is not None:
                board, closed, switches = own.board, set(), {}
            straps[own.frame] = (board, (closed | {*own.close}) - {*own.open}, {**switches, **own.switches})
            strapped += 1
        assert straps == {f.name: (f.board, set(f.close), dict(f.switches)) for f in other.frames}
        money = next(f for f in against.figures if f.figure == "cost")
        assert money.shown is not None
        assert money.other is not None
        assert money.difference is not None
        assert Decimal(money.shown) + Decimal(money.difference) == Decimal(money.other) == Decimal(other.cost)
        kinds = [(c.before is not None, c.after is not None) for c in against.cards]
        assert kinds.count((True, True)) == against.cards_moved
        assert kinds.count((False, True)) == against.cards_in
        assert kinds.count((True, False)) == against.cards_out
        assert boards == against.boards_moved
        assert against.lid_on == (not against.cards and not against.frames)
        assert compare(shown, shown).model_dump(exclude={"other", "figures"}) == {
            "frames": [],
            "cards": [],
            "orders": [],
            "lid_on": True,
            "cards_moved": 0,
            "cards_in": 0,
            "cards_out": 0,
            "straps_moved": 0,
            "boards_moved": 0,
        }
    assert min(moved, added, strapped) >= 10


HARDWARE: dict[str, Any] = {
    "format": 1,
    "card": [
        {"id": f"line-{n}", "ports": [{"direction": "in", "signals": ["line"], "channels": {"48": n}}]} for n in (8, 16)
    ]
    + [{"id": "out-8", "ports": [{"direction": "out", "signals": ["line"], "channels": {"48": 8}}]}],
    "board": [
        {
            "id": "board",
            "limits": {"48": {"in": 44, "out": 64}},
            "inputs": {"first_slot": 1, "widths": [{"slots": "1-2", "width": 16}, {"slots": "3-8", "width": 8}]},
            "outputs": {"first_slot": 6, "widths": 8},
        }
    ],
    "chassis": [{"id": "chassis", "slot_count": 8, "boards": ["board"]}],
}
SCENARIO: dict[str, Any] = {
    "format": 1,
    "title": "By hand",
    "hardware": ["x.toml"],
    "currency": "GBP",
    "stock": {"line-8": 9, "line-16": 9, "out-8": 9},
    "frame": [{"name": "A", "chassis": "chassis", "board": "board"}],
    "need": [
        {"name": "low", "direction": "in", "signal": "line", "channels": 2},
        {"name": "high", "direction": "out", "signal": "line", "channels": 3},
    ],
}


ONE_CARD = """
format = 1
title = "One card"
hardware = ["HARDWARE"]
currency = "GBP"
rank = ["cost"]

[stock]
instrument-4 = 1

[[frame]]
name = "M"
chassis = "tern-6"
board = "flint-48"

[[need]]
name = "guitars"
direction = "in"
signal = "instrument"
channels = 2
"""


def test_reasons_by_hand() -> None:
    """Inputs: 16, 16, 8, then 41-44 in slot 4 and nothing above, since the board stops at 44. Outputs from slot 6."""
    survey = survey_room(Scenario.model_validate(SCENARIO), Hardware.model_validate(HARDWARE))
    frame: dict[str, Any] = {"name": "A", "board": "board", "serves": [{"need": "low", "slot": 3, "channels": "1-2"}]}
    frame["serves"].append({"need": "high", "slot": 8, "channels": "1-3"})
    frame["cards"] = {"2": "line-8", "3": "line-16", "4": "line-16", "5": "line-8", "1": "out-8", "8": "out-8"}
    checked = check_room(survey, Build.model_validate({"format": 1, "frame": [frame]}))
    report = check_report(survey, checked)
    document = explanation(survey, report.outcome, checked.standing, report.builds[0])
    assert [(s.slot, s.direction, s.channels, s.reason) for s in document.stranded] == [
        (3, "in", 8, "wider-than-its-block"),
        (4, "in", 4, "past-the-limit"),
        (4, "in", 8, "wider-than-its-block"),
        (5, "in", 8, "past-the-limit"),
        (1, "out", 8, "no-block"),
    ]
    assert [(h.slot, h.direction, h.numbers, h.card) for h in document.holes] == [
        (1, "in", "1-16", "out-8"),
        (2, "in", "25-32", "line-8"),
        (6, "out", "1-8", None),
        (7, "out", "9-16", None),
    ]
    assert [(i.slot, i.direction, i.numbers) for i in document.idle] == [
        (2, "in", "17-24"),
        (3, "in", "35-40"),
        (4, "in", "41-44"),
        (8, "out", "20-24"),
    ]


def test_settings_that_may_not_stand_together_are_explained_as_if_they_could(tmp_path: Path) -> None:
    drawn = tmp_path / "drawn.toml"
    drawn.write_text(
        """
format = 1

[[frame]]
name = "A"
board = "shale-64"
straps = { "input width" = "W1+W2", "output start" = "S2", "clock end" = "T1" }
cards = { 1 = "mic-16" }
""",
        encoding="utf-8",
    )
    ran = strapwork("explain", "scenarios/quay-filled.toml", "--build", str(drawn))
    assert ran.returncode == 1
    assert "Unused 0 channels: 0 without a number + 0 gaps + 0 not used" in ran.stdout
    assert "It breaks limits; strapwork check names every fault." in ran.stdout


@pytest.mark.parametrize(("amperes", "percent", "tight"), [("0.900", 10, False), ("0.901", 9, True)])
def test_a_tenth_left_is_not_tight_and_a_limit_of_nothing_comes_last(amperes: str, percent: int, tight: bool) -> None:
    card = {**HARDWARE["card"][0], "rails": {"+5": Decimal(amperes)}, "heat_w": 2, "air_limit_c": 55}
    board = {**HARDWARE["board"][0], "rails": {}, "heat_w": 0}
    air = {"path": "fan", "flow_m3_h": 30}
    chassis = {**HARDWARE["chassis"][0], "rails": {"+5": 1}, "air": air}
    scenario = {
        **SCENARIO,
        "need": SCENARIO["need"][:1],
        "air": {"inlet_c": 25},
        "limits": {"rail_reserve": "0 %", "refuse_below_k": 0},
    }
    survey = survey_room(
        Scenario.model_validate({**scenario, "stock": {"line-8": 9}}),
        Hardware.model_validate({"format": 1, "card": [card], "board": [board], "chassis": [chassis]}),
    )
    best = rank(survey, top=1).builds[0]
    found = explanation(
        survey, "found", best.standing, describe_build(survey, best.standing, best.figures, 1, True)
    ).headroom
    rail = next(limit for limit in found if limit.rule == "rails")
    assert (rail.left_percent, rail.tight) == (percent, tight)
    assert (found[-1].rule, found[-1].bound, found[-1].left_percent) == ("cooling", "0.0", None)


def test_the_mix_rig_by_hand() -> None:
    """Half of 17.5 W and of 10.4 W, a seventh of 6 W and of 14 W; a seventh of 34 m3/h x 0.7 carries it away."""
    loaded = load_scenario(ROOT / "scenarios/quay-mix-rig.toml")
    survey = survey_room(loaded.scenario, loaded.hardware)
    best = rank(survey, top=1).builds[0]
    gap = explanation(
        survey, "found", best.standing, describe_build(survey, best.standing, best.figures, 1, True)
    ).hottest
    assert gap is not None
    assert gap.heat_w == pytest.approx(17.5 / 2 + 10.4 / 2 + 6 / 7 + 14 / 7, abs=0.001)
    assert gap.flow_m3_h == pytest.approx(34 * 0.7 / 7)
    # P = rho cp Q dT with the density of the air that the fan draws in: 26 C, 12 m above the sea.
    rise = gap.heat_w / (density_kg_m3(26, 12) * CP * 34 * 0.7 / 7 / 3600)
    assert gap.rise_k == pytest.approx(rise, abs=0.01)
    assert gap.margin_k == pytest.approx(55 - 26 - rise, abs=0.01)


@pytest.mark.parametrize("name", sorted(SCREENS))
def test_a_screen_reads_whole(name: str) -> None:
    ran = strapwork("explain", *SCREENS[name])
    assert ran.stdout == (EXPLAINED / f"{name}.txt").read_text(encoding="utf-8")
    assert ran.returncode == (1 if name in ("impossible", "filled-as-drawn") else 0)
    assert max(map(len, ran.stdout.splitlines())) <= 80
    assert ran.stdout.isascii()
    assert all(line == line.rstrip() for line in ran.stdout.splitlines())


def test_the_document_is_that_of_its_schema() -> None:
    ran = strapwork("explain", SCREENS["mix-rig-against-3"][0], "--against", "3", "--format", "json")
    document = Explanation.model_validate_json(ran.stdout)
    assert document.against is not None
    assert (_explained(document).rank, document.against.other.rank) == (1, 3)
    schema = json.loads(strapwork("schema", "explanation").stdout)
    assert set(json.loads(ran.stdout)) == set(schema["properties"])


def test_a_file_needs_no_search_and_can_be_compared_with_one(tmp_path: Path) -> None:
    saved = tmp_path / "build.toml"
    mix = "scenarios/quay-mix-rig.toml"
    assert strapwork("plan", mix, "--top", "2", "--show", "2", "--save", str(saved)).returncode == 0
    document = json.loads(strapwork("explain", mix, "--build", str(saved), "--against", "1", "--format", "json").stdout)
    ranked = json.loads(strapwork("explain", mix, "--show", "2", "--against", "1", "--format", "json").stdout)
    assert document["outcome"] == "clean"
    for key in ("stranded", "holes", "idle", "hottest", "next_step", "headroom", "from_stock"):
        assert document[key] == ranked[key]
    assert document["against"] == ranked["against"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--show", "2", "--against", "2"), "this is the build that is explained"),
        (("--show", "1", "--build", "scenarios/quay-filled-drawn.toml"), "not both"),
        (("--build", "scenarios/quay-filled-drawn.toml"), "is no frame of this scenario"),
        (("--build", "scenarios/none.toml"), "there is no such file"),
        (("--against", "101"), "1<=x<=100"),
    ],
)
def test_bad_usage_is_told(arguments: tuple[str, ...], said: str) -> None:
    ran = strapwork("explain", "scenarios/quay-mix-rig.toml", *arguments)
    assert ran.returncode == 2
    assert ran.stdout == ""
    assert said in ran.stderr


def test_a_build_that_is_not_there_is_told(tmp_path: Path) -> None:
    scenario = tmp_path / "one.toml"
    scenario.write_text(ONE_CARD.replace("HARDWARE", str(ROOT / "scenarios/hardware/quay.toml")), encoding="utf-8")
    for option in ("--show", "--against"):
        ran = strapwork("explain", str(scenario), option, "9")
        assert ran.returncode == 2
        assert f"Invalid value for {option}: the search found only 1" in ran.stderr
    assert "Unused 2 channels: 0 without a number + 0 gaps + 2 not used" in strapwork("explain", str(scenario)).stdout


def test_latency_is_told_out_and_back_and_of_each_need_that_keeps_one() -> None:
    """The figures of the cards, added up by hand: 10 and 12 samples at 48 kHz are 22 / 48 of a millisecond."""
    text = strapwork("explain", "scenarios/quay-overdubs.toml").stdout
    _, told = text.split("Latency of what keeps one\n")
    assert told.splitlines()[:3] == [
        "  outboard 10 out, outboard returns 12 back: 22 samples, 0.46 ms",
        "  room amplifiers 39 samples, 0.81 ms",
        "  archive player 58 samples, 1.21 ms",
    ]


def test_what_is_set_on_cards_is_told_with_the_needs_that_ask_for_it() -> None:
    document = json.loads(strapwork("explain", "scenarios/quay-broadcast.toml", "--format", "json").stdout)
    told = {(x["card"], x["setting"], x["channels"]): (x["to"], x["needs"]) for x in document["set_cards"]}
    needs = {own for _, own_needs in told.values() for own in own_needs}
    assert needs == {"speakers", "ribbon pair", "radio lines", "film lines", "to transmission", "to film"}
    phantom = {to: needs for (_, setting, _), (to, needs) in told.items() if setting == "phantom"}
    assert phantom["on"] == ["speakers"]
    assert "ribbon pair" in phantom["off"]
    assert all(to == "+24 dBu" for to, needs in told.values() if {"film lines", "to film"} & {*needs} and to[0] == "+")

"""Plans that survive a card that fails: faults in files, what reach and the ways out make of it."""

from __future__ import annotations

from pathlib import Path

import pytest
from inside import strapwork
from samples import SCENARIO, change, faults_of, write

import solver
from solver.reports.explanation import Explanation
from solver.reports.reach import ReachReport
from solver.reports.report import Report
from solver.room.build import Build
from solver.room.ready import survey_room
from solver.search.ask.ranking import rank

SURVIVE = "survive = { cards = 1 }\n"
NOTHING = 'survive = { cards = 1, with = "nothing" }\n'
PLAIN = change(SCENARIO, "[stock]\n", f"{SURVIVE}[stock]\n")
CRITICAL = change(PLAIN, "channels = 8\n", "channels = 8\ncritical = true\n")


@pytest.mark.parametrize(
    ("scenario", "told"),
    [
        (
            change(CRITICAL, SURVIVE, "survive = {}\n"),
            "survive: must say what may fail: cards = 1, supplies = 1, or both",
        ),
        (change(CRITICAL, SURVIVE, "survive = { cards = 2 }\n"), "survive > cards: must be at most 1, found 2"),
        (
            change(CRITICAL, SURVIVE, 'survive = { cards = 1, with = "luck" }\n'),
            'survive > with: "luck" is not allowed (nothing, repatch)',
        ),
        (
            change(CRITICAL, SURVIVE, NOTHING),
            'need "returns" > spare: with = "nothing" lets no card carry more of it than it has to spare, and that is '
            "none: say how many channels may be lost",
        ),
        (
            change(
                change(change(CRITICAL, SURVIVE, NOTHING), "channels = 8\n", "channels = 4\n"),
                "critical = true\n",
                "critical = true\nspare = 4\nconsecutive = true\none_card = true\n",
            ),
            'need "returns" > one_card: with = "nothing" lets no card carry more of it than it has to spare, so that '
            "it cannot be on one card",
        ),
        (
            change(
                change(CRITICAL, SURVIVE, NOTHING), "critical = true\n", "critical = true\nspare = 1\npairs = true\n"
            ),
            'need "returns" > pairs: with = "nothing" lets no card carry more of it than it has to spare, and a pair '
            "is on one card",
        ),
        (
            change(CRITICAL, "critical = true\n", 'critical = true\nimportance = "nice"\n'),
            'need "returns" > critical: a need that is nice to have gives way, so it is not critical',
        ),
    ],
)
def test_what_is_wrong_is_told_with_its_place(tmp_path: Path, scenario: str, told: str) -> None:
    path = write(tmp_path, scenario)
    (fault,) = faults_of(path)
    assert fault.text().endswith(told)


@pytest.mark.parametrize(
    ("scenario", "told"),
    [
        (PLAIN, "no need is critical, so nothing is kept: say critical = true on those that are"),
        (
            change(CRITICAL, SURVIVE, ""),
            "counts only where cards are to be survived: survive = { cards = 1 }",
        ),
        (
            change(CRITICAL, SURVIVE, "survive = { supplies = 1 }\n"),
            "counts only where cards are to be survived: survive = { cards = 1 }",
        ),
        (
            change(PLAIN, SURVIVE, 'survive = { supplies = 1, with = "nothing" }\n'),
            "says what is done when a card fails, and changes nothing without cards = 1",
        ),
    ],
)
def test_what_is_said_in_vain_is_warned_of(tmp_path: Path, scenario: str, told: str) -> None:
    messages = [warning.message for warning in solver.load(write(tmp_path, scenario)).warnings]
    assert [message for message in messages if "has one supply" not in message] == [told]


def _room(folder: Path, stock: int) -> Path:
    """So many cards of eight lines, and one of four that is on offer."""
    plain = change(CRITICAL, 'pins = { "3" = "line-in-8" }\nkeep_empty = [12]\n', "")
    plain = change(plain, '[[must_seat]]\ncard = "mic-4"\n', "")
    plain = change(plain, '"input width" = "open"', '"input width" = "W1+W3"')
    return write(folder, change(plain, "line-in-8 = 1\n", f"line-in-8 = {stock}\n"))


def test_a_second_card_stands_by(tmp_path: Path) -> None:
    """Nothing of the critical need is lost with either, which takes a card more than without."""
    path = _room(tmp_path, 2)
    loaded = solver.load(path)
    best = rank(survey_room(loaded.scenario, loaded.hardware), 1).builds[0]
    assert (best.proven, sorted(best.build.frame[0].cards.values())) == (True, ["line-in-8", "line-in-8"])
    points = solver.single_points(path, best.build)
    told = [(point.what, point.lost) for point in points.points]
    assert told[0] == ("board:A", 8)
    assert [lost for _, lost in told[1:]] == [0, 0]


def test_cards_that_are_bought_stand_by_where_none_is_left(tmp_path: Path) -> None:
    """Two of four lines each take over for one of eight."""
    plan = solver.plan(_room(tmp_path, 1), top=1)
    assert isinstance(plan, Report)
    (build,) = plan.builds
    assert (build.cost, sorted(build.frames[0].cards.values())) == ("1621.00", ["line-in-8", "mic-4", "mic-4"])


def test_a_need_reaches_as_far_as_what_is_left_without_a_card(tmp_path: Path) -> None:
    """Three cards of eight lines, of which one may be lost."""
    found = solver.reach(_room(tmp_path, 3), need="returns")
    assert isinstance(found, ReachReport)
    (reach,) = found.needs
    assert reach.from_stock.channels == 16


def test_a_need_that_need_not_survive_is_a_way_out(tmp_path: Path) -> None:
    path = _room(tmp_path, 1)
    path.write_text(change(path.read_text("utf-8"), 'card = "mic-4"\n', 'card = "mic-4"\nat_most = 1\n'), "utf-8")
    why = solver.why(path)
    assert isinstance(why, Report)
    assert why.clash is not None
    told = [change.text for way in why.clash.ways for change in way.changes]
    assert '"returns": let channels be lost with a card' in told


def test_what_it_costs_to_survive_is_told(tmp_path: Path) -> None:
    """By hand: two cards at 810.50 beside the one that is there and does alone."""
    path = _room(tmp_path, 1)
    text = "surviving any one card costs 1621.00 GBP more: 1621.00 instead of 0.00, both proven the least"
    explanation = solver.explain(path)
    assert isinstance(explanation, Explanation)
    assert explanation.surviving is not None
    assert explanation.surviving.text == text
    front = solver.front(path)
    assert isinstance(front, Report)
    assert front.notes == [text]
    path.write_text(change(path.read_text("utf-8"), SURVIVE, ""), "utf-8")
    plain = solver.explain(path)
    assert isinstance(plain, Explanation)
    assert plain.surviving is None


@pytest.mark.parametrize(("each", "lost"), [("0.31", 0), ("0.30", 8)])
def test_a_frame_is_lost_with_a_supply_where_the_other_does_not_carry_it(tmp_path: Path, each: str, lost: int) -> None:
    """One card of 0.31 A, and two supplies."""
    path = _room(tmp_path, 1)
    rails = 'rails = { "+17" = 0.60, "-17" = 0.60, "+5" = 0.80 }\n'
    supply = f'supply = {{ count = 2, rails = {{ "+17" = {each}, "-17" = 0.31, "+5" = 0.40 }} }}\n'
    hardware = tmp_path / "quay.toml"
    text = change(hardware.read_text("utf-8"), 'air = { path = "fan"', f'{rails}{supply}air = {{ path = "fan"')
    hardware.write_text(text, "utf-8")
    straps = {"input width": "W1+W3", "output start": "1"}
    card = {"name": "A", "board": "shale-64", "straps": straps, "cards": {"1": "line-in-8"}}
    build = Build.model_validate({"format": 1, "frame": [card]})
    points = solver.single_points(path, build).points
    assert {point.what: point.lost for point in points} == {"slot:A:1": 8, "board:A": 8, "supply:A": lost}
    assert [point.lost for point in points] == sorted((point.lost for point in points), reverse=True)
    assert len(solver.failed(path, build, "supply:A").affected) == lost


def test_what_is_mended_need_not_survive_one_failure_more(tmp_path: Path) -> None:
    """Two cards fail; the one on the shelf brings all back, and nothing then stands by."""
    path = _room(tmp_path, 3)
    loaded = solver.load(path)
    build = rank(survey_room(loaded.scenario, loaded.hardware), 1).builds[0].build
    slots = [f"slot:A:{slot}" for slot in build.frame[0].cards]
    shelf = solver.failed(path, build, *slots).repairs[1]
    assert (shelf.how, shelf.outcome, shelf.from_shelf) == ("shelf", "whole", {"line-in-8": 1})
    assert shelf.notes == ["mended so, it does not survive any one card that fails"]
    spare = solver.failed(path, build, slots[0])
    assert [(repair.how, repair.lost, repair.notes) for repair in spare.repairs][1:] == [("shelf", 0, [])]


def test_a_failed_card_that_carried_nothing_carries_nothing_in_what_is_mended(tmp_path: Path) -> None:
    """Eight lines take two cards of four, with both of eight failed and none on the shelf."""
    path = _room(tmp_path, 2)
    loaded = solver.load(path)
    build = rank(survey_room(loaded.scenario, loaded.hardware), 1).builds[0].build
    order = solver.failed(path, build, *(f"slot:A:{slot}" for slot in build.frame[0].cards)).repairs[2]
    assert (order.how, order.outcome, order.cost) == ("order", "whole", "1621.00")
    assert sorted(change.card for change in order.cards if change.before is None) == ["mic-4", "mic-4"]


AIR = "scenarios/quay-on-air.toml"


def test_a_plan_says_what_it_survives_and_a_faulty_build_does_not(tmp_path: Path) -> None:
    plan = solver.plan(AIR, top=1)
    assert isinstance(plan, Report)
    (build,) = plan.builds
    assert build.survives == ['any one card: "announcers", "to the transmitter"']
    assert 'Survives any one card: "announcers", "to the transmitter"' in " ".join(
        strapwork("plan", AIR, "--top", "1", "--save", tmp_path / "build.toml").stdout.split()
    )
    text = (tmp_path / "build.toml").read_text()
    last = max(build.frames[0].cards, key=int)
    assert build.frames[0].cards[last] == "line-out-8"
    (tmp_path / "build.toml").write_text(change(text, f', {last} = "line-out-8"', ""))
    (drawn,) = solver.check(AIR, tmp_path / "build.toml").builds
    assert drawn.survives == []


def test_explain_says_how_much_of_a_need_one_card_carries(tmp_path: Path) -> None:
    """By hand: four announcers and four to spare are on two cards of which neither may carry more than four."""
    text = Path(AIR).read_text().replace("hardware/", f"{Path(AIR).resolve().parent}/hardware/")
    text = change(text, "survive = { cards = 1 }", 'survive = { cards = 1, with = "nothing" }')
    path = tmp_path / "air.toml"
    path.write_text(text.replace("critical = true\n", "spare = 4\ncritical = true\n"))
    explained = solver.explain(path)
    assert isinstance(explained, Explanation)
    near = [limit for limit in explained.headroom if limit.rule == "spread"]
    assert explained.build is not None
    slots = explained.build.frames[0].slots
    most = {
        need: max(own.channels for slot in slots for own in slot.serves if own.need == need)
        for need in ("announcers", "to the transmitter")
    }
    assert most["announcers"] == 4
    assert [(limit.subject, limit.used, limit.bound) for limit in near] == [(n, str(m), "4") for n, m in most.items()]
    assert "that may be lost with a card" in near[0].text


@pytest.mark.parametrize(
    ("key", "word"),
    [
        ('straps = "same"', "setup"),
        ('over_setups = "sum"', "setup"),
        ('moves = "never"', "phase"),
        ('cost_of = "first phase"', "phase"),
    ],
)
def test_keys_of_what_is_not_there_are_warned_of(tmp_path: Path, key: str, word: str) -> None:
    path = write(tmp_path, change(SCENARIO, "[stock]\n", f"{key}\n[stock]\n"))
    told = [warning.message for warning in solver.load(path).warnings]
    assert told == [f"is for several {word}s, and there is no [[{word}]]: it changes nothing"]

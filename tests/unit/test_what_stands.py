"""What stands: how files say it, what counts as moved, and what the screens say."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from inside import strapwork
from samples import SCENARIO, change, faults_of, write

from solver.files.reading import load_build, load_scenario
from solver.fitted.moves import Spot, moves, renumbered
from solver.fitted.standing import stand
from solver.judge.criteria import moved
from solver.room.build import Build
from solver.room.ready import survey_room
from solver.room.survey import Need, Survey
from solver.search.ask.ranking import rank

ROOT = Path(__file__).parents[2]
LATER = "scenarios/quay-live-room-later.toml"
STANDS = 'format = 1\n[[frame]]\nname = "A"\nboard = "shale-64"\nstraps = { "input width" = "open" }\n'


def _later(**changes: Any) -> tuple[Survey, Build]:
    loaded = load_scenario(ROOT / LATER)
    assert isinstance(loaded.scenario.installed, Build)
    return survey_room(loaded.scenario.model_copy(update=changes), loaded.hardware), loaded.scenario.installed


def _moved(change_frame: dict[str, Any]) -> dict[str, int]:
    """What is moved where the frame that stands is changed so."""
    survey, stands = _later()
    frame = stands.frame[0].model_copy(update={"serves": None, **change_frame})
    found = moved(survey, stand(survey, stands.model_copy(update={"frame": (frame,)})))
    return {name: count for name, count in found.items() if name != "renumbered"}


def test_what_stands_moves_nothing_against_itself() -> None:
    assert _moved({}) == {"cards_moved": 0, "straps_moved": 0, "lids_off": 0}
    survey, stands = _later()
    assert moved(survey, stand(survey, stands))["renumbered"] == 0


def _spots(numbers: tuple[int | None, ...]) -> list[Spot]:
    return [Spot(None, "A", number, 1, 1) for number in numbers]


@pytest.mark.parametrize(
    ("before", "after", "alike", "told_apart"),
    [
        ((1, 2, 3), (1, 2, 3), 0, 0),
        ((1, 2, 3), (2, 3, 4), 1, 3),  # without names 1 is at 4 now; with names each of them is one further
        ((1, 2, 3), (2, 3), 0, 2),  # one fewer is needed: named ones close ranks
        ((1, 2), (1, 2, 3), 0, 0),  # one that comes had no number
        ((None, 2), (1, 2), 0, 0),  # nor had one of a frame whose straps nobody knows
        ((1, 2), (3, 4), 2, 2),
    ],
)
def test_channels_that_get_another_number_are_counted_by_hand(
    before: tuple[int | None, ...], after: tuple[int | None, ...], alike: int, told_apart: int
) -> None:
    need = Need("drums", "in", "mic", 3, 0, 0)
    assert renumbered(need, _spots(before), _spots(after)) == alike
    named = Need("drums", "in", "mic", 3, 0, 0, names=("kick", "snare", "hat"))
    assert renumbered(named, _spots(before), _spots(after)) == told_apart


@pytest.mark.parametrize(
    ("out", "into", "counts"),
    [
        ("5", {}, (1, 0, 1)),  # a card comes out
        ("5", {"11": "mic-8-hot"}, (1, 0, 1)),  # it stands elsewhere
        ("5", {"5": "line-in-8"}, (1, 0, 1)),  # another one takes its place
        (None, {"11": "line-in-8"}, (0, 0, 1)),  # one comes, and none is moved
    ],
)
def test_cards_are_counted_where_they_leave_their_slot(
    out: str | None, into: dict[str, str], counts: tuple[int, int, int]
) -> None:
    _, stands = _later()
    cards = {slot: card for slot, card in stands.frame[0].cards.items() if slot != out} | into
    assert tuple(_moved({"cards": cards}).values()) == counts


def test_each_strap_counts_by_itself_and_one_that_ends_a_clock_line_does_not() -> None:
    _, stands = _later()
    straps = stands.frame[0].straps
    assert straps["output start"] == "S1"
    assert tuple(_moved({"straps": {**straps, "output start": "S2"}}).values()) == (0, 2, 1)
    assert straps["clock end"] == "T1"
    assert tuple(_moved({"straps": {**straps, "clock end": "open"}}).values()) == (0, 0, 0)


def test_all_cards_come_out_for_another_board() -> None:
    _, stands = _later()
    counts = _moved({"board": "slate-32", "straps": {"layout": "1"}})
    assert counts["cards_moved"] == len(stands.frame[0].cards)
    assert counts["straps_moved"] == counts["lids_off"] == 1  # its one switch, of which nothing is known before


def test_a_frame_that_is_no_longer_used_is_opened_and_emptied() -> None:
    survey, stands = _later()
    assert moved(survey, stand(survey, Build()))["cards_moved"] == len(stands.frame[0].cards)
    assert moved(survey, stand(survey, Build()))["lids_off"] == 1


def test_nothing_moves_where_what_stands_meets_the_needs() -> None:
    """The plan of the live room from its own answer, whatever else it is ranked by."""
    loaded = load_scenario(ROOT / "scenarios/quay-live-room.toml")
    stands = load_build(ROOT / "scenarios/quay-live-room-drawn.toml")
    for criterion in ("cards_moved", "lids_off", "straps_moved"):
        asked = loaded.scenario.model_copy(update={"installed": stands, "rank": (criterion, "cost", "unused")})
        survey = survey_room(asked, loaded.hardware)
        best = rank(survey, 1).builds[0]
        assert (best.proven, best.figures.cost) == (True, 0)  # what stands is owned
        assert getattr(best.figures, criterion) == 0


def test_numbers_are_kept_for_a_dearer_card_and_not_where_money_comes_first() -> None:
    survey, _ = _later(rank=("renumbered", "cost"))
    kept = rank(survey, 1).builds[0]
    cheap, _ = _later(rank=("cost", "renumbered"))
    cheapest = rank(cheap, 1).builds[0]
    assert (kept.proven, kept.figures.renumbered) == (True, 0)
    assert (cheapest.proven, cheapest.figures.renumbered) == (True, 2)
    assert cheapest.figures.cost < kept.figures.cost


def test_what_moves_the_least_is_no_worse_in_that_than_any_other_order() -> None:
    survey, _ = _later(rank=("cards_moved", "cost"))
    least = rank(survey, 1).builds[0].figures
    cheap, _ = _later(rank=("cost", "cards_moved"))
    cheapest = rank(cheap, 1).builds[0].figures
    assert least.cards_moved <= cheapest.cards_moved
    assert cheapest.cost <= least.cost


def _written(tmp_path: Path, stands: str, old: str = "", new: str = "") -> Path:
    (tmp_path / "stands.toml").write_text(stands)
    scenario = change(SCENARIO, 'title = "Gannet Quay"', 'title = "Gannet Quay"\ninstalled = "stands.toml"')
    return write(tmp_path, change(scenario, old, new) if old else scenario)


def test_what_stands_is_owned(tmp_path: Path) -> None:
    path = _written(tmp_path, STANDS + 'cards = { "1" = "mic-4", "2" = "mic-4", "4" = "line-in-8" }\n')
    loaded = load_scenario(path)
    survey = survey_room(loaded.scenario, loaded.hardware)
    assert survey.stock["mic-4"] == 2
    assert survey.stock["line-in-8"] == max(1, loaded.scenario.stock["line-in-8"])


def test_stock_that_counts_fewer_than_stand_is_warned_of(tmp_path: Path) -> None:
    path = _written(tmp_path, STANDS + 'cards = { "1" = "line-in-8", "2" = "line-in-8", "5" = "line-in-8" }\n')
    owned = load_scenario(path).scenario.stock["line-in-8"]
    told = [fault.text() for fault in load_scenario(path).warnings]
    assert any(f"{owned} in stock, but 3 stand: stock counts what stands too, so 3 are owned" in text for text in told)


@pytest.mark.parametrize("value", ["5", "true", "[1]", "{ frame = 5 }", '{ frame = [{ name = "A" }] }', '""'])
def test_what_is_no_name_and_no_build_is_one_fault(tmp_path: Path, value: str) -> None:
    scenario = change(SCENARIO, 'title = "Gannet Quay"', f'title = "Gannet Quay"\ninstalled = {value}')
    path = write(tmp_path, change(scenario, 'rank = ["cost", "unused"]', 'rank = ["cost", "lids_off"]'))
    assert [f.path for f in faults_of(path)] == [("installed",)]


def test_a_build_may_stand_in_the_scenario_itself(tmp_path: Path) -> None:
    inside = 'installed = { frame = [{ name = "A", board = "shale-64", cards = { "1" = "line-in-8" } }] }'
    loaded = load_scenario(
        write(tmp_path, change(SCENARIO, 'title = "Gannet Quay"', f'title = "Gannet Quay"\n{inside}'))
    )
    assert loaded.scenario.stands is not None
    assert loaded.scenario.stands.frame[0].cards == {"1": "line-in-8"}


@pytest.mark.parametrize(
    ("stands", "old", "new", "told"),
    [
        (STANDS + 'cards = { "1" = "mic-5" }\n', "", "", 'frame "A" > cards > 1: "mic-5" is no card'),
        (STANDS.replace('"A"', '"Z"'), "", "", '"Z" is no frame of this scenario'),
        (STANDS + "cards = 4\n", "", "", "cards: must be a table"),
        ("format = 1\n[[frame\n", "", "", "is no valid TOML"),
        (STANDS, 'rank = ["cost", "unused"]', 'rank = ["cost", "moved"]', '"moved" is not allowed'),
        (STANDS, 'name = "A"', 'name = "A"\nowned = false', "stands there already, so it is owned"),
    ],
)
def test_faults_of_what_stands_are_told_in_its_own_file(
    tmp_path: Path, stands: str, old: str, new: str, told: str
) -> None:
    texts = [f"{f.file}: {f.text()}" for f in faults_of(_written(tmp_path, stands, old, new))]
    assert any(told in text for text in texts), texts
    if not old:
        own = f"{tmp_path / 'stands.toml'}: "
        assert any(text.startswith(own) and told in text for text in texts), texts


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    path = write(tmp_path, change(SCENARIO, 'title = "Gannet Quay"', 'title = "Gannet Quay"\ninstalled = "no.toml"'))
    assert [(Path(f.file).name, f.message) for f in faults_of(path)] == [("no.toml", "there is no such file")]


def test_what_is_moved_is_ranked_only_where_something_stands(tmp_path: Path) -> None:
    path = write(tmp_path, change(SCENARIO, 'rank = ["cost", "unused"]', 'rank = ["cost", "lids_off"]'))
    told = "installed: is missing: lids_off counts from what stands, so name its build file"
    assert [f.text() for f in faults_of(path)] == [told]


def test_the_screen_says_what_changes_hands() -> None:
    screen = strapwork("plan", LATER, "--top", "1").stdout
    assert "lids off  moved  straps" in screen
    assert "Change       1 card in, 1 card out, lid off A, one shutdown; 8 channels get" in screen


def test_nothing_to_do_is_said_in_one_line(tmp_path: Path) -> None:
    text = (ROOT / "scenarios/quay-live-room.toml").read_text().replace("hardware/", f"{ROOT}/scenarios/hardware/")
    stands = ROOT / "scenarios/quay-live-room-drawn.toml"
    ranked = change(text, 'rank = ["cost"', f'installed = "{stands}"\nrank = ["cards_moved", "cost"')
    (tmp_path / "room.toml").write_text(ranked)
    assert (
        "Change       nothing to do, what stands is the build" in strapwork("plan", str(tmp_path / "room.toml")).stdout
    )


def test_a_step_of_the_front_says_what_one_more_moved_card_buys() -> None:
    screen = " ".join(strapwork("front", LATER).stdout.split())
    assert "860.00 saved for 1 more card moved" in screen
    assert "what can be had by " in screen
    assert "cards_moved" not in screen


def test_the_build_that_stands_is_never_written_to(tmp_path: Path) -> None:
    text = (ROOT / LATER).read_text().replace("hardware/", f"{ROOT}/scenarios/hardware/")
    stands = tmp_path / "quay-live-room-drawn.toml"
    stands.write_bytes((ROOT / "scenarios" / stands.name).read_bytes())
    (tmp_path / "later.toml").write_text(text)
    before = stands.read_bytes()
    ran = strapwork("plan", str(tmp_path / "later.toml"), "--save", str(stands), "--force")
    assert (ran.returncode, stands.read_bytes()) == (2, before)
    assert "what stands" in ran.stderr


def test_a_work_order_begins_from_what_the_scenario_says_to_stand(tmp_path: Path) -> None:
    target = tmp_path / "next.toml"
    assert strapwork("plan", LATER, "--top", "1", "--save", target).returncode == 0
    said = strapwork("work-order", LATER, target).stdout
    assert said == strapwork("work-order", LATER, target, "--from", "scenarios/quay-live-room-drawn.toml").stdout
    assert "card in, 1 card out" in said


def test_what_cannot_stand_so_is_told_beside_the_plan(tmp_path: Path) -> None:
    text = (ROOT / LATER).read_text().replace("hardware/", f"{ROOT}/scenarios/hardware/")
    stands = (ROOT / "scenarios/quay-live-room-drawn.toml").read_text()
    (tmp_path / "quay-live-room-drawn.toml").write_text(change(stands, '5 = "mic-8-hot"', '15 = "mic-8-hot"'))
    (tmp_path / "later.toml").write_text(text)
    screen = strapwork("plan", tmp_path / "later.toml", "--top", "1").stdout
    assert "NOTE: what stands: frame A, slot 15" in screen


def test_what_meets_the_needs_as_it_stands_keeps_every_number() -> None:
    """Fewer drums: the other needs do not close ranks, and there is nothing to do."""
    loaded = load_scenario(ROOT / "scenarios/quay-live-room.toml")
    stands = load_build(ROOT / "scenarios/quay-live-room-drawn.toml")
    needs = tuple(
        need.model_copy(update={"channels": 6}) if need.name == "drums" else need for need in loaded.scenario.need
    )
    asked = loaded.scenario.model_copy(update={"installed": stands, "rank": ("cards_moved", "cost"), "need": needs})
    survey = survey_room(asked, loaded.hardware)
    best = rank(survey, 1).builds[0]
    change = moves([stand(survey, stands)], [best.standing])
    assert (change.lids_off, [move for move in change.numbers if move.after is not None]) == ((), [])


@pytest.mark.parametrize(
    ("fixed", "told"),
    [
        ('["Z"]', 'fixed > Z: "Z" is no frame of this scenario'),
        ('["A:99"]', "A has slots 1 to"),
        ('["A:x"]', "A has slots 1 to"),
        ('["A", "A"]', '"A" stands there twice'),
        ('"A"', "fixed"),
    ],
)
def test_what_cannot_be_fixed_is_a_fault(tmp_path: Path, fixed: str, told: str) -> None:
    stands = STANDS + 'cards = { "1" = "mic-4" }\n'
    path = _written(tmp_path, stands, 'rank = ["cost", "unused"]', f'rank = ["cost", "unused"]\nfixed = {fixed}')
    texts = [fault.text() for fault in faults_of(path)]
    assert any(told in text for text in texts), texts


def test_nothing_is_fixed_where_nothing_stands(tmp_path: Path) -> None:
    path = write(tmp_path, change(SCENARIO, 'rank = ["cost", "unused"]', 'rank = ["cost", "unused"]\nfixed = ["A"]'))
    assert [f.path for f in faults_of(path)] == [("fixed",)]


def test_a_frame_that_is_fixed_is_in_the_way_and_a_way_out_frees_it(tmp_path: Path) -> None:
    text = (ROOT / LATER).read_text().replace("hardware/", f"{ROOT}/scenarios/hardware/")
    (tmp_path / "quay-live-room-drawn.toml").write_bytes((ROOT / "scenarios/quay-live-room-drawn.toml").read_bytes())
    path, freed = tmp_path / "later.toml", tmp_path / "freed.toml"
    path.write_text(change(text, "rank = [", 'fixed = ["A"]\nrank = ['))
    ran = strapwork("why", path)
    assert ran.returncode == 1
    assert "let frame A be changed" in ran.stdout
    assert "frame A stays as it stands" in ran.stdout
    (number,) = re.findall(r"^ *([0-9]+) .*let frame A be changed", ran.stdout, re.MULTILINE)[:1]
    assert strapwork("why", path, "--apply", number, "--to", freed).returncode == 0
    assert "fixed = []" in freed.read_text()
    assert strapwork("plan", freed, "--top", "1").returncode == 0


def test_a_slot_that_is_fixed_keeps_its_card() -> None:
    loaded = load_scenario(ROOT / LATER)
    for slot, card in (("5", "mic-8-hot"), ("11", None)):
        survey = survey_room(loaded.scenario.model_copy(update={"fixed": (f"A:{slot}",)}), loaded.hardware)
        best = rank(survey, 1).builds[0]
        assert best.proven
        assert best.build.frame[0].cards.get(slot) == card

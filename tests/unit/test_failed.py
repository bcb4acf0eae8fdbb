"""What fails and what mends it: names, places, the shelf and the order, and what the screens say."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from inside import strapwork
from samples import change, faults_of, write_two_rooms

import solver
from solver.files.reading import load_build
from solver.fitted.standing import stand
from solver.relax.replaced import Broken
from solver.reports.report import Report
from solver.room.build import Build
from solver.room.errors import WrongQuestion
from solver.room.ready import survey_room
from solver.search.ask.ranking import Ranking, rank

ROOT = Path(__file__).parents[2]
ROOM = ROOT / "scenarios/quay-live-room.toml"
STANDS = ROOT / "scenarios/quay-live-room-drawn.toml"
MIX = ROOT / "scenarios/quay-mix-rig.toml"
NEXT = ROOT / "scenarios/quay-mix-rig-next-drawn.toml"


def _with_on_the_shelf(tmp_path: Path, **items: int) -> Path:
    """The live room with more in stock than stands."""
    text = ROOM.read_text().replace("hardware/", f"{ROOT}/scenarios/hardware/")
    for item, count in items.items():
        name = item.replace("_", "-")
        text = (
            change(text, f"\n{name} = 1\n", f"\n{name} = {count}\n")
            if f"\n{name} = 1\n" in text
            else change(text, "[stock]\n", f"[stock]\n{name} = {count}\n")
        )
    path = tmp_path / "room.toml"
    path.write_text(text)
    return path


def test_a_spare_of_the_same_kind_takes_the_place_and_every_number_stays(tmp_path: Path) -> None:
    room = _with_on_the_shelf(tmp_path, mic_8_hot=4)
    shelf = solver.failed(room, STANDS, "slot:A:5").repairs[1]
    assert (shelf.how, shelf.outcome, shelf.proven, shelf.cost) == ("shelf", "whole", True, "0.00")
    assert [(card.card, card.after and card.after.slot) for card in shelf.cards] == [("mic-8-hot", 5)]
    assert shelf.moved == []


def test_the_shelf_counts_what_stands_as_taken(tmp_path: Path) -> None:
    """Three of them stand, so stock of three has none left, and the dead one is owned no longer."""
    shelf = solver.failed(_with_on_the_shelf(tmp_path, mic_8_hot=3), STANDS, "slot:A:5").repairs[1]
    assert (shelf.outcome, shelf.text) == ("none", "nothing on the shelf makes up for it")


def test_a_spare_that_does_not_fit_in_the_place_stands_elsewhere_and_the_fewest_cards_move(tmp_path: Path) -> None:
    """A card of two slots where one is free: it goes to the end, and its channels get the numbers there."""
    shelf = solver.failed(_with_on_the_shelf(tmp_path, line_out_16=1), STANDS, "slot:A:9").repairs[1]
    assert (shelf.outcome, shelf.proven) == ("whole", True)
    assert [(card.card, card.before, card.after and card.after.slot) for card in shelf.cards] == [
        ("line-out-16", None, 11)
    ]
    assert len(shelf.moved) == 8
    assert "line-out-16 into slots 11-12 of A; 8 channels get other numbers" in shelf.text


def test_two_things_at_a_time_fail_together() -> None:
    one = solver.failed(ROOM, STANDS, "slot:A:5")
    both = solver.failed(ROOM, STANDS, "slot:A:5", "slot:A:6")
    assert len(both.affected) == len(one.affected) + 2
    assert both.repairs[0].lost > one.repairs[0].lost == 0


def test_what_fails_twice_fails_once() -> None:
    assert (
        solver.failed(ROOM, STANDS, "slot:A:5", "slot:A:5").affected == solver.failed(ROOM, STANDS, "slot:A:5").affected
    )


def test_one_channel_is_patched_alone_and_its_card_is_suspected() -> None:
    found = solver.failed(ROOM, STANDS, "A:in:20")
    assert [(each.was, each.now) for each in found.repairs[0].moved] == [("A:in:20", "A:in:43")]
    assert [repair.how for repair in found.repairs] == ["patching", "shelf", "order"]
    assert found.cards == []


@pytest.mark.parametrize("what", ["loom:M5-out", "bay:P1:C9"])
def test_no_card_is_exchanged_for_a_loom_or_a_point(what: str) -> None:
    assert [repair.how for repair in solver.failed(MIX, NEXT, what).repairs] == ["patching"]


def test_what_nothing_needs_is_not_missed() -> None:
    found = solver.failed(ROOM, STANDS, "A:in:48")
    assert (found.affected, found.repairs) == ([], [])
    ran = strapwork("failed", ROOM, STANDS, "A:in:48")
    assert (ran.returncode, "there is nothing to mend" in ran.stdout) == (0, True)


def test_points_of_bays_stand_beside_the_numbers() -> None:
    moved = solver.failed(MIX, NEXT, "slot:M:5").affected
    assert (moved[0].was, moved[0].was_point) == ("M:out:25", "bay:P1:C9")


@pytest.mark.parametrize(
    ("what", "told"),
    [
        ("slot:A:99", "nothing in this build is called"),
        ("slot:A:12", "nothing stands in"),
        ("frame:Z", "nothing in this build is called"),
        ("board:B", 'did you mean "board:A"'),
        ("rail:A:+71", 'did you mean "rail:A:'),
    ],
)
def test_a_name_that_nothing_has_is_bad_usage(what: str, told: str) -> None:
    with pytest.raises(WrongQuestion, match=told):
        solver.failed(ROOM, STANDS, what)
    assert strapwork("failed", ROOM, STANDS, what).returncode == 2


def test_of_several_rooms_one_is_named(tmp_path: Path) -> None:
    rooms = write_two_rooms(tmp_path)
    for ask in (lambda: solver.failed(rooms, Build(), "slot:A:1"), lambda: solver.single_points(rooms, Build())):
        with pytest.raises(WrongQuestion, match="several rooms"):
            ask()


def test_the_sheet_says_what_to_patch_and_cautions() -> None:
    ran = strapwork("failed", ROOM, STANDS, "slot:A:9")
    assert ran.returncode == 0  # an order mends all of it
    assert "Lids on, by patching: 2 channels get other numbers, 6 are lost, 2 to spare are" in ran.stdout
    assert "headphone sends 1-2               A:out:17-18  A:out:31-32" in ran.stdout
    assert "mute monitors" in ran.stdout
    assert "disconnect the mains" in ran.stdout
    assert max(map(len, ran.stdout.splitlines())) <= 80


def _without_what_mends_it(folder: Path) -> Path:
    text = ROOM.read_text().replace("hardware/", f"{ROOT}/scenarios/hardware/")
    offered, asked = text.split("[[frame]]")
    kept = [part for part in offered.split("[[offer]]") if "line-out" not in part.split("\n")[1] and "duo" not in part]
    path = folder / "room.toml"
    path.write_text("[[offer]]".join(kept) + "[[frame]]" + asked)
    return path


def test_that_nothing_mends_it_is_said_only_where_it_is_proven(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def unproven(*asked: Any, **how: Any) -> Ranking:
        found = rank(*asked, **how)
        return replace(found, builds=tuple(replace(build, proven=False) for build in found.builds))

    path = _without_what_mends_it(tmp_path)
    assert [r.outcome for r in solver.failed(path, STANDS, "slot:A:9").repairs] == ["partly", "none", "none"]
    monkeypatch.setattr("solver.answers.mending.rank", unproven)
    assert [r.outcome for r in solver.failed(path, STANDS, "slot:A:9").repairs] == ["partly", "unknown", "unknown"]


def test_the_exit_code_says_that_nothing_mends_it(tmp_path: Path) -> None:
    path = _without_what_mends_it(tmp_path)
    ran = strapwork("failed", path, STANDS, "slot:A:9")
    assert "Lid off, with an order: nothing that is left on offer makes up for it" in ran.stdout
    assert ran.returncode == 1


def test_a_limit_that_is_over_first_says_so() -> None:
    ran = strapwork("failed", ROOM, STANDS, "slot:A:5", "--limit", "0.01")
    assert (ran.returncode, "the limit was over before anything was found" in ran.stdout) == (3, True)


def test_the_worst_single_failure_comes_first() -> None:
    found = solver.single_points(ROOM, STANDS)
    lost = [point.lost for point in found.points]
    assert found.complete
    assert lost == sorted(lost, reverse=True)
    assert {point.what for point in found.points} == {"board:A", *(f"slot:A:{slot}" for slot in range(1, 11))}
    assert (found.points[0].what, found.points[0].lost) == ("board:A", found.points[0].channels - 5)  # 5 to spare
    for point in found.points:
        assert point.lost == solver.failed(ROOM, STANDS, point.what).repairs[0].lost == sum(point.needs.values())


def test_a_list_that_the_limit_cut_says_so() -> None:
    ran = strapwork("single-points", ROOM, STANDS, "--limit", "0.01")
    assert ran.returncode == 3
    assert "Not all were looked at" in ran.stdout


def test_a_need_that_is_nice_to_have_gives_its_lines_to_one_that_has_to_be_met(tmp_path: Path) -> None:
    text = ROOM.read_text().replace("hardware/", f"{ROOT}/scenarios/hardware/")
    path = tmp_path / "room.toml"
    path.write_text(change(text, 'name = "drums"\n', 'name = "drums"\nimportance = "nice"\n'))
    found = solver.failed(path, STANDS, "slot:A:5", "slot:A:6")
    assert [repair.how for repair in found.repairs] == ["patching", "shelf", "borrow", "order"]
    patching, _, borrow, _ = found.repairs
    # Nothing that works is given up at first: only what is to spare of the drums.
    assert {each.need for each in patching.moved if each.now is None and not each.spare} == {"room and voices"}
    lost = {each.need for each in borrow.moved if each.now is None and not each.spare}
    assert lost == {"drums"} == set(borrow.gives_way)
    assert {each.need for each in borrow.moved if each.now is not None} == {"room and voices"}
    assert borrow.gives_way["drums"] == borrow.lost == patching.lost
    said = " ".join(strapwork("failed", path, STANDS, "slot:A:5", "slot:A:6").stdout.split())
    assert f'Lids on, by patching, from what is less important: {borrow.lost} of "drums" give way;' in said


def test_all_that_is_left_is_held_where_it_is_before_anything_is_moved() -> None:
    files = solver.load(ROOM)
    standing = stand(survey_room(files.scenario, files.hardware), load_build(STANDS))
    asked = Broken(standing, frozenset({("A", 5)})).beside_the_rest(())
    (frame,), (left,) = asked.frame, asked.stands.frame if asked.stands else ()
    assert set(frame.pins) == set(left.cards) == {str(slot) for slot in range(1, 11)} - {"5"}
    assert left.serves == standing.frames[0].built.serves  # what it served has had its numbers


def _ribbons(tmp_path: Path) -> tuple[Path, Path]:
    """Two microphone cards: two condensers with phantom power on one, six ribbons without on the other."""
    setting = 'setting = [{ name = "phantom", direction = "in", per = "bank", bank = 4, choices = ["off", "on"] }]'
    port = '{ direction = "in", signals = ["mic"], channels = { "48" = 8 }, phantom_ma_per_channel = 10 }'
    (tmp_path / "cards.toml").write_text(
        f"""format = 1
[[card]]
id = "mic-8"
{setting}
ports = [{port}]
rails = {{ "+5" = 0.3, "+48" = 0.1 }}
[[board]]
id = "plain"
limits = {{ "48" = {{ in = 16, out = 16 }} }}
at_limit = "cut"
inputs = {{ first_slot = 1, widths = 8 }}
outputs = {{ first_slot = 1, widths = 8 }}
[[chassis]]
id = "two"
slot_count = 2
boards = ["plain"]
rails = {{ "+5" = 2, "+48" = 1 }}
"""
    )
    needs = "".join(
        f'[[need]]\nname = "{name}"\ndirection = "in"\nsignal = "mic"\nchannels = {count}\nphantom = "{phantom}"\n'
        for name, count, phantom in (("condensers", 2, "wanted"), ("ribbons", 6, "forbidden"))
    )
    (tmp_path / "room.toml").write_text(
        'format = 1\ntitle = "Ribbons"\nhardware = ["cards.toml"]\ncurrency = "GBP"\n[stock]\nmic-8 = 2\n'
        f'[[frame]]\nname = "A"\nchassis = "two"\nboard = "plain"\n{needs}'
    )
    (tmp_path / "stands.toml").write_text(
        """format = 1
[[frame]]
name = "A"
board = "plain"
cards = { 1 = "mic-8", 2 = "mic-8" }
settings = [{ slot = 1, setting = "phantom", direction = "in", to = "on", channels = "1-4" }]
serves = [{ need = "condensers", slot = 1, channels = "1-2" }, { need = "ribbons", slot = 2, channels = "1-6" }]
"""
    )
    return tmp_path / "room.toml", tmp_path / "stands.toml"


def test_nothing_is_patched_to_a_bank_that_is_set_otherwise(tmp_path: Path) -> None:
    """Two banks of one card: the condensers have phantom power, and the ribbon that loses its card never gets any."""
    found = solver.failed(*_ribbons(tmp_path), "slot:A:2")
    assert found.outcome == "clean"
    assert [each.now for each in found.repairs[0].moved] == [*(f"A:in:{n}" for n in range(5, 9)), None, None]


def test_the_point_of_a_far_end_is_no_matter_of_numbers() -> None:
    with pytest.raises(WrongQuestion, match="is the point of a far end"):
        solver.failed(MIX, NEXT, "bay:P1:B17")


def test_a_cord_goes_from_a_source_to_a_destination() -> None:
    """Outputs from the card's new point to the far end's old one; inputs from the far end's to the card's new one."""
    out = [each for each in solver.failed(MIX, NEXT, "slot:M:2").repairs[0].moved if each.now]
    assert out
    for each in out:
        assert each.cord is not None
        assert each.cord == (
            (each.now_point, each.far_point) if each.direction == "out" else (each.far_point, each.now_point)
        )
        assert each.far_point != each.was_point


def test_two_dead_cards_are_exchanged_each_by_its_kind() -> None:
    order = solver.failed(ROOM, STANDS, "slot:A:2", "slot:A:1").repairs[-1]
    assert [(card.card, card.after and card.after.slot) for card in order.cards] == [
        ("instrument-4", 2),
        ("line-in-8", 1),
    ]
    assert order.moved == []


def test_one_spare_for_two_dead_cards_mends_what_it_can_and_is_used_beside_the_order(tmp_path: Path) -> None:
    room = _with_on_the_shelf(tmp_path, mic_8_hot=4)
    _, shelf, order = solver.failed(room, STANDS, "slot:A:4", "slot:A:5", "slot:A:6").repairs
    assert (shelf.outcome, shelf.from_shelf, shelf.order_lines) == ("partly", {"mic-8-hot": 1}, [])
    assert order.from_shelf == {"mic-8-hot": 1}
    assert sum(line.count for line in order.order_lines) == 2


def test_a_working_channel_stays_where_one_to_spare_can_give_way() -> None:
    """The last voice takes the number of a drum channel to spare; no drum is moved for it."""
    moved = solver.failed(ROOM, STANDS, "slot:A:6").repairs[0].moved
    assert {each.need for each in moved if not each.spare} == {"room and voices"}
    assert [(each.channel, each.was) for each in moved if not each.spare] == [(9, "A:in:41")]


def test_a_number_in_both_directions_suspects_no_card_for_what_nothing_needs() -> None:
    found = solver.failed(ROOM, STANDS, "A:5")
    bought = {line.item for repair in found.repairs for line in repair.order_lines}
    assert bought
    assert "aes-8" not in bought


def test_no_strap_is_set_where_every_card_of_a_frame_is_exchanged() -> None:
    slots = [f"slot:A:{slot}" for slot in range(1, 11)]
    assert all(repair.straps == [] for repair in solver.failed(ROOM, STANDS, *slots).repairs)


def test_what_the_build_has_ordered_is_on_offer_no_more(tmp_path: Path) -> None:
    """Both hot cards on offer are ordered; one more only where there is one more."""
    order = solver.failed(ROOM, STANDS, "slot:A:3").repairs[2]
    assert (order.how, order.outcome) == ("order", "whole")
    assert "mic-8-hot" not in [line.item for line in order.order_lines]
    text = ROOM.read_text().replace("hardware/", f"{ROOT}/scenarios/hardware/")
    path = tmp_path / "room.toml"
    path.write_text(change(text, 'card = "mic-8-hot"\nat_most = 2', 'card = "mic-8-hot"\nat_most = 3'))
    (line,) = solver.failed(path, STANDS, "slot:A:3").repairs[2].order_lines
    assert (line.item, line.count) == ("mic-8-hot", 1)


def test_phantom_that_is_wanted_is_switched_on_at_the_new_numbers() -> None:
    said = " ".join(strapwork("failed", ROOM, STANDS, "slot:A:3").stdout.split())
    assert "switch phantom off on what is unplugged; where it is wanted, on at the new numbers once they are" in said


def test_the_rail_of_phantom_power_takes_what_asks_for_it_alone(tmp_path: Path) -> None:
    """No line of this frame feeds the two condensers then; the ribbons want none and stay."""
    found = solver.failed(*_ribbons(tmp_path), "rail:A:+48")
    assert [(each.need, each.was) for each in found.affected] == [("condensers", "A:in:1"), ("condensers", "A:in:2")]
    assert [(repair.how, repair.lost) for repair in found.repairs] == [("patching", 2)]
    both = solver.failed(*_ribbons(tmp_path), "rail:A:+48", "slot:A:2").repairs[0]
    assert both.lost == 4  # the condensers, and two ribbons beside the four on the bank without phantom power
    assert len([each for each in both.moved if each.now]) == 4


def test_inputs_without_phantom_of_which_no_file_says_whether_they_need_it_are_no_all_clear(tmp_path: Path) -> None:
    """The six on the other card may be condensers as well: nobody says."""
    room, stands = _ribbons(tmp_path)
    room.write_text(room.read_text().replace('phantom = "forbidden"\n', ""))
    found = solver.failed(room, stands, "rail:A:+48")
    assert [each.was for each in found.affected] == ["A:in:1", "A:in:2"]
    assert [(each.need, each.was) for each in found.in_doubt] == [("ribbons", f"A:in:{n}") for n in range(9, 15)]
    assert solver.failed(room, stands, "slot:A:2").in_doubt == []
    ran = strapwork("failed", ROOM, STANDS, "rail:A:+48")
    assert ran.returncode == 1
    assert "NOT CHECKED 26 inputs lose phantom power, and no file tells which" in " ".join(ran.stdout.split())
    assert "nothing to mend" not in ran.stdout


@pytest.mark.parametrize(
    ("what", "lost", "cards"),
    [
        ("rail:M:+17", 16 + 22, 4),  # all but the card of AES3 draw on it
        ("rail:M:+48", 0, 0),  # of these cards none does
        ("rail:M:+5", 16 + 22 + 2 + 2, 5),  # so does the board
        ("supply:M", 16 + 22 + 2 + 2, 5),
        ("frame:M", 16 + 22 + 2 + 2, 5),
    ],
)
def test_a_part_of_a_frame_takes_what_cannot_do_without_it(what: str, lost: int, cards: int) -> None:
    """Sends and returns are 16 + 24 channels of line, two of them to spare; two of AES3 go each way."""
    found = solver.failed(MIX, NEXT, what)
    assert (len(found.affected), len(found.cards)) == (lost + 2 if lost else 0, cards)
    assert [(repair.how, repair.lost) for repair in found.repairs] == ([("patching", lost)] if lost else [])


def test_what_has_no_figures_is_taken_to_draw_on_a_rail(tmp_path: Path) -> None:
    hardware = (ROOT / "scenarios/hardware/quay.toml").read_text("utf-8")
    card = hardware.index('id = "aes-8"')
    rails = hardware.index("rails =", card)
    (tmp_path / "quay.toml").write_text(f"{hardware[:rails]}# {hardware[rails:]}", "utf-8")
    room = tmp_path / "room.toml"
    room.write_text(change(MIX.read_text("utf-8"), "hardware/quay.toml", "quay.toml"), "utf-8")
    assert len(solver.failed(room, NEXT, "rail:M:+17").cards) == 5


def _mix(tmp_path: Path, *changes: tuple[str, str]) -> Path:
    text = change(MIX.read_text("utf-8"), "hardware/", f"{ROOT}/scenarios/hardware/")
    for old, new in changes:
        text = change(text, old, new)
    path = tmp_path / "mix.toml"
    path.write_text(text, "utf-8")
    return path


def test_a_like_board_from_the_shelf_keeps_every_number(tmp_path: Path) -> None:
    room = _mix(tmp_path, ("slate-32 = 1", "slate-32 = 2"))
    patching, shelf = solver.failed(room, NEXT, "board:M").repairs
    assert (patching.outcome, patching.lost) == ("partly", 16 + 22 + 2 + 2)
    assert (shelf.outcome, shelf.proven, shelf.moved, shelf.from_shelf) == ("whole", True, [], {"slate-32": 1})
    assert shelf.text == "slate-32 into M, strapped as the one there; every channel keeps its number"


def test_a_like_board_is_ordered_at_its_price(tmp_path: Path) -> None:
    room = _mix(tmp_path, ('board = "flint-48"', 'board = "slate-32"\nprice = "450.50"'))
    _, shelf, order = solver.failed(room, NEXT, "board:M").repairs
    assert (shelf.outcome, shelf.text) == ("none", "no slate-32 on the shelf")
    (line,) = order.order_lines
    assert (order.outcome, line.item, line.count, line.total, order.cost) == (
        "whole",
        "slate-32",
        1,
        "450.50",
        "450.50",
    )


def test_a_board_and_a_card_in_its_frame_are_exchanged_together(tmp_path: Path) -> None:
    room = _mix(tmp_path, ('board = "flint-48"', 'board = "slate-32"\nprice = "450.50"'))
    order = solver.failed(room, NEXT, "board:M", "slot:M:1").repairs[2]
    assert (order.outcome, order.moved) == ("whole", [])
    assert {line.item: line.total for line in order.order_lines} == {"line-in-8": "860.00", "slate-32": "450.50"}
    assert order.cost == "1310.50"  # 860.00 and 450.50


def test_a_card_in_a_frame_without_a_board_is_not_exchanged() -> None:
    _, shelf, order = solver.failed(MIX, NEXT, "board:M", "slot:M:1").repairs
    assert (shelf.text, order.text) == ("no slate-32 on the shelf", "no slate-32 is left on offer")
    assert (order.outcome, order.order_lines) == ("none", [])


def test_what_fails_beside_a_card_is_not_mended_with_it() -> None:
    """The loom of 8 sends, two of them to spare, is broken whatever card is there."""
    order = solver.failed(MIX, NEXT, "loom:M5-out", "slot:M:1").repairs[2]
    assert (order.outcome, order.lost, [line.item for line in order.order_lines]) == ("partly", 6, ["line-in-8"])
    assert {each.was for each in order.moved} == {f"M:out:{number}" for number in range(25, 33)}


def test_a_board_that_the_build_has_ordered_is_on_offer_no_more(tmp_path: Path) -> None:
    """One slate-32 is on offer and stands; there is no second one."""
    offer = ('board = "flint-48"', 'board = "slate-32"\nprice = "450.50"\nat_most = 1')
    repairs = solver.failed(_mix(tmp_path, ("slate-32 = 1\n", ""), offer), NEXT, "board:M").repairs
    assert [(repair.how, repair.outcome) for repair in repairs[1:]] == [("shelf", "none"), ("order", "none")]


def _without_rails(tmp_path: Path, sort: str, item: str) -> Path:
    """The mix rig, where no figures are known of an item's rails."""
    hardware = (ROOT / "scenarios/hardware/quay.toml").read_text("utf-8")
    rails = hardware.index("rails =", hardware.index(f'[[{sort}]]\nid = "{item}"'))
    (tmp_path / "quay.toml").write_text(f"{hardware[:rails]}# {hardware[rails:]}", "utf-8")
    return _mix(tmp_path, (f"{ROOT}/scenarios/hardware/quay.toml", "quay.toml"))


def test_the_only_supply_takes_all_where_its_rails_are_not_known(tmp_path: Path) -> None:
    assert len(solver.failed(_without_rails(tmp_path, "chassis", "tern-6"), NEXT, "supply:M").cards) == 5


def test_every_card_stands_still_where_the_board_does(tmp_path: Path) -> None:
    """Of the board no figures are known, so it is taken to draw on +17; the card of AES3 draws nothing on it."""
    found = solver.failed(_without_rails(tmp_path, "board", "slate-32"), NEXT, "rail:M:+17")
    assert found.cards[2] == "aes-8 in slot 3 of M"


def test_a_frame_that_runs_on_without_a_supply_says_what_the_other_carries() -> None:
    """By hand: rail +12 is drawn on most, for its part; the supply that is left has 8.00 A of it."""
    archive = ROOT / "scenarios/quay-archive.toml"
    plan = solver.plan(archive, top=1)
    assert isinstance(plan, Report)
    frame = plan.builds[0].frames[0]
    load = next(load for load in frame.loads if load.what == "rail +12")
    build = Build.model_validate(
        {"frame": [{"name": "R", "board": frame.board, "straps": frame.straps, "cards": frame.cards}]}
    )
    found = solver.failed(archive, build, "supply:R")
    assert (found.affected, found.repairs) == ([], [])
    assert found.frames == [
        f"frame R runs on: its other supply carries it, most of all rail +12, {load.used} A of 8.00 A; replace the "
        "failed one soon"
    ]
    assert [point.what for point in solver.single_points(archive, build).points if point.lost == 0] == ["supply:R"]


HIRE = '[[hire]]\ncard = "{card}"\nday_price = "{price}"\n'


def test_what_is_hired_comes_before_what_is_ordered_and_is_paid_by_the_day(tmp_path: Path) -> None:
    path = tmp_path / "room.toml"
    text = ROOM.read_text().replace("hardware/", f"{ROOT}/scenarios/hardware/")
    path.write_text(text + HIRE.format(card="mic-8-hot", price="41.50") + HIRE.format(card="mic-16", price="40.00"))
    found = solver.failed(path, STANDS, "slot:A:5")
    assert [repair.how for repair in found.repairs] == ["patching", "shelf", "hire", "order"]
    hire = found.repairs[2]
    # Either keeps every number in that slot; one has 8 channels without numbers there and costs less.
    assert [(line.count, line.item, line.price) for line in hire.order_lines] == [(1, "mic-16", "40.00")]
    assert (hire.outcome, hire.proven, hire.cost, hire.from_shelf, hire.moved) == ("whole", True, "40.00", {}, [])
    assert "hire 1 x mic-16 at 40.00 a day = 40.00 GBP a day" in " ".join(
        strapwork("failed", path, STANDS, "slot:A:5").stdout.split()
    )
    assert solver.plan(path, top=1) == solver.plan(ROOM, top=1)


def test_at_most_so_many_can_be_hired(tmp_path: Path) -> None:
    path = tmp_path / "room.toml"
    text = ROOM.read_text().replace("hardware/", f"{ROOT}/scenarios/hardware/")
    path.write_text(text + HIRE.format(card="mic-8-hot", price="41.50") + "at_most = 1\n")
    one, two = (solver.failed(path, STANDS, *what).repairs for what in (["slot:A:5"], ["slot:A:4", "slot:A:5"]))
    outcomes = [next(repair.outcome for repair in found if repair.how == "hire") for found in (one, two)]
    assert outcomes == ["whole", "partly"]


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        (HIRE.format(card="mic-9", price="1"), 'hire 1 > card: "mic-9" is no card of these hardware files'),
        (HIRE.format(card="mic-8", price="1.234"), "hire 1 > day_price: 1.234 has more decimals than GBP has (2)"),
    ],
)
def test_what_cannot_be_hired_is_a_fault(tmp_path: Path, entry: str, told: str) -> None:
    path = tmp_path / "room.toml"
    path.write_text(ROOM.read_text().replace("hardware/", f"{ROOT}/scenarios/hardware/") + entry)
    assert told in faults_of(path)[0].text()


def test_a_repair_says_which_channels_get_another_latency() -> None:
    files = solver.load(ROOM)
    late = {"mic-8-hot": 12, "mic-8": 30}
    cards = [
        card.model_copy(update={"latency_samples": {"48": late[card.id]}}) if card.id in late else card
        for card in files.hardware.card
    ]
    hardware = files.hardware.model_copy(update={"card": tuple(cards)})
    patching, *_ = solver.failed(files.scenario, load_build(STANDS), "slot:A:3", hardware=hardware).repairs
    (note,) = [note for note in patching.notes if "latency" in note]
    assert note.startswith('"drums" ')
    assert note.endswith("12 samples of latency, 30 before")


def test_a_card_that_fails_with_its_board_is_not_mended_by_the_board(tmp_path: Path) -> None:
    """A board is on the shelf and no card: four of eight microphones find idle lines in the frame."""
    scenario = ROOT / "scenarios/quay-on-air.toml"
    text = scenario.read_text("utf-8").replace('"hardware/', f'"{scenario.parent.as_posix()}/hardware/')
    path = tmp_path / "on-air.toml"
    path.write_text(change(text, "[stock]\n", "[stock]\nslate-32 = 1\n"), "utf-8")
    loaded = solver.load(path)
    build = rank(survey_room(loaded.scenario, loaded.hardware), 1).builds[0].build
    shelf = solver.failed(path, build, "board:T", "slot:T:1").repairs[1]
    assert (shelf.how, shelf.outcome, shelf.lost, shelf.from_shelf) == ("shelf", "partly", 4, {"slate-32": 1})
    assert solver.failed(path, build, "board:T").repairs[1].outcome == "whole"


def test_a_build_without_numbers_is_not_asked_what_fails(tmp_path: Path) -> None:
    drawn = tmp_path / "drawn.toml"
    drawn.write_text(change(STANDS.read_text("utf-8"), '"output start" = "S1", ', ""), "utf-8")
    with pytest.raises(WrongQuestion, match="frame A has no numbers, since the build does not say all of its straps"):
        solver.single_points(ROOM, drawn)

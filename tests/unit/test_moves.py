"""What changes hands between two builds, by hand and as laws on builds made up from seeds."""

from __future__ import annotations

from amounts import some_or_all
from two_builds import two_builds

from solver.fitted.card_moves import CardMove, Seat, card_moves
from solver.fitted.moves import Moves, Spot, StrapMove, channels, moves, strap_moves
from solver.fitted.standing import stand
from solver.room.build import Build, BuiltFrame
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario

HARDWARE = Hardware.model_validate(
    {
        "format": 1,
        "card": [
            {"id": "line-4", "ports": [{"direction": "in", "signals": ["line"], "channels": {"48": 4}}]},
            {"id": "send-4", "ports": [{"direction": "out", "signals": ["line"], "channels": {"48": 4}}]},
        ],
        "board": [
            {
                "id": "plain",
                "limits": {"48": {"in": 16, "out": 16}},
                "inputs": {"first_slot": 1, "widths": 4},
                "outputs": {"first_slot": 1, "widths": 4},
                "strap_group": [
                    {
                        "name": "start",
                        "kind": "links",
                        "straps": ["S1", "S2"],
                        "setting": [
                            {"closed": ["S1"], "inputs": {"first_slot": 2}},
                            {"closed": ["S1", "S2"], "inputs": {"first_slot": 3}},
                        ],
                    }
                ],
            },
            {
                "id": "other",
                "limits": {"48": {"in": 16, "out": 16}},
                "inputs": {"first_slot": 1, "widths": 4},
                "outputs": {"first_slot": 1, "widths": 4},
            },
        ],
        "chassis": [{"id": "four", "slot_count": 4, "boards": ["plain", "other"]}],
    }
)
SCENARIO = Scenario.model_validate(
    {
        "format": 1,
        "title": "Moves",
        "hardware": ["moves.toml"],
        "currency": "GBP",
        "stock": {"line-4": 4, "send-4": 4, "plain": 1, "other": 1},
        "frame": [{"name": "A", "chassis": "four"}, {"name": "B", "chassis": "four"}],
        "need": [
            {"name": "tapes", "direction": "in", "signal": "line", "channels": 4},
            {"name": "sends", "direction": "out", "signal": "line", "channels": 4},
        ],
    }
)


def _frame(name: str, board: str = "plain", start: str = "open", **slots: str) -> BuiltFrame:
    cards = {slot.removeprefix("s"): card for slot, card in slots.items()}
    return BuiltFrame(name=name, board=board, straps={"start": start} if board == "plain" else {}, cards=cards)


def _between(old: list[BuiltFrame] | None, new: list[BuiltFrame]) -> Moves:
    survey = survey_room(SCENARIO, HARDWARE)
    before = [] if old is None else [stand(survey, Build(frame=tuple(old)))]
    return moves(before, [stand(survey, Build(frame=tuple(new)))])


def test_a_build_does_nothing_otherwise_than_itself() -> None:
    same = [_frame("A", s1="line-4", s2="send-4")]
    found = _between(same, same)
    assert found.nothing
    assert (found.cards, found.numbers, found.lids_off) == ((), (), ())


def test_a_card_stays_in_its_frame_where_it_can() -> None:
    found = _between(
        [_frame("A", s1="line-4", s2="send-4"), _frame("B", s1="line-4")],
        [_frame("A", s3="line-4", s2="send-4"), _frame("B", s4="line-4")],
    )
    assert set(found.cards) == {
        CardMove("line-4", Seat(None, "A", 1), Seat(None, "A", 3)),
        CardMove("line-4", Seat(None, "B", 1), Seat(None, "B", 4)),
    }
    assert found.lids_off == ((None, "A"), (None, "B"))


def test_each_strap_that_stands_otherwise_is_named_once() -> None:
    found = _between([_frame("A", start="S1", s2="line-4")], [_frame("A", start="S1+S2", s3="line-4")])
    assert found.frames[0].straps == (StrapMove("start", "S2", "open", "closed"),)
    back = _between([_frame("A", start="S1+S2", s3="line-4")], [_frame("A", s3="line-4")])
    assert [(s.strap, s.after) for s in back.frames[0].straps] == [("S1", "open"), ("S2", "open")]


def test_of_a_board_that_comes_every_strap_is_set() -> None:
    found = _between([_frame("A", "other", s1="line-4")], [_frame("A", start="S1", s1="line-4", s2="line-4")])
    assert found.frames[0].board_moves
    assert found.frames[0].straps == (
        StrapMove("start", "S1", None, "closed"),
        StrapMove("start", "S2", None, "open"),
    )
    assert _between(None, [_frame("A", start="S1", s2="line-4")]).frames[0].straps == found.frames[0].straps


def test_a_group_that_the_later_build_leaves_out_is_a_question() -> None:
    left_out = BuiltFrame(name="A", board="plain", cards={"1": "line-4"})
    assert _between([_frame("A", s1="line-4")], [left_out]).frames[0].undecided == ("start",)


def test_numbers_follow_the_card_and_the_straps() -> None:
    moved = _between([_frame("A", s1="line-4", s2="send-4")], [_frame("A", s3="line-4", s2="send-4")])
    assert [(m.need, m.channel, m.before, m.after) for m in moved.numbers] == [
        ("tapes", n, Spot(None, "A", n, 1, n), Spot(None, "A", n + 8, 3, n)) for n in range(1, 5)
    ]
    assert all(move.renumbered for move in moved.numbers)


def test_a_number_that_another_card_answers_is_moved_and_not_renumbered() -> None:
    found = _between([_frame("A", s2="line-4")], [_frame("A", start="S1", s3="line-4")])
    assert [(m.before and m.before.number, m.after and m.after.number) for m in found.numbers] == [
        (5, 5), (6, 6), (7, 7), (8, 8)
    ]  # fmt: skip
    assert not any(m.renumbered for m in found.numbers)


def test_a_number_that_stays_keeps_its_channel() -> None:
    spots = [Spot(None, "A", n, 1, n) for n in range(1, 13)]
    assert channels(spots[:8], spots[4:]) == [
        *((n, spots[n + 3], spots[n + 3]) for n in range(1, 5)),
        *((n, spots[n - 5], spots[n + 3]) for n in range(5, 9)),
    ]
    assert channels(spots[:2], spots[:1]) == [(1, spots[0], spots[0]), (2, spots[1], None)]


@some_or_all("seeds", range(200), range(2000))
def test_the_moves_turn_one_build_into_the_other(seeds: range) -> None:
    several = 0
    for seed in seeds:
        pair = two_builds(seed)
        survey = survey_room(pair.scenario, pair.hardware)
        old, new = (stand(survey, build) for build in (pair.old, pair.new))
        found = moves([old], [new])
        seats, wanted = (
            {Seat(None, f.site.name, s.slot): s.kind.id for f in standing.frames for s in f.seats}
            for standing in (old, new)
        )
        for move in found.cards:
            assert move.before is None or seats.pop(move.before) == move.card
        for move in found.cards:
            assert move.after is None or seats.setdefault(move.after, move.card) == move.card
        assert seats == wanted, seed
        assert moves([old], [old]).nothing
        assert moves([new], [new]).nothing
        several += len(found.cards) > 2
        back = moves([new], [old])
        assert len(back.cards) == len(found.cards)
        served = {(m.need, m.after) for m in back.numbers if m.after} - {(m.need, m.before) for m in found.numbers}
        assert not served, seed
    assert several > len(seeds) // 5


def test_like_cards_are_not_exchanged() -> None:
    one, two = Seat(None, "A", 1), Seat(None, "A", 2)
    assert card_moves({one: "line-4", two: "line-4"}, {one: "line-4", two: "line-4"}) == []
    assert card_moves({one: "line-4"}, {two: "line-4"}) == [CardMove("line-4", one, two)]
    assert strap_moves({("start", "S1"): "open"}, {("start", "S1"): "open"}) == ()

"""Laws of `diff`: what it says turns the earlier build into the later one, and back; of a build with itself nothing."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from pathlib import Path
from typing import Any

from amounts import some_or_all
from inside import strapwork
from two_builds import Pair, two_builds

from solver.answers.diff import diff
from solver.files.reading import Loaded
from solver.fitted.standing import stand
from solver.reports.difference import Difference
from solver.room.build import Build
from solver.room.ready import survey_room

MIX = "scenarios/quay-mix-rig.toml"
FIRST, NEXT = "scenarios/quay-mix-rig-first-drawn.toml", "scenarios/quay-mix-rig-next-drawn.toml"


def _diff(pair: Pair, old: Build, new: Build) -> Difference:
    return diff(Loaded(pair.scenario, pair.hardware), old, new)


def _seats(build: Build) -> Counter[tuple[str, int, str]]:
    return Counter((frame.name, slot, card) for frame in build.frame for slot, card in frame.seats())


def _straps(pair: Pair, build: Build) -> dict[tuple[str, str, str | None], str]:
    """Every strap of the frames with cards, read from the settings' names alone."""
    found: dict[tuple[str, str, str | None], str] = {}
    boards = {board.id: board for board in pair.hardware.board}
    for frame in (frame for frame in build.frame if frame.cards):
        for group in boards[frame.board].strap_group:
            name = frame.straps[group.name]
            if group.kind == "switch":
                found[frame.name, group.name, None] = name
            for strap in group.straps if group.kind == "links" else ():
                found[frame.name, group.name, strap] = "closed" if strap in name.split("+") else "open"
    return found


def _served(pair: Pair, build: Build) -> Counter[tuple[str, str, int | None, int, int]]:
    standing = stand(survey_room(pair.scenario, pair.hardware), build)
    return Counter((u.need.name, f.site.name, u.number, u.slot, u.index) for f in standing.frames for u in f.uses)


@some_or_all("seeds", range(200), range(2000))
def test_what_changes_turns_the_earlier_build_into_the_later_one(seeds: Any) -> None:
    met: Counter[str] = Counter()
    for seed in seeds:
        pair = two_builds(seed)
        found = _diff(pair, pair.old, pair.new)
        cards, channels = _seats(pair.old), _served(pair, pair.old)
        for card in found.cards:
            cards -= Counter([] if card.before is None else [(card.before.frame, card.before.slot, card.card)])
            cards += Counter([] if card.after is None else [(card.after.frame, card.after.slot, card.card)])
        assert cards == _seats(pair.new)
        boards = {frame.name: frame.board for frame in pair.old.frame if frame.cards}
        for board in found.boards:
            assert boards.get(board.frame) == board.before
            boards[board.frame] = board.after
        assert all(boards[frame.name] == frame.board for frame in pair.new.frame if frame.cards)
        fresh = {board.frame for board in found.boards}
        straps = {key: at for key, at in _straps(pair, pair.old).items() if key[0] not in fresh}
        for strap in found.straps:
            assert straps.get((strap.frame, strap.group, strap.strap)) == strap.before != strap.after
            straps[strap.frame, strap.group, strap.strap] = strap.after
        wanted = _straps(pair, pair.new)
        assert {key: at for key, at in straps.items() if key in wanted} == wanted
        for one in found.channels:
            for place, sign in ((one.before, -1), (one.after, 1)):
                if place is not None:
                    channels[one.need, place.frame, place.number, place.slot, place.card_channel] += sign
        assert +channels == _served(pair, pair.new)
        assert min(channels.values(), default=0) >= 0
        opened = {board.frame for board in found.boards} | {strap.frame for strap in found.straps}
        opened |= {place.frame for card in found.cards for place in (card.before, card.after) if place is not None}
        assert set(found.lids_off) == opened
        assert not set(found.lids_on) & opened
        met.update({"cards": bool(found.cards), "boards": bool(found.boards), "straps": bool(found.straps)})
        met.update({"channels": bool(found.channels), "a lid stays on": bool(found.lids_on)})
        met["numbers named"] += _the_summary_agrees(found)
    for what in ("cards", "boards", "straps", "channels", "a lid stays on", "numbers named"):
        assert met[what] >= len(seeds) // 50, what


def test_a_build_differs_in_nothing_from_itself() -> None:
    for seed in range(200):
        pair = two_builds(seed)
        for build in (pair.old, pair.new):
            found = _diff(pair, build, build)
            assert found.nothing_to_do
            assert [found.lids_off, found.boards, found.straps, found.cards, found.channels] == [[]] * 5
            assert found.as_csv().count("\r\n") == 1


def test_the_way_back_takes_back_as_many_cards_boards_and_straps() -> None:
    for seed in range(200):
        pair = two_builds(seed)
        there, back = _diff(pair, pair.old, pair.new), _diff(pair, pair.new, pair.old)
        moved = Counter((card.card, str(card.before), str(card.after)) for card in there.cards)
        assert moved.total() == len(back.cards)
        one_way = {(c.card, c.before is None, c.after is None) for c in there.cards}
        assert one_way == {(c.card, c.after is None, c.before is None) for c in back.cards}


def test_a_spreadsheet_has_a_row_for_each_change() -> None:
    for seed in range(50):
        pair = two_builds(seed)
        found = _diff(pair, pair.old, pair.new)
        rows = list(csv.DictReader(io.StringIO(found.as_csv(), newline="")))
        wanted = {"board": len(found.boards), "strap": len(found.straps)}
        wanted |= {"card": len(found.cards), "channel": len(found.channels), "point": len(found.points)}
        wanted |= {"loom": len(found.looms)}
        assert Counter(row["what"] for row in rows) == Counter(wanted)


def _the_summary_agrees(found: Difference) -> bool:
    """Whether the summary, which counts what the lists have, names numbers that become others."""
    cards = Counter("in" if c.before is None else "out" if c.after is None else "move" for c in found.cards)
    parts = re.findall(r"([0-9]+) cards? (in|out|move)", found.summary)
    assert Counter({verb: int(count) for count, verb in parts}) == cards, found.summary
    assert re.findall(r"([0-9]+) straps?", found.summary) == [str(len(found.straps))] * bool(found.straps)
    otherwise = {
        (f"{was.frame} {each.direction}", was.number, f"{now.frame} {each.direction}", now.number)
        for each in found.channels
        if (was := each.before) and (now := each.after) and was.number and now.number
        if (was.frame, was.number) != (now.frame, now.number)
    }
    named = _named(found.summary.partition(": ")[2])
    runs = sum((was, one - 1, now, other - 1) not in otherwise for was, one, now, other in otherwise)
    assert named == otherwise if runs <= 3 else named < otherwise, found.summary
    assert ("and so on" in found.summary) == (runs > 3), found.summary
    return bool(named)


def _named(text: str) -> set[tuple[str, int, str, int]]:
    """Frame with direction and number, before and after, of each channel in "A in 3-4 become 7-8"."""
    found = set()
    for was, before, now, after in re.findall(
        r"(\w+ (?:in|out)) ([0-9-]+) becomes? (?:(\w+ (?:in|out)) )?([0-9-]+)", text
    ):
        runs = [[int(n) for n in span.split("-")] for span in (before, after)]
        numbers = [range(run[0], run[-1] + 1) for run in runs]
        found |= {(was, old, now or was, new) for old, new in zip(*numbers, strict=True)}
    return found


def test_the_screen_says_all_that_changes() -> None:
    ran = strapwork("diff", MIX, FIRST, NEXT)
    assert ran.returncode == 0
    assert ran.stdout.splitlines()[:17] == [
        "What changes: Gannet Quay, mix rig, 44.1 kHz",
        "1 card moves, 3 cards in, 2 cards out, 6 looms to other connectors, lid off M,",
        "one shutdown; 20 channels get other numbers: M in 9-18 become 17-26, M out 1-2",
        "become 9-10, M out 9-16 become 1-8",
        "",
        "lid off  M",
        "",
        "Cards",
        "  card         was       becomes",
        "  aes-8        M slot 2  M slot 3",
        "  line-duo-8   not in    M slot 2",
        "  line-in-16   M slot 1  out",
        "  line-in-8    not in    M slot 1",
        "  line-out-16  M slot 3  out",
        "  line-out-8   not in    M slot 4",
        "",
        "Channels of needs",
    ]
    assert max(map(len, ran.stdout.splitlines())) <= 80


def test_looms_that_go_to_other_connectors_are_told_where_no_number_changes() -> None:
    shown = strapwork("diff", MIX, FIRST, NEXT).stdout.partition("Looms, by their connectors\n")[2].splitlines()
    assert [line.rsplit(maxsplit=3) for line in shown[1:7]] == [
        ["  outboard sends", "1-8", "M3-out-low", "M2-out"],
        ["  outboard sends", "9-16", "M3-out-high", "M4-out"],
        ["  outboard returns", "1-8", "M1-in-low", "M1-in"],
        ["  outboard returns", "9-16", "M1-in-high", "M2-in"],
        ["  mix to monitors", "1-2", "M2-out-1", "M3-out-1"],
        ["  reference in", "1-2", "M2-in-1", "M3-in-1"],
    ]


def test_where_nothing_changes_one_line_is_all() -> None:
    ran = strapwork("diff", MIX, NEXT, NEXT)
    assert (ran.returncode, ran.stdout) == (
        0,
        "Gannet Quay, mix rig, 44.1 kHz: nothing to do, what stands is the build\n",
    )


def test_a_later_build_that_is_faulty_is_said_to_be_so(tmp_path: Path) -> None:
    filled = ("scenarios/quay-filled.toml", "scenarios/quay-filled-drawn.toml")
    drawn = Path(__file__).parents[2] / filled[1]
    sound = tmp_path / "sound.toml"
    sound.write_text(drawn.read_text(encoding="utf-8"), encoding="utf-8")
    ran = strapwork("diff", filled[0], sound, filled[1])
    assert ran.returncode == 1
    assert ran.stdout.startswith("FAULTY, 4 faults: Gannet Quay, the filled frame, 48 kHz\n")
    ran = strapwork("diff", filled[0], sound, filled[1], "--format", "csv")
    assert (ran.returncode, ran.stdout) == (1, "what,item,channel,direction,before,after\r\n")
    assert "FAULTY, stock: mic-8: 3 are used; stock and offers have 2" in ran.stderr

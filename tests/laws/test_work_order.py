"""Laws of the work order: its steps, one by one, turn what stands into the build, and none does harm on the way."""

from __future__ import annotations

import tomllib
from collections import Counter
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from amounts import some_or_all
from connected import connected
from samples import change
from two_builds import Pair, two_builds

import solver
from solver.answers.work_order import work_order
from solver.files.reading import Loaded, load_build, load_scenario
from solver.fitted.moves import Spot, paired
from solver.fitted.standing import stand
from solver.handover.wiring import Wiring
from solver.reports.work_order import OrderStep, WorkOrder
from solver.room.build import Build, BuiltFrame
from solver.room.ready import survey_room

SCENARIOS = Path(__file__).parents[2] / "scenarios"


class Bench:
    """Frames in which steps are done: what stands in each slot, which board, how each strap is."""

    def __init__(self, pair: Pair, build: Build | None) -> None:
        self.spans = {card.id: card.span for card in pair.hardware.card}
        self.boards = {board.id: board for board in pair.hardware.board}
        frames = [] if build is None else [frame for frame in build.frame if frame.cards]
        self.seats = {(frame.name, slot): card for frame in frames for slot, card in frame.seats()}
        self.board = {frame.name: frame.board for frame in frames}
        self.straps = {key: at for frame in frames for key, at in self.of(frame).items()}
        self.set: set[tuple[str, str, str | None]] = set()
        self.off: set[str] = set()
        self.in_hand: Counter[str] = Counter()
        self.fetched = 0

    def of(self, frame: BuiltFrame) -> dict[tuple[str, str, str | None], str]:
        """Every strap of a frame as its build has it."""
        found: dict[tuple[str, str, str | None], str] = {}
        for group in self.boards[frame.board].strap_group:
            setting = next(s for s in group.settings() if s.name == frame.straps[group.name])
            if group.kind == "switch":
                found[frame.name, group.name, None] = setting.name
            for strap in group.straps if group.kind == "links" else ():
                found[frame.name, group.name, strap] = "closed" if strap in (setting.closed or ()) else "open"
        return found

    def do(self, step: OrderStep) -> None:
        """One step, which must be possible as things stand."""
        frame = step.frame or ""
        if step.action == "mains off":
            assert frame not in self.off, "shut down twice"
            self.off.add(frame)
        if step.slot is not None or step.board is not None or step.group is not None:
            assert frame in self.off, "worked on with mains on"
        if step.action == "card out":
            assert step.slot is not None
            assert step.card is not None
            assert self.seats.pop((frame, step.slot)) == step.card
            self.in_hand[step.card] += 1
        elif step.action == "card in":
            assert step.slot is not None
            assert step.card is not None
            wanted = set(range(step.slot, step.slot + self.spans[step.card]))
            taken = {s for (at, first), c in self.seats.items() if at == frame for s in _covers(first, self.spans[c])}
            assert not wanted & taken, "seated in a taken slot"
            self.seats[frame, step.slot] = step.card
            self.fetched += not self.in_hand[step.card]
            self.in_hand[step.card] -= self.in_hand[step.card] > 0
        elif step.action == "board out":
            assert self.board.pop(frame) == step.board
            assert not [at for at, _ in self.seats if at == frame], "board pulled under cards"
            self.straps = {key: at for key, at in self.straps.items() if key[0] != frame}
        elif step.action == "board in":
            assert frame not in self.board
            assert step.board is not None
            self.board[frame] = step.board
        elif step.group is not None:
            assert step.to is not None
            key = frame, step.group, step.strap
            assert key not in self.set, "set twice"
            assert self.straps.get(key) != step.to, "set as it is"
            self.set.add(key)
            self.straps[key] = step.to
        assert step.action != "not seated"


def _covers(first: int, span: int) -> range:
    return range(first, first + span)


def _steps(order: WorkOrder) -> list[OrderStep]:
    return [step for section in order.sections for step in section.steps]


def _holds(pair: Pair, old: Build | None, new: Build) -> WorkOrder:
    """Do the work order of a pair; the bench has to be the new build then."""
    order = work_order(Loaded(pair.scenario, pair.hardware), new, old)
    bench = Bench(pair, old)
    steps = _steps(order)
    for step in steps:
        bench.do(step)
    assert (bench.fetched, bench.in_hand.total()) == (order.cards_in, order.cards_out), "a card is not there yet"
    wanted = Bench(pair, new)
    assert bench.seats == wanted.seats
    for name, board in wanted.board.items():
        assert bench.board[name] == board
    assert {key: at for key, at in bench.straps.items() if key in wanted.straps} == wanted.straps
    assert [step.number for step in steps] == list(range(1, len(steps) + 1))
    assert order.nothing_to_do == (not steps)
    if steps:
        _in_safe_order(steps, order)
    return order


def _in_safe_order(steps: list[OrderStep], order: WorkOrder) -> None:
    actions = [step.action for step in steps]
    assert actions[0] == "amplifiers off"
    assert actions[-1] == "amplifiers on"
    assert "amplifiers on" not in actions[:-1]
    assert order.minutes_least <= order.minutes_most
    for frame in {step.frame for step in steps if step.frame is not None}:
        own = [step.action for step in steps if step.frame == frame]
        assert own.count("mains off") == own.count("close") == own.count("open") == 1
        assert own.count("power up") <= 1
        stages: tuple[str, ...] = (
            "as found",
            "phantom off",
            "mains off",
            "looms off",
            "open",
            "card out",
            "board out",
            "board in",
        )
        stages += ("strap", "card settings", "card in", "blanks", "compare", "close", "power up", "clock lock")
        seen = [stages.index(action) for action in own if action in stages]
        assert seen == sorted(seen)
    test = actions.index("test")
    assert all(actions.index(action) > test for action in ("phantom back", "amplifiers on"))


@some_or_all("seeds", range(200), range(2000))
def test_the_steps_turn_what_stands_into_the_build(seeds: range) -> None:
    met: Counter[str] = Counter()
    for seed in seeds:
        pair = two_builds(seed)
        order = _holds(pair, pair.old, pair.new)
        met.update({step.action for step in _steps(order)})
        met.update({"frames together"} if any("off and out" in s.title for s in order.sections) else ())
        met["rebuilt"] += _steps(_holds(pair, pair.new, pair.old)) != []
    for action in ("card out", "card in", "board out", "strap", "phantom off", "clock lock", "frames together"):
        assert met[action] >= len(seeds) // 20, action


@some_or_all("seeds", range(100), range(1000))
def test_from_empty_frames_the_whole_build_is_made(seeds: range) -> None:
    for seed in seeds:
        pair = two_builds(seed)
        order = _holds(pair, None, pair.new)
        cards = [step.card for step in _steps(order) if step.action == "card in"]
        assert Counter(cards) == Counter(card for frame in pair.new.frame for _, card in frame.seats())
        each = {"mains off": 6, "open": 2, "close": 2, "as left": 5, "card in": 2}
        assert order.turn_back_minutes == sum(each.get(step.action, 0) for step in _steps(order))
        assert (order.turn_back_minutes < order.minutes_most) != order.nothing_to_do


def test_a_build_that_stands_needs_no_step() -> None:
    for seed in range(100):
        pair = two_builds(seed)
        order = _holds(pair, pair.new, pair.new)
        assert order.nothing_to_do
        assert (order.minutes_most, order.turn_back_minutes, order.test_sheet, order.retype) == (0, 0, None, [])


def test_the_sheet_has_every_used_number_once_and_what_is_retyped_has_two_numbers() -> None:
    rows = 0
    for seed in range(200):
        pair = two_builds(seed)
        loaded = Loaded(pair.scenario, pair.hardware)
        order = work_order(loaded, pair.new, pair.old)
        if order.test_sheet is None:
            continue
        standing = stand(survey_room(pair.scenario, pair.hardware), pair.new)
        used = {(f.site.name, u.need.direction, u.number) for f in standing.frames for u in f.uses if u.number}
        found = [(row.frame, row.direction, row.number) for row in order.test_sheet.rows]
        assert sorted(found) == sorted(used)
        assert order.test_sheet.left_out == 0
        rows += len(found)
        short = work_order(loaded, pair.new, pair.old, time="10").test_sheet
        assert short is not None
        assert short.minutes <= 10 or not short.rows
        assert len(short.rows) + short.left_out == len(found)
        assert all((r.old_frame, r.old_number) != (r.new_frame, r.new_number) for r in order.retype)
        assert len(order.retype) == order.renumbered
    assert rows > 100


def test_a_short_test_begins_every_block_before_it_looks_at_another_of_its_numbers() -> None:
    whole, *short = (
        solver.work_order(SCENARIOS / "quay-filled.toml", SCENARIOS / "quay-filled-drawn.toml", time=time).test_sheet
        for time in ("all", "30", "10")
    )
    assert whole is not None
    blocks = {(row.direction, row.slot) for row in whole.rows}
    numbers = {block: sorted(r.number for r in whole.rows if (r.direction, r.slot) == block) for block in blocks}
    for sheet in short:
        assert sheet is not None
        assert sheet.minutes <= int(sheet.time)
        assert sheet.left_out == len(whole.rows) - len(sheet.rows) > 0
        assert [r.number for r in sheet.rows] == [r.number for r in whole.rows[: len(sheet.rows)]]
        assert {(row.direction, row.slot) for row in sheet.rows[: len(blocks)]} == blocks
        assert sheet.blocks_left_out == []
    for row in whole.rows[: len(blocks)]:
        assert row.number == numbers[row.direction, row.slot][0]
    for row in whole.rows[len(blocks) : 2 * len(blocks)]:
        assert row.number == numbers[row.direction, row.slot][-1]


def test_no_tone_meets_a_loudspeaker() -> None:
    outputs = 0
    for seed in range(100):
        pair = two_builds(seed)
        order = work_order(Loaded(pair.scenario, pair.hardware), pair.new)
        actions = [step.action for step in _steps(order)]
        rows = [] if order.test_sheet is None else [r for r in order.test_sheet.rows if r.direction == "out"]
        outputs += len(rows)
        assert all("unplugged" in row.see for row in rows)
        if rows:
            assert actions.index("amplifiers off") < actions.index("test") < actions.index("amplifiers on")
            assert actions.index("patch", actions.index("test")) < actions.index("amplifiers on")
    assert outputs > 10


def _on_looms(wiring: Wiring, spots: dict[tuple[str, int], Spot | None]) -> dict[tuple[str, int], str]:
    """The loom of each channel of a need, where it has one."""
    at = {(c.frame, c.direction, c.slot, c.card_channel): loom.name for loom in wiring.looms for c in loom.channels}
    ways = {need.name: need.direction for room in wiring.rooms for need in room.survey.needs}
    each = ((line, at.get((s.frame, ways[line[0]], s.slot, s.card_channel))) for line, s in spots.items() if s)
    return {line: loom for line, loom in each if loom is not None}


def _plug_by(order: WorkOrder, pair: Pair) -> Counter[str]:
    """Do what the steps say of looms: what then is on another connector than the new build has it fails."""
    survey = survey_room(pair.scenario, pair.hardware)
    before, after = Wiring((stand(survey, pair.old),)), Wiring((stand(survey, pair.new),))
    each = list(paired(before.rooms, after.rooms))
    was = _on_looms(before, {(need.name, channel): spot for _, need, channel, spot, _ in each})
    wanted = _on_looms(after, {(need.name, channel): spot for _, need, channel, _, spot in each})
    plugged, met = dict(was), Counter[str]()
    told = _steps(order)
    for n, step in enumerate(told):
        if step.loom is None:
            continue
        whole = step.loom_before is not None
        met["whole" if whole else "line by line"] += 1
        here = {line for line, loom in (was if whole else wanted).items() if loom == (step.loom_before or step.loom)}
        plugged |= dict.fromkeys(here, step.loom)
        if step.loom_before is not None:
            off = [own for own in told[:n] if f"take loom {step.loom} off" in own.text]
            assert off or step.loom not in {own.loom_before for own in told[n + 1 :]}, "its connector is taken"
            marked = any(f"take loom {step.loom_before} off" in own.text for own in told[:n])
            assert f"loom {step.loom_before}{', marked OLD,' if marked else ''} goes to" in step.text
    for line, loom in wanted.items():
        assert plugged.get(line) == loom, (line, loom)
    return met


@some_or_all("seeds", range(100), range(1000))
def test_after_the_steps_each_loom_is_on_the_connector_that_the_build_says(seeds: range) -> None:
    met: Counter[str] = Counter()
    for seed in seeds:
        pair = two_builds(seed)
        pair = replace(pair, hardware=connected(seed, pair.hardware))
        met += _plug_by(work_order(Loaded(pair.scenario, pair.hardware), pair.new, pair.old), pair)
    rig = load_scenario(SCENARIOS / "quay-mix-rig.toml")
    first, later = (load_build(SCENARIOS / f"quay-mix-rig-{name}-drawn.toml") for name in ("first", "next"))
    there = _plug_by(work_order(rig, later, first), Pair(rig.scenario, rig.hardware, first, later))
    assert there == _plug_by(work_order(rig, first, later), Pair(rig.scenario, rig.hardware, later, first))
    assert there == {"whole": 6}
    assert min(met["whole"] * 5, met["line by line"]) > len(seeds) // 10, met


def test_of_two_looms_that_change_places_one_comes_off_first_and_is_marked() -> None:
    """Two cards of one kind exchange what they serve, with the lid on."""
    room, drawn = (SCENARIOS / f"quay-live-room{end}.toml" for end in ("", "-drawn"))
    text = drawn.read_text("utf-8")
    drums, voices = '{need = "drums", slot = 4,', '{need = "room and voices", slot = 5,'
    turned = change(change(text, drums, drums.replace("4", "5")), voices, voices.replace("5", "4"))
    new = Build.model_validate(tomllib.loads(turned, parse_float=Decimal))
    order = work_order(load_scenario(room), new, load_build(drawn))
    told = [step.text for step in _steps(order) if step.text.startswith("Inputs: ")]
    assert told[0] == "Inputs: take loom A5-in off, if it is still on, and write OLD on its tag"
    assert told[1].startswith("Inputs: loom A4-in goes to the connector of loom A5-in, and gets that tag")
    assert told[2].startswith("Inputs: loom A5-in, marked OLD, goes to the connector of loom A4-in, and gets that tag")

"""Points of bays against trying every block for every piece of a loom, with a reading of the rules of its own.

Cards of one port without connectors: what a card carries follows each other, in pieces of a block.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, TypeAlias

from amounts import some_or_all

from solver.answers.channels import channels
from solver.files.reading import Loaded
from solver.reports.channels import ChannelRow
from solver.room.build import Build
from solver.room.hardware import Hardware
from solver.room.scenario import Scenario

ROWS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
SLOTS, MOST_PIECES, MOST_BLOCKS = 4, 5, 7
Point: TypeAlias = tuple[str, int, int]
"""Bay, pair of rows counted from 0, and point."""
Score: TypeAlias = tuple[int, tuple[bool, ...], int, int, int]
"""Pieces without a block; which kept pieces are elsewhere, those of the lowest numbers first; kept blocks with
something else on them; looms that are cut; points from the first to the last piece of these."""


@dataclass(frozen=True)
class Piece:
    """Lines of a loom that are on one block: their numbers, what each of them carries, and the bays that take them."""

    loom: tuple[str, str, int]
    numbers: tuple[int, ...]
    labels: tuple[tuple[str, ...], ...]
    bays: tuple[str, ...]


@dataclass(frozen=True)
class Block:
    """Points beside each other: bay, pair of rows, the first point, how many, and those before it."""

    bay: str
    pair: int
    first: int
    size: int
    before: int

    def has(self, point: Point) -> bool:
        """Whether a point is on it."""
        return (self.bay, self.pair) == point[:2] and self.first <= point[2] < self.first + self.size


Laid: TypeAlias = Sequence[Block | None]


@dataclass(frozen=True)
class Room:
    """Pieces in order of frames, directions and numbers; blocks in the order of the file; what is kept where."""

    pieces: list[Piece]
    blocks: list[Block]
    kept: Mapping[str, Point]

    def fits(self, piece: Piece, block: Block) -> bool:
        """Whether a block has room for a piece."""
        return block.bay in piece.bays and len(piece.numbers) <= block.size

    def asked(self, piece: Piece) -> list[tuple[int, Point]]:
        """The points that are kept for lines of a piece, each with the place of the line."""
        return [(n, self.kept[own]) for n, line in enumerate(piece.labels) for own in line if own in self.kept]

    def there(self, piece: Piece, block: Block | None) -> bool:
        """Whether all lines of a piece for which points are kept are on these."""
        own = self.asked(piece)
        return block is not None and all((block.bay, block.pair, block.first + n) == point for n, point in own)

    def score(self, laid: Laid) -> Score:
        """What is least in the best way to lay the pieces."""
        each = list(zip(self.pieces, laid, strict=True))
        moved = tuple(not self.there(piece, block) for piece, block in each if self.asked(piece))
        strange = [b for p, b in each if b is not None and not (self.asked(p) and self.there(p, b))]
        cuts = [self._spread([b for p, b in each if p.loom == loom]) for loom in {p.loom for p in self.pieces}]
        return (
            sum(block is None for block in laid),
            moved,
            sum(any(block.has(point) for point in self.kept.values()) for block in strange),
            sum(spread is not None for spread in cuts),
            sum(spread or 0 for spread in cuts),
        )

    def _spread(self, laid: Laid) -> int | None:
        """How far a loom is apart where it is cut: not whole on one row, its pieces one after the other."""
        on = [block for block in laid if block is not None]
        if not on:
            return None
        beside = all(
            (one.bay, one.pair, one.first + one.size) == (other.bay, other.pair, other.first)
            for one, other in pairwise(on)
        )
        places = [block.before for block in on]
        return None if beside and len(on) == len(laid) else max(places) - min(places)

    def every(self, most_lacking: int) -> Iterator[Laid]:
        """Every way to lay the pieces with at most so many that lack a block."""
        laid: list[Block | None] = []

        def on(n: int, lacking: int) -> Iterator[Laid]:
            if n == len(self.pieces):
                yield laid
                return
            for block in [*self.blocks, None]:
                short = lacking + (block is None)
                if short > most_lacking or (
                    block is not None and (block in laid or not self.fits(self.pieces[n], block))
                ):
                    continue
                laid.append(block)
                yield from on(n + 1, short)
                laid.pop()

        return on(0, 0)

    def best(self) -> Score:
        """The least score, of the fewest pieces that lack a block."""
        for lacking in range(len(self.pieces) + 1):
            found = min((self.score(laid) for laid in self.every(lacking)), default=None)
            if found is not None:
                return found
        raise AssertionError


def made_up(seed: int) -> tuple[Loaded, Build]:
    """A room of one or two frames with cards of a few lines, and bays that have about as many points."""
    draw = random.Random(seed)
    grain = draw.choice([1, 1, 2])
    cards = [
        {"id": f"{direction}-{signal}-{n}", "ports": [_port(direction, signal, n, grain)]}
        for direction, signal in (("in", "line"), ("in", "aes3"), ("out", "line"))
        for n in range(1, 5)
    ]
    board = {
        "id": "reef",
        "limits": {"48": {"in": 64, "out": 64}},
        "inputs": {"first_slot": 1, "widths": 4 * grain},
        "outputs": {"first_slot": 1, "widths": 4 * grain},
    }
    chassis = {"id": "crate", "slot_count": SLOTS, "boards": ["reef"]}
    hardware = Hardware.model_validate({"format": 1, "card": cards, "board": [board], "chassis": [chassis]})
    block = draw.choice([1, 1, 2, 3])
    seats: dict[str, dict[str, str]] = {}
    pieces = 0
    for frame in "AB"[: draw.choice([1, 1, 2])]:
        seats[frame] = {}
        for slot in range(1, SLOTS + 1):
            card = draw.choice(cards)
            lines = int(str(card["id"]).rsplit("-", 1)[1])
            if draw.random() < 0.7 and pieces + -(-lines // block) <= MOST_PIECES:
                seats[frame][str(slot)] = str(card["id"])
                pieces += -(-lines // block)
    needs = [_need(name, direction, signal) for name, direction, signal in NEEDS]
    count = draw.choice([1, 1, 2, 3])
    bays = [_bay(draw, f"P{n + 1}", block, pieces, count) for n in range(count)]
    scenario = {
        "format": 1,
        "title": "made up",
        "hardware": ["reef.toml"],
        "currency": "GBP",
        "sample_rate": 48000,
        "frame": [{"name": name, "chassis": "crate", "board": "reef"} for name in seats],
        "need": needs,
        "bay": bays,
    }
    frames = [{"name": name, "board": "reef", "straps": {}, "cards": cards} for name, cards in seats.items()]
    loaded = Loaded(Scenario.model_validate(scenario), hardware)
    build = Build.model_validate({"format": 1, "frame": frames})
    if draw.random() < 0.6:
        labels = [f"{row.need} {row.channel}" for row in channels(loaded, build).rows if row.need] + ["lines 64"]
        draw.shuffle(labels)
        bays = [{**bay, "keep": _keep(draw, bay, labels)} for bay in bays]
    return Loaded(Scenario.model_validate({**scenario, "bay": bays}), hardware), build


NEEDS = (("lines", "in", "line"), ("digital", "in", "aes3"), ("sends", "out", "line"))


def _port(direction: str, signal: str, lines: int, grain: int) -> dict[str, Any]:
    return {"direction": direction, "signals": [signal], "channels": {"48": lines * grain}, "grain": grain}


def _need(name: str, direction: str, signal: str) -> dict[str, Any]:
    return {"name": name, "direction": direction, "signal": signal, "channels": 64}


def _bay(draw: random.Random, name: str, block: int, pieces: int, bays: int) -> dict[str, Any]:
    rows = draw.choice([2, 2, 4])
    points = max(1, block * pieces * 2 // rows // draw.choice([1, 2, 2, 3]) + draw.randint(0, 2))
    bay = {
        "name": name,
        "signals": draw.choice([["line", "aes3"], ["line", "aes3"], ["line"], ["aes3"]]),
        "rows": rows,
        "points": min(points, max(1, MOST_BLOCKS // bays * block * 2 // rows)),
        "gauge": "bantam",
    }
    if draw.random() < 0.2:
        bay["direction"] = draw.choice(["in", "out"])
    return bay if block == 1 else {**bay, "rear": {"connector": "multi", "block": block}}


def _keep(draw: random.Random, bay: Mapping[str, Any], labels: list[str]) -> dict[str, str]:
    """Points that are kept, mostly for what has a number in this build; each label once."""
    points = [f"{row}{n}" for row in ROWS[: bay["rows"]] for n in range(1, bay["points"] + 1)]
    kept = draw.sample(points, min(len(points), len(labels), draw.choice([0, 1, 1, 2, 3])))
    return {point: labels.pop() for point in kept}


def read(loaded: Loaded, rows: Sequence[ChannelRow]) -> tuple[Room, Laid]:
    """What is to be laid, and how it is."""
    bays = loaded.scenario.bay
    size = bays[0].rear.block if bays[0].rear else 1
    blocks: list[Block] = []
    for bay in bays:
        for pair in range(bay.rows // 2):
            for first in range(1, bay.points + 1, size):
                before = sum(block.size for block in blocks)
                blocks.append(Block(bay.name, pair, first, min(size, bay.points + 1 - first), before))
    kept = {
        label: (bay.name, ROWS.index(text[0]) // 2, int(text[1:])) for bay in bays for text, label in bay.keep.items()
    }
    grain = loaded.hardware.card[0].ports[0].grain
    looms: dict[tuple[str, str, int], list[list[ChannelRow]]] = {}
    for row in sorted(rows, key=lambda row: (row.frame, row.direction, row.number)):
        lines = looms.setdefault((row.frame, row.direction, row.slot), [])
        if (row.card_channel - 1) % grain == 0:
            lines.append([])
        lines[-1].append(row)
    pieces, laid = [], []
    for loom, lines in looms.items():
        row = lines[0][0]
        able = [bay for bay in bays if row.signals[0] in bay.signals and bay.direction in (None, row.direction)]
        for at in range(0, len(lines) if able else 0, size):
            own = lines[at : at + size]
            numbers = tuple(line[0].number for line in own)
            pieces.append(Piece(loom, numbers, tuple(map(_labels, own)), tuple(bay.name for bay in able)))
            laid.append(_block(own, blocks))
    return Room(pieces, blocks, kept), laid


def _labels(line: Sequence[ChannelRow]) -> tuple[str, ...]:
    return tuple(f"{row.need} {row.channel}" for row in line if row.need)


def _block(lines: Sequence[Sequence[ChannelRow]], blocks: Sequence[Block]) -> Block | None:
    """The block that lines are on, each of all channels on a point of its own, one after the other from the first."""
    points = [(row.bay, row.point) for row in lines[0]]
    if points[0][0] is None:
        assert all(row.bay is None for line in lines for row in line)
        return None
    bay, point = points[0][0], points[0][1] or ""
    found = next(b for b in blocks if b.has((bay, ROWS.index(point[0]) // 2, int(point[1:]))))
    for n, line in enumerate(lines):
        row = ROWS[2 * found.pair + (line[0].direction == "in")]
        assert {(own.bay, own.point) for own in line} == {(bay, f"{row}{found.first + n}")}
    return found


@some_or_all("seeds", range(300), range(3000))
def test_no_other_way_leaves_fewer_without_points_cuts_fewer_looms_or_has_them_closer(seeds: range) -> None:
    met: Counter[str] = Counter()
    for seed in seeds:
        loaded, build = made_up(seed)
        found = channels(loaded, build)
        room, laid = read(loaded, found.rows)
        assert all(block is None or room.fits(piece, block) for piece, block in zip(room.pieces, laid, strict=True))
        on = [block for block in laid if block is not None]
        assert len(set(on)) == len(on)
        own, best = room.score(laid), room.best()
        assert own == best, (seed, own, best)
        lacking, moved, strange, cut, spread = best
        met.update({"lacking": lacking > 0, "moved": any(moved), "stays": not all(moved), "strange": strange > 0})
        met.update({"cut": cut > 0, "spread": spread > cut, "several": len(room.pieces) > 3})
    assert all(met[what] > len(seeds) // 50 for what in ("lacking", "moved", "stays", "strange", "cut", "spread")), met

"""Every placement of a small rack, judged by a reading of the rules of its own, and small racks by their seeds."""

from __future__ import annotations

import random
from collections.abc import Iterator
from decimal import Decimal

from solver.racks.pieces import Piece, RackStand, Run
from solver.room.racks import Rack

HALF_UM = 22_225
"""Half of 44.45 mm (EIA-310)."""


def random_rack(seed: int) -> RackStand:
    """A rack of up to 16 units with two to five things, some of which are hard to place together."""
    rng = random.Random(seed)
    units = rng.choice((8, 9, 10, 11, 12, 13, 16))
    pieces: list[Piece] = []
    runs: list[Run] = []
    left = units
    for name in "ABC"[: rng.choice((1, 1, 2, 2, 3))]:
        height = rng.randint(1, 3) if units < 13 else rng.randint(2, 5)
        draught = rng.random() < 0.6
        pieces.append(
            Piece(
                name,
                height,
                depth_um=rng.choice((300_000, 400_000, None)),
                weight_g=rng.choice((5000, 9000, 12_500, None)),
                heat_mw=rng.choice((20_000, 45_500, None)),
                warms=draught,
                draught=draught,
                most_below_mw=rng.choice((0, 10_000, 40_000, 90_000, None)) if draught else None,
                microphones=rng.random() < 0.5,
            )
        )
        left -= height
        if rng.random() < 0.5 and len(pieces) < 4:
            pieces.append(
                Piece(
                    f"{name} supply",
                    rng.randint(1, 2),
                    weight_g=rng.choice((3000, 8000)),
                    heat_mw=rng.choice((4000, 12_000)),
                    keep_away_u=rng.choice((0, 0, 1, 2, 3)),
                    feeds=name,
                )
            )
            runs.append(Run((f"{name} supply", name), 1, rng.choice((None, 400_000, 480_000, 600_000))))
    for n in range(rng.choice((0, 1, 1, 2)) if len(pieces) < 4 else rng.choice((0, 1))):
        height = rng.randint(1, 2)
        pieces.append(
            Piece(
                f"item {n}",
                height,
                depth_um=rng.choice((250_000, 500_000, None)),
                weight_g=rng.choice((1000, 15_000, None)),
                heat_mw=rng.choice((0, 30_000)),
                warms=rng.random() < 0.7,
                most_below_mw=rng.choice((None, None, 15_000)),
                at=rng.choice((None, None, rng.randint(1, units - height + 1))),
                keep_away_u=rng.choice((0, 0, 0, 2)),
                in_reach=rng.random() < 0.4,
            )
        )
        if rng.random() < 0.5:
            other = rng.choice(pieces[:-1]).name
            runs.append(Run((f"item {n}", other), rng.randint(1, 4), rng.choice((None, 350_000, 500_000))))
    low = rng.randint(1, units)
    rank = ["cables", "reserve", "inlet"]
    rng.shuffle(rank)
    rack = Rack(
        name="R",
        units=units,
        depth_mm=rng.choice((None, Decimal(450), Decimal(350))),
        most_kg=rng.choice((None, None, Decimal(30), Decimal(60))),
        reach=rng.choice((None, f"{low}-{rng.randint(low, units)}")),
        centre_below_u=rng.choice((None, None, rng.randint(1, units))),
        spare_mm=Decimal(rng.choice((200, 300))),
        air_m3_h=Decimal(60),
        rank=tuple(rank[: rng.randint(1, 3)]),
    )
    return RackStand(rack, ("rack", "R"), tuple(sorted(pieces, key=lambda p: p.name)), tuple(runs), 24_000, 0)


def placements(stand: RackStand) -> Iterator[dict[str, int]]:
    """Every way to give each thing units of its own."""
    pieces = stand.pieces

    def given(n: int, taken: int, at: dict[str, int]) -> Iterator[dict[str, int]]:
        if n == len(pieces):
            yield dict(at)
            return
        mask = (1 << pieces[n].height_u) - 1
        for unit in range(1, stand.rack.units - pieces[n].height_u + 2):
            if not taken & mask << unit:
                yield from given(n + 1, taken | mask << unit, {**at, pieces[n].name: unit})

    return given(0, 0, {})


def _drawn(stand: RackStand, at: dict[str, int]) -> list[str]:
    """What is in each unit, from the foot up; nothing below unit 1 and above the last is free."""
    column = ["outside", *[""] * stand.rack.units, "outside"]
    for piece in stand.pieces:
        for unit in range(at[piece.name], at[piece.name] + piece.height_u):
            column[unit] = piece.name
    return column


def _length(stand: RackStand, at: dict[str, int], ends: tuple[str, str]) -> int:
    heights = {piece.name: piece.height_u for piece in stand.pieces}
    one, other = (2 * at[end] + heights[end] for end in ends)
    return abs(one - other) * HALF_UM + int(stand.rack.spare_mm * 1000)


def _heat_below(stand: RackStand, at: dict[str, int], piece: Piece) -> int:
    return sum(p.heat_mw or 0 for p in stand.pieces if p.warms and p is not piece and at[p.name] < at[piece.name])


def keeps(stand: RackStand, at: dict[str, int]) -> bool:  # noqa: PLR0911 - a rule after the other
    """Whether a placement without overlaps keeps every rule."""
    column, rack = _drawn(stand, at), stand.rack
    by_name = {piece.name: piece for piece in stand.pieces}
    for piece in stand.pieces:
        low, high = at[piece.name], at[piece.name] + piece.height_u - 1
        if piece.at is not None and low != piece.at:
            return False
        if piece.draught and (column[low - 1] or column[high + 1]):
            return False
        if piece.feeds is not None and "" not in column[high + 1 : at[piece.feeds]]:
            return False
        if rack.depth_mm is not None and (piece.depth_um or 0) > 1000 * rack.depth_mm:
            return False
        if piece.most_below_mw is not None and _heat_below(stand, at, piece) > piece.most_below_mw:
            return False
        if piece.in_reach and rack.reach is not None:
            first, last = map(int, rack.reach.split("-"))
            if low < first or high > last:
                return False
        for frame in stand.pieces:
            if piece.keep_away_u and frame.microphones:
                near = column[max(1, low - piece.keep_away_u) : high + piece.keep_away_u + 1]
                if frame.name in near:
                    return False
    if any(run.most_um is not None and _length(stand, at, run.ends) > run.most_um for run in stand.runs):
        return False
    weights = {name: piece.weight_g or 0 for name, piece in by_name.items()}
    if rack.most_kg is not None and sum(weights.values()) > 1000 * rack.most_kg:
        return False
    if rack.centre_below_u is None or not sum(weights.values()):
        return True
    centre = sum(w * (at[n] - 1 + Decimal(by_name[n].height_u) / 2) for n, w in weights.items()) / sum(weights.values())
    return centre <= rack.centre_below_u


def merit(stand: RackStand, at: dict[str, int]) -> tuple[int, ...]:
    """What a placement comes to in the order of the rack, less is better; then weight up high, then names."""
    column = _drawn(stand, at)
    aired = set()
    for piece in stand.pieces:
        if piece.draught:
            aired |= {at[piece.name] - 1, at[piece.name] + piece.height_u}
    most = run = 0
    for unit in range(1, stand.rack.units + 1):
        run = run + 1 if not column[unit] and unit not in aired else 0
        most = max(most, run)
    figures = {
        "cables": sum(r.count * _length(stand, at, r.ends) for r in stand.runs),
        "reserve": -most,
        "inlet": max((_heat_below(stand, at, p) for p in stand.pieces if p.most_below_mw is not None), default=0),
    }
    moment = sum((p.weight_g or 0) * (2 * at[p.name] - 2 + p.height_u) for p in stand.pieces)
    names = sum((len(stand.pieces) - n) * at[p.name] for n, p in enumerate(stand.pieces))
    return (*(figures[criterion] for criterion in stand.rack.rank), moment, names)


def best(stand: RackStand) -> tuple[int, ...] | None:
    """The merit of the best placement; None where there is none."""
    return min((merit(stand, at) for at in placements(stand) if keeps(stand, at)), default=None)

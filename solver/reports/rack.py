"""The document of `rack`: where everything goes in each rack, what that comes to, or why it cannot be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from solver.physics.rack import UNIT_UM, people
from solver.racks import measures
from solver.racks.limit import Placement, RackLimit
from solver.racks.pieces import Piece, RackStand
from solver.racks.rules import ALL, broken
from solver.racks.rules.inlet import below_mw, untold_below
from solver.racks.rules.lengths import length_um
from solver.racks.rules.low import centre_u
from solver.reports.element import BrokenLimit, Element, FileFault
from solver.room.words import in_thousandths, write_ranges


class RackPlace(Element):
    """One thing in its place, from `unit` up; figures that no file has are null.

    `heat_w` and `weight_kg` are what is known; `unheated` and `weightless` name what in it has no figure for that.
    """

    name: str
    kind: Literal["frame", "supply", "bay", "item"]
    unit: int
    height_u: int
    depth_mm: float | None = None
    weight_kg: float | None = None
    heat_w: float | None = None
    unheated: list[str] = []
    weightless: list[str] = []
    people: int | None = None
    on_rails: bool = False
    rise_k: float | None = None
    most_rise_k: float | None = None
    rise_untold: bool = False


class RackLength(Element):
    """Cables from one thing to another, and how long each has to be."""

    ends: list[str]
    count: int
    length_mm: float
    most_mm: float | None = None


class RackWayOut(Element):
    """What gives way together, in words."""

    changes: list[str]


class RackSheet(Element):
    """One rack: everything in its place, from above; or what would make places, and what clashes."""

    name: str
    room: str | None = None
    units: int
    outcome: Literal["found", "impossible", "unknown", "drawn"]
    proven: bool = False
    places: list[RackPlace] = []
    lengths: list[RackLength] = []
    cables_mm: float | None = None
    air: list[int] = []
    reserve: str | None = None
    weight_kg: float | None = None
    centre_u: float | None = None
    ways: list[RackWayOut] = []
    complete: bool = False
    clash: list[str] = []
    not_checked: list[str] = []


class Racks(Element):
    """The racks of a scenario with a build that stands in them."""

    format: Literal[1] = 1
    scenario: str
    outcome: Literal["found", "impossible", "unknown", "faulty"]
    proven: bool = False
    racks: list[RackSheet] = []
    faults: list[BrokenLimit] = []
    notes: list[str] = []
    assumed: list[str] = []
    warnings: list[FileFault] = []


def kind_of(stand: RackStand, piece: Piece) -> Literal["frame", "supply", "bay", "item"]:
    """What a thing in a rack is."""
    if piece.feeds is not None:
        return "supply"
    return "frame" if piece.name in stand.rack.frames else "bay" if piece.name in stand.rack.bays else "item"


def rack_faults(placement: Placement, room: str | None) -> Iterator[BrokenLimit]:
    """Every rule that a drawn rack breaks."""
    name = placement.stand.rack.name
    for limit, used, told in broken(placement):
        subject = ", ".join(limit.about) or name
        yield BrokenLimit(
            rule=limit.rule,
            room=room,
            frame=None,
            slot=None,
            subject=subject,
            found=used,
            limit=limit.bound,
            unit=limit.unit,
            text=f"rack {name}: {told}",
        )


def sheet(
    placement: Placement, room: str | None, outcome: Literal["found", "drawn"], *, proven: bool = False
) -> RackSheet:
    """A rack with everything in its place."""
    stand = placement.stand
    centre = centre_u(placement)
    aired = sorted(
        unit
        for piece in placement.placed
        if piece.draught
        for unit in (placement.units(piece.name)[0] - 1, placement.units(piece.name)[-1] + 1)
        if placement.free(unit)
    )
    return RackSheet(
        name=stand.rack.name,
        room=room,
        units=stand.rack.units,
        outcome=outcome,
        proven=proven,
        places=sorted((_place(placement, piece) for piece in placement.placed), key=lambda p: (-p.unit, p.name)),
        lengths=[
            RackLength(
                ends=list(run.ends),
                count=run.count,
                length_mm=length / 1000,
                most_mm=None if run.most_um is None else run.most_um / 1000,
            )
            for run in stand.runs
            if (length := length_um(placement, run)) is not None
        ],
        cables_mm=measures.cables_um(placement) / 1000 if stand.runs else None,
        air=sorted(set(aired)),
        reserve=write_ranges(measures.reserve(placement)),
        weight_kg=sum(piece.weight_g or 0 for piece in placement.placed) / 1000,
        centre_u=None if centre is None else round(centre, 2),
        not_checked=list(stand.not_checked),
    )


def _place(placement: Placement, piece: Piece) -> RackPlace:
    stand = placement.stand
    kind = kind_of(stand, piece)
    units = placement.units(piece.name)
    top_um = in_thousandths(stand.rack.foot_mm) + units[-1] * UNIT_UM
    most_mw = piece.most_below_mw
    breathes = piece.draught or (kind == "item" and piece.warms and (piece.heat_mw != 0 or most_mw is not None))
    rise = stand.rise_mk(below_mw(placement, piece)) if breathes else None
    most = None if most_mw is None else stand.rise_mk(max(0, most_mw))
    return RackPlace(
        name=piece.name,
        kind=kind,
        unit=units[0],
        height_u=piece.height_u,
        depth_mm=None if piece.depth_um is None else piece.depth_um / 1000,
        weight_kg=None if piece.weight_g is None else piece.weight_g / 1000,
        heat_w=None if piece.heat_mw is None else piece.heat_mw / 1000,
        unheated=list(piece.unheated),
        weightless=list(piece.weightless),
        people=None if piece.weight_g is None else people(piece.weight_g, top_um),
        on_rails=piece.weight_g is not None and piece.weight_g > in_thousandths(stand.rack.ears_kg),
        rise_k=None if rise is None else rise / 1000,
        most_rise_k=None if most is None else most / 1000,
        rise_untold=rise is not None and untold_below(placement, piece),
    )


def way_out(stand: RackStand, given: Sequence[tuple[RackLimit, int]]) -> RackWayOut:
    """Limits that give way together, in words."""
    return RackWayOut(changes=[ALL[limit.rule].way(stand, limit, amount) for limit, amount in given])


def clash_texts(stand: RackStand, clash: Sequence[RackLimit]) -> list[str]:
    """Limits that cannot all be kept, in words."""
    return [ALL[limit.rule].told(stand, limit) for limit in clash]

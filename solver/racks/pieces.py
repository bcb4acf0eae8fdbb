"""The facts of one rack for one build: what stands in it, in whole units, micrometres, grams and milliwatts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil

from solver.fitted.frame import FrameStanding
from solver.fitted.standing import Standing
from solver.physics import rack as physics
from solver.racks.figures import at_least_kg
from solver.room.racks import Rack, RackItem, supply_names
from solver.room.scenario import Room
from solver.room.words import in_thousandths, parse_ranges

MIC = "mic"
"""The signal that an outside supply keeps away from."""


@dataclass(frozen=True)
class Piece:
    """One thing in a rack. Figures that no file has are None.

    `heat_mw` and `weight_g` are what is known of its heat and weight, `unheated` and `weightless` name what in it has
    no figure for that. `warms`: its heat goes up the rack. `draught`: air rises through it, so that the units directly
    below and above stay free. `most_below_mw` is the most heat that may rise to its inlet. `feeds` names the frame that
    it supplies.
    """

    name: str
    height_u: int
    depth_um: int | None = None
    weight_g: int | None = None
    heat_mw: int | None = None
    unheated: tuple[str, ...] = ()
    weightless: tuple[str, ...] = ()
    warms: bool = True
    draught: bool = False
    most_below_mw: int | None = None
    at: int | None = None
    keep_away_u: int = 0
    microphones: bool = False
    in_reach: bool = False
    feeds: str | None = None


@dataclass(frozen=True)
class Run:
    """Cables between two pieces, all of the same length; `most_um` is the longest that they may be."""

    ends: tuple[str, str]
    count: int
    most_um: int | None
    source: tuple[str | int, ...] | None = None


@dataclass(frozen=True)
class RackStand:
    """One rack, what stands in it and what joins that. `not_checked` says what no file tells."""

    rack: Rack
    path: tuple[str | int, ...]
    pieces: tuple[Piece, ...]
    runs: tuple[Run, ...]
    inlet_mk: int | None
    altitude_m: int
    not_checked: tuple[str, ...] = ()

    @cached_property
    def by_name(self) -> Mapping[str, Piece]:
        """The pieces by what they are called."""
        return {piece.name: piece for piece in self.pieces}

    @property
    def spare_um(self) -> int:
        """What a cable takes beside its way up or down."""
        return in_thousandths(self.rack.spare_mm)

    @property
    def reach(self) -> range | None:
        """The units within reach."""
        if self.rack.reach is None:
            return None
        units = parse_ranges(self.rack.reach)
        return range(units[0], units[-1] + 1)

    def rise_mk(self, heat_mw: int) -> int | None:
        """How much warmer so much heat below makes the air; None where the flow or the inlet is not known."""
        if self.rack.air_m3_h is None or self.inlet_mk is None:
            return None
        return physics.rise_mk(heat_mw, float(self.rack.air_m3_h), self.inlet_mk, self.altitude_m)

    def heat_for_mw(self, rise_mk: int) -> int | None:
        """The most heat below that makes no more of a rise; None as for `rise_mk`."""
        if self.rack.air_m3_h is None or self.inlet_mk is None:
            return None
        return physics.heat_for_rise_mw(rise_mk, float(self.rack.air_m3_h), self.inlet_mk, self.altitude_m)


def racks_of(standing: Standing, room: Room) -> list[RackStand]:
    """The racks of a room in the order of the file, with what stands in them by a build; frames not used are left out.

    Parameters
    ----------
    standing
        The build as it stands in the room.
    room
        The room, as the scenario has it.
    """
    return [_Filling(standing, room, rack).stand for rack in room.rack]


@dataclass(frozen=True)
class _Filling:
    standing: Standing
    room: Room
    rack: Rack

    @property
    def stand(self) -> RackStand:
        scenario = self.standing.survey.scenario
        air = scenario.air_in(self.room)
        inlet_c = self.rack.inlet_c if self.rack.inlet_c is not None else air.inlet_c if air else None
        bare = RackStand(
            rack=self.rack,
            path=(*(("room", self.room.name) if scenario.room else ()), "rack", self.rack.name),
            pieces=(),
            runs=(),
            inlet_mk=None if inlet_c is None else in_thousandths(inlet_c),
            altitude_m=0 if air is None else ceil(air.altitude_m),
        )
        used = [self.standing.by_name[name] for name in self.rack.frames if name in self.standing.by_name]
        heights = {bay.name: bay.pairs for bay in self.room.bay}
        pieces = [piece for frame in used for piece in self._of_frame(frame, bare)]
        pieces += [Piece(name, heights[name], heat_mw=0, weightless=(name,), in_reach=True) for name in self.rack.bays]
        pieces += [self._item(item, bare) for item in self.rack.item]
        pieces = [replace(piece, at=self.rack.at.get(piece.name)) for piece in pieces]
        there = {piece.name for piece in pieces}
        runs = [run for frame in used for run in _leads(frame)]
        runs += [
            Run(
                cable.ends,
                cable.count,
                None if cable.most_mm is None else in_thousandths(cable.most_mm),
                (*bare.path, "cable", n, "most_mm"),
            )
            for n, cable in enumerate(self.rack.cable)
            if there.issuperset(cable.ends)
        ]
        whole = replace(bare, pieces=tuple(sorted(pieces, key=lambda p: p.name)), runs=tuple(runs))
        return replace(whole, not_checked=tuple(_not_checked(whole, [f for f in self.rack.frames if f not in there])))

    def _of_frame(self, frame: FrameStanding, bare: RackStand) -> Iterator[Piece]:
        """A frame and its outside supplies."""
        chassis, name = frame.site.chassis, frame.site.name
        draught = chassis.air is not None and chassis.air.path == "draught"
        kinds = [seat.kind for seat in frame.seats]
        board = frame.board
        weights = [(chassis.id, chassis.weight_kg), (board.id, board.weight_kg)]
        weights += [(kind.card.id, kind.card.weight_kg) for kind in kinds]
        known = [in_thousandths(weight) for _, weight in weights if weight is not None]
        unheated = {kind.id for kind in kinds if kind.heat_mw is None} | ({board.id} if board.heat_w is None else set())
        yield Piece(
            name,
            chassis.height_u,
            depth_um=None if chassis.depth_mm is None else in_thousandths(chassis.depth_mm),
            weight_g=sum(known) if known else None,
            heat_mw=frame.site.shared_mw[board.id] + sum(kind.heat_mw or 0 for kind in kinds),
            unheated=tuple(sorted(unheated)),
            weightless=tuple(sorted({what for what, weight in weights if weight is None})),
            warms=draught,
            draught=draught,
            most_below_mw=_permitted(frame, bare, self.standing.survey.refuse_mk) if draught else None,
            microphones=any(MIC in port.signals for kind in kinds for port in kind.card.ports),
        )
        supply = chassis.supply
        for called in supply_names(name, chassis):
            yield Piece(
                called,
                supply.height_u,
                depth_um=None if supply.depth_mm is None else in_thousandths(supply.depth_mm),
                weight_g=None if supply.weight_kg is None else in_thousandths(supply.weight_kg),
                weightless=(called,) if supply.weight_kg is None else (),
                heat_mw=in_thousandths(supply.loss_w),
                keep_away_u=supply.keep_away_u,
                feeds=name,
            )

    def _item(self, item: RackItem, bare: RackStand) -> Piece:
        limit = None
        if item.air == "below" and item.air_limit_c is not None and bare.inlet_mk is not None:
            limit = bare.heat_for_mw(in_thousandths(item.air_limit_c) - bare.inlet_mk)
        return Piece(
            item.name,
            item.height_u,
            depth_um=None if item.depth_mm is None else in_thousandths(item.depth_mm),
            weight_g=None if item.weight_kg is None else in_thousandths(item.weight_kg),
            weightless=(item.name,) if item.weight_kg is None else (),
            heat_mw=None if item.heat_w is None else in_thousandths(item.heat_w),
            unheated=(item.name,) if item.heat_w is None else (),
            warms=item.air == "below",
            most_below_mw=limit,
            keep_away_u=item.keep_away_u,
            in_reach=item.in_reach,
        )


def _leads(frame: FrameStanding) -> Iterator[Run]:
    """The leads from a frame's outside supplies."""
    lead = frame.site.chassis.supply.lead_mm
    for called in supply_names(frame.site.name, frame.site.chassis):
        yield Run((called, frame.site.name), 1, None if lead is None else in_thousandths(lead))


def _permitted(frame: FrameStanding, bare: RackStand, refuse_mk: int) -> int | None:
    """The most heat below at which a frame of a build keeps its least margin: its inlet is warmer by the rise."""
    site, layout = frame.site, frame.layout
    if site.air is None or layout is None:
        return None
    least: int | None = None
    for gap, margin in frame.gap_margins():
        left, right = frame.occupant(gap), frame.occupant(gap + 1)
        one, other = (seat.kind if seat else None for seat in (left, right))
        low, high = (-1, max(0, margin - refuse_mk))
        while low < high:
            middle = (low + high + 1) // 2
            warmer = replace(site, air=replace(site.air, inlet_mk=site.air.inlet_mk + middle))
            own = warmer.margin_mk(one, other, layout.board)
            low, high = (middle, high) if own is not None and own >= refuse_mk else (low, middle - 1)
        least = low if least is None else min(least, low)
    return None if least is None else bare.heat_for_mw(least)


def _within(piece: Piece, lacking: tuple[str, ...]) -> str:
    """What has no figure, by what it is in."""
    own = ", ".join(lacking)
    return own if lacking == (piece.name,) else f"{own} in {piece.name}"


def _known_g(stand: RackStand) -> int:
    """What is known to stand in the rack, g."""
    return sum(piece.weight_g or 0 for piece in stand.pieces)


def _weighed(stand: RackStand) -> bool:
    """Whether a rule asks what things weigh."""
    return stand.rack.most_kg is not None or stand.rack.centre_below_u is not None


def _not_checked(stand: RackStand, absent: list[str]) -> Iterator[str]:
    """What no file tells, and so no rule looked at."""
    for what, missing in (
        ("depth", [p.name for p in stand.pieces if p.depth_um is None] if stand.rack.depth_mm is not None else []),
        ("weight", [_within(p, p.weightless) for p in stand.pieces if p.weightless] if _weighed(stand) else []),
        (
            "heat",
            [_within(p, p.unheated) for p in stand.pieces if p.unheated and p.warms] if stand.rack.air_m3_h else [],
        ),
    ):
        if missing:
            known = f"; at least {at_least_kg(_known_g(stand))}" if what == "weight" else ""
            yield f"{what}: {', '.join(missing)} {'has' if len(missing) == 1 else 'have'} no figure{known}"
    if stand.rack.air_m3_h is None and any(piece.draught for piece in stand.pieces):
        yield "warm air from below: this rack does not say what air goes up through it (air_m3_h)"
    elif stand.inlet_mk is None and any(piece.draught for piece in stand.pieces):
        yield "warm air from below: nothing says how warm the air is at the foot (inlet_c)"
    unled = [run.ends[0] for run in stand.runs if run.most_um is None and stand.by_name[run.ends[0]].feeds]
    if unled:
        yield f"lead: {', '.join(unled)} {'has' if len(unled) == 1 else 'have'} no length (lead_mm)"
    if absent:
        yield f"frame {', '.join(absent)} is not used by this build and has no place"

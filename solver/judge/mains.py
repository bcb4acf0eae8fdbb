"""What frames draw from the mains and what breakers carry, in whole milliwatts and milliamperes, and what is too much.

Everything is counted at full load: what is really drawn is less.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from solver.fitted.frame import FrameStanding
from solver.fitted.mains import mains_mw, undrawn
from solver.fitted.standing import Standing
from solver.physics import mains as physics
from solver.room.faults import quote
from solver.room.mains import Breaker, Mains, inlet_names
from solver.room.scenario import Room
from solver.room.words import enumerated, in_thousandths

Fault: TypeAlias = tuple[str, str, int, int, str]
"""Code, what it is about, what is found and the limit in mA, and how it is told."""


@dataclass(frozen=True)
class FrameDraw:
    """What a frame draws at most. Figures that no file has are None.

    `each_ma` is what one of its supplies draws where all of them work, at the nominal voltage, `alone_ma` what one
    draws at the lowest voltage where it carries all.
    """

    frame: FrameStanding
    inlets: tuple[str, ...]
    real_mw: int | None
    apparent_mva: int | None
    each_ma: int | None
    alone_ma: int | None


@dataclass(frozen=True)
class BreakerLoad:
    """What a breaker carries. `usual_ma` counts supplies that share, `most_ma` those here carrying all.

    `inrush_ma` is what comes at once where all is switched on together, `leakage_ua` what leaks in use. What is not
    known of some of it is None.
    """

    breaker: Breaker
    inlets: tuple[str, ...]
    usual_ma: int | None
    most_ma: int | None
    inrush_ma: int | None
    leakage_ua: int | None

    @property
    def rated_ma(self) -> int:
        """Its rating."""
        return in_thousandths(self.breaker.rated_a)

    @property
    def continuous_ma(self) -> int:
        """What it carries continuously by common rule."""
        return self.rated_ma * physics.CONTINUOUS_PERCENT // 100

    @property
    def least_trip_ma(self) -> int | None:
        """What may trip it at once."""
        curve = self.breaker.curve
        return None if curve is None else self.rated_ma * physics.LEAST_TRIP[curve]

    @property
    def standing_ua(self) -> int | None:
        """What may leak in use."""
        rcd = self.breaker.rcd_ma
        return None if rcd is None else in_thousandths(rcd) * physics.STANDING_PERCENT // 100


def draws(standing: Standing, mains: Mains | None) -> list[FrameDraw]:
    """What each frame of a build draws."""
    return [_draw(frame, mains) for frame in standing.frames]


def _draw(frame: FrameStanding, mains: Mains | None) -> FrameDraw:
    supply = frame.site.chassis.supply
    real = mains_mw(frame)
    apparent = each = alone = None
    if real is not None and supply.power_factor is not None:
        factor = int(supply.power_factor * 100)
        apparent = physics.apparent_mva(real, factor)
        if mains is not None:
            lowest = mains.volts * physics.LOWEST_PERCENT // 100
            each = physics.current_ma(-(-real // supply.count), factor, mains.volts)
            alone = physics.current_ma(real if supply.count > 1 else -(-real // supply.count), factor, lowest)
    return FrameDraw(frame, inlet_names(frame.site.name, frame.site.chassis), real, apparent, each, alone)


def loads(room: Room, drawn: Sequence[FrameDraw]) -> list[BreakerLoad]:
    """What each breaker of a room carries."""
    return [_load(breaker, drawn) for breaker in room.breaker]


def _load(breaker: Breaker, drawn: Sequence[FrameDraw]) -> BreakerLoad:
    other = in_thousandths(breaker.other_a) if breaker.other_a is not None else 0
    leaks = in_thousandths(breaker.other_leakage_ma) if breaker.other_leakage_ma is not None else 0
    inlets: list[str] = []
    usual: list[int | None] = [other]
    most: list[int | None] = [other]
    inrush: list[int | None] = []
    leakage: list[int | None] = [leaks]
    for draw in drawn:
        here = fed_by(breaker, draw)
        inlets += here
        supply = draw.frame.site.chassis.supply
        if here:
            usual.append(None if draw.each_ma is None else len(here) * draw.each_ma)
            most.append(draw.alone_ma)
            inrush += [None if supply.inrush_a is None else in_thousandths(supply.inrush_a)] * len(here)
            leakage += [None if supply.leakage_ma is None else in_thousandths(supply.leakage_ma)] * len(here)
    return BreakerLoad(breaker, tuple(inlets), _sum(usual), _sum(most), _sum(inrush), _sum(leakage))


def fed_by(breaker: Breaker, draw: FrameDraw) -> list[str]:
    """The inlets of a frame that a breaker feeds."""
    whole = draw.frame.site.name in breaker.feeds
    return [inlet for inlet in draw.inlets if whole or inlet in breaker.feeds]


def _sum(amounts: Sequence[int | None]) -> int | None:
    return None if None in amounts else sum(amount for amount in amounts if amount is not None)


def faults(drawn: Sequence[FrameDraw], carried: Sequence[BreakerLoad]) -> Iterator[Fault]:
    """What is too much for an inlet, a breaker or a residual-current device."""
    for draw in drawn:
        inlet = draw.frame.site.chassis.supply.inlet
        if inlet is not None and draw.alone_ma is not None and draw.alone_ma > physics.INLET_MA[inlet]:
            most, name = physics.INLET_MA[inlet], draw.frame.site.name
            told = f"{quote(name)} may draw {_a(draw.alone_ma)} through one {inlet} inlet, rated {_a(most)}"
            yield "mains-inlet", name, draw.alone_ma, most, told
    for load in carried:
        name = load.breaker.name
        if load.most_ma is not None and load.most_ma > load.continuous_ma:
            told = f"breaker {quote(name)} may carry {_a(load.most_ma)}; continuously at most "
            told += f"{_a(load.continuous_ma)}, {physics.CONTINUOUS_PERCENT} % of its rating"
            yield "mains-breaker", name, load.most_ma, load.continuous_ma, told
        if load.standing_ua is not None and load.leakage_ua is not None and load.leakage_ua > load.standing_ua:
            told = f"what leaks behind breaker {quote(name)}, {load.leakage_ua / 1000:.2f} mA, is over "
            told += f"{physics.STANDING_PERCENT} % of its residual-current device, {load.standing_ua / 1000:.2f} mA"
            yield "mains-leakage", name, -(-load.leakage_ua // 1000), load.standing_ua // 1000, told


def warnings(drawn: Sequence[FrameDraw], carried: Sequence[BreakerLoad]) -> Iterator[str]:
    """What works and may not when it matters."""
    for draw in drawn:
        name = draw.frame.site.name
        feeding = [load.breaker.name for load in carried if fed_by(load.breaker, draw)]
        if len(draw.inlets) > 1 and len(feeding) == 1:
            yield f"all supplies of frame {name} hang on breaker {feeding[0]}: when that trips they are all off"
    for load in carried:
        if load.inrush_ma is not None and load.least_trip_ma is not None and load.inrush_ma > load.least_trip_ma:
            yield (
                f"breaker {load.breaker.name} may trip when all on it is switched on at once, {_a(load.inrush_ma)} "
                f"against {_a(load.least_trip_ma)}: switch it on one after the other"
            )


def not_checked(drawn: Sequence[FrameDraw], carried: Sequence[BreakerLoad]) -> Iterator[str]:
    """What no file tells, so that it was left aside."""
    for draw in drawn:
        supply, name = draw.frame.site.chassis.supply, draw.frame.site.name
        missing = [f"currents of {item}" for item in undrawn(draw.frame)]
        missing += ["power_factor"] if supply.power_factor is None else []
        missing += ["inlet"] if supply.inlet is None else []
        if missing:
            yield f"frame {name}: no {enumerated(missing)}"
        if not supply.loss_w:
            yield f"frame {name}: no loss_w of its supply, so it draws more than is shown"
        if carried and not any(fed_by(load.breaker, draw) for load in carried):
            yield f"frame {name}: no breaker feeds it"
    for load in carried:
        missing = ["what it carries"] if load.most_ma is None else []
        missing += ["inrush"] if load.inlets and (load.inrush_ma is None or load.least_trip_ma is None) else []
        missing += ["leakage"] if load.leakage_ua is None or load.standing_ua is None else []
        if missing:
            yield f"breaker {load.breaker.name}: {enumerated(missing)}"


def _a(milliamperes: int) -> str:
    return f"{-(-milliamperes // 10) / 100:.2f} A"

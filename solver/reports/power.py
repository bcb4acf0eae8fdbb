"""The document of `power`: what frames draw from the mains, what breakers carry, and what a year of it takes."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from math import ceil
from typing import Literal

from solver.judge.mains import BreakerLoad, Fault, FrameDraw
from solver.physics.air import watts_to_btu_h
from solver.physics.mains import year_kwh
from solver.reports.element import BrokenLimit, Element, FileFault
from solver.room.mains import Mains


class FramePower(Element):
    """What one frame draws at most, at full load."""

    frame: str
    room: str | None = None
    supplies: int
    rails_w: float | None = None
    loss_w: float | None = None
    mains_w: float | None = None
    mains_va: float | None = None
    heat_btu_h: int | None = None
    each_a: float | None = None
    alone_a: float | None = None
    inlet: str | None = None
    year_kwh: int | None = None


class BreakerPower(Element):
    """What one breaker carries at most."""

    name: str
    room: str | None = None
    feeds: list[str]
    rated_a: float
    usual_a: float | None = None
    most_a: float | None = None
    continuous_a: float
    inrush_a: float | None = None
    trip_a: float | None = None
    leakage_ma: float | None = None
    most_leakage_ma: float | None = None


class Power(Element):
    """What a build draws from the mains."""

    format: Literal[1] = 1
    scenario: str
    currency: str
    outcome: Literal["clean", "faulty"]
    volts: int | None = None
    hours_a_year: int | None = None
    frames: list[FramePower] = []
    breakers: list[BreakerPower] = []
    mains_w: float | None = None
    year_kwh: int | None = None
    year_cost: str | None = None
    faults: list[BrokenLimit] = []
    notes: list[str] = []
    not_checked: list[str] = []
    warnings: list[FileFault] = []


def frame_power(room: str | None, draw: FrameDraw, mains: Mains | None) -> FramePower:
    """One frame."""
    supply, real = draw.frame.site.chassis.supply, draw.real_mw
    return FramePower(
        frame=draw.frame.site.name,
        room=room,
        supplies=supply.count,
        rails_w=None if real is None else real / 1000 - float(supply.all_loss_w),
        loss_w=float(supply.all_loss_w) or None,
        mains_w=_thousandth(real),
        mains_va=_thousandth(draw.apparent_mva),
        heat_btu_h=None if real is None else ceil(watts_to_btu_h(real / 1000)),
        each_a=_thousandth(draw.each_ma),
        alone_a=_thousandth(draw.alone_ma),
        inlet=supply.inlet,
        year_kwh=None if real is None or mains is None else year_kwh(real, mains.hours_a_year),
    )


def breaker_power(room: str | None, load: BreakerLoad) -> BreakerPower:
    """One breaker."""
    return BreakerPower(
        name=load.breaker.name,
        room=room,
        feeds=list(load.inlets),
        rated_a=load.rated_ma / 1000,
        usual_a=_thousandth(load.usual_ma),
        most_a=_thousandth(load.most_ma),
        continuous_a=load.continuous_ma / 1000,
        inrush_a=_thousandth(load.inrush_ma),
        trip_a=_thousandth(load.least_trip_ma),
        leakage_ma=_thousandth(load.leakage_ua),
        most_leakage_ma=_thousandth(load.standing_ua),
    )


def broken(room: str | None, fault: Fault) -> BrokenLimit:
    """A fault as documents have it."""
    code, subject, found, limit, text = fault
    return BrokenLimit(
        rule=code, room=room, frame=None, slot=None, subject=subject, found=found, limit=limit, unit="mA", text=text
    )


def year_of(frames: Sequence[FramePower], mains: Mains | None, decimals: int) -> tuple[int | None, str | None]:
    """Energy of a year and what it costs; None where a figure is missing."""
    each = [frame.year_kwh for frame in frames]
    if None in each or mains is None:
        return None, None
    total = sum(kwh for kwh in each if kwh is not None)
    if mains.kwh_price is None:
        return total, None
    return total, f"{total * mains.kwh_price:.{decimals}f}" if decimals else str(round(total * mains.kwh_price))


def _thousandth(amount: int | None) -> float | None:
    return None if amount is None else float(Decimal(amount) / 1000)

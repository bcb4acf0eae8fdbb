"""How much heat the air in a gap between two slots carries away, and how far it stays below a limit.

A planning estimate, not a measurement. Temperatures are whole millikelvin (or millidegrees Celsius) and heat
is whole milliwatts, so that a search and a check can compare them without rounding.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, replace
from functools import cache
from math import floor, sqrt

from solver.physics.air import CP, ZERO_C, G, gas_density_kg_m3

DISCHARGE = 0.65
"""Discharge coefficient C_D of several openings with one-way flow (ASHRAE Fundamentals, chapter 16)."""

GREATEST_RISE_MK = 400_000
"""Rise at which `margin_mk` stops looking, mK: far past anything that electronics survive (own choice)."""

FACTOR_RANGE = (0.25, 4.0)
"""Least and greatest believable measured share of the estimated flow; outside it, one of the figures is wrong
(own choice, no source)."""


@dataclass(frozen=True, slots=True)
class Fan:
    """A fan that blows through the whole frame, shared evenly over its gaps and what lets air past them.

    `flow_m3_h` is its flow in m3/h; `derate`, above 0 to 1, is what filters and bends leave of it; `past` is what open
    slots let by, counted in gaps (`solver.physics.bypass`).
    """

    flow_m3_h: float
    derate: float
    past: float = 0.0


@dataclass(frozen=True, slots=True)
class Draught:
    """Warm air that rises by itself. All areas are free areas in cm2, above 0.

    The gap and its openings count for each gap; the vents directly below and above count for the whole frame
    and are shared evenly over its gaps, None where there is no such panel. `stack_mm` is the height of the
    column in mm, above 0: from the lower edge of the cards, at the lower opening, to the upper opening. Over
    its lowest `card_mm`, above 0, the air warms evenly, and above that it keeps its warmth; None is the whole
    column.
    """

    gap_area_cm2: float
    opening_below_cm2: float
    opening_above_cm2: float
    stack_mm: float
    vent_below_cm2: float | None = None
    vent_above_cm2: float | None = None
    card_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Air:
    """The air on its way through a frame.

    `gaps` counts the gaps (1 or more). `inlet_mk` is the temperature at the frame's inlet in millidegrees
    Celsius, with the rise that things below it cause. `altitude_m` is the height above the sea in m.
    `flow_factor` is the measured share of the estimated flow, 1 where nothing was measured.
    """

    path: Fan | Draught
    gaps: int
    inlet_mk: int
    altitude_m: int
    flow_factor: float = 1.0


def stack_flow_m3_s(area_m2: float, height_to_neutral_m: float, inside_k: float, outside_k: float) -> float:
    """Airflow through an opening below a column of warm air.

    Parameters
    ----------
    area_m2
        Free area of the opening in m2, 0 or more.
    height_to_neutral_m
        Height from the opening to the level of equal pressure inside and outside, in m, 0 or more.
    inside_k, outside_k
        Temperatures inside and outside in K, above 0, inside no colder than outside.

    Returns
    -------
    float
        Volume flow in m3/s.

    Raises
    ------
    ValueError
        A figure outside its range.

    Notes
    -----
    Q = C_D A sqrt(2 g dH (Ti - To) / Ti), ASHRAE Handbook of Fundamentals, chapter 16.
    """
    if not (area_m2 >= 0 and height_to_neutral_m >= 0):
        raise ValueError(f"area {area_m2:g} m2 or height {height_to_neutral_m:g} m is below 0")
    if not inside_k >= outside_k > 0:
        raise ValueError(f"inside {inside_k:g} K must be at least outside {outside_k:g} K, that above 0 K")
    return DISCHARGE * area_m2 * sqrt(2 * G * height_to_neutral_m * (inside_k - outside_k) / inside_k)


EVEN = 0.5
"""Mean excess of the air beside the cards, as a share of that at their top, where heat is even over their height."""


def gap_flow_m3_s(air: Air, rise_k: float, warm_share: float = EVEN) -> float:
    """Airflow through one gap while the air that leaves it is warmer than the inlet by a rise.

    Parameters
    ----------
    air
        The air's path and its inlet.
    rise_k
        Rise of the gap's warmest air, at its top, over the inlet in K, 0 or more.
    warm_share
        Mean excess over the height of the cards as a share of `rise_k`, 0 to 1: 1 where all heat is at their lower
        edge, 0 where it is at the upper one.

    Returns
    -------
    float
        Volume flow in m3/s, counted as inlet air; a fan's does not depend on the rise, a draught's is 0
        without one.

    Raises
    ------
    ValueError
        A rise below 0, a share outside its range, fewer gaps than 1, or an area or a height of the path outside its
        range.

    Notes
    -----
    A column of height H is as much lighter than the outside air as its density falls short on average. With
    Tm the column's mean temperature that is rho_o g H (Tm - To) / Tm, whatever the profile, but for the square
    of the rise over To: up to a rise of 28 K that is under 0.2 K of the rise. Heat that is even over the height
    of the cards, h, warms the air in proportion to the height, so the mean excess is half of the outlet's there
    and all of it above: Tm - To = rise (1 - h / (2 H)), or with another share than a half rise (1 - (1 - share) h / H).

    Each constriction takes (Q / C_D A)^2 rho_o / 2 times rho_o / rho of the air in it, for a mass flow
    rho_o Q; warm air counts by T / To. So constrictions in series add as T / To / A^2, and their sum takes
    the place of 1/A^2 in the stack-effect equation of `stack_flow_m3_s` while H takes that of the height to
    the neutral level: Q = C_D A sqrt(2 g H (Tm - To) / Tm).

    That is the chapter's own two-step form (ASHRAE Fundamentals, chapter 16: the neutral level by the ratio of
    the areas and of the temperatures, which is from memory, then the flow below it) with the level eliminated.
    The step by the neutral level needs a column that is equally warm, where the pressure difference grows
    with the height; in one that warms on its way up the level stands higher than the ratio says. The flow
    needs only the sum over the column, so it stays right with the mean excess.
    """
    if not rise_k >= 0:
        raise ValueError(f"rise {rise_k:g} K is below 0 K")
    if not 0 <= warm_share <= 1:
        raise ValueError(f"share {warm_share:g} of the rise is outside 0..1")
    if air.gaps < 1:
        raise ValueError(f"{air.gaps} gaps: at least 1 is needed")
    path = air.path
    if isinstance(path, Fan):
        return path.flow_m3_h * path.derate / (air.gaps + path.past) / 3600 * air.flow_factor
    outside_k = _inlet_k(air)
    mean_k = outside_k + rise_k * _mean_share(path, warm_share)
    cold = _drag(path.opening_below_cm2)
    warming = _drag(path.gap_area_cm2)
    warm = _drag(path.opening_above_cm2)
    if path.vent_below_cm2 is not None:
        cold += _drag(path.vent_below_cm2 / air.gaps)
    if path.vent_above_cm2 is not None:
        warm += _drag(path.vent_above_cm2 / air.gaps)
    drag = cold + warming * (1 + rise_k * warm_share / outside_k) + warm * (1 + rise_k / outside_k)
    return stack_flow_m3_s(1 / sqrt(drag), path.stack_mm / 1000, mean_k, outside_k) * air.flow_factor


def permitted_heat_mw(air: Air, air_limit_mk: int, margin_mk: int) -> int:
    """The greatest heat in one gap that keeps its warmest air, at the top, a margin below a limit.

    Parameters
    ----------
    air
        The air's path and its inlet.
    air_limit_mk
        Greatest air temperature that the cards beside the gap stand, in millidegrees Celsius.
    margin_mk
        How far below the limit the air must stay, in mK; below 0 it may pass the limit.

    Returns
    -------
    int
        Heat in mW, rounded down; never rises with the margin. 0 where the inlet air just keeps the margin, -1
        where it does not, so that not even a gap without heat passes.

    Raises
    ------
    ValueError
        An altitude outside the range of `solver.physics.air`, or a path outside its own.

    Notes
    -----
    P = rho cp Q dT, with the flow and the density of the air that is drawn in.
    """
    own_mk = air_limit_mk - margin_mk - air.inlet_mk
    return -1 if own_mk < 0 else _carried_mw(air, own_mk, EVEN)


@cache
def margin_mk(air: Air, air_limit_mk: int, heat_mw: int) -> int:
    """How far a gap's warmest air stays below a limit: the exact inverse of `permitted_heat_mw`.

    Parameters
    ----------
    air
        The air's path and its inlet.
    air_limit_mk
        Greatest air temperature that the cards beside the gap stand, in millidegrees Celsius.
    heat_mw
        Heat in the gap in mW, 0 or more.

    Returns
    -------
    int
        The greatest margin in mK at which the heat is still permitted, below 0 where air passes the limit.
        A heat that would warm the air by more than `GREATEST_RISE_MK` gets the margin at that rise.

    Raises
    ------
    ValueError
        A heat below 0 mW, or what `permitted_heat_mw` refuses.
    """
    return air_limit_mk - air.inlet_mk - rise_mk(air, heat_mw)


def gap_heat_mw(left_mw: int, right_mw: int, shared_mw: int, gaps: int) -> int:
    """Heat in one gap: half of each neighbour's and an even share of what the whole frame shares.

    Parameters
    ----------
    left_mw, right_mw
        Heat of the cards beside the gap in mW, 0 or more; 0 where there is none.
    shared_mw
        Heat of the board and of a supply inside the frame in mW, 0 or more.
    gaps
        Gaps of the frame, 1 or more.

    Returns
    -------
    int
        Heat in mW, rounded up once, after adding.

    Raises
    ------
    ValueError
        A figure outside its range.
    """
    if min(left_mw, right_mw, shared_mw) < 0:
        raise ValueError(f"heat {min(left_mw, right_mw, shared_mw)} mW is below 0 mW")
    if gaps < 1:
        raise ValueError(f"{gaps} gaps: at least 1 is needed")
    return -(-((left_mw + right_mw) * gaps + 2 * shared_mw) // (2 * gaps))


def flow_factor(air: Air, gap_w: float, rise_k: float) -> float:
    """Calibrate a path: the heat that a gap was measured to carry, over what the estimate says.

    Parameters
    ----------
    air
        The path and the inlet; a `flow_factor` that it already has is not used.
    gap_w
        Heat in one gap during the measurement in W, above 0.
    rise_k
        Measured rise over the inlet of the air that leaves the gap, in K, above 0.

    Returns
    -------
    float
        The factor for `Air.flow_factor`, without unit, within `FACTOR_RANGE`.

    Raises
    ------
    ValueError
        A heat or a rise not above 0, or a factor outside the range.
    """
    if not (gap_w > 0 and rise_k > 0):
        raise ValueError(f"measured heat {gap_w:g} W and rise {rise_k:g} K must both be above 0")
    factor = gap_w / _heat_w(replace(air, flow_factor=1.0), rise_k)
    least, most = FACTOR_RANGE
    if not least <= factor <= most:
        raise ValueError(f"measured flow is {factor:.3g} times the estimate, outside {least:g}..{most:g}")
    return factor


def rise_mk(air: Air, heat_mw: int, warm_share: float = EVEN) -> int:
    """How far a heat warms the air of a gap up to its top.

    Parameters
    ----------
    air
        The air's path and its inlet.
    heat_mw
        Heat in the gap in mW, 0 or more.
    warm_share
        As `gap_flow_m3_s` takes it.

    Returns
    -------
    int
        The least rise in mK that carries the heat away, at most `GREATEST_RISE_MK`.

    Raises
    ------
    ValueError
        A heat below 0 mW, or what `gap_flow_m3_s` refuses.
    """
    if heat_mw < 0:
        raise ValueError(f"heat {heat_mw} mW is below 0 mW")
    every = range(GREATEST_RISE_MK + 1)
    return min(bisect_left(every, heat_mw, key=lambda rise: _carried_mw(air, rise, warm_share)), GREATEST_RISE_MK)


def _carried_mw(air: Air, rise_mk: int, warm_share: float) -> int:
    return floor(_heat_w(air, rise_mk / 1000, warm_share) * 1000)


def _heat_w(air: Air, rise_k: float, warm_share: float = EVEN) -> float:
    """Heat that one gap carries away at a rise."""
    flow = gap_flow_m3_s(air, rise_k, warm_share)
    return gas_density_kg_m3(_inlet_k(air), air.altitude_m) * CP * flow * rise_k


def _mean_share(path: Draught, warm_share: float) -> float:
    """Mean excess of the column over that of its top."""
    card_mm = path.stack_mm if path.card_mm is None else path.card_mm
    if not 0 < card_mm <= path.stack_mm:
        raise ValueError(f"cards of {card_mm:g} mm are not within a stack of {path.stack_mm:g} mm height")
    return 1 - (1 - warm_share) * card_mm / path.stack_mm


def _inlet_k(air: Air) -> float:
    return air.inlet_mk / 1000 + ZERO_C


def _drag(area_cm2: float) -> float:
    """1/A^2 in 1/m4: what a constriction adds in series."""
    if not area_cm2 > 0:
        raise ValueError(f"free area {area_cm2:g} cm2 is not above 0 cm2")
    return (10_000 / area_cm2) ** 2

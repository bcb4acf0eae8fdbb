"""Rack units, how warm the air gets on its way up a rack, and how many people lift a weight."""

from __future__ import annotations

from math import ceil, floor

from solver.physics.air import CP, ZERO_C, gas_density_kg_m3

UNIT_UM = 44_450
"""Height of one rack unit, um: 44.45 mm (EIA-310, IEC 60297)."""

ONE_LIFTS_G = 25_000
"""The most that one person lifts, g: the filter of the HSE's guidance on manual handling (from memory)."""

SHOULDER_UM = 1_400_000
"""Height of a shoulder above the floor, um (common practice, no source): above it two lift whatever it weighs."""


def panel_um(units: int) -> int:
    """Height of a panel of so many units in um.

    Parameters
    ----------
    units
        Rack units, 1 or more.

    Returns
    -------
    int
        44.45 mm times the units less 0.79 mm, in um.

    Raises
    ------
    ValueError
        Fewer units than 1.

    Notes
    -----
    EIA-310, IEC 60297: panels leave a gap to the next one.
    """
    if units < 1:
        raise ValueError(f"{units} units: at least 1 is needed")
    return UNIT_UM * units - 790


def rise_mk(heat_mw: int, flow_m3_h: float, inlet_mk: int, altitude_m: int) -> int:
    """How much warmer the air is above things that give their heat to it.

    Parameters
    ----------
    heat_mw
        Heat that the air has taken up below, in mW, 0 or more.
    flow_m3_h
        What goes up through the rack in m3/h, above 0, counted as air at its foot.
    inlet_mk
        Temperature at the foot in millidegrees Celsius.
    altitude_m
        Height above the sea in m.

    Returns
    -------
    int
        Rise in mK, rounded up.

    Raises
    ------
    ValueError
        A figure outside its range.

    Notes
    -----
    P = rho cp Q dT with all of the heat in all of the air: the mean of the column at that height. Heat that leaves at
    the rear makes it less.
    """
    if heat_mw < 0:
        raise ValueError(f"heat {heat_mw} mW is below 0 mW")
    return ceil(heat_mw / _per_kelvin_w(flow_m3_h, inlet_mk, altitude_m))


def heat_for_rise_mw(rise_mk: int, flow_m3_h: float, inlet_mk: int, altitude_m: int) -> int:
    """The greatest heat that warms the air by no more than a rise.

    Parameters
    ----------
    rise_mk
        Rise in mK; below 0 the air is too warm at the foot already.
    flow_m3_h, inlet_mk, altitude_m
        As for `rise_mk`.

    Returns
    -------
    int
        Heat in mW, rounded down; -1 for a rise below 0.

    Raises
    ------
    ValueError
        A figure outside its range.
    """
    return -1 if rise_mk < 0 else floor(rise_mk * _per_kelvin_w(flow_m3_h, inlet_mk, altitude_m))


def people(weight_g: int, top_um: int) -> int:
    """How many people lift something into its place.

    Parameters
    ----------
    weight_g
        What it weighs in g, 0 or more.
    top_um
        How high above the floor its upper edge comes, in um.

    Returns
    -------
    int
        One for each begun `ONE_LIFTS_G`, and two at least where it comes above `SHOULDER_UM`.
    """
    return max(2 if top_um > SHOULDER_UM else 1, -(-weight_g // ONE_LIFTS_G))


def _per_kelvin_w(flow_m3_h: float, inlet_mk: int, altitude_m: int) -> float:
    """Watts that warm the air by a kelvin."""
    if not flow_m3_h > 0:
        raise ValueError(f"flow {flow_m3_h:g} m3/h is not above 0 m3/h")
    return gas_density_kg_m3(inlet_mk / 1000 + ZERO_C, altitude_m) * CP * flow_m3_h / 3600

"""Air at a temperature and an altitude, and the airflow that carries a heat away."""

from __future__ import annotations

G = 9.80665
"""Standard gravity, m/s2 (exact by convention; standard atmosphere 1976)."""

R_AIR = 287.05287
"""Specific gas constant of dry air, J/(kg K): 8314.32 / 28.9644 (standard atmosphere 1976)."""

P0 = 101_325.0
"""Pressure at sea level, Pa (standard atmosphere 1976)."""

CP = 1006.0
"""Specific heat of dry air at constant pressure near room temperature, J/(kg K) (handbooks, from memory)."""

ZERO_C = 273.15
"""0 degrees Celsius in kelvin (exact)."""

T0 = 288.15
"""Temperature of the standard atmosphere at sea level, K (standard atmosphere 1976)."""

LAPSE = 0.0065
"""Fall of temperature with height in the troposphere, K/m (standard atmosphere 1976)."""

EARTH_RADIUS_M = 6_356_766.0
"""Radius that turns a height above the sea into a geopotential height, m (standard atmosphere 1976)."""

BTU_J = 1055.05585262
"""One British thermal unit (International Table), J (exact by definition)."""

ALTITUDE_RANGE_M = (-500.0, 11_000.0)
"""Least and greatest altitude that `pressure_ratio` accepts, m: the troposphere."""

TEMPERATURE_RANGE_C = (-40.0, 85.0)
"""Least and greatest temperature that `density_kg_m3` accepts, degrees Celsius: the usual range of industrial
electronics (common practice, no source)."""


def pressure_ratio(altitude_m: float) -> float:
    """Air pressure at an altitude as a share of that at sea level.

    Parameters
    ----------
    altitude_m
        Height above the sea in metres, within `ALTITUDE_RANGE_M`.

    Returns
    -------
    float
        P / P0, without unit; 1 at sea level.

    Raises
    ------
    ValueError
        Outside the range.

    Notes
    -----
    Troposphere of the U.S. Standard Atmosphere 1976, geometric height turned into geopotential height first.
    """
    _check("altitude", altitude_m, ALTITUDE_RANGE_M, "m")
    geopotential = EARTH_RADIUS_M * altitude_m / (EARTH_RADIUS_M + altitude_m)
    exponent = G / (R_AIR * LAPSE)
    return float((1 - LAPSE * geopotential / T0) ** exponent)


def density_kg_m3(temp_c: float, altitude_m: float) -> float:
    """Density of dry air of a given temperature under the standard pressure of an altitude.

    Parameters
    ----------
    temp_c
        Air temperature in degrees Celsius, within `TEMPERATURE_RANGE_C`.
    altitude_m
        Height above the sea in metres, within `ALTITUDE_RANGE_M`.

    Returns
    -------
    float
        Density in kg/m3.

    Raises
    ------
    ValueError
        Outside either range.

    Notes
    -----
    Ideal-gas law. The room keeps its temperature at any altitude, so density falls with pressure alone.
    """
    _check("temperature", temp_c, TEMPERATURE_RANGE_C, "C")
    return gas_density_kg_m3(temp_c + ZERO_C, altitude_m)


def gas_density_kg_m3(temp_k: float, altitude_m: float) -> float:
    """Density as `density_kg_m3` gives it, at any temperature: a search may pass through absurdly hot air.

    Parameters
    ----------
    temp_k
        Air temperature in kelvin, above 0; no further check.
    altitude_m
        Height above the sea in metres, within `ALTITUDE_RANGE_M`.

    Returns
    -------
    float
        Density in kg/m3.

    Raises
    ------
    ValueError
        Altitude outside its range, or no temperature above 0 K.
    """
    if not temp_k > 0:
        raise ValueError(f"temperature {temp_k:g} K is not above 0 K")
    return P0 * pressure_ratio(altitude_m) / (R_AIR * temp_k)


def watts_to_btu_h(watts: float) -> float:
    """Heat flow in British thermal units (International Table) an hour.

    Parameters
    ----------
    watts
        Heat flow in W, any.

    Returns
    -------
    float
        Heat flow in BTU/h.
    """
    return watts * 3600 / BTU_J


def airflow_m3_s(heat_w: float, rise_k: float, density: float) -> float:
    """Airflow that carries a heat away at a temperature rise: Q = P / (rho cp dT).

    Parameters
    ----------
    heat_w
        Heat in W, 0 or more.
    rise_k
        Rise of the air's temperature in K, above 0.
    density
        Density of the air where the flow is counted, in kg/m3, above 0.

    Returns
    -------
    float
        Volume flow in m3/s.

    Raises
    ------
    ValueError
        A figure outside its range.
    """
    if not heat_w >= 0:
        raise ValueError(f"heat {heat_w:g} W is below 0 W")
    if not rise_k > 0:
        raise ValueError(f"rise {rise_k:g} K is not above 0 K")
    if not density > 0:
        raise ValueError(f"density {density:g} kg/m3 is not above 0 kg/m3")
    return heat_w / (density * CP * rise_k)


def _check(what: str, value: float, bounds: tuple[float, float], unit: str) -> None:
    least, most = bounds
    if not least <= value <= most:
        raise ValueError(f"{what} {value:g} {unit} is outside {least:g}..{most:g} {unit}")

"""From the mains: apparent power, current, and what inlets, breakers and residual-current devices let through."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

Inlet = Literal["C6", "C8", "C14", "C16", "C20"]
"""Appliance inlets of IEC 60320."""

Curve = Literal["B", "C", "D"]
"""Characteristics of circuit breakers of IEC 60898-1."""

INLET_MA: Mapping[Inlet, int] = {"C6": 2500, "C8": 2500, "C14": 10_000, "C16": 10_000, "C20": 16_000}
"""Rated currents of inlets at 250 V, mA: C14 10 A (IEC 60320), the others from memory."""

LEAST_TRIP: Mapping[Curve, int] = {"B": 3, "C": 5, "D": 10}
"""How many times its rated current may trip a breaker at once (IEC 60898-1, from memory)."""

CONTINUOUS_PERCENT = 80
"""What a breaker carries continuously, per cent of its rating (NEC 210.20(A)); local code decides."""

STANDING_PERCENT = 30
"""Standing leakage, per cent of what trips a residual-current device (BS 7671 531.3.2, from memory)."""

LOWEST_PERCENT = 90
"""The lowest voltage, per cent of the nominal one (EN 50160: within 10 %, from memory)."""


def current_ma(real_mw: int, power_factor_percent: int, volts: int) -> int:
    """Current that a load draws.

    Parameters
    ----------
    real_mw
        Real power in mW, 0 or more.
    power_factor_percent
        Real over apparent power in per cent, 1 to 100.
    volts
        Voltage in V, 1 or more.

    Returns
    -------
    int
        Current in mA, rounded up.

    Raises
    ------
    ValueError
        A figure outside its range.
    """
    if real_mw < 0 or volts < 1:
        raise ValueError(f"{real_mw} mW at {volts} V: at least 0 mW and 1 V are needed")
    return -(-apparent_mva(real_mw, power_factor_percent) // volts)


def apparent_mva(real_mw: int, power_factor_percent: int) -> int:
    """Apparent power of a load: what it draws over its power factor.

    Parameters
    ----------
    real_mw
        Real power in mW, 0 or more.
    power_factor_percent
        Real over apparent power in per cent, 1 to 100.

    Returns
    -------
    int
        Apparent power in mVA, rounded up.

    Raises
    ------
    ValueError
        A figure outside its range.
    """
    if real_mw < 0 or not 1 <= power_factor_percent <= 100:
        raise ValueError(f"{real_mw} mW at {power_factor_percent} %: at least 0 mW and 1 to 100 % are needed")
    return -(-real_mw * 100 // power_factor_percent)


def year_kwh(real_mw: int, hours: int) -> int:
    """Energy of a load that is on for so many hours, in kWh, rounded up; mW and hours are 0 or more."""
    return -(-real_mw * hours // 1_000_000)

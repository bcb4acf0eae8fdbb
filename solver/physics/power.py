"""Supply rails: what may be drawn from them, and the heat that they bring."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import ROUND_CEILING, Decimal

RESERVE_RANGE_PERCENT = (0, 90)
"""Least and greatest reserve that `usable_ma` accepts, per cent (own choice, no source)."""

_VOLTS = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?")


def usable_ma(capacity_ma: int, reserve_percent: int) -> int:
    """What may be drawn from a rail when a part of it is kept in reserve.

    Parameters
    ----------
    capacity_ma
        What the supply gives on the rail in mA, 0 or more.
    reserve_percent
        Share that stays unused in whole per cent, within `RESERVE_RANGE_PERCENT`.

    Returns
    -------
    int
        Usable current in mA, rounded down.

    Raises
    ------
    ValueError
        A figure outside its range.
    """
    least, most = RESERVE_RANGE_PERCENT
    if capacity_ma < 0:
        raise ValueError(f"capacity {capacity_ma} mA is below 0 mA")
    if not least <= reserve_percent <= most:
        raise ValueError(f"reserve {reserve_percent} % is outside {least}..{most} %")
    return capacity_ma * (100 - reserve_percent) // 100


def rail_heat_mw(rails: Mapping[str, int]) -> int | None:
    """Heat that rails deliver: all that is drawn from them turns into heat.

    Parameters
    ----------
    rails
        Current in mA, 0 or more, by the rail's name.

    Returns
    -------
    int or None
        The sum of volts times current in mW, rounded up, whatever the sign of the volts. None if a name is
        not a plain number of volts such as ``+17``, ``-17`` or ``48``.

    Raises
    ------
    ValueError
        A current below 0 mA.
    """
    total = Decimal(0)
    for name, current_ma in rails.items():
        if current_ma < 0:
            raise ValueError(f"rail {name}: current {current_ma} mA is below 0 mA")
        if not _VOLTS.fullmatch(name):
            return None
        total += abs(Decimal(name)) * current_ma
    return int(total.to_integral_value(ROUND_CEILING))

"""Rack figures in words: millimetres, kilograms and units as a technician writes them."""

from __future__ import annotations

from math import ceil


def mm(micrometres: int) -> str:
    """Micrometres as whole millimetres, rounded up."""
    return f"{ceil(micrometres / 1000)} mm"


def kg(grams: int) -> str:
    """Grams as kilograms with one decimal, rounded up."""
    return f"{ceil(grams / 100) / 10:.1f} kg"


def kelvin(rise_mk: int, most_mk: int) -> tuple[str, str]:
    """A rise in mK, rounded up, and the most that it may be, rounded down: both as K with one decimal.

    With more of them where one would tell otherwise than the figures which of the two is greater.
    """
    for places in (1, 2, 3):
        step = 10 ** (3 - places)
        up, down = -(-rise_mk // step), most_mk // step
        if (up <= down) == (rise_mk <= most_mk):
            break
    return f"{up / 10**places:.{places}f}", f"{down / 10**places:.{places}f}"


def units(span: range) -> str:
    """The units that something takes: ``unit 4`` or ``units 4-6``."""
    return f"unit {span[0]}" if len(span) == 1 else f"units {span[0]}-{span[-1]}"


def at_least_kg(grams: int) -> str:
    """A weight to which more comes that no file tells, rounded down: ``at least`` is true of it."""
    return f"{grams // 100 / 10:.1f} kg"

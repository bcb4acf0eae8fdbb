"""Rack figures in words: millimetres, kilograms and units as a technician writes them."""

from __future__ import annotations

from math import ceil


def mm(micrometres: int) -> str:
    """Micrometres as whole millimetres, rounded up."""
    return f"{ceil(micrometres / 1000)} mm"


def kg(grams: int) -> str:
    """Grams as kilograms with one decimal, rounded up."""
    return f"{ceil(grams / 100) / 10:.1f} kg"


def units(span: range) -> str:
    """The units that something takes: ``unit 4`` or ``units 4-6``."""
    return f"unit {span[0]}" if len(span) == 1 else f"units {span[0]}-{span[-1]}"

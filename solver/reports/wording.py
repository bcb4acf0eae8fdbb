"""Messages in words: how amounts are written, and pieces put together."""

from __future__ import annotations

from decimal import Decimal
from typing import assert_never

from solver.room.message import Amount, Message, Said, Unit
from solver.room.survey import Survey


def kilohertz(rate: int) -> str:
    """``44100`` as ``44.1 kHz``."""
    return f"{rate / 1000:g} kHz"


def money(survey: Survey, minor: int) -> str:
    """Minor units as a plain amount."""
    digits = f"{minor:0{survey.decimals + 1}d}"
    return f"{digits[: -survey.decimals]}.{digits[-survey.decimals :]}" if survey.decimals else digits


def thousandths(amount: int) -> str:
    """Thousandths with two decimals: ``1250`` as ``1.25``."""
    return f"{Decimal(amount) / 1000:.2f}"


def kelvin(margin_mk: int) -> str:
    """Millikelvin as kelvin with one decimal, rounded down."""
    return f"{margin_mk // 100 / 10:.1f} K"


def amount_text(survey: Survey, unit: Unit, amount: int) -> str:
    """An amount of a limit as people write it: money without its currency, amperes, kelvin, kilohertz, a count."""
    match unit:
        case "money":
            return money(survey, amount)
        case "mA":
            return f"{thousandths(amount)} A"
        case "mK":
            return kelvin(amount)
        case "Hz":
            return kilohertz(amount)
        case "slots" | "cards" | "settings" | "channels" | "needs" | "items" | "blocks" | "sockets":
            return str(amount)
        case _:
            assert_never(unit)


def in_words(survey: Survey, said: Said) -> str:
    """A message, or a part of one, as text."""
    match said:
        case str():
            return said
        case int():
            return str(said)
        case Amount():
            text = amount_text(survey, said.unit, said.value)
            return text.partition(" ")[0] if said.bare else text
        case Message():
            return said.text.format(**{name: in_words(survey, part) for name, part in said.parts.items()})
        case _:
            assert_never(said)

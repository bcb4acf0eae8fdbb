"""What is told, as data: a sentence with named parts. How amounts are written is the affair of the reports."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

Unit = Literal[
    "slots", "cards", "settings", "channels", "needs", "items", "money", "mA", "mK", "Hz", "blocks", "sockets"
]


@dataclass(frozen=True, slots=True)
class Amount:
    """So much of a unit: minor units of money, milliamperes, millikelvin, hertz, a count. `bare`: without the unit."""

    value: int
    unit: Unit
    bare: bool = False


@dataclass(frozen=True, slots=True)
class Message:
    """A sentence, or a piece of one, with its parts in braces."""

    text: str
    parts: Mapping[str, Said] = field(default_factory=dict)


Said: TypeAlias = str | int | Amount | Message
"""What may stand in a message: a name, a number, an amount, a piece of its own."""


def tell(text: str, **parts: Said) -> Message:
    """A message with its parts."""
    return Message(text, parts)


def joined(entries: list[Said], between: str = ", ", last: str | None = None) -> Message:
    """Several pieces as one, such as ``a, b and c`` with `last` before the last one."""
    joints = [between] * (len(entries) - 1)
    if last is not None and joints:
        joints[-1] = last
    names = [f"p{n}" for n in range(len(entries))]
    text = "".join(f"{{{name}}}{joint}" for name, joint in zip(names, [*joints, ""], strict=True))
    return Message(text, dict(zip(names, entries, strict=True)))

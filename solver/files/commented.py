"""A scenario as a TOML file for somebody who has never seen one: a line of comment on each key."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

HEADER = (
    "A scenario: what has to come in and go out, what there is, what may be bought.",
    "Plan it with: strapwork plan THIS-FILE",
    "Every key that a scenario may have: strapwork schema scenario",
)

COMMENTS = {
    "format": "Version of this form of file.",
    "title": "What screens call it.",
    "hardware": "Files that describe the cards, boards and chassis, seen from here.",
    "currency": "Three letters of ISO 4217; all amounts are in it.",
    "sample_rate": "Sample rate in hertz; cards and boards have fewer channels at high ones.",
    "budget": "The most that orders may cost; any amount without this line.",
    "rank": "What builds are ranked by, the first before the second and so on.",
    "air": "Air that enters at the rack inlet, in degrees Celsius: measure it there.",
    "offer": "What may be bought; price = and at_most = may be added to each.",
    "needs_from": "A table with a line for each channel, which are needs too, seen from here.",
    "stock": "How many of each card are owned.",
    "frame": "A frame that stands in the room.",
    "frame.name": "What screens and builds call it.",
    "frame.chassis": "Its chassis, by the id in the hardware files.",
    "frame.board": "Its main board; any that fits and can be had without this line.",
    "need": "Channels that have to come in or go out.",
    "need.name": "What screens and builds call it.",
    "need.direction": '"in" towards the recorder, "out" from it.',
    "need.signal": "The signal, as the ports of the cards have it.",
    "need.channels": "How many channels.",
    "need.spare": "So many more to spare.",
}
"""What stands above each key; of frames and needs above those of the first."""

EXAMPLES = {
    "budget": 'budget = "9000.00"',
    "air": "air = { inlet_c = 25 }",
}
"""What stands there as a comment where nothing was said."""


HEAD = ("format", "title", "hardware", "currency", "sample_rate", "budget", "rank", "air", "offer", "needs_from")
"""Keys of the top level that stand before all tables, in this order."""


def commented(scenario: Mapping[str, Any]) -> str:
    """A scenario's data as TOML text with comments; the same data gives the same text.

    Parameters
    ----------
    scenario
        Keys and values as a file gives them, frames and needs as lists of mappings.
    """
    import tomlkit

    document = tomlkit.document()
    for line in HEADER:
        document.add(tomlkit.comment(line))
    for key in HEAD:
        if key in scenario or key in EXAMPLES:
            document.add(tomlkit.nl())
            document.add(tomlkit.comment(COMMENTS[key]))
        if key in scenario:
            document.add(key, _item(scenario[key], lines=key == "offer"))
        elif key in EXAMPLES:
            document.add(tomlkit.comment(EXAMPLES[key]))
    document.add(tomlkit.nl())
    document.add(tomlkit.comment(COMMENTS["stock"]))
    stock = tomlkit.table()
    for item, count in scenario.get("stock", {}).items():
        stock.add(item, count)
    stock.add(tomlkit.nl())
    document.add("stock", stock)
    for kind in ("frame", "need"):
        if not scenario[kind]:
            continue
        document.add(tomlkit.comment(COMMENTS[kind]))
        document.add(kind, _tables(kind, scenario[kind]))
    text = re.sub(r"^(#[^\n]*)\n\n(?=\[)", r"\1\n", tomlkit.dumps(document), flags=re.MULTILINE)
    return text.rstrip("\n") + "\n"


def _tables(kind: str, entries: list[Mapping[str, Any]]) -> Any:
    import tomlkit

    tables = tomlkit.aot()
    told: set[str] = set()
    for entry in entries:
        table = tomlkit.table()
        for key, value in entry.items():
            if key not in told:
                table.add(tomlkit.comment(COMMENTS[f"{kind}.{key}"]))
            told.add(key)
            table.add(key, _item(value))
        table.add(tomlkit.nl())
        tables.append(table)
    return tables


def _item(value: Any, *, lines: bool = False) -> Any:
    """A value as tomlkit has it; tables of a list one a line."""
    import tomlkit

    if isinstance(value, Mapping):
        inline = tomlkit.inline_table()
        for key, part in value.items():
            inline.add(key, _item(part))
        return inline
    if isinstance(value, list | tuple):
        array = tomlkit.array()
        for part in value:
            array.append(_item(part))
        return array.multiline(lines and bool(value))
    if isinstance(value, Decimal):
        return tomlkit.item(int(value)) if value == int(value) else tomlkit.parse(f"n = {value:f}")["n"]
    return tomlkit.item(value)

"""Writes the files of this folder: rack configuration instances as scenarios. Run it after a change of the table.

Each card goes into one rack; a rack holds as many cards as it has connectors and as many watts as it delivers; the
racks used must cost the least. Sources: CSPLib problem 031 (Kiziltan and Hnich, CC BY 4.0), instance no. 1; and the
textbook instance of the same problem that is cited as Malapert 2008. Variants, our own: half or a quarter of the
connectors, rounded down, so that slots bind too, and racks without a limit on watts.

A rail of 10 V stands for the watts: 75 W are 7.5 A. "So many racks of any model" is said by the board that each frame
needs: a board that numbers nothing, of which so many are in stock, beside as many frames of every model to buy.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple


class Instance(NamedTuple):
    """Racks in all, models as (watts, connectors, price), cards as (watts, count)."""

    title: str
    racks: int
    models: tuple[tuple[int, int, int], ...]
    cards: tuple[tuple[int, int], ...]


INSTANCES = {
    "csplib-1": Instance("CSPLib 031 no. 1", 5, ((150, 8, 150), (200, 16, 200)), ((20, 10), (40, 4), (50, 2), (75, 1))),
    "textbook": Instance(
        "Racks from a textbook", 10, ((50, 2, 35), (150, 5, 140), (200, 9, 200)), ((75, 3), (50, 4), (40, 6), (20, 8))
    ),
}
VARIANTS = {
    "as-published": (1, True),
    "half-the-slots": (2, True),
    "quarter-of-the-slots": (4, True),
    "watts-unlimited": (1, False),
}
"""What the connectors are divided by, and whether watts are limited."""

HEADER = "# Written by write.py beside it, which says where the figures come from.\n\nformat = 1\n"


def models(name: str, variant: str) -> list[tuple[int | None, int, int]]:
    """Watts, connectors and price of the models of a variant; without connectors left, a model drops out."""
    divisor, limited = VARIANTS[variant]
    return [(w if limited else None, slots // divisor, p) for w, slots, p in INSTANCES[name].models if slots // divisor]


def hardware(name: str, variant: str) -> str:
    """The hardware file of one variant."""
    text = HEADER
    for watts, _ in INSTANCES[name].cards:
        text += f'\n[[card]]\nid = "card-{watts}"\nrails = {{ "+10" = {watts / 10} }}\n'
    text += '\n[[board]]\nid = "plain"\nprice = "0"\nrails = {}\nlimits = { "48" = { in = 0, out = 0 } }\n'
    text += "inputs = { first_slot = 1, widths = 0 }\noutputs = { first_slot = 1, widths = 0 }\n"
    for number, (model_watts, slots, price) in enumerate(models(name, variant), start=1):
        text += f'\n[[chassis]]\nid = "model-{number}"\nprice = "{price}"\nslot_count = {slots}\nboards = ["plain"]\n'
        if model_watts is not None:
            text += f'rails = {{ "+10" = {model_watts / 10} }}\n'
    return text


def scenario(name: str, variant: str) -> str:
    """The scenario file of one variant."""
    instance = INSTANCES[name]
    text = HEADER + f'title = "{instance.title}, {variant.replace("-", " ")}"\n'
    text += f'hardware = ["{name}-{variant}-hardware.toml"]\ncurrency = "EUR"\nrank = ["cost"]\n'
    text += f'limits = {{ rail_reserve = "0 %" }}\n\n[stock]\nplain = {instance.racks}\n'
    text += "".join(f"card-{watts} = {count}\n" for watts, count in instance.cards)
    text += "".join(f'\n[[must_seat]]\ncard = "card-{watts}"\ncount = {count}\n' for watts, count in instance.cards)
    for number, _ in enumerate(models(name, variant), start=1):
        text += f'\n[[offer]]\nchassis = "model-{number}"\n'
        for copy in range(1, instance.racks + 1):
            text += f'\n[[frame]]\nname = "{number}-{copy:02}"\nchassis = "model-{number}"\nowned = false\n'
    return text


def texts() -> dict[str, str]:
    """Every file's name and text."""
    found = {}
    for name in INSTANCES:
        for variant in VARIANTS:
            found[f"{name}-{variant}-hardware.toml"] = hardware(name, variant)
            found[f"{name}-{variant}.toml"] = scenario(name, variant)
    return found


if __name__ == "__main__":
    for file, text in texts().items():
        (Path(__file__).parent / file).write_text(text, encoding="utf-8", newline="\n")

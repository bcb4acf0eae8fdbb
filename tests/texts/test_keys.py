"""Every key of every JSON Schema says what it holds, and in what unit."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest
from click.testing import CliRunner

from cli.main import cli
from cli.schema import WHAT
from solver.reports.keys import AS, EVERY, words

UNITS = {
    "_c": "degrees Celsius",
    "_k": "kelvin (K)",
    "_w": "watts (W)",
    "_mm": "millimetres",
    "_m": "metres (m)",
    "_cm2": "square centimetres",
    "_u": "rack units",
    "_m3_h": "cubic metres an hour",
    "_ohm": "ohms",
    "_btu_h": "BTU an hour",
    "_ma_per_channel": "milliamperes (mA)",
    "_percent": "per cent",
}
"""How a key ends that holds a figure of such a unit."""

COUNTED = {"rails": "amperes (a)", "sample_rate": "hertz (hz)", "currency": "iso 4217"}
MONEY = {"budget", "budget_left", "cost", "price"}


def _keys() -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Model, key and what the schema says of it, for every key of every document."""
    for what in WHAT:
        schema = json.loads(CliRunner().invoke(cli, ["schema", what]).stdout)
        for model, part in [(schema["title"], schema), *schema.get("$defs", {}).items()]:
            for key, value in part.get("properties", {}).items():
                yield model, key, value


KEYS = list(_keys())


def test_every_key_is_described() -> None:
    assert len(KEYS) > 500
    assert [(model, key) for model, key, value in KEYS if not value.get("description")] == []


@pytest.mark.parametrize(("ending", "unit"), UNITS.items())
def test_a_figure_says_its_unit(ending: str, unit: str) -> None:
    whole = "|".join(sorted(UNITS, key=len, reverse=True))
    figures = [k for k in KEYS if (found := re.search(f"({whole})$", k[1])) and found[1] == ending]
    assert figures
    assert [(model, key) for model, key, value in figures if unit.lower() not in value["description"].lower()] == []


def test_amperes_hertz_and_money_are_said() -> None:
    for model, key, value in KEYS:
        text = value["description"].lower()
        assert COUNTED.get(key, "") in text, (model, key)
        if key in MONEY:
            assert "currency" in text, (model, key)


def test_no_words_are_left_over() -> None:
    own = {(model, key) for model, key, _ in KEYS}
    like = {model: keys[AS] for model, keys in words().items() if AS in keys}
    own |= {(like[model], key) for model, key in own if model in like and key not in words()[model]}
    told = [(m, k) for m, keys in words().items() for k in keys if m != EVERY and k != AS]
    assert [entry for entry in told if entry not in own] == []
    shared = {key for model, key in own if key not in words().get(model, {})}
    assert set(words()[EVERY]) - shared == set()

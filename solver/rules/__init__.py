"""The rules, in the order in which the search states them and a check reports them."""

from __future__ import annotations

from solver.rules import (
    budget,
    channels,
    clock_lines,
    cooling,
    kept_empty,
    must_seat,
    needs,
    numbers,
    pins,
    rails,
    refused,
    seats,
    serves,
    signals,
    stock,
    straps,
)
from solver.rules.limit import Limit, Rule
from solver.survey import Survey

ALL: dict[str, Rule] = {
    seats.CODE: seats,
    refused.CODE: refused,
    kept_empty.CODE: kept_empty,
    pins.CODE: pins,
    must_seat.CODE: must_seat,
    straps.CODE: straps,
    clock_lines.CODE: clock_lines,
    serves.CODE: serves,
    signals.CODE: signals,
    channels.CODE: channels,
    numbers.CODE: numbers,
    needs.CODE: needs,
    stock.CODE: stock,
    budget.CODE: budget,
    rails.CODE: rails,
    cooling.CODE: cooling,
}
"""Every rule by its stable code."""

SHARED = frozenset({stock.CODE, budget.CODE})
"""Rules whose limits several rooms keep together."""


def limits(survey: Survey) -> list[tuple[Rule, Limit]]:
    """Every limit of every rule, in order."""
    return [(rule, limit) for rule in ALL.values() for limit in rule.limits(survey)]

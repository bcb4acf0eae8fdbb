"""Buying in phases, as documents have it."""

from __future__ import annotations

from typing import Literal

from solver.reports.element import Element


class PhaseOrder(Element):
    """So many of an item that are ordered in a phase; `kept` of them are not seated before a later one."""

    item: str
    count: int
    price: str
    total: str
    kept: int


class PhaseSeat(Element):
    """A card that comes to a slot in a phase; `slots` are all that it takes."""

    frame: str
    slots: list[int]
    card: str


class PhaseReport(Element):
    """A phase: what may be spent and is, what is ordered, what comes to which slot, and what leaves one."""

    name: str
    needs: list[str]
    budget: str | None
    cost: str
    build: int | None
    orders: list[PhaseOrder] = []
    seated: list[PhaseSeat] = []
    removed: list[PhaseSeat] = []
    change: str | None = None
    straps: list[str] = []


class PhaseTrade(Element):
    """A way to buy that no other beats in what the first phase costs and in what all cost together.

    `text` says what the money saves that the first phase costs more than before.
    """

    first: str
    total: str
    phases: list[PhaseReport]
    text: str


class PhasesReport(Element):
    """Several phases of buying, and what they come to together.

    `values` has each criterion over all of them. `clash` names phases that cannot be served together, any one less of
    which could; `ways` says what alone makes it possible, all that there is of that where `all_ways`. `front` has the
    ways to buy that no other beats in the cost of the first phase and of all together.
    """

    phases: list[PhaseReport]
    moves: Literal["once", "never"]
    cost_of: Literal["all phases", "first phase"]
    budget: str | None
    total: str | None
    moved: int = 0
    values: dict[str, str | None] = {}
    proven: dict[str, bool] = {}
    clash: list[str] = []
    ways: list[str] = []
    all_ways: bool = False
    front: list[PhaseTrade] = []

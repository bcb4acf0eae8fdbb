"""What is bought, as rows of a model: `solver.room.buying.bought` counts the same of a build that stands."""

from __future__ import annotations

from collections.abc import Iterable

from solver.rules.limit import Load, Term
from solver.search.model.cpsat import cp_model
from solver.search.model.services import add, expression


def buy(
    model: cp_model.CpModel, load: Load, owned: int, offers: Iterable[tuple[int, int | None]], most: int
) -> list[tuple[int, Term]]:
    """What is spent on an item of which some are owned: those first, then of each offer at most so many.

    The least that can be spent draws on the cheapest offers first.

    Parameters
    ----------
    load
        How many of it are taken.
    offers
        The price of one, and how many there are at it; None for any number.
    most
        More of it are never bought.
    """
    spent = [
        (price, model.new_int_var(0, most if at_most is None else min(at_most, most), "")) for price, at_most in offers
    ]
    if load:
        add(model, expression([*load, *((-1, number) for _, number in spent)]) <= owned)
    return spent

"""What a scenario says of kinds of day that share a seating, and of phases in which it is bought."""

from typing import Annotated

from pydantic import Field, Strict

from solver.room.words import MOST_ITEMS, Id, Money, Noun, Positive, Text

MOST_SETUPS = 8
"""So many kinds of day a scenario has at most."""

MOST_PHASES = 6
"""So many phases of buying a scenario has at most."""


class Setup(Noun):
    """A kind of day: the `needs` that it has, by their names, and its sample rate where that is another one.

    `share` is how often it comes, as a weight beside the others.
    """

    name: Text
    sample_rate: Annotated[int, Strict()] | None = None
    needs: tuple[Text, ...] = Field(min_length=1, max_length=MOST_ITEMS)
    share: Positive = 1


class Phase(Noun):
    """A phase of buying: the `needs` that are served from it until the next one, by their names.

    `budget` is what may be spent in it, `prices` what items on offer cost in it where that is something else.
    """

    name: Text
    budget: Money | None = None
    needs: tuple[Text, ...] = Field(min_length=1, max_length=MOST_ITEMS)
    prices: dict[Id, Money] = Field({}, max_length=MOST_ITEMS)

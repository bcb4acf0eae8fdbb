"""What one question to a model minimises and keeps, and how criteria are weighed into one sum."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import accumulate
from math import gcd, prod
from typing import TypeAlias

from solver.room.survey import Survey
from solver.rules.limit import Load

Stage: TypeAlias = tuple[str, ...]
"""What one question minimises: criteria by name, the first weighing most; or `MARGIN`, or `TIES`."""

MARGIN: Stage = ("margin",)
"""Key of the least cooling margin, in mK, among what a stage has to keep. As a stage: only keep the caps."""

TIES: Stage = ("ties",)
"""Key of the stage that breaks ties."""

Caps: TypeAlias = Mapping[Stage, int]
"""What to keep: sums of criteria at most, a margin at least."""

NEVER = 10**18
"""A bound that says that nothing can be found."""

MOST_WEIGHT = 10**12
"""Criteria are solved as one sum while their ceilings multiply to less than this."""


@dataclass(frozen=True)
class Scale:
    """How criteria are weighed into one sum without losing their order: units and ceilings."""

    units: Mapping[str, int]
    ceilings: Mapping[str, int]

    @classmethod
    def of(cls, survey: Survey) -> Scale:
        """From a survey: money counts in the greatest common divisor of all prices."""
        prices = [offer.price for offers in survey.offers.values() for offer in offers]
        numbers = sum(
            2 * max((b.first + b.width for w in site.layouts for b in w.inputs + w.outputs), default=0)
            for site in survey.frames
        )
        widest = max((len(c) for kind in survey.kinds.values() for c in kind.channels.values()), default=0)
        channels = sum(2 * len(site.slots) * widest for site in survey.frames)
        dearest = sum(2 * len(site.slots) + 2 for site in survey.frames) * max(prices, default=0)
        units = {"cost": gcd(*prices) or 1}
        ceilings = {
            "cost": dearest // units["cost"] + 1,
            "stranded": channels,
            "idle": channels,
            "holes": numbers,
            "unused": 2 * channels + numbers,
            "short": sum(need.demand for need in survey.needs),
            "short_needs": len(survey.needs),
            "cards_moved": sum(len(site.stood.cards) for site in survey.frames if site.stood is not None),
            "straps_moved": sum(max((w.to_set for w in site.layouts), default=0) for site in survey.frames),
            "lids_off": len(survey.frames),
            "renumbered": sum(need.demand for need in survey.needs),
        }
        return cls(units, ceilings)

    def weights(self, stage: Stage) -> list[tuple[str, int]]:
        """Each criterion of a stage with its weight; a unit of one outweighs all that follow."""
        found: list[tuple[str, int]] = []
        weight = 1
        for criterion in reversed(stage):
            found.append((criterion, weight))
            weight *= self.ceilings[criterion] + 1
        return found[::-1]

    def load(self, stage: Stage, of: Callable[[str], Load]) -> Load:
        """The weighted sum that a stage minimises, in units, from the load of each criterion."""
        return [
            (weight * amount // self.units.get(criterion, 1), term)
            for criterion, weight in self.weights(stage)
            for amount, term in of(criterion)
        ]

    def fits(self, stage: Stage) -> bool:
        """Whether a stage's sums stay small enough to be solved as one."""
        return prod(self.ceilings[criterion] + 1 for criterion in stage) < MOST_WEIGHT

    def split(self, stage: Stage, value: int) -> dict[str, int]:
        """The criteria's own values again."""
        found = {}
        for criterion, weight in self.weights(stage):
            found[criterion], value = divmod(value, weight)
            found[criterion] *= self.units.get(criterion, 1)
        return found

    def most_of_first(self, stage: Stage, amount: int) -> int:
        """The greatest value with so much of the first criterion."""
        criterion, weight = self.weights(stage)[0]
        return amount // self.units.get(criterion, 1) * weight + weight - 1

    def most_with_first(self, stage: Stage, value: int) -> int:
        """The greatest value whose first criterion is the same."""
        _, weight = self.weights(stage)[0]
        return value - value % weight + weight - 1


def tie_weights(survey: Survey) -> list[int]:
    """The weights of what breaks ties: straps closed, frames used, cards, other signals given up.

    Each outweighs all before it, whichever part of the room a model holds.
    """
    straps = sum(max((layout.closed for layout in site.candidates), default=0) for site in survey.frames)
    most = (straps, len(survey.frames), sum(len(site.slots) for site in survey.frames))
    return list(accumulate(most, lambda weight, own: weight * (own + 1), initial=1))


def looser(stage: Stage, cap: int, than: int) -> bool:
    """Whether a cap permits all that another one of its stage does; a margin is capped from below."""
    return cap <= than if stage == MARGIN else cap >= than


def no_tighter(caps: Caps, tight: Caps) -> bool:
    """Whether caps are no tighter than others."""
    return all(stage in tight and looser(stage, cap, tight[stage]) for stage, cap in caps.items())


def sums_of(caps: Caps) -> tuple[tuple[Stage, int], ...]:
    """The caps on sums of criteria, in order."""
    return tuple(sorted((stage, cap) for stage, cap in caps.items() if stage not in (MARGIN, TIES)))

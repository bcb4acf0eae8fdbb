"""How warm air gets at a place beside cards whose heat is not even over their height.

A planning estimate, like `solver.physics.heat`, in the same units. A place is told in thousandths of the way that the
air takes along the cards: 0 where it comes in, 1000 where it leaves them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product

from solver.physics.heat import EVEN, Air, rise_mk

OUTLET = 1000
"""The place where the air leaves the cards."""


@dataclass(frozen=True, slots=True)
class Source:
    """Heat in a gap at one place, or even if `at` is None; in mW over a number of parts that all its sources share."""

    parts_mw: int
    at: int | None = None

    def below(self, place: int) -> int:
        """What of it warms the air up to a place, that at the place too, in thousandths of its parts."""
        if self.at is None:
            return self.parts_mw * place
        return self.parts_mw * OUTLET if self.at <= place else 0

    def warms(self) -> float:
        """Its part in the mean excess of the air along the cards, which is that of the heat above it."""
        return self.parts_mw * (EVEN if self.at is None else 1 - self.at / OUTLET)


@cache
def rise_at_mk(air: Air, sources: tuple[Source, ...], parts: int, place: int) -> int:
    """How far the air has been warmed when it reaches a place, whichever of some sources are on.

    Parameters
    ----------
    air
        The air's path and its inlet.
    sources
        The heat of the gap: a few, since all combinations of them are tried.
    parts
        Into how many parts the heat of the sources is counted, 1 or more.
    place
        0 to `OUTLET`.

    Returns
    -------
    int
        Rise over the inlet in mK, rounded up; at most `solver.physics.heat.GREATEST_RISE_MK`.

    Raises
    ------
    ValueError
        Parts or a place outside their range, or what `solver.physics.heat.rise_mk` refuses.

    Notes
    -----
    The heat that the air has met so far warms it by P / (m cp). All heat drives the draught, heat low down more than
    heat high up: the mean excess along the cards is the sum of each source's heat times what is above it. So heat
    above a place, and a little of it far below, can cool the place by the air that it draws. Since cards may be idle
    that is not counted on: what is told is the most of all combinations of sources that are on. With the flow as the
    cube root of the pull, which it nearly is, the rise first falls and then climbs with each heat alone, so that no
    less of any heat is warmer than both none and all of it, and more heat is never cooler as long as the air at the
    top is warmed by less than `solver.physics.heat.GREATEST_RISE_MK`. There that rise is cut off, and more even heat
    then shifts more of it above the place; electronics are far past what they survive. A fan's flow is the same
    whatever is on.

    Air beside a card is taken to be mixed across the gap, and a source at one place to have no height.
    """
    if parts < 1:
        raise ValueError(f"{parts} parts: at least 1 is needed")
    if not 0 <= place <= OUTLET:
        raise ValueError(f"place {place} is outside 0..{OUTLET}")
    real = [source for source in sources if source.parts_mw]
    return max(_rise_mk(air, [s for s, on in zip(real, own, strict=True) if on], parts, place) for own in _every(real))


def _every(sources: Sequence[Source]) -> product[tuple[bool, ...]]:
    return product((False, True), repeat=len(sources))


def _rise_mk(air: Air, sources: Sequence[Source], parts: int, place: int) -> int:
    total = sum(source.parts_mw for source in sources)
    if not total:
        return 0
    top = rise_mk(air, -(-total // parts), sum(source.warms() for source in sources) / total)
    return -(-top * sum(source.below(place) for source in sources) // (total * OUTLET))

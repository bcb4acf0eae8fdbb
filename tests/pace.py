"""Seconds that mean the same on a slower processor, or one that others use too."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager

NUMBERS = 400_000
USUAL_S = 0.05
"""What the yardstick takes on the machine that the bounds were set on."""


def slower() -> float:
    """How many times as long the yardstick takes at the moment, at least 1."""
    begun = time.process_time()
    found: dict[str, int] = {}
    for number in range(NUMBERS):
        found[str(number % 1000)] = number
    return max(1.0, (time.process_time() - begun) / USUAL_S)


@contextmanager
def within(seconds: float) -> Iterator[None]:
    """Hold a block to so many seconds of its process, and to as many more as the processor is slower around it."""
    before = slower()
    begun = time.process_time()
    yield
    took = time.process_time() - begun
    times = max(before, slower())
    assert took <= seconds * times, f"took {took:.2f} s, at most {seconds} s, {times:.1f} times that here"

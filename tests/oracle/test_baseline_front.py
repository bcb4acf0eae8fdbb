"""The plain front that a faster one is measured against is the true one."""

from __future__ import annotations

import baseline_front
import brute_force
import generate

from solver.room.ready import survey_room

SEEDS = range(100)
"""Searched for scenarios of one frame whose front has two points or more, and a few of fewer."""


def test_the_plain_front_is_the_one_that_trying_all_gives() -> None:
    left = {0: 3, 1: 3, 2: 5}
    for seed in SEEDS:
        scenario, hardware = generate.random_pair(seed)
        if len(scenario.frame) > 1:
            continue
        expected = brute_force.front(scenario, hardware, ("cost", "unused", "cooling"))
        size = min(2, len(expected))
        if left[size]:
            left[size] -= 1
            points, finished, _ = baseline_front.front(survey_room(scenario, hardware))
            assert finished
            assert points == expected, seed
    assert not any(left.values()), left


def test_out_of_time_is_said() -> None:
    scenario, hardware = generate.random_pair(0)
    assert baseline_front.front(survey_room(scenario, hardware), cap_s=0)[:2] == ([], False)

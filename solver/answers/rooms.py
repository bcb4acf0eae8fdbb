"""Planning all rooms of a scenario together, in words for those who wait."""

from __future__ import annotations

from solver.judge.campus import Campus
from solver.reports.wording import money
from solver.search.campus.planning import CampusRanking, plan_campus
from solver.search.campus.purse import UNBUILT
from solver.search.model.allotment import SHORTS
from solver.search.solve.clock import Clock

WORDS = {UNBUILT: "rooms without a build", SHORTS[0]: "channels short", SHORTS[1]: "needs short"}
"""What stages that are no criteria are called."""


def plan_rooms(campus: Campus, workers: int, clock: Clock | None) -> CampusRanking:
    """The best plan of all rooms; the clock tells how far it is."""
    clock = clock or Clock()
    known: dict[str, int] = {}

    def said(stage: str, best: int | None, bound: int | None) -> None:
        if best is not None:
            known[stage] = best
        words = {"best": known.get(stage), "bound": bound}
        figures = [
            f"{word} {money(campus.purse, value) if stage == 'cost' else value}"
            for word, value in words.items()
            if value is not None
        ]
        clock.at = ", ".join([WORDS.get(stage, stage), *figures])

    return plan_campus(campus, workers, clock, said)

"""What the planner of the rules' words and the one that ships answer, side by side."""

from __future__ import annotations

from random import Random

from readme_oracle.generate import changed, draw
from readme_oracle.judge import Judge
from readme_oracle.planner import NO_MARGIN, Figures, Found

from solver.files.reading import Loaded
from solver.judge.criteria import figures
from solver.reports.checking import check_room
from solver.room.build import Build
from solver.room.ready import survey_room
from solver.search.ask.front import front
from solver.search.ask.ranking import Ranking, rank

OVERALL = {"needs", "stock", "budget", "must-seat", "clock-line"}
"""Rules that a build breaks and not one of its frames."""

BY_SEAT = {"stock", "budget", "must-seat", "pins", "straps", "refused", "kept-empty", "rails", "seats"}
"""Rules that are judged alike whatever numbers a build has."""

BY_NEIGHBOURS = {"companions", "exclusions"}
"""The same of cards that each have slots of their own."""

NAMES = ("short", "short_needs", "cost", "stranded", "holes", "idle", "margin", "spent", "cards", "closed")


def told(of: object) -> dict[str, int]:
    """Figures of the one that ships, under the names of these."""
    names = {"spent": "misfit", "margin": "margin_mk"}
    values = {name: getattr(of, names.get(name, name)) for name in NAMES}
    return values | {"margin": NO_MARGIN if values["margin"] is None else values["margin"]}


def own(of: Figures) -> dict[str, int]:
    return {name: getattr(of, name) for name in NAMES}


def apart(mine: dict[str, int], theirs: dict[str, int]) -> list[str]:
    return [f"{name} {value} against {theirs[name]}" for name, value in mine.items() if value != theirs[name]]


def ranked(loaded: Loaded, top: int = 1) -> Ranking:
    return rank(survey_room(loaded.scenario, loaded.hardware), top)


def plan_differences(room: Judge, builds: list[Found], ranking: Ranking) -> list[str]:
    """Ways in which the best build that ships is not the best by the rules, breaks a rule or has other figures."""
    if (ranking.outcome == "found") != bool(builds):
        return [f"{ranking.outcome}, and trying all finds {len(builds)}"]
    if not builds:
        return []
    judged = room.judge(ranking.builds[0].build)
    found = [f"the plan breaks {sorted(judged.faults, key=str)}"] if judged.faults else []
    found += apart(own(judged.figures), told(ranking.builds[0].figures))
    best = room.best(builds).figures
    mine, theirs = ((f.short, f.short_needs, *room.order(f)) for f in (best, judged.figures))
    if mine != theirs:
        found.append(f"{mine} is best, and {theirs} is planned")
    return found


def front_differences(loaded: Loaded, room: Judge, builds: list[Found]) -> list[str]:
    """Points that only one of both fronts has."""
    found = front(survey_room(loaded.scenario, loaded.hardware))
    if (found.outcome == "found") != bool(builds):
        return [f"{found.outcome}, and trying all finds {len(builds)}"]
    theirs = [room.values(room.judge(point.build).figures) for point in found.points]
    mine = sorted(room.front(builds) if builds else [])
    return [] if mine == sorted(theirs) else [f"{mine} against {sorted(theirs)}"]


def drawn(seed: int, loaded: Loaded, ranking: Ranking) -> list[Build]:
    """Builds to be judged: some drawn at random, and plans as they are, changed once and changed twice."""
    random = Random(seed)
    builds = [draw(random, loaded) for _ in range(2)]
    for one in ranking.builds:
        builds += [one.build, *(changed(random, loaded, one.build) for _ in range(4))]
        builds.append(changed(random, loaded, changed(random, loaded, one.build)))
    return builds


def check_differences(loaded: Loaded, room: Judge, build: Build) -> list[str]:
    """Rules that only one of both says are broken, and figures of a clean build that differ."""
    survey = survey_room(loaded.scenario, loaded.hardware)
    checked = check_room(survey, build)
    theirs = {(f.rule, f.frame if f.rule not in OVERALL else None) for f in checked.faults}
    judged = room.judge(build)
    mine = set(judged.faults)
    crowded = "seats" in {rule for rule, _ in mine | theirs}
    if crowded or not room.settled(build):
        judged_alike = BY_SEAT if crowded else BY_SEAT | BY_NEIGHBOURS
        mine, theirs = ({f for f in faults if f[0] in judged_alike} for faults in (mine, theirs))
    found = (
        [f"{sorted(mine ^ theirs, key=str)}, of which {sorted(mine - theirs, key=str)} here"] if mine != theirs else []
    )
    if not judged.faults and not checked.faults:
        found += apart(own(judged.figures), told(figures(survey, checked.standing)))
    return found

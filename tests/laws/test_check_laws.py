"""Laws of the check: a plan is clean however it is written down, and nothing that can be read upsets it."""

from __future__ import annotations

import contextlib
import io
import random

import generate
from amounts import some_or_all

from cli.screen.check import show_check
from cli.screen.explain import show_explanation
from solver.judge import criteria
from solver.reports.checking import check_report, check_room
from solver.reports.explain import explanation
from solver.room.build import Build
from solver.room.ready import survey_room
from solver.search.ask.ranking import rank


def _without_serves(build: Build) -> Build:
    return build.model_copy(update={"frame": tuple(f.model_copy(update={"serves": None}) for f in build.frame)})


@some_or_all("seeds", range(3000, 3100), range(3000, 3300))
def test_a_plan_is_clean_with_the_same_figures_whether_or_not_it_says_what_serves_what(seeds: range) -> None:
    several = short = 0
    for seed in seeds:
        survey = survey_room(*(generate.random_nice(seed) if seed % 2 else generate.random_pair(seed)))
        for found in rank(survey, top=2).builds:
            several += len(found.build.frame) > 1
            short += found.figures.short > 0
            for build in (found.build, _without_serves(found.build)):
                checked = check_room(survey, build)
                assert checked.faults == (), seed
                assert all("nice to have" in note for note in checked.notes), seed
                own = criteria.figures(survey, checked.standing)
                for figure in ("cost", "stranded", "holes", "idle", "misfit", "short", "short_needs"):
                    assert getattr(own, figure) == getattr(found.figures, figure), (seed, figure)
    assert min(several, short) >= len(seeds) // 30


def _drawn(draw: random.Random, seed: int) -> Build:
    """A build as a hurried hand may draw it: cards anywhere, settings left out or misspelt, services of anything."""
    scenario, hardware = generate.random_pair(seed)
    boards = {board.id: board for board in hardware.board}
    frames = []
    for frame in scenario.frame:
        board = boards[draw.choice(sorted(boards))]
        straps = {}
        for group in board.strap_group:
            name = group.name if draw.random() < 0.9 else f"{group.name}s"
            if draw.random() < 0.7:
                straps[name] = draw.choice([*(s.name for s in group.settings()), "9"])
        slots = draw.sample(range(1, 9), draw.randint(1, 4))
        cards = {str(slot): draw.choice(sorted(card.id for card in hardware.card)) for slot in slots}
        names = [*(need.name for need in scenario.need), "nothing"]
        serves = [
            {"need": draw.choice(names), "slot": draw.randint(1, 8), "channels": draw.choice(["1", "1-4", "2, 2", "9"])}
            for _ in range(draw.randint(0, 4))
        ]
        entry = {"name": frame.name, "board": board.id, "straps": straps, "cards": cards}
        frames.append({**entry, "serves": serves} if draw.random() < 0.5 else entry)
    return Build.model_validate({"format": 1, "frame": frames})


@some_or_all("seeds", range(100), range(400))
def test_whatever_can_be_read_is_judged_shown_and_explained(seeds: range) -> None:
    for seed in seeds:
        _judged_shown_and_explained(seed)


def _judged_shown_and_explained(seed: int) -> None:
    draw = random.Random(seed)
    survey = survey_room(*generate.random_pair(seed))
    checked = check_room(survey, _drawn(draw, seed))
    report = check_report(survey, checked)
    assert report.outcome == ("faulty" if checked.faults else "clean"), seed
    for fault in checked.faults:
        assert fault.rule in ("needs", "stock", "budget", "must-seat", "pins") or f"frame {fault.frame}" in fault.text
    texts = [fault.text for fault in checked.faults]
    assert len(texts) == len(set(texts)), seed
    with contextlib.redirect_stdout(io.StringIO()) as shown:
        show_check(report)
        show_explanation(explanation(survey, report.outcome, checked.standing, report.builds[0]))
    words = " ".join(shown.getvalue().split())
    assert all(" ".join(note.split()) in words for note in checked.notes), seed
    report.as_json()

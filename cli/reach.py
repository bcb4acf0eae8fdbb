"""`strapwork reach`: the most channels of each need and signal, what stops it, and what each step up costs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.command import Command
from cli.options import FILE, format_option, load, search_options
from cli.rooms import code_of, room_option, tell
from cli.search import OUTCOMES, search
from cli.stop import stop

if TYPE_CHECKING:
    from solver.answers.asked import Answers
    from solver.reports.reach import ReachReport
    from solver.search.solve.clock import Clock


@click.command(cls=Command)
@click.argument("scenario", type=FILE)
@click.option("--need", "name", metavar="NAME", help='One need alone, or a signal such as "mic in" that none asks for.')
@room_option
@search_options
@format_option
def reach(
    scenario: Path,
    name: str | None,
    room: str | None,
    limit: float | None,
    workers: int,
    dump_model: Path | None,
    form: str,
) -> int:
    """Say how many channels each need of SCENARIO can have, what stops it, and what each step costs."""
    from solver.answers.asked import Asked, needs_meant

    loaded = load(scenario)
    asked = Asked.of(loaded, room)
    names = needs_meant(asked.survey, name)

    def reached(clock: Clock) -> Answers[ReachReport]:
        from solver.answers.reach import reach

        return asked.answers(lambda survey: reach(survey, names, workers, clock), clock, workers)

    answers, interrupted = search(reached, limit, dump_model)
    tell(answers, loaded, scenario, form, lambda report: _show(report, scenario, room))
    return stop.code if interrupted else code_of(answers, OUTCOMES[answers.first.answer.outcome])


def _show(report: ReachReport, scenario: Path, room: str | None) -> None:
    from cli.screen.reach import show_reach

    show_reach(report, str(scenario) if room is None else f'{scenario} --room "{room}"')

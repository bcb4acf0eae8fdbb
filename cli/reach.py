"""`strapwork reach`: the most channels of each need and signal, what stops it, and what each step up costs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.options import FILE, format_option, load, search_options
from cli.rooms import Asked, room_option, tell
from cli.search import OUTCOMES, search
from cli.stop import stop

if TYPE_CHECKING:
    from solver.reports.reach import ReachReport
    from solver.room.survey import Survey
    from solver.search.solve.clock import Clock


@click.command()
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
    loaded = load(scenario)
    asked = Asked.of(loaded, room, scenario)
    names = _chosen(asked.survey, name)
    answers, interrupted = search(
        lambda clock: asked.answers(lambda survey: _answer(survey, names, workers, clock), clock, workers),
        limit,
        dump_model,
    )
    tell(answers, loaded, scenario, form, lambda report: _show(report, scenario, room))
    return stop.code if interrupted else answers.code(OUTCOMES[answers.first.answer.outcome])


def _show(report: ReachReport, scenario: Path, room: str | None) -> None:
    from cli.screen.reach import show_reach

    show_reach(report, str(scenario) if room is None else f'{scenario} --room "{room}"')


def _chosen(survey: Survey, name: str | None) -> list[str] | None:
    """The names asked for: all where None."""
    if name is None:
        return None
    from solver.room.demand import bare_signals

    known = [need.name for need in [*survey.needs, *bare_signals(survey)]]
    if name not in known:
        raise click.BadParameter(f"{name!r} is none of {', '.join(known)}", param_hint="--need")
    return [name]


def _answer(survey: Survey, names: list[str] | None, workers: int, clock: Clock) -> ReachReport:
    from solver.reports.reach import reach_report
    from solver.search.ask.reach import reach

    return reach_report(survey, reach(survey, names, clock, workers))

"""`strapwork front`: every build that no other beats, and what each step from one to the next buys."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.options import FILE, format_option, load, search_options
from cli.search import OUTCOMES, search
from cli.stop import stop

if TYPE_CHECKING:
    from solver.report import Clash
    from solver.search.clock import Clock
    from solver.search.front import Front
    from solver.survey import Survey


@click.command()
@click.argument("scenario", type=FILE)
@click.option("--show", type=click.IntRange(min=1), help="A point to show whole.")
@search_options
@format_option
def front(scenario: Path, show: int | None, limit: float | None, workers: int, form: str) -> int:
    """Find every build of SCENARIO that no other beats on its criteria."""
    from solver.describe import describe_build
    from solver.report import Report, file_warnings
    from solver.survey import survey_room
    from solver.tradeoff import front_report

    loaded = load(scenario)
    survey = survey_room(loaded.scenario, loaded.hardware)
    (found, clash), interrupted = search(lambda clock: _answer(survey, workers, clock), limit)
    if found.points and show is not None and show > len(found.points):
        raise click.BadParameter(f"there are {len(found.points)} points", param_hint="--show")
    builds = [
        describe_build(survey, b.standing, b.figures, n, b.proven, dict(b.stages))
        for n, b in enumerate(found.points, start=1)
    ]
    chosen = None
    if found.complete and found.points:
        from solver.search.front import scenarios_choice

        chosen = scenarios_choice(survey, found.points).figures
    figures = [point.figures for point in found.points]
    report = Report(
        scenario=survey.title,
        currency=survey.currency,
        sample_rate=survey.sample_rate,
        outcome=found.outcome,
        proven=found.outcome == "impossible" or found.complete,
        complete=found.complete,
        criteria=list(survey.rank),
        builds=builds,
        front=front_report(survey, figures, chosen, complete=found.complete) if builds else None,
        clash=clash,
        warnings=file_warnings(loaded.warnings),
    )
    if form == "json":
        click.echo(report.as_json(), nl=False)
    else:
        from cli.screen.front import show_front

        show_front(report, show)
    return stop.code if interrupted else OUTCOMES[report.outcome]


def _answer(survey: Survey, workers: int, clock: Clock) -> tuple[Front, Clash | None]:
    from cli.why import explain_clash
    from solver.search import front as fronts

    found = fronts.front(survey, workers=workers, clock=clock)
    if found.outcome != "impossible":
        return found, None
    return found, explain_clash(survey, clock, workers, "work")[0]

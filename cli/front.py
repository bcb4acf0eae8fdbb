"""`strapwork front`: every build that no other beats, and what each step from one to the next buys."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli import saving
from cli.options import FILE, Whole, format_option, load, search_options
from cli.rooms import Asked, room_option, tell
from cli.search import OUTCOMES, search
from cli.stop import stop

if TYPE_CHECKING:
    from solver.reports.report import Report
    from solver.room.survey import Survey
    from solver.search.solve.clock import Clock
    from solver.search.solve.stages import RankedBuild


@click.command()
@click.argument("scenario", type=FILE)
@click.option("--show", type=Whole(min=1), help="A build to show whole.")
@room_option
@search_options
@click.option("--save", type=FILE, metavar="FILE", help="Write the build of --show to a new build file.")
@click.option("--force", is_flag=True, help="Overwrite files that are there.")
@format_option
def front(
    scenario: Path,
    show: int | None,
    room: str | None,
    limit: float | None,
    workers: int,
    save: Path | None,
    force: bool,
    dump_model: Path | None,
    form: str,
) -> int:
    """Find every build of SCENARIO that no other beats on its criteria."""
    if save is not None and show is None:
        raise click.UsageError("--save FILE writes the build of --show N; name one")

    loaded = load(scenario)
    if save is not None:
        saving.check_build(save, force)
    asked = Asked.of(loaded, room, scenario)
    both, interrupted = search(
        lambda clock: asked.answers(lambda survey: _answer(survey, workers, clock), clock, workers),
        limit,
        dump_model,
        force,
    )
    points = both.first.answer[1]
    if points and show is not None and show > len(points):
        raise click.BadParameter(f"there are {len(points)} builds", param_hint="--show")
    unsaved = None
    if save is not None and show is not None and points:
        unsaved = saving.save(both.whole(points[show - 1].build), save, force)
    answers = both.each(lambda one: one.answer[0])
    tell(answers, loaded, scenario, form, lambda report: _show(report, show))
    saving.tell(unsaved)
    return stop.code if interrupted else answers.code(OUTCOMES[answers.first.answer.outcome])


def _show(report: Report, show: int | None) -> None:
    from cli.screen.front import show_front

    show_front(report, show if show is not None and show <= len(report.builds) else None)


def _answer(asked: Survey, workers: int, clock: Clock) -> tuple[Report, Sequence[RankedBuild]]:
    """The front as the report has it, and its builds."""
    from cli.why import answer_or_why
    from solver.reports.describe import describe_build, shortage_notes
    from solver.reports.report import Report
    from solver.reports.tradeoff import front_report
    from solver.search.ask import front as fronts

    found, clash = answer_or_why(asked, lambda room: fronts.front(room, workers=workers, clock=clock), workers, clock)
    survey, points = found.survey or asked, found.points
    chosen = fronts.scenarios_choice(survey, points).figures if found.complete and points else None
    builds = [
        describe_build(survey, b.standing, b.figures, n, b.proven, dict(b.stages), b.bounds)
        for n, b in enumerate(points, start=1)
    ]
    report = Report(
        scenario=survey.title,
        currency=survey.currency,
        sample_rate=survey.sample_rate,
        outcome=found.outcome,
        proven=found.complete,
        complete=found.complete,
        criteria=list(survey.rank),
        builds=builds,
        front=front_report(survey, [b.figures for b in points], chosen, complete=found.complete) if points else None,
        clash=clash,
        notes=shortage_notes(builds),
    )
    return report, points

"""`strapwork plan`: ranked builds of a scenario."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

import click

from cli import saving
from cli.options import FILE, Whole, format_option, load, search_options
from cli.search import OUTCOMES, search
from cli.stop import stop

if TYPE_CHECKING:
    from solver.files.reading import Loaded
    from solver.reports.report import Report
    from solver.room.build import Build


@click.command()
@click.argument("scenario", type=FILE)
@click.option("--top", type=Whole(1, 100), default=5, show_default=True, help="At most so many builds.")
@click.option("--show", type=Whole(min=1), default=1, show_default=True, help="The build to show whole.")
@search_options
@click.option("--save", type=FILE, metavar="FILE", help="Write the build shown to a new build file.")
@click.option("--force", is_flag=True, help="Overwrite files that are there.")
@format_option
def plan(
    scenario: Path,
    top: int,
    show: int,
    limit: float | None,
    workers: int,
    save: Path | None,
    force: bool,
    dump_model: Path | None,
    form: str,
) -> int:
    """Rank the builds that SCENARIO makes possible; of several rooms together, find the best."""
    if show > top:
        raise click.BadParameter(f"only {top} builds are asked for; see --top", param_hint="--show")
    loaded = load(scenario)
    if save is not None:
        saving.check_build(save, force)
    several = len(loaded.scenario.rooms()) > 1
    if several:
        planned = _campus(loaded, workers, limit, dump_model, force)
    else:
        planned = _room(loaded, top, workers, limit, dump_model, force)
    report, builds, interrupted = planned
    if builds and show > len(builds):
        raise click.BadParameter(f"there are {len(builds)} builds", param_hint="--show")
    unsaved = None if save is None or not builds else saving.save(builds[show - 1], save, force)
    if form == "json":
        click.echo(report.as_json(), nl=False)
    elif several:
        from cli.screen.campus import show_campus

        show_campus(report)
    else:
        from cli.screen.plan import show_plan

        show_plan(report, show)
    saving.tell(unsaved)
    if interrupted:
        return stop.code
    return OUTCOMES[report.outcome]


Planned: TypeAlias = "tuple[Report, list[Build], bool]"
"""A report, the build files of its builds, and whether the search was interrupted."""


def _room(loaded: Loaded, top: int, workers: int, limit: float | None, dump_model: Path | None, force: bool) -> Planned:
    from cli.why import answer_or_why
    from solver.reports.assumed import assumed
    from solver.reports.describe import describe_build, shortage_notes, slack_notes
    from solver.reports.report import Report, file_warnings
    from solver.room.survey import survey_room
    from solver.search.ask.ranking import rank

    asked = survey_room(loaded.scenario, loaded.hardware)
    (ranking, clash), interrupted = search(
        lambda clock: answer_or_why(asked, lambda room: rank(room, top, workers=workers, clock=clock), workers, clock),
        limit,
        dump_model,
        force,
    )
    survey = ranking.survey or asked
    builds = [
        describe_build(survey, b.standing, b.figures, n, b.proven, dict(b.stages), b.bounds)
        for n, b in enumerate(ranking.builds, start=1)
    ]
    report = Report(
        scenario=survey.title,
        currency=survey.currency,
        sample_rate=survey.sample_rate,
        outcome=ranking.outcome,
        proven=ranking.outcome == "impossible" or (bool(builds) and all(b.proven for b in builds)),
        complete=ranking.complete,
        criteria=list(survey.rank),
        builds=builds,
        clash=clash,
        notes=[*shortage_notes(builds), *slack_notes(survey)],
        assumed=assumed(loaded.scenario, loaded.hardware),
        warnings=file_warnings(loaded.warnings),
    )
    return report, [b.build for b in ranking.builds], interrupted


def _campus(loaded: Loaded, workers: int, limit: float | None, dump_model: Path | None, force: bool) -> Planned:
    from cli.rooms import plan_rooms
    from solver.judge.campus import survey_campus
    from solver.reports.assumed import assumed
    from solver.reports.describe_campus import campus_report
    from solver.reports.report import file_warnings

    campus = survey_campus(loaded.scenario, loaded.hardware)
    found, interrupted = search(lambda clock: plan_rooms(campus, workers, clock), limit, dump_model, force)
    best = found.best
    told = {"assumed": assumed(loaded.scenario, loaded.hardware), "warnings": file_warnings(loaded.warnings)}
    report = campus_report(campus, found.outcome, best).model_copy(update=told)
    return report, [] if best is None else [best.build], interrupted

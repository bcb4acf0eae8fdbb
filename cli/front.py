"""`strapwork front`: every build that no other beats, and what each step from one to the next buys."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli import saving
from cli.command import Command
from cli.options import FILE, Whole, format_option, load, search_options
from cli.rooms import code_of, room_option, tell
from cli.search import OUTCOMES, search
from cli.stop import stop

if TYPE_CHECKING:
    from collections.abc import Sequence

    from solver.answers.asked import Answers
    from solver.files.reading import Loaded
    from solver.reports.report import Report
    from solver.room.build import Build
    from solver.search.solve.clock import Clock
    from solver.search.solve.stages import RankedBuild


@click.command(cls=Command)
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
    from solver.answers.asked import Asked

    if save is not None and show is None:
        raise click.UsageError("--save FILE writes the build of --show N; name one")

    loaded = load(scenario)
    if save is not None:
        saving.check_build(save, force)
    if loaded.scenario.phase and room is None:
        return _phases(loaded, show, limit, workers, save, force, dump_model, form)
    asked = Asked.of(loaded, room)

    def fronts(clock: Clock) -> Answers[tuple[Report, Sequence[RankedBuild]]]:
        from solver.answers.front import front

        return asked.answers(lambda survey: front(survey, workers, clock), clock, workers)

    both, interrupted = search(fronts, limit, dump_model, force)
    points = both.first.answer[1]
    saving.one_of(len(points), show)
    unsaved = None
    if save is not None and show is not None and points:
        unsaved = saving.save(both.whole(points[show - 1].build), save, force, loaded)
    answers = both.each(lambda one: one.answer[0])
    tell(answers, loaded, scenario, form, lambda report: _show(report, show))
    saving.tell(unsaved)
    return stop.code if interrupted else code_of(answers, OUTCOMES[answers.first.answer.outcome])


def _phases(
    loaded: Loaded,
    show: int | None,
    limit: float | None,
    workers: int,
    save: Path | None,
    force: bool,
    dump_model: Path | None,
    form: str,
) -> int:
    """What more money in the first of several phases saves."""

    def fronts(clock: Clock) -> tuple[Report, tuple[Build, ...]]:
        from solver.answers.phases import front_in_phases

        return front_in_phases(loaded, workers, clock)

    (report, builds), interrupted = search(fronts, limit, dump_model, force)
    saving.one_of(len(builds), show, "way")
    unsaved = None
    if save is not None and show is not None and builds:
        unsaved = saving.save(builds[show - 1], save, force, loaded)
    if form == "json":
        click.echo(report.as_json(), nl=False)
    else:
        from cli.screen.phases import show_phases_front

        show_phases_front(report, show)
    saving.tell(unsaved)
    return stop.code if interrupted else OUTCOMES[report.outcome]


def _show(report: Report, show: int | None) -> None:
    from cli.screen.front import show_front

    show_front(report, show if show is not None and show <= len(report.builds) else None)

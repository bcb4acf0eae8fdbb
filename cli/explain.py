"""`strapwork explain`: what a build's figures are made of, what is near its limits, what another does differently."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.options import FILE, format_option, load, load_both, search_options
from cli.search import OUTCOMES, search
from cli.stop import stop

if TYPE_CHECKING:
    from solver.build import Build
    from solver.explanation import Explanation
    from solver.report import BuildReport
    from solver.search.ranking import RankedBuild
    from solver.survey import Survey


@click.command()
@click.argument("scenario", type=FILE)
@click.option("--show", type=click.IntRange(1, 100), help="The build to explain; 1 without it.")
@click.option("--against", type=click.IntRange(1, 100), help="A build of the search to compare it with.")
@click.option("--build", type=FILE, metavar="FILE", help="Explain a build file in place of a build of the search.")
@search_options
@format_option
def explain(
    scenario: Path,
    show: int | None,
    against: int | None,
    build: Path | None,
    limit: float | None,
    workers: int,
    dump_model: Path | None,
    form: str,
) -> int:
    """Say what each figure of a build of SCENARIO is made of, and which limits are near."""
    from solver.survey import survey_room

    if build is not None and show is not None:
        raise click.BadParameter("give the number of a build or a build file, not both", param_hint="--show")
    shown = (show or 1) if build is None else None
    if shown is not None and shown == against:
        raise click.BadParameter("this is the build that is explained", param_hint="--against")
    drawn = None
    if build is None:
        loaded = load(scenario)
    else:
        loaded, drawn = load_both(scenario, build)
    survey = survey_room(loaded.scenario, loaded.hardware)
    top = max(shown or 0, against or 0)
    ranking, interrupted = None, False
    if top:
        from solver.search.ranking import rank

        ranking, interrupted = search(lambda clock: rank(survey, top, workers=workers, clock=clock), limit, dump_model)
    builds = ranking.builds if ranking is not None else ()
    if interrupted and len(builds) < top and (builds or shown is None):
        raise click.Abort
    if ranking is not None and shown is not None and ranking.outcome != "found":
        from solver.explain import unexplained

        document = unexplained(survey, ranking.outcome)
    else:
        other = None if against is None else _report(survey, _pick(builds, against, "--against"), against)
        document = (
            _explain_file(survey, drawn, other)
            if drawn is not None
            else _explain_ranked(survey, _pick(builds, show or 1, "--show"), show or 1, other)
        )
    if form == "json":
        from solver.report import file_warnings

        whole = document.model_copy(update={"warnings": file_warnings(loaded.warnings)})
        click.echo(whole.as_json(), nl=False)
    else:
        from cli.screen.explain import show_explanation

        show_explanation(document)
    return stop.code if interrupted else {**OUTCOMES, "clean": 0, "faulty": 1}[document.outcome]


def _pick(builds: Sequence[RankedBuild], number: int, option: str) -> RankedBuild:
    if number > len(builds):
        raise click.BadParameter(f"the search found only {len(builds)}", param_hint=option)
    return builds[number - 1]


def _report(survey: Survey, found: RankedBuild, number: int) -> BuildReport:
    from solver.describe import describe_build

    return describe_build(survey, found.standing, found.figures, number, found.proven, dict(found.stages))


def _explain_ranked(survey: Survey, found: RankedBuild, number: int, other: BuildReport | None) -> Explanation:
    from solver.explain import explanation

    return explanation(survey, "found", found.standing, _report(survey, found, number), other)


def _explain_file(survey: Survey, drawn: Build, other: BuildReport | None) -> Explanation:
    from solver.describe import check_report
    from solver.explain import explanation
    from solver.standing import stand

    standing = stand(survey, drawn)
    checked = check_report(survey, standing)
    return explanation(survey, checked.outcome, standing, checked.builds[0], other)

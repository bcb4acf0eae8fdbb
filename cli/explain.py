"""`strapwork explain`: what a build's figures are made of, what is near its limits, what another does differently."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.options import FILE, Whole, format_option, load, load_both, search_options
from cli.rooms import Asked, room_option, tell
from cli.search import OUTCOMES, search
from cli.stop import stop

if TYPE_CHECKING:
    from cli.rooms import Answers
    from solver.reports.explanation import Explanation
    from solver.reports.report import BuildReport
    from solver.room.build import Build
    from solver.room.survey import Survey
    from solver.search.ask.ranking import RankedBuild, Ranking
    from solver.search.solve.clock import Clock


@click.command()
@click.argument("scenario", type=FILE)
@click.option("--show", type=Whole(1, 100), help="The build to explain; 1 without it.")
@click.option("--against", type=Whole(1, 100), help="A build of the search to compare it with.")
@click.option("--build", type=FILE, metavar="FILE", help="Explain a build file in place of a build of the search.")
@room_option
@search_options
@format_option
def explain(
    scenario: Path,
    show: int | None,
    against: int | None,
    build: Path | None,
    room: str | None,
    limit: float | None,
    workers: int,
    dump_model: Path | None,
    form: str,
) -> int:
    """Say what each figure of a build of SCENARIO is made of, and which limits are near."""
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
    asked = Asked.of(loaded, room, scenario)
    top = max(shown or 0, against or 0)

    def rankings(clock: Clock) -> Answers[Ranking | None]:
        from solver.search.ask.ranking import rank

        return asked.answers(lambda survey: rank(survey, top, workers=workers, clock=clock), clock, workers, drawn)

    if top:
        ranked, interrupted = search(rankings, limit, dump_model)
    else:
        ranked, interrupted = asked.answers(lambda _: None, None, workers, drawn), False
    for one in ranked.told:
        builds = () if one.answer is None else one.answer.builds
        if interrupted and len(builds) < top and (builds or shown is None):
            raise click.Abort
    answers = ranked.each(lambda one: _document(one.survey, one.answer, drawn, shown, against))
    tell(answers, loaded, scenario, form, _show)
    found = {**OUTCOMES, "clean": 0, "faulty": 1}[answers.first.answer.outcome]
    return stop.code if interrupted else answers.code(found)


def _show(document: Explanation) -> None:
    from cli.screen.explain import show_explanation

    show_explanation(document)


def _document(
    survey: Survey, ranking: Ranking | None, drawn: Build | None, shown: int | None, against: int | None
) -> Explanation:
    builds = () if ranking is None else ranking.builds
    if ranking is not None and shown is not None and ranking.outcome != "found":
        from solver.reports.explain import unexplained

        return unexplained(survey, ranking.outcome)
    other = None if against is None else _report(survey, _pick(builds, against, "--against"), against)
    if drawn is not None:
        return _explain_file(survey, drawn, other)
    return _explain_ranked(survey, _pick(builds, shown or 1, "--show"), shown or 1, other)


def _pick(builds: Sequence[RankedBuild], number: int, option: str) -> RankedBuild:
    if number > len(builds):
        raise click.BadParameter(f"the search found only {len(builds)}", param_hint=option)
    return builds[number - 1]


def _report(survey: Survey, found: RankedBuild, number: int) -> BuildReport:
    from solver.reports.describe import describe_build

    return describe_build(survey, found.standing, found.figures, number, found.proven, dict(found.stages))


def _explain_ranked(survey: Survey, found: RankedBuild, number: int, other: BuildReport | None) -> Explanation:
    from solver.reports.explain import explanation

    return explanation(survey, "found", found.standing, _report(survey, found, number), other)


def _explain_file(survey: Survey, drawn: Build, other: BuildReport | None) -> Explanation:
    from solver.reports.checking import check_report, check_room
    from solver.reports.explain import explanation

    own = drawn.frame if survey.room is None else tuple(frame for frame in drawn.frame if frame.room == survey.room)
    checked = check_room(survey, drawn.model_copy(update={"frame": own}))
    report = check_report(survey, checked)
    document = explanation(survey, report.outcome, checked.standing, report.builds[0], other)
    return document.model_copy(update={"notes": list(checked.assumed)})

"""`strapwork explain`: what a build's figures are made of, what is near its limits, what another does differently."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.codes import FAULTY, FOUND
from cli.command import Command
from cli.options import FILE, Whole, format_option, load, load_both, search_options
from cli.rooms import code_of, room_option, tell
from cli.search import OUTCOMES, search
from cli.stop import stop
from solver.answers.asking import MOST_BUILDS

if TYPE_CHECKING:
    from solver.answers.asked import Answers
    from solver.reports.explanation import Explanation
    from solver.search.ask.ranking import Ranking
    from solver.search.solve.clock import Clock


@click.command(cls=Command)
@click.argument("scenario", type=FILE)
@click.option("--show", type=Whole(1, MOST_BUILDS), help="The build to explain; 1 without it.")
@click.option("--against", type=Whole(1, MOST_BUILDS), help="A build of the search to compare it with.")
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
    from solver.answers.asked import Asked
    from solver.answers.explain import ToExplain, rankings
    from solver.answers.explain import explain as explained

    meant = ToExplain(show, against, drawn=build is not None)
    drawn = None
    if build is None:
        loaded = load(scenario)
    else:
        loaded, drawn = load_both(scenario, build)
    asked = Asked.of(loaded, room)

    def searched(clock: Clock | None) -> Answers[Ranking | None]:
        return rankings(asked, meant, drawn, workers, clock)

    ranked, interrupted = search(searched, limit, dump_model) if meant.top else (searched(None), False)
    for one in ranked.told:
        builds = () if one.answer is None else one.answer.builds
        if interrupted and len(builds) < meant.top and (builds or meant.shown is None):
            raise click.Abort
    answers = ranked.each(lambda one: explained(one.survey, one.answer, meant, drawn))
    tell(answers, loaded, scenario, form, _show)
    found = {**OUTCOMES, "clean": FOUND, "faulty": FAULTY}[answers.first.answer.outcome]
    return stop.code if interrupted else code_of(answers, found)


def _show(document: Explanation) -> None:
    from cli.screen.explain import show_explanation

    show_explanation(document)

"""`strapwork why`: why a scenario is impossible, and the smallest changes that make it possible."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Literal, Protocol, TypeVar

import click

from cli import saving
from cli.options import FILE, Whole, format_option, load, search_options
from cli.rooms import Asked, room_option, tell
from cli.search import OUTCOMES, search
from cli.stop import stop

if TYPE_CHECKING:
    from solver.reports.report import Clash, Report
    from solver.reports.why import By, Found
    from solver.room.survey import Survey
    from solver.room.wish import Wish
    from solver.search.solve.clock import Clock


class Outcome(Protocol):
    """What a search of a room comes to."""

    @property
    def outcome(self) -> str:
        """Found, impossible or unknown."""
        ...


Answer = TypeVar("Answer", bound=Outcome)

by_option = click.option(
    "--by",
    type=click.Choice(["work", "money"]),
    default="work",
    show_default=True,
    help="Order ways out by the work that they mean or by what the cheapest build then costs.",
)


@click.command()
@click.argument("scenario", type=FILE)
@by_option
@click.option("--apply", "applied", type=Whole(min=1), metavar="N", help="Write the scenario with way N made.")
@click.option("--to", type=FILE, metavar="FILE", help="Where --apply writes; comments are kept.")
@click.option("--force", is_flag=True, help="Overwrite files that are there.")
@room_option
@search_options
@format_option
def why(
    scenario: Path,
    by: Literal["work", "money"],
    applied: int | None,
    to: Path | None,
    force: bool,
    room: str | None,
    limit: float | None,
    workers: int,
    dump_model: Path | None,
    form: str,
) -> int:
    """Say why SCENARIO is impossible, and the smallest ways out; of several rooms, which clash over what."""

    if (applied is None) != (to is None):
        raise click.UsageError("--apply N and --to FILE go together")
    loaded = load(scenario)
    if to is not None:
        saving.check_scenario(to, force)
    if room is None and len(loaded.scenario.room) > 1:
        from cli.why_rooms import why_rooms

        return why_rooms(loaded, scenario, by, applied, to, force, limit, workers, dump_model, form)
    asked = Asked.of(loaded, room, scenario)
    both, interrupted = search(
        lambda clock: asked.answers(lambda survey: answer(survey, clock, workers, by), clock, workers),
        limit,
        dump_model,
        force,
    )
    last = both.told[-1]
    report, ways = last.answer
    if applied is not None and to is not None and applied <= len(ways):
        from solver.relax.changed_file import write_changed

        with stop.held():
            write_changed(last.survey, scenario, ways[applied - 1].changes, to, force=force, read=saving.read())
        click.echo(f"way out {applied} is made in {to}", err=True)
    answers = both.each(lambda one: one.answer[0])
    tell(answers, loaded, scenario, form, lambda report: _show(report, by))
    if applied is not None and applied > len(ways):
        raise saving.NotSaved(f"way out {applied} is not made: {_no_such_way(report, len(ways))}")
    if interrupted:
        return stop.code
    return 0 if applied is not None else answers.code(OUTCOMES[answers.first.answer.outcome])


def _no_such_way(report: Report, ways: int) -> str:
    """Why a way out cannot be made: which numbers there are, or why there is none."""
    if ways:
        return "give 1, there is one way out" if ways == 1 else f"give 1 to {ways}"
    if report.outcome == "found":
        return "the scenario is possible as it is"
    return "the search was ended before it found one"


def _show(report: Report, by: str) -> None:
    from cli.screen.why import show_why

    show_why(report, by)


def answer(survey: Survey, clock: Clock, workers: int, by: By) -> tuple[Report, list[Found]]:
    """Whether a scenario is possible and, where it is proven not to be, why not.

    Where it is possible only because needs that are nice to have give way: why not all of them can be met.
    """
    from solver.relax.document import all_needed
    from solver.reports.describe import describe_build, shortage_notes
    from solver.reports.report import Report
    from solver.search.ask.ranking import rank

    ranking = rank(survey, 1, workers=workers, clock=clock)
    found: list[Found] = []
    clash = None
    builds = [
        describe_build(b.standing.survey, b.standing, b.figures, 1, b.proven, dict(b.stages)) for b in ranking.builds
    ]
    if ranking.outcome == "impossible":
        clash, found = explain_clash(survey, clock, workers, by)
    elif any(build.short for build in builds):
        clash, found = explain_clash(all_needed(survey), clock, workers, by)
    report = Report(
        scenario=survey.title,
        currency=survey.currency,
        sample_rate=survey.sample_rate,
        outcome=ranking.outcome,
        proven=ranking.outcome == "impossible" or all(build.proven for build in ranking.builds),
        criteria=list(survey.rank),
        clash=clash,
        notes=[*shortage_notes(builds), *(short.text for build in builds for short in build.short)],
    )
    return report, found


def explain_clash(
    survey: Survey, clock: Clock, workers: int, by: By, fixed: frozenset[Wish] = frozenset()
) -> tuple[Clash, list[Found]]:
    """The clash of an impossible scenario as the report has it, and its ways out in the same order.

    Wishes of `fixed` do not give way.
    """
    from solver.reports.why import Found, clash_report, in_order
    from solver.search.ask.clash import clash

    found = clash(survey, clock, workers, fixed=fixed)
    ways = in_order([Found(way.changes, way.cheapest.figures) for way in found.ways], by)
    report = clash_report(
        survey,
        ways,
        found.because,
        complete=found.complete,
        minimal=found.minimal,
        searched=found.searched,
        left_out=found.sets_left,
        other_amounts=found.amounts_left,
        tried_alone=found.tried_alone,
    )
    return report, ways


def answer_or_why(
    survey: Survey, ask: Callable[[Survey], Answer], workers: int, clock: Clock
) -> tuple[Answer, Clash | None]:
    """The answer about a room, and why there is no build where that is proven."""
    found = ask(survey)
    clash = explain_clash(survey, clock, workers, "work")[0] if found.outcome == "impossible" else None
    return found, clash

"""`strapwork why`: why a scenario is impossible, and the smallest changes that make it possible."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from cli import saving
from cli.command import Command
from cli.options import FILE, Whole, format_option, load, search_options
from cli.rooms import code_of, room_option, tell
from cli.search import OUTCOMES, search
from cli.stop import stop
from cli.telling import say
from cli.why_rooms import why_rooms

if TYPE_CHECKING:
    from solver.answers.asked import Answers
    from solver.reports.report import Report
    from solver.reports.why import Found
    from solver.search.solve.clock import Clock

by_option = click.option(
    "--by",
    type=click.Choice(["work", "money"]),
    default="work",
    show_default=True,
    help="Order ways out by the work that they mean or by what the cheapest build then costs.",
)


@click.command(cls=Command)
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
        return why_rooms(loaded, scenario, by, applied, to, force, limit, workers, dump_model, form)
    from solver.answers.asked import Asked

    asked = Asked.of(loaded, room)

    def reasons(clock: Clock) -> Answers[tuple[Report, list[Found]]]:
        from solver.answers.why import why

        return asked.answers(lambda survey: why(survey, clock, workers, by), clock, workers)

    both, interrupted = search(reasons, limit, dump_model, force)
    last = both.told[-1]
    report, ways = last.answer
    if applied is not None and to is not None and applied <= len(ways):
        from solver.relax.changed_file import write_changed

        with stop.held():
            write_changed(last.survey, scenario, ways[applied - 1].changes, to, force=force, read=saving.read())
        say(f"way out {applied} is made in {to}", [str(to)])
    answers = both.each(lambda one: one.answer[0])
    tell(answers, loaded, scenario, form, lambda report: _show(report, by))
    if applied is not None and applied > len(ways):
        raise saving.NotSaved(f"way out {applied} is not made: {_no_such_way(report, len(ways))}")
    if interrupted:
        return stop.code
    return 0 if applied is not None else code_of(answers, OUTCOMES[answers.first.answer.outcome])


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

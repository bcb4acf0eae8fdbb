"""`strapwork why` of several rooms: which of them clash over what they share, and the smallest ways out."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli import saving
from cli.search import OUTCOMES, search
from cli.stop import stop
from cli.telling import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from solver.files.reading import Loaded
    from solver.reports.campus_why import CampusWhy, FoundWay
    from solver.reports.why import By
    from solver.search.solve.clock import Clock


def why_rooms(
    loaded: Loaded,
    path: Path,
    by: By,
    applied: int | None,
    to: Path | None,
    force: bool,
    limit: float | None,
    workers: int,
    dump_model: Path | None,
    form: str,
) -> int:
    """Say why the rooms of a scenario cannot all be built, and return the exit code."""
    from solver.judge.campus import survey_campus

    campus = survey_campus(loaded.scenario, loaded.hardware)

    def reasons(clock: Clock) -> tuple[CampusWhy, Sequence[FoundWay]]:
        from solver.answers import why_rooms

        return why_rooms.why_rooms(campus, loaded, clock, workers, by)

    (answer, ways), interrupted = search(reasons, limit, dump_model, force)
    if applied is not None and to is not None and applied <= len(ways):
        from solver.relax.changed_file import write_changed

        way = ways[applied - 1]
        with stop.held():
            write_changed(campus.rooms[way.room or 0], path, way.changes, to, force=force, read=saving.read())
        say(f"way out {applied} is made in {to}", [str(to)])
    if form == "json":
        click.echo(answer.as_json(), nl=False)
    else:
        from cli.screen.why_rooms import show_why_rooms

        show_why_rooms(answer, path, by)
    if applied is not None and applied > len(ways):
        raise saving.NotSaved(f"way out {applied} is not made: {_no_such_way(answer, len(ways))}")
    if interrupted:
        return stop.code
    return 0 if applied is not None else OUTCOMES[answer.outcome]


def _no_such_way(answer: CampusWhy, count: int) -> str:
    if count:
        return f"give 1 to {count}: so many ways out there are" if count > 1 else "give 1: there is one way out"
    if answer.alone:
        return f'there are none of what rooms share; those of one room have --room "{answer.alone[0].room}"'
    return "the rooms can be built as they are" if answer.outcome == "found" else "no ways out were found"

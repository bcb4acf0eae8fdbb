"""`strapwork pack`: a folder with all that is said of a build, to be left beside the frame."""

from __future__ import annotations

import os
import re
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cli import saving
from cli.codes import FAULTY, FOUND
from cli.command import Command
from cli.options import FILE, Type, Whole, days_option, format_option, load_change
from cli.stop import stop
from cli.versions import version_of
from solver.answers.asking import LABEL_WIDTH, LEAST_LABEL, MOST_LABEL

if TYPE_CHECKING:
    from solver.answers.on_day import When
    from solver.reports.pack import Manifest, Pack

EPOCH = "SOURCE_DATE_EPOCH"
"""Names the second that counts as now, as reproducible-builds.org has it: the same pack on every day."""


USUAL_LABEL = "18"
"""Width of a label in millimetres: 24 beside each other and some air in the opening of a rack, 450.85 mm (EIA-310)."""

LEAST_MM, MOST_MM = 6, 60


class Width(Type):
    """A width in millimetres."""

    name = "millimetres"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Decimal:
        """The millimetres."""
        from solver.room.faults import quote

        if isinstance(value, Decimal):
            return value
        if not re.fullmatch(r"[0-9]{1,2}(\.[0-9])?", value) or not LEAST_MM <= Decimal(value) <= MOST_MM:
            self.fail(f"must be {LEAST_MM} to {MOST_MM} with one decimal at most, found {quote(value)}", param, ctx)
        return Decimal(value)


@click.command(cls=Command)
@click.argument("scenario", type=FILE)
@click.argument("build", type=FILE)
@click.option("--to", type=FILE, metavar="FOLDER", required=True, help="Where to write it.")
@click.option(
    "--from", "old", type=FILE, metavar="OLD", help="The build that stands; without it what the scenario says."
)
@click.option("--room", metavar="NAME", help="One of several rooms; all of them without it.")
@click.option(
    "--width",
    type=Whole(LEAST_LABEL, MOST_LABEL),
    default=LABEL_WIDTH,
    show_default=True,
    help="Characters that a label has room for.",
)
@click.option(
    "--label-mm",
    type=Width(),
    default=USUAL_LABEL,
    show_default=True,
    help="Width of a label on the sheet of labels, in millimetres.",
)
@click.option("--anyway", is_flag=True, help="Pack a faulty build too, with FAULTY on every sheet.")
@click.option("--force", is_flag=True, help="Replace a pack that is there.")
@days_option
@format_option
def pack(
    scenario: Path,
    build: Path,
    to: Path,
    old: Path | None,
    room: str | None,
    width: int,
    label_mm: Decimal,
    anyway: bool,
    force: bool,
    asked: When | None,
    since: When | None,
    form: str,
) -> int:
    """Write a folder with all that is said of a BUILD file of SCENARIO: a page to read and print, tables, the files.

    The folder is written whole or not at all, and none that is there is replaced without --force. Exit code 1 says
    that the build is faulty, and that nothing is written without --anyway. The date is today's, or that of
    SOURCE_DATE_EPOCH.
    """
    from cli.screen.pack import show_packed
    from solver.answers import pack as packing

    change = load_change(scenario, old, build, asked, since)
    saving.check_pack(to, force)
    contents = packing.contents_of(change.loaded.read)
    document = packing.pack(change.loaded, change.new, _today(), change.old, room, width, contents, change.earlier)
    refused = bool(document.faults) and not anyway
    written = {} if refused else {**_drawn(document, label_mm), **{name: data for name, (_, data) in contents.items()}}
    manifest = _manifest(document, written)
    if not refused:
        with stop.held():
            saving.save_pack(to, manifest, written, force)
    if form == "json":
        click.echo(manifest.as_json(), nl=False)
    else:
        show_packed(manifest, to)
    return FAULTY if document.faults else FOUND


def _today() -> date:
    from solver.room.faults import quote

    given = os.environ.get(EPOCH)
    if given is None:
        return datetime.now().astimezone().date()
    try:
        return datetime.fromtimestamp(int(given), UTC).date()
    except (ValueError, OverflowError, OSError):
        raise click.UsageError(
            f"{EPOCH} must be a count of seconds, to the year 9999 at most, found {quote(given)}"
        ) from None


def _drawn(document: Pack, label_mm: Decimal) -> dict[str, bytes]:
    """What is made of a document: the page, the sheet of labels, tables, and all of it for programs."""
    from cli.page.draw import labels_html, page_html

    pages = {"index.html": page_html(document), "labels.html": labels_html(document, label_mm)}
    tables = {name: text.encode() for name, text in document.tables().items()}
    drawn = {name: text.encode() for name, text in pages.items()}
    return {**drawn, **tables, "pack.json": document.as_json().encode()}


def _manifest(document: Pack, written: dict[str, bytes]) -> Manifest:
    from solver.reports.pack import Manifest, packed_file

    known = {file.name: file for file in document.files}
    return Manifest(
        strapwork=version_of("strapwork"),
        scenario=document.scenario,
        room=document.room,
        sample_rate=document.sample_rate,
        outcome=document.outcome,
        made_on=document.made_on,
        revision=document.revision,
        faults=document.faults,
        files=[known.get(name) or packed_file(name, data) for name, data in written.items()],
    )

"""Arguments and options that several commands share."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from cli.saving import has_read
from cli.stop import stop
from cli.telling import say_faults
from solver.answers.asking import MOST_WORKERS, usual_workers

if TYPE_CHECKING:
    from solver.answers.on_day import Change, When
    from solver.files.reading import Loaded
    from solver.room.build import Build

    Type = click.ParamType[Any]
else:
    Type = click.ParamType  # older versions of click cannot be asked what of

Command = TypeVar("Command", bound=Callable[..., Any])
Read = TypeVar("Read")


class File(Type):
    """The name of a file, as it is written."""

    name = "file"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        """The path; an empty name, which an unset shell variable leaves, and an address of the web are none."""
        if isinstance(value, Path):
            return value
        from solver.room.faults import quote

        if not value or "\0" in value:
            self.fail(f"must name a file, found {quote(value)}", param, ctx)
        if re.match(r"[A-Za-z][A-Za-z0-9+.-]+://", value):
            self.fail(f"{quote(value)} is an address; save it and name that file", param, ctx)
        return Path(value)


class Whole(click.IntRange):
    """A whole number as the files have it, within bounds."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The number."""
        if isinstance(value, str):
            from solver.room.words import parse_whole

            value = _read(self, parse_whole, value, param, ctx)
        return super().convert(value, param, ctx)


class Seconds(Type):
    """A span of time."""

    name = "seconds"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The seconds."""
        from solver.room.words import parse_seconds

        return value if isinstance(value, float) else float(_read(self, parse_seconds, value, param, ctx))


class Amount(Type):
    """An amount of money."""

    name = "amount"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Decimal:
        """The amount; the scenario's currency decides how many decimals it may have."""
        from solver.room.words import parse_amount

        return value if isinstance(value, Decimal) else _read(self, parse_amount, value, param, ctx)


class Rate(Type):
    """A known sample rate, in hertz or kilohertz."""

    name = "rate"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """The rate in hertz."""
        from solver.room.faults import quote
        from solver.room.words import SAMPLE_RATES, nearest_rate, parse_rate

        hertz = value if isinstance(value, int) else _read(self, parse_rate, value, param, ctx)
        if hertz not in SAMPLE_RATES:
            close = nearest_rate(hertz)
            near = "" if close is None else f"; did you mean {close}?"
            known = ", ".join(map(str, SAMPLE_RATES))
            self.fail(f"{quote(str(value))} is no known sample rate{near} ({known})", param, ctx)
        return hertz


def _read(
    kind: Type,
    parse: Callable[[str], Read],
    value: str,
    param: click.Parameter | None,
    ctx: click.Context | None,
) -> Read:
    """What a value means in the grammar of the files; what stands there is said where it means nothing."""
    from solver.room.faults import quote

    try:
        return parse(value)
    except ValueError as error:
        kind.fail(f"{error}, found {quote(value)}", param, ctx)


FILE = File()


def day_option(command: Command) -> Command:
    """``--setup NAME`` and ``--phase NAME``, as one argument `asked`."""
    return _days(command, "asked", "", "One of several kinds of day.", "One of several phases.")


def days_option(command: Command) -> Command:
    """The same, with ``--from-setup NAME`` and ``--from-phase NAME`` of what stands, as one argument `since`."""
    setup = "The kind of day of what stands; that of --setup without it."
    phase = "The phase of what stands: without it the same one of a build that is named, else the one before."
    return day_option(_days(command, "since", "from-", setup, phase))


def _days(command: Command, name: str, begin: str, setup: str, phase: str) -> Command:
    @functools.wraps(command)
    def asked(*args: Any, **options: Any) -> Any:
        from solver.answers.on_day import when

        given = [options.pop(f"{begin}{sort}".replace("-", "_")) for sort in ("setup", "phase")]
        return command(*args, **options, **{name: when(*given)})

    options: Command = asked  # type: ignore[assignment]  # takes what the command takes, but for that argument
    for sort, told in (("phase", phase), ("setup", setup)):
        options = click.option(f"--{begin}{sort}", metavar="NAME", help=told)(options)
    return options


def format_option(command: Command) -> Command:
    """``--format text|json``."""
    choice = click.Choice(["text", "json"])
    option = click.option("--format", "form", type=choice, default="text", show_default=True, help="What to print.")
    return option(command)


def table_option(command: Command) -> Command:
    """``--format text|csv|json``."""
    choice = click.Choice(["text", "csv", "json"])
    told = "Text for people, CSV for spreadsheets, JSON for programs."
    return click.option("--format", "form", type=choice, default="text", show_default=True, help=told)(command)


def workers_option(command: Command) -> Command:
    """``--workers N``: a thread for each core that this process may use, up to four, without it."""
    return click.option(
        "--workers",
        type=Whole(1, MOST_WORKERS),
        default=usual_workers(),
        show_default="cores, at most 4",
        help="Threads of the search; a proven answer does not depend on it.",
    )(command)


def search_options(command: Command) -> Command:
    """``--limit SECONDS``, ``--workers N`` and ``--dump-model FILE`` of a search."""
    dump = "After an internal error, write the model to FILE."
    return limit_option(workers_option(click.option("--dump-model", type=FILE, metavar="FILE", help=dump)(command)))


def limit_option(command: Command) -> Command:
    """``--limit SECONDS`` of a search."""

    def begin(_: click.Context, __: click.Parameter, seconds: float | None) -> float | None:
        if seconds is not None:
            stop.limit(seconds)
        return seconds

    option = click.option("--limit", type=Seconds(), callback=begin, help="For the search; no limit without it.")
    return option(command)


def load(path: Path) -> Loaded:
    """Read a scenario with its hardware; warnings go to stderr."""
    from solver.files.reading import load_scenario

    return _told(load_scenario(path))


def load_both(scenario: Path, build: Path) -> tuple[Loaded, Build]:
    """Read a scenario with its hardware, and a build of it; warnings go to stderr."""
    from solver.files.reading import load_drawn

    loaded, drawn = load_drawn(scenario, build)
    return _told(loaded), drawn


def load_day(scenario: Path, build: Path, asked: When | None) -> tuple[Loaded, Build]:
    """The same as they are on one of several kinds of day, or in one of several phases, where there are some."""
    from solver.answers.on_day import on_day

    return on_day(*load_both(scenario, build), asked)


def load_change(scenario: Path, old: Path | None, build: Path, asked: When | None, since: When | None) -> Change:
    """Read a scenario with its hardware, the build that stands and the one to come; warnings go to stderr."""
    from solver.answers.on_day import change_on_days
    from solver.files import reading

    if old is None:
        return change_on_days(*load_both(scenario, build), None, asked, since)
    loaded, was, new = reading.load_change(scenario, old, build)
    return change_on_days(_told(loaded), new, was, asked, since)


def _told(loaded: Loaded) -> Loaded:
    has_read(loaded.read)
    if loaded.warnings:
        say_faults(loaded.warnings)
    return loaded

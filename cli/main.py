"""The `strapwork` command. `run` owns every exit code."""

from __future__ import annotations

import os
import shlex
import sys
from collections.abc import Sequence

import click

from cli.blocks import blocks
from cli.check import check
from cli.explain import explain
from cli.front import front
from cli.plan import plan
from cli.reach import reach
from cli.schema import schema
from cli.stop import stop
from cli.versions import version_of, version_rows, versions
from cli.why import why
from cli.why_not import why_not

FOUND, REFUSED, USAGE, UNKNOWN, INTERNAL = 0, 1, 2, 3, 4
"""Exit codes: done; impossible or faulty; bad usage or files; ended by a limit; a defect here. `Stop.code` is the
one of a command that was interrupted."""


def _show_version(context: click.Context, _: click.Parameter, asked: bool) -> None:
    if asked:
        click.echo(f"strapwork {version_of('strapwork')}")
        context.exit()


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.option("--version", is_flag=True, is_eager=True, expose_value=False, callback=_show_version, help="Its version.")
def cli() -> None:
    """Plan, check and rank builds of modular converter frames.

    Exit codes: 0 found or clean, 1 proven impossible or faulty, 2 bad usage or files, 3 a limit ended the search
    without an answer, 4 internal error, 130 interrupted (143 by SIGTERM).
    """


for command in (plan, front, why, why_not, reach, explain, check, blocks, schema, versions):
    cli.add_command(command)


def run(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code."""
    try:
        code = cli.main(args=arguments, prog_name="strapwork", standalone_mode=False)
        return int(code or FOUND)
    except click.ClickException as error:
        error.show()
        return USAGE
    except click.Abort as abort:
        if isinstance(abort.__context__, EOFError):
            click.echo("the input ended before there was an answer", err=True)
            return USAGE
        click.echo("interrupted", err=True)
        return stop.code
    except OSError as error:
        click.echo(f"{error.filename or 'output'}: {error.strerror or error}", err=True)
        return USAGE
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:  # a panic inside a package is no Exception, and would end in 1
        return _report_defect(error, sys.argv[1:] if arguments is None else arguments)


def _report_defect(error: BaseException, arguments: Sequence[str]) -> int:
    """Files that are at fault raise `FileFaults`; anything else is a defect, shown whole with what to send."""
    from solver.faults import FileFaults

    if isinstance(error, FileFaults):
        click.echo(error.render(), err=True)
        return USAGE
    import traceback

    traceback.print_exception(error)
    versions = ", ".join(f"{name} {version}" for name, version in version_rows())
    files = [os.path.abspath(argument) for argument in arguments if os.path.isfile(argument)]
    lines = [
        "",
        "internal error: this is a defect of strapwork, not of your files. Please report it with",
        "  the lines above",
        f"  versions: {versions}",
        f"  command: {shlex.join(['strapwork', *arguments])}",
        *(f"  file: {file}" for file in files),
        "  and the hardware files that the scenario names",
    ]
    click.echo("\n".join(lines), err=True)
    return INTERNAL

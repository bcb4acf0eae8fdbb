"""The `strapwork` command. `main` owns every exit code."""

from __future__ import annotations

import os
import sys
from typing import NoReturn

import click

from cli.blocks import blocks
from cli.check import check
from cli.explain import explain
from cli.plan import plan
from cli.schema import schema

FOUND, REFUSED, USAGE, UNKNOWN, INTERNAL, INTERRUPTED = 0, 1, 2, 3, 4, 130
"""Exit codes: done; impossible or faulty; bad usage or files; ended by a limit; a defect here; interrupted."""


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="strapwork", prog_name="strapwork")
def cli() -> None:
    """Plan, check and rank builds of modular converter frames.

    Exit codes: 0 found or clean, 1 proven impossible or faulty, 2 bad usage or files, 3 a limit ended the search
    without an answer, 4 internal error, 130 interrupted.
    """


for command in (plan, explain, check, blocks, schema):
    cli.add_command(command)


def run(arguments: list[str] | None = None) -> int:
    """Run a command and return its exit code."""
    try:
        code = cli.main(args=arguments, prog_name="strapwork", standalone_mode=False)
        sys.stdout.flush()
        return int(code or FOUND)
    except click.ClickException as error:
        error.show()
        return USAGE
    except (click.Abort, KeyboardInterrupt):
        click.echo("interrupted", err=True)
        return INTERRUPTED
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FOUND
    except OSError as error:
        click.echo(f"{error.filename or 'output'}: {error.strerror or error}", err=True)
        return USAGE
    except Exception as error:
        return _report_defect(error)


def _report_defect(error: Exception) -> int:
    """Files that are at fault raise `FileFaults`; anything else is a defect, shown whole for a report."""
    from solver.faults import FileFaults

    if isinstance(error, FileFaults):
        click.echo(error.render(), err=True)
        return USAGE
    import traceback

    traceback.print_exception(error)
    click.echo("internal error: this is a defect of strapwork; please report the lines above", err=True)
    return INTERNAL


def main() -> NoReturn:
    """Entry point of the console script."""
    sys.exit(run())

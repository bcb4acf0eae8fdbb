"""The `strapwork` command. `run` gives every exit code."""

from __future__ import annotations

import os
import shlex
import sys
from collections.abc import Sequence
from importlib import import_module

import click

from cli.codes import FOUND, INTERNAL, USAGE
from cli.saving import NotSaved
from cli.stop import stop
from cli.telling import say, say_faults
from cli.versions import version_of, version_rows


def _show_version(context: click.Context, _: click.Parameter, asked: bool) -> None:
    if asked:
        click.echo(f"strapwork {version_of('strapwork')}")
        context.exit()


TO_COPY = (
    "strapwork plan scenarios/quay-mix-rig.toml",
    "strapwork check scenarios/quay-filled.toml scenarios/quay-filled-drawn.toml",
    "strapwork why scenarios/quay-impossible.toml",
)
"""What a newcomer can paste in the folder of the README: one line for each question that is asked most."""


MODULES = (
    "start",
    "plan",
    "front",
    "why",
    "why_not",
    "reach",
    "tolerance",
    "explain",
    "check",
    "channels",
    "looms",
    "labels",
    "find",
    "input_list",
    "diff",
    "work_order",
    "failed",
    "single_points",
    "rack",
    "power",
    "clock",
    "pack",
    "blocks",
    "schema",
    "versions",
)
"""Where the commands are, each in the module of its name."""


def _name(module: str) -> str:
    """What a module's command is called."""
    return "list" if module == "input_list" else module.replace("_", "-")


class Commands(click.Group):
    """The commands, their help headed by lines to copy, no summary cut; without any it is bad usage.

    The one that is asked for is imported, and no other.
    """

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names of all commands."""
        return sorted({*self.commands, *(_name(module) for module in MODULES)})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """A command by its name."""
        module = next((module for module in MODULES if _name(module) == cmd_name), None)
        if module is None:
            return super().get_command(ctx, cmd_name)
        found = getattr(import_module(f"cli.{module}"), module)
        assert isinstance(found, click.Command)
        return found

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that is asked for; of a name that is none the nearest is told."""
        if args and not ctx.resilient_parsing and self.get_command(ctx, args[0]) is None:
            from solver.room.faults import nearest, quote

            near = nearest(args[0], self.list_commands(ctx))
            ctx.fail(f"no command {quote(args[0])}{f'; did you mean {near}?' if near else ''}")
        return super().resolve_command(ctx, args)

    def every(self) -> dict[str, click.Command]:
        """All commands by name."""
        ctx = click.Context(self)
        each = ((name, self.get_command(ctx, name)) for name in self.list_commands(ctx))
        return {name: command for name, command in each if command is not None}

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Without a command, the help goes to standard error; a shell that completes a line asks without one too."""
        if not args and not ctx.resilient_parsing:
            click.echo(ctx.get_help(), err=True)
            ctx.exit(USAGE)
        return super().parse_args(ctx, args)

    def format_help(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The lines to copy, then what every help has."""
        formatter.write("".join(f"{line}\n" for line in TO_COPY) + "\n")
        super().format_help(ctx, formatter)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Every command with the whole of its summary."""
        with formatter.section("Commands"):
            formatter.write_dl(
                [(name, (command.help or "").split("\n\n")[0]) for name, command in self.every().items()]
            )


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.option("--version", is_flag=True, is_eager=True, expose_value=False, callback=_show_version, help="Its version.")
def cli() -> None:
    """Plan, check and rank builds of modular converter frames.

    The lines above say what fits, whether a build is right, and what would make an impossible scenario possible.

    Exit codes: 0 found or clean, 1 proven impossible or faulty, 2 bad usage or files, 3 a limit ended the search
    without an answer, 4 internal error, 130 interrupted (143 by SIGTERM).
    """


def run(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code."""
    given = sys.argv[1:] if arguments is None else list(arguments)
    try:
        code = cli.main(args=given, prog_name="strapwork", standalone_mode=False)
        return int(code or FOUND)
    except click.ClickException as error:
        return _refuse(error, given)
    except click.Abort as abort:
        if isinstance(abort.__context__, EOFError):
            return _refuse(click.ClickException("the input ended before there was an answer"), given)
        click.echo("interrupted", err=True)
        return stop.code
    except OSError as error:
        gone = isinstance(error, FileNotFoundError) and error.filename is None  # whoever asks where we are
        told = click.ClickException("the current folder is no longer there; go to one that is") if gone else error
        return _refuse(told, given)
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:  # a panic inside a package is no Exception, and would end in 1
        from solver.room.faults import FileFaults

        if isinstance(error, FileFaults):
            return _refuse(error, given)
        return _report_defect(error, given)


def _refuse(error: Exception, arguments: Sequence[str]) -> int:
    """Say on standard error what is wrong with the command or its files; as a document too where JSON is asked for.

    A command that has given its answer, and then could not write a file or all of its output, gives no second one.
    """
    from solver.room.faults import Fault, FileFaults, escape

    if isinstance(error, FileFaults):
        faults = error.faults
        say_faults(faults)
    elif isinstance(error, OSError):
        place, said = os.fsdecode(error.filename or "output"), error.strerror or str(error)
        faults = (Fault(place, (), said),)
        say(f"{escape(place)}: {escape(said)}", [escape(place)])
    else:
        assert isinstance(error, click.ClickException)
        said = error.format_message()
        faults = (Fault("", (), said, option=_option_of(error)),)
        if isinstance(error, click.UsageError) and error.ctx is not None:
            context = error.ctx
            click.echo(f"{context.get_usage()}\nTry '{context.command_path} --help' for help.\n", err=True)
        told = said if isinstance(error, NotSaved) else f"Error: {said}"
        say("\n".join(map(escape, told.split("\n"))), map(escape, arguments))
    answered = isinstance(error, NotSaved) or (isinstance(error, OSError) and error.filename is None)
    if asks_for_json(arguments) and not answered:
        from solver.reports.element import Refused

        click.echo(Refused.of(faults).as_json(), nl=False)
    return USAGE


def _option_of(error: click.ClickException) -> str | None:
    """The option or argument that is at fault, if it is one."""
    if isinstance(error, click.NoSuchOption):
        return error.option_name
    if not isinstance(error, click.BadParameter):
        return getattr(error, "option_name", None)
    if isinstance(error.param_hint, str):
        return error.param_hint.strip("'")
    if error.param is None:
        return None
    return error.param.opts[-1] if isinstance(error.param, click.Option) else error.param.human_readable_name


def asks_for_json(arguments: Sequence[str]) -> bool:
    """Whether the last ``--format`` is that of a document; a command that is refused may never have read it."""
    asked = ""
    given = list(arguments[: arguments.index("--")] if "--" in arguments else arguments)
    for before, argument in zip(["", *given], given, strict=False):
        if before == "--format" or argument.startswith("--format="):
            asked = argument.removeprefix("--format=")
    return asked == "json"


def _report_defect(error: BaseException, arguments: Sequence[str]) -> int:
    """A traceback, and what to send."""
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

"""A command: a question that cannot be put so is bad usage of the option that is at fault."""

from __future__ import annotations

from typing import Any

import click

from solver.room.errors import Parameter, WrongQuestion


class Command(click.Command):
    """A command that asks something of the files."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run it."""
        try:
            return super().invoke(ctx)
        except WrongQuestion as wrong:
            said = wrong.told(as_option)
            if wrong.about is None:
                raise click.UsageError(said, ctx) from None
            arguments = {own.name for own in self.params if isinstance(own, click.Argument)}
            hint = wrong.about.upper() if wrong.about in arguments else _option(wrong.about)
            raise click.BadParameter(said, ctx, param_hint=hint) from None


def as_option(parameter: Parameter) -> str:
    """A parameter as it stands on a command line: ``--slot``, ``--cost 300``, ``--without-orders``."""
    option = _option(parameter.name)
    return f"{option} {parameter.value}" if isinstance(parameter.value, str) else option


def _option(name: str) -> str:
    return f"--{name.replace('_', '-')}"

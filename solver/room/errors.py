"""What a caller may have to catch: one family, and a question that cannot be put so."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass


class StrapworkError(Exception):
    """Whatever Strapwork raises of its own accord."""


@dataclass(frozen=True)
class Parameter:
    """A parameter of a question, with a value where one is meant: Python writes it otherwise than a command line."""

    name: str
    value: str | bool | None = None


def in_python(parameter: Parameter) -> str:
    """A parameter as a call has it: ``slot=``, ``cost=300``, ``without_orders=True``."""
    return f"{parameter.name}={'' if parameter.value is None else parameter.value}"


class WrongQuestion(StrapworkError):
    """A question that cannot be put so: a name that there is not, or parameters that do not go together.

    Parameters
    ----------
    parts
        What is wrong, in words and parameters.
    about
        The parameter that is at fault, if it is one.
    """

    def __init__(self, *parts: str | Parameter, about: str | None = None) -> None:
        super().__init__(*parts)
        self.parts = parts
        self.about = about

    def __str__(self) -> str:
        return self.told(in_python)

    def told(self, write: Callable[[Parameter], str]) -> str:
        """What is wrong, with parameters as somebody writes them."""
        return "".join(part if isinstance(part, str) else write(part) for part in self.parts)

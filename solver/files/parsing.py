"""The data of a TOML file, or why there is none: no file ends in a traceback."""

from __future__ import annotations

import re
import tomllib
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from solver.files.contents import read_text
from solver.room.faults import Fault, quote

MOST_KEY_PARTS = 20
"""A dotted key with more parts is refused: the reader's time grows with their square."""

_KEY_PART = r"""[ \t]*+(?>[A-Za-z0-9_-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\."""

_LONG_KEY = re.compile(rf"(?:^|[{{,])[ \t]*+\[{{0,2}}+(?:{_KEY_PART}){{{MOST_KEY_PARTS}}}", re.MULTILINE)
"""Nothing in it is tried twice, so that a line of blanks takes no longer than another one."""

TOML_WORDS = (
    (r"cannot overwrite a value", "a key stands there twice"),
    (r"cannot declare \((.*?),?\) twice", r"a table stands there twice: \1"),
    (r"duplicate inline table key (.*)", r"a key stands there twice: \1"),
    (r"illegal character '\\n'", "a text does not end on its line"),
    (r"(?:found invalid|illegal) character (.*)", r"a character that may not stand there: \1"),
    (r"invalid value", "no number, date, true or false; text stands in quotes"),
)
"""What the TOML reader says, and how it is said here; anything else is passed on as it is."""


def parse(file: str, path: Path) -> dict[str, Any] | Fault:
    """The data of a file, or why there is none."""
    text = read_text(file, path)
    if isinstance(text, Fault):
        return text
    text = text.replace("\r\n", "\n")
    long_key = _LONG_KEY.search(text)
    if long_key:
        line = text.count("\n", 0, long_key.start()) + 1
        return Fault(file, (), f"a key with more than {MOST_KEY_PARTS} parts", line=line)
    try:
        return tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        return _toml_fault(file, text, str(error))
    except RecursionError:
        return Fault(file, (), "lists or tables are nested too deep")
    except (ValueError, InvalidOperation):
        return _number_fault(file, text)


def _toml_fault(file: str, text: str, told: str) -> Fault:
    """What the TOML reader said, with its line and column as figures."""
    match = re.fullmatch(r"(.*?)\s*\(at (?:line (\d+), column (\d+)|end of document)\)", told, re.DOTALL)
    said = match[1] if match else told
    said = said[:1].lower() + said[1:]
    for pattern, words in TOML_WORDS:
        said = re.sub(rf"^{pattern}$", words, said, count=1)
    message = f"is no valid TOML: {said}"
    if match and match[2]:
        return Fault(file, (), message, line=int(match[2]), column=int(match[3]))
    lines = text.rstrip("\n").split("\n")
    return Fault(file, (), message, line=len(lines), column=len(lines[-1]) + 1)


def _number_fault(file: str, text: str) -> Fault:
    """A number with thousands of digits, or with an exponent that nothing can hold."""
    match = re.search(r"[0-9_]{4000,}|[0-9][eE][+-]?[0-9_]{15,}", text)
    if match is None:
        return Fault(file, (), "holds a number or a date that cannot be read")
    line = text.count("\n", 0, match.start()) + 1
    return Fault(file, (), "a number is too large to be read", quote(match[0]), line=line)

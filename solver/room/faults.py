"""Faults in files: where, what was found, what is allowed, the nearest name. One shape for all."""

from __future__ import annotations

import datetime
import difflib
import re
import textwrap
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import NoneType, UnionType
from typing import TYPE_CHECKING, Annotated, Any, Literal, Union, get_args, get_origin

from solver.room.errors import StrapworkError
from solver.room.words import nearest_rate, parse_rate

if TYPE_CHECKING:
    from pydantic import BaseModel, ValidationError

Path = tuple[str | int, ...]
"""Keys from the top of a file. A list's item is its name or id where it has one, else its position from 1."""

TABLES = frozenset(
    {
        "bay",
        "card",
        "board",
        "chassis",
        "strap_group",
        "setting",
        "frame",
        "need",
        "rack",
        "breaker",
        "host_port",
        "clock",
        "item",
        "room",
        "pinout",
        "connector",
        "tie_line",
    }
)
"""Keys of lists whose tables are told by name."""

LONGEST_SHOWN = 60
"""Longer findings are shortened on the screen and in messages."""

MOST_ALLOWED_SHOWN = 12
"""A longer list of what is allowed ends with a count."""

MOST_TOLD = 50
"""Faults of one file, and warnings, that are told; a file of nothing but faults would take minutes to tell."""


def escape(text: str) -> str:
    r"""Make control and other invisible characters visible, as ``\x07``."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text)


def quote(text: str) -> str:
    """A text in quotes, shortened if very long, with control characters escaped."""
    return f'"{escape(text if len(text) <= LONGEST_SHOWN else text[:LONGEST_SHOWN] + "...")}"'


def written(text: str) -> str:
    """A text as a TOML file has it, quotes and all, so that it can be copied from a message."""
    if any(c in '"\\' for c in text):
        if text.isprintable() and "'" not in text:
            return f"'{text}'"
        text = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else _code(c) for c in text) + '"'


def _code(letter: str) -> str:
    return f"\\u{ord(letter):04x}" if ord(letter) < 0x10000 else f"\\U{ord(letter):08x}"


def nearest(word: str, allowed: Iterable[str]) -> str | None:
    """The allowed name that looks most like `word`, or None if none does."""
    return next(iter(near(word, allowed, 1)), None)


def near(word: str, allowed: Iterable[str], most: int) -> list[str]:
    """The allowed names that look like `word`, the likest first."""
    folded = {name.lower(): name for name in sorted(allowed, reverse=True)}
    found = difflib.get_close_matches(word[:120].lower(), folded, n=most, cutoff=0.6)
    return [folded[name] for name in found]


def show_path(path: Path) -> str:
    """Write a path as ``need "returns" > signal`` or ``offer 2 > price``."""
    parts: list[str] = []
    named = False
    for step in path:
        if isinstance(step, int) or named:
            parts[-1] += f" {step}" if isinstance(step, int) else f" {quote(step)}"
            named = False
        else:
            parts.append(step if re.fullmatch(r"[A-Za-z0-9_+.-]{1,120}", step) else quote(step))
            named = step in TABLES
    return " > ".join(parts)


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong, or a warning, in one file or with one option of a command.

    `path` names the key; `found` is what stands there; `allowed` what may; `nearest` the likeliest meant, which is
    `bare` if the file has it without quotes. `file` is empty where an option alone is at fault.
    """

    file: str
    path: Path
    message: str
    found: str | None = None
    allowed: tuple[str, ...] = ()
    nearest: str | None = None
    line: int | None = None
    column: int | None = None
    severity: Literal["fault", "warning"] = "fault"
    bare: bool = False
    option: str | None = None

    def text(self) -> str:
        """The place, the message, the nearest name and what is allowed, on one line."""
        place = show_path(self.path)
        if self.line is not None:
            at = f"line {self.line}" + (f", column {self.column}" if self.column is not None else "")
            place = f"{place} ({at})" if place else at
        text = f"{place}: {escape(self.message)}" if place else escape(self.message)
        if self.nearest is not None:
            text += f"; did you mean {escape(self.nearest) if self.bare else written(self.nearest)}?"
        if self.allowed:
            shown = [quote(name) if ", " in name else escape(name) for name in self.allowed[:MOST_ALLOWED_SHOWN]]
            if len(self.allowed) > MOST_ALLOWED_SHOWN:
                shown.append(f"and {len(self.allowed) - MOST_ALLOWED_SHOWN} more")
            text += f" ({', '.join(shown)})"
        return text


def unknown(
    file: str,
    path: Path,
    found: str,
    allowed: Iterable[str],
    what: str,
    severity: Literal["fault", "warning"] = "fault",
) -> Fault:
    """Make the fault of a name that is none of `allowed`: the name, `what`, the nearest."""
    names = tuple(sorted(set(allowed)))
    return Fault(file, path, f"{quote(found)} {what}", found, names, nearest(found, names), severity=severity)


def first_told(faults: Iterable[Fault]) -> list[Fault]:
    """The first `MOST_TOLD` faults and as many warnings of one file, and that there are more if there are."""
    told: list[Fault] = []
    counts = {"fault": 0, "warning": 0}
    for fault in faults:
        counts[fault.severity] += 1
        if counts[fault.severity] <= MOST_TOLD:
            told.append(fault)
        elif counts[fault.severity] == MOST_TOLD + 1:
            message = f"has more {fault.severity}s; these are the first {MOST_TOLD}"
            told.append(Fault(fault.file, (), message, severity=fault.severity))
            if fault.severity == "fault":
                break
    return told


def render(faults: Iterable[Fault], width: int = 80) -> str:
    """Group faults by file, in the order given; long lines are wrapped between words and never cut."""
    groups: dict[str, list[Fault]] = {}
    for fault in faults:
        groups.setdefault(fault.file, []).append(fault)
    lines: list[str] = []
    for file, members in groups.items():
        warned = sum(fault.severity == "warning" for fault in members)
        counts = [(len(members) - warned, "fault"), (warned, "warning")]
        told = ", ".join(f"{n} {word}{'' if n == 1 else 's'}" for n, word in counts if n)
        lines.append(f"{escape(file)}: {told}")
        for fault in members:
            word = "warning: " if fault.severity == "warning" else ""
            lines += textwrap.wrap(
                word + fault.text(),
                width,
                initial_indent="  ",
                subsequent_indent="    ",
                break_long_words=False,
                break_on_hyphens=False,
            )
    return "\n".join(lines)


class FileFaults(StrapworkError):
    """Files that cannot be used, with every fault of every file.

    Parameters
    ----------
    faults
        In file order; warnings may be among them.
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__(self.faults)

    def __str__(self) -> str:
        return self.render()

    def render(self, width: int = 80) -> str:
        """All faults as text, grouped by file."""
        return render(self.faults, width)


def describe(value: object) -> str:
    """What was found, in a few plain words: ``"12" (text)``, ``2.5``, ``true``, ``a list``."""
    if isinstance(value, str):
        return f"{quote(value)} (text)"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int):
        return str(value) if value.bit_length() < 200 else "a very large number"
    if isinstance(value, Decimal):
        return str(value)[:LONGEST_SHOWN]
    if isinstance(value, (datetime.date, datetime.time)):
        return f"{value.isoformat()} (a date or time)"
    return "a table" if isinstance(value, dict) else "a list"


def label(item: object, position: int) -> str | int:
    """The id or name of a list's table, a setting's straps or position; else the place from 1."""
    if isinstance(item, dict):
        for key in ("id", "name", "position"):
            name = item.get(key)
            if isinstance(name, str) and 0 < len(name) <= 120:
                return name
        closed = item.get("closed")
        if isinstance(closed, list) and closed and all(isinstance(strap, str) for strap in closed):
            joined = "+".join(closed)
            return joined if len(joined) <= 120 else position
    return position


def _choices(kind: object) -> list[Any]:
    """The plain types behind annotations and unions."""
    origin = get_origin(kind)
    if origin is Annotated:
        return _choices(get_args(kind)[0])
    if origin in (Union, UnionType):
        return [choice for part in get_args(kind) for choice in _choices(part)]
    return [] if kind is NoneType else [kind]


def _fields(kind: Any) -> dict[str, Any]:
    """Keys of a model as a file writes them, and their types."""
    model_fields = getattr(kind, "model_fields", {})
    return {field.alias or name: field.annotation for name, field in model_fields.items()}


@dataclass(frozen=True)
class _Place:
    path: Path
    keys: tuple[str, ...]
    branch: str | None
    value: object


def _locate(model: type[BaseModel], raw: object, loc: tuple[int | str, ...]) -> _Place:
    """Follow a validation location through the data, dropping the marks that unions and keys leave in it."""
    kinds: list[Any] = [model]
    data, path, branch, keys = raw, list[str | int](), None, tuple[str, ...]()
    for n, step in enumerate(loc):
        models = [kind for kind in kinds if _fields(kind)]
        if step == "[key]" and n == len(loc) - 1:
            return _Place(tuple(path), (), None, path[-1])
        if isinstance(step, int) and isinstance(data, list):
            branch = None
            item = data[step]
            path.append(label(item, step + 1) if path and path[-1] in TABLES else step + 1)
            kinds = [choice for kind in kinds for choice in _choices((get_args(kind) or (None,))[0])]
            data = item
        elif isinstance(data, dict) and len(models) > 1:
            kinds = [kind for kind in models if str(step) in get_args(_fields(kind)["path"])]
        elif isinstance(data, dict) and (models or get_origin(kinds[0] if kinds else None) is dict):
            keys = tuple(sorted(_fields(models[0]))) if models else ()
            found = _fields(models[0]).get(str(step)) if models else get_args(kinds[0])[1]
            kinds = _choices(found)
            path.append(step)
            data = data.get(step)
        else:
            branch = str(step)
    return _Place(tuple(path), keys, branch, data)


def _is_other_branch(branch: str | None, value: object) -> bool:
    """Whether a union's branch is not the one that the value was meant for."""
    if branch is None:
        return False
    if branch.startswith("tuple"):
        return not isinstance(value, list)
    return isinstance(value, list) or (branch == "str" and not isinstance(value, str))


BRANCHED = {
    "widths": "must be a whole number or a list of runs",
    "slack": 'must be a whole number or a text such as "5 %"',
}
"""What keys with two kinds of value take."""

TYPES = {
    "int_type": "must be a whole number",
    "int_parsing_size": "must be a smaller whole number",
    "int_from_float": "must be a whole number",
    "is_instance_of": "must be a number",
    "decimal_type": "must be a number",
    "finite_number": "must be a finite number",
    "string_type": "must be text in quotes",
    "bool_type": "must be true or false",
    "dict_type": "must be a table",
    "model_type": "must be a table",
    "model_attributes_type": "must be a table",
}
"""What a value of the wrong kind must be, by the kind of validation error."""


def _bounds(kind: str, bounds: Mapping[str, object]) -> str | None:
    words = {
        "greater_than_equal": ("ge", "at least"),
        "greater_than": ("gt", "more than"),
        "less_than_equal": ("le", "at most"),
        "less_than": ("lt", "less than"),
    }
    if kind not in words:
        return None
    key, word = words[kind]
    return f"must be {word} {bounds[key]}"


def _translate(file: str, place: _Place, error: Any) -> Fault:  # noqa: C901, PLR0912 - one list of cases
    """One validation error in the words of a technician."""
    kind, ctx, path, value = error["type"], error.get("ctx", {}), place.path, place.value
    if kind == "missing":
        return Fault(file, path, "is missing" if path != ("format",) else "is missing; write format = 1")
    if kind == "extra_forbidden":
        key = str(path[-1])
        return Fault(file, path, "there is no such key", key, place.keys, nearest(key, place.keys))
    if kind in ("union_tag_invalid", "union_tag_not_found"):
        tags = tuple(sorted(re.findall(r"'([^']*)'", ctx.get("expected_tags", ""))))
        path = (*path, ctx["discriminator"].strip("'"))
        if kind == "union_tag_not_found":
            return Fault(file, path, "is missing")
        return unknown(file, path, ctx["tag"], tags, "is not allowed")
    if kind == "literal_error":
        quoted = re.findall(r"'([^']*)'", ctx["expected"])
        if not quoted:
            return Fault(file, path, f"must be {ctx['expected']}, found {describe(value)}", describe(value))
        if isinstance(value, str):
            return unknown(file, path, value, quoted, "is not allowed")
        message = f"must be text in quotes, found {describe(value)}"
        return Fault(file, path, message, describe(value), tuple(sorted(quoted)))
    found = describe(value)
    if path[-1] == "sample_rate" and kind in TYPES:
        return Fault(file, path, f"{TYPES[kind]} of hertz, found {found}", found, nearest=_rate(value), bare=True)
    shown = quote(value) if isinstance(value, str) and kind not in TYPES else found
    if place.branch is not None and kind in TYPES:
        must = BRANCHED["slack" if "slack" in path else "widths"]
    elif kind == "tuple_type":
        must = "must be a list"
        if path[-1] in TABLES or path[-1] in ("offer", "must_seat", "clock_line"):
            must += f" of tables, each begun with [[{path[-1]}]]"
    elif kind in ("too_short", "string_too_short"):
        return Fault(file, path, "must not be empty", found)
    elif kind == "too_long":
        must, shown = f"must have at most {ctx['max_length']} entries", str(ctx["actual_length"])
    elif kind == "string_too_long":
        must = f"must be at most {ctx['max_length']} characters"
    elif kind == "string_pattern_mismatch":
        of_slots = "[1-9]" in ctx["pattern"]
        must = "must be a slot number" if of_slots else "must be lower-case letters, digits and hyphens"
    elif kind == "value_error":
        must = str(ctx["error"])
    else:
        must = _bounds(kind, ctx) or TYPES.get(kind) or str(error["msg"])
    return Fault(file, path, f"{must}, found {shown}", found)


def _rate(value: object) -> str | None:
    """The sample rate that is meant by a text such as ``96 kHz``, or by a number with a point."""
    try:
        close = nearest_rate(parse_rate(str(value)))
    except ValueError:
        return None
    return None if close is None else str(close)


def from_validation(file: str, model: type[BaseModel], raw: object, error: ValidationError) -> list[Fault]:
    """Turn a validation error into faults, one for each place.

    Parameters
    ----------
    file
        As it is shown.
    model
        The noun that was read.
    raw
        The data as the file gives it.
    error
        What the validation said.
    """
    found: dict[Path, Fault] = {}
    errors = error.errors(include_url=False, include_input=False)[: 10 * MOST_TOLD]
    pairs = [(_locate(model, raw, each["loc"]), each) for each in errors]
    meant_paths = [place.path for place, _ in pairs if not _is_other_branch(place.branch, place.value)]
    for place, each in pairs:
        other = _is_other_branch(place.branch, place.value)
        if other and any(path[: len(place.path)] == place.path for path in meant_paths):
            continue
        fault = _translate(file, place, each)
        found.setdefault(fault.path, fault)
    meant = {(*f.path[:-1], f.nearest) for f in found.values() if f.message == "there is no such key"}
    within = {path[:n] for path in found for n in range(len(path))}  # a list without its faulty entries is not empty
    return first_told(
        f
        for f in found.values()
        if not (f.message == "is missing" and f.path in meant)
        and not (f.message == "must not be empty" and f.path in within)
    )

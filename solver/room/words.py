"""Scalar types of the files: ids, texts, counts, quantities, money, slots. One definition of each.

They have names of their own (`TypeAliasType`), all but `Channels`, of which keys take a part; and modules of nouns have
no postponed annotations: pydantic works out a named type once, and would evaluate each text.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import ROUND_CEILING, Decimal, InvalidOperation
from typing import Annotated, Any, Literal, TypeAlias, TypeVar

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, Strict
from typing_extensions import TypeAliasType

Direction = Literal["in", "out"]
Family = Literal["48", "96", "192"]
Work: TypeAlias = Literal[
    "give up channels",
    "relax a limit",
    "change the sample rate",
    "lid off: fit blanks",
    "lid off: move cards or straps",
    "repair",
    "buy",
]
"""What a change means for those who make it, the least work first."""

LEAST_MEASURE = Decimal("0.001")
"""The least flow, area, height, heat or rise that formulas take, below all that is measured (own choice, no source)."""

PART_WORDS: dict[str, str] = {"stranded": "no number", "holes": "gaps", "idle": "not used"}
"""What screens call the parts of unused capacity, by the key of the files and of JSON."""

MOVED_WORDS: dict[str, str] = {
    "cards_moved": "moved",
    "straps_moved": "straps",
    "lids_off": "lids off",
    "renumbered": "renumbered",
}
"""What tables call what is moved from what stands, by the key of the files and of JSON."""

RANKED_WORDS: dict[str, str] = {
    **PART_WORDS,
    **MOVED_WORDS,
    "cards_moved": "cards moved",
    "straps_moved": "straps moved",
}
"""What titles call a criterion, by the key of the files and of JSON; others are called by their keys."""


def ranked_words(criteria: Iterable[str]) -> str:
    """Criteria in their order, in words."""
    return ", ".join(RANKED_WORDS.get(criterion, criterion) for criterion in criteria)


DIRECTIONS: tuple[Direction, Direction] = ("in", "out")

SIDES: dict[Direction, str] = {"in": "inputs", "out": "outputs"}

SAMPLE_RATES: dict[int, Family] = {
    44100: "48",
    48000: "48",
    88200: "96",
    96000: "96",
    176400: "192",
    192000: "192",
}
"""Sample rates in hertz and the family whose limits and channel counts they use."""

_TWO_DECIMALS = "AUD BRL CAD CHF CNY CZK DKK EUR GBP HKD HUF INR MXN NOK NZD PLN SEK SGD USD ZAR"
CURRENCY_DECIMALS: dict[str, int] = {
    **dict.fromkeys(_TWO_DECIMALS.split(" "), 2),
    **dict.fromkeys(("ISK", "JPY", "KRW"), 0),
    **dict.fromkeys(("BHD", "KWD", "TND"), 3),
}
"""Decimals of a currency's minor unit (ISO 4217, from memory)."""

MOST_ITEMS = 1000
"""The most entries of one kind in a file: cards, boards, frames, needs, offers."""
MOST_PARTS = 64
"""The most parts of one entry: ports of a card, strap groups of a board, settings of a group."""
LEAST_SECONDS, MOST_SECONDS = Decimal("0.01"), 1_000_000
"""The shortest and the longest limit of a search; the longest is more than eleven days."""
MOST_SLOTS = 64
MOST_MONEY = 10**12
"""The highest price or budget that a file holds."""
MOST_CHANNELS = 1024


class Noun(BaseModel):
    """Base of everything read from a file: frozen, and no key is silently ignored."""

    model_config = ConfigDict(defer_build=True, frozen=True, extra="forbid", populate_by_name=True)


def as_data(noun: Noun) -> dict[str, Any]:
    """What a file would have of a noun, as nested dicts and lists, which can be changed and validated again."""
    data: dict[str, Any] = _as_data(noun.model_dump(exclude_unset=True, warnings=False))
    return data


def _as_data(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _as_data(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [_as_data(entry) for entry in value]
    return value


def _plain_text(value: str) -> str:
    if not value.isprintable() or not value.strip():
        raise ValueError("must be visible characters without line breaks or control characters")
    return value


def _number(value: Any) -> Any:
    """Turn whole numbers into decimals; leave everything else for the type to accept or refuse."""
    return Decimal(value) if type(value) is int else value


def parse_amount(text: str) -> Decimal:
    """Read an amount of money, ``"1290.00"``: digits 0 to 9 and a point, nothing else.

    Raises
    ------
    ValueError
        If it is no such amount.
    """
    if not re.fullmatch(r"[0-9]{1,12}(\.[0-9]{1,6})?", text):
        raise ValueError('must be an amount such as "1290.00"')
    return Decimal(text)


def parse_seconds(text: str) -> Decimal:
    """Read a span of time, ``"90"`` or ``"2.5"``, in seconds.

    Raises
    ------
    ValueError
        If it is none, shorter than a hundredth of a second or longer than `MOST_SECONDS`.
    """
    if not re.fullmatch(r"[0-9]{1,7}(\.[0-9]{1,6})?", text) or not LEAST_SECONDS <= Decimal(text) <= MOST_SECONDS:
        raise ValueError(f'must be seconds from {LEAST_SECONDS} to {MOST_SECONDS}, such as "90" or "2.5"')
    return Decimal(text)


def parse_whole(text: str) -> int:
    """Read a whole number as the files have it: digits 0 to 9, no zero before another one, nine at most.

    Raises
    ------
    ValueError
        If it is none, or has more digits.
    """
    if re.fullmatch(r"-?[1-9][0-9]{9,}", text):
        raise ValueError("must be a whole number of nine digits at most")
    if not re.fullmatch(r"-?(0|[1-9][0-9]{0,8})", text):
        raise ValueError("must be a whole number")
    return int(text)


def parse_rate(text: str) -> int:
    """Read a sample rate, ``"96 kHz"``, ``"96k"``, ``"96000"`` or ``"96"``, as hertz; it need not be a known one.

    Raises
    ------
    ValueError
        If it is none.
    """
    match = re.fullmatch(r"([0-9]{1,6}(?:\.[0-9]{1,3})?) ?(k|khz|hz)?", text.lower())
    if not match:
        raise ValueError('must be a sample rate such as "96 kHz" or "96000"')
    figure, unit = Decimal(match[1]), match[2]
    hertz = figure * 1000 if unit in ("k", "khz") or (unit is None and figure < 1000) else figure
    if hertz != int(hertz):
        raise ValueError("must be a whole number of hertz")
    return int(hertz)


def nearest_rate(hertz: int) -> int | None:
    """The known sample rate that is likeliest meant: within a tenth, in kilohertz, or with a zero too few or many."""
    for meant in (hertz, hertz * 1000 if hertz < 1000 else hertz, hertz * 10, hertz // 10, -hertz):
        close = min(SAMPLE_RATES, key=lambda rate: (abs(rate - meant), rate))
        if 10 * abs(close - meant) <= close:
            return close
    return None


def _money(value: Any) -> Any:
    if type(value) is int:
        return Decimal(value)
    return parse_amount(value) if isinstance(value, str) else value


def _finite(value: Decimal) -> Decimal:
    if not value.is_finite():
        raise ValueError("must be a finite number")
    return value


def _no_less_than_the_least(value: Decimal) -> Decimal:
    if value < LEAST_MEASURE:
        raise ValueError(f"must be at least {LEAST_MEASURE}")
    return value


Text = TypeAliasType("Text", Annotated[str, Strict(), Field(min_length=1, max_length=120), AfterValidator(_plain_text)])
Id = TypeAliasType("Id", Annotated[str, Strict(), Field(min_length=1, max_length=64, pattern=r"^[a-z0-9][a-z0-9-]*$")])
"""Lower-case letters, digits and hyphens, beginning with a letter or a digit."""
Flag = TypeAliasType("Flag", Annotated[bool, Strict()])
Count = TypeAliasType("Count", Annotated[int, Strict(), Field(ge=0, le=9999)])
Positive = TypeAliasType("Positive", Annotated[int, Strict(), Field(ge=1, le=9999)])
SlotNumber = TypeAliasType("SlotNumber", Annotated[int, Strict(), Field(ge=1, le=MOST_SLOTS)])
Channels = Annotated[int, Strict(), Field(ge=0, le=MOST_CHANNELS)]
_Exact = [BeforeValidator(_number), Strict(), AfterValidator(_finite)]
Quantity = TypeAliasType("Quantity", Annotated[Decimal, *_Exact, Field(ge=0, le=100000)])
"""A physical amount that is never negative: watts, amperes, kelvin, millimetres, square centimetres."""
Measure = TypeAliasType(
    "Measure", Annotated[Decimal, *_Exact, Field(gt=0, le=100000), AfterValidator(_no_less_than_the_least)]
)
"""A physical amount that formulas divide by: above 0, and no less than `LEAST_MEASURE`."""
Share = TypeAliasType("Share", Annotated[Decimal, *_Exact, Field(ge=0, le=1)])
Celsius = TypeAliasType("Celsius", Annotated[Decimal, *_Exact, Field(ge=-40, le=150)])
Altitude = TypeAliasType("Altitude", Annotated[Decimal, *_Exact, Field(ge=-500, le=11000)])
Money = TypeAliasType(
    "Money", Annotated[Decimal, BeforeValidator(_money), Strict(), AfterValidator(_finite), Field(ge=0, le=MOST_MONEY)]
)
SlotKey = TypeAliasType("SlotKey", Annotated[str, Strict(), Field(pattern=r"^[1-9][0-9]?$")])


def parse_ranges(text: str, most: int = MOST_CHANNELS, *, repeats: bool = False) -> tuple[int, ...]:
    """Read ``"1-4, 7"`` as ``(1, 2, 3, 4, 7)``; a number may be named again where `repeats` are allowed.

    Raises
    ------
    ValueError
        If a part is no number or run, runs backwards, repeats a number or exceeds `most`.
    """
    found: list[int] = []
    for part in text.split(","):
        match = re.fullmatch(r"\s*([1-9][0-9]{0,3})\s*(?:-\s*([1-9][0-9]{0,3})\s*)?", part)
        if not match:
            raise ValueError('must be numbers and runs such as "1-4, 7"')
        first, last = int(match[1]), int(match[2] or match[1])
        if last < first:
            raise ValueError(f"the run {first}-{last} goes backwards")
        if last > most:
            raise ValueError(f"{last} is more than {most}")
        found.extend(range(first, last + 1))
    twice = [number for n, number in enumerate(found) if number in found[:n]]
    if twice and not repeats:
        raise ValueError(f"names {twice[0]} twice")
    return tuple(found)


def channel_told(need: str, channel: int | None, name: str | None, spare: bool) -> str:
    """What a channel of a need is called, "kick" or "drums 1"; spare ones are said to be."""
    return f"{need} {channel}" * (name is None) + (name or "") + " spare" * spare


Entry = TypeVar("Entry")


def in_runs(entries: Iterable[Entry], follows: Callable[[Entry, Entry], bool]) -> list[list[Entry]]:
    """Split a sequence wherever an entry does not follow the one before it."""
    runs: list[list[Entry]] = []
    for entry in entries:
        if runs and follows(runs[-1][-1], entry):
            runs[-1].append(entry)
        else:
            runs.append([entry])
    return runs


def enumerated(names: Sequence[str]) -> str:
    """``a, b and c``."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def write_ranges(numbers: tuple[int, ...] | list[int]) -> str:
    """Write ``(1, 2, 3, 4, 7)`` as ``"1-4, 7"``; an empty run as ``"-"``."""
    runs = in_runs(sorted(numbers), lambda one, other: other == one + 1)
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs) or "-"


def _range_text(value: str) -> str:
    parse_ranges(value)
    return value


def _served_text(value: str) -> str:
    parse_ranges(value, repeats=True)  # a channel that serves twice is judged, like one that is not there
    return value


def _slots_text(value: str) -> str:
    parse_ranges(value, MOST_SLOTS)
    return value


Ranges = TypeAliasType("Ranges", Annotated[str, Strict(), Field(max_length=400), AfterValidator(_range_text)])
ServedRanges = TypeAliasType(
    "ServedRanges", Annotated[str, Strict(), Field(max_length=400), AfterValidator(_served_text)]
)
SlotRanges = TypeAliasType("SlotRanges", Annotated[str, Strict(), Field(max_length=400), AfterValidator(_slots_text)])


def parse_percent(text: str, most: int) -> int:
    """Read ``"20 %"`` as 20.

    Raises
    ------
    ValueError
        If it is no whole number of per cent from 0 to `most`.
    """
    match = re.fullmatch(r"\s*([0-9]{1,4})\s*%\s*", text)
    if not match or int(match[1]) > most:
        raise ValueError(f'must be a whole number of per cent from 0 to {most}, such as "20 %"')
    return int(match[1])


def in_thousandths(value: Decimal, rounding: str = ROUND_CEILING) -> int:
    """Amperes to milliamperes, watts to milliwatts, kelvin to millikelvin; finer figures are rounded up unless said."""
    try:
        return int((value * 1000).to_integral_value(rounding=rounding))
    except InvalidOperation as error:
        raise ValueError("is finer or larger than can be counted") from error


def in_room(room: str | None, name: str) -> tuple[str, ...]:
    """A name, and before it that of its room where there are several: other rooms may have the same one."""
    return (name,) if room is None else (f"{room}, {name}", name)

"""A new scenario from answers, each checked as soon as it is given, by what checks files."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import Any

from solver.files.commented import commented
from solver.files.kinds import hardware_in
from solver.files.listreading import read_list
from solver.files.reading import faults_of_scenario, load_hardware
from solver.reports.causes import causes
from solver.room.errors import WrongQuestion
from solver.room.faults import Fault, FileFaults, quote
from solver.room.hardware import Card, Chassis
from solver.room.ready import survey_room
from solver.room.scenario import Need, Scenario
from solver.room.words import SAMPLE_RATES, Direction, Family

FILE, HARDWARE = "the new scenario", "the hardware"

FOLDERS = ("hardware", "scenarios/hardware")
"""Where hardware files are looked for, seen from a folder."""

RANK = ("cost", "unused", "cooling")

MOST_USUAL_CHANNELS = 8

PREFERRED: tuple[tuple[Direction, str], ...] = (("in", "line"), ("in", "mic"))
"""The first need asks for the first of these that cards can serve."""


@dataclass(frozen=True)
class FrameAnswer:
    """A frame that stands in the room; without a board the plan picks one."""

    name: str
    chassis: str
    board: str | None


@dataclass(frozen=True)
class NeedAnswer:
    """Channels that have to come in or go out."""

    name: str
    direction: str
    signal: str
    channels: int
    spare: int = 0


@dataclass(frozen=True)
class Started:
    """The new file's text, what is odd about it but does not stop a plan, and why none can be."""

    text: str
    warnings: tuple[Fault, ...]
    impossible: tuple[str, ...]


def hardware_nearby(folder: Path, shipped: Path) -> list[Path]:
    """Hardware files to choose from: those beside a folder's scenarios, else those that ship."""
    for place in (*(folder / name for name in FOLDERS), *(shipped / name for name in FOLDERS)):
        found = hardware_in(place)
        if found:
            return [Path(os.path.relpath(file, folder)) if file.is_relative_to(folder) else file for file in found]
    return []


class Draft:
    """A scenario that is being put together. Each method takes one answer, or refuses it and stays as it was.

    Parameters
    ----------
    files
        Its hardware files.

    Raises
    ------
    FileFaults
        With all that is wrong with those.
    WrongQuestion
        Everywhere: if an answer is refused; `about` is the question.
    """

    def __init__(self, files: Sequence[Path]) -> None:
        once: dict[str, Path] = {}
        for file in files:
            other = once.setdefault(os.path.realpath(file), file)
            if other is not file:
                same = "" if file == other else f", as {quote(str(other))}"
                raise WrongQuestion(f"{quote(str(file))} is given twice{same}", about="hardware")
        self.files = list(files)
        self.hardware, self.warnings = load_hardware(self.files)
        for what, parts in (("chassis", self.hardware.chassis), ("card", self.hardware.card)):
            if not parts:
                told = ", ".join(map(str, self.files))
                raise WrongQuestion(f"there is no {what} in {told}", about="hardware")
        self._keys: dict[str, Any] = {"title": Usual.title, "sample_rate": Usual.rate, "currency": Usual.currency}
        self._frames: list[FrameAnswer] = []
        self._needs: list[NeedAnswer] = []
        self.listed: tuple[Path, tuple[Need, ...]] | None = None
        """An input list and what its lines ask for."""
        self._odd: tuple[Fault, ...] = ()
        """What is odd about the list."""
        self.owned: dict[str, int] = {}
        self.bought: tuple[str, ...] | None = None

    def copy(self) -> Draft:
        """Another one with the same answers, which goes its own way."""
        other = copy(self)
        other._keys = dict(self._keys)
        return other

    @property
    def usual(self) -> Usual:
        """What is taken where nobody says otherwise."""
        return Usual(self)

    @property
    def family(self) -> Family:
        """That of the sample rate."""
        return SAMPLE_RATES[self._keys["sample_rate"]]

    @property
    def scenario(self) -> Mapping[str, Any]:
        """What it says so far, as a file gives it."""
        return self._data()

    def signals(self) -> list[tuple[Direction, str]]:
        """What cards take in or give out at the sample rate, in their order; at any rate where there is nothing."""
        ports = [port for card in self.hardware.card for port in card.ports]
        numbered = [port for port in ports if port.channels.get(self.family)]
        return list(dict.fromkeys((port.direction, s) for port in numbered or ports for s in port.signals))

    def boards(self, chassis: str) -> list[str]:
        """Those that fit a chassis, in the order of its file."""
        return list(next((c.boards for c in self.hardware.chassis if c.id == chassis), ()))

    def numbers(self, board: str) -> str:
        """How many numbers a board gives at the sample rate."""
        limits = next((b.limits for b in self.hardware.board if b.id == board), {})
        limit = limits.get(self.family)
        return "no numbers at this rate" if limit is None else f"{limit.inputs} in, {limit.outputs} out"

    def cards(self) -> list[tuple[str, str]]:
        """Every card with what it carries at the sample rate and what it costs."""
        return [(card.id, _describe_card(card, self.family)) for card in self.hardware.card]

    def impossible(self) -> list[str]:
        """Why no plan of it can be, as far as counting shows that; nothing where it is no whole scenario."""
        data = self._data()
        if any(fault.severity == "fault" for fault in faults_of_scenario(FILE, data, self.hardware, HARDWARE)):
            return []
        return [cause.text for cause in causes(survey_room(Scenario.model_validate(data), self.hardware))]

    # ---- answers ----

    def title(self, text: str) -> None:
        """What screens call it."""
        self._set("title", "title", text)

    def rate(self, hertz: int) -> None:
        """The sample rate in hertz."""
        self._set("rate", "sample_rate", hertz)

    def currency(self, code: str) -> None:
        """Three letters of ISO 4217."""
        self._set("currency", "currency", code)

    def budget(self, amount: str | None) -> None:
        """The most that orders may cost; any amount with None."""
        self._set("budget", "budget", amount)

    def inlet(self, celsius: Decimal | None) -> None:
        """The air at the rack inlet; cooling is not checked with None."""
        self._set("inlet", "air", None if celsius is None else {"inlet_c": celsius})

    def frame(self, frame: FrameAnswer, *, trying: bool = False) -> None:
        """One more frame; only checked if `trying`."""
        frames = [*self._frames, frame]
        self._check("frame", ("frame",), frame=_frames(frames), offer=self._offers(self.bought, frames))
        if not trying:
            self._frames = frames

    def need(self, need: NeedAnswer, *, trying: bool = False) -> None:
        """One more need; only checked if `trying`."""
        needs = [*self._needs, need]
        self._check("need", ("need",), need=_needs(needs))
        if not trying:
            self._needs = needs

    def take_list(self, file: Path) -> None:
        """Needs of an input list, beside those that were answered.

        Raises
        ------
        FileFaults
            With all that is wrong with the list.
        """
        frames, needs = [frame.name for frame in self._frames], [need.name for need in self._needs]
        read, told = read_list(str(file), file, None, frames, needs)
        if read is None:
            raise FileFaults(told)
        before, self.listed = self.listed, (file, read.needs())
        try:
            self._check("from", ("need",))
        except WrongQuestion:
            self.listed = before
            raise
        self._odd = tuple(told)

    def own(self, item: str, count: int, *, trying: bool = False) -> None:
        """So many of an item are owned; only checked if `trying`."""
        owned = {**self.owned, item: count}
        self._check("own", ("stock",), stock=owned)
        if not trying:
            self.owned = owned

    def buy(self, items: tuple[str, ...] | None) -> None:
        """These items may be bought; every card with None, and every board that a frame may take."""
        if items is not None and len(set(items)) < len(items):
            twice = next(item for n, item in enumerate(items) if item in items[:n])
            raise WrongQuestion(f"{quote(twice)} stands there twice", about="buy")
        self._check("buy", ("offer",), offer=self._offers(items, self._frames))
        self.bought = items

    def finish(self, to: Path) -> Started:
        """The text of the file, which names its hardware files as seen from its place."""
        names = [_named(file, to, "hardware") for file in self.files]
        self._check("to", ("hardware",), hardware=names)
        own: dict[str, Any] = {"hardware": names, "need": _needs(self._needs)}
        if self.listed is not None:
            own["needs_from"] = _named(self.listed[0], to, "from")
        text = commented(self._data(**own))
        written = tomllib.loads(text, parse_float=Decimal)
        written |= {"need": self._data()["need"]}  # with what the list asks for, which the file only names
        written.pop("needs_from", None)
        found = faults_of_scenario(str(to), written, self.hardware, HARDWARE)
        wrong = [fault for fault in found if fault.severity == "fault"]
        if wrong:
            raise WrongQuestion(_told(wrong), about=None)
        return Started(text, (*self._odd, *found), tuple(self.impossible()))

    def _set(self, about: str, key: str, value: Any) -> None:
        self._check(about, (key,), **{key: value})
        self._keys[key] = value

    def _check(self, about: str, keys: Iterable[str], **changes: Any) -> None:
        """See that nothing is wrong with these keys, or with prices where it is about money."""
        found = faults_of_scenario(FILE, self._data(**changes), self.hardware, HARDWARE)
        wrong = [
            fault
            for fault in found
            if fault.severity == "fault"
            and (fault.path[:1] == tuple(keys) if fault.file == FILE else about == "currency")
        ]
        if wrong:
            raise WrongQuestion(_told(wrong), about=about)

    def _data(self, **changes: Any) -> dict[str, Any]:
        """The scenario as a file gives it, in the order of its keys, with what is left out left out."""
        keys = {
            "format": 1,
            "hardware": [Path(file).name for file in self.files],
            **self._keys,
            "rank": list(RANK),
            "offer": self._offers(self.bought, self._frames),
            "stock": self.owned,
            "frame": _frames(self._frames),
            **changes,
            "need": [*changes.get("need", _needs(self._needs)), *(() if "needs_from" in changes else self._of_list())],
        }
        return {key: value for key, value in keys.items() if value is not None}

    def _of_list(self) -> list[dict[str, Any]]:
        needs = () if self.listed is None else self.listed[1]
        return [need.model_dump(exclude={"lines"}, exclude_defaults=True, by_alias=True) for need in needs]

    def _offers(self, items: tuple[str, ...] | None, frames: Sequence[FrameAnswer]) -> list[dict[str, str]]:
        """What may be bought, each by its kind; what nothing describes is offered as a card, and refused as one."""
        boards = {board.id for board in self.hardware.board}
        chassis = {one.id for one in self.hardware.chassis}
        if items is None:
            fitting = [board for frame in frames if frame.board is None for board in self.boards(frame.chassis)]
            items = (*(card.id for card in self.hardware.card), *(b for b in dict.fromkeys(fitting) if b in boards))
        return [{"board" if i in boards else "chassis" if i in chassis else "card": i} for i in items]


@dataclass(frozen=True)
class Usual:
    """What is taken where nobody says otherwise; it plans."""

    draft: Draft
    title: str = "New room"
    rate: int = 48000
    currency: str = "GBP"
    inlet_c: int = 25
    """A rack in a room that is kept cool; no source."""

    def chassis(self) -> str:
        """The first that has a board for the sample rate."""
        every = [one.id for one in self.draft.hardware.chassis]
        return next((one for one in every if self._runs(self.board(one))), every[0])

    def board(self, chassis: str) -> str | None:
        """The first that fits and has numbers at the sample rate."""
        fitting = self.draft.boards(chassis)
        return next(filter(self._runs, fitting), next(iter(fitting), None))

    def _runs(self, board: str | None) -> bool:
        return any(one.id == board and self.draft.family in one.limits for one in self.draft.hardware.board)

    def frame(self) -> str:
        """The next letter that names no frame."""
        names = {frame["name"] for frame in self.draft.scenario["frame"]}
        letters = (chr(code) for code in range(ord("A"), ord("Z") + 1))
        return next((letter for letter in letters if letter not in names), f"frame {len(names) + 1}")

    def signal(self) -> tuple[Direction, str]:
        """What the first need asks for.

        Raises
        ------
        WrongQuestion
            If no card has a port.
        """
        found = self.draft.signals()
        if not found:
            raise WrongQuestion("no card of these hardware files has a port", about="hardware")
        return next((pair for pair in PREFERRED if pair in found), found[0])

    def channels(self, direction: str, signal: str) -> int:
        """As many as the first card for it has, up to `MOST_USUAL_CHANNELS`."""
        ports = [port for card in self.draft.hardware.card for port in card.ports]
        counts = (p.channels.get(self.draft.family) for p in ports if p.direction == direction and signal in p.signals)
        return min(MOST_USUAL_CHANNELS, next(filter(None, counts), MOST_USUAL_CHANNELS))

    def need(self, direction: str, signal: str) -> str:
        """A name after the signal that no need has."""
        names = {need["name"] for need in self.draft.scenario["need"]}
        name, n = f"{signal} {direction}", 1
        while (name if n == 1 else f"{name} {n}") in names:
            n += 1
        return name if n == 1 else f"{name} {n}"


def _describe_card(card: Card, family: Family) -> str:
    """What a card carries at a family of rates: ``8 mic in``, ``8 aes3 in, 8 aes3 out``; and its price."""
    counts: dict[tuple[str, str], int] = {}
    for port in card.ports:
        kind = "/".join(port.signals), port.direction
        counts[kind] = counts.get(kind, 0) + port.channels.get(family, 0)
    carried = ", ".join(f"{count} {signals} {way}" for (signals, way), count in counts.items() if count)
    price = "no price" if card.price is None else f"{card.price:f}"
    return f"{carried or 'nothing at this rate'}; {price}"


def describe_chassis(chassis: Chassis) -> str:
    """How large it is."""
    return f"{chassis.slot_count} slots, {chassis.height_u} U"


def _frames(frames: Sequence[FrameAnswer]) -> list[dict[str, Any]]:
    keys = ("name", "chassis", "board")
    return [{key: getattr(frame, key) for key in keys if getattr(frame, key) is not None} for frame in frames]


def _needs(needs: Sequence[NeedAnswer]) -> list[Mapping[str, Any]]:
    return [dict(vars(need)) for need in needs]


def _told(faults: Sequence[Fault]) -> str:
    """Faults as one text, a line each; a key of the top level is the question itself and is not told."""
    return "\n".join(_text(fault) for fault in faults)


def _text(fault: Fault) -> str:
    several = fault.file != FILE or fault.path[:1] in (("frame",), ("need",))
    return fault.text() if several else replace(fault, path=()).text()


def _named(file: Path, to: Path, about: str) -> str:
    """How the scenario names a file."""
    try:
        return _seen_from(file, to)
    except UnicodeError:
        said = "has a name that no scenario can have: it is not UTF-8"
        raise WrongQuestion(
            f"{'an input list' if about == 'from' else 'a hardware file'} {said}", about=about
        ) from None


def _seen_from(file: Path, to: Path) -> str:
    """How a file in a place names another one; by the names that were given, where those lead there."""
    if file.is_absolute():
        seen = file
    else:
        seen = Path(os.path.relpath(os.path.abspath(file), os.path.abspath(to.parent)))
        if os.path.realpath(to.parent / seen) != os.path.realpath(file):
            seen = Path(os.path.relpath(os.path.realpath(file), os.path.realpath(to.parent)))
    return os.fsencode(seen.as_posix()).decode()

"""TOML files to nouns. Every fault of every file is told at once."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Generic, TypeVar

from pydantic import ValidationError

from solver.files.contents import MISSING
from solver.files.crosscheck import check_build, check_scenario, check_together
from solver.files.inputlist import InputList, numbers_not_planned
from solver.files.kinds import mistaken, neighbour
from solver.files.listreading import read_list
from solver.files.parsing import parse
from solver.files.partcheck import check_hardware
from solver.files.salvage import Remainder, remainder, still_true
from solver.room.build import Build
from solver.room.faults import Fault, FileFaults, describe, from_validation, quote
from solver.room.hardware import Hardware
from solver.room.scenario import Room, Scenario
from solver.room.words import Noun, as_data

ADDRESS = re.compile(r"[A-Za-z][A-Za-z0-9+.-]+://")
"""How an address of the web begins; it is no name of a file."""

AnyNoun = TypeVar("AnyNoun", bound=Noun)
AnyRoom = TypeVar("AnyRoom", Scenario, Room)


@dataclass(frozen=True)
class Loaded:
    """A scenario with all its hardware files merged, and what is odd about them but does not stop."""

    scenario: Scenario
    hardware: Hardware
    warnings: tuple[Fault, ...] = ()
    read: Mapping[Path, str] = field(default_factory=dict)
    """Every file that was read, with what it is."""
    name: str = "the scenario"
    """What messages call the scenario: its file, where it has one."""
    lists: tuple[InputList, ...] = ()
    """The input lists that needs of the scenario come from."""


@dataclass(frozen=True)
class _Read(Generic[AnyNoun]):
    file: str
    raw: dict[str, Any]
    noun: AnyNoun | None
    faults: tuple[Fault, ...]
    rest: Remainder[AnyNoun] | None = None
    """The noun, or what is left of it without its faulty entries."""


def load_scenario(path: Path) -> Loaded:
    """Read a scenario and the hardware files that it names, relative to its folder.

    Raises
    ------
    FileFaults
        With all faults of all files, the scenario's first.
    """
    read = _read(path, Scenario)
    named = read.raw.get("hardware")
    names = [name for name in named if isinstance(name, str) and name] if isinstance(named, list) else []
    names = [name for name in names if name.isprintable()]
    files: dict[str, str] = {}
    faults = list(read.faults)
    for n, name in enumerate(names, 1):
        first = files.setdefault(os.path.realpath(beside(path, name)), name)
        if first != name:
            message = f"{quote(name)} is the same file as {quote(first)}"
            faults.append(Fault(read.file, ("hardware", n), message, name))
    parts = [_read(beside(path, name), Hardware, name) for name in files.values()]
    lists, of_lists = _lists(path, read.raw)
    read = _with_lists(read, lists, of_lists)
    stands = _named_build(read.raw)
    if stands is not None:
        build = _read(beside(path, stands), Build, stands)
        read, of_lists = _with_what_stands(read, build.noun), [*of_lists, *build.faults]
    paths = {path: "the scenario of this command"}
    paths |= {beside(path, name): "a hardware file of this scenario" for name in files.values()}
    paths |= {beside(path, name): "an input list of this scenario" for _, name in _named_lists(read.raw)}
    paths |= {} if stands is None else {beside(path, stands): "what stands, by this scenario"}
    together = _together(read, parts, faults, lists, of_lists, None if stands is None else str(beside(path, stands)))
    return replace(together, read=paths, name=str(path), lists=tuple(lists))


def _named_lists(raw: Mapping[str, Any]) -> list[tuple[Mapping[str, Any], str]]:
    """The rooms that take needs from a list, as the file has them, each with the name of the list."""
    inner = raw.get("room")
    rooms = [room for room in inner if isinstance(room, dict)] if isinstance(inner, list) and inner else [raw]
    named = [(room, room.get("needs_from")) for room in rooms]
    return [(room, name) for room, name in named if isinstance(name, str) and name and name.isprintable()]


def _lists(path: Path, raw: Mapping[str, Any]) -> tuple[list[InputList], list[Fault]]:
    """The lists that a scenario names, and what is wrong with them."""
    lists: list[InputList] = []
    faults: list[Fault] = []
    for room, name in _named_lists(raw):
        if ADDRESS.match(name):
            faults.append(Fault(name, (), "is an address; save it and name that file"))
            continue
        called = None if room is raw else str(room.get("name"))
        target = beside(path, name)
        frames, needs = _names_in(room, "frame"), _names_in(room, "need")
        found, told = read_list(str(target), target, called, frames, needs, wished=_rooms_in(raw) <= 1)
        faults += told
        if found is not None:
            lists.append(found)
            faults += numbers_not_planned(found)
    return lists, faults


def _rooms_in(raw: Mapping[str, Any]) -> int:
    rooms = raw.get("room")
    return len(rooms) if isinstance(rooms, list) else 0


def _names_in(room: Mapping[str, Any], key: str) -> list[str]:
    entries = room.get(key)
    tables = [entry for entry in entries if isinstance(entry, dict)] if isinstance(entries, list) else []
    return [name for table in tables if isinstance(name := table.get("name"), str)]


def _with_lists(read: _Read[Scenario], lists: Sequence[InputList], faults: Sequence[Fault]) -> _Read[Scenario]:
    """The scenario with the needs of its lists; there is none while one of them is faulty."""
    if not lists and not faults:
        return read
    own = {each.room: each for each in lists}
    noun = None if read.noun is None else _with_lines(read.noun, own)
    rest = None if read.rest is None else replace(read.rest, noun=_with_lines(read.rest.noun, own))
    if any(fault.severity == "fault" for fault in faults):
        noun = None
        rest = None if rest is None else replace(rest, keys=rest.keys | {"need"})
    return replace(read, noun=noun, rest=rest)


def _named_build(raw: Mapping[str, Any]) -> str | None:
    """The build file that a scenario names as what stands."""
    name = raw.get("installed")
    return name if isinstance(name, str) and name and name.isprintable() else None


def _with_what_stands(read: _Read[Scenario], build: Build | None) -> _Read[Scenario]:
    """The scenario with the build that stands in place of its file's name; with none while that cannot be read."""

    def standing(scenario: Scenario) -> Scenario:
        return scenario.model_copy(update={"installed": build or Build()})

    noun = None if read.noun is None else standing(read.noun)
    rest = None if read.rest is None else replace(read.rest, noun=standing(read.rest.noun))
    return replace(read, noun=noun, rest=rest)


def _with_lines(scenario: Scenario, own: Mapping[str | None, InputList]) -> Scenario:
    """A scenario in which needs and far ends of lists stand after those of each room, as if the file had them."""
    if not scenario.room:
        return _joined(scenario, own.get(None))
    rooms = tuple(_joined(room, own.get(room.name)) for room in scenario.room)
    return scenario.model_copy(update={"room": rooms})


def _lines_of(room: Room | Scenario, listed: InputList | None) -> dict[str, Any]:
    """The needs of a room and, where a list tells any, its far ends."""
    if listed is None:
        return {}
    ends = listed.far_ends(room.far_end)
    return {"need": (*room.need, *listed.needs()), **({"far_end": (*room.far_end, *ends)} if ends else {})}


def _joined(room: AnyRoom, listed: InputList | None) -> AnyRoom:
    if room.needs_from is None:
        return room
    said = {key: getattr(room, key) for key in room.model_fields_set if key != "needs_from"}
    return type(room).model_construct(**{**said, **_lines_of(room, listed)})


def take_scenario(scenario: Scenario, hardware: Hardware) -> Loaded:
    """A scenario and hardware that no file has, checked like files.

    Raises
    ------
    FileFaults
        With all faults of both.
    """
    read = _taken("the scenario", scenario)
    return _together(read, [_taken("the hardware", hardware)], read.faults)


def faults_of_scenario(file: str, raw: dict[str, Any], hardware: Hardware, of_hardware: str) -> tuple[Fault, ...]:
    """Every fault and warning of a scenario that is still being put together.

    Parameters
    ----------
    file
        What messages call it.
    raw
        Its data, as a file gives it.
    hardware
        Its hardware, which has been read.
    of_hardware
        What messages call that.
    """
    read = _noun(file, raw, Scenario)
    part = _Read(of_hardware, {}, hardware, (), Remainder(hardware))
    try:
        return _together(read, [part], read.faults).warnings
    except FileFaults as refused:
        return refused.faults


def take_build(build: Build, loaded: Loaded) -> Build:
    """A build that no file has, checked like one.

    Raises
    ------
    FileFaults
        With all faults of it.
    """
    name = "the build"
    read = _taken(name, build)
    _stop_or_warn(read.faults)
    assert read.noun is not None
    check_build_names(Path(name), read.noun, loaded)
    return read.noun


def _taken(name: str, noun: AnyNoun) -> _Read[AnyNoun]:
    return _noun(name, as_data(noun), type(noun))


def _together(
    read: _Read[Scenario],
    parts: Sequence[_Read[Hardware]],
    found: Sequence[Fault],
    lists: Sequence[InputList] = (),
    of_lists: Sequence[Fault] = (),
    stands: str | None = None,
) -> Loaded:
    """A scenario and its hardware, where nothing is wrong with either or between them."""
    faults = list(found)
    whole = [(part.file, part.noun) for part in parts if part.noun is not None]
    of_hardware = _hardware_faults(parts, read.rest.noun.currency if read.rest else None)
    faulty = {str(f.path[1]) for f in of_hardware if f.severity == "fault" and f.path[:1] == ("board",) != f.path}
    if read.rest is not None:
        faults += still_true(check_scenario(read.file, read.rest.noun), [read.rest])
        if len(whole) == len(parts):
            faults += still_true(check_together(read.file, read.rest.noun, whole, faulty), [read.rest])
    for each in lists:
        faults = [each.told_here(fault) if fault.file == read.file else fault for fault in faults]
    if stands is not None:
        faults = [
            replace(fault, file=stands, path=fault.path[1:]) if fault.path[:1] == ("installed",) else fault
            for fault in faults
        ]
    faults += [*of_lists, *of_hardware]
    warnings = _stop_or_warn(faults)
    assert read.noun is not None
    return Loaded(read.noun, _merge(noun for _, noun in whole), warnings)


def load_hardware(paths: Sequence[Path]) -> tuple[Hardware, tuple[Fault, ...]]:
    """Read hardware files into one, with the warnings about them.

    Raises
    ------
    FileFaults
        With all faults of all files.
    """
    return _hardware([_read(path, Hardware) for path in dict.fromkeys(paths)])


def take_hardware(hardware: Hardware) -> tuple[Hardware, tuple[Fault, ...]]:
    """Hardware that no file has, checked like a file, with the warnings about it.

    Raises
    ------
    FileFaults
        With all faults of it.
    """
    return _hardware([_taken("the hardware", hardware)])


def _hardware(parts: Sequence[_Read[Hardware]]) -> tuple[Hardware, tuple[Fault, ...]]:
    warnings = _stop_or_warn(_hardware_faults(parts, None))
    return _merge(part.noun for part in parts if part.noun is not None), warnings


def load_build(path: Path) -> Build:
    """Read a build file. Its names are checked by `check_build_names`.

    Raises
    ------
    FileFaults
        With all faults of the file.
    """
    read = _read(path, Build)
    _stop_or_warn(read.faults)
    assert read.noun is not None
    return read.noun


def load_drawn(scenario: Path, build: Path) -> tuple[Loaded, Build]:
    """Read a scenario with its hardware and a build of it.

    Raises
    ------
    FileFaults
        With all faults of all files; names of the build are checked where the others can be read.
    """
    read = _read(build, Build)
    try:
        loaded = load_scenario(scenario)
    except FileFaults as refused:
        raise FileFaults([*refused.faults, *read.faults]) from None
    if read.noun is None:
        raise FileFaults([*loaded.warnings, *read.faults])
    check_build_names(build, read.noun, loaded)
    return replace(loaded, read={**loaded.read, build: "the build of this command"}), read.noun


def load_change(scenario: Path, old: Path, build: Path) -> tuple[Loaded, Build, Build]:
    """Read a scenario with its hardware, a build that stands and another one that is to stand.

    Raises
    ------
    FileFaults
        With all faults of all files; names of the builds are checked where the others can be read.
    """
    was = _read(old, Build)
    try:
        loaded, new = load_drawn(scenario, build)
    except FileFaults as refused:
        more = [fault for fault in was.faults if fault not in refused.faults]
        raise FileFaults([*refused.faults, *more]) from None
    if was.noun is None:
        raise FileFaults([*loaded.warnings, *was.faults])
    check_build_names(old, was.noun, loaded)
    return replace(loaded, read={**loaded.read, old: "the build that stands"}), was.noun, new


def check_build_names(path: Path, build: Build, loaded: Loaded) -> None:
    """See that a build names only rooms, frames, boards and cards that there are.

    Raises
    ------
    FileFaults
        With every name that there is not.
    """
    _stop_or_warn(check_build(str(path), build, loaded.scenario, loaded.hardware))


def _stop_or_warn(faults: Sequence[Fault]) -> tuple[Fault, ...]:
    """Raise if there is a fault; else hand the warnings back."""
    if any(fault.severity == "fault" for fault in faults):
        raise FileFaults(faults)
    return tuple(faults)


def _hardware_faults(parts: Sequence[_Read[Hardware]], currency: str | None) -> list[Fault]:
    """Faults of each hardware file; what lies between the files only if each can be read."""
    rests = [(part.file, part.rest.noun) for part in parts if part.rest is not None]
    between = check_hardware(rests, currency) if len(rests) == len(parts) else []
    between = still_true(between, [part.rest for part in parts])
    faults: list[Fault] = []
    for part in parts:
        faults += [*part.faults, *(fault for fault in between if fault.file == part.file)]
    return faults


def _merge(parts: Iterable[Hardware]) -> Hardware:
    nouns = tuple(parts)
    return Hardware.model_construct(
        format=1,
        card=tuple(card for noun in nouns for card in noun.card),
        board=tuple(board for noun in nouns for board in noun.board),
        chassis=tuple(chassis for noun in nouns for chassis in noun.chassis),
        pinout=tuple(pinout for noun in nouns for pinout in noun.pinout),
    )


def beside(path: Path, name: str) -> Path:
    """A file by the name that another one gives it, which is UTF-8 on the disk, whatever the system's own letters."""
    return path.parent / name.encode().decode(sys.getfilesystemencoding(), "surrogateescape")


def _read(path: Path, model: type[AnyNoun], written: str | None = None) -> _Read[AnyNoun]:
    """One file as a noun, or its faults; `written` is its name where another file gives it."""
    file = str(path)
    if written is not None and ADDRESS.match(written):
        return _Read(written, {}, None, (Fault(written, (), "is an address; save it and name that file"),))
    raw = parse(file, path)
    if isinstance(raw, Fault):
        if raw.message == MISSING:
            raw = replace(raw, nearest=neighbour(path, model, file if written is None else written))
        return _Read(file, {}, None, (raw,))
    kind = mistaken(raw, model)
    if kind is not None:
        return _Read(file, raw, None, (Fault(file, (), f"is {kind[0]}, not {kind[1]}", kind[0]),))
    return _noun(file, raw, model)


def _noun(file: str, raw: dict[str, Any], model: type[AnyNoun]) -> _Read[AnyNoun]:
    """Data as a noun, or its faults."""
    noun = None
    faults: list[Fault] = []
    try:
        noun = model.model_validate(raw)
    except ValidationError as error:
        faults = from_validation(file, model, raw, error)
    given = raw.get("format", 1)
    if given == 1 and type(given) is not int:  # true and 1.0 equal 1 and pass for it
        found = describe(given)
        faults.append(Fault(file, ("format",), f"must be 1, found {found}", found))
    if faults or noun is None:
        return _Read(file, raw, None, tuple(faults), remainder(model, raw, faults))
    return _Read(file, raw, noun, (), Remainder(noun))

"""A build file, written whole or not at all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from solver.files.kinds import no_build
from solver.files.writing import write_whole
from solver.room.build import Build
from solver.room.words import Noun

if TYPE_CHECKING:
    from tomlkit.items import AoT, Array

BUILD_HEADER = (
    "A build: what stands in each frame, how its straps are set, and what serves what.",
    "Check it with: strapwork check SCENARIO THIS-FILE",
)


def write_build(
    build: Build,
    path: Path,
    force: bool = False,
    read: Mapping[Path, str] | None = None,
    questions: Mapping[tuple[str | None, str], str] | None = None,
) -> None:
    """Write a build file, whole or not at all.

    Parameters
    ----------
    build
        What to write.
    path
        Where to.
    force
        Replace a build file that is there.
    read
        Files that are never written to, each with what it is.
    questions
        What has to be asked before straps are set as they stand there, by room and frame: comments above the straps.

    Raises
    ------
    FileExistsError, OSError
        As `solver.files.writing.write_whole`.
    """
    write_whole(path, _build_text(build, questions or {}), force, read=read, foreign=no_build)


def _build_text(build: Build, questions: Mapping[tuple[str | None, str], str]) -> str:
    """A build as TOML: frames in their order, cards in slot order, settings and services one a line."""
    import tomlkit

    document = tomlkit.document()
    for line in BUILD_HEADER:
        document.add(tomlkit.comment(line))
    document.add("format", tomlkit.item(build.format))
    if build.title is not None:
        document.add("title", tomlkit.item(build.title))
    frames = tomlkit.aot()
    for frame in build.frame:
        table = tomlkit.table()
        for key in ("name", "room", "setup", "phase", "board"):
            if getattr(frame, key) is not None:
                table.add(key, getattr(frame, key))
        if (frame.room, frame.name) in questions:
            table.add(tomlkit.comment(f"Ask first: {questions[frame.room, frame.name]}"))
        for key, pairs in (("straps", frame.straps), ("cards", {str(s): card for s, card in frame.seats()})):
            inline = tomlkit.inline_table()
            inline.update(pairs)
            table.add(key, inline)
        if frame.settings:
            table.add("settings", _one_a_line(frame.settings))
        if frame.serves is not None:
            table.add("serves", _one_a_line(frame.serves))
        frames.append(table)
    if build.frame:
        document.add("frame", frames)
    if build.order:
        document.add("order", _orders(build))
    if build.rack:
        document.add("rack", _racks(build))
    return tomlkit.dumps(document)


def _orders(build: Build) -> AoT:
    """What is ordered in each phase."""
    import tomlkit

    orders = tomlkit.aot()
    for order in build.order:
        table = tomlkit.table()
        for key in ("phase", "card", "chassis", "board", "count"):
            if getattr(order, key) is not None:
                table.add(key, getattr(order, key))
        table.add("price", str(order.price))
        orders.append(table)
    return orders


def _racks(build: Build) -> AoT:
    """The racks of a build with what is in them."""
    import tomlkit

    racks = tomlkit.aot()
    for rack in build.rack:
        table = tomlkit.table()
        for key in ("name", "room"):
            if getattr(rack, key) is not None:
                table.add(key, getattr(rack, key))
        places = tomlkit.inline_table()
        places.update(rack.at)
        table.add("at", places)
        racks.append(table)
    return racks


def _one_a_line(entries: Sequence[Noun]) -> Array:
    """Entries as an array of tables, one a line."""
    import tomlkit

    array = tomlkit.array()
    for entry in entries:
        inline = tomlkit.inline_table()
        inline.update(entry.model_dump(exclude_none=True))
        array.append(inline)
    return array.multiline(bool(entries))

"""A clock tree in words: one wording for the screen, for work orders and for the page of a pack."""

from __future__ import annotations

from collections.abc import Iterator

from solver.judge.clocks import Line, Tree
from solver.reports.clock_tree import ClockTree, ClockTreeLine, shared_by
from solver.room.words import enumerated

HEADINGS = {
    "found": "the best tree, proven",
    "impossible": "no tree feeds every device, proven",
    "unknown": "no tree was found within the limit",
    "drawn": "as its lines are drawn",
}

KINDS = {"word": "word clock", "aes3": "AES3", "madi": "MADI", "network": "network"}

ENDED = {
    "switch": "{last}: switch on",
    "fixed": "{last}, always",
    "terminator": "75 ohm plug at {last}",
    "unknown": "{last}? not told",
    "none": "-",
}

PRACTICE = (
    "Clock source first at power-up, and lock seen everywhere before amplifiers come on. Coax of 75 ohm, tees on the "
    "equipment, no stubs; AES3 on 110 ohm. Before a clock is moved or pulled: amplifiers off."
)


def lock_told(tree: Tree | None, name: str) -> str:
    """Where a device is to have its clock from, as far as a tree tells it: "is locked to house clock (word clock)"."""
    if tree is not None and led_by(tree) == name:
        return "leads by its own clock"
    line = None if tree is None else tree.feeding(name)
    return "is locked" if line is None else f"is locked to {line.source} ({KINDS[line.kind]})"


def led_by(tree: Tree) -> str | None:
    """The device that leads, where one does."""
    return tree.leading[0].name if len(tree.leading) == 1 else None


def line_told(tree: Tree, line: Line) -> str:
    """A line with its devices in order, what all of its ends are set to, and who ends it."""
    *before, last = line.devices
    said = f"{KINDS[line.kind]} from {line.source} to {', then '.join(line.devices)}"
    if (shared := shared_by(tree, line)) is not None:
        said += f", all ends alike: {shared}"
    by = {
        "switch": "its switch on",
        "fixed": "which always does it",
        "terminator": "by a 75 ohm plug",
        "unknown": "as its manual says",
    }.get(tree.ends_by(line))
    if by is None:
        return said
    if wrong := tree.ended_before(line):
        return f"{said}. STOP: it has to end once, at {last}, and {enumerated(wrong)} always ends it too"
    return f"{said}. Ended once, at {last}, {by}{'; not at ' + enumerated(before) if before else ''}"


def heading(tree: ClockTree) -> str:
    """How sure the tree is."""
    if tree.outcome == "found" and not tree.proven:
        return "a tree; not proven that there is none better"
    return HEADINGS[tree.outcome]


def leads(tree: ClockTree) -> str | None:
    """Which device leads; None where none does."""
    grade = "" if tree.ppm is None else f", within {tree.ppm:g} ppm"
    return None if tree.reference is None else f"{tree.reference} leads{grade}"


def sources(tree: ClockTree) -> dict[str, str]:
    """What each device gets its clock from, by its name."""
    fed = {name: f"{line.source} ({KINDS[line.kind]})" for line in tree.lines for name in line.devices}
    return fed | ({} if tree.reference is None else {tree.reference: "itself: it leads"})


def power_up(tree: ClockTree, frame: str) -> tuple[list[str], list[str]]:
    """The devices that are on before a frame, what leads first, and all others after it, in the order of the lines."""
    source = {name: line.source for line in tree.lines for name in line.devices}
    before: list[str] = []
    above = source.get(frame)
    while above is not None and above != frame and above not in before:
        before.insert(0, above)
        above = source.get(above)
    order = dict.fromkeys(name for line in tree.lines for name in (line.source, *line.devices))
    return before, [name for name in order if name != frame and name not in before]


def down_with(tree: ClockTree, frame: str) -> list[str]:
    """What has its clock through a frame, in the order of the lines."""
    below = [frame]
    for line in tree.lines:
        below += [name for name in line.devices if line.source in below and name not in below]
    return below[1:]


def columns(tree: ClockTree) -> tuple[str, ...]:
    """Headings of the lines; what their ends share above 48 kHz alone, metres where they are told."""
    told = [("set alike", any(line.shares for line in tree.lines)), ("metres", _measured(tree))]
    return ("line from", "kind", "to, in order", "ended by", *(name for name, there in told if there))


def line_row(tree: ClockTree, line: ClockTreeLine) -> tuple[str, ...]:
    """A line under `columns`."""
    own = (line.source, KINDS[line.kind], ", ".join(line.devices), _ended(line))
    shared = (line.shares or "-",) if "set alike" in columns(tree) else ()
    return (*own, *shared, *(("-" if line.cable_m is None else f"{line.cable_m:g}",) if _measured(tree) else ()))


def facts(tree: ClockTree) -> Iterator[tuple[str, str]]:
    """What more there is to say of a tree, each with its label."""
    if tree.cable_m is not None:
        yield "Cable", f"{tree.cable_m:g} m in all"
    if tree.terminators:
        yield "Plugs", f"{tree.terminators} x 75 ohm terminator"
    for name in tree.converted:
        yield "Converted", f"{name} keeps its own clock; its lines go through rate conversion"
    if tree.in_the_way:
        yield "Without", f"{' or '.join(tree.in_the_way)} the others have one"
    for what in tree.not_checked:
        yield "NOT CHECKED", what


def _measured(tree: ClockTree) -> bool:
    return any(line.cable_m is not None for line in tree.lines)


def _ended(line: ClockTreeLine) -> str:
    *before, last = line.devices
    told = [ENDED[line.ended_by].format(last=last)]
    told += [f"{name} too, always" for name in line.ended_before]
    open_ = [name for name in before if name not in line.ended_before]
    return "; ".join([*told, *([f"{', '.join(open_)} not"] if open_ else [])])

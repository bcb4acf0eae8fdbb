"""The document of `looms`: each loom pin by pin, and what connectors they take."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from solver.handover.bays import Patched
from solver.handover.looms import Loom, LoomLine
from solver.handover.wiring import Wiring
from solver.reports.element import BrokenLimit, Element, FileFault
from solver.reports.spreadsheet import csv_text
from solver.room.words import Direction, in_runs, write_ranges

MAYBE = ("room", "cable", "wiring", "length_m", "other_end", "other_plug")
LINES_MAYBE = ("host", "point", "far_end")
"""Columns that are left out where no loom and no line of one has anything there."""

OTHER: dict[Literal["male", "female"], Literal["male", "female"]] = {"male": "female", "female": "male"}


class LoomConductors(Element):
    """One line of a loom: its pins on the card's connector, and the channels that it carries.

    `numbers` are those of its channels that have one, `host` what these are at the host where a port carries them;
    `carries` the needs' channels. Both are empty where the card has
    no such channels at this sample rate or nothing is carried. `point` is the one of a bay at the loom's other end,
    `far_end` what the line comes from or goes to beyond.
    """

    direction: Direction
    line: int
    hot: str
    cold: str | None
    shield: str
    card_channels: list[int]
    numbers: list[int]
    host: list[int] = []
    carries: list[str]
    point: str | None = None
    far_end: str | None = None

    def cells(self) -> tuple[object, ...]:
        """Direction, line, numbers, also at the host, what it carries, the pins and the other end, for a table."""
        numbers, host = (write_ranges(own) if own else None for own in (self.numbers, self.host))
        pins = self.hot, self.cold, self.shield
        return self.direction, self.line, numbers, host, "; ".join(self.carries), *pins, self.point, self.far_end


class LoomSheet(Element):
    """What is plugged into one connector of a card.

    `plug` is the gender of the loom's plug, the other one than the card's; null where the files do not say it. `wired`
    is false where no pinout is known: then `lines` is empty, and what it carries stands in `numbers`. `cable` is its
    permanent number, with how it is wired, its length in metres and the plug at its other end; null: no file says it.
    """

    name: str
    room: str | None = None
    frame: str
    slot: int
    card: str
    connector: str
    connector_type: str
    plug: Literal["male", "female"] | None
    thread: str | None
    pinout: str | None
    pinout_name: str | None
    wired: bool
    numbers: str
    lines: list[LoomConductors] = []
    unused_pins: list[str] = []
    points: list[str] = []
    straight_to: str | None = None
    cable: str | None = None
    wiring: Literal["straight", "crossed"] | None = None
    length_m: str | None = None
    other_end: str | None = None
    other_plug: Literal["male", "female"] | None = None


class ConnectorCount(Element):
    """Plugs of one sort that the looms take at the card's end, and the looms that take them."""

    connector_type: str
    plug: Literal["male", "female"] | None
    thread: str | None
    count: int
    looms: list[str]


class LoomList(Element):
    """The looms of a build by frame, slot and connector, and the plugs that they take at the cards.

    `not_wired` says of which numbers no file tells the pins.
    """

    format: Literal[1] = 1
    scenario: str
    room: str | None = None
    sample_rate: int
    outcome: Literal["clean", "faulty"]
    faults: list[BrokenLimit] = []
    not_wired: list[str] = []
    looms: list[LoomSheet]
    bill: list[ConnectorCount]
    notes: list[str] = []
    warnings: list[FileFault] = []

    def as_csv(self) -> str:
        """A row for each line of each loom, as RFC 4180 has it; a loom that is not wired has one row without pins.

        A text that a spreadsheet would run as a formula begins with an apostrophe.
        """
        names = ["loom", "room", "frame", "slot", "card", "connector", "connector_type", "plug", "thread", "pinout"]
        names += ["cable", "wiring", "length_m", "other_end", "other_plug"]
        of_line = ["direction", "line", "numbers", "host", "carries", "hot", "cold", "shield", "point", "far_end"]
        rows = []
        for loom in self.looms:
            own = [loom.name, *(getattr(loom, name) for name in names[1:])]
            rows += [[*own, *line.cells()] for line in loom.lines]
            if not loom.wired:
                rows.append([*own, None, None, loom.numbers, None, "NOT WIRED", *[None] * 5])
        bare = {name for name in MAYBE if not any(getattr(loom, name) for loom in self.looms)}
        bare |= {name for name in LINES_MAYBE if not any(getattr(n, name) for loom in self.looms for n in loom.lines)}
        keep = [n for n, name in enumerate(names + of_line) if name not in bare]
        return csv_text([(names + of_line)[n] for n in keep], ([row[n] for n in keep] for row in rows))


def loom_sheets(wiring: Wiring) -> list[LoomSheet]:
    """Each loom as the document has it, with the points of bays that it goes to."""
    return [_sheet(loom, wiring) for loom in wiring.looms]


def _sheet(loom: Loom, wiring: Wiring) -> LoomSheet:
    connector, pinout, points = loom.connector, loom.pinout, wiring.points
    cable = wiring.cables.get(loom)
    ways: list[Direction] = ["in", "out"]
    told = []
    for way in ways:
        numbers = [c.number for c in loom.channels if c.direction == way and c.number is not None]
        told += [f"{way} {write_ranges(numbers)}"] if numbers else []
    return LoomSheet(
        name=loom.name,
        room=loom.room,
        frame=loom.frame,
        slot=loom.slot,
        card=loom.card,
        connector=connector.id,
        connector_type=connector.type,
        plug=None if connector.gender is None else OTHER[connector.gender],
        thread=connector.thread,
        pinout=None if pinout is None else pinout.id,
        pinout_name=None if pinout is None else pinout.name,
        wired=pinout is not None,
        numbers="; ".join(told),
        lines=[_conductors(line, wiring) for line in loom.lines],
        unused_pins=[] if pinout is None else list(pinout.unused),
        points=_points([points[channel] for channel in loom.channels if channel in points]),
        straight_to=None if pinout is None else pinout.mates or pinout.id,
        cable=None if cable is None else cable.number,
        wiring=None if cable is None else cable.wiring,
        length_m=None if cable is None or cable.length_m is None else f"{cable.length_m.normalize():f}",
        other_end=None if cable is None else cable.other_end.connector,
        other_plug=None if cable is None else cable.other_end.gender,
    )


def _points(points: Sequence[Patched]) -> list[str]:
    """The cards' points, those beside each other together."""
    each = {_beside(patched): patched for patched in points}  # once, though it may have two channels of AES3
    runs = in_runs(each.values(), lambda one, other: _beside(one) == _beside(other, 1))
    return [f"{run[0].bay.name} {run[0].card_point}{f'-{run[-1].card_point}' if len(run) > 1 else ''}" for run in runs]


def _beside(patched: Patched, back: int = 0) -> tuple[object, ...]:
    return patched.bay.name, patched.pair, patched.direction, patched.point - back


def _conductors(line: LoomLine, wiring: Wiring) -> LoomConductors:
    wires = line.wires
    patched = next((wiring.points[c] for c in line.channels if c in wiring.points), None)
    ends = dict.fromkeys(wiring.far[c].text for c in line.channels if c in wiring.far)
    return LoomConductors(
        direction=line.direction,
        line=wires.line,
        hot=wires.hot,
        cold=wires.cold,
        shield=wires.shield,
        card_channels=[channel.card_channel for channel in line.channels],
        numbers=[channel.number for channel in line.channels if channel.number is not None],
        host=[channel.host.number for channel in line.channels if channel.host is not None],
        carries=[carries.text for channel in line.channels for carries in channel.carries]
        or ["out of service" for channel in line.channels[:1] if channel.out is not None],
        point=None if patched is None else f"{patched.bay.name} {patched.card_point}",
        far_end="; ".join(ends) or None,
    )


def connector_bill(sheets: Sequence[LoomSheet]) -> list[ConnectorCount]:
    """The plugs at the cards' ends by sort, in order of type, gender and thread."""
    sorts: dict[tuple[str, Literal["male", "female"] | None, str | None], list[str]] = {}
    for sheet in sheets:
        sorts.setdefault((sheet.connector_type, sheet.plug, sheet.thread), []).append(sheet.name)
    return [
        ConnectorCount(connector_type=kind, plug=plug, thread=thread, count=len(names), looms=names)
        for (kind, plug, thread), names in sorted(sorts.items(), key=lambda sort: tuple(map(str, sort[0])))
    ]

"""The document of a work order: the steps from what stands to a build, what to retype, and the test sheet."""

from __future__ import annotations

from typing import Literal

from solver.reports.element import BrokenLimit, Element, FileFault
from solver.room.ends import Feeds
from solver.room.words import Direction

Action = Literal[
    "amplifiers off",
    "as found",
    "phantom off",
    "clock stand-in",
    "mains off",
    "looms off",
    "open",
    "card out",
    "board out",
    "board in",
    "strap",
    "ask",
    "card settings",
    "card in",
    "not seated",
    "blanks",
    "compare",
    "close",
    "bell out",
    "power up",
    "clock lock",
    "clock line",
    "patch",
    "retype",
    "phantom back",
    "test",
    "as left",
    "amplifiers on",
]
"""What sort of step it is."""

Variant = Literal["10", "30", "all"]
"""How much is tested: what fits into so many minutes, or every check of every number."""

Look = Literal["first", "last", "middle", "other"]
"""Where a number is in its block."""

Check = Literal["identity", "level", "polarity", "noise", "phantom", "mono"]
"""What is looked at on a number."""


class OrderStep(Element):
    """One step with a box to tick.

    `slot`, `card` and `serial` are of a card that is taken out or seated; `board` of one that is exchanged; `group`,
    `strap` and `to` of a strap that is set (`strap` null: the group is a switch); `loom` of one that is plugged or
    rewired at the connector of that name, `loom_before` the tag of one that goes there whole. The other steps have text
    alone.
    """

    number: int
    action: Action
    room: str | None = None
    frame: str | None = None
    slot: int | None = None
    card: str | None = None
    serial: str | None = None
    board: str | None = None
    group: str | None = None
    strap: str | None = None
    to: str | None = None
    loom: str | None = None
    loom_before: str | None = None
    text: str
    minutes_least: int
    minutes_most: int


class OrderSection(Element):
    """Steps that belong together; `frame` is null where they are of no single frame."""

    title: str
    room: str | None = None
    frame: str | None = None
    steps: list[OrderStep]


class Retyped(Element):
    """A need's channel that had another number: what to retype in the recorder, with its numbers at the host."""

    room: str | None = None
    need: str
    channel: int
    direction: Direction
    old_frame: str
    old_number: int
    new_frame: str
    new_number: int
    old_host: int | None = None
    new_host: int | None = None
    name: str | None = None


class LockCheck(Element):
    """A frame, or another device on a clock line, whose clock is looked at before anything is sent."""

    room: str | None = None
    frame: str
    text: str


class LineCheck(Element):
    """A clock line that is looked at before that: who is on it in order, what its ends are set to, and who ends it."""

    room: str | None = None
    text: str


class TestRow(Element):
    """One number: what to send, where to see it, what to expect, and a box for each of `checks`.

    `channel` counts the need's channels in order of frames and numbers; `spare` says that it is one of those to spare.
    `touched` says that it, its card or its slot is new. `look` is where it is in its block. `phantom` is what phantom
    power is to be there (`any`: no file says, so the source decides), `mono_with` the number before it, of the same
    pair: the two are summed. `way` has every hop from the far end to the card; `feeds` says what is heard beyond: such
    lines are the last, and get no tone or a lowered one.
    """

    order: int
    room: str | None = None
    frame: str
    direction: Direction
    number: int
    host: int | None = None
    need: str
    channel: int
    spare: bool
    signal: str
    slot: int
    card: str
    card_channel: int
    send: str
    see: str
    expect: str
    checks: list[Check]
    look: Look
    touched: bool
    phantom: Literal["on", "off", "any"] | None = None
    mono_with: int | None = None
    name: str | None = None
    far_end: str | None = None
    way: list[str] = []
    feeds: Feeds | None = None

    def beside(self, check: Check) -> str:
        """What stands beside the box of a check: what phantom power is to be, or which number is summed."""
        if check == "phantom":
            return self.phantom or ""
        return f"{self.mono_with}+" if check == "mono" and self.mono_with is not None else ""


class TestSheet(Element):
    """What is tested, in the order that finds exchanged looms first. `left_out` counts numbers that do not fit.

    `heard_left_out` has those of them that feed loudspeakers, headphones or a transmission, by equipment.
    """

    time: Variant
    minutes: int
    order: str
    clock_lines: list[LineCheck] = []
    clock: list[LockCheck]
    rows: list[TestRow]
    left_out: int
    blocks_left_out: list[str] = []
    heard_left_out: list[str] = []
    notes: list[str] = []


class WorkOrder(Element):
    """From what stands, or from empty frames, to a build, in the safe order.

    `nothing_to_do` says that both builds are the same. `turn_back_minutes` before the session is the last time to turn
    back. Minutes are common practice, without a source.
    """

    format: Literal[1] = 1
    scenario: str
    room: str | None = None
    sample_rate: int
    outcome: Literal["clean", "faulty"]
    start: Literal["what stands", "empty frames"]
    nothing_to_do: bool
    summary: str
    cards_moved: int
    cards_in: int
    cards_out: int
    straps_moved: int
    renumbered: int
    lids_off: list[str]
    minutes_least: int
    minutes_most: int
    turn_back_minutes: int
    way_back: str
    faults: list[BrokenLimit] = []
    cautions: list[str]
    sections: list[OrderSection] = []
    retype: list[Retyped] = []
    test_sheet: TestSheet | None = None
    notes: list[str] = []
    warnings: list[FileFault] = []

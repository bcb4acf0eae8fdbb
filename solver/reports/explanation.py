"""The explanation: what a build's figures are made of, which limits are near, what another build does differently."""

from __future__ import annotations

from typing import Literal

from solver.reports.element import Element, FileFault
from solver.reports.report import BuildReport, Clash
from solver.room.words import Direction

StrandedBy = Literal["no-block", "wider-than-its-block", "past-the-limit", "past-the-host-ports"]
Outcome = Literal["found", "impossible", "unknown", "clean", "faulty"]


class Stranding(Element):
    """Card channels of one slot that have no number, for one reason."""

    frame: str
    slot: int
    card: str
    direction: Direction
    channels: int
    reason: StrandedBy
    text: str


class Hole(Element):
    """Numbers of one slot's block, below the highest used one, that nothing answers. `card` null: the slot is empty."""

    frame: str
    slot: int
    card: str | None
    direction: Direction
    channels: int
    numbers: str
    text: str


class Idle(Element):
    """Numbered channels of one slot and one set of signals that nothing uses.

    `halves` of them belong to a pair or group that is in use: a line is used whole. Those that are out of service stand
    apart.
    """

    frame: str
    slot: int
    card: str
    direction: Direction
    channels: int
    halves: int
    numbers: str
    signals: list[str]
    out_of_service: bool = False


class SetFor(Element):
    """What channels of a card are set to, and which needs ask for that."""

    frame: str
    slot: int
    card: str
    setting: str
    direction: Direction
    channels: str | None
    to: str
    needs: list[str]


class Beside(Element):
    """A card beside a gap. `heat_w` and `air_limit_c` null: unknown, nothing is counted; `share_w` heats this gap."""

    slot: int
    card: str
    heat_w: float | None
    share_w: float
    air_limit_c: float | None


class Hottest(Element):
    """The gap with the least margin. The shares of cards, board and supply add up to `heat_w`.

    Temperatures in degrees Celsius, `flow_m3_h` through this gap; `air_c` = `inlet_c` + `rise_k`, and `margin_k`
    = `limit_c` - `air_c`. A planning estimate.
    """

    frame: str
    slots: list[int]
    cards: list[Beside]
    board_w: float
    supply_w: float
    gaps: int
    heat_w: float
    path: Literal["fan", "draught"]
    calibrated: bool
    flow_m3_h: float | None
    inlet_c: float
    rise_k: float
    air_c: float
    limit_c: float
    limited_by: list[str]
    margin_k: float


class TooWarm(Element):
    """A gap that keeps a build from more margin, and how much heat less it may have for that."""

    frame: str
    slots: list[int]
    cards: list[str]
    margin_k: float
    less_w: float | None


class NextStep(Element):
    """The next step of cooling margin that counts in the ranking, and every gap that stands in its way.

    `less_w` of a gap is null where even air without heat is too warm.
    """

    margin_k: float
    gaps: list[TooWarm]


class Headroom(Element):
    """How near a limit is: used, bound and left in `unit`, and what of the bound is left, in per cent.

    `at_least`: the bound must be reached, and `left` is what lies above it. `tight`: under a tenth is left. `source` is
    where the scenario sets it; null is the hardware's nature.
    """

    rule: str
    frame: str | None
    subject: str | None
    used: str
    bound: str
    left: str
    unit: str
    at_least: bool
    left_percent: int | None
    tight: bool
    source: list[str | int] | None
    set_by: str
    text: str


class FigureDifference(Element):
    """A figure of two builds and what the other has more or, below zero, less. Null where nothing can be said."""

    figure: str
    unit: str
    shown: str | None
    other: str | None
    difference: str | None


class FrameDifference(Element):
    """What to do to a frame for the other build. `board` is the other's, where it differs."""

    frame: str
    taken: Literal["in both", "in the other only", "in the shown only"]
    board: str | None = None
    close: list[str] = []
    open: list[str] = []
    switches: dict[str, str] = {}


class Seat(Element):
    """A slot of a frame."""

    frame: str
    slot: int


class CardDifference(Element):
    """A card that the other build seats elsewhere, adds (`before` null) or leaves out (`after` null)."""

    card: str
    before: Seat | None
    after: Seat | None


class OrderDifference(Element):
    """How many more of an item the other build orders; fewer below zero."""

    item: str
    count: int


class Comparison(Element):
    """What another build does differently from the one that is shown, and what it takes to change one into the other.

    `lid_on` says that no frame has to be opened; cards that stand elsewhere are moved, others put in or taken out.
    `boards_moved` counts boards that are put in or exchanged; that of a frame that is no longer used stays in it.
    """

    other: BuildReport
    figures: list[FigureDifference]
    frames: list[FrameDifference]
    cards: list[CardDifference]
    orders: list[OrderDifference]
    lid_on: bool
    cards_moved: int
    cards_in: int
    cards_out: int
    straps_moved: int
    boards_moved: int = 0


class Surviving(Element):
    """What builds cost at least that survive failures, `without` that, and how much more that is; `text` says it."""

    what: list[str]
    cost: str
    without: str
    more: str
    proven: bool
    text: str


class Explanation(Element):
    """The answer to `explain`.

    `build` has the figures; `stranded`, `holes` and `idle` add up to those of its unused capacity. `from_stock` counts
    what costs nothing because it is owned. `headroom` has the nearest limit first. `notes` say what was assumed of a
    build file that leaves settings out.
    """

    format: Literal[1] = 1
    scenario: str
    currency: str
    sample_rate: int
    outcome: Outcome
    criteria: list[str]
    build: BuildReport | None = None
    from_stock: dict[str, int] = {}
    stranded: list[Stranding] = []
    holes: list[Hole] = []
    idle: list[Idle] = []
    set_cards: list[SetFor] = []
    hottest: Hottest | None = None
    next_step: NextStep | None = None
    headroom: list[Headroom] = []
    surviving: Surviving | None = None
    against: Comparison | None = None
    clash: Clash | None = None
    assumed: list[str] = []
    notes: list[str] = []
    warnings: list[FileFault] = []


class WhyNot(Element):
    """The answer to `why-not`: the best build `does` it already, would be `worse`, or it is `impossible`.

    `equal` is said where nothing that is ranked differs. `better` is said where the scenario itself rules out what is
    asked for, such as another board of an owned frame, and a build that does it ranks higher.

    `comparison` is null where the scenario itself has no build. What is asked of a frame is asked of builds
    that use it.
    """

    format: Literal[1] = 1
    scenario: str
    currency: str
    asked: str
    outcome: Literal["does", "worse", "equal", "better", "impossible", "unknown"]
    best: BuildReport | None = None
    comparison: Comparison | None = None
    clash: Clash | None = None
    assumed: list[str] = []
    warnings: list[FileFault] = []

"""The report: one document that the screens and the JSON are drawn from."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from solver.reports.element import BrokenLimit, Element, FileFault
from solver.reports.phases import PhasesReport
from solver.room.words import Direction, Work


class Unused(Element):
    """Unused capacity and its parts, in channels."""

    stranded: int
    holes: int
    idle: int
    total: int


class Cooling(Element):
    """The least cooling margin in kelvin, null where nothing could be checked, and the slots beside that gap."""

    margin_k: float | None
    room: str | None = None
    frame: str | None = None
    slots: list[int] = []


class Served(Element):
    """A need and how many channels of a slot serve it."""

    need: str
    direction: Direction
    channels: int
    numbers: str


class CardSetTo(Element):
    """What is set on a card; `channels` are those of the slot, null where the setting is the whole card's."""

    slot: int
    setting: str
    direction: Direction
    to: str
    channels: str | None


class Latency(Element):
    """The one latency of the cards that a need goes through, and of those that it comes back through."""

    need: str
    samples: int
    comes_back_on: str | None = None
    back_samples: int | None = None
    text: str


class Slot(Element):
    """A card, or a run of alike empty slots. Numbers are written as runs; `stranded` counts channels without one.

    Of those that are `idle` some may be `out_of_service`. `settings` are those of the card of which something is not
    set as it comes.
    """

    slots: list[int]
    card: str | None
    serial: str | None = None
    inputs: str = Field("", alias="in")
    outputs: str = Field("", alias="out")
    serves: list[Served] = []
    idle: int = 0
    out_of_service: int = 0
    stranded: int = 0
    connectors: list[str] = []
    settings: list[CardSetTo] = []


class Load(Element):
    """What is used of a limit, both in the unit that is named.

    `phantom` is what of it needs ask for as phantom power; null where none does.
    """

    what: str
    used: str
    limit: str
    unit: str
    phantom: str | None = None


class StrapWork(Element):
    """What is done to a strap group, and what that does: links to close and to leave open, or a switch's position.

    `setting` is null where the build does not say it, or where it is only asked about (`clock`). `assumed` marks a
    setting that a build to be checked leaves out, and that its figures are shown with.
    """

    group: str
    setting: str | None
    close: list[str] = []
    leave_open: list[str] = []
    position: str | None = None
    effect: str = ""
    assumed: bool = False


class ClockReport(Element):
    """A frame on its clock line: the used frames of the line from its source on, and whether this one ends it.

    Where nobody says what line a frame is on, it is a question, and `text` asks it: no order to set anything. `stands`
    is how the build has what it asks about, for a build file has one setting of each group.
    """

    line: list[str] = []
    ends: bool | None = None
    question: bool = False
    text: str
    stands: str | None = None


class FrameReport(Element):
    """One frame: what stands where and every strap, but for one that is only asked about (`clock`).

    `slot_1` is where slot 1 is, seen from the rear: at the top or bottom where cards lie flat. Heights are in rack
    units. `mains_w` is what it draws at most, with all rails of its cards and board at their maxima and the supply's
    loss, and `heat_btu_h` the same as heat; null where a figure is missing; `supply_loss_known`
    says whether the supply has a figure of its own loss. `cooling` is that of its own hottest gap.
    """

    name: str
    room: str | None
    chassis: str
    board: str
    straps: dict[str, str]
    cards: dict[str, str]
    close: list[str] = []
    leave_open: list[str] = []
    switches: dict[str, str] = {}
    changes_no_numbers: list[str] = []
    strap_work: list[StrapWork] = []
    slot_1: Literal["left", "right", "top", "bottom"] = "left"
    height_u: int = 0
    supply_height_u: int | None = None
    mains_w: float | None = None
    supply_loss_known: bool = True
    heat_btu_h: int | None = None
    cooling: Cooling = Cooling(margin_k=None)
    clock: ClockReport | None = None
    slots: list[Slot] = []
    loads: list[Load] = []


class OrderLine(Element):
    """One line of an order."""

    item: str
    count: int
    price: str
    total: str


class Orders(Element):
    """What to order, by kind of thing."""

    cards: dict[str, int] = {}
    chassis: dict[str, int] = {}
    boards: dict[str, int] = {}


class Spare(Element):
    """Numbered channels that nothing uses, by direction and signals; scarce under a tenth of what is asked."""

    direction: Direction
    signals: list[str]
    channels: int
    scarce: bool


class RoomReport(Element):
    """One room of the first build: its own figures, and what goes there out of stock or is ordered for it.

    Stock goes to rooms in order of their names; identical items may be exchanged between rooms.
    """

    name: str
    sample_rate: int
    frames: list[str]
    unused: Unused
    cooling: Cooling
    from_stock: dict[str, int] = {}
    ordered: dict[str, int] = {}
    spare: list[Spare] = []


class Short(Element):
    """A need that is nice to have and not met whole: channels asked for, spare included, and those that are short.

    `room` is null where there is one room.
    """

    room: str | None = None
    need: str
    direction: Direction
    signal: str
    asked: int
    short: int
    text: str


class Moved(Element):
    """What changes hands from what stands to a build.

    Where a board is exchanged all cards of its frame are moved; a strap that ends a clock line is not counted.
    """

    cards_moved: int
    straps_moved: int
    lids_off: int
    renumbered: int
    text: str


class BuildReport(Element):
    """One build with its figures. `bounds` says what a criterion that is not proven cannot be better than.

    `short` has the needs that are nice to have and give way. Among `stages` and `bounds`, `short` counts their channels
    and `short_needs` those needs; they come before all criteria. `unknown` says for cooling, rails and cost which
    figures are not known, so that they are not checked; `not_checked` says it in whole sentences. `not_to_be_had` are
    items of a faulty build beyond stock and offers: they have no price, and no part in `cost`.
    """

    rank: int
    cost: str
    proven: bool
    stages: dict[str, bool] = {}
    bounds: dict[str, str] = {}
    short: list[Short] = []
    unused: Unused
    cooling: Cooling
    latencies: list[Latency] = []
    survives: list[str] = []
    air: list[str] = []
    moved: Moved | None = None
    frames: list[FrameReport]
    orders: Orders
    order_lines: list[OrderLine] = []
    not_to_be_had: dict[str, int] = {}
    budget_left: str | None = None
    stock_left: dict[str, int] = {}
    out_of_service: dict[str, int] = {}
    spare: list[Spare] = []
    warnings: list[str] = []
    not_checked: list[str] = []
    unknown: dict[str, str] = {}


class CauseReport(Element):
    """Why there is no build, shown by counting alone."""

    code: str
    subject: str
    asked: int
    at_most: int
    text: str


class Change(Element):
    """One change of a way out: where in the scenario, from what to what.

    `instead` names slots of which any would do in place of the kept-empty one.
    """

    path: list[str | int]
    before: str | None
    after: str | None
    work: Work
    instead: list[int] = []
    text: str


class Way(Element):
    """A way out: changes that make the scenario possible, what the cheapest build then costs, the hardest work.

    `lid_on` says that no frame has to be opened for the changes themselves.
    """

    changes: list[Change]
    cost: str | None
    work: Work
    lid_on: bool = True


class Member(Element):
    """One limit of a clash: the scenario's own wish, where it was written."""

    rule: str
    path: list[str | int]
    text: str


class HardwareMember(Element):
    """What the hardware asks, or how a frame stands, as part of a clash: no limit gives way to it."""

    rule: str
    text: str


class Clash(Element):
    """Why a scenario is impossible. `ways` and `because` stay empty where they have not been worked out.

    `left_out` counts sets of changes that are known and not listed; of each kind of work those with the fewest changes
    are. `other_amounts` counts further amounts of the sets that are listed, which do as well. `searched` says that
    there are no others. `no_help_alone` names changes that loosen no limit, of which none helps without any other.

    `complete` says that each minimal set of wishes to change is listed, with every list of its least amounts; a mix of
    two sets is not minimal. `because` cannot all be kept, whatever else of the scenario gives way, with frames, their
    blanks, boards and sample rate as they are; `minimal` says that all but any one of its members can, if all else
    gives way. All of them could be kept then but for `hardware`: without any one of its members, what cards need or
    exclude and frames that have no blanks, they can. `not_supplied` names what is missing for cards that are asked for,
    such as a rail that they draw, so that they cannot stand there.
    """

    causes: list[CauseReport] = []
    ways: list[Way] = []
    complete: bool = False
    because: list[Member] = []
    hardware: list[HardwareMember] = []
    minimal: bool = False
    searched: bool = False
    left_out: int = 0
    other_amounts: int = 0
    no_help_alone: list[str] = []
    not_supplied: list[str] = []


Mark = Literal["cheapest", "coolest", "coolest, equal within a step", "least wasted", "the scenario's choice"]


class Point(Element):
    """A point of a front: its place among `builds`, its criteria's values, and what the step to it gives and takes.

    Cooling is in whole kelvin, rounded down, or in tenths where its steps are no whole kelvin, and null where it cannot
    be checked; `counts_as` says which margins are one in the ranking. `changes` has the criteria that differ from the
    point before, each with its sign, worked out from the values that are shown; `step` says the same in words. Marks
    compare the points of this front; margins of one step are not told apart.
    """

    build: int
    values: dict[str, str | None]
    counts_as: str | None = None
    marks: list[Mark] = []
    step: str | None = None
    changes: dict[str, str | None] = {}


class FrontReport(Element):
    """The builds that no other beats, in the criteria's order; `complete` if it is proven that none is missing.

    Where that is not so, `complete_below` may have a criterion and an amount: with less of it none is missing.
    Cooling counts in steps of so many kelvin; null where it is no criterion.
    """

    complete: bool
    points: list[Point]
    complete_below: dict[str, str] = {}
    cooling_step_k: str | None = None


class PriceStep(Element):
    """The prices at which a build costs the least while all others are as they are today, ends included."""

    build: int
    from_: str = Field(alias="from")
    to: str


class UnsurePrice(Element):
    """An offer whose price may move.

    `at_stake` is what today's best build costs more than the best at most while this price alone moves.
    """

    item: str
    now: str
    from_: str = Field(alias="from")
    to: str
    at_stake: str
    steps: list[PriceStep] = []


class TolerantBuild(Element):
    """A build that is the best at some of the prices; or at none, where it is the steadiest one.

    `number` is its place among `builds`. `least` and `most` are what it may come to cost. `excess` is by how much that
    may be more than the best at most (decision theory calls it the greatest regret), `excess_at` has prices at which it
    is. `corners` are those of the prices at which it is the best, rounded to minor units.
    """

    number: int
    least: str
    most: str
    excess: str
    excess_at: list[str]
    corners: list[list[str]] = []
    over_budget: bool = False


class SetupDay(Element):
    """A kind of day: its needs, how often it comes beside the others, and the number of its build among `builds`."""

    name: str
    sample_rate: int
    needs: list[str]
    share: int
    build: int | None


class SetupChange(Element):
    """From a kind of day to the next, the last to the first: straps, all else in one line, minutes without tests."""

    before: str
    after: str
    straps: list[str]
    text: str
    minutes_least: int
    minutes_most: int


class SetupsReport(Element):
    """Several kinds of day on one seating, and what is done between them.

    `values` has each criterion over all of them: unused channels `over` them as a sum, each as often as it comes, or
    as the worst. `clash` names kinds of day that cannot share a seating, of which any one less could.
    """

    days: list[SetupDay]
    straps: Literal["per setup", "same"]
    over: Literal["sum", "worst"]
    values: dict[str, str | None] = {}
    proven: dict[str, bool] = {}
    changes: list[SetupChange] = []
    clash: list[str] = []


class GradedStep(Element):
    """The values of a figure at which a build costs the least, ends included; null where nothing can be built.

    `margin_k` is its least cooling margin with every figure at its highest, told of `whatever_comes` alone.
    """

    build: int | None
    cost: str | None
    from_: str = Field(alias="from")
    to: str
    margin_k: float | None = None


class GradedFigure(Element):
    """A figure that may come to be more, and what becomes of the choice while all else is as it is today.

    Channels of a need, degrees Celsius of the air at the inlet, or per cent of the heat of cards and boards.
    """

    what: str
    unit: Literal["channels", "C", "%"]
    now: str
    from_: str = Field(alias="from")
    to: str
    proven: bool
    steps: list[GradedStep]


class ToleranceReport(Element):
    """What prices that are not sure come to: each by itself, and what each build may cost too much; and other figures.

    `steadiest` is the number of the build with the least `excess`, of all builds where `steadiest_proven`, else of
    these. `whatever_comes` has the best build with every figure at its highest, which works with less as well. The
    figures of all builds are those of today, but for the builds of `not_today`, which do not work today: theirs are
    those at the first of the values at which they are named first.
    """

    budget: str | None = None
    prices: list[UnsurePrice]
    builds: list[TolerantBuild]
    steadiest: int
    steadiest_proven: bool
    figures: list[GradedFigure] = []
    whatever_comes: GradedStep | None = None
    not_today: list[int] = []


class Report(Element):
    """The answer to a plan or a check. `warnings` are those about the files; each build has its own.

    `assumed` says what the scenario leaves out and decides the answer: the defaults that stand in.
    """

    format: Literal[1] = 1
    scenario: str
    currency: str
    sample_rate: int
    outcome: Literal["found", "impossible", "unknown", "clean", "faulty"]
    proven: bool
    complete: bool = False
    criteria: list[str]
    builds: list[BuildReport] = []
    rooms: list[RoomReport] = []
    faults: list[BrokenLimit] = []
    front: FrontReport | None = None
    tolerance: ToleranceReport | None = None
    setups: SetupsReport | None = None
    phases: PhasesReport | None = None
    clash: Clash | None = None
    notes: list[str] = []
    assumed: list[str] = []
    warnings: list[FileFault] = []

"""What a rule is: limits as data, a reading of a build, and the same said to the search."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import Any, ClassVar, Literal, Protocol

from solver.fitted.frame import FrameStanding
from solver.fitted.standing import Standing
from solver.fitted.unknown import Unknown
from solver.room.kind import Kind, LineType
from solver.room.message import Amount, Message, Said, Unit, joined, tell
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Need, Offer, Survey
from solver.room.wish import LimitWish
from solver.room.words import Direction
from solver.rules.finding import Finding

KeyPath = tuple[str | int, ...]
Term = Any
"""A quantity of the search: a decision variable that only the draft can read."""
Load = Sequence[tuple[int, Term]]
"""A weighted sum of terms."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a limit holds. `subject` is what it is about: an id, a need, a strap group, a rail."""

    frame: str | None = None
    slot: int | None = None
    direction: Direction | None = None
    subject: str | None = None


@dataclass(frozen=True, slots=True)
class Limit:
    """One instance of one rule.

    A build keeps it when what it uses is at most `bound`, or at least, if `at_least`. `source` is where the
    user wrote it; None is the hardware's nature and never negotiable. `give` says how far a negotiable
    bound may be loosened, in units.
    """

    rule: str
    place: Place
    bound: int
    unit: Unit
    at_least: bool = False
    source: KeyPath | None = None
    give: range = range(0)

    def kept_by(self, used: int) -> bool:
        """Whether an amount keeps the limit."""
        return used >= self.bound if self.at_least else used <= self.bound


@dataclass(frozen=True, slots=True)
class Reading:
    """What a build uses of a limit."""

    limit: Limit
    used: int

    @property
    def kept(self) -> bool:
        """Whether the limit is kept."""
        return self.limit.kept_by(self.used)

    def amounts(self, bare: Collection[str] = ()) -> dict[str, Amount]:
        """What is used and the bound, as parts of a message; those of `bare` without their unit."""
        found = {"used": self.used, "bound": self.limit.bound}
        return {name: Amount(value, self.limit.unit, name in bare) for name, value in found.items()}


@dataclass(frozen=True, slots=True)
class Near:
    """How near a limit is, but for what is left of it, and what sets it.

    `reading` is what is told in its place where a limit counts nothing but what breaks it.
    """

    said: Message
    set_by: Said
    reading: Reading | None = None


@dataclass(frozen=True, slots=True)
class Unyielding:
    """What is given and no limit, such as what cards ask: the rule, how it is told, any room without it."""

    rule: str
    said: Message
    without: Callable[[Survey], Survey]


@dataclass(frozen=True, slots=True)
class Count:
    """A count that cannot come out, whatever is built: what is asked for of a subject, and what there is at most."""

    subject: str
    asked: int
    at_most: int
    said: Message


@dataclass(frozen=True, slots=True)
class Seat:
    """A card that may stand with its first slot in `slot` of a frame, and the term that says so.

    Over runs the term counts such cards; they stand in `slot` or in places that nothing tells apart from it.
    """

    site: FrameSite
    slot: int
    kind: Kind
    term: Term

    @property
    def covers(self) -> range:
        """The slots that it would take."""
        return range(self.slot, self.slot + self.kind.span)


@dataclass(frozen=True, slots=True)
class Cell:
    """A run of adjacent slots that nothing tells apart, or a single slot; over runs of one layout, if `chosen` is 1."""

    site: FrameSite
    slots: Sequence[int]
    chosen: Term = 1


@dataclass(frozen=True, slots=True)
class Neighbours:
    """Cards of which at most one may stand beside a gap: any of `lefts` on its left with any of `rights`."""

    lefts: frozenset[str]
    rights: frozenset[str]


@dataclass(frozen=True, slots=True)
class Apart:
    """What a limit forbids to stand side by side: cards even beside an empty slot, and pairs of neighbours."""

    alone: frozenset[str] = frozenset()
    clashes: tuple[Neighbours, ...] = ()


@dataclass(frozen=True, slots=True)
class Number:
    """A number of a frame in a direction, and the term that says that it carries a channel of a need."""

    site: FrameSite
    direction: Direction
    number: int
    term: Term


class Tie(IntEnum):
    """Where a channel of a need lies beside the one before it: anywhere, on the next number, or there on its card."""

    NONE, NEXT, CARD = range(3)


@dataclass(frozen=True, slots=True)
class Shape:
    """What a limit asks of the numbers of a need, channel by channel, counted from 0.

    `on` says which frame's index and number a channel has to be on, if any; `step` that the number is 1 beyond a
    multiple of it.
    """

    on: Callable[[int], tuple[int, int] | None]
    step: Callable[[int], int]
    tie: Callable[[int], Tie]


class Draft(Protocol):
    """What rules and criteria say to the search, slot by slot or over runs of slots.

    Seats lie in cells. Slot by slot a cell is a slot, its board is whichever holds, and a seat's term is 0 or 1; over
    runs each layout has cells of its own, and the term counts the cards that stand in like places. Only the search
    knows whether a limit is hard or loosened.
    """

    survey: Survey
    kinds: Sequence[Kind]
    """The kinds of card under consideration."""

    def may_seat(self, site: FrameSite, places: Iterable[tuple[int, Kind]]) -> None:
        """Open a frame's seats, each a first slot and a kind; a card can stand nowhere else."""

    def seats(self, site: FrameSite | None = None, card: str | None = None, board: str | None = None) -> Sequence[Seat]:
        """The open seats, of one frame, card or board where given."""

    def laid(self) -> Sequence[tuple[Seat, Layout]]:
        """Seats whose terms count cards with a layout that numbers them so; none where alike frames are counted."""

    def cells(self, site: FrameSite, slot: int | None = None, board: str | None = None) -> Sequence[Cell]:
        """The cells of a frame; those that hold a slot, or of one board, where given."""

    def covering(self, cell: Cell) -> Sequence[tuple[int, Seat]]:
        """The open seats that take slots of a cell, and how many of them a card there takes."""

    def layouts(self, site: FrameSite) -> Sequence[tuple[Layout, Term]]:
        """The layouts under consideration and the terms that say which holds."""

    def may_serve(self, need: Need, line_type: LineType) -> None:
        """Let lines of a type serve a need."""

    def keep_to(self, limit: Limit, need: Need, line_types: Sequence[LineType]) -> None:
        """Let lines of no other type serve a need, of those that may."""

    def bring_back(self, limit: Limit, item: str) -> None:
        """One more of an item is there where the limit gives way."""

    def keep_alike(self, limit: Limit, needs: Sequence[Need], ways: Sequence[Callable[[LineType], bool]]) -> None:
        """Let lines serve some needs that are all alike in one of some ways; each says which are, of those that may."""

    def line_types(self, direction: Direction) -> Sequence[LineType]:
        """Types of line that the open seats can bring."""

    def ask(self, limit: Limit, need: Need) -> None:
        """Lines that may serve a need have to bring as many channels as the limit says."""

    def outlast(self, limit: Limit, need: Need) -> None:
        """Lines of all cards but one, whichever that is, have to bring so many channels of a need.

        They serve all needs of which that is said, and no others.
        """

    def serve_once(self, limit: Limit, direction: Direction) -> None:
        """A line of a direction serves one need at most."""

    def supply(self, limit: Limit, site: FrameSite, direction: Direction) -> None:
        """The lines of a frame that are wholly numbered, and in the part of it that is in use, can serve."""

    def items(self, item: str) -> Load:
        """How many of a card, chassis or board are used and not already part of an owned frame."""

    def cost(self) -> Load:
        """Money spent on offers."""

    def cost_at(self, offers: Mapping[str, Sequence[Offer]]) -> Load:
        """The same were these the offers of each item."""

    def stranded(self) -> Load:
        """Card channels without a number."""

    def holes(self) -> Load:
        """Numbers below the highest used ones that nothing answers."""

    def idle(self) -> Load:
        """Numbered channels beyond what the needs ask for."""

    def short(self) -> Load:
        """Channels that needs which are nice to have lack."""

    def short_needs(self) -> Load:
        """How many of those needs lack any."""

    def cards_moved(self) -> Load:
        """Cards that stand and leave their slot; not over runs."""

    def straps_moved(self) -> Load:
        """Straps that have to be set."""

    def lids_off(self) -> Load:
        """Frames that have to be opened; over runs those alone whose settings or board change."""

    def renumbered(self) -> Load:
        """Channels of needs that had a number and get another one; not over runs."""

    def hold(self, limit: Limit, load: Load, cell: Cell | None = None, *, whole: bool = False) -> None:
        """Keep a load to a limit's bound, a least or a most: so much in all, for each slot of a cell, or in the cell.

        `whole` says that it is so much in the cell, whatever its slots.
        """

    def hold_if(self, limit: Limit, conditions: Sequence[Term], load: Load) -> None:
        """Keep a load to a limit's bound where all conditions hold, each of which is 0 or 1."""

    def any_of(self, load: Load) -> Term:
        """A term that is 1 where a load is 1 at least, else 0; no amount and no term of the load is below 0."""

    def placed(self, need: Need) -> bool:
        """Whether a need has the shapes that limits ask for, with no row for it, because nothing of it gives way."""

    def numbers(self, need: Need) -> Sequence[Number]:
        """Every number that may carry a need which asks for certain ones, by frame and number; not over runs.

        Those that shapes have no channel on which may not give way are left out.
        """

    def one_at_most(self, amount: int) -> Sequence[Term]:
        """So many new terms of which one at most is 1."""

    def on_one_card(self, number: Number) -> Term:
        """Whether one card answers a number and the next one; not over runs."""

    def on_cards(self, need: Need) -> Mapping[tuple[int, int], Sequence[Term]]:
        """By frame index and first slot of a card which of its numbers carry a need, a term each; not over runs."""

    def kept(self, limit: Limit) -> Term:
        """Whether a limit does not give way: 1 where it may not."""

    def loosens(self, limit: Limit) -> bool:
        """Whether a limit may give way in this search, up to the end of its `give`."""

    def apart(
        self,
        limit: Limit,
        lefts: Load,
        rights: Load,
        board: tuple[FrameSite, str],
        *,
        alone: bool = False,
    ) -> None:
        """At most one of all these seats, or none if `alone`, while the frame has that board; nothing over runs."""


class Rule(ABC):
    """One rule: its limits, what a build uses of one, and the same for the search."""

    code: ClassVar[str]
    """Stable, our own; documents and checks name the rule by it."""
    speaks_of: ClassVar[Literal["cards", "straps", "lines", "loads"]]
    """What its limits are stated of: cards in slots, settings, lines and what they serve, or what cards add up to."""
    shared: ClassVar[bool] = False
    """Whether several rooms keep its limits together; its wishes are then a `SharedWish` each."""
    limits_money: ClassVar[bool] = False
    """Whether it limits what is spent and nothing else, so that a curve of costs has the answer already."""
    describes: ClassVar[bool] = False
    """Whether a build that breaks it is not there as it says, so that what it might do better is not asked."""
    of_settings: ClassVar[bool] = False
    """Whether it reads settings as the build has them, so that those left out change nothing about its faults."""
    silencing: ClassVar[bool] = False
    """Whether lines that break it serve nothing, so that other limits that speak of lines may break with it."""
    sparing: ClassVar[bool] = False
    """Whether as little as can be is taken beyond its limits where they are lifted, before what it costs."""
    graded: ClassVar[bool] = False
    """Whether builds are ranked by how well they keep it, so that a search asks for one bound after another (`at`)."""

    @abstractmethod
    def limits(self, survey: Survey) -> Iterator[Limit]:
        """Every instance, from the survey alone."""

    @abstractmethod
    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """What a build uses of a limit; None where it cannot be judged."""

    @abstractmethod
    def constrain(self, draft: Draft, limit: Limit) -> None:
        """State the limit for the search, slot by slot."""

    def relax(self, draft: Draft, limit: Limit) -> None:
        """State the limit over runs: nothing that keeps it may be forbidden, not all that breaks it need be."""
        self.constrain(draft, limit)

    # What a search asks of it

    def at(self, survey: Survey, bound: int) -> Iterator[Limit]:
        """Its limits at another bound, where it is graded: never negotiable."""
        return iter(())

    def wants(self, survey: Survey) -> Collection[str]:
        """Cards that it may ask for though they serve no need."""
        return ()

    def losing_a_card_hurts(self, survey: Survey) -> bool:
        """Whether taking out a card that serves nothing and that no rule wants may break it."""
        return False

    def shuts(self, limit: Limit, site: FrameSite, layout: Layout, kind: Kind) -> Collection[int]:
        """The slots that one of its limits keeps every card of a kind out of, in its frame with a layout."""
        return ()

    def silences(self, limit: Limit, seat: Seat, layout: Layout, direction: Direction, part: int) -> Collection[int]:
        """The channels that one of its limits keeps from serving, of a card on one of its slots, counted from 0."""
        return ()

    def apart(self, limit: Limit, site: FrameSite, board: str, kinds: Sequence[Kind]) -> Apart:
        """What one of its limits forbids to stand side by side in its frame with a board."""
        return Apart()

    def shape(self, survey: Survey, limit: Limit) -> Shape | None:
        """What one of its limits asks of the numbers of the need that it speaks of, if it is one of those."""
        return None

    def tells_apart(self, survey: Survey, site: FrameSite, layout: Layout, slot: int) -> object:
        """What sets a slot apart from its neighbours, beside its numbers and what is kept out of it; None for nothing.

        Neighbours that nothing sets apart are counted as one run.
        """
        return None

    def separates(self, survey: Survey, kind: Kind) -> object:
        """What sets a kind apart from others of its ports and span, beside its rails, its heat and its price.

        Kinds that nothing sets apart are planned as one and dealt to rooms afterwards.
        """
        return kind.id if kind.id in self.wants(survey) else None

    def ready_for(self, survey: Survey) -> Said | None:
        """What failure it keeps a room ready for, to say what that costs; None for none."""
        return None

    def unknowns(self, survey: Survey, standing: Standing) -> Iterator[tuple[Unknown, int]]:
        """The figures that judging a build by it would need and the files do not give; how many items lack each."""
        return iter(())

    # How it is told

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        """A broken limit: where, what was found, what the limit is; with a build, what breaks it."""
        return tell("{where}: {used}; at most {bound}", where=whereabouts(reading.limit), **reading.amounts())

    def places(self, survey: Survey, frame: FrameStanding, limit: Limit) -> Iterator[Finding]:
        """Each place of a frame where it is broken; none where it is broken as a whole."""
        return iter(())

    def headroom(self, survey: Survey, reading: Reading, standing: Standing) -> Near | None:
        """How near a limit is; None for those that are either kept or not, or that nothing comes near."""
        return None

    def lifted(self, survey: Survey) -> Survey | None:
        """The room without these limits, to see whether they alone keep a need from more; None where that says nothing.

        What stock and offers lack can then be bought at its usual price.
        """
        return None

    def hurdle(self, survey: Survey, channels: int, broken: Sequence[Reading]) -> Message:
        """What keeps a need from so many channels where these limits alone do: those that they would break."""
        return tell(
            "{code}: {said}",
            code=self.code.replace("-", " "),
            said=joined([self.over(survey, each) for each in broken]),
        )

    def over(self, survey: Survey, reading: Reading) -> Message:
        """By how much a limit would be broken."""
        text = "{where}{used} to spare, at least {bound}" if reading.limit.at_least else "{where}{used} of {bound}"
        return tell(text, where=in_several(survey, reading.limit), **reading.amounts())

    def load(self, limit: Limit) -> Message | None:
        """What of a frame it limits the load of; None where it is no load."""
        return None

    def counts(self, survey: Survey) -> Iterator[Count]:
        """Counts of its limits that cannot come out, whatever is built: plain arithmetic, with no search."""
        return iter(())

    def remarks(self, survey: Survey) -> Iterator[Message]:
        """What is worth knowing of a room that nothing can be built of, whether or not it is in the way."""
        return iter(())

    def unyielding(self, survey: Survey) -> Iterator[Unyielding]:
        """What it asks that stays as it is, one by one, to see which of it is part of a clash."""
        return iter(())

    def wish(self, limit: Limit) -> LimitWish | None:
        """What somebody could change so that a negotiable limit gives way; None where nobody can."""
        return None


def site_of(survey: Survey, limit: Limit) -> FrameSite:
    """The frame that a limit speaks of."""
    return next(f for f in survey.frames if f.name == limit.place.frame)


def frames_at(standing: Standing, limit: Limit) -> Iterable[FrameStanding]:
    """The standing frames that a limit speaks of: one or none."""
    frame = standing.by_name.get(limit.place.frame or "")
    return () if frame is None else (frame,)


def whereabouts(limit: Limit) -> Message:
    """Frame and slot of a limit."""
    place = limit.place
    if place.slot is None:
        return tell("frame {frame}", frame=place.frame or "")
    return tell("frame {frame}, slot {slot}", frame=place.frame or "", slot=place.slot)


def in_several(survey: Survey, limit: Limit) -> Said:
    """The frame before what is said of it, where a room has several."""
    return tell("frame {frame} ", frame=limit.place.frame or "") if len(survey.frames) > 1 and limit.place.frame else ""


def in_frame(survey: Survey, limit: Limit) -> Said:
    """Which frame, where a room has several."""
    return tell(", frame {frame}", frame=limit.place.frame or "") if len(survey.frames) > 1 else ""

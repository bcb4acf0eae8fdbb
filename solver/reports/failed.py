"""The document of `failed`: what is lost where something fails, and what mends it, the least work first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal, TypeAlias

from solver.fitted.card_moves import CardMove, Seat
from solver.fitted.moves import Spot
from solver.fitted.repatched import Repatch
from solver.handover.trail import Trail
from solver.reports.difference import CardChange, StrapChange
from solver.reports.element import BrokenLimit, Element, FileFault
from solver.reports.report import OrderLine
from solver.room.words import Direction, channel_told, in_room


class PatchMove(Element):
    """A need's channel that gets another number; `now` null: it is lost.

    Numbers are named as `find` knows them, such as ``A:in:17``. Points are those of bays, where there are any:
    `was_point` and `now_point` of the card, `far_point` that of the far end, which stays where it is. `was_host` and
    `now_host` are its numbers at the host, where a host port carries it.
    """

    need: str
    direction: Direction
    channel: int
    name: str | None = None
    spare: bool = False
    was: str
    was_host: int | None = None
    was_point: str | None = None
    far_point: str | None = None
    now: str | None = None
    now_host: int | None = None
    now_point: str | None = None

    @property
    def cord(self) -> tuple[str, str] | None:
        """The points that a cord joins, from the source on; None where there are none."""
        if self.far_point is None or self.now_point is None:
            return None
        return (self.now_point, self.far_point) if self.direction == "out" else (self.far_point, self.now_point)

    @property
    def carries(self) -> str:
        """What the channel is called."""
        return channel_told(self.need, self.channel, self.name, self.spare)


Way: TypeAlias = Literal["patching", "shelf", "borrow", "room", "hire", "order"]
"""How something is mended."""


class Repair(Element):
    """One way to mend what is lost.

    `patching` moves no card, leaves every lid on and gives up nothing that works; `borrow` does so for needs that are
    more important, `room` on lines of other rooms, whose frames and needs are called with these; `gives_way` says of
    which needs how much. `shelf` seats what is owned, `hire` what can be hired,
    each line at its price of a day, `order` what has to be bought: cards, and boards of the same kind in the places of
    failed ones.
    `outcome` is ``whole`` where at most channels to spare are lost, ``partly`` where more is, ``none`` where nothing
    can be done so, ``unknown`` where the limit was over first. `cards` change hands beside the failed ones. `moved`
    has every channel that gets another number or is lost, `lost` counts the lost ones but those to spare.
    """

    how: Way
    outcome: Literal["whole", "partly", "none", "unknown"]
    proven: bool = False
    text: str
    cards: list[CardChange] = []
    straps: list[StrapChange] = []
    from_shelf: dict[str, int] = {}
    order_lines: list[OrderLine] = []
    cost: str | None = None
    moved: list[PatchMove] = []
    lost: int = 0
    gives_way: dict[str, int] = {}
    notes: list[str] = []


class Failed(Element):
    """What fails, which channels that takes, and what mends it, the least work first.

    `frames` says what becomes of frames of which a fan or a supply fails.
    `in_doubt` lose phantom power, and no file says whether their sources need it. `without_clock` are frames and other
    devices that get no clock then, as the clock lines are drawn; `could_lead` what has a clock of its own.
    """

    format: Literal[1] = 1
    scenario: str
    room: str | None = None
    sample_rate: int
    currency: str
    outcome: Literal["clean", "faulty"]
    failed: list[str]
    cards: list[str] = []
    frames: list[str] = []
    without_clock: list[str] = []
    could_lead: list[str] = []
    affected: list[PatchMove] = []
    in_doubt: list[PatchMove] = []
    repairs: list[Repair] = []
    faults: list[BrokenLimit] = []
    notes: list[str] = []
    warnings: list[FileFault] = []


class SinglePoint(Element):
    """One thing that may fail: how many channels are on it, and how many are lost once all is patched that can be.

    `what` is a card, a board, a frame, one of its supplies or fans, such as ``supply:A``, or a part of the clock, which
    is `told`: a device such as ``clock:NAME``, or a line such as ``clock-line:1``. `without_clock` has what gets none
    then. Channels to spare are not counted among the lost ones. `needs` says of which needs those are.
    """

    what: str
    card: str | None
    told: str | None = None
    without_clock: list[str] = []
    channels: int
    lost: int
    needs: dict[str, int] = {}
    proven: bool


class SinglePoints(Element):
    """Every card, supply, fan, board and frame of a build that may fail by itself, the worst first."""

    format: Literal[1] = 1
    scenario: str
    room: str | None = None
    sample_rate: int
    outcome: Literal["clean", "faulty"]
    complete: bool
    points: list[SinglePoint]
    faults: list[BrokenLimit] = []
    notes: list[str] = []
    warnings: list[FileFault] = []


class Points:
    """The points of bays that numbers are on, and what they are at the host."""

    def __init__(self, trails: Sequence[Trail]) -> None:
        self._points = {
            (trail.channel.frame, trail.channel.direction, trail.channel.number): trail.patched
            for trail in trails
            if trail.patched is not None
        }
        self._hosts = {
            (trail.channel.frame, trail.channel.direction, trail.channel.number): trail.channel.host.number
            for trail in trails
            if trail.channel.host is not None
        }

    def host(self, direction: Direction, spot: Spot) -> int | None:
        """What a number is at the host; None where no host port carries it."""
        return self._hosts.get((spot.frame, direction, spot.number))

    def card(self, direction: Direction, spot: Spot) -> str | None:
        """The point of a number; None where no bay takes it."""
        on = self._points.get((spot.frame, direction, spot.number))
        return None if on is None else f"bay:{on.bay.name}:{on.card_point}"

    def far(self, direction: Direction, spot: Spot) -> str | None:
        """That of its far end."""
        on = self._points.get((spot.frame, direction, spot.number))
        return None if on is None else f"bay:{on.bay.name}:{on.far_point}"


def called_with_rooms(trails: Sequence[Trail]) -> list[Trail]:
    """Paths whose frames are called with their rooms."""
    return [
        replace(trail, channel=replace(trail.channel, frame=in_room(trail.channel.room, trail.channel.frame)[0]))
        for trail in trails
    ]


def moved(each: Repatch, before: Points, after: Points) -> PatchMove:
    """A channel as the document has it."""
    need = each.need
    return PatchMove(
        need=need.name,
        direction=need.direction,
        channel=each.channel,
        name=need.name_of(each.channel),
        spare=each.spare,
        was=number_name(need.direction, each.before),
        was_host=before.host(need.direction, each.before),
        was_point=before.card(need.direction, each.before),
        far_point=before.far(need.direction, each.before),
        now=None if each.after is None else number_name(need.direction, each.after),
        now_host=None if each.after is None else after.host(need.direction, each.after),
        now_point=None if each.after is None else after.card(need.direction, each.after),
    )


def number_name(direction: Direction, spot: Spot) -> str:
    """A number as `find` knows it."""
    return f"{spot.frame}:{direction}:{spot.number}"


def patched_text(channels: Sequence[PatchMove], lost: int) -> str:
    """How many channels get another number, and how many are lost."""
    placed = sum(each.now is not None for each in channels)
    said = [f"{placed} channel{'s get other numbers' if placed > 1 else ' gets another number'}"] if placed else []
    spare = sum(each.now is None and each.spare for each in channels)
    said += [f"{lost} {'are' if lost > 1 else 'is'} lost"] if lost else []
    said += [f"{spare} to spare {'are' if spare > 1 else 'is'} given up"] if spare else []
    return ", ".join(said) or "every channel keeps its number"


def seated_text(cards: Sequence[CardMove], straps: Sequence[StrapChange], spans: Mapping[str, int]) -> str:
    """Which cards come, go and move and which straps are set, in a sentence; `spans` says how many slots cards take."""
    said = []
    for move in cards:
        if move.before is None and move.after is not None:
            said.append(f"{move.told} into {_slots(move, move.after, spans)}")
        elif move.after is None and move.before is not None:
            said.append(f"{move.told} out of {_slots(move, move.before, spans)}")
        elif move.before is not None and move.after is not None:
            said.append(f"{move.told} from {_slots(move, move.before, spans)} to {_slots(move, move.after, spans)}")
    for strap in straps:
        what = f"{strap.strap} of {strap.frame}" if strap.strap is not None else f"{strap.group} of {strap.frame}"
        done = {"closed": "close", "open": "open"}.get(strap.after) if strap.strap is not None else None
        said.append(f"{done} {what}" if done else f"set {what} to {strap.after}")
    return ", ".join(said) or "nothing else is seated"


def _slots(move: CardMove, seat: Seat, spans: Mapping[str, int]) -> str:
    last = seat.slot + spans.get(move.card, 1) - 1
    return f"slot {seat.slot} of {seat.frame}" if last == seat.slot else f"slots {seat.slot}-{last} of {seat.frame}"

"""What changes hands between two builds: cards, boards, straps, and the numbers of what is needed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest

from solver.fitted.card_moves import CardMove, FrameKey, Seat, card_moves, serials_before, worn_in
from solver.fitted.cards_set import CardSwitch, told
from solver.fitted.frame import FrameStanding, Use
from solver.fitted.settings import read_settings
from solver.fitted.standing import Standing, stand, uses_of_nothing
from solver.room.build import Build
from solver.room.stood import StrapState, strap_state
from solver.room.survey import Need, Survey
from solver.room.traits import Switch
from solver.room.words import Direction


@dataclass(frozen=True, slots=True)
class StrapMove:
    """A strap that is closed or opened, or a switch, where `strap` is None. `before` is None where it is not known."""

    group: str
    strap: str | None
    before: str | None
    after: str


@dataclass(frozen=True, slots=True)
class SetMove:
    """What is set otherwise on a card that stays or gets another slot, or on one that comes (`before` None).

    `slot` is where the part of the card is to stand that has these `channels`; None: all of them are set together.
    """

    room: str | None
    frame: str
    slot: int
    card: str
    setting: str
    direction: Direction
    channels: str | None
    before: str | None
    after: str

    @property
    def key(self) -> FrameKey:
        """The frame that the card is to stand in."""
        return self.room, self.frame


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a need's channel is: number of a frame, and the card channel that answers it. No number: None."""

    room: str | None
    frame: str
    number: int | None
    slot: int
    card_channel: int


@dataclass(frozen=True, slots=True)
class NumberMove:
    """A need's channel that begins or ends to be served, or is served from elsewhere.

    Channels are counted from 1 in the order of the later build's frames and numbers.
    Where the channels of a need have names, or ask for certain numbers, each is the one that it was. Else no file tells
    them apart, so a number that serves the need before and after keeps its channel.
    """

    room: str | None
    need: str
    direction: Direction
    channel: int
    before: Spot | None
    after: Spot | None
    name: str | None = None
    """What the channel is called, where it has a name."""

    @property
    def stays_plugged(self) -> bool:
        """Whether the same card channel of the same slot carries it before and after, under whatever number."""
        if self.before is None or self.after is None:
            return False
        was, is_ = self.before, self.after
        return (was.frame, was.slot, was.card_channel) == (is_.frame, is_.slot, is_.card_channel)

    @property
    def renumbered(self) -> bool:
        """Whether it has a number before and after, and another one."""
        was, is_ = self.before, self.after
        if was is None or is_ is None or was.number is None or is_.number is None:
            return False
        return (was.frame, was.number) != (is_.frame, is_.number)


@dataclass(frozen=True, slots=True)
class FrameMoves:
    """One frame that stands before or after. A board that comes has straps of which nothing is known.

    `undecided` are strap groups that the later build does not set.
    """

    room: str | None
    frame: str
    board_before: str | None
    board_after: str | None
    straps: tuple[StrapMove, ...]
    undecided: tuple[str, ...] = ()

    @property
    def key(self) -> FrameKey:
        """Its room and name."""
        return self.room, self.frame

    @property
    def board_moves(self) -> bool:
        """Whether a board is put in or exchanged; that of a frame that is no longer used stays where it is."""
        return self.board_after is not None and self.board_after != self.board_before


@dataclass(frozen=True)
class Moves:
    """All that one build has otherwise than another."""

    frames: tuple[FrameMoves, ...]
    cards: tuple[CardMove, ...]
    numbers: tuple[NumberMove, ...]
    settings: tuple[SetMove, ...]

    @property
    def lids_off(self) -> tuple[FrameKey, ...]:
        """The frames that are to be opened, in order of names."""
        found = {frame.key for frame in self.frames if frame.board_moves or frame.straps}
        found |= {seat.key for move in self.cards for seat in (move.before, move.after) if seat is not None}
        return tuple(sorted(found, key=lambda key: (key[0] or "", key[1])))

    @property
    def lids_on(self) -> tuple[FrameKey, ...]:
        """The frames that stand before or after and stay closed."""
        return tuple(frame.key for frame in self.frames if frame.key not in self.lids_off)

    @property
    def nothing(self) -> bool:
        """Whether all stays as it is."""
        return not self.lids_off and not self.numbers and not self.settings


def moves(before: Sequence[Standing], after: Sequence[Standing], dead: Mapping[Seat, str] | None = None) -> Moves:
    """What has to change hands from one build to another.

    Parameters
    ----------
    before, after
        The builds as they stand, room by room; no room at all before for frames in which nothing stands.
    dead
        The cards of the earlier one that are out of service: the later one has none of them, and they come out where
        the lid is off, be it for what takes their place.
    """
    old, new = _frames(before), _frames(after)
    worn = {seat for room in before for seat in worn_in(room)}
    here = serials_before(before, after)
    alive = {seat: card for seat, card in _cards(old).items() if seat not in (dead or {})}
    cards = tuple(here.named(card_moves(alive, _cards(new), worn)))
    found = Moves(
        frames=tuple(_frame(key, old.get(key), new.get(key)) for key in sorted({*old, *new}, key=_by_name)),
        cards=cards,
        numbers=tuple(_numbers(before, after)),
        settings=tuple(_set_moves(old, new, cards)),
    )
    out = [CardMove(card, seat, None, dead=True) for seat, card in (dead or {}).items() if seat.key in found.lids_off]
    return replace(found, cards=(*cards, *here.named(out)))


def straps_of(frame: FrameStanding, standing: Standing) -> StrapState:
    """How every strap of a frame stands, as far as its build says it."""
    settings = read_settings(frame.board, frame.built.straps, standing.survey.family)
    return strap_state(frame.board, settings.chosen)


def strap_moves(before: StrapState, after: StrapState) -> tuple[StrapMove, ...]:
    """Every strap that has to be set, once, in the board's order."""
    return tuple(
        StrapMove(group, strap, before.get((group, strap)), to)
        for (group, strap), to in after.items()
        if before.get((group, strap)) != to
    )


def _by_name(key: FrameKey) -> tuple[str, str]:
    return key[0] or "", key[1]


def _frames(rooms: Iterable[Standing]) -> dict[FrameKey, tuple[Standing, FrameStanding]]:
    return {(room.survey.room, frame.site.name): (room, frame) for room in rooms for frame in room.frames}


def _cards(frames: Mapping[FrameKey, tuple[Standing, FrameStanding]]) -> dict[Seat, str]:
    return {
        Seat(*key, seat.slot): seat.kind.id
        for key in sorted(frames, key=_by_name)
        for seat in sorted(frames[key][1].seats, key=lambda s: s.slot)
    }


def _frame(
    key: FrameKey, old: tuple[Standing, FrameStanding] | None, new: tuple[Standing, FrameStanding] | None
) -> FrameMoves:
    old_board = None if old is None else old[1].built.board
    if new is None:
        return FrameMoves(*key, old_board, None, ())
    standing, frame = new
    board = frame.board
    after = straps_of(frame, standing)
    before = straps_of(old[1], old[0]) if old is not None and old_board == board.id else {}
    known = {group for group, _ in after}
    undecided = tuple(g.name for g in board.strap_group if g.name not in known and (g.straps or g.kind == "switch"))
    return FrameMoves(*key, old_board, board.id, strap_moves(before, after), undecided)


def _set_moves(
    old: Mapping[FrameKey, tuple[Standing, FrameStanding]],
    new: Mapping[FrameKey, tuple[Standing, FrameStanding]],
    cards: Iterable[CardMove],
) -> Iterator[SetMove]:
    """What is set otherwise than on the card that it was, or than a card that comes has it."""
    came = {move.after: move.before for move in cards if move.after is not None}
    for key in sorted(new, key=_by_name):
        frame = new[key][1]
        for seat in sorted(frame.seats, key=lambda s: s.slot):
            was = came.get(here := Seat(*key, seat.slot), here)
            earlier: dict[Switch, str] = {}
            if was is not None:
                then = old[was.key][1]
                choices = then.choices(next(s for s in then.seats if s.slot == was.slot))
                earlier = {switch: to for (_, switch), to in choices.items()}
            changed: dict[str | None, dict[CardSwitch, str]] = {}
            for at, to in frame.choices(seat).items():
                if to != earlier.get(at[1], at[1].setting.usual):
                    changed.setdefault(earlier.get(at[1]), {})[at] = to
            for before, now in changed.items():
                for own in told(now, usual=True):
                    card, way = seat.kind.id, own.direction
                    yield SetMove(*key, own.slot, card, own.setting, way, own.channels, before, own.to)


def serving(rooms: Iterable[Standing]) -> dict[tuple[str | None, Need], list[Spot]]:
    """By room and need where its channels are, in the order in which it counts them: the first is channel 1."""
    found: dict[tuple[str | None, Need], list[Spot]] = {}
    for room in rooms:
        for need in room.survey.needs:
            found[room.survey.room, need] = [_spot(room, frame, use) for frame, use in room.in_order(need)]
    return found


def stood_on(survey: Survey) -> Mapping[Need, Sequence[Spot]]:
    """By need where its channels are in what stands; nothing where nothing is said to stand.

    Those of a card that is there no more, where it is still said what they serve, count with the numbers that they had.
    """
    if "stood_on" not in survey.worked_out:
        stands = survey.scenario.stands
        survey.worked_out["stood_on"] = {} if stands is None else _stood_on(survey, stands)
    found: Mapping[Need, Sequence[Spot]] = survey.worked_out["stood_on"]
    return found


def _stood_on(survey: Survey, stands: Build) -> dict[Need, Sequence[Spot]]:
    found = {need: spots for (_, need), spots in serving([stand(survey, stands)]).items()}
    indices = {site.name: site.index for site in survey.frames}
    gone: dict[Need, list[Spot]] = {}
    for name, use in uses_of_nothing(survey, stands):
        gone.setdefault(use.need, []).append(Spot(survey.room, name, use.number, use.slot, use.index))
    for need, spots in gone.items():
        own = sorted([*found[need], *spots], key=lambda s: survey.place(need, indices[s.frame], s.number or 0))
        found[need] = own[: need.demand]
    return {need: tuple(spots) for need, spots in found.items()}


def renumbered(need: Need, before: Sequence[Spot], after: Sequence[Spot]) -> int:
    """How many of its channels had a number and get another one.

    Where its channels are told apart each is the one that it was; else a number that serves it before and after stays.
    """
    had, has = ([(s.frame, s.number) for s in own] for own in (before, after))
    if need.definite:
        return sum(None not in (was[1], now[1]) and was != now for was, now in zip(had, has, strict=False))
    before_, after_ = ({spot for spot in own if spot[1] is not None} for own in (had, has))
    return min(len(before_), len(after_)) - len(before_ & after_)


def _spot(room: Standing, frame: FrameStanding, use: Use) -> Spot:
    return Spot(room.survey.room, frame.site.name, use.number, use.slot, use.index)


def channels(before: Sequence[Spot], after: Sequence[Spot]) -> list[tuple[int, Spot | None, Spot | None]]:
    """The channels of one need, counted in the order of `after`, with where each was and is; what ends comes last.

    A number that stays keeps its channel; the others follow in order.
    """
    stays = {_answers(spot): spot for spot in before}
    came = {_answers(spot) for spot in after}
    waiting = [spot for spot in before if _answers(spot) not in came]
    pairs: list[tuple[Spot | None, Spot | None]] = []
    for spot in after:
        was = stays.get(_answers(spot))
        pairs.append((was or (waiting.pop(0) if waiting else None), spot))
    pairs += [(spot, None) for spot in waiting]
    return [(channel, was, is_) for channel, (was, is_) in enumerate(pairs, start=1)]


def definite_channels(before: Sequence[Spot], after: Sequence[Spot]) -> list[tuple[int, Spot | None, Spot | None]]:
    """The same of a need whose channels are told apart: each is the one that it was."""
    return [(channel, was, is_) for channel, (was, is_) in enumerate(zip_longest(before, after), start=1)]


def _answers(spot: Spot) -> tuple[object, ...]:
    if spot.number is None:
        return spot.frame, None, spot.slot, spot.card_channel
    return spot.frame, spot.number


def _numbers(before: Sequence[Standing], after: Sequence[Standing]) -> Iterator[NumberMove]:
    for room, need, channel, was, is_ in paired(before, after):
        if was != is_:
            yield NumberMove(room, need.name, need.direction, channel, was, is_, need.name_of(channel))


def paired(
    before: Iterable[Standing], after: Iterable[Standing]
) -> Iterator[tuple[str | None, Need, int, Spot | None, Spot | None]]:
    """Every channel of every need of two builds, with its room, and where it was and is, moved or not.

    A need is known by its name, for the needs beside it may be others.
    """
    old, new = (
        {(room, need.name): (need, spots) for (room, need), spots in serving(rooms).items()}
        for rooms in (before, after)
    )
    needs = {key: need for key, (need, _) in (new | old).items()}
    for (room, name), need in sorted(needs.items(), key=lambda each: (each[0][0] or "", each[1].index)):
        was_there, is_there = (own.get((room, name), (need, []))[1] for own in (old, new))
        found = definite_channels(was_there, is_there) if need.definite else channels(was_there, is_there)
        for channel, was, is_ in found:
            yield room, need, channel, was, is_

"""By what way channels go, hop by hop, and which of them are heard: what a work order says of patching."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from solver.fitted.moves import NumberMove
from solver.handover.looms import Loom
from solver.handover.replugging import Line, LoomMove, carried
from solver.handover.trail import Trail
from solver.handover.wiring import Wiring
from solver.reports.difference import ChannelChange, channel_change
from solver.reports.together import moving_together, was_and_becomes
from solver.room.faults import quote
from solver.room.words import Direction, in_runs, write_ranges

DOES = {
    (False, True): "Inputs",
    (True, True): "Inputs and outputs, far ends of the outputs left unplugged",
    (True, False): "Outputs, far ends left unplugged",
}
"""What is plugged, by whether there are outputs and inputs among it."""

SAME = " = "
"""Between the labels of both ends of a hop."""


def ways_told(ways: Sequence[Sequence[str]]) -> str:
    """Hops from the far end on, such as ``plate 1-2; booth box 3-4 = racks 103-104``; empty where there are none."""
    if not ways or len({len(way) for way in ways}) > 1:
        return "; ".join(dict.fromkeys(hop for way in ways for hop in way))
    return "; ".join(_hop(list(hops)) for hops in zip(*ways, strict=True))


def _hop(hops: list[str]) -> str:
    ends = [hop.split(SAME) for hop in hops]
    if len({len(own) for own in ends}) > 1:
        return ", ".join(dict.fromkeys(hops))
    return SAME.join(_labels(list(own)) for own in zip(*ends, strict=True))


def _labels(labels: list[str]) -> str:
    """Labels that end in numbers which follow each other are told as a run."""
    if len(set(labels)) == 1:
        return labels[0]
    parts = [re.fullmatch(r"(.*?)(0|[1-9][0-9]{0,3})", label, re.ASCII) for label in labels]
    known = [(part[1], int(part[2])) for part in parts if part is not None]
    numbers = [number for _, number in known]
    in_turn = numbers == list(range(numbers[0], numbers[0] + len(labels))) if numbers else False
    if len(known) == len(labels) and len({text for text, _ in known}) == 1 and in_turn:
        return f"{known[0][0]}{write_ranges(numbers)}"
    return ", ".join(labels)


def heard_by(*wirings: Wiring) -> str:
    """The equipment by which something is heard, in words and in brackets; nothing where no file names any."""
    paths = [path for wiring in wirings for path in wiring.far.values()]
    ends = {path.end.equipment: path.end.feeds for path in paths if path.end.feeds is not None}
    told = [f"{quote(name)}: {feeds}" for name, feeds in sorted(ends.items())]
    return f" ({'; '.join(told)})" if told else ""


def outputs_to(wiring: Wiring, heard_ones: str = "the last") -> str:
    """What outputs go to, in words, and when what is heard has its turn; nothing where no file names any."""
    ends = [path.end for channel, path in wiring.far.items() if channel.direction == "out"]
    plugged = sorted({end.equipment for end in ends if not end.feeds})
    told = f" ({', '.join(map(quote, plugged))})" if plugged else ""
    heard = heard_by(wiring)
    return f"{told}; those that are heard {heard_ones}{heard}" if heard else told


@dataclass(frozen=True)
class Patch:
    """What is plugged or rewired at one loom, in words.

    `loom` is the tag that it gets, `before` the one that it has where it goes there whole from another connector.
    """

    text: str
    loom: str | None = None
    before: str | None = None


def patches(
    numbers: Sequence[NumberMove], standing: Wiring, wiring: Wiring, replugged: Sequence[LoomMove]
) -> Iterator[Patch]:
    """Where looms move, in words, so that each goes to a connector that is free.

    Where looms change places one of them comes off first, and is marked, since two have one tag for a while.
    """
    left = list(_patches(numbers, standing, wiring, replugged))
    while left:
        leaving = {own.before for own in left if own.before is not None}
        ready = next((own for own in left if own.loom not in leaving), None)
        if ready is None:
            ready = left[0]
            does, _, _ = ready.text.partition(": ")
            yield Patch(f"{does}: take loom {ready.loom} off, if it is still on, and write OLD on its tag")
            left = [_marked(own, ready.loom) for own in left]
        yield ready
        left.remove(ready)


def _marked(patch: Patch, loom: str | None) -> Patch:
    """A loom by the mark on its tag, where it is one that came off for another."""
    if loom is None or patch.before != loom:
        return patch
    return replace(patch, text=patch.text.replace(f"loom {loom} goes to", f"loom {loom}, marked OLD, goes to", 1))


def _patches(
    numbers: Sequence[NumberMove], standing: Wiring, wiring: Wiring, replugged: Sequence[LoomMove]
) -> Iterator[Patch]:
    """What is plugged at each loom, and by what way: a loom is told once, with all that goes by it; inputs first.

    Channels that follow each other there and here share a sentence.
    """
    by_line = {move.line: move for move in replugged}
    moving = [m for m in numbers if not m.stays_plugged or (m.room, m.need, m.channel) in by_line]
    moving += [
        NumberMove(m.room, m.need.name, m.need.direction, m.channel, m.was, m.is_, m.need.name_of(m.channel))
        for m in replugged
        if m.was == m.is_
    ]
    trails = {(t.channel.room, t.channel.frame, t.channel.direction, t.channel.number): t for t in wiring.trails}

    def trail(change: ChannelChange) -> Trail | None:
        to = change.after
        return None if to is None else trails.get((change.room, to.frame, change.direction, to.number))

    def way(change: ChannelChange) -> tuple[str, ...]:
        """The hops beyond the loom."""
        own = trail(change)
        return () if own is None else tuple(hop for hop in own.way if hop not in own.loom_hops)

    def shape(change: ChannelChange) -> tuple[object, ...]:
        own, from_ = trail(change), by_line.get((change.room, change.need, change.channel))
        return own and own.loom, from_ and from_.before.name, [re.sub("[0-9]+", "", hop) for hop in way(change)]

    plugged = {(move.room, move.need, move.channel) for move in moving}
    stays: dict[tuple[object, ...], str] = {
        (own.room, own.frame, own.direction, own.slot, own.card_channel): carries.need.name
        for own in standing.channels
        for carries in own.carries
        if (own.room, carries.need.name, carries.channel) not in plugged
    }
    whole = moving_together(channel_change(move) for move in moving)
    by_loom: dict[object, tuple[Trail | None, set[Direction], list[str]]] = {}
    for n, run in enumerate(
        part for together in whole for part in in_runs(together, lambda one, other: shape(one) == shape(other))
    ):
        own = trail(run[0])
        key = n if own is None or own.loom is None else own.loom
        _, ways, told = by_loom.setdefault(key, (own, set(), []))
        ways.add(run[0].direction)
        told.append(_off_first(run, stays) + _patch(run, ways_told([way(change) for change in run])))
    for own, ways, told in sorted(by_loom.values(), key=lambda each: ("out" in each[1], "in" not in each[1])):
        does = DOES["out" in ways, "in" in ways]
        if own is None or own.loom is None:
            yield from (Patch(f"{does}: {one}") for one in told)
            continue
        on_it = carried(own.loom)
        hops = ", ".join(reversed(own.loom_hops))
        come = [by_line[line] for line in on_it & by_line.keys()]
        before = _whole(come, on_it)
        if before is not None:
            head = f"loom {before.name} goes to the connector of {hops}, and gets that tag"
        else:
            from_ = sorted({move.before.name for move in come} - {own.loom.name})
            head = f"{hops}, with lines of {' and '.join(from_)}" if from_ else hops
            other = {move.before.connector.type for move in come if not move.straight} - {own.loom.connector.type}
            head += f", which is {own.loom.connector.type} and was {' and '.join(sorted(other))}" if other else ""
        others = "; its other lines as before" if on_it - plugged else ""
        text = f"{does}: {head}: {'; then '.join(told)}{others}"
        yield Patch(text, own.loom.name, None if before is None else before.name)


def _whole(come: Sequence[LoomMove], on_it: Collection[Line]) -> Loom | None:
    """The loom that goes to another connector as it is, with all that it carries and carried."""
    before = come[0].before if come else None
    straight = all(move.straight and move.before == before for move in come)
    if before is None or not straight or {move.line for move in come} != on_it or len(carried(before)) != len(come):
        return None
    return None if before.name == come[0].after.name else before


def _off_first(run: Sequence[ChannelChange], stays: Mapping[tuple[object, ...], str]) -> str:
    """What has to come off before, since it is plugged there and gets no other place."""
    places = [
        (one.room, one.after.frame, one.direction, one.after.slot, one.after.card_channel)
        for one in run
        if one.after is not None
    ]
    needs = sorted({need for at in places if (need := stays.get(at, run[0].need)) != run[0].need})
    return f"take {' and '.join(map(quote, needs))} off, then " if needs else ""


def _patch(run: Sequence[ChannelChange], by: str) -> str:
    first = run[0]
    need = f"{first.room}, {quote(first.need)}" if first.room else quote(first.need)
    what = f"{need} {write_ranges([change.channel for change in run])}"
    was, is_ = was_and_becomes(run)
    is_ = f"{is_}, by {by}" if by else is_
    if is_ is not None and run[0].before == run[0].after:
        return f"{what} at {is_}"
    if was is None:
        return f"connect {what} to {is_}"
    return f"{what} from {was} to {is_}" if is_ is not None else f"{what} is served no more; it was at {was}"

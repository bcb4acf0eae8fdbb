"""By what way channels go, hop by hop, and which of them are heard: what a work order says of patching."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from solver.fitted.moves import NumberMove
from solver.handover.wiring import Wiring
from solver.reports.difference import ChannelChange, channel_change
from solver.reports.together import moving_together, was_and_becomes
from solver.room.faults import quote
from solver.room.words import in_runs, write_ranges

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


def heard_by(wiring: Wiring) -> str:
    """The equipment by which something is heard, in words and in brackets; nothing where no file names any."""
    ends = {path.end.equipment: path.end.feeds for path in wiring.far.values() if path.end.feeds is not None}
    told = [f"{quote(name)}: {feeds}" for name, feeds in sorted(ends.items())]
    return f" ({'; '.join(told)})" if told else ""


def patches(numbers: Sequence[NumberMove], wiring: Wiring) -> Iterator[str]:
    """Where looms move, in words, and by what way; channels that follow each other there and here share a line."""
    ways = {(t.channel.room, t.channel.frame, t.channel.direction, t.channel.number): t.way for t in wiring.trails}

    def way(change: ChannelChange) -> tuple[str, ...]:
        to = change.after
        return () if to is None else ways.get((change.room, to.frame, change.direction, to.number), ())

    def shape(change: ChannelChange) -> list[str]:
        return [re.sub("[0-9]+", "", hop) for hop in way(change)]

    whole = moving_together(channel_change(move) for move in numbers if not move.stays_plugged)
    for run in (
        part for together in whole for part in in_runs(together, lambda one, other: shape(one) == shape(other))
    ):
        first = run[0]
        need = f"{first.room}, {quote(first.need)}" if first.room else quote(first.need)
        what = f"{need} {write_ranges([change.channel for change in run])}"
        was, is_ = was_and_becomes(run)
        by = ways_told([way(change) for change in run])
        is_ = f"{is_}, by {by}" if by else is_
        if was is None:
            yield f"connect {what} to {is_}"
        elif is_ is None:
            yield f"{what} is served no more; it was at {was}"
        else:
            yield f"{what} from {was} to {is_}"

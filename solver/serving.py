"""Which lines serve which needs: an exact allotment, then channels by name.

Needs and lines are few and alike, so an exact search over counts per line type is quick. The ends that the
highest numbers may reach are lowered as far as the needs allow, so that no avoidable hole is left.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from solver.survey import LineType, Need
from solver.words import DIRECTIONS, Direction


@dataclass(frozen=True, slots=True)
class Line:
    """A line that can serve: all its channels are numbered. `channels` count along the slot, `first` is a number."""

    frame: int
    direction: Direction
    slot: int
    channels: tuple[int, ...]
    line_type: LineType
    first: int


def _covers(demand: int, types: Sequence[LineType], have: Sequence[int]) -> Iterator[tuple[int, ...]]:
    """Counts of lines that meet a demand with none superfluous, the least misfit first within each type."""
    if demand <= 0:
        yield (0,) * len(types)
        return
    if not types:
        return
    grain = types[0].grain
    enough = -(-demand // grain)
    for lines in range(min(have[0], enough), -1, -1):
        rest = demand - lines * grain
        for others in _covers(rest, types[1:], have[1:]):
            surplus = lines * grain + sum(n * t.grain for n, t in zip(others, types[1:], strict=True)) - demand
            used = [t.grain for n, t in zip((lines, *others), types, strict=True) if n]
            if all(surplus < g for g in used):
                yield (lines, *others)


def allot(needs: Sequence[Need], supply: Mapping[LineType, int]) -> list[dict[LineType, int]] | None:
    """Give every need enough lines, with the least misfit; None if that cannot be done.

    Parameters
    ----------
    needs
        Needs of one direction.
    supply
        Lines on hand by type.

    Returns
    -------
    list
        For each need the lines of each type that serve it.
    """
    types = sorted(supply, key=lambda t: (t.misfit, t.key))
    demands: list[int] = []
    accepted: list[tuple[int, ...]] = []
    members: list[list[int]] = []
    pools: dict[str, int] = {}
    for index, need in enumerate(needs):
        taken = tuple(i for i, t in enumerate(types) if need.signal in t.signals)
        pooled = all(types[i].grain == 1 for i in taken)
        if pooled and need.signal in pools:
            demands[pools[need.signal]] += need.demand
            members[pools[need.signal]].append(index)
            continue
        if pooled:
            pools[need.signal] = len(demands)
        demands.append(need.demand)
        accepted.append(taken)
        members.append([index])

    @cache
    def best(at: int, left: tuple[int, ...]) -> tuple[int, tuple[tuple[int, ...], ...]] | None:
        if at == len(demands):
            return 0, ()
        wanted = accepted[at]
        found: tuple[int, tuple[tuple[int, ...], ...]] | None = None
        for cover in _covers(demands[at], [types[i] for i in wanted], [left[i] for i in wanted]):
            cost = sum(n * types[i].misfit for n, i in zip(cover, wanted, strict=True))
            if found is not None and cost >= found[0]:
                continue
            remaining = list(left)
            for n, i in zip(cover, wanted, strict=True):
                remaining[i] -= n
            rest = best(at + 1, tuple(remaining))
            if rest is not None and (found is None or cost + rest[0] < found[0]):
                found = cost + rest[0], (cover, *rest[1])
        return found

    answer = best(0, tuple(supply[t] for t in types))
    if answer is None:
        return None
    shares: list[dict[LineType, int]] = [{} for _ in needs]
    for cover, wanted, group in zip(answer[1], accepted, members, strict=True):
        pool = [(types[i], n) for n, i in zip(cover, wanted, strict=True) if n]
        for index in group:
            due = needs[index].demand
            while due > 0 and pool:
                line_type, count = pool.pop(0)
                take = min(count, -(-due // line_type.grain))
                shares[index][line_type] = take
                due -= take * line_type.grain
                if count > take:
                    pool.insert(0, (line_type, count - take))
    return shares


def _supply(lines: Sequence[Line]) -> dict[LineType, int]:
    found: dict[LineType, int] = {}
    for line in lines:
        found[line.line_type] = found.get(line.line_type, 0) + 1
    return found


def _within(lines: Sequence[Line], ends: Mapping[int, int]) -> list[Line]:
    return [line for line in lines if line.slot <= ends.get(line.frame, 10**6)]


def _misfit(shares: Sequence[Mapping[LineType, int]]) -> int:
    return sum(count * line_type.misfit for share in shares for line_type, count in share.items())


def _lowered(
    needs: Sequence[Need], lines: Sequence[Line], holes: Mapping[tuple[int, int], int], most_misfit: int | None
) -> dict[int, int]:
    """The last slot of each frame that may serve, lowered wherever that saves holes within a misfit."""
    slots = {f: sorted({x.slot for x in lines if x.frame == f}) for f in sorted({x.frame for x in lines})}
    ends = {frame: own[-1] for frame, own in slots.items()}
    for frame, own in slots.items():
        for end in [0, *own]:
            if holes.get((frame, end), 0) >= holes.get((frame, ends[frame]), 0):
                break
            tried = {**ends, frame: end}
            shares = allot(needs, _supply(_within(lines, tried)))
            if shares is not None and (most_misfit is None or _misfit(shares) <= most_misfit):
                level = holes.get((frame, end), 0)
                ends[frame] = max([s for s in own if holes.get((frame, s), 0) <= level], default=end)
                break
    return ends


def serve(
    needs: Sequence[Need],
    lines: Sequence[Line],
    holes: Mapping[Direction, Mapping[tuple[int, int], int]],
    ends: Mapping[Direction, Mapping[int, int]] | None = None,
    *,
    plain_first: bool = False,
) -> dict[str, list[tuple[Line, int]]]:
    """Let lines serve needs: line and how many of its channels are asked for, by need.

    Parameters
    ----------
    needs
        Needs of both directions.
    lines
        All lines that can serve.
    holes
        By direction, then frame and slot: the holes that use of that slot would leave below it.
    ends
        By direction, then frame: the last slot that may serve, where it is known already.
    plain_first
        Whether giving up other signals counts before holes, as it does where holes are not ranked.

    Notes
    -----
    When the needs cannot all be met, they are met as far as possible in the order of their names.
    """
    found: dict[str, list[tuple[Line, int]]] = {}
    for direction in DIRECTIONS:
        asked = [n for n in sorted(needs, key=lambda n: n.name) if n.direction == direction]
        own = sorted((x for x in lines if x.direction == direction), key=lambda x: (x.frame, x.slot, x.channels))
        if ends is not None:
            own = _within(own, ends.get(direction, {}))
        shares = allot(asked, _supply(own))
        if shares is not None:
            most_misfit = _misfit(shares) if plain_first else None
            own = _within(own, _lowered(asked, own, holes.get(direction, {}), most_misfit))
            shares = allot(asked, _supply(own)) or shares
        else:
            shares = _as_far_as_possible(asked, _supply(own))
        free = list(own)
        for need, share in zip(asked, shares, strict=True):
            due = need.demand
            chosen: list[tuple[Line, int]] = []
            for line_type, count in sorted(share.items(), key=lambda item: (-item[0].grain, item[0].key)):
                mine = [x for x in free if x.line_type == line_type][:count]
                for line in mine:
                    free.remove(line)
                    chosen.append((line, min(due, len(line.channels))))
                    due -= len(line.channels)
            found[need.name] = [(line, n) for line, n in chosen if n > 0]
    return found


def _as_far_as_possible(needs: Sequence[Need], supply: Mapping[LineType, int]) -> list[dict[LineType, int]]:
    left = dict(supply)
    shares: list[dict[LineType, int]] = []
    for need in needs:
        share: dict[LineType, int] = {}
        due = need.demand
        for line_type in sorted(left, key=lambda t: (t.misfit, t.key)):
            take = min(left[line_type], max(0, -(-due // line_type.grain))) if need.signal in line_type.signals else 0
            if take:
                share[line_type] = take
                left[line_type] -= take
                due -= take * line_type.grain
        shares.append(share)
    return shares

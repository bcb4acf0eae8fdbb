"""What changes hands, in one line, as a person would say it, and how its channels were counted before."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from solver.fitted.card_moves import FrameKey
from solver.fitted.moves import Moves, NumberMove, Spot, paired, serving
from solver.fitted.standing import Standing
from solver.room.faults import quote
from solver.room.words import Direction, in_runs, write_ranges

TOLD = 3
"""How many runs are told of channels that get other numbers, and of those of a need that are counted otherwise."""


def frame_name(key: FrameKey, several: bool) -> str:
    """A frame by its name, after that of its room where there are several."""
    return f"{key[0]} {key[1]}" if several and key[0] else key[1]


def summary(moved: Moves, several: bool, looms: int = 0) -> str:
    """The whole change.

    Parameters
    ----------
    several
        Whether frames of several rooms are among it.
    looms
        How many looms go to another connector.
    """
    if moved.nothing:
        return "nothing to do, what stands is the build"
    came = sum(move.before is None for move in moved.cards)
    gone = sum(move.after is None for move in moved.cards)
    stay = len(moved.cards) - came - gone
    boards = sum(frame.board_moves for frame in moved.frames)
    straps = sum(len(frame.straps) for frame in moved.frames)
    other = len({(move.key, move.slot) for move in moved.settings if move.before is not None})
    said = [f"{_so_many(stay, 'card')} move{'s' if stay == 1 else ''}"] if stay else []
    said += [f"{_so_many(came, 'card')} in"] if came else []
    said += [f"{_so_many(gone, 'card')} out"] if gone else []
    said += [f"{_so_many(boards, 'board')} to fit"] if boards else []
    said += [_so_many(straps, "strap")] if straps else []
    said += [f"{_so_many(other, 'card')} set otherwise"] if other else []
    said += (
        [f"{_so_many(looms, 'loom')} to other connectors" if looms > 1 else "1 loom to another connector"]
        if looms
        else []
    )
    lids = ", ".join(frame_name(key, several) for key in moved.lids_off)
    each = " each" if len(moved.lids_off) > 1 else ""
    on = f"every lid stays on{', unless a card is set inside' if other else ''}"
    told = [", ".join([*said, f"lid off {lids}, one shutdown{each}" if lids else on])]
    retyped = [move for move in moved.numbers if move.renumbered]
    if retyped:
        get = "get other numbers" if len(retyped) > 1 else "gets another number"
        told.append(f"{_so_many(len(retyped), 'channel')} {get}: {_renumbered(retyped, several)}")
    elif not lids and moved.numbers:
        are = "are" if len(moved.numbers) > 1 else "is"
        told.append(f"{_so_many(len(moved.numbers), 'channel')} {are} patched otherwise")
    return "; ".join(told)


def _so_many(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _renumbered(moved: Iterable[NumberMove], several: bool) -> str:
    """Which numbers become which, run by run: ``A in 17-24 become 25-32``."""
    pairs = [
        (*_numbered(move.direction, move.before, several), *_numbered(move.direction, move.after, several))
        for move in moved
    ]
    runs = in_runs(sorted(pairs), lambda one, other: (one[0], one[1] + 1, one[2], one[3] + 1) == other)
    said = []
    for run in runs[:TOLD]:
        (frame, first, other, to), last = run[0], run[-1]
        becomes = "becomes" if len(run) == 1 else "become"
        there = "" if frame == other else f"{other} "
        said.append(f"{frame} {_span(first, last[1])} {becomes} {there}{_span(to, last[3])}")
    return ", ".join(said) + (" and so on" if len(runs) > TOLD else "")


def _numbered(direction: Direction, spot: Spot | None, several: bool) -> tuple[str, int]:
    """Frame with direction, and number."""
    assert spot is not None
    assert spot.number is not None
    return f"{frame_name((spot.room, spot.frame), several)} {direction}", spot.number


def _span(first: int, last: int) -> str:
    return str(first) if first == last else f"{first}-{last}"


def moving_words(criterion: str, count: int) -> str:
    """What a criterion counts that is moved from what stands."""
    words = {
        "cards_moved": ("card", "moved"),
        "straps_moved": ("strap", "set"),
        "lids_off": ("lid", "off"),
        "renumbered": ("channel", "renumbered"),
    }
    what, done = words[criterion]
    return f"{what}{'' if count == 1 else 's'} {done}"


def counted_anew(before: Sequence[Standing], after: Sequence[Standing], old: str, new: str) -> list[str]:
    """Needs whose channels are counted otherwise in lists of the earlier build than where both are compared.

    No file tells such channels apart, and a number that serves the need in both builds keeps its channel.

    Parameters
    ----------
    old, new
        What the builds are called.
    """
    counts = {key: {spot: n for n, spot in enumerate(spots, start=1)} for key, spots in serving(before).items()}
    found: dict[tuple[str | None, str], list[tuple[int, int]]] = {}
    for room, need, channel, was, _ in paired(before, after):
        if was is not None and counts[room, need][was] != channel:
            found.setdefault((room, need.name), []).append((channel, counts[room, need][was]))
    cure = "channel_names of the need would tell them apart"
    told = {(f"{room}, " if room else "") + quote(need): pairs for (room, need), pairs in found.items()}
    return [
        f"channels of {name} are counted as in {new}: {_here_and_there(pairs, old)}; {cure}"
        for name, pairs in told.items()
    ]


def _here_and_there(pairs: Sequence[tuple[int, int]], old: str) -> str:
    """Channels as they are counted here, and in lists of the earlier build."""
    runs = in_runs(pairs, lambda one, other: (one[0] + 1, one[1] + 1) == other)
    said: list[str] = []
    for run in runs[:TOLD]:
        here, there = (write_ranges([pair[side] for pair in run]) for side in (0, 1))
        where = "" if said else f" on lists and labels of {old}"
        said.append(f"{here} here {'is' if len(run) == 1 else 'are'} {there}{where}")
    return ", ".join(said) + (" and so on" if len(runs) > TOLD else "")

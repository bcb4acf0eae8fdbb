"""What changes hands, in one line, as a person would say it, and how its channels were counted before."""

from __future__ import annotations

from collections.abc import Sequence

from solver.fitted.card_moves import FrameKey
from solver.fitted.moves import Moves, paired, serving
from solver.fitted.standing import Standing
from solver.room.faults import quote
from solver.room.words import in_runs, write_ranges

TOLD = 3
"""How many runs of channels that are counted otherwise are told of a need."""


def frame_name(key: FrameKey, several: bool) -> str:
    """A frame by its name, after that of its room where there are several."""
    return f"{key[0]} {key[1]}" if several and key[0] else key[1]


def summary(moved: Moves, several: bool) -> str:
    """The whole change.

    Parameters
    ----------
    several
        Whether frames of several rooms are among it.
    """
    if moved.nothing:
        return "nothing to do, what stands is the build"
    came = sum(move.before is None for move in moved.cards)
    gone = sum(move.after is None for move in moved.cards)
    straps = sum(len(frame.straps) for frame in moved.frames)
    retyped = sum(move.renumbered for move in moved.numbers)
    stay = len(moved.cards) - came - gone
    said = [f"{count} card{'s' if count > 1 else ''} {verb}" for count, verb in _verbs(came, gone, stay)]
    boards = sum(frame.board_moves for frame in moved.frames)
    if boards:
        said.append(f"{boards} board{'s' if boards > 1 else ''} to fit")
    if straps:
        said.append(f"{straps} strap{'s' if straps > 1 else ''} to set")
    other = {(move.key, move.slot) for move in moved.settings if move.before is not None}
    if other:
        said.append(f"{len(other)} card{'s' if len(other) > 1 else ''} to set otherwise")
    lids = ", ".join(frame_name(key, several) for key in moved.lids_off)
    each = " each" if len(moved.lids_off) > 1 else ""
    on = f"every lid stays on{', unless a card is set inside' if other else ''}"
    said.append(f"lid off {lids}, one shutdown{each}" if lids else on)
    if retyped:
        said.append(f"{retyped} channel{'s get' if retyped > 1 else ' gets'} another number")
    elif not lids and moved.numbers:
        said.append(f"{len(moved.numbers)} channel{'s are' if len(moved.numbers) > 1 else ' is'} patched otherwise")
    return "; ".join(said)


def _verbs(came: int, gone: int, stay: int) -> list[tuple[int, str]]:
    counted = [(stay, "to another slot"), (came, "in"), (gone, "out")]
    return [(count, verb) for count, verb in counted if count]


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

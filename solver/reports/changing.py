"""What changes hands, in one line, as a person would say it."""

from __future__ import annotations

from solver.fitted.moves import FrameKey, Moves


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
    lids = ", ".join(frame_name(key, several) for key in moved.lids_off)
    each = " each" if len(moved.lids_off) > 1 else ""
    said.append(f"lid off {lids}, one shutdown{each}" if lids else "every lid stays on")
    if retyped:
        said.append(f"{retyped} channel{'s get' if retyped > 1 else ' gets'} another number")
    elif not lids:
        said.append(f"{len(moved.numbers)} channel{'s are' if len(moved.numbers) > 1 else ' is'} patched otherwise")
    return "; ".join(said)


def _verbs(came: int, gone: int, stay: int) -> list[tuple[int, str]]:
    counted = [(stay, "to another slot"), (came, "in"), (gone, "out")]
    return [(count, verb) for count, verb in counted if count]

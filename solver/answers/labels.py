"""Labels for the bays, slots and looms of a build."""

from __future__ import annotations

from solver.answers.asking import LABEL_WIDTH
from solver.answers.handed_over import handed_over
from solver.files.reading import Loaded
from solver.reports.labels import LabelList, labels_of
from solver.room.build import Build


def labels(loaded: Loaded, build: Build, room: str | None = None, width: int = LABEL_WIDTH) -> LabelList:
    """Texts for labels: rows of bays, slots, both ends of looms.

    Parameters
    ----------
    room
        One of several rooms; None for all of them.
    width
        Characters that a label has room for.

    Raises
    ------
    WrongQuestion
        If no room has that name.
    """
    handed = handed_over(loaded, build, room)
    found = labels_of(handed.wiring, width)
    long = sum(not label.fits for label in found)
    count = f"{long} label{'s' if long > 1 else ''}"
    said = f"{count} longer than {width} characters: nothing shorter could be read and told from others"
    return LabelList(
        **handed.head,
        width=width,
        labels=found,
        notes=[*([said] if long else []), *handed.notes],
    )

"""What changes hands between two builds."""

from __future__ import annotations

from solver.answers.on_day import Earlier
from solver.answers.standing_rooms import odd_frames, standing_rooms, stood_rooms
from solver.files.reading import Loaded
from solver.fitted.card_moves import dead_in
from solver.fitted.moves import moves
from solver.handover.repatching import point_moves
from solver.handover.replugging import loom_moves, looms_moved
from solver.handover.wiring import Wiring
from solver.reports.bays import wiring_limits
from solver.reports.changing import counted_anew, frame_name, summary
from solver.reports.difference import (
    Difference,
    board_change,
    card_change,
    channel_change,
    loom_change,
    point_change,
    setting_change,
    strap_changes,
)
from solver.reports.element import file_warnings
from solver.reports.out_of_service import out_of_service
from solver.room.build import Build


def diff(loaded: Loaded, old: Build, new: Build, room: str | None = None, earlier: Earlier | None = None) -> Difference:
    """What one build has otherwise than another: boards, straps, cards and what is set on them, lids, channels, points.

    Parameters
    ----------
    old, new
        What stands, and what is to stand.
    room
        One of several rooms; None for all of them.
    earlier
        The scenario at the time of which `old` is, where that is another kind of day or phase.

    Raises
    ------
    WrongQuestion
        If no room has that name.
    """
    stood = stood_rooms(loaded, new, room)
    before, after = standing_rooms(earlier.loaded if earlier else loaded, old, room), stood.rooms
    moved = moves(before, after, None if earlier is not None and earlier.stays_plugged else dead_in(before))
    old_wiring, wiring, several = Wiring(tuple(before)), Wiring(tuple(after)), len(after) > 1
    faults = [*stood.faults, *wiring_limits(wiring)]
    undecided = [
        f"frame {frame_name(frame.key, several)}: the later build does not say how {', '.join(frame.undecided)} is set"
        for frame in moved.frames
        if frame.undecided
    ]
    return Difference(
        scenario=loaded.scenario.title,
        room=room,
        sample_rate=stood.sample_rate,
        outcome="faulty" if faults else "clean",
        nothing_to_do=moved.nothing,
        summary=summary(moved, several, looms_moved(old_wiring, wiring)),
        lids_off=[frame_name(key, several) for key in moved.lids_off],
        lids_on=[frame_name(key, several) for key in moved.lids_on],
        boards=[board_change(frame) for frame in moved.frames if frame.board_moves],
        straps=[change for frame in moved.frames for change in strap_changes(frame)],
        cards=[card_change(move) for move in moved.cards],
        settings=[setting_change(move) for move in moved.settings],
        channels=[channel_change(move) for move in moved.numbers],
        looms=[loom_change(move) for move in loom_moves(old_wiring, wiring)],
        points=[point_change(move) for move in point_moves(before, after)],
        faults=faults,
        notes=[
            *([earlier.note] if earlier else []),
            *out_of_service(loaded.scenario),
            *undecided,
            *counted_anew(before, after, "the earlier build", "the later build"),
            *odd_frames("the earlier build", before),
            *odd_frames("the later build", after),
        ],
        warnings=file_warnings(loaded.warnings),
    )

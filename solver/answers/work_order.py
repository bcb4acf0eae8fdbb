"""From what stands to a build: the work order with its test sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from solver.answers.on_day import Earlier
from solver.answers.standing_rooms import odd_frames, standing_rooms, stood_rooms
from solver.files.reading import Loaded
from solver.fitted.card_moves import dead_in
from solver.fitted.moves import Moves, NumberMove, moves
from solver.fitted.plugged import left_plugged, lines_of, plugged_anew
from solver.fitted.standing import Standing
from solver.handover.replugging import looms_moved
from solver.handover.wiring import Wiring
from solver.reports.bays import wiring_limits
from solver.reports.changing import counted_anew, frame_name, summary
from solver.reports.clock_tree import drawn_faults
from solver.reports.element import file_warnings
from solver.reports.out_of_service import out_of_service
from solver.reports.steps import MINUTES
from solver.reports.testing import test_sheet
from solver.reports.wording import kilohertz
from solver.reports.work_order import Action, OrderSection, Retyped, Variant, WorkOrder
from solver.reports.working import rate_after, work_steps
from solver.room.build import Build
from solver.room.words import Direction

CAUTIONS = (
    "Licensed people and local code come first: mains and fixed wiring are theirs. The maker's manual wins over this "
    "sheet.",
    "Static: wrist strap, cards by their edges and in bags. Mind hot surfaces; two lift what is heavy; keep air paths "
    "free.",
    "Never a tone into loudspeakers, headphones or a transmission feed. Never lift a mains earth.",
)


BACK = (
    "The way back, which takes that at the most with 10 minutes of test, is the work order from the new build to the "
    "old one; make it before you begin."
)
BACK_OUT = "The way back, which takes that at the most, is to take the cards out again and leave the frames off."

OUT_AGAIN: tuple[Action, ...] = ("mains off", "open", "close", "as left")
"""What is done once more where cards come out again; straps and boards may stay as they are."""

AtHost = Mapping[tuple[str | None, str, Direction, int], int]
"""What numbers of frames are at the host, by room, frame and direction."""

SOURCE = "minutes are common practice, without a source; looms that no file names are counted with their card"


def work_order(
    loaded: Loaded,
    build: Build,
    old: Build | None = None,
    room: str | None = None,
    time: Variant = "all",
    earlier: Earlier | None = None,
) -> WorkOrder:
    """The steps from one build to another in the safe order, and what to test.

    Parameters
    ----------
    old
        What stands; None for what the scenario says, or else for frames in which nothing stands.
    room
        One of several rooms; None for all of them.
    time
        Minutes that there are to test, or everything.
    earlier
        The scenario at the time of which `old` is, where that is another kind of day or phase.

    Raises
    ------
    WrongQuestion
        If no room has that name.
    """
    stood = stood_rooms(loaded, build, room)
    old = old or loaded.scenario.as_found
    before, after = [] if old is None else standing_rooms(earlier.loaded if earlier else loaded, old, room), stood.rooms
    moved = moves_between(before, after, stays_plugged=earlier is not None and earlier.stays_plugged)
    old_wiring, wiring = Wiring(tuple(before)), Wiring(tuple(after))
    at_host = old_wiring.at_host, wiring.at_host
    retype = [_retyped(move, *at_host) for move in moved.numbers if move.renumbered]
    found = [row for row in retype if row is not None]
    faults = [*stood.faults, *wiring_limits(wiring), *drawn_faults(wiring.clocks)]
    rate, several = rate_after(before, after), len(after) > 1
    nothing = moved.nothing and rate is None
    sheet = None if nothing else test_sheet(wiring, moved, time)
    silent = [] if sheet is None else sheet.heard_left_out
    sections = work_steps(before, wiring, moved, retyped=len(found), silent=silent)
    said = [] if moved.nothing and rate is not None else [summary(moved, several, looms_moved(old_wiring, wiring))]
    said += [] if rate is None else [f"clock source and recorder to {kilohertz(rate)}"]
    least, most = _minutes(sections)
    tested = 0 if sheet is None else sheet.minutes
    straps = sum(len(frame.straps) for frame in moved.frames)
    came = [move for move in moved.cards if move.before is None]
    gone = [move for move in moved.cards if move.after is None]
    return WorkOrder(
        scenario=loaded.scenario.title,
        room=room,
        sample_rate=stood.sample_rate,
        outcome="faulty" if faults else "clean",
        start="empty frames" if old is None else "what stands",
        nothing_to_do=nothing,
        summary="; ".join(said),
        cards_moved=len(moved.cards) - len(came) - len(gone),
        cards_in=len(came),
        cards_out=len(gone),
        straps_moved=straps,
        renumbered=len(found),
        lids_off=[frame_name(key, several) for key in moved.lids_off],
        minutes_least=least + tested,
        minutes_most=most + tested,
        turn_back_minutes=_way_out(sections) if old is None else _way_back(sections),
        way_back="" if nothing else BACK_OUT if old is None else BACK,
        faults=faults,
        cautions=list(CAUTIONS),
        sections=sections,
        retype=found,
        test_sheet=sheet,
        notes=[
            SOURCE,
            *([earlier.note] if earlier else []),
            *out_of_service(loaded.scenario),
            *counted_anew(before, after, "what stands", "the build"),
            *odd_frames("what stands", before),
            *odd_frames("the build", after),
        ],
        warnings=file_warnings(loaded.warnings),
    )


def moves_between(before: Sequence[Standing], after: Sequence[Standing], *, stays_plugged: bool) -> Moves:
    """What has to change hands; from one kind of day to another what the later one does not need stays plugged."""
    if not stays_plugged:
        return moves(before, after, dead_in(before))
    moved = moves(before, after)
    ((was,), (is_,)) = before, after
    return left_plugged(moved, plugged_anew(lines_of(was), lines_of(is_)))


def _retyped(move: NumberMove, old: AtHost, new: AtHost) -> Retyped | None:
    was, is_ = move.before, move.after
    if was is None or is_ is None or was.number is None or is_.number is None:
        return None
    return Retyped(
        room=move.room,
        need=move.need,
        channel=move.channel,
        direction=move.direction,
        old_frame=was.frame,
        old_number=was.number,
        new_frame=is_.frame,
        new_number=is_.number,
        old_host=old.get((was.room, was.frame, move.direction, was.number)),
        new_host=new.get((is_.room, is_.frame, move.direction, is_.number)),
        name=move.name,
    )


def _minutes(sections: Sequence[OrderSection]) -> tuple[int, int]:
    steps = [step for section in sections for step in section.steps]
    return sum(step.minutes_least for step in steps), sum(step.minutes_most for step in steps)


def _way_out(sections: Sequence[OrderSection]) -> int:
    """The most minutes that it takes to leave frames as empty as they were, with nothing to test."""
    most = {
        **{action: minutes for action, (_, minutes) in MINUTES.items() if action in OUT_AGAIN},
        "card in": MINUTES["card out"][1],
    }
    return sum(most.get(step.action, 0) for section in sections for step in section.steps)


def _way_back(sections: Sequence[OrderSection]) -> int:
    """The most minutes that undoing it takes: each step again, and ten to test."""
    if not sections:
        return 0
    return _minutes(sections)[1] + 10

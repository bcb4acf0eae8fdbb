"""The steps from what stands to a build, in the safe order: practice of the trade, without a source.

Frames that exchange cards are taken apart together before any of them is filled, so no card is seated in a taken slot.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

from solver.fitted.card_moves import CardMove, FrameKey, Seat, serials_before
from solver.fitted.moves import Moves
from solver.fitted.standing import Standing
from solver.handover.replugging import idle_moves, loom_moves
from solver.handover.wiring import Wiring
from solver.judge.clocks import Tree
from solver.reports.bench import FrameWork, clock_line, in_and_closed, looked_at, name_of, off_and_out, title_of
from solver.reports.cards_set import otherwise
from solver.reports.clock_words import clock_report
from solver.reports.phantom import as_sources_ask, left_to_sources, phantom_on, without_phantom
from solver.reports.steps import CardOfStep, Sheet
from solver.reports.tree_words import led_by, line_told, lock_told
from solver.reports.ways import heard_by, outputs_to, patches
from solver.reports.wording import kilohertz
from solver.reports.work_order import OrderSection

INSIDE = "Where that takes the lid off, its mains off first and wait, as the manual says"


def work_steps(
    before: Sequence[Standing], wiring: Wiring, moved: Moves, *, retyped: int, silent: Sequence[str] = ()
) -> list[OrderSection]:
    """Every step, in sections: before, each frame, power-up, afterwards; none where there is nothing to do.

    Parameters
    ----------
    before
        The earlier build as it stands, room by room.
    wiring
        The later one, with its paths.
    moved
        What has to change hands between them.
    retyped
        How many channels get another number in the recorder.
    silent
        Numbers that are heard and not tested, with their equipment.
    """
    rate = rate_after(before, wiring.rooms)
    if moved.nothing and rate is None:
        return []
    sheet = Sheet()
    after, stood = wiring.rooms, Wiring(tuple(before))
    works = _works(before, after, moved, stood.clocks)
    _before(sheet, heard_by(stood, wiring), stands=any(work.old for work in works.values()), opened=bool(works))
    for batch in _batches(moved):
        for key in batch:
            sheet.begin(title_of(works[key], "off and out" if len(batch) > 1 else ""), key)
            off_and_out(sheet, works[key])
            if len(batch) == 1:
                in_and_closed(sheet, works[key])
        for key in batch if len(batch) > 1 else ():
            sheet.begin(title_of(works[key], "in and closed"), key)
            in_and_closed(sheet, works[key])
    _power_up(sheet, stood, wiring, works, moved, retyped, rate)
    _afterwards(sheet, heard_by(wiring), silent)
    return sheet.sections


def rate_after(before: Sequence[Standing], after: Sequence[Standing]) -> int | None:
    """The sample rate in hertz that comes, where it is another one than before."""
    rates = {room.survey.sample_rate for room in after}
    return min(rates) if before and rates != {room.survey.sample_rate for room in before} else None


def _works(
    before: Sequence[Standing], after: Sequence[Standing], moved: Moves, clocks: Mapping[str | None, Tree]
) -> dict[FrameKey, FrameWork]:
    old, new = (
        {(room.survey.room, frame.site.name): (room, frame) for room in rooms for frame in room.frames}
        for rooms in (before, after)
    )
    frames = {frame.key: frame for frame in moved.frames}
    here = serials_before(before, after)
    then = here.after(moved.cards)
    found: dict[FrameKey, FrameWork] = {}
    for key in moved.lids_off:
        was, is_ = old.get(key), new.get(key)
        standing = (is_ or was or (None, None))[0]
        assert standing is not None
        out = [move for move in moved.cards if move.before is not None and move.before.key == key]
        into = [move for move in moved.cards if move.after is not None and move.after.key == key]
        leaving = {move.before.slot for move in out if move.before is not None}
        again = [
            CardMove(seat.kind.id, at := Seat(*key, seat.slot), at, here.seats.get(at))
            for seat in (() if was is None or not frames[key].board_moves else was[1].seats)
            if seat.slot not in leaving
        ]
        found[key] = FrameWork(
            frames[key],
            None if was is None else was[1],
            None if is_ is None else is_[1],
            standing,
            None if was is None else was[0],
            tuple(sorted(out, key=lambda m: m.before.slot if m.before else 0)),
            tuple(sorted(into, key=lambda m: m.after.slot if m.after else 0)),
            tuple(again),
            tuple(move for move in moved.settings if move.key == key),
            here.in_frame(key),
            then.in_frame(key),
            clocks[key[0]].below(key[1]) if key[0] in clocks else None,
        )
    return found


def _batches(moved: Moves) -> Iterator[list[FrameKey]]:
    """Frames that are opened, those together that exchange cards with each other."""
    left = list(moved.lids_off)
    pairs = [
        {move.before.key, move.after.key} for move in moved.cards if move.before is not None and move.after is not None
    ]
    while left:
        batch = {left[0]}
        while more := {key for pair in pairs if pair & batch for key in pair} - batch:
            batch |= more
        yield [key for key in left if key in batch]
        left = [key for key in left if key not in batch]


def _before(sheet: Sheet, heard: str, *, stands: bool, opened: bool) -> None:
    sheet.begin("Before")
    sheet.add(
        "amplifiers off",
        f"Note the levels of monitor and headphone amplifiers{heard}, then off or muted; tell whoever is in the room",
    )
    more = ", take photographs of front and rear" if stands or opened else ""
    sheet.add("as found", f"As found: save the recorder's session, note clock source and rate{more}")


def _power_up(
    sheet: Sheet,
    standing: Wiring,
    wiring: Wiring,
    works: Mapping[FrameKey, FrameWork],
    moved: Moves,
    retyped: int,
    rate: int | None,
) -> None:
    before, after = standing.rooms, wiring.rooms
    sheet.begin("Power up, in stages" if works else "Patch" if moved.numbers else "Set")
    if works:
        sheet.add(
            "bell out",
            "Bell out each loom that is new or was off, both ends unplugged: pin to pin, shorts, screen to shell",
        )
    _phantom_off(sheet, wiring, works, moved, rate)
    ends = _line_ends(before)
    for key, text in _line_ends(after).items():
        if key not in works and text != ends.get(key):
            sheet.add("clock line", f"Clock lead of {name_of(key)}, which stays closed: see that it is {text}", key)
    if works or rate is not None:
        _clock_lines(sheet, wiring)
    if rate is not None:
        _to_rate(sheet, wiring, works, kilohertz(rate))
    filled = [work for work in works.values() if work.new is not None]
    for work in sorted(filled, key=lambda work: _depth(wiring, work.key)):
        sheet.add(
            "power up",
            f"Looms that are off stay off. {_source(wiring, work.key)} on first, then mains of {name_of(work.key)} on "
            f"by those who are entitled; look at its {looked_at(work)}, off at once if anything is odd",
            work.key,
        )
        clock_line(sheet, work, question=False)
        _lock(sheet, wiring, work.key, kilohertz(work.standing.survey.sample_rate))
    for first, words in otherwise(move for move in moved.settings if move.key not in works):
        text = f"Set {first.card} in slot {first.slot} of {name_of(first.key)} otherwise: {words}. {INSIDE}"
        sheet.add("card settings", text, first.key, of=CardOfStep(first.slot, first.card))
    stood = _outputs(before)
    if stood:
        plugged = outputs_to(standing, "first")
        sheet.add("patch", f"Outputs: unplug the far ends that are plugged{plugged}, before any tone is sent")
    replugged = list(loom_moves(standing, wiring))
    patched = list(patches(moved.numbers, standing, wiring, replugged))
    idle = idle_moves(standing, wiring, moved.cards)
    if any(work.out or work.again for work in works.values()):
        _back_on(sheet, standing, wiring, works, {own.before for own in patched} | {one.name for one, _ in idle})
    for own in patched:
        sheet.add("patch", own.text, looms=(own.before, own.loom))
    if idle:
        pairs = ", ".join(f"{one.name} to {other.name}" for one, other in idle)
        sheet.add("patch", f"Looms that carry nothing go with their card, and get new tags: {pairs}")
    if retyped:
        sheet.add("retype", f"Recorder: retype {retyped} channel{'s' if retyped > 1 else ''} as listed below")
    sheet.add(
        "test",
        "Do the test sheet below: phantom off, far ends of outputs unplugged; go on only when it is right",
    )
    wanted = [
        f"{name_of((room.survey.room, frame.site.name))}, {at}"
        for room in after
        for frame in room.frames
        for at in phantom_on(frame)
    ]
    asked = as_sources_ask(wiring.channels, left_to_sources(after))
    where = [f"where it is wanted ({'; '.join(wanted)})"] if wanted else []
    where += [f"where the source asks for it ({asked})"] if asked else []
    known = f"only {', and '.join(where)}" if where else "again only where it was and is wanted"
    never = without_phantom(wiring.channels)
    but = f"; never on {never}" if never else ""
    sheet.add("phantom back", f"Phantom on {known}{but}; looms on, amplifiers still off")
    if _outputs(after):
        again = " again" if stood else ""
        sheet.add("patch", f"Outputs: plug the far ends in{again}{outputs_to(wiring)}, amplifiers still off")


def _phantom_off(
    sheet: Sheet, wiring: Wiring, works: Mapping[FrameKey, FrameWork], moved: Moves, rate: int | None
) -> None:
    """Phantom off as a setting in frames that stay closed, before their clock or their lines are touched."""
    closed = [(room.survey.room, f.site.name) for room in wiring.rooms for f in room.frames]
    closed = [key for key in closed if key not in works]
    patched = {(at.room, at.frame) for move in moved.numbers for at in (move.before, move.after) if at is not None}
    if not works:
        what = "the channels below" if moved.numbers and rate is None else "all frames"
        sheet.add("phantom off", f"Phantom of {what}: note it, then off as a setting")
        return
    for key in closed:
        if rate is not None or key in patched:
            sheet.add("phantom off", f"Phantom of {name_of(key)}, which stays closed: note it, then off as a setting")


def _clock_lines(sheet: Sheet, wiring: Wiring) -> None:
    """Every line of a clock that is drawn, from what leads on."""
    for room, tree in wiring.clocks.items():
        for line in tree.in_order:
            sheet.add("clock line", f"Clock line{f', {room}' if room else ''}: {line_told(tree, line)}")


def _back_on(
    sheet: Sheet,
    standing: Wiring,
    wiring: Wiring,
    works: Mapping[FrameKey, FrameWork],
    elsewhere: Collection[str | None],
) -> None:
    """The looms that were taken off and go back where they were; those that go `elsewhere` have steps of their own."""
    seats = {move.before for work in works.values() for move in (*work.out, *work.again)}
    off = [loom for loom in standing.looms if Seat(loom.room, loom.frame, loom.slot) in seats]
    there = {(loom.room, loom.name) for loom in wiring.looms}
    gone = [loom.name for loom in off if loom.name not in elsewhere and (loom.room, loom.name) not in there]
    back = [loom for loom in off if loom.name not in elsewhere and loom.name not in gone]
    if back or not off:
        others = ", but for those of the next steps" if len(back) < len(off) else ""
        sheet.add("patch", f"Looms that were taken off{others}: inputs back on by their tags, then outputs")
    if gone:
        sheet.add("patch", f"These stay off as they are, for their connectors are gone: {', '.join(gone)}")


def _to_rate(sheet: Sheet, wiring: Wiring, works: Collection[FrameKey], rate: str) -> None:
    """Another sample rate, and the lock of the frames that stay closed."""
    leading = {led: None for tree in wiring.clocks.values() if (led := led_by(tree)) is not None}
    named = f" ({', '.join(leading)})" if leading else ""
    sheet.add("clock line", f"Clock source{named} and recorder to {rate}, amplifiers still off")
    keys = [(room.survey.room, frame.site.name) for room in wiring.rooms for frame in room.frames]
    for key in sorted(keys, key=lambda key: _depth(wiring, key)):
        if key not in works:
            _lock(sheet, wiring, key, rate)


def _lock(sheet: Sheet, wiring: Wiring, key: FrameKey, rate: str) -> None:
    sheet.add("clock lock", f"{key[1]} {lock_told(wiring.clocks.get(key[0]), key[1])}, and shows {rate}", key)


def _depth(wiring: Wiring, key: FrameKey) -> int:
    """How many clock lines there are from what leads to a frame: what feeds others is powered up before them."""
    tree = wiring.clocks.get(key[0])
    return 0 if tree is None else tree.depth(key[1])


def _source(wiring: Wiring, key: FrameKey) -> str:
    """What is on before a frame."""
    tree = wiring.clocks.get(key[0])
    led = None if tree is None else led_by(tree)
    return "Clock source" if led in (None, key[1]) else f"Clock source ({led})"


def _outputs(rooms: Sequence[Standing]) -> bool:
    return any(use.need.direction == "out" for room in rooms for frame in room.frames for use in frame.uses)


def _line_ends(rooms: Sequence[Standing]) -> dict[FrameKey, str]:
    """What every frame has to do with its clock line, where that is known."""
    reports = {
        (room.survey.room, frame.site.name): clock_report(room.survey, room, frame)
        for room in rooms
        for frame in room.frames
    }
    return {key: clock.text for key, clock in reports.items() if clock is not None and not clock.question}


def _afterwards(sheet: Sheet, heard: str, silent: Sequence[str]) -> None:
    sheet.begin("Afterwards")
    sheet.add(
        "as left",
        "As left: the same list as found, initialled and dated; new labels on; older sheets and labels destroyed",
    )
    but = f"; not tested, so off until their lines are belled out: {'; '.join(silent)}" if silent else ""
    sheet.add("amplifiers on", f"Amplifiers on last{heard}, level down, then up to what was noted; tell the room{but}")

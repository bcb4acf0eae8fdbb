"""The steps from what stands to a build, in the safe order: practice of the trade, without a source.

Frames that exchange cards are taken apart together before any of them is filled, so no card is seated in a taken slot.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from solver.fitted.line_ends import clock_of
from solver.fitted.moves import CardMove, FrameKey, FrameMoves, Moves, Seat, SetMove, StrapMove, straps_of
from solver.fitted.standing import FrameStanding, Standing
from solver.handover.wiring import Wiring
from solver.reports.cards_set import before_seating, otherwise, phantom_on
from solver.reports.clock_words import asked_about, clock_report
from solver.reports.ways import heard_by, outputs_to, patches, without_phantom
from solver.reports.wording import kilohertz
from solver.reports.work_order import Action, OrderSection, OrderStep
from solver.room.faults import quote
from solver.room.hardware import Chassis, FanAir
from solver.room.words import write_ranges

MINUTES: Mapping[Action, tuple[int, int]] = {
    "amplifiers off": (1, 2),
    "as found": (3, 5),
    "phantom off": (1, 2),
    "clock stand-in": (1, 2),
    "mains off": (4, 6),
    "looms off": (1, 2),
    "open": (1, 2),
    "card out": (1, 2),
    "board out": (10, 20),
    "board in": (10, 20),
    "strap": (1, 2),
    "ask": (1, 2),
    "card settings": (1, 3),
    "card in": (2, 4),
    "not seated": (0, 0),
    "blanks": (0, 1),
    "compare": (2, 3),
    "close": (1, 2),
    "bell out": (2, 4),
    "power up": (3, 4),
    "clock lock": (0, 1),
    "clock line": (1, 2),
    "patch": (1, 3),
    "retype": (2, 5),
    "phantom back": (1, 3),
    "test": (0, 0),
    "as left": (3, 5),
    "amplifiers on": (1, 2),
}
"""The least and the most minutes of each sort of step: common practice, no source. The test sheet counts its own."""

INSIDE = "Where that takes the lid off, its mains off first and wait, as the manual says"

TO_THE_SHELF = "to the shelf, in its bag, tagged with serial, slot and date"


@dataclass
class _Sheet:
    """Sections as they grow; steps are numbered through."""

    sections: list[OrderSection] = field(default_factory=list)
    number: int = 0

    def begin(self, title: str, key: FrameKey | None = None) -> None:
        room, frame = key or (None, None)
        self.sections.append(OrderSection(title=title, room=room, frame=frame, steps=[]))

    def add(
        self,
        action: Action,
        text: str,
        key: FrameKey | None = None,
        times: int = 1,
        *,
        slot: int | None = None,
        card: str | None = None,
        board: str | None = None,
        strap: StrapMove | None = None,
        least: int | None = None,
    ) -> None:
        self.number += 1
        room, frame = key or (None, None)
        usual, most = MINUTES[action]
        self.sections[-1].steps.append(
            OrderStep(
                number=self.number,
                action=action,
                room=room,
                frame=frame,
                slot=slot,
                card=card,
                board=board,
                group=None if strap is None else strap.group,
                strap=None if strap is None else strap.strap,
                to=None if strap is None else strap.after,
                text=text,
                minutes_least=(usual if least is None else least) * times,
                minutes_most=most * times,
            )
        )


@dataclass(frozen=True)
class _Work:
    """What is to be done to one frame, as it stood and as it is to stand."""

    moves: FrameMoves
    old: FrameStanding | None
    new: FrameStanding | None
    standing: Standing
    before: Standing | None
    out: tuple[CardMove, ...]
    into: tuple[CardMove, ...]
    again: tuple[CardMove, ...]
    settings: tuple[SetMove, ...]

    @property
    def key(self) -> FrameKey:
        return self.moves.key

    @property
    def chassis(self) -> Chassis:
        frame = self.new or self.old
        assert frame is not None
        return frame.site.chassis


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
    if moved.nothing:
        return []
    sheet = _Sheet()
    after, heard = wiring.rooms, heard_by(wiring)
    works = _works(before, after, moved)
    _before(sheet, heard, stands=any(work.old for work in works.values()), opened=bool(works))
    for batch in _batches(moved):
        for key in batch:
            sheet.begin(_title(works[key], "off and out" if len(batch) > 1 else ""), key)
            _off_and_out(sheet, works[key])
            if len(batch) == 1:
                _in_and_closed(sheet, works[key])
        for key in batch if len(batch) > 1 else ():
            sheet.begin(_title(works[key], "in and closed"), key)
            _in_and_closed(sheet, works[key])
    _power_up(sheet, before, wiring, works, moved, retyped)
    _afterwards(sheet, heard, silent)
    return sheet.sections


def _works(before: Sequence[Standing], after: Sequence[Standing], moved: Moves) -> dict[FrameKey, _Work]:
    old, new = (
        {(room.survey.room, frame.site.name): (room, frame) for room in rooms for frame in room.frames}
        for rooms in (before, after)
    )
    frames = {frame.key: frame for frame in moved.frames}
    found: dict[FrameKey, _Work] = {}
    for key in moved.lids_off:
        was, is_ = old.get(key), new.get(key)
        standing = (is_ or was or (None, None))[0]
        assert standing is not None
        out = [move for move in moved.cards if move.before is not None and move.before.key == key]
        into = [move for move in moved.cards if move.after is not None and move.after.key == key]
        leaving = {move.before.slot for move in out if move.before is not None}
        again = [
            CardMove(seat.kind.id, Seat(*key, seat.slot), Seat(*key, seat.slot))
            for seat in (() if was is None or not frames[key].board_moves else was[1].seats)
            if seat.slot not in leaving
        ]
        found[key] = _Work(
            frames[key],
            None if was is None else was[1],
            None if is_ is None else is_[1],
            standing,
            None if was is None else was[0],
            tuple(sorted(out, key=lambda m: m.before.slot if m.before else 0)),
            tuple(sorted(into, key=lambda m: m.after.slot if m.after else 0)),
            tuple(again),
            tuple(move for move in moved.settings if move.key == key),
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


def _name(key: FrameKey) -> str:
    return f"{key[0]}, frame {key[1]}" if key[0] else f"frame {key[1]}"


def _title(work: _Work, part: str) -> str:
    name = _name(work.key)
    board = work.moves.board_after or work.moves.board_before
    return f"{name[0].upper()}{name[1:]}: {work.chassis.id} with {board}{f', {part}' if part else ''}"


def _slots(seat: Seat, span: int) -> str:
    return f"slot {seat.slot}" if span == 1 else f"slots {seat.slot}-{seat.slot + span - 1}"


def _listed(slots: Collection[int]) -> str:
    return f"slot{'s' if len(slots) > 1 else ''} {write_ranges(sorted(slots))}"


def _before(sheet: _Sheet, heard: str, *, stands: bool, opened: bool) -> None:
    sheet.begin("Before")
    sheet.add(
        "amplifiers off",
        f"Note the levels of monitor and headphone amplifiers{heard}, then off or muted; tell whoever is in the room",
    )
    more = ", take photographs of front and rear" if stands or opened else ""
    sheet.add("as found", f"As found: save the recorder's session, note clock source and rate{more}")


def _off_and_out(sheet: _Sheet, work: _Work) -> None:
    key, name = work.key, work.key[1]
    if work.old is not None:
        sheet.add("as found", _as_found(work), key)
        sheet.add("phantom off", f"Phantom of {name}: {_phantom(work.old)}, then off as a setting, mains still on", key)
        sheet.add(
            "clock stand-in", f"If anything takes its clock from {name}, hand it to a stand-in first: ________", key
        )
    else:
        sheet.add("as found", f"As found: see that nothing stands in {name}; photograph it", key)
    external = " The DC cable of its supply is never plugged or pulled live." if _external(work) else ""
    sheet.add(
        "mains off",
        f"Mains of {name} off and lead out, by those who are entitled; the plug in sight; wait until the supply is "
        f"discharged, as the manual says.{external}",
        key,
    )
    outs = [*work.out, *work.again]
    if outs:
        origin = work.before or work.standing
        covered = [range(m.before.slot, m.before.slot + _span(origin, m.card)) for m in outs if m.before is not None]
        slots = _listed({slot for slots in covered for slot in slots})
        sheet.add("looms off", f"Tag the looms of {slots} of {name} at both ends, then take them off", key)
    sheet.add("open", f"Wrist strap on, lid of {name} off; photograph the inside, straps and cards", key)
    for move in sorted(outs, key=lambda m: m.before.slot if m.before else 0):
        assert move.before is not None
        span = _span(work.before or work.standing, move.card)
        sheet.add(
            "card out",
            f"Take {move.card} out of {_slots(move.before, span)}, {_whither(move, span)}",
            key,
            slot=move.before.slot,
            card=move.card,
        )


def _as_found(work: _Work) -> str:
    """What the sheet counts on, to be compared before anything is touched."""
    assert work.old is not None
    assert work.before is not None
    return (
        f"As found in {work.key[1]}, serials and card settings noted: {_stands(work.old, work.before)}. "
        "Where it differs, stop: this order does not hold"
    )


def _stands(frame: FrameStanding, standing: Standing) -> str:
    """Board, what stands in which slot, and every strap, as far as the build says it."""
    seats = ", ".join(f"{seat.kind.id} in {seat.slot}" for seat in sorted(frame.seats, key=lambda s: s.slot))
    state = straps_of(frame, standing)
    closed = [strap for (_, strap), at in state.items() if strap is not None and at == "closed"]
    opened = [strap for (_, strap), at in state.items() if strap is not None and at == "open"]
    said = [f"{', '.join(closed)} closed"] if closed else []
    said += [f"{', '.join(opened)} open"] if opened else []
    said += [f"{quote(group)} at {at}" for (group, strap), at in state.items() if strap is None]
    return "; ".join([frame.built.board, seats, *said])


def _phantom(frame: FrameStanding) -> str:
    slots = [s.slot for s in frame.seats if any(port.phantom_ma_per_channel for port in s.kind.card.ports)]
    if slots:
        return f"note it channel by channel ({_listed(slots)} by the files)"
    return "note it where there is any (the files name none)"


def _external(work: _Work) -> bool:
    return work.chassis.supply.external


def _looked_at(work: _Work) -> str:
    air = work.chassis.air
    if air is None:
        return "lamps, rails and any fan"
    return "lamps, rails and fan" if isinstance(air, FanAir) else "lamps and rails"


def _span(standing: Standing, card: str) -> int:
    return standing.survey.kinds[card].span


def _whither(move: CardMove, span: int) -> str:
    assert move.before is not None
    if move.after is None:
        return TO_THE_SHELF
    if move.after == move.before:
        return "back in when the board is exchanged"
    if move.after.key == move.before.key:
        return f"for {_slots(move.after, span)}"
    return f"for {_slots(move.after, span)} of {_name(move.after.key)}"


def _whence(move: CardMove, span: int) -> str:
    if move.before is None or move.before == move.after:
        return ""
    assert move.after is not None
    other = "" if move.before.key == move.after.key else f" of {_name(move.before.key)}"
    return f", from {_slots(move.before, span)}{other}"


def _in_and_closed(sheet: _Sheet, work: _Work) -> None:
    _board(sheet, work)
    _straps(sheet, work)
    _seat(sheet, work)
    key, name = work.key, work.key[1]
    if work.new is not None:
        empty = [slot for slot in work.new.site.slots if work.new.occupant(slot) is None]
        if empty:
            chassis = work.new.site.chassis.id
            sheet.add("blanks", f"Blanks over {_listed(empty)} of {name}, where {chassis} has any", key)
        sheet.add("compare", f"Compare {name}: {_stands(work.new, work.standing)}; photograph it", key)
    else:
        sheet.add("compare", f"Compare {name}: no card is left in it, and it stays off; photograph it", key)
    sheet.add("close", f"Nothing left inside {name}, lid on and fastened", key)


def _board(sheet: _Sheet, work: _Work) -> None:
    moved, key = work.moves, work.key
    if not moved.board_moves:
        return
    if moved.board_before is not None:
        sheet.add("board out", f"Take main board {moved.board_before} out", key, board=moved.board_before)
        sheet.add("board in", f"Fit main board {moved.board_after}", key, board=moved.board_after)
    else:
        text = f"See that main board {moved.board_after} is in; fit it where it is not"
        sheet.add("board in", text, key, board=moved.board_after, least=1)


def _straps(sheet: _Sheet, work: _Work) -> None:
    """Each strap by name, and what has to be asked about."""
    key, frame = work.key, work.new
    if frame is None:
        return
    board, clock = frame.built.board, clock_report(work.standing.survey, work.standing, frame)
    asked = asked_about(work.standing.survey, frame)
    for move in work.moves.straps:
        where = f"{quote(move.group)} of {board}"
        if move.group == asked and clock is not None:
            stands = f"{move.strap} {move.after}" if move.strap else f"{quote(move.group)} at {move.after}"
            sheet.add("ask", f"Ask first: {clock.text}. The build file has {stands}", key, strap=move)
        elif move.strap is None:
            sheet.add("strap", f"Set switch {where} to {move.after}", key, strap=move)
        elif move.before is None and move.after == "open":
            sheet.add("strap", f"See that strap {move.strap}, {where}, is open", key, strap=move)
        else:
            does = "Close" if move.after == "closed" else "Open"
            sheet.add("strap", f"{does} strap {move.strap}, {where}", key, strap=move)
    for group in work.moves.undecided:
        sheet.add("ask", f"Ask which setting {quote(group)} of {board} gets: the build file does not say", key)
    _clock_line(sheet, work, question=True)


def _set_before(frame: FrameStanding, slot: int) -> str:
    seat = frame.occupant(slot)
    return "" if seat is None else before_seating(frame, seat)


def _seat(sheet: _Sheet, work: _Work) -> None:
    """Card settings first, then the cards; one that finds its slot taken is not seated."""
    key, frame = work.key, work.new
    if frame is None:
        return
    fresh = [move for move in work.into if move.before is None]
    if fresh:
        own = [(move.card, move.after.slot, _set_before(frame, move.after.slot)) for move in fresh if move.after]
        between = "; " if any(told for _, _, told in own) else ", "
        named = between.join(f"{card} for slot {slot}{f': {told}' if told else ''}" for card, slot, told in own)
        sheet.add(
            "card settings",
            f"Before they are seated, set what each card has (full-scale level, phantom off, straps of its own), and "
            f"note serials: {named}",
            key,
            len(fresh),
        )
    for first, words in otherwise(work.settings):
        text = f"Set {first.card} for slot {first.slot} otherwise: {words}"
        sheet.add("card settings", text, key, slot=first.slot, card=first.card)
    gone = {move.before for move in (*work.out, *work.again)}
    stay = [seat for seat in (() if work.old is None else work.old.seats) if Seat(*key, seat.slot) not in gone]
    taken = {slot: seat.kind.id for seat in stay for slot in seat.covers}
    for move in sorted([*work.into, *work.again], key=lambda m: m.after.slot if m.after else 0):
        assert move.after is not None
        span = _span(work.standing, move.card)
        covers = range(move.after.slot, move.after.slot + span)
        other = next((taken[slot] for slot in covers if slot in taken), None)
        where = _slots(move.after, span)
        if other is not None or covers[-1] not in frame.site.slots:
            why = f"{other} is there" if other else f"{frame.site.chassis.id} has {frame.site.chassis.slot_count} slots"
            text = f"STOP: {move.card} cannot be seated in {where}: {why}; the build is faulty"
            sheet.add("not seated", text, key, slot=move.after.slot, card=move.card)
            continue
        taken |= dict.fromkeys(covers, move.card)
        text = f"Seat {move.card} in {where}{_whence(move, span)}"
        sheet.add("card in", text, key, slot=move.after.slot, card=move.card)


def _power_up(
    sheet: _Sheet,
    before: Sequence[Standing],
    wiring: Wiring,
    works: Mapping[FrameKey, _Work],
    moved: Moves,
    retyped: int,
) -> None:
    after = wiring.rooms
    sheet.begin("Power up, in stages" if works else "Patch" if moved.numbers else "Set cards")
    if works:
        sheet.add(
            "bell out",
            "Bell out each loom that is new or was off, both ends unplugged: pin to pin, shorts, screen to shell",
        )
    ends = _line_ends(before)
    for key, text in _line_ends(after).items():
        if key not in works and text != ends.get(key):
            sheet.add("clock line", f"Clock line, {_name(key)}, which stays closed: {text}", key)
    filled = [work for work in works.values() if work.new is not None]
    for work in filled:
        sheet.add(
            "power up",
            f"Looms that are off stay off. Clock source on first, then mains of {_name(work.key)} on by those who are "
            f"entitled; look at its {_looked_at(work)}, off at once if anything is odd",
            work.key,
        )
        _clock_line(sheet, work, question=False)
        rate = kilohertz(work.standing.survey.sample_rate)
        sheet.add("clock lock", f"{work.key[1]} is locked, and shows {rate}", work.key)
    if not works:
        sheet.add("phantom off", "Phantom of the channels below: note it, then off as a setting")
    for first, words in otherwise(move for move in moved.settings if move.key not in works):
        text = f"Set {first.card} in slot {first.slot} of {_name(first.key)} otherwise: {words}. {INSIDE}"
        sheet.add("card settings", text, first.key, slot=first.slot, card=first.card)
    stood = _outputs(before)
    if stood:
        sheet.add(
            "patch", f"Outputs: unplug the far ends that are plugged{outputs_to(wiring)}, before any tone is sent"
        )
    patched = [
        f"{does}: {text}"
        for direction, does in (("in", "Inputs"), ("out", "Outputs, far ends left unplugged"))
        for text in patches([move for move in moved.numbers if move.direction == direction], wiring)
    ]
    if any(work.out or work.again for work in works.values()):
        others = ", but for those of the next steps" if patched else ""
        sheet.add("patch", f"Looms that were taken off{others}: inputs back on by their tags, then outputs")
    for text in patched:
        sheet.add("patch", text)
    if retyped:
        sheet.add("retype", f"Recorder: retype {retyped} channel{'s' if retyped > 1 else ''} as listed below")
    sheet.add(
        "test",
        "Do the test sheet below: phantom off, far ends of outputs unplugged; go on only when it is right",
    )
    wanted = [
        f"{_name((room.survey.room, f.site.name))}, {at}" for room in after for f in room.frames for at in phantom_on(f)
    ]
    known = f"only where it is wanted ({'; '.join(wanted)})" if wanted else "again only where it was and is wanted"
    never = without_phantom(wiring)
    but = f"; never on {never}" if never else ""
    sheet.add("phantom back", f"Phantom on {known}{but}; looms on, amplifiers still off")
    if _outputs(after):
        again = " again" if stood else ""
        sheet.add("patch", f"Outputs: plug the far ends in{again}{outputs_to(wiring)}, amplifiers still off")


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


def _clock_line(sheet: _Sheet, work: _Work, *, question: bool) -> None:
    """Who ends the clock line, where that is not told strap by strap; a question while the lid is off."""
    assert work.new is not None
    survey = work.standing.survey
    clock = clock_report(survey, work.standing, work.new)
    if clock is None or clock.question != question:
        return
    known = clock_of(survey, work.new)
    told = any(move.group == known.strap_group for move in work.moves.straps) if known is not None else False
    if not question:
        sheet.add("clock line", f"Clock line: {clock.text}", work.key)
    elif not told:
        sheet.add("ask", f"Ask: {clock.text}", work.key)


def _afterwards(sheet: _Sheet, heard: str, silent: Sequence[str]) -> None:
    sheet.begin("Afterwards")
    sheet.add(
        "as left",
        "As left: the same list as found, initialled and dated; new labels on; older sheets and labels destroyed",
    )
    but = f"; not tested, so off until their lines are belled out: {'; '.join(silent)}" if silent else ""
    sheet.add("amplifiers on", f"Amplifiers on last{heard}, level down, then up to what was noted; tell the room{but}")

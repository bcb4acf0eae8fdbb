"""What is done to one frame, from mains off to lid on: practice of the trade, without a source."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from solver.fitted.card_moves import CardMove, FrameKey, Seat
from solver.fitted.frame import FrameStanding
from solver.fitted.moves import FrameMoves, SetMove, straps_of
from solver.fitted.standing import Standing
from solver.reports.cards_set import before_seating, otherwise
from solver.reports.clock_words import asked_about, clock_report
from solver.reports.steps import CardOfStep, Sheet
from solver.room.assets import with_serial
from solver.room.faults import quote
from solver.room.hardware import Chassis, FanAir
from solver.room.words import enumerated, write_ranges

TO_THE_SHELF = "to the shelf, in its bag, tagged with serial, slot and date"
APART = "in its bag, apart from what works, tagged with serial, slot, symptom and date"


@dataclass(frozen=True)
class FrameWork:
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
    serials_before: Mapping[int, str]
    """The serial numbers in it that are known, by slot."""
    serials_after: Mapping[int, str]
    feeds: Sequence[str] | None
    """What gets its clock through it; None where that is not drawn."""

    @property
    def key(self) -> FrameKey:
        """Its room and name."""
        return self.moves.key

    @property
    def dead(self) -> dict[int, str]:
        """Cards by slot that are out of service and come out: they stand there, and serve nothing."""
        return {move.before.slot: move.card for move in self.out if move.before is not None and move.dead}

    @property
    def chassis(self) -> Chassis:
        """The chassis that it is."""
        frame = self.new or self.old
        assert frame is not None
        return frame.site.chassis


def name_of(key: FrameKey) -> str:
    """A frame in a sentence, after its room where there are several."""
    return f"{key[0]}, frame {key[1]}" if key[0] else f"frame {key[1]}"


def title_of(work: FrameWork, part: str) -> str:
    """What the section of a frame is called, and which part of the work on it that is, where there are two."""
    name = name_of(work.key)
    board = work.moves.board_after or work.moves.board_before
    return f"{name[0].upper()}{name[1:]}: {work.chassis.id} with {board}{f', {part}' if part else ''}"


def _slots(seat: Seat, span: int) -> str:
    return f"slot {seat.slot}" if span == 1 else f"slots {seat.slot}-{seat.slot + span - 1}"


def _listed(slots: Collection[int]) -> str:
    return f"slot{'s' if len(slots) > 1 else ''} {write_ranges(sorted(slots))}"


def off_and_out(sheet: Sheet, work: FrameWork) -> None:
    """As found, phantom and mains off, looms and lid off, cards out."""
    key, name = work.key, work.key[1]
    if work.old is not None:
        sheet.add("as found", _as_found(work), key)
        sheet.add("phantom off", f"Phantom of {name}: {_phantom(work)}, then off as a setting, mains still on", key)
        if (text := _stand_in(work)) is not None:
            sheet.add("clock stand-in", text, key)
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
        card = f"{move.told}, which is out of service," if move.before.slot in work.dead else move.told
        sheet.add(
            "card out",
            f"Take {card} out of {_slots(move.before, span)}{_unplugged(work.before or work.standing, move.card)}, "
            f"{_whither(work, move, span)}",
            key,
            of=CardOfStep(move.before.slot, move.card, move.serial),
        )


def _stand_in(work: FrameWork) -> str | None:
    """What takes its clock from a frame gets it from elsewhere first; None where nothing does."""
    if work.feeds is None:
        return f"If anything takes its clock from {work.key[1]}, hand it to a stand-in first: ________"
    if not work.feeds:
        return None
    several = len(work.feeds) > 1
    return (
        f"{enumerated(work.feeds)} take{'' if several else 's'} {'their' if several else 'its'} clock from "
        f"{work.key[1]}: hand {'them' if several else 'it'} to a stand-in first: ________"
    )


def _as_found(work: FrameWork) -> str:
    """What the sheet counts on, to be compared before anything is touched."""
    assert work.old is not None
    assert work.before is not None
    stands = _stands(work.old, work.before, work.serials_before, work.dead)
    return (
        f"As found in {work.key[1]}, serials and card settings noted: {stands}. "
        "Where it differs, stop: this order does not hold"
    )


def _stands(
    frame: FrameStanding, standing: Standing, known: Mapping[int, str], dead: Mapping[int, str] | None = None
) -> str:
    """Board, what stands in which slot, and every strap, as far as the build says it."""
    cards = {seat.slot: f"{with_serial(seat.kind.id, known.get(seat.slot))} in {seat.slot}" for seat in frame.seats}
    for slot, card in (dead or {}).items():
        cards[slot] = f"{with_serial(card, known.get(slot))} in {slot} (out of service)"
    seats = ", ".join(told for _, told in sorted(cards.items()))
    state = straps_of(frame, standing)
    closed = [strap for (_, strap), at in state.items() if strap is not None and at == "closed"]
    opened = [strap for (_, strap), at in state.items() if strap is not None and at == "open"]
    said = [f"{', '.join(closed)} closed"] if closed else []
    said += [f"{', '.join(opened)} open"] if opened else []
    said += [f"{quote(group)} at {at}" for (group, strap), at in state.items() if strap is None]
    return "; ".join([frame.built.board, seats, *said])


def _phantom(work: FrameWork) -> str:
    assert work.old is not None
    slots = [s.slot for s in work.old.seats if any(port.phantom_ma_per_channel for port in s.kind.card.ports)]
    if slots:
        return f"note it channel by channel ({_listed(slots)} by the files)"
    return "note it where there is any (the files name none)"


def _external(work: FrameWork) -> bool:
    return work.chassis.supply.external


def looked_at(work: FrameWork) -> str:
    """What shows at power-up whether a frame is well."""
    air = work.chassis.air
    if air is None:
        return "lamps, rails and any fan"
    return "lamps, rails and fan" if isinstance(air, FanAir) else "lamps and rails"


def _span(standing: Standing, card: str) -> int:
    return standing.survey.kinds[card].span


def _unplugged(standing: Standing, card: str) -> str:
    """What is done first where a card that is taken out has cables to the supply."""
    cables = standing.survey.kinds[card].card.supply_cables
    return f", its supply cable{'s' * (len(cables) > 1)} unplugged first" if cables else ""


def _plugged(standing: Standing, card: str) -> str:
    """Where a card's cables to the supply go."""
    cables = standing.survey.kinds[card].card.supply_cables
    if not cables:
        return ""
    into = " and ".join(quote(sort) for sort in sorted(cables))
    return f"; plug its supply cable{'s' * (len(cables) > 1)} into {into}"


def _whither(work: FrameWork, move: CardMove, span: int) -> str:
    assert move.before is not None
    if move.before.slot in work.dead:
        return APART
    if move.after is None:
        return TO_THE_SHELF
    if move.after == move.before:
        return "back in when the board is exchanged"
    if move.after.key == move.before.key:
        return f"for {_slots(move.after, span)}"
    return f"for {_slots(move.after, span)} of {name_of(move.after.key)}"


def _whence(move: CardMove, span: int) -> str:
    if move.before is None or move.before == move.after:
        return ""
    assert move.after is not None
    other = "" if move.before.key == move.after.key else f" of {name_of(move.before.key)}"
    return f", from {_slots(move.before, span)}{other}"


def in_and_closed(sheet: Sheet, work: FrameWork) -> None:
    """Board, straps, cards in, compared and closed."""
    _board(sheet, work)
    _straps(sheet, work)
    _seat(sheet, work)
    key, name = work.key, work.key[1]
    if work.new is not None:
        empty = [slot for slot in work.new.site.slots if work.new.occupant(slot) is None]
        if empty:
            chassis = work.new.site.chassis.id
            sheet.add("blanks", f"Blanks over {_listed(empty)} of {name}, where {chassis} has any", key)
        sheet.add(
            "compare", f"Compare {name}: {_stands(work.new, work.standing, work.serials_after)}; photograph it", key
        )
    else:
        sheet.add("compare", f"Compare {name}: no card is left in it, and it stays off; photograph it", key)
    sheet.add("close", f"Nothing left inside {name}, lid on and fastened", key)


def _board(sheet: Sheet, work: FrameWork) -> None:
    moved, key = work.moves, work.key
    if not moved.board_moves:
        return
    if moved.board_before is not None:
        sheet.add("board out", f"Take main board {moved.board_before} out", key, board=moved.board_before)
        sheet.add("board in", f"Fit main board {moved.board_after}", key, board=moved.board_after)
    else:
        text = f"See that main board {moved.board_after} is in; fit it where it is not"
        sheet.add("board in", text, key, board=moved.board_after, least=1)


def _straps(sheet: Sheet, work: FrameWork) -> None:
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
    clock_line(sheet, work, question=True)


def _set_before(frame: FrameStanding, slot: int) -> str:
    seat = frame.occupant(slot)
    return "" if seat is None else before_seating(frame, seat)


def _seat(sheet: Sheet, work: FrameWork) -> None:
    """Card settings first, then the cards; one that finds its slot taken is not seated."""
    key, frame = work.key, work.new
    if frame is None:
        return
    fresh = [move for move in work.into if move.before is None]
    if fresh:
        own = [(move.told, move.after.slot, _set_before(frame, move.after.slot)) for move in fresh if move.after]
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
        sheet.add("card settings", text, key, of=CardOfStep(first.slot, first.card))
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
            text = f"STOP: {move.told} cannot be seated in {where}: {why}; the build is faulty"
            sheet.add("not seated", text, key, of=CardOfStep(move.after.slot, move.card, move.serial))
            continue
        taken |= dict.fromkeys(covers, move.card)
        text = f"Seat {move.told} in {where}{_whence(move, span)}{_plugged(work.standing, move.card)}"
        sheet.add("card in", text, key, of=CardOfStep(move.after.slot, move.card, move.serial))


def clock_line(sheet: Sheet, work: FrameWork, *, question: bool) -> None:
    """Who ends the clock line, where that is not told strap by strap; a question while the lid is off."""
    assert work.new is not None
    clock = clock_report(work.standing.survey, work.standing, work.new)
    if clock is None or clock.question != question:
        return
    known = work.new.board.clock_input
    told = any(move.group == known.strap_group for move in work.moves.straps) if known is not None else False
    if not question:
        sheet.add("clock line", f"Clock lead of {work.key[1]}: see that it is {clock.text}", work.key)
    elif not told:
        sheet.add("ask", f"Ask which frame is the last on the clock line. {clock.text}", work.key)

"""From a standing build to its explanation: figures taken apart, and limits by how near they are."""

from __future__ import annotations

from bisect import bisect_left
from fractions import Fraction
from typing import Literal

from solver import rules
from solver.fitted.frame import FrameStanding, Seated
from solver.fitted.settings import read_settings
from solver.fitted.standing import Standing
from solver.judge.audit import readings
from solver.physics import heat
from solver.reports.cards_set import set_cards
from solver.reports.comparison import compare
from solver.reports.explanation import (
    Beside,
    Explanation,
    Headroom,
    Hole,
    Hottest,
    Idle,
    NextStep,
    Outcome,
    StrandedBy,
    Stranding,
    TooWarm,
)
from solver.reports.report import BuildReport
from solver.reports.why import clash_report
from solver.reports.wording import amount_text, in_words, kilohertz
from solver.room.buying import from_stock
from solver.room.hardware import FanAir
from solver.room.kind import Kind
from solver.room.straps import SIDES, set_widths
from solver.room.survey import Survey
from solver.room.words import DIRECTIONS, Direction, write_ranges
from solver.rules.limit import Near, Reading

TIGHT = Fraction(1, 10)
"""A limit of which less than this is left is called tight: our own choice, as for spare channels."""

WAY: dict[Direction, str] = {"in": "input", "out": "output"}


def _most_numbers(survey: Survey, frame: FrameStanding, direction: Direction) -> int:
    """The most channel numbers that the frame's board has at this rate; none where it has no limits for it."""
    limits = frame.board.limits.get(survey.family)
    return int(getattr(limits, SIDES[direction])) if limits else 0


def _set_widths(survey: Survey, frame: FrameStanding, direction: Direction) -> dict[int, int]:
    """The width that the frame's settings ask for by slot; nothing where they are not known."""
    if frame.layout is None:
        return {}
    board = frame.board
    settings = read_settings(board, frame.built.straps, survey.family).chosen
    first_slot, widths = set_widths(board, frame.site.chassis.slot_count, settings, direction)
    return {slot: width for slot, width in enumerate(widths, start=1) if slot >= first_slot}


def strandings(survey: Survey, standing: Standing) -> list[Stranding]:
    """Every card channel without a number, by slot, direction and reason."""
    found: list[Stranding] = []
    for frame in standing.frames:
        for direction in DIRECTIONS:
            wanted, last = _set_widths(survey, frame, direction), frame.last(direction)
            for seat in frame.seats:
                for part, slot in enumerate(seat.covers):
                    if frame.occupant(slot) is not seat:
                        continue
                    channels = len(seat.kind.on(direction, part))
                    given = min(channels, frame.block(direction, slot).width)
                    asked = min(channels, wanted.get(slot, 0))
                    reasons: list[tuple[int, StrandedBy, str]] = []
                    come = sum(number <= last for number in frame.block(direction, slot).numbers[:given])
                    if given > come:
                        text = f"past the {last} {WAY[direction]}s that the host ports of frame {frame.site.name} carry"
                        reasons.append((given - come, "past-the-host-ports", text))
                    if asked > given:
                        most = f"{_most_numbers(survey, frame, direction)} {WAY[direction]}s"
                        text = f"past the {most} of {frame.built.board} at {kilohertz(survey.sample_rate)}"
                        reasons.append((asked - given, "past-the-limit", text))
                    if asked:
                        text = f"the block is {wanted[slot]} wide"
                        reasons.append((channels - asked, "wider-than-its-block", text))
                    else:
                        legal = frame.layout is not None
                        text = (
                            f"this slot gets no {WAY[direction]} numbers" if legal else "no legal settings to number it"
                        )
                        reasons.append((channels, "no-block", text))
                    found += [
                        Stranding(
                            frame=frame.site.name,
                            slot=slot,
                            card=seat.kind.id,
                            direction=direction,
                            channels=count,
                            reason=reason,
                            text=text,
                        )
                        for count, reason, text in reasons
                        if count
                    ]
    return found


def holes(standing: Standing) -> list[Hole]:
    """Every number below the highest used one that nothing answers, by slot."""
    found: list[Hole] = []
    for frame in standing.frames:
        for direction in DIRECTIONS:
            missing = frame.holes(direction)
            for slot in frame.site.slots:
                numbers = [n for n in missing if n in frame.block(direction, slot).numbers]
                if not numbers:
                    continue
                seat = frame.occupant(slot)
                block = frame.block(direction, slot)
                if seat is None:
                    text = "the slot is empty"
                else:
                    carried = len(seat.kind.on(direction, slot - seat.slot)) or "no"
                    text = f"the card has {carried} {WAY[direction]}s for a block of {block.width}"
                found.append(
                    Hole(
                        frame=frame.site.name,
                        slot=slot,
                        card=seat.kind.id if seat else None,
                        direction=direction,
                        channels=len(numbers),
                        numbers=write_ranges(numbers),
                        text=text,
                    )
                )
    return found


def idle(standing: Standing) -> list[Idle]:
    """Every numbered channel that nothing uses, by slot, signals and whether it is out of service."""
    found: list[Idle] = []
    for frame in standing.frames:
        for direction in DIRECTIONS:
            uses = [u for u in frame.uses if u.need.direction == direction]
            used = {u.number for u in uses}
            busy = {(u.slot, u.channel.line) for u in uses if u.channel is not None}
            gone = frame.out_of_service(direction)
            by_place: dict[tuple[int, tuple[str, ...], bool], list[tuple[int, bool]]] = {}
            for slot, channel, number in frame.channels(direction):
                if number is not None and number not in used:
                    signals = tuple(sorted(channel.line_type.signals))
                    place = slot, signals, (slot, channel.index) in gone
                    by_place.setdefault(place, []).append((number, (slot, channel.line) in busy))
            for (slot, signals, out), numbers in sorted(by_place.items()):
                seat = frame.occupant(slot)
                assert seat is not None
                found.append(
                    Idle(
                        frame=frame.site.name,
                        slot=slot,
                        card=seat.kind.id,
                        direction=direction,
                        channels=len(numbers),
                        halves=sum(half for _, half in numbers),
                        numbers=write_ranges([n for n, _ in numbers]),
                        signals=list(signals),
                        out_of_service=out,
                    )
                )
    return found


def _gaps(standing: Standing) -> list[tuple[int, FrameStanding, int]]:
    """Margin in mK, frame and gap of every gap that can be judged, the warmest first."""
    found = [(margin, frame, gap) for frame in standing.frames for gap, margin in frame.gap_margins()]
    return sorted(found, key=lambda item: (item[0], item[1].site.name, item[2]))


def _beside(frame: FrameStanding, gap: int) -> list[tuple[int, Seated]]:
    """The slots that border a gap and their cards."""
    return [(slot, seat) for slot in (gap, gap + 1) if (seat := frame.occupant(slot)) is not None]


def _limiting(frame: FrameStanding, gap: int, margin_mk: int) -> list[Kind]:
    """The cards beside a gap whose own margin is the least of it."""
    seats = _beside(frame, gap)
    left, right = (seat.kind if (seat := frame.occupant(slot)) else None for slot in (gap, gap + 1))
    board = frame.built.board
    if any(seat.kind.hot_at is not None for _, seat in seats):
        return [s.kind for _, s in seats if frame.site.own_margin_mk(s.kind, left, right, board) == margin_mk]
    limits = [s.kind.air_limit_mk for _, s in seats if s.kind.air_limit_mk is not None]
    return [s.kind for _, s in seats if s.kind.air_limit_mk == min(limits)]


def hottest(standing: Standing) -> Hottest | None:
    """The gap with the least margin, with its heat and its air taken apart; None where nothing can be judged."""
    gaps = _gaps(standing)
    if not gaps:
        return None
    margin_mk, frame, gap = gaps[0]
    site, board = frame.site, frame.built.board
    seats = _beside(frame, gap)
    air = site.air
    left, right = (seat.kind if (seat := frame.occupant(slot)) else None for slot in (gap, gap + 1))
    limiting = _limiting(frame, gap, margin_mk)
    assert air is not None
    assert limiting
    limit_mk = limiting[0].air_limit_mk or 0
    rise_mk = limit_mk - margin_mk - air.inlet_mk
    placed = any(seat.kind.hot_at is not None for _, seat in seats)
    heat_mw = site.heat_mw(left, right, board)
    cards_mw = Fraction(sum(s.kind.heat_mw or 0 for _, s in seats), 2)
    supply = site.chassis.supply
    supply_mw = Fraction(0) if supply.external else Fraction(supply.all_loss_w) * 1000 / site.gaps
    return Hottest(
        frame=site.name,
        slots=[slot for slot, _ in seats],
        cards=[
            Beside(
                slot=slot,
                card=seat.kind.id,
                heat_w=None if seat.kind.heat_mw is None else seat.kind.heat_mw / 1000,
                share_w=(seat.kind.heat_mw or 0) / 2000,
                air_limit_c=None if seat.kind.air_limit_mk is None else seat.kind.air_limit_mk / 1000,
            )
            for slot, seat in seats
        ],
        board_w=float((heat_mw - cards_mw - supply_mw) / 1000),
        supply_w=float(supply_mw / 1000),
        gaps=site.gaps,
        heat_w=heat_mw / 1000,
        path="fan" if isinstance(site.chassis.air, FanAir) else "draught",
        calibrated=site.spec.measured is not None,
        flow_m3_h=None if placed else heat.gap_flow_m3_s(air, max(0, rise_mk) / 1000) * 3600,
        inlet_c=air.inlet_mk / 1000,
        rise_k=rise_mk / 1000,
        air_c=(air.inlet_mk + rise_mk) / 1000,
        limit_c=limit_mk / 1000,
        limited_by=[kind.id for kind in limiting],
        margin_k=margin_mk / 1000,
    )


def _less_mw(frame: FrameStanding, gap: int, wanted_mk: int) -> int | None:
    """How much less heat keeps a margin in a gap, taken from all of it alike where it is not even along the cards.

    None where even air without heat is too warm.
    """
    site, board = frame.site, frame.built.board
    left, right = (seat.kind if (seat := frame.occupant(slot)) else None for slot in (gap, gap + 1))
    kinds = [kind for kind in (left, right) if kind is not None]
    heat_mw = site.heat_mw(left, right, board)
    assert site.air is not None
    if all(kind.hot_at is None for kind in kinds):
        limit_mk = min(kind.air_limit_mk for kind in kinds if kind.air_limit_mk is not None)
        permitted_mw = heat.permitted_heat_mw(site.air, limit_mk, wanted_mk)
        return heat_mw - permitted_mw if permitted_mw >= 0 else None

    def kept(part: int) -> bool:
        own = [site.own_margin_mk(kind, left, right, board, part) for kind in kinds]
        return all(margin is None or margin >= wanted_mk for margin in own)

    part = bisect_left(range(1001), True, key=lambda part: not kept(part)) - 1
    return None if part < 0 else -(-heat_mw * (1000 - part) // 1000)


def next_step(survey: Survey, standing: Standing) -> NextStep | None:
    """The next margin that counts in the ranking and the gaps below it; None where the margin is enough already."""
    gaps = _gaps(standing)
    level = survey.level(gaps[0][0]) if gaps else survey.top_level
    if level >= survey.top_level:
        return None
    wanted_mk = max((level + 1) * survey.step_mk, survey.refuse_mk)
    found: list[TooWarm] = []
    for margin_mk, frame, gap in gaps:
        if margin_mk >= wanted_mk:
            break
        seats = _beside(frame, gap)
        less_mw = _less_mw(frame, gap, wanted_mk)
        found.append(
            TooWarm(
                frame=frame.site.name,
                slots=[slot for slot, _ in seats],
                cards=[seat.kind.id for _, seat in seats],
                margin_k=margin_mk / 1000,
                less_w=None if less_mw is None else less_mw / 1000,
            )
        )
    return NextStep(margin_k=wanted_mk / 1000, gaps=found)


def headroom(survey: Survey, standing: Standing) -> list[Headroom]:
    """Every limit that a build can come near, the one with the least left of its bound first.

    Limits that are either kept or not, such as a pin, have none to speak of, and a need gets just what it asks
    for; they are left out. Slots and channel numbers are counted together for each frame.
    """
    every = list(readings(survey, standing))
    nearest = [(r, rules.ALL[r.limit.rule].headroom(survey, r, standing)) for r in every]
    found = [_of_limit(survey, near.reading or reading, near) for reading, near in nearest if near is not None]
    for frame in standing.frames:
        found.append(_of_slots(survey, frame))
        found += [_of_numbers(survey, frame, direction) for direction in DIRECTIONS if frame.answered(direction)]
    return [near for _, near in sorted(found, key=lambda item: (item[0] is None, item[0] or 0))]


def _left(used: int, bound: int, at_least: bool) -> tuple[int, Fraction | None]:
    """What is left, and its share of the most, or of what there is of a least; of nothing it is no share."""
    left = used - bound if at_least else bound - used
    if bound:
        return left, Fraction(left, used if at_least and left > 0 else bound)
    return left, None if left > 0 else Fraction(-1 if left else 0)


def _of_limit(survey: Survey, reading: Reading, near: Near) -> tuple[Fraction | None, Headroom]:
    """A limit of a rule, in the words of the trade."""
    limit, place = reading.limit, reading.limit.place
    left, share = _left(reading.used, limit.bound, limit.at_least)
    amounts = (reading.used, limit.bound, abs(left))
    used, bound, rest = (amount_text(survey, limit.unit, amount).partition(" ")[0] for amount in amounts)
    unit = {"money": survey.currency, "mA": "A", "mK": "K"}.get(limit.unit, limit.unit)
    amount = f"{rest} {unit}" if limit.unit in ("money", "mA", "mK") else rest
    word = ("too little" if limit.at_least else "too much") if left < 0 else "over" if limit.at_least else "left"
    return share, Headroom(
        rule=limit.rule,
        frame=place.frame,
        subject=place.subject,
        used=used,
        bound=bound,
        left=f"-{rest}" if left < 0 else rest,
        unit=unit,
        at_least=limit.at_least,
        left_percent=_percent(share),
        tight=share is not None and share < TIGHT,
        source=None if limit.source is None else list(limit.source),
        set_by=in_words(survey, near.set_by),
        text=f"{in_words(survey, near.said)}, {amount} {word}",
    )


def _in(survey: Survey, frame: str | None) -> str:
    """Which frame, where the scenario has several."""
    return f", frame {frame}" if len(survey.frames) > 1 else ""


def _percent(share: Fraction | None) -> int | None:
    return None if share is None else int(share * 100 // 1)


def _counted(
    rule: str, frame: str, subject: str, used: int, bound: int, unit: str, set_by: str, text: str
) -> tuple[Fraction | None, Headroom]:
    left, share = _left(used, bound, False)
    return share, Headroom(
        rule=rule,
        frame=frame,
        subject=subject,
        used=str(used),
        bound=str(bound),
        left=str(left),
        unit=unit,
        at_least=False,
        left_percent=_percent(share),
        tight=share is not None and share < TIGHT,
        source=None,
        set_by=set_by,
        text=text,
    )


def _of_slots(survey: Survey, frame: FrameStanding) -> tuple[Fraction | None, Headroom]:
    """Slots that take a card: those of the chassis without what the board reserves and the scenario keeps empty."""
    site = frame.site
    closed = {*site.spec.keep_empty, *site.reserved.get(frame.built.board, ())}
    usable = [slot for slot in site.slots if slot not in closed]
    taken = sum(frame.occupant(slot) is not None for slot in usable)
    text = f"slots{_in(survey, site.name)}: {taken} of {len(usable)} taken, {len(usable) - taken} left"
    kept = f" without {len(closed)} kept empty or reserved" if closed else ""
    return _counted("seats", site.name, "slots", taken, len(usable), "slots", f"{site.chassis.id}{kept}", text)


def _of_numbers(survey: Survey, frame: FrameStanding, direction: Direction) -> tuple[Fraction | None, Headroom]:
    """Channel numbers in use of those that the board has at this rate."""
    most = _most_numbers(survey, frame, direction)
    used = len({u.number for u in frame.uses if u.number is not None and u.need.direction == direction})
    text = f"{WAY[direction]} numbers{_in(survey, frame.site.name)}: {used} of {most} in use, {most - used} left"
    set_by = f"{frame.built.board} at {kilohertz(survey.sample_rate)}"
    return _counted("numbers", frame.site.name, direction, used, most, "channels", set_by, text)


def _from_stock(survey: Survey, standing: Standing) -> dict[str, int]:
    """Cards, chassis and boards that cost nothing because they are in stock."""
    used = {item: from_stock(survey, item, n) for item, n in sorted(standing.items.items())}
    return {item: n for item, n in used.items() if n}


def explanation(
    survey: Survey,
    outcome: Outcome,
    standing: Standing,
    shown: BuildReport,
    other: BuildReport | None = None,
) -> Explanation:
    """The whole document about one build, and what another does differently.

    Parameters
    ----------
    standing, shown
        The build, and its report from `solver.reports.describe`.
    other
        The report of the build to compare with.
    """
    return Explanation(
        scenario=survey.title,
        currency=survey.currency,
        sample_rate=survey.sample_rate,
        outcome=outcome,
        criteria=list(survey.rank),
        build=shown,
        from_stock=_from_stock(survey, standing),
        stranded=strandings(survey, standing),
        holes=holes(standing),
        idle=idle(standing),
        set_cards=set_cards(standing),
        hottest=hottest(standing),
        next_step=next_step(survey, standing),
        headroom=headroom(survey, standing),
        against=None if other is None else compare(shown, other),
    )


def unexplained(survey: Survey, outcome: Literal["impossible", "unknown"]) -> Explanation:
    """The document where there is no build to explain."""
    return Explanation(
        scenario=survey.title,
        currency=survey.currency,
        sample_rate=survey.sample_rate,
        outcome=outcome,
        criteria=list(survey.rank),
        clash=clash_report(survey) if outcome == "impossible" else None,
    )

"""From survey, standing build and figures to the report that screens and JSON are drawn from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from math import ceil

from solver import rules
from solver.fitted.card_moves import Seat, dead_in, serials
from solver.fitted.frame import FrameStanding
from solver.fitted.mains import mains_mw
from solver.fitted.moves import moves
from solver.fitted.standing import Standing, stand
from solver.fitted.unknown import merged, so_not_checked
from solver.judge.audit import readings, unknowns
from solver.judge.criteria import Figures
from solver.physics.air import watts_to_btu_h
from solver.reports import clock_words
from solver.reports.changing import moving_words, summary
from solver.reports.clock_words import asked_about, clock_report, questions
from solver.reports.cooled import air_told
from solver.reports.latencies import latencies
from solver.reports.report import (
    BuildReport,
    CardSetTo,
    Cooling,
    FrameReport,
    Load,
    Moved,
    OrderLine,
    Orders,
    Served,
    Short,
    Slot,
    Spare,
    StrapWork,
    Unused,
)
from solver.reports.strapwork import strap_work
from solver.reports.survived import survived
from solver.reports.wording import amount_text, in_words, money
from solver.room.demand import drop
from solver.room.hardware import PHANTOM
from solver.room.rail_names import is_phantom
from solver.room.scenario import MOVING
from solver.room.silent import changes_numbers
from solver.room.survey import Survey
from solver.room.words import DIRECTIONS, SIDES, Direction, in_thousandths, write_ranges
from solver.rules.limit import Reading


def _slots(frame: FrameStanding, known: Mapping[Seat, str]) -> list[Slot]:
    rows: list[Slot] = []
    empty: list[int] = []
    layout = frame.layout
    past_the_last = [seat.slot for seat in frame.seats if seat.slot not in frame.site.slots]
    for slot in [*frame.site.slots, *past_the_last]:
        seat = next((s for s in frame.seats if s.slot == slot), None)
        if seat is None:
            if frame.occupant(slot) is None:
                empty.append(slot)
            continue
        own = [covered for covered in seat.covers if frame.occupant(covered) is seat]
        if empty:
            rows.append(Slot(slots=empty, card=None))
            empty = []
        texts: dict[str, str] = {}
        stranded = idle = out = 0
        for direction in DIRECTIONS:
            mine = [(n, at) for at, _, n in frame.channels(direction) if at in own]
            numbers = [n for n, _ in mine if n is not None]
            stranded += len(mine) - len(numbers)
            used = {u.number for u in frame.uses if u.need.direction == direction and u.slot in own}
            idle += len(set(numbers) - used)
            gone = frame.out_of_service(direction)
            out += len(
                {n for at, ch, n in frame.channels(direction) if at in own and (at, ch.index) in gone} - used - {None}
            )
            texts[direction] = write_ranges(numbers) if mine and layout is not None else "-"
        by_need: dict[tuple[str, Direction], dict[tuple[int, int], int | None]] = {}
        for use in frame.uses:
            if use.slot in own and use.channel is not None:
                by_need.setdefault((use.need.name, use.need.direction), {})[use.slot, use.index] = use.number
        rows.append(
            Slot(
                slots=list(seat.covers),
                card=seat.kind.id,
                serial=known.get(Seat(None, frame.site.name, seat.slot)),
                inputs=texts["in"],
                outputs=texts["out"],
                serves=[
                    Served(
                        need=need,
                        direction=d,
                        channels=len(numbers),
                        numbers=write_ranges([n for n in numbers.values() if n is not None]),
                    )
                    for (need, d), numbers in sorted(by_need.items())
                ],
                idle=idle,
                out_of_service=out,
                stranded=stranded,
                connectors=seat.kind.card.connector_types(),
                settings=[CardSetTo(**entry.model_dump()) for entry in frame.changed(seat)],
            )
        )
    if empty:
        rows.append(Slot(slots=empty, card=None))
    return rows


def _straps(survey: Survey, frame: FrameStanding) -> tuple[list[str], list[str], dict[str, str]]:
    closed: list[str] = []
    left: list[str] = []
    switches: dict[str, str] = {}
    asked = asked_about(survey, frame)
    for group in frame.board.strap_group:
        if group.name == asked:
            continue
        name = frame.built.straps.get(group.name, "")
        setting = next((s for s in group.settings() if s.name == name), None)
        if setting is None:
            continue
        if group.kind == "switch":
            switches[group.name] = name
            continue
        chosen = setting.closed or ()
        closed += [s for s in group.straps if s in chosen]
        left += [s for s in group.straps if s not in chosen]
    return closed, left, switches


def _strap_work(survey: Survey, standing: Standing, frame: FrameStanding) -> list[StrapWork]:
    """What is done to each strap group; of the one that ends a clock line what it does there, or the question."""
    board = frame.board
    asked, clock = asked_about(survey, frame), clock_report(survey, standing, frame)
    said = questions(standing).get(frame.site.name, "" if clock is None else clock.text)
    straps = {group: setting for group, setting in frame.built.straps.items() if group != asked}
    ending = board.clock_input.strap_group if board.clock_input is not None and clock is not None else None
    return [
        work.model_copy(update={"effect": said}) if work.group == ending else work
        for work in strap_work(board, frame.site.chassis.slot_count, straps)
    ]


def _silent_groups(survey: Survey, frame: FrameStanding) -> list[str]:
    return [group.name for group in frame.board.strap_group if not changes_numbers(group)]


def _loads(survey: Survey, frame: FrameStanding, found: list[Reading]) -> list[Load]:
    loads: list[Load] = []
    limits = frame.board.limits.get(survey.family)
    for direction in DIRECTIONS:
        used = [u.number for u in frame.uses if u.number is not None and u.need.direction == direction]
        most = min(getattr(limits, SIDES[direction]) if limits else 0, frame.last(direction))
        loads.append(
            Load(what=f"{SIDES[direction]} in use", used=str(len(set(used))), limit=str(most), unit="channels")
        )
    for reading in found:
        limit = reading.limit
        loaded = rules.ALL[limit.rule].load(limit)
        if loaded is not None and limit.place.frame == frame.site.name and reading.used:
            own, most_text = (amount_text(survey, limit.unit, amount).split() for amount in (reading.used, limit.bound))
            asked = _phantom_asked(survey, frame) if is_phantom(limit.place.subject or "") else None
            loads.append(
                Load(what=in_words(survey, loaded), used=own[0], limit=most_text[0], unit=own[1], phantom=asked)
            )
    return loads


def _phantom_asked(survey: Survey, frame: FrameStanding) -> str | None:
    """What channels that are to get phantom power may draw together, in amperes; None where there are none."""
    total = Decimal(0)
    for use in frame.uses:
        seat = frame.occupant(use.slot)
        if dict(use.need.traits).get(PHANTOM) == "on" and seat is not None:
            port = seat.kind.ports[use.need.direction, use.slot - seat.slot][use.index - 1]
            total += port.phantom_ma_per_channel or 0
    return amount_text(survey, "mA", in_thousandths(total / 1000)).split()[0] if total else None


def _hottest(frame: FrameStanding) -> Cooling:
    """The frame's own least margin and the slots beside that gap."""
    margins = [(margin, gap) for gap, margin in frame.gap_margins()]
    if not margins:
        return Cooling(margin_k=None)
    margin, gap = min(margins)
    slots = [slot for slot in (gap, gap + 1) if frame.occupant(slot) is not None]
    return Cooling(margin_k=margin / 1000, frame=frame.site.name, slots=slots)


def _spare(survey: Survey, standing: Standing) -> list[Spare]:
    counts: dict[tuple[Direction, tuple[str, ...]], int] = {}
    for frame in standing.frames:
        for direction in DIRECTIONS:
            used = {u.number for u in frame.uses if u.need.direction == direction}
            gone = frame.out_of_service(direction)
            for slot, channel, number in frame.channels(direction):
                key = (direction, tuple(sorted(channel.line_type.signals)))
                left = number is not None and number not in used and (slot, channel.index) not in gone
                counts[key] = counts.get(key, 0) + left
    found = []
    for (direction, signals), channels in sorted(counts.items()):
        asked = sum(n.demand for n in survey.needs if n.direction == direction and n.signal in signals)
        found.append(Spare(direction=direction, signals=list(signals), channels=channels, scarce=channels * 10 < asked))
    return found


def describe_build(
    survey: Survey,
    standing: Standing,
    found: Figures,
    rank: int,
    proven: bool,
    stages: dict[str, bool] | None = None,
    bounds: Mapping[str, int] | None = None,
) -> BuildReport:
    """Everything that the screens say about a build. `bounds` has what a criterion that is not proven cannot beat."""
    all_readings = list(readings(survey, standing))
    hardware = survey.hardware
    chassis_ids = {c.id for c in hardware.chassis}
    board_ids = {b.id for b in hardware.board}
    orders: dict[str, dict[str, int]] = {"cards": {}, "chassis": {}, "boards": {}}
    lines: list[OrderLine] = []
    for item, parts in standing.orders.items():
        group = "chassis" if item in chassis_ids else "boards" if item in board_ids else "cards"
        orders[group][item] = sum(count for count, _ in parts)
        lines += [
            OrderLine(item=item, count=n, price=money(survey, price), total=money(survey, n * price))
            for n, price in parts
        ]
    warnings = []
    if found.margin_mk is not None and found.margin_mk < survey.warn_mk:
        least = f"{Decimal(survey.warn_mk) / 1000:f}"
        warnings.append(f"cooling: about {found.margin_mk // 1000} K to spare, warned of under {least} K")
    warnings += clock_words.warnings(survey, standing)
    unknown = merged(unknowns(survey, standing))
    frames = []
    known = serials(standing).seats
    for frame in standing.frames:
        closed, left, switches = _straps(survey, frame)
        drawn_mw = mains_mw(frame)
        frames.append(
            FrameReport(
                name=frame.site.name,
                room=survey.room,
                chassis=frame.site.chassis.id,
                board=frame.built.board,
                straps=dict(frame.built.straps),
                cards={str(seat.slot): seat.kind.id for seat in frame.seats},
                close=closed,
                leave_open=left,
                switches=switches,
                clock=clock_report(survey, standing, frame),
                changes_no_numbers=_silent_groups(survey, frame),
                strap_work=_strap_work(survey, standing, frame),
                slot_1=frame.site.chassis.first_slot_at,
                height_u=frame.site.chassis.height_u,
                supply_height_u=frame.site.chassis.supply.height_u if frame.site.chassis.supply.external else None,
                mains_w=None if drawn_mw is None else drawn_mw / 1000,
                supply_loss_known=frame.site.chassis.supply.loss_w > 0,
                heat_btu_h=None if drawn_mw is None else ceil(watts_to_btu_h(drawn_mw / 1000)),
                cooling=_hottest(frame),
                slots=_slots(frame, known),
                loads=_loads(survey, frame, all_readings),
            )
        )
    most = {item: survey.most_of(item) for item in standing.items}
    missing = {
        item: used - (most[item] or 0) for item, used in sorted(standing.items.items()) if most[item] is not None
    }
    left_over = {
        item: count - standing.items[item]
        for item, count in sorted(survey.stock.items())
        if count > standing.items[item]
    }
    owned, able = survey.scenario.owned, survey.scenario.in_service
    away = {item: count - able[item] for item, count in sorted(owned.items()) if count > able[item]}
    return BuildReport(
        rank=rank,
        cost=money(survey, found.cost),
        proven=proven,
        stages=stages or {},
        short=short_needs(survey, standing),
        bounds={c: money(survey, n) if c == "cost" else str(n) for c, n in (bounds or {}).items()},
        unused=Unused(stranded=found.stranded, holes=found.holes, idle=found.idle, total=found.unused),
        cooling=Cooling(
            margin_k=None if found.margin_mk is None else found.margin_mk / 1000,
            frame=found.hottest[0] if found.hottest else None,
            slots=list(found.hottest[1]) if found.hottest else [],
        ),
        moved=moved_report(survey, standing, found),
        frames=frames,
        orders=Orders.model_validate(orders),
        order_lines=lines,
        not_to_be_had={item: count for item, count in missing.items() if count > 0},
        budget_left=None if survey.budget is None else money(survey, max(0, survey.budget - found.cost)),
        stock_left=left_over,
        out_of_service=away,
        latencies=latencies(survey, standing),
        survives=survived(survey, standing, all_readings),
        air=air_told(standing),
        spare=_spare(survey, standing),
        warnings=warnings,
        not_checked=[so_not_checked(what, why) for what, why in unknown.items()],
        unknown={**unknown},
    )


def moved_report(survey: Survey, standing: Standing, found: Figures) -> Moved | None:
    """What changes hands from what stands; None where nothing is said to stand."""
    as_found = survey.scenario.as_found
    if as_found is None:
        return None
    before = [stand(survey, as_found)]
    text = summary(moves(before, [standing], dead_in(before)), several=False)
    return Moved(
        cards_moved=found.cards_moved,
        straps_moved=found.straps_moved,
        lids_off=found.lids_off,
        renumbered=found.renumbered,
        text=text,
    )


def short_needs(survey: Survey, standing: Standing) -> list[Short]:
    """The needs that are nice to have and give way in a build."""
    return [
        Short(
            need=need.name,
            direction=need.direction,
            signal=need.signal,
            asked=need.demand,
            short=lacks,
            text=in_words(survey, drop(need, lacks)),
        )
        for need, lacks in sorted(standing.short().items(), key=lambda item: item[0].name)
    ]


def slack_notes(survey: Survey) -> list[str]:
    """What a scenario's slack lets in: where there is one, the first build need not be the least of its criterion.

    Of the last criterion alone it lets in nothing, which reading the file warns of.
    """
    rank, yielding = survey.rank, survey.scenario.yielding
    if yielding == rank[-1:]:
        return []
    sides = {c: "ranked before it" if c == rank[-1] else "ranked after it" for c in yielding}
    return [f"slack: {_let_in(c, survey.scenario.slack[c])} was let in for what is {sides[c]}" for c in yielding]


def _let_in(criterion: str, slack: int | str) -> str:
    if criterion == "cooling":
        return f"up to {slack} K less margin than the greatest"
    if criterion == "cost":
        return f"up to {slack} more cost than the least"
    if criterion in MOVING:
        return f"up to {slack} more {moving_words(criterion, int(slack))} than the fewest"
    return f"up to {slack} {criterion} channel{'' if slack == 1 else 's'} more than the least"


def shortage_notes(builds: Sequence[BuildReport]) -> list[str]:
    """What is said of ranked builds together where needs that are nice to have give way."""
    if not builds or not builds[0].short:
        return []
    channels, needs = sum(short.short for short in builds[0].short), len(builds[0].short)
    counted = f"{channels} channel{'s' if channels > 1 else ''} of {needs} need{'s' if needs > 1 else ''}"
    verb = "gives" if channels == 1 else "give"
    sure = "proven the fewest channels, then the fewest needs" if builds[0].stages.get("short") else "fewer may do"
    return [f"not all that is nice to have can be met: {counted} {verb} way; {sure}"]

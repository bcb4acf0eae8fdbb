"""The screen of an explanation: each figure with its parts, limits by how near they are, what another build does."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Console
from rich.text import Text

from cli.screen.page import (
    CAUTIONS,
    assumed_rows,
    grid,
    indented,
    kelvin,
    labelled,
    not_used,
    order_rows,
    page,
    without_price,
)
from cli.screen.why import show_no_build
from solver.reports.explanation import CardDifference, Comparison, Explanation, FrameDifference, Hottest, Seat, TooWarm
from solver.reports.report import BuildReport
from solver.reports.wording import kilohertz
from solver.room.words import PART_WORDS, ranked_words


def show_explanation(document: Explanation) -> None:
    """Print an explanation."""
    with page() as out:
        build = document.build
        if build is None:
            show_no_build(out, document)
            return
        out.print(Text(f"{_name(document, build)}: {document.scenario}, {kilohertz(document.sample_rate)}", "bold"))
        out.print(Text(f"ranked by {ranked_words(document.criteria)}"))
        if document.outcome == "faulty":
            out.print(Text("It breaks limits; strapwork check names every fault."))
        for note in document.notes:
            out.print(Text(f"NOTE: {note}"))
        if build.short:
            out.print()
            out.print(Text("Not all that is nice to have is met", "bold"))
            out.print(indented(labelled([("gives way", short.text) for short in build.short])))
        _cost(out, document, build)
        _unused(out, document, build)
        if document.set_cards:
            _set_cards(out, document)
        if build.latencies:
            out.print()
            out.print(Text("Latency of what keeps one", "bold"))
            out.print(indented("\n".join(latency.text for latency in build.latencies)))
        _cooling(out, document, build)
        if document.headroom:
            _headrooms(out, document)
        if document.against is not None:
            _against(out, document, document.against)
        rows = assumed_rows(document.assumed)
        rows += [("WARNING", warning) for warning in build.warnings]
        rows += [("NOT CHECKED", what) for what in build.not_checked]
        if rows:
            out.print()
            out.print(labelled(rows))
        if document.against is not None:
            out.print()
            out.print(Text(CAUTIONS))


def _name(document: Explanation, build: BuildReport) -> str:
    match document.outcome:
        case "clean":
            return "The build of the file, clean"
        case "faulty":
            return "The build of the file, with faults"
    return f"Build {build.rank}, {'proven' if build.proven else 'not proven'}"


def _cost(out: Console, document: Explanation, build: BuildReport) -> None:
    out.print()
    out.print(Text(f"Cost {build.cost} {document.currency}{without_price(build)}", "bold"))
    rows = [("" if index else "order", line) for index, line in enumerate(order_rows(build) or ["nothing"])]
    stock = [f"{count} x {item}" for item, count in document.from_stock.items()]
    rows.append(("from stock", ", ".join(stock) or "nothing"))
    if document.surviving is not None:
        rows.append(("surviving", document.surviving.text.removeprefix("surviving ")))
    out.print(indented(labelled(rows)))


def _unused(out: Console, document: Explanation, build: BuildReport) -> None:
    unused = build.unused
    parts = f"{unused.stranded} without a number + {unused.holes} gaps + {not_used(build)}"
    out.print()
    out.print(Text(f"Unused {unused.total} channels: {parts}", "bold"))
    rows = [(x.frame, x.slot, x.card, x.direction, x.channels, f"no number: {x.text}") for x in document.stranded]
    rows += [
        (x.frame, x.slot, x.card or "empty", x.direction, x.channels, f"gap {x.numbers}: {x.text}")
        for x in document.holes
    ]
    for x in document.idle:
        half = f"; {x.halves} of them beside a channel in use, in a line that is used whole" if x.halves else ""
        said = f"{'out of service' if x.out_of_service else 'not used'}: {x.numbers}, {'/'.join(x.signals)}{half}"
        rows.append((x.frame, x.slot, x.card, x.direction, x.channels, said))
    if rows:
        table = grid("frame", "slot", "card", "way", "channels", "why", right=(4,))
        for frame, slot, card, direction, channels, why in rows:
            table.add_row(frame, str(slot), card, direction, str(channels), why)
        out.print(indented(table))


def _set_cards(out: Console, document: Explanation) -> None:
    out.print()
    out.print(Text("Set on cards", "bold"))
    table = grid("frame", "slot", "card", "way", "channels", "set to", "for")
    for x in document.set_cards:
        told = ", ".join(x.needs) or "nothing that asks for it"
        table.add_row(x.frame, str(x.slot), x.card, x.direction, x.channels or "all", f"{x.setting} {x.to}", told)
    out.print(indented(table))


def _cooling(out: Console, document: Explanation, build: BuildReport) -> None:
    out.print()
    gap = document.hottest
    if gap is None:
        out.print(Text("Cooling not checked", "bold"))
        return
    out.print(Text(f"Cooling {kelvin(gap.margin_k)} to spare at the hottest gap (estimate)", "bold"))
    told = [("" if n else "frames", told) for n, told in enumerate(build.air)]
    out.print(indented(labelled([*_hottest(gap), *_next_step(document), *told])))


def _hottest(gap: Hottest) -> Iterator[tuple[str, str]]:
    cards = " and ".join(f"{card.card} (slot {card.slot})" for card in gap.cards)
    yield "gap", f"frame {gap.frame}, {'between' if len(gap.slots) > 1 else 'beside'} {cards}"
    shares = [
        f"0 W (half of {card.card}, not known)"
        if card.heat_w is None
        else f"{card.share_w:.2f} W (half of {card.card})"
        for card in gap.cards
    ]
    shares.append(f"{gap.board_w:.2f} W (1/{gap.gaps} of the board)")
    if gap.supply_w:
        shares.append(f"{gap.supply_w:.2f} W (1/{gap.gaps} of the supply)")
    yield "heat", f"{' + '.join(shares)} = {gap.heat_w:.1f} W"
    flow = "the fan's share" if gap.path == "fan" else "rising by itself"
    measured = ", calibrated by the measured rise" if gap.calibrated else ""
    who = " and ".join(dict.fromkeys(gap.limited_by))
    if gap.flow_m3_h is None:
        yield "air", f"{flow}, whichever of these are on{measured}"
        where = f"at the hottest place of {who}"
    else:
        yield "air", f"{gap.flow_m3_h:.2f} m3/h, {flow}{measured}"
        where = "here"
    yield "", f"{gap.inlet_c:.1f} C at the inlet, {_up(gap.rise_k)} K warmer {where}: {_up(gap.air_c)} C"
    yield "limit", f"{gap.limit_c:.1f} C of {who}: {_down(gap.margin_k)} K to spare"


def _down(amount: float) -> str:
    """A margin to a tenth, rounded down."""
    return f"{round(amount * 1000) // 100 / 10:.1f}"


def _up(amount: float) -> str:
    """A warmth to a tenth, rounded up."""
    return f"{-(-round(amount * 1000) // 100) / 10:.1f}"


def _next_step(document: Explanation) -> Iterator[tuple[str, str]]:
    step = document.next_step
    if step is None:
        yield "next step", "none: more margin counts no further in the ranking"
        return
    yield "next step", f"{step.margin_k:g} K, once each of these has that much less heat or other cards"
    for gap in step.gaps:
        yield "", _too_warm(gap)


def _too_warm(gap: TooWarm) -> str:
    slots = " and ".join(map(str, gap.slots))
    less = "the inlet air alone is too warm" if gap.less_w is None else f"{gap.less_w:.2f} W less"
    return f"frame {gap.frame}, slot{'s' if len(gap.slots) > 1 else ''} {slots}: {' and '.join(gap.cards)}, {less}"


def _headrooms(out: Console, document: Explanation) -> None:
    out.print()
    out.print(Text("Limits, the nearest first; tight is under a tenth left", "bold"))
    table = grid("left", "limit", "set by", right=(0,))
    used_up = [limit for limit in document.headroom if limit.unit == "items" and limit.left == "0"]
    for limit in document.headroom:
        if limit in used_up[1:]:
            continue
        mark = "broken " if limit.left.startswith("-") else "tight " if limit.tight else ""
        percent = "" if limit.left_percent is None else f"{limit.left_percent} %"
        who = "hardware" if limit.source is None else "scenario"
        if limit in used_up and len(used_up) > 1:
            items = ", ".join(f"{item.used} x {item.subject}" for item in used_up)
            table.add_row(mark + percent, f"all in use, none left: {items}", f"{who}: stock and offers")
        else:
            table.add_row(mark + percent, limit.text, f"{who}: {limit.set_by}")
    out.print(indented(table))


def _against(out: Console, document: Explanation, comparison: Comparison) -> None:
    other = comparison.other
    assert document.build is not None
    shown = f"build {document.build.rank}" if document.outcome == "found" else "file"
    out.print()
    out.print(Text(f"Build {other.rank} in its place{'' if other.proven else ' (not proven)'}", "bold"))
    show_comparison(out, comparison, document.currency, (shown, f"build {other.rank}"))


def show_comparison(out: Console, comparison: Comparison, currency: str, names: tuple[str, str]) -> None:
    """The figures of two builds side by side, and what the other does differently."""
    table = grid("", *names, "difference", right=(1, 2, 3))
    for figure in comparison.figures:
        unit = currency if figure.unit == "money" else "K" if figure.unit == "K" else ""
        values = [value if value is not None else "not checked" for value in (figure.shown, figure.other)]
        name = PART_WORDS.get(figure.figure, figure.figure)
        table.add_row(f"{name}{' ' if unit else ''}{unit}", *values, figure.difference or "")
    out.print(indented(table))
    rows = [("work", _work(comparison))]
    rows += [("frame", _frame(frame)) for frame in comparison.frames]
    rows += [("card", _card(card)) for card in comparison.cards]
    rows += [("order", f"{abs(o.count)} x {o.item} {'more' if o.count > 0 else 'fewer'}") for o in comparison.orders]
    out.print(indented(labelled(rows)))


def _work(comparison: Comparison) -> str:
    """What it takes to change one build into the other."""
    if comparison.lid_on:
        return "lid on: the same straps and cards"
    cards = [
        f"{count} {'card' if count == 1 else 'cards'} {done}"
        for count, done in (
            (comparison.cards_moved, "moved"),
            (comparison.cards_in, "put in"),
            (comparison.cards_out, "taken out"),
        )
        if count
    ]
    straps = comparison.straps_moved
    boards = comparison.boards_moved
    said = [f"{boards} board{'' if boards == 1 else 's'} put in"] if boards else []
    said += [*(cards or ["no card moved"]), f"{straps or 'no'} strap{'' if straps in (0, 1) else 's'} moved"]
    return f"lid off: {', '.join(said)}"


def _frame(frame: FrameDifference) -> str:
    if frame.taken == "in the shown only":
        return f"{frame.frame}: left out"
    said = [f"board {frame.board}"] if frame.board else []
    said += [f"close {', '.join(frame.close)}"] if frame.close else []
    said += [f"open {', '.join(frame.open)}"] if frame.open else []
    said += [f'set "{group}" to {position}' for group, position in frame.switches.items()]
    return f"{frame.frame}: {'used too; ' if frame.taken == 'in the other only' else ''}{'; '.join(said)}"


def _card(card: CardDifference) -> str:
    if card.before is None and card.after is not None:
        return f"+ {card.card} in {_seat(card.after)}"
    if card.after is None and card.before is not None:
        return f"- {card.card} from {_seat(card.before)}"
    assert card.before is not None
    assert card.after is not None
    return f"{card.card} from {_seat(card.before)} to {_seat(card.after)}"


def _seat(seat: Seat) -> str:
    return f"frame {seat.frame}, slot {seat.slot}"

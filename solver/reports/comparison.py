"""What one build does differently from another, worked out from their reports alone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal

from solver.fitted import card_moves
from solver.reports.explanation import (
    CardDifference,
    Comparison,
    FigureDifference,
    FrameDifference,
    OrderDifference,
    Seat,
)
from solver.reports.report import BuildReport, FrameReport


def compare(shown: BuildReport, other: BuildReport) -> Comparison:
    """What another build does differently from the one that is shown, worked out from their reports alone."""
    before = {frame.name: frame for frame in shown.frames}
    after = {frame.name: frame for frame in other.frames}
    frames = [_frame_difference(name, before.get(name), after.get(name)) for name in sorted({*before, *after})]
    ordered = [Counter({**b.orders.cards, **b.orders.chassis, **b.orders.boards}) for b in (shown, other)]
    orders = {item: ordered[1][item] - ordered[0][item] for item in sorted({*ordered[0], *ordered[1]})}
    cards = _card_differences(shown, other)
    moved = sum(card.before is not None and card.after is not None for card in cards)
    straps = sum(len(f.close) + len(f.open) + len(f.switches) for f in frames)
    boards = sum(f.board is not None or f.taken == "in the shown only" for f in frames)
    return Comparison(
        other=other,
        lid_on=not (cards or straps or boards),
        cards_moved=moved,
        cards_in=sum(card.before is None for card in cards),
        cards_out=sum(card.after is None for card in cards),
        straps_moved=straps,
        boards_moved=sum(f.board is not None for f in frames),
        figures=list(_figure_differences(shown, other)),
        frames=[f for f in frames if f.taken != "in both" or f.board or f.close or f.open or f.switches],
        cards=cards,
        orders=[OrderDifference(item=item, count=count) for item, count in orders.items() if count],
    )


def _figure_differences(shown: BuildReport, other: BuildReport) -> Iterator[FigureDifference]:
    """The figures of two builds; money as it is written, margins to a tenth of a kelvin, rounded down."""
    pairs: list[tuple[str, str, Decimal | None, Decimal | None]] = [
        ("cost", "money", Decimal(shown.cost), Decimal(other.cost))
    ]
    lacking = [Decimal(sum(short.short for short in b.short)) for b in (shown, other)]
    if any(lacking):
        pairs.append(("short", "channels", lacking[0], lacking[1]))
    for part in ("total", "stranded", "holes", "idle"):
        name = "unused" if part == "total" else part
        pairs.append((name, "channels", Decimal(getattr(shown.unused, part)), Decimal(getattr(other.unused, part))))
    margins = [
        None if b.cooling.margin_k is None else Decimal(round(b.cooling.margin_k * 1000) // 100) / 10
        for b in (shown, other)
    ]
    pairs.append(("cooling", "K", margins[0], margins[1]))
    seated = [Decimal(sum(len(f.cards) for f in b.frames)) for b in (shown, other)]
    pairs.append(("cards", "cards", seated[0], seated[1]))
    for figure, unit, one, two in pairs:
        yield FigureDifference(
            figure=figure,
            unit=unit,
            shown=None if one is None else str(one),
            other=None if two is None else str(two),
            difference=None if one is None or two is None else f"{two - one:+}" if two != one else "0",
        )


def _frame_difference(name: str, before: FrameReport | None, after: FrameReport | None) -> FrameDifference:
    if after is None:
        return FrameDifference(frame=name, taken="in the shown only")
    if before is None or before.board != after.board:
        return FrameDifference(
            frame=name,
            taken="in both" if before else "in the other only",
            board=after.board,
            close=after.close,
            switches=after.switches,
        )
    return FrameDifference(
        frame=name,
        taken="in both",
        close=[strap for strap in after.close if strap not in before.close],
        open=[strap for strap in before.close if strap not in after.close],
        switches={group: at for group, at in after.switches.items() if before.switches.get(group) != at},
    )


def _card_differences(shown: BuildReport, other: BuildReport) -> list[CardDifference]:
    """Cards that stand in one build only, or elsewhere."""
    before, after = (
        {card_moves.Seat(None, f.name, int(slot)): card for f in build.frames for slot, card in f.cards.items()}
        for build in (shown, other)
    )
    return [
        CardDifference(card=move.card, before=_seat(move.before), after=_seat(move.after))
        for move in card_moves.card_moves(before, after)
    ]


def _seat(seat: card_moves.Seat | None) -> Seat | None:
    return None if seat is None else Seat(frame=seat.frame, slot=seat.slot)

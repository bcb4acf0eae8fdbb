"""The screen of `power`: frames, breakers, a year, and what licensed people decide."""

from __future__ import annotations

from math import ceil

from rich.text import Text

from cli.screen.page import grid, indented, labelled, page, show_faulty
from solver.reports.power import Power

LICENSED = (
    "Mains, breakers and fixed wiring are for licensed people under local code, which decides what a breaker may "
    "carry; 80 % continuously is a common rule and no permission. Figures are for full load: less is drawn in use. "
    "The mains earth is never lifted. The maker's manual wins over this sheet."
)


def show_power(document: Power) -> None:
    """Print what a build draws."""
    with page() as out:
        show_faulty(out, document.scenario, document.faults, "Do not connect it so.")
        volts = "" if document.volts is None else f", {document.volts} V"
        out.print(Text(f"{document.scenario}{volts}: from the mains at most", "bold"))
        out.print()
        table = grid("frame", "rails W", "loss W", "W", "VA", "BTU/h", "A", "inlet", right=range(1, 7))
        for frame in document.frames:
            table.add_row(
                frame.frame if frame.room is None else f"{frame.room}, {frame.frame}",
                _up(frame.rails_w),
                _up(frame.loss_w),
                _up(frame.mains_w),
                _up(frame.mains_va),
                "?" if frame.heat_btu_h is None else str(frame.heat_btu_h),
                _each(frame.each_a, frame.supplies),
                frame.inlet or "?",
            )
        out.print(indented(table if document.frames else Text("no frame has a card, so nothing is drawn")))
        if document.breakers:
            out.print()
            table = grid(
                "breaker",
                "feeds",
                "usual A",
                "most A",
                "of",
                "inrush A",
                "trips at",
                "leak mA",
                "of",
                right=range(2, 9),
            )
            for each in document.breakers:
                table.add_row(
                    f"{each.name} ({each.rated_a:g} A)",
                    ", ".join(each.feeds) or "nothing here",
                    _a(each.usual_a),
                    _a(each.most_a),
                    f"{each.continuous_a:g}",
                    _a(each.inrush_a),
                    _a(each.trip_a),
                    _a(each.leakage_ma),
                    _a(each.most_leakage_ma),
                )
            out.print(indented(table))
            out.print(
                indented(
                    Text(
                        "Most: at the lowest voltage, 10 % less, with one of several supplies of a frame carrying all; "
                        "of 80 % of the rating. Trips at: the least amperes at which it may trip at once."
                    )
                )
            )
        rows = []
        if document.year_kwh is not None:
            cost = "" if document.year_cost is None else f", {document.year_cost} {document.currency}"
            rows.append(("a year", f"at most {document.year_kwh} kWh in {document.hours_a_year} hours{cost}"))
        rows += [("WARNING", note) for note in document.notes]
        rows += [("NOT CHECKED", what) for what in document.not_checked]
        if rows:
            out.print()
            out.print(labelled(rows))
        out.print()
        out.print(Text(LICENSED))


def _up(watts: float | None) -> str:
    return "?" if watts is None else str(ceil(watts))


def _a(amperes: float | None) -> str:
    return "?" if amperes is None else f"{ceil(amperes * 100) / 100:.2f}"


def _each(amperes: float | None, supplies: int) -> str:
    return _a(amperes) if supplies == 1 or amperes is None else f"{supplies} x {_a(amperes)}"

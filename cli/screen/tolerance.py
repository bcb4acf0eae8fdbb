"""The screen of `tolerance`: the builds that may turn out best, then each unsure price by itself, one as a strip."""

from __future__ import annotations

from decimal import ROUND_FLOOR, Decimal

from rich.console import Console
from rich.text import Text

from cli.screen.page import (
    CAUTIONS,
    Grid,
    grid,
    indented,
    labelled,
    page,
    show_assumed,
    show_frames,
    show_notes,
    show_rest,
)
from cli.screen.why import show_no_build
from solver.reports.report import BuildReport, GradedFigure, PriceStep, Report, ToleranceReport, UnsurePrice
from solver.reports.wording import kilohertz
from solver.room.words import ranked_words


def show_tolerance(report: Report, show: int | None) -> None:
    """Print what unsure prices come to."""
    with page() as out:
        found = report.tolerance
        if found is None:
            show_no_build(out, report)
            return
        title = f"{report.scenario}, {kilohertz(report.sample_rate)}: what is not sure"
        out.print(Text(f"{title}, ranked by {ranked_words(report.criteria)}", "bold"))
        if found.prices:
            out.print(Text(_summary(found)))
        show_notes(out, report.notes)
        out.print()
        out.print(_table(report, found))
        rows = [*([("Over best", OVER_BEST), *_beyond(found)] if found.prices else []), *_today(found)]
        if rows:
            out.print()
            out.print(labelled(rows))
        _prices(out, found.prices)
        _figures(out, found)
        if show is None:
            show_assumed(out, report.assumed)
            return
        build = report.builds[show - 1]
        where = _where(found, show)
        if where:
            out.print()
            out.print(Text(where))
        show_frames(out, build, ranked=True)
        show_rest(out, report, build)
        out.print()
        out.print(Text(CAUTIONS))


OVER_BEST = "what a build costs more than the best one, at the prices at which that is the most"


def _table(report: Report, found: ToleranceReport) -> Grid:
    """The builds; what they may come to cost where prices are not sure."""
    priced = {own.number: own for own in found.builds} if found.prices else {}
    headings = ("", f"cost {report.currency}", *(("may cost", "over best") if priced else ()), "unused", "cooling")
    table = grid(*headings, "order", right=range(len(headings)))
    for build in report.builds:
        own, margin = priced.get(build.rank), build.cooling.margin_k
        span = "" if own is None else own.least if own.least == own.most else f"{own.least} to {own.most}"
        table.add_row(
            str(build.rank),
            build.cost,
            *((span, "" if own is None else own.excess) if priced else ()),
            str(build.unused.total),
            "?" if margin is None else f"{int(margin)} K",
            _order(build),
        )
    return table


def _prices(out: Console, prices: list[UnsurePrice]) -> None:
    if not prices:
        return
    out.print()
    out.print(Text("One price by itself, the others as they are today", "bold"))
    out.print(indented(labelled([(price.item, _told(price)) for price in prices])))
    telling = max(prices, key=lambda price: Decimal(price.at_stake))
    if len(telling.steps) > 1:
        out.print()
        _strip(out, telling)


def _figures(out: Console, found: ToleranceReport) -> None:
    """Needs, air and heat, each by itself, and all at their highest."""
    if not found.figures:
        return
    out.print()
    out.print(Text("Needs, air and heat, each by itself: the cheapest build that works, proven", "bold"))
    rows = [(figure.what, _moving(figure)) for figure in found.figures]
    worst = found.whatever_comes
    if worst is None:
        rows.append(("all at most", "not known: the limit was over first"))
    elif worst.build is None:
        rows.append(("all at most", "nothing works"))
    else:
        margin = "" if worst.margin_k is None else f", then with about {int(worst.margin_k)} K to spare"
        rows.append(("all at most", f"build {worst.build} for {worst.cost}{margin}; it works whatever comes"))
    out.print(indented(labelled(rows)))


def _today(found: ToleranceReport) -> list[tuple[str, str]]:
    """At which figures builds are told, and which do not work at these."""
    if not found.figures:
        return []
    now = ", ".join(f"{figure.what} {_value(figure, figure.now)}" for figure in found.figures)
    rows = [("Today", f"cost, unused and cooling of each build are those of today: {now}")]
    for number in found.not_today:
        figure, step = next((f, s) for f in found.figures for s in f.steps if s.build == number)
        at = f"{figure.what} {_value(figure, step.from_)}"
        rows.append(("NOTE", f"build {number} does not work as things are today; its figures are those of {at}"))
    return rows


def _where(found: ToleranceReport, number: int) -> str:
    """At which figures a build is the cheapest that works, and at which it is shown."""
    steps = [(figure, step) for figure in found.figures for step in figure.steps if step.build == number]
    parts = [f"with {figure.what} {_rounded(step.from_)} to {_value(figure, step.to)}" for figure, step in steps]
    if found.whatever_comes is not None and found.whatever_comes.build == number:
        parts.append(f"with {', '.join(f'{each.what} {_value(each, each.to)}' for each in found.figures)} together")
    if not parts:
        return ""
    shown = "with the first of these" if number in found.not_today else "as things are today"
    return f"Build {number} is the cheapest that works {'; '.join(parts)}. It is shown {shown}."


def _value(figure: GradedFigure, value: str) -> str:
    return f"{_rounded(value)} {figure.unit}"


def _moving(figure: GradedFigure) -> str:
    """From where to where which build works for the least."""
    parts = []
    for step in figure.steps:
        build = "nothing works" if step.build is None else f"build {step.build} for {step.cost}"
        low = "" if step is figure.steps[0] else "then "
        parts.append(f"{low}up to {_rounded(step.to)} {build}")
    known = "" if figure.proven else "; further is not known"
    span = f"{_rounded(figure.from_)} to {_rounded(figure.to)} {figure.unit}, today {_rounded(figure.now)}"
    return f"{span}: {', '.join(parts)}{known}"


def _rounded(value: str) -> str:
    """A figure with one decimal at most, rounded down."""
    return f"{Decimal(value).quantize(Decimal('0.1'), ROUND_FLOOR).normalize():f}"


def _summary(found: ToleranceReport) -> str:
    best = [own.number for own in found.builds if own.corners]
    if len(best) == 1:
        return "Build 1 stays the best whatever the prices turn out to be; proven"
    steady = next(own for own in found.builds if own.number == found.steadiest)
    count = f"{len(best)} builds are the best at some prices; proven that no other is"
    never = "" if steady.corners else ", though it is the best nowhere"
    known = "; proven that no build is over it by less" if found.steadiest_proven else "; not proven to be the least"
    return f"{count}. Build {steady.number} is never more than {steady.excess} over the best{never}{known}"


def _beyond(found: ToleranceReport) -> list[tuple[str, str]]:
    """The budget plays no part: which builds may come to be over it."""
    over = [str(own.number) for own in found.builds if own.over_budget]
    if not over:
        return []
    builds = f"builds {', '.join(over)}" if len(over) > 1 else f"build {over[0]}"
    return [("NOTE", f"the budget of {found.budget} plays no part here: {builds} may come to cost more")]


def _order(build: BuildReport) -> str:
    return ", ".join(f"{line.count} x {line.item}" for line in build.order_lines) or "nothing"


def _told(price: UnsurePrice) -> str:
    """Which build is the best from where to where."""
    span = f"{price.from_} to {price.to}, today {price.now}"
    if len(price.steps) < 2:
        return f"{span}: build {price.steps[0].build} throughout"
    parts = [f"{_under(price.steps[0], price.steps[1])} build {price.steps[0].build}"]
    for before, step in zip(price.steps, price.steps[1:], strict=False):
        parts.append(f"{_over(before, step)} build {step.build}")
    return f"{span}: {', '.join(parts)}"


def _under(step: PriceStep, then: PriceStep) -> str:
    return f"under {step.to}" if step.to == then.from_ else f"up to {step.to}"


def _over(before: PriceStep, step: PriceStep) -> str:
    return f"over {step.from_}" if step.from_ == before.to else f"from {step.from_}"


def _strip(out: Console, price: UnsurePrice) -> None:
    """A line from the lowest price to the highest: which build is the best where, and where today's price is."""
    width = min(out.width, 80) - 4
    low, high = Decimal(price.from_), Decimal(price.to)

    def at(amount: str) -> int:
        return round((Decimal(amount) - low) / (high - low) * (width - 1))

    bar, below = ["-"] * width, [" "] * width
    for step in price.steps:
        start, end = at(step.from_), at(step.to)
        bar[start] = bar[end] = "|"
        name = f" {step.build} "
        if end - start > len(name) + 1:
            middle = (start + end - len(name)) // 2 + 1
            bar[middle : middle + len(name)] = name
    for amount in sorted({price.from_, price.to, *(step.to for step in price.steps)}, key=Decimal):
        start = min(at(amount), width - len(amount))
        if all(mark == " " for mark in below[max(0, start - 1) : start + len(amount) + 1]):
            below[start : start + len(amount)] = amount
    above = " " * at(price.now)
    today = f"{above}v today" if len(above) + 7 <= width else f"{above[:-6]}today v"
    out.print(Text(f"Which build is the best along {price.item}, the others as they are today", "bold"))
    for line in (today, "".join(bar), "".join(below)):
        out.print(Text(f"  {line}"), soft_wrap=True)

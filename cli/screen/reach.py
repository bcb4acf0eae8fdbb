"""The screen of a reach: a table of the most channels of each need, then a step chart of what they cost."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from cli.screen.page import grid, indented, labelled, page, show_assumed, show_notes
from solver.reports.reach import CostStep, Hurdle, MostChannels, NeedReach, ReachReport
from solver.reports.wording import kilohertz

BAR = 16
"""Characters of the longest bar, so that a chart has room at 40 columns."""

ORDERS_BESIDE = 72
"""From so many columns on, orders stand beside the bars."""


def show_reach(report: ReachReport, scenario: str) -> None:
    """Print how far each need reaches; `scenario` is the file to look into where there is no build."""
    with page() as out:
        title = f"{report.scenario}, {kilohertz(report.sample_rate)}"
        if report.outcome == "impossible":
            out.print(Text(f"Impossible, proven: {title}", "bold"))
            out.print(indented(Text("No need can have more where not all can have theirs. For the ways out:")))
            out.print(indented(Text(f"strapwork why {scenario}")))
            return
        if report.outcome == "unknown":
            out.print(Text(f"No answer yet: {title}", "bold"))
            out.print(indented(Text("The search ended before it found a build or proved that there is none.")))
            return
        out.print(Text(f"{title}: most channels of each, every other need kept", "bold"))
        out.print(Text(_summary(report)))
        show_notes(out, report.notes)
        out.print()
        _table(out, report)
        for need in report.needs:
            if len(need.steps) > 1:
                _chart(out, report, need)
        show_assumed(out, report.assumed)


def _summary(report: ReachReport) -> str:
    budget = "no budget is set" if report.budget is None else f"the budget is {report.budget}"
    known = "all proven" if report.proven else "? marks what is not proven: more, or cheaper, may be possible"
    cost = f"{report.cost}{'' if report.cost_proven else '?'} {report.currency}"
    return f"the scenario itself costs {cost}; {budget}; {known}"


def _table(out: Console, report: ReachReport) -> None:
    budget = ["in budget"] if report.budget is not None else []
    columns = ["need or signal", "way", "asked", "from stock", *budget, "any money", "stopped by"]
    table = grid(*columns, right=range(2, len(columns) - 1))
    for need in report.needs:
        name = need.signal if need.bare else f"{need.name} ({need.signal})"
        most = [need.from_stock, *([need.within_budget] if budget else []), need.any_money]
        asked = "-" if need.bare else str(need.asked)
        table.add_row(name, need.direction, asked, *map(_most, most), told_stops(need))
    out.print(table)
    if any(need.from_stock.channels is None and need.from_stock.proven for need in report.needs):
        out.print()
        out.print(Text("no: the other needs cannot be met from stock alone"))


def _most(most: MostChannels) -> str:
    if most.channels is None:
        return "no" if most.proven else "?"
    return f"{most.channels}{'' if most.proven else '?'}"


def told_stops(need: NeedReach) -> str:
    if need.stops is None:
        return "?"
    first = _either(need.stops)
    if need.stops_then is None:
        return f"{first}\nwith more money ?"
    if not need.stops_then:
        return first
    later = _either(need.stops_then)
    return f"{first}, whatever is spent" if later == first else f"{first}\nwith more money, {later}"


def _either(stops: list[Hurdle]) -> str:
    """Each of them could be lifted alone."""
    return "\nor ".join(stop.text for stop in stops)


def _chart(out: Console, report: ReachReport, need: NeedReach) -> None:
    """A row for each step, its bar as long as its cost; `+` in place of `#` beyond the budget."""
    out.print()
    out.print(Text(f"{need.name}: the least that more channels cost", "bold"))
    dearest = max(float(step.cost) for step in need.steps)
    beside = out.width >= ORDERS_BESIDE
    table = grid("channels", f"cost {report.currency}", "", *(["order"] if beside else []), right=(0, 1))
    for step in need.steps:
        mark = "#" if step.within_budget else "+"
        bar = mark * round(BAR * float(step.cost) / dearest) if dearest else ""
        cost = f"{step.cost}{'' if step.proven else '?'}"
        table.add_row(_run(step), cost, bar, *([_order(step)] if beside else []))
    out.print(indented(table))
    if not beside:
        out.print(indented(labelled([(_run(step), f"order {_order(step)}") for step in need.steps])))
    if not all(step.within_budget for step in need.steps):
        out.print(indented(Text("# within the budget, + beyond it")))


def _run(step: CostStep) -> str:
    return str(step.first) if step.first == step.last else f"{step.first}-{step.last}"


def _order(step: CostStep) -> str:
    return ", ".join(f"{line.count} x {line.item}" for line in step.build.order_lines) or "nothing"

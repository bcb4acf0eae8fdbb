"""The documents of phases that are planned: the best way to buy, what makes one possible, what more money saves."""

from __future__ import annotations

from collections.abc import Sequence

from solver.reports.out_of_service import out_of_service
from solver.reports.phases import PhaseTrade
from solver.reports.phasing import builds_of, phases_of, value_of
from solver.reports.report import Clash, Report
from solver.reports.wording import in_words, money
from solver.room.demand import drop
from solver.room.faults import quote
from solver.room.phases import Phases
from solver.search.phases.front import PhasesFront
from solver.search.phases.planning import PhasesPlan
from solver.search.phases.ways import FewerChannels, MayMove, MoreMoney, Way


def planned_report(
    phases: Phases, found: PhasesPlan, clash: Clash | None, ways: Sequence[Way] = (), all_ways: bool = False
) -> Report:
    """The report of a plan, and of what alone makes it possible; whether all such ways were tried."""
    best = found.best
    sure = best is not None and all(best.proven.values())
    own = phases_of(phases, () if best is None else best.standings, () if best is None else best.bought)
    if best is not None:
        values = {c: value_of(phases, c, value, best.figures) for c, value in best.values.items()}
        own = own.model_copy(update={"values": values, "proven": best.proven})
    names = [phases.stretches[n].phase.name for n in found.clash]
    return Report(
        scenario=phases.first.title,
        currency=phases.first.currency,
        sample_rate=phases.first.sample_rate,
        outcome=found.outcome,
        proven=found.outcome == "impossible" or sure,
        criteria=list(phases.first.rank),
        builds=[] if best is None else builds_of(phases, best.standings, best.figures, best.bought, sure),
        phases=own.model_copy(
            update={"clash": names, "ways": [_way(phases, way) for way in ways], "all_ways": all_ways}
        ),
        clash=clash,
        notes=out_of_service(phases.first.scenario),
    )


def front_report(
    phases: Phases, found: PhasesFront, clash: Clash | None, ways: Sequence[Way] = (), all_ways: bool = False
) -> Report:
    """The report of what more money in the first phase saves."""
    report = planned_report(phases, PhasesPlan(found.outcome, clash=found.clash), clash, ways, all_ways)
    trades: list[PhaseTrade] = []
    before: list[int] = []
    for own in found.trades:
        costs = phases.spent(own.bought)
        whole = phases_of(phases, own.standings, own.bought)
        first, total = (money(phases.first, cost) for cost in (costs[0], sum(costs)))
        trades.append(PhaseTrade(first=first, total=total, phases=whole.phases, text=_saved(phases, before, costs)))
        before = costs
    assert report.phases is not None
    return report.model_copy(
        update={
            "proven": found.complete,
            "complete": found.complete,
            "phases": report.phases.model_copy(update={"front": trades}),
        }
    )


def _saved(phases: Phases, before: list[int], costs: list[int]) -> str:
    """What more money in the first phase saves against the way to buy before; nothing of the first one."""
    if not before:
        return ""
    more, less = costs[0] - before[0], sum(before) - sum(costs)
    said = [money(phases.first, amount) for amount in (more, more + less, less)]
    return f"{said[0]} more saves {said[1]} later, {said[2]} in all"


def _way(phases: Phases, way: Way) -> str:
    match way:
        case MoreMoney():
            return " and ".join(_more(phases, budget, amount) for budget, amount in way.more)
        case FewerChannels():
            return in_words(phases.first, drop(way.need, way.amount))
        case MayMove():
            return 'let cards leave their slot once: moves = "once"'


def _more(phases: Phases, budget: int | None, amount: int) -> str:
    given = phases.budget if budget is None else phases.stretches[budget].budget
    where = "all phases together" if budget is None else quote(phases.stretches[budget].phase.name)
    more, before, after = (money(phases.first, own) for own in (amount, given or 0, (given or 0) + amount))
    return f"spend {more} more in {where} ({before} -> {after})"

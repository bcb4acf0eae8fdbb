"""How the document of phases is filled: a plan, and a build that is judged."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from solver.fitted.moves import moves
from solver.fitted.standing import Standing
from solver.judge import phases as judge
from solver.judge.criteria import Figures, figures
from solver.reports.changing import summary
from solver.reports.checking import check_room
from solver.reports.describe import describe_build
from solver.reports.element import BrokenLimit
from solver.reports.phases import PhaseOrder, PhaseReport, PhaseSeat, PhasesReport
from solver.reports.report import BuildReport, OrderLine, Report
from solver.reports.setups import straps_said
from solver.reports.wording import in_words, kelvin, money
from solver.room.build import Build
from solver.room.phases import Bought, Phases, in_phase


def check_phases_report(phases: Phases, build: Build) -> Report:
    """The report of a check: what is wrong in each phase, and between them."""
    bought, wrong = judge.read_orders(phases, build)
    builds = [in_phase(build, stretch.phase.name) for stretch in phases.stretches]
    surveys = [phases.stocked(at, bought) for at in range(len(builds))]
    checked = [check_room(survey, own) for survey, own in zip(surveys, builds, strict=True)]
    names = [stretch.phase.name for stretch in phases.stretches]
    faults = [
        fault.model_copy(update={"text": f"{name}: {fault.text}"})
        for name, own in zip(names, checked, strict=True)
        for fault in own.faults
    ]
    faults += [_fault(phases, own) for own in [*wrong, *judge.broken(phases, builds, bought)]]
    standings = [own.standing for own in checked]
    found = [figures(survey, own) for survey, own in zip(surveys, standings, strict=True)]
    return Report(
        scenario=phases.first.title,
        currency=phases.first.currency,
        sample_rate=phases.first.sample_rate,
        outcome="faulty" if faults else "clean",
        proven=True,
        criteria=list(phases.first.rank),
        builds=builds_of(phases, standings, found, bought, sure=False),
        faults=faults,
        notes=[f"{name}: {note}" for name, own in zip(names, checked, strict=True) for note in own.notes],
        phases=phases_of(phases, standings, bought),
    )


def _fault(phases: Phases, broken: judge.Broken) -> BrokenLimit:
    where = "" if broken.phase is None else f"{phases.stretches[broken.phase].phase.name}: "
    return BrokenLimit(
        rule=broken.rule,
        frame=broken.frame,
        slot=None,
        subject=broken.subject,
        found=broken.used,
        limit=broken.bound,
        unit=broken.unit,
        text=f"{where}{in_words(phases.first, broken.said)}",
    )


def builds_of(
    phases: Phases, standings: Sequence[Standing], found: Sequence[Figures], bought: Sequence[Bought], sure: bool
) -> list[BuildReport]:
    """Each phase's build with its own orders: what is ordered in it, seated or not."""
    reports = []
    for at, (standing, own) in enumerate(zip(standings, found, strict=True)):
        here = [each for each in bought if each.phase == at]
        cost, budget = sum(each.cost for each in here), phases.stretches[at].budget
        update = {
            "cost": money(phases.first, cost),
            "order_lines": [_line(phases, each) for each in here],
            "budget_left": None if budget is None else money(phases.first, budget - cost),
        }
        reports.append(describe_build(standing.survey, standing, own, at + 1, sure).model_copy(update=update))
    return reports


def _line(phases: Phases, bought: Bought) -> OrderLine:
    price, total = (money(phases.first, amount) for amount in (bought.offer.price, bought.cost))
    return OrderLine(item=bought.offer.item, count=bought.count, price=price, total=total)


def phases_of(phases: Phases, standings: Sequence[Standing], bought: Sequence[Bought]) -> PhasesReport:
    """What is ordered, seated and moved in each phase; of phases that do not stand only what they ask for."""
    survey = phases.first
    costs = phases.spent(bought)
    reports = []
    removed = 0
    before: Standing | None = None
    for at, stretch in enumerate(phases.stretches):
        report = PhaseReport(
            name=stretch.phase.name,
            needs=[need.name for need in stretch.survey.needs],
            budget=None if stretch.budget is None else money(survey, stretch.budget),
            cost=money(survey, costs[at]),
            build=at + 1 if standings else None,
            orders=_orders(phases, at, standings, bought),
        )
        if standings:
            here, there = _seats(standings[at]), [] if before is None else _seats(before)
            gone = [seat for seat in there if seat not in here]
            removed += len(gone)
            update: dict[str, object] = {"seated": [seat for seat in here if seat not in there], "removed": gone}
            if before is not None:
                moved = moves([before], [standings[at]])
                update["change"] = "nothing to do" if moved.nothing else summary(moved, several=False)
                update["straps"] = [line for frame in moved.frames for line in straps_said(frame)]
            report = report.model_copy(update=update)
            before = standings[at]
        reports.append(report)
    return PhasesReport(
        phases=reports,
        moves=phases.moves,
        cost_of=phases.cost_of,
        budget=None if phases.budget is None else money(survey, phases.budget),
        total=money(survey, sum(costs)) if standings else None,
        moved=removed,
    )


def _orders(phases: Phases, at: int, standings: Sequence[Standing], bought: Sequence[Bought]) -> list[PhaseOrder]:
    """What is ordered in a phase; of an item that is not all seated then, the last ones are kept."""
    stock = phases.stocked(at, bought).stock
    left = Counter(stock) - standings[at].items if standings else Counter[str]()
    found = []
    for own in reversed([each for each in bought if each.phase == at]):
        kept = min(own.count, left[own.offer.item])
        left[own.offer.item] -= kept
        line = _line(phases, own)
        found.append(PhaseOrder(**line.model_dump(), kept=kept))
    return found[::-1]


def _seats(standing: Standing) -> list[PhaseSeat]:
    return [
        PhaseSeat(frame=frame.site.name, slots=list(seat.covers), card=seat.kind.id)
        for frame in standing.frames
        for seat in sorted(frame.seats, key=lambda seat: seat.slot)
    ]


def value_of(phases: Phases, criterion: str, value: int, found: Sequence[Figures]) -> str | None:
    """A criterion over all phases as it is shown; cooling as the least margin."""
    if criterion == "cost":
        return money(phases.first, value)
    if criterion == "cooling":
        margins = [own.margin_mk for own in found if own.margin_mk is not None]
        return kelvin(min(margins)) if margins else None
    return str(value)

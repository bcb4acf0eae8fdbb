"""Several kinds of day on one seating, as documents have it: the plan, and a build that is judged."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

from solver.fitted.moves import FrameMoves, moves
from solver.fitted.plugged import Place, left_plugged, lines_of, plugged_anew
from solver.fitted.standing import Standing
from solver.handover.wiring import Wiring
from solver.judge.criteria import Figures, figures
from solver.reports.changing import summary
from solver.reports.checking import check_room
from solver.reports.describe import describe_build
from solver.reports.element import BrokenLimit
from solver.reports.out_of_service import out_of_service
from solver.reports.report import Clash, Report, SetupChange, SetupDay, SetupsReport
from solver.reports.wording import kelvin, kilohertz, money
from solver.reports.working import work_steps
from solver.room.build import Build
from solver.room.setups import Day, Setups, of_day
from solver.room.survey import Survey
from solver.room.words import Direction, write_ranges
from solver.search.days.planning import DaysPlan


def planned_report(setups: Setups, found: DaysPlan, clash: Clash | None) -> Report:
    """The report of a plan."""
    best = found.best
    sure = best is not None and all(best.proven.values())
    days = () if best is None else list(zip(setups.days, best.standings, best.figures, strict=True))
    survey = setups.first
    return Report(
        scenario=survey.title,
        currency=survey.currency,
        sample_rate=survey.scenario.sample_rate,
        outcome=found.outcome,
        proven=found.outcome == "impossible" or sure,
        criteria=list(survey.rank),
        builds=[
            describe_build(day.survey, own, each, n, sure, {} if best is None else best.proven)
            for n, (day, own, each) in enumerate(days, 1)
        ],
        setups=_setups(
            setups,
            () if best is None else best.standings,
            {} if best is None else {c: _value(survey, c, v, best.figures[0]) for c, v in best.values.items()},
            {} if best is None else best.proven,
            [setups.days[n].setup.name for n in found.clash],
        ),
        clash=clash,
        notes=out_of_service(survey.scenario),
    )


def check_setups_report(setups: Setups, build: Build) -> Report:
    """The report of a check: what is wrong on each kind of day, and where the cards are not the same on all."""
    survey = setups.first
    checked = [check_room(day.survey, of_day(build, day.setup.name)) for day in setups.days]
    faults = [
        fault.model_copy(update={"text": f"{day.setup.name}: {fault.text}"})
        for day, own in zip(setups.days, checked, strict=True)
        for fault in own.faults
    ]
    faults += _not_one_seating(setups, build)
    return Report(
        scenario=survey.title,
        currency=survey.currency,
        sample_rate=survey.scenario.sample_rate,
        outcome="faulty" if faults else "clean",
        proven=True,
        criteria=list(survey.rank),
        builds=[
            describe_build(day.survey, own.standing, figures(day.survey, own.standing), n, False)
            for n, (day, own) in enumerate(zip(setups.days, checked, strict=True), 1)
        ],
        faults=faults,
        notes=[
            f"{day.setup.name}: {note}" for day, own in zip(setups.days, checked, strict=True) for note in own.notes
        ],
        setups=_setups(setups, [own.standing for own in checked], {}, {}, []),
    )


def _not_one_seating(setups: Setups, build: Build) -> list[BrokenLimit]:
    """Frames whose board or cards are other ones on another day, or whose straps are and were to be the same."""
    found = []
    first, *others = [{f.name: f for f in of_day(build, day.setup.name).frame} for day in setups.days]
    for day, other in zip(setups.days[1:], others, strict=True):
        for name in sorted({*first, *other}):
            mine, theirs = first.get(name), other.get(name)
            what = "cards"
            if mine is not None and theirs is not None:
                alike = [mine.board == theirs.board, mine.cards == theirs.cards]
                alike.append(setups.straps != "same" or mine.straps == theirs.straps)
                if all(alike):
                    continue
                what = ("board", "cards", "straps")[alike.index(False)]
            text = f"frame {name}: {what} on {day.setup.name} are not those on {setups.days[0].setup.name}"
            found.append(
                BrokenLimit(
                    rule="one-seating", frame=name, slot=None, subject=what, found=1, limit=0, unit="frames", text=text
                )
            )
    return found


def _setups(
    setups: Setups,
    standings: Sequence[Standing],
    values: dict[str, str | None],
    proven: dict[str, bool],
    clash: list[str],
) -> SetupsReport:
    return SetupsReport(
        days=[
            SetupDay(
                name=day.setup.name,
                sample_rate=day.survey.sample_rate,
                needs=[need.name for need in day.survey.needs],
                share=day.setup.share,
                build=n if standings else None,
            )
            for n, day in enumerate(setups.days, 1)
        ],
        straps=setups.straps,
        over=setups.over,
        values=values,
        proven=proven,
        changes=_changes(setups, standings),
        clash=clash,
    )


def _value(survey: Survey, criterion: str, value: int, first: Figures) -> str | None:
    """A criterion over all days as it is shown; cooling as its margin."""
    if criterion == "cost":
        return money(survey, value)
    if criterion == "cooling":
        return None if first.margin_mk is None else kelvin(first.margin_mk)
    return str(value)


def _changes(setups: Setups, standings: Sequence[Standing]) -> list[SetupChange]:
    """What is done from each kind of day to the next, and from the last one back to the first.

    What a day does not need stays plugged until something else is to have its place.
    """
    if len(standings) < 2:
        return []
    plugged = lines_of(standings[0])
    found = []
    for index in (*range(1, len(standings)), 0):
        wanted = lines_of(standings[index])
        anew = plugged_anew(plugged, wanted)
        here = {need for need, _ in wanted.values()}
        plugged = {place: line for place, line in plugged.items() if line[0] not in here} | wanted
        found.append(_change(setups, standings, index, anew))
    return found


def _change(setups: Setups, standings: Sequence[Standing], index: int, anew: list[Place]) -> SetupChange:
    """What is done from the kind of day before to one, on which some card channels are to be plugged otherwise."""
    (earlier, before), (day, after) = ((setups.days[n], standings[n]) for n in (index - 1, index))
    moved = moves([before], [after])
    retyped = tuple(move for move in moved.numbers if move.renumbered)
    sections = work_steps([before], Wiring((after,)), left_plugged(moved, anew), retyped=len(retyped))
    minutes = [(step.minutes_least, step.minutes_most) for section in sections for step in section.steps]
    unplugged = replace(moved, numbers=retyped)
    said = [_off_first(earlier, day)] if sections else []
    said += ["every lid stays on"] if sections and unplugged.nothing else []
    said += [] if unplugged.nothing else [summary(unplugged, several=False)]
    said += [_to_plug(anew)] if anew else []
    if (rate := day.survey.sample_rate) != earlier.survey.sample_rate:
        said.append(f"clock source and recorder to {kilohertz(rate)}")
    return SetupChange(
        before=earlier.setup.name,
        after=day.setup.name,
        straps=[line for frame in moved.frames for line in straps_said(frame)],
        text="; ".join(said) or "nothing to do",
        minutes_least=sum(least for least, _ in minutes),
        minutes_most=sum(most for _, most in minutes),
    )


def _off_first(*days: Day) -> str:
    phantom = any(need.signal == "mic" for day in days for need in day.survey.needs)
    return f"amplifiers{' and phantom power' if phantom else ''} off first"


def _to_plug(anew: Collection[Place]) -> str:
    """The looms that carry something else than was plugged there, by slots, and how many channels that are."""
    looms: dict[tuple[str, Direction], set[int]] = {}
    for frame, direction, slot, _ in anew:
        looms.setdefault((frame, direction), set()).add(slot)
    where = [
        f"{frame} slot{'s' if len(own) > 1 else ''} {write_ranges(sorted(own))} {direction}"
        for (frame, direction), own in sorted(looms.items())
    ]
    return f"{len(anew)} channel{'s' if len(anew) > 1 else ''} to plug otherwise (looms of {', '.join(where)})"


def straps_said(frame: FrameMoves) -> list[str]:
    """The straps of a frame as a person would say it."""
    links = {
        verb: [move.strap for move in frame.straps if move.strap is not None and move.after == state]
        for verb, state in (("open", "open"), ("close", "closed"))
    }
    said = [f"{verb} {', '.join(straps)}" for verb, straps in links.items() if straps]
    said += [f"set {move.group} to {move.after}" for move in frame.straps if move.strap is None]
    return [f"{frame.frame}: {', '.join(said)}"] if said else []

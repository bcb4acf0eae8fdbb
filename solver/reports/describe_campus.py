"""From a campus that stands to the report that screens and JSON are drawn from: rooms beside builds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any, Literal, Protocol

from solver import rules
from solver.fitted.unknown import merged, so_not_checked
from solver.judge import audit
from solver.judge.campus import Campus, CampusFigures, CampusStanding, figures
from solver.judge.criteria import Figures
from solver.reports.broken import broken_limits
from solver.reports.checking import assumed_marked, check_room
from solver.reports.describe import describe_build, shortage_notes, slack_notes
from solver.reports.element import BrokenLimit
from solver.reports.report import BuildReport, CauseReport, Clash, Report, RoomReport, Spare, Unused
from solver.reports.why import clash_report
from solver.reports.wording import kelvin, money
from solver.room.build import Build
from solver.room.words import Direction


class Best(Protocol):
    """What a search of a campus found."""

    @property
    def standing(self) -> CampusStanding:
        """Every room's build, and what they share."""

    @property
    def figures(self) -> CampusFigures:
        """What the builds come to together, in minor units and channels."""

    @property
    def proven(self) -> bool:
        """Whether every stage is."""

    @property
    def stages(self) -> Mapping[str, bool]:
        """Stages by name, and whether each is proven."""

    @property
    def bounds(self) -> Mapping[str, int]:
        """What a stage that is not proven comes to at least."""


def describe_campus(
    campus: Campus,
    standing: CampusStanding,
    found: CampusFigures,
    proven: bool,
    stages: Mapping[str, bool] | None = None,
    bounds: Mapping[str, int] | None = None,
) -> tuple[BuildReport, list[RoomReport]]:
    """The build of all rooms, and each room of it."""
    stages = dict(stages or {})
    unknown = merged(standing.unknowns())
    own = [
        describe_build(survey, room, own_figures, 1, proven)
        for survey, room, own_figures in zip(campus.rooms, standing.rooms, found.rooms, strict=True)
    ]
    rooms = [
        RoomReport(
            name=survey.room or "",
            sample_rate=survey.sample_rate,
            frames=[frame.name for frame in room.frames],
            unused=room.unused,
            cooling=room.cooling.model_copy(update={"room": survey.room}),
            from_stock=supply.from_stock,
            ordered=supply.ordered,
            spare=room.spare,
        )
        for survey, room, supply in zip(campus.rooms, own, standing.supplies(), strict=True)
    ]
    purse = campus.purse
    warmest = found.warmest
    shared = describe_build(purse, standing.joint, _joint(found), 1, proven, stages)
    build = shared.model_copy(
        update={
            "frames": [frame for room in own for frame in room.frames],
            "bounds": {c: _amount(campus, c, bound) for c, bound in (bounds or {}).items() if not stages.get(c)},
            "cooling": rooms[0 if warmest is None else warmest].cooling,
            "short": [
                short.model_copy(update={"room": survey.room, "text": f"room {survey.room}: {short.text}"})
                for survey, room in zip(campus.rooms, own, strict=True)
                for short in room.short
            ],
            "air": [
                f"room {survey.room}: {told}"
                for survey, room in zip(campus.rooms, own, strict=True)
                for told in room.air
            ],
            "unused": Unused(stranded=found.stranded, holes=found.holes, idle=found.idle, total=found.unused),
            "spare": _spare(rooms),
            "warnings": _warnings(campus, found),
            "not_checked": [so_not_checked(what, why) for what, why in unknown.items()],
            "unknown": dict(unknown),
        }
    )
    return build, rooms


def _joint(found: CampusFigures) -> Figures:
    """Figures of the whole in the shape of a room's."""
    rooms = found.rooms
    return Figures(
        cost=found.cost,
        stranded=found.stranded,
        holes=found.holes,
        idle=found.idle,
        margin_mk=found.margin_mk,
        level=found.level,
        hottest=None,
        misfit=sum(room.misfit for room in rooms),
        cards=sum(room.cards for room in rooms),
        closed=sum(room.closed for room in rooms),
        short=found.short,
        short_needs=found.short_needs,
    )


def _amount(campus: Campus, criterion: str, bound: int) -> str:
    if criterion == "cost":
        return money(campus.purse, bound)
    if criterion == "cooling":
        return kelvin(bound * campus.purse.step_mk)
    return str(bound)


def _spare(rooms: Sequence[RoomReport]) -> list[Spare]:
    """Spare channels over all rooms; scarce where they are so in any room."""
    found: dict[tuple[Any, tuple[str, ...]], Spare] = {}
    for room in rooms:
        for spare in room.spare:
            key = (spare.direction, tuple(spare.signals))
            before = found.get(key)
            found[key] = spare.model_copy(
                update={
                    "channels": spare.channels + (before.channels if before else 0),
                    "scarce": spare.scarce or (before is not None and before.scarce),
                }
            )
    return [found[key] for key in sorted(found)]


def _warnings(campus: Campus, found: CampusFigures) -> list[str]:
    warn = campus.purse.warn_mk
    return [
        f"cooling: {kelvin(own.margin_mk)} of margin in room {survey.room} is under {kelvin(warn)}"
        for survey, own in zip(campus.rooms, found.rooms, strict=True)
        if own.margin_mk is not None and own.margin_mk < warn
    ]


def campus_report(campus: Campus, outcome: Literal["found", "impossible", "unknown"], best: Best | None) -> Report:
    """The report of a plan of several rooms."""
    builds: list[BuildReport] = []
    rooms: list[RoomReport] = []
    if best is not None:
        build, rooms = describe_campus(campus, best.standing, best.figures, best.proven, best.stages, best.bounds)
        builds = [build]
    return Report(
        scenario=campus.purse.title,
        currency=campus.purse.currency,
        sample_rate=campus.purse.scenario.sample_rate,
        outcome=outcome,
        proven=outcome == "impossible" or (best is not None and best.proven),
        criteria=list(campus.purse.rank),
        builds=builds,
        rooms=rooms,
        clash=clash_of_campus(campus) if outcome == "impossible" else None,
        notes=[*shortage_notes(builds), *(slack_notes(campus.purse) if builds else [])],
    )


def check_campus_report(campus: Campus, build: Build) -> Report:
    """The report of a check: every fault of every room and of what they share, and the build's own figures."""
    purse = campus.purse
    broken: list[BrokenLimit] = []
    notes: list[str] = []
    judged = []
    filled = {}
    for survey in campus.rooms:
        own = Build(title=build.title, frame=tuple(frame for frame in build.frame if frame.room == survey.room))
        checked = check_room(survey, own, rules.SHARED)
        judged.append(checked.standing)
        filled[survey.room] = checked.filled
        broken += [
            fault.model_copy(update={"room": survey.room, "text": f"room {survey.room}, {fault.text}"})
            for fault in checked.faults
        ]
        notes += [f"room {survey.room}: {note}" for note in checked.notes]
    standing = CampusStanding(campus, tuple(judged))
    for reading in audit.faults(purse, standing.joint):
        if reading.limit.rule in rules.SHARED:
            broken += broken_limits(purse, reading, standing.joint)
    built, rooms = describe_campus(campus, standing, figures(campus, standing), False)
    return Report(
        scenario=purse.title,
        currency=purse.currency,
        sample_rate=purse.scenario.sample_rate,
        outcome="faulty" if broken else "clean",
        proven=True,
        criteria=list(purse.rank),
        builds=[assumed_marked(built, filled)],
        rooms=rooms,
        faults=broken,
        notes=notes,
    )


def clash_of_campus(campus: Campus) -> Clash:
    """Why a campus is impossible, as far as counting shows it in one room or over all of them."""
    found = []
    missing: list[str] = []
    for survey in campus.rooms:
        own = clash_report(survey)
        found += [cause.model_copy(update={"text": f"room {survey.room}: {cause.text}"}) for cause in own.causes]
        missing += [f"room {survey.room}: {line}" for line in own.not_supplied]
    return Clash(causes=found or _too_few_cards(campus), not_supplied=missing)


def _too_few_cards(campus: Campus) -> list[CauseReport]:
    """Signals for which all cards together have too few channels, each at the rate where it has most of them."""
    purse = campus.purse
    asked: Counter[tuple[Direction, str]] = Counter()
    for survey in campus.rooms:
        for need in survey.needs:
            asked[need.direction, need.signal] += need.demand
    causes = []
    for (direction, signal), channels in sorted(asked.items()):
        counts = {
            card: (purse.most_of(card), max(room.kinds[card].taking(direction, signal) for room in campus.rooms))
            for card in purse.kinds
        }
        if any(count is None and taking for count, taking in counts.values()):
            continue
        most = sum((count or 0) * taking for count, taking in counts.values())
        if most < channels:
            text = (
                f"all rooms: {channels} {signal} {direction}put channels are asked for; "
                f"the cards in stock and on offer have {most}"
            )
            causes.append(CauseReport(code="cards", subject=signal, asked=channels, at_most=most, text=text))
    return causes

"""From ways out and clashing wishes to the part of the report that says why a scenario is impossible."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Literal

from solver import rules
from solver.judge.criteria import Figures
from solver.relax.other import OtherWish
from solver.reports.causes import causes
from solver.reports.report import CauseReport, Change, Clash, HardwareMember, Member, Way
from solver.reports.wording import in_words, money
from solver.room.message import Message
from solver.room.survey import Survey
from solver.room.wish import LID_ON, WORKS, LimitWish
from solver.room.wish import Change as WishChange

if TYPE_CHECKING:  # a check words causes too, and loads no search
    from solver.search.ask.clash import Clash as Searched


@dataclass(frozen=True)
class Found:
    """A way out that was found: its changes, and the figures of the cheapest build that they make possible.

    `instead` names slots of which any would do in place of the kept-empty one that it takes, all else being the same.
    """

    changes: tuple[WishChange, ...]
    figures: Figures
    instead: tuple[int, ...] = ()


By = Literal["work", "money"]


def in_order(ways: Sequence[Found], by: By) -> list[Found]:
    """Ways out by the hardest work in them or by what the cheapest build then costs; fewer changes come first.

    Those that differ in nothing but which slot is kept empty no longer are one.
    """

    def key(way: Found) -> tuple[object, ...]:
        work = max(WORKS.index(change.work) for change in way.changes)
        count, cost = len(way.changes), way.figures.cost
        first = (work, count, cost) if by == "work" else (cost, work, count)
        return *first, [(change.wish.sort, change.wish.rank) for change in way.changes]

    return _merged(sorted(ways, key=key))


def _merged(ways: Sequence[Found]) -> list[Found]:
    found: dict[object, Found] = {}
    for way in ways:
        slots = [change.wish.any_slot[1] for change in way.changes if change.wish.any_slot]
        if len(slots) != 1:
            found[way.changes] = way
            continue
        others = [(c.wish.any_slot[0] if c.wish.any_slot else c.wish, c.amount, c.choice) for c in way.changes]
        alike = (*others, way.figures.cost)
        first = found.setdefault(alike, way)
        if first is not way:
            found[alike] = replace(first, instead=(*first.instead, *slots))
    return list(found.values())


def clash_report(survey: Survey, ways: Sequence[Found] = (), searched: Searched | None = None) -> Clash:
    """Why a room is impossible: what counting shows, and what a search did, if there was one. Ways keep their order."""
    counted = Clash(
        causes=[
            CauseReport(code=c.code, subject=c.subject, asked=c.asked, at_most=c.at_most, text=c.text)
            for c in causes(survey)
        ],
        not_supplied=[in_words(survey, said) for rule in rules.LIST for said in rule.remarks(survey)],
    )
    if searched is None:
        return counted
    return Clash(
        causes=counted.causes,
        ways=[_way(survey, way) for way in ways],
        complete=searched.complete,
        because=[
            Member(rule=wishes[0].sort, path=wishes[0].path(survey), text=in_words(survey, message))
            for wishes, message in _told_together(survey, searched.because)
        ],
        hardware=[HardwareMember(rule=own.rule, text=in_words(survey, own.said)) for own in searched.hardware],
        minimal=searched.minimal,
        searched=searched.searched,
        left_out=searched.sets_left,
        other_amounts=searched.amounts_left,
        no_help_alone=[kind.words for kind in searched.tried_alone if not any(map(partial(_is_one, kind), ways))],
        not_supplied=counted.not_supplied,
    )


def _is_one(kind: type[OtherWish], way: Found) -> bool:
    """Whether a way out is a change of a kind and nothing else."""
    return len(way.changes) == 1 and isinstance(way.changes[0].wish, kind)


def _told_together(survey: Survey, wishes: Sequence[LimitWish]) -> list[tuple[Sequence[LimitWish], Message]]:
    """LimitWishes that cannot all be kept, in order; those that say the same of several slots or items as one."""
    kinds: dict[type[LimitWish], list[LimitWish]] = {}
    for wish in wishes:
        kinds.setdefault(type(wish), []).append(wish)
    found = [told for kind, own in kinds.items() for told in kind.kept_together(survey, own)]
    return sorted(found, key=lambda told: told[0][0].rank)


def _way(survey: Survey, way: Found) -> Way:
    return way_report(survey, way.changes, way.figures.cost, way.instead)


def way_report(
    survey: Survey, made: Sequence[WishChange], cost: int | None, instead: Sequence[int] = (), where: str = ""
) -> Way:
    """A way out as the report has it. Cost in minor units; `instead` names slots that would do as well."""
    changes = []
    for change in made:
        before, after = (
            None if value is None else in_words(survey, value) for value in change.wish.values(survey, change)
        )
        slots = instead if change.wish.any_slot else ()
        changes.append(
            Change(
                path=change.wish.path(survey),
                before=before,
                after=after,
                work=change.work,
                instead=list(slots),
                text=where + in_words(survey, change.wish.told(survey, change, slots)),
            )
        )
    return Way(
        changes=changes,
        cost=None if cost is None else money(survey, cost),
        work=max((change.work for change in made), key=WORKS.index),
        lid_on=all(change.work in LID_ON for change in made),
    )

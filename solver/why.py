"""From ways out and clashing wishes to the part of the report that says why a scenario is impossible."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from solver.causes import causes, kilohertz, money
from solver.criteria import Figures
from solver.report import CauseReport, Change, Clash, Member, Way
from solver.rules.rails import draws_text, shut_out
from solver.survey import Survey
from solver.wishes import LID_ON, WORKS, Key, change_text, member_texts, need_at, parts_of, path_of, reserve_percent
from solver.wishes import Change as WishChange


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
        return *first, [str(change.key) for change in way.changes]

    return _merged(sorted(ways, key=key))


def _merged(ways: Sequence[Found]) -> list[Found]:
    found: dict[object, Found] = {}
    for way in ways:
        slots = [int(change.key[2]) for change in way.changes if change.key[0] == "empty"]
        if len(slots) != 1:
            found[way.changes] = way
            continue
        others = [(c.key[:2] if c.key[0] == "empty" else c.key, c.amount, c.choice) for c in way.changes]
        alike = (*others, way.figures.cost)
        first = found.setdefault(alike, way)
        if first is not way:
            found[alike] = replace(first, instead=(*first.instead, *slots))
    return list(found.values())


TRIED_ALONE = {"rate": "a lower sample rate", "board": "another board", "frame": "one more frame"}
"""Changes that loosen no limit, in words."""


def clash_report(
    survey: Survey,
    ways: Sequence[Found] = (),
    because: Sequence[Key] = (),
    *,
    complete: bool = False,
    minimal: bool = False,
    searched: bool = False,
    left_out: int = 0,
    other_amounts: int = 0,
    tried_alone: Sequence[str] = (),
) -> Clash:
    """Why a room is impossible; without ways and wishes as far as counting shows it. Ways keep their order."""
    return Clash(
        causes=[
            CauseReport(code=c.code, subject=c.subject, asked=c.asked, at_most=c.at_most, text=c.text)
            for c in causes(survey)
        ],
        ways=[_way(survey, way) for way in ways],
        complete=complete,
        because=[
            Member(rule=str(keys[0][0]), path=path_of(survey, keys[0]), text=text)
            for keys, text in member_texts(survey, because)
        ],
        minimal=minimal,
        searched=searched,
        left_out=left_out,
        other_amounts=other_amounts,
        tried_alone=[TRIED_ALONE[kind] for kind in tried_alone],
        not_supplied=[
            f"{chassis} supplies no {rail}; {draws_text([(item, 1, draw) for item, draw in drawing])}"
            for chassis, rail, drawing in shut_out(survey)
        ],
    )


def _way(survey: Survey, way: Found) -> Way:
    changes = []
    for change in way.changes:
        before, after = _values(survey, change)
        instead = way.instead if change.key[0] == "empty" else ()
        changes.append(
            Change(
                path=path_of(survey, change.key),
                before=before,
                after=after,
                work=change.work,
                instead=list(instead),
                text=change_text(survey, change, instead),
            )
        )
    hardest = max((change.work for change in way.changes), key=WORKS.index)
    lid_on = all(change.work in LID_ON for change in way.changes)
    return Way(changes=changes, cost=money(survey, way.figures.cost), work=hardest, lid_on=lid_on)


def _values(survey: Survey, change: WishChange) -> tuple[str | None, str | None]:
    """What the scenario says before and after a change."""
    key, amount = change.key, change.amount
    match key[0]:
        case "budget":
            return money(survey, survey.budget or 0), money(survey, (survey.budget or 0) + amount)
        case "need":
            need = need_at(survey, int(key[1]))
            return str(need.demand), str(need.demand - amount)
        case "item":
            most = survey.most_of(str(key[1])) or 0
            return str(most), str(most + amount)
        case "must_seat":
            count = next(n for _, n, place in survey.must_seat if place == key[1])
            return str(count), str(count - amount)
        case "pin":
            site = next(site for site in survey.frames if site.name == key[1])
            return site.spec.pins[str(key[2])], None
        case "empty":
            return "empty", None
        case "strap":
            site = next(site for site in survey.frames if site.name == key[1])
            return site.spec.straps[str(key[2])], str(change.choice)
        case "board":
            site = next(site for site in survey.frames if site.name == key[1])
            return site.spec.board, str(change.choice)
        case "margin":
            least = survey.scenario.limits.refuse_below_k.normalize()
            return f"{least:f} K", f"{(least - amount).normalize():f} K"
        case "reserve":
            return f"{reserve_percent(survey)} %", f"{reserve_percent(survey) - amount} %"
        case "rate":
            return kilohertz(survey.sample_rate), kilohertz(int(change.choice or 0))
    return None, " with ".join(parts_of(survey, str(key[1])))

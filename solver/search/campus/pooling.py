"""Alike kinds of card taken as one: same ports and span, so that a room's numbers do not depend on which it gets.

A pool draws and warms as little as its best member, so that nothing is lost by pooling; afterwards every room is dealt
kinds whose rails and heat are its own.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from solver import rules
from solver.judge.campus import Campus
from solver.physics.heat import permitted_heat_mw
from solver.room.kind import Kind
from solver.room.survey import Survey, cheapest_first
from solver.rules.limit import Term
from solver.search.campus.purse import Purse
from solver.search.model.allotment import Allotment
from solver.search.model.buying import buy
from solver.search.model.cpsat import Model, cp_model, steady_solver
from solver.search.model.services import add, expression
from solver.search.solve.clock import Clock

FINE = 1000
"""Heat of a room is compared in so many parts of what its air carries off."""


@dataclass(frozen=True)
class Pools:
    """A campus with pools in place of kinds, and the kinds of each pool, which is called by the first of them."""

    campus: Campus
    kinds: Mapping[str, tuple[str, ...]]


def pool(campus: Campus) -> Pools | None:
    """Pool what can be had of alike kinds; None where no two are alike."""
    natures: dict[str, list[str]] = {}
    for card in sorted(campus.purse.kinds):
        if campus.purse.most_of(card) != 0:
            natures.setdefault(_nature(campus, card), []).append(card)
    kinds = {cards[0]: tuple(cards) for cards in natures.values() if len(cards) > 1}
    if not kinds:
        return None
    return Pools(Campus(tuple(_pooled(room, kinds) for room in campus.rooms)), kinds)


def _nature(campus: Campus, card: str) -> str:
    """What a room's numbers depend on, at every rate of the campus, and what rules set kinds apart by."""
    families = {room.family: room for room in campus.rooms}
    shapes = [(f, families[f].kinds[card].span, _channels(families[f].kinds[card])) for f in sorted(families)]
    apart = [rule.separates(room, room.kinds[card]) for room in campus.rooms for rule in rules.LIST]
    return repr((shapes, apart))


def _channels(kind: Kind) -> list[object]:
    return [
        (side, [(c.index, c.line_type.key, c.line) for c in channels])
        for side, channels in sorted(kind.channels.items())
    ]


def _pooled(survey: Survey, pools: Mapping[str, tuple[str, ...]]) -> Survey:
    away = {card for cards in pools.values() for card in cards[1:]}
    kinds = {card: kind for card, kind in survey.kinds.items() if card not in away}
    stock = {item: count for item, count in survey.stock.items() if item not in away}
    offers = {item: own for item, own in survey.offers.items() if item not in away}
    for name, cards in pools.items():
        kinds[name] = _best([survey.kinds[card] for card in cards])
        stock[name] = sum(survey.stock.get(card, 0) for card in cards)
        merged = [dataclasses.replace(o, item=name) for card in cards for o in survey.offers.get(card, ())]
        offers[name] = cheapest_first(merged)
    return dataclasses.replace(survey, kinds=dict(sorted(kinds.items())), stock=stock, offers=offers)


def _best(kinds: Sequence[Kind]) -> Kind:
    """A kind that draws and warms as little as any of some, and stands as much."""
    draws = [kind.rails_ma or {} for kind in kinds]
    limits = [kind.air_limit_mk for kind in kinds if kind.air_limit_mk is not None]
    return dataclasses.replace(
        kinds[0],
        heat_mw=min(kind.heat_mw or 0 for kind in kinds),
        rails_ma={rail: min(own.get(rail, 0) for own in draws) for rail in sorted({r for own in draws for r in own})},
        air_limit_mk=max(limits) if len(limits) == len(kinds) else None,
    )


def deal(
    pools: Pools,
    purse: Purse,
    surveys: Sequence[Survey],
    rooms: Sequence[tuple[int, Allotment]],
    money: int | None,
    refused: Sequence[tuple[int, Allotment, Allotment]],
    clock: Clock,
) -> list[Allotment] | None:
    """Kinds for every room, the warmest room's heat as low as can be; None if there are none.

    Parameters
    ----------
    surveys, rooms
        Room by room its survey, its group, and what it takes of each pool.
    money
        The most that may be spent, in the purse's units.
    refused
        Group, allotment of pools, allotment of kinds: deals that could not be seated.
    """
    model = Model()
    given = [_given(model, pools, allotment) for _, allotment in rooms]
    spent: list[tuple[int, Term]] = []
    for item in purse.items:
        used = [(1, own[item]) for own in given if item in own]
        most = sum(dict(a.items).get(p, 0) for _, a in rooms for p in (item, *_pools_of(pools, item)))
        spent += buy(model, used, purse.stock(item), purse.offers(item), most)
    if money is not None and spent:
        model.add(expression(spent) <= money)
    elif purse.survey.budget is not None and spent:
        model.add(expression(spent) <= purse.survey.budget // purse.unit)
    warmest = model.new_int_var(0, FINE * FINE, "")
    for survey, own in zip(surveys, given, strict=True):
        _carry(model, survey, own)
        air = _air(survey)
        if air:
            heat = sum((survey.kinds[c].heat_mw or 0) * n for c, n in own.items() if c in survey.kinds)
            model.add(FINE * heat <= air * warmest)
    for group, pooled, dealt in refused:
        for room, own in zip(rooms, given, strict=True):
            if room == (group, pooled):
                _not_again(model, own, dict(dealt.items))
    if "cooling" in purse.survey.rank:
        model.minimize(warmest)
    solver = steady_solver()
    solver.parameters.max_deterministic_time = 2.0
    if clock.solve(solver, model) not in ("proven", "found"):
        return None
    found = []
    for (_, allotment), own in zip(rooms, given, strict=True):
        counts = {item: n if isinstance(n, int) else solver.value(n) for item, n in own.items()}
        items = tuple(sorted((item, n) for item, n in counts.items() if n))
        found.append(dataclasses.replace(allotment, items=items))
    return found


def _given(model: cp_model.CpModel, pools: Pools, allotment: Allotment) -> dict[str, Any]:
    """How many of each item a room gets: numbers, and terms for the kinds of a pool."""
    own: dict[str, Any] = {}
    for item, count in allotment.items:
        if item not in pools.kinds:
            own[item] = count
            continue
        for card in pools.kinds[item]:
            own[card] = model.new_int_var(0, count, "")
        model.add(sum(own[card] for card in pools.kinds[item]) == count)
    return own


def _not_again(model: cp_model.CpModel, own: Mapping[str, Any], refused: Mapping[str, int]) -> None:
    """A room gets fewer of some kind than what could not be seated has."""
    fewer = []
    for card, n in own.items():
        if not isinstance(n, int) and refused.get(card, 0):
            less = model.new_bool_var("")
            model.add(n <= refused[card] - 1).only_enforce_if(less)
            fewer.append(less)
    model.add_bool_or(fewer)


def _pools_of(pools: Pools, item: str) -> list[str]:
    return [name for name, cards in pools.kinds.items() if item in cards and item != name]


def _carry(model: cp_model.CpModel, survey: Survey, own: Mapping[str, Any]) -> None:
    """Rails of a room of one frame carry the kinds that it gets; of several frames the seats decide."""
    if len(survey.frames) != 1 or survey.frames[0].rails_ma is None or survey.frames[0].spec.board is None:
        return
    site = survey.frames[0]
    board = site.board_rails_ma[site.spec.board or ""] or {}
    for rail, most in (site.rails_ma or {}).items():
        load = [((survey.kinds[c].rails_ma or {}).get(rail, 0), n) for c, n in own.items() if c in survey.kinds]
        total = sum(amount * n for amount, n in load) + board.get(rail, 0)
        add(model, total <= most)


def _air(survey: Survey) -> int:
    """What the air of a room's frames carries off at enough margin, in mW; 0 where that is not known."""
    limits = [kind.air_limit_mk for kind in survey.kinds.values() if kind.air_limit_mk is not None]
    if not limits:
        return 0
    return sum(
        max(0, permitted_heat_mw(site.air, min(limits), survey.enough_mk)) * site.gaps
        for site in survey.frames
        if site.air is not None
    )

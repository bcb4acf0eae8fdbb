"""Which lines can serve which needs, as rows of a model.

Signals that lines can exchange form a component, each with what else is asked of the lines. Where all lines of a
component have one grain, the needs can be met exactly when every set of its signals finds enough lines that take one of
them (Hall's theorem on the transportation problem of signals and types of line), so no variable has to say which line
serves what. Other components, and whatever asks how many other signals are given up, count the lines of each type that
serve each need.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Any

from solver.room.kind import LineType
from solver.room.survey import Need
from solver.room.traits import Ask
from solver.room.words import Direction
from solver.rules.limit import Load, Term
from solver.search.model.cpsat import cp_model

MOST_SIGNALS = 6
"""Groups of more signals than this count lines: the sets of signals would be too many."""


def expression(load: Load) -> Any:
    """A load as an expression of a model, or a plain number where nothing moves."""
    fixed = 0
    amounts, terms = [], []
    for amount, term in load:
        if isinstance(term, int):
            fixed += amount * term
        elif amount:
            amounts.append(amount)
            terms.append(term)
    if not terms:
        return fixed
    return cp_model.LinearExpr.weighted_sum(terms, amounts) + fixed


def upper(term: Term) -> int:
    """The greatest value that a term of a load can have."""
    if isinstance(term, int):
        return term
    return int(term.domain.max()) if isinstance(term, cp_model.IntVar) else 1


def add(model: cp_model.CpModel, constraint: Any) -> None:
    """Add a constraint that may have turned out to be a plain truth value."""
    if not isinstance(constraint, bool):
        model.add(constraint)
    elif not constraint:
        model.add_bool_or([])


@dataclass
class Component:
    """Needs of one direction and the types of line that can serve any of them."""

    direction: Direction
    needs: list[Need]
    types: list[LineType]

    @property
    def grain(self) -> int | None:
        """Channels a line, where all lines have as many."""
        grains = {t.grain for t in self.types}
        return grains.pop() if len(grains) == 1 else None


def _none(*_: object) -> Sequence[Term]:
    """No lines are taken where no need asks for certain numbers."""
    return ()


@dataclass(frozen=True, slots=True)
class _Asker:
    """Needs that the same types of line serve."""

    types: frozenset[LineType]
    needs: frozenset[Need]


@dataclass
class Services:
    """What the rules say about services: who may serve, what is asked, what there is, and that lines are not shared."""

    may: dict[Need, list[LineType]] = field(default_factory=dict)
    asked: dict[Need, Any] = field(default_factory=dict)
    """Channels asked for: a number, or an expression where a need may give way or be short."""
    supply: dict[tuple[Direction, LineType], list[tuple[int, Term]]] = field(default_factory=dict)
    once: set[Direction] = field(default_factory=set)
    """Directions in which a line serves one need at most."""
    short: int = 0
    """So many channels may be short of the needs that are nice to have, together."""
    whole_cards: bool = True
    """Whether rows are also stated as they follow for whole cards; over runs that makes models much harder."""
    numbered: set[Need] = field(default_factory=set)
    """Needs that ask for certain numbers: the numbering sees to it that they have their lines."""
    taken: Callable[[cp_model.CpModel, Direction, Collection[LineType], Collection[LineType]], Sequence[Term]] = _none
    """Lines of some types that these have, each with a term that is 1 where it is taken; but none of those that only
    lines of some others can serve."""
    loosely: dict[Need, list[tuple[frozenset[LineType], Term]]] = field(default_factory=dict)
    """Types of line that alone serve a need while a term is 1."""
    kept: dict[Need, Any] = field(default_factory=dict)
    """Channels that are on certain numbers, of needs that ask for none: the numbering finds lines for them."""
    _whole: dict[tuple[Need, bool], Any] = field(default_factory=dict)

    def components(self) -> list[Component]:
        """Needs and types of line, parted where nothing connects them."""
        found: list[Component] = []
        for need in sorted(self.asked, key=lambda n: (n.direction, n.name)):
            types = self.may.get(need, [])
            joined = [g for g in found if g.direction == need.direction and set(g.types) & set(types)]
            found = [g for g in found if g not in joined]
            needs = [n for g in joined for n in g.needs] + [need]
            every = {t for g in joined for t in g.types} | set(types)
            found.append(Component(need.direction, needs, sorted(every, key=lambda t: t.key)))
        return found

    def state(self, model: cp_model.CpModel) -> None:
        """Add the rows of every component."""
        components = self.components()
        if not self.whole_cards:
            components.sort(key=lambda component: (component.direction, min(need.name for need in component.needs)))
        for component in components:
            askers = self._askers(component)
            counted = component.grain is None or len(askers) > MOST_SIGNALS or component.direction not in self.once
            if component.grain is None or counted or any(need in self.loosely for need in component.needs):
                self._count_lines(model, component)
            else:
                self._enough_for_every_set(model, component, askers, component.grain)

    def _askers(self, component: Component) -> list[_Asker]:
        """The needs of a component that ask for the same, with the types of line that serve them."""
        found: dict[tuple[Ask, frozenset[LineType]], list[Need]] = {}
        for need in component.needs:
            found.setdefault((need.ask, frozenset(self.may.get(need, ()))), []).append(need)
        order = sorted(found, key=lambda asker: (asker[0], sorted(t.key for t in asker[1])))
        return [_Asker(types, frozenset(found[ask, types])) for ask, types in order]

    def _lines(self, component: Component, types: Iterable[LineType]) -> list[tuple[int, Term]]:
        return [entry for t in types for entry in self.supply.get((component.direction, t), ())]

    def _enough_for_every_set(
        self, model: cp_model.CpModel, component: Component, askers: Sequence[_Asker], grain: int
    ) -> None:
        for size in range(1, len(askers) + 1):
            for chosen in combinations(askers, size):
                types = [t for t in component.types if any(t in asker.types for asker in chosen)]
                if size > 1 and not any(sum(t in asker.types for asker in chosen) > 1 for t in types):
                    continue
                needs = [need for need in component.needs if any(need in asker.needs for asker in chosen)]
                amounts = {need: self.asked[need] for need in needs}
                self._cover(model, self._lines(component, types), amounts, grain)
                others = [need for need in needs if need not in self.numbered]
                if others and (len(others) < len(component.needs) or self.kept.keys() & set(component.needs)):
                    self._leave_enough(model, component, types, others)

    def _leave_enough(
        self, model: cp_model.CpModel, component: Component, types: Sequence[LineType], others: Sequence[Need]
    ) -> None:
        """What is on certain numbers leaves enough lines of some types to the rest.

        Where a line is a channel, what needs take that no other lines can serve is known.
        """
        grain = component.grain or 1
        inside = [n for n in component.needs if grain == 1 and set(self.may.get(n, ())) <= set(types)]
        taken = self.taken(model, component.direction, types, types if grain == 1 else ())
        if taken:
            amounts = {need: self.asked[need] if need in inside else self._rest(need) for need in others}
            for need in (need for need in inside if need not in amounts):
                amounts[need] = self.asked[need] if need in self.numbered else self.kept.get(need, 0)
            self._cover(model, [*self._lines(component, types), *((-1, term) for term in taken)], amounts, grain)

    def _rest(self, need: Need) -> Any:
        """The channels of a need that are not on certain numbers."""
        return self.asked[need] - self.kept[need] if need in self.kept else self.asked[need]

    def _cover(
        self, model: cp_model.CpModel, lines: list[tuple[int, Term]], amounts: Mapping[Need, Any], grain: int
    ) -> None:
        """Enough lines for such amounts of needs, and what follows for whole cards: each divided and rounded up."""
        if not self.whole_cards or not all(isinstance(asked, int) for asked in amounts.values()):
            add(model, expression(lines) >= sum(self._wanted(model, need, n, grain) for need, n in amounts.items()))
        if not self.whole_cards:
            return
        demand = self._surely_wanted(amounts, grain)
        for part in sorted({1, *(amount for amount, _ in lines if amount > 0)}):
            rounded = [(-(-amount // part), term) for amount, term in lines]
            add(model, expression(rounded) >= -(-demand // part))

    def _wanted(self, model: cp_model.CpModel, need: Need, asked: Any, grain: int) -> Any:
        """Whole lines for so many channels of a need."""
        if grain == 1 or isinstance(asked, int):
            return -(-asked // grain) if grain > 1 else asked
        key = need, asked is self.asked[need]
        if key not in self._whole:
            self._whole[key] = model.new_int_var(0, -(-need.demand // grain), "")
            model.add(grain * self._whole[key] >= asked)
        return self._whole[key]

    def _surely_wanted(self, amounts: Mapping[Need, Any], grain: int) -> int:
        """Whole lines that are asked for at least, whatever gives way: the lines that spare most are spared first."""
        fixed = [asked for asked in amounts.values() if isinstance(asked, int)]
        may_lack = [
            need for need, n in amounts.items() if not isinstance(n, int) and need.nice and n is self.asked[need]
        ]
        spared = sorted(
            size
            for need in may_lack
            for size in [need.demand % grain or grain, *[grain] * (-(-need.demand // grain) - 1)]
        )
        left, lines = self.short, len(spared)
        for size in spared:
            if size > left:
                break
            left -= size
            lines -= 1
        return sum(-(-asked // grain) for asked in fixed) + lines

    def _count_lines(self, model: cp_model.CpModel, component: Component) -> list[tuple[LineType, Term]]:
        """Lines of each type for each need: the type and the variable."""
        counts: list[tuple[LineType, Term]] = []
        for need in component.needs:
            if need in self.numbered:
                continue
            own = []
            for line_type in self.may.get(need, ()):
                own.append((line_type, model.new_int_var(0, -(-need.demand // line_type.grain), "")))
            add(model, expression([(line_type.grain, count) for line_type, count in own]) >= self._rest(need))
            for types, kept in self.loosely.get(need, ()):
                others = expression([(1, count) for line_type, count in own if line_type not in types])
                if not isinstance(others, int):
                    model.add(others == 0).only_enforce_if(kept)
            if component.direction not in self.once:
                for line_type, count in own:
                    add(model, expression(self._lines(component, [line_type])) >= count)
            counts += own
        taking = {*self.numbered, *self.kept}.intersection(component.needs)
        for line_type in component.types if taking else ():
            counts += [(line_type, term) for term in self.taken(model, component.direction, [line_type], ())]
        if component.direction in self.once:
            for line_type in component.types:
                taken = [(1, count) for t, count in counts if t == line_type]
                add(model, expression(taken) <= expression(self._lines(component, [line_type])))
        return counts

    def given_up(self, model: cp_model.CpModel, wanted: Sequence[Need]) -> list[tuple[int, Term]]:
        """Other signals given up by the lines that serve some needs; states lines for each need to count them."""
        found: list[tuple[int, Term]] = []
        for component in self.components():
            if any(t.misfit for t in component.types) and any(need in wanted for need in component.needs):
                found += [(t.misfit, count) for t, count in self._count_lines(model, component) if t.misfit]
        return found

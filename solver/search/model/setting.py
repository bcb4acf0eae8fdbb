"""How cards are set, as terms of a model: which lines a card has under the ways to set it that needs tell apart.

A line has a term for each way in which it can be set; of one section at most as many cards are set in some way as serve
anything there. Over runs terms count cards.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace

from solver.room.kind import Channel, Kind
from solver.room.traits import Setup, Switch
from solver.room.words import Direction
from solver.rules.limit import Term
from solver.search.model.cpsat import cp_model
from solver.search.model.services import add, expression


@dataclass(frozen=True, slots=True)
class SetAlike:
    """Channels of one section, as they are set, and the term that says that they are; None for a card's only way."""

    channels: Sequence[Channel]
    term: Term
    setup: Setup | None = None

    def without(self, silenced: Collection[int]) -> SetAlike:
        """The same without the lines of which a channel serves nothing."""
        if not silenced:
            return self
        return replace(self, channels=[own for own in self.channels if not set(own.line) & set(silenced)])


@dataclass
class CardSwitches:
    """The switches of one card, or of so many like ones, that set several sections: the terms of their choices."""

    model: cp_model.CpModel
    kind: Kind
    most: int
    stands: Term
    _chosen: dict[Switch, dict[str, Term]] = field(default_factory=dict)

    def ways(self, direction: Direction, part: int, live: Term) -> list[SetAlike]:
        """The channels on one of its slots by how they are set, where `live` says whether any of them serve."""
        sections = self.kind.setups(direction, part)
        if not sections:
            return [SetAlike(self.kind.on(direction, part), live)]
        found: list[SetAlike] = []
        for section in sections:
            if len(section) == 1:
                found.append(SetAlike(section[0][1], live))
                continue
            own = [SetAlike(channels, self._term(), setup) for setup, channels in section]
            add(self.model, expression([(1, each.term) for each in own]) <= live)
            for switch, _ in section[0][0].chosen:
                if switch in self.kind.linked:
                    self._link(switch, own)
            found += own
        return found

    def _term(self) -> Term:
        return self.model.new_bool_var("") if self.most == 1 else self.model.new_int_var(0, self.most, "")

    def _link(self, switch: Switch, ways: Sequence[SetAlike]) -> None:
        """Each section that a switch sets is set by the same choice of it."""
        choices = {choice for way in ways if way.setup for own, choice in way.setup.chosen if own == switch}
        if switch not in self._chosen:
            self._chosen[switch] = {choice: self._term() for choice in sorted(choices)}
            add(self.model, expression([(1, term) for term in self._chosen[switch].values()]) <= self.stands)
        for choice, term in self._chosen[switch].items():
            set_so = [(1, way.term) for way in ways if way.setup and (switch, choice) in way.setup.chosen]
            add(self.model, expression(set_so) <= term)

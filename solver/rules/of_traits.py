"""What rules have in common that keep what needs ask of the settings of cards."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Collection, Iterator
from dataclasses import replace

from solver.fitted.frame import FrameStanding, Use
from solver.fitted.standing import Standing
from solver.room.faults import quote
from solver.room.message import Message, tell
from solver.room.survey import Need, Survey
from solver.room.traits import Trait
from solver.rules.finding import Finding, at_slot, by_slot_and_need, channels_text
from solver.rules.limit import Draft, Limit, Place, Reading, Rule


class OfTraits(Rule):
    """A rule with one limit for each need that asks for some traits: no channel of a line without them."""

    speaks_of = "lines"

    @abstractmethod
    def own(self, need: Need) -> tuple[Trait, ...]:
        """What a need asks for that this rule keeps."""

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each need that asks for it: no channel of a line without it."""
        for need in survey.needs:
            if self.own(need) and need.demand:
                yield Limit(self.code, Place(subject=need.name, direction=need.direction), 0, "channels")

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """Channels that are to serve the need and are set otherwise."""
        need = need_at(survey, limit)
        return sum(len(self._astray(need, frame)) for frame in standing.frames)

    def _astray(self, need: Need, frame: FrameStanding) -> list[Use]:
        own = self.own(need)
        return [
            use
            for use in frame.named
            if use.need == need and use.channel is not None and not use.channel.line_type.traits.issuperset(own)
        ]

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Keep the need off lines that are set otherwise."""
        need = need_at(draft.survey, limit)
        own = self.own(need)
        draft.keep_to(limit, need, [t for t in draft.line_types(need.direction) if t.traits.issuperset(own)])

    def lifted(self, survey: Survey) -> Survey | None:
        """The room as if no need asked for it."""
        return without(survey, self.own) if any(self.own(need) for need in survey.needs) else None

    # How it is told

    @abstractmethod
    def is_set(self, frame: FrameStanding, use: Use) -> str:
        """How a channel that is set otherwise is set, after it and "are"."""

    @abstractmethod
    def told(self, need: Need) -> str:
        """What a need asks for, after its name."""

    def places(self, survey: Survey, frame: FrameStanding, limit: Limit) -> Iterator[Finding]:
        """Each place of a frame where it is broken."""
        need = need_at(survey, limit)
        ways: dict[str, list[Use]] = {}
        for use in self._astray(need, frame):
            ways.setdefault(self.is_set(frame, use), []).append(use)
        for way, uses in ways.items():
            for (slot, name), indices in by_slot_and_need(uses).items():
                seat = frame.occupant(slot)
                text = f"{channels_text(need.direction, indices)} of {seat.kind.id if seat else 'a card'}"
                text = f"{text} {'is' if len(set(indices)) == 1 else 'are'} {way}, and {quote(name)} {self.told(need)}"
                yield Finding(f"{at_slot(frame, slot)}: {text}", len(indices), frame.site.name, slot, name)

    def over(self, survey: Survey, reading: Reading) -> Message:
        need = need_at(survey, reading.limit)
        return tell('"{name}" {asks}', name=need.name, asks=self.told(need))


def need_at(survey: Survey, limit: Limit) -> Need:
    """The need that a limit speaks of."""
    return next(need for need in survey.needs if need.name == limit.place.subject)


def without(survey: Survey, own: Callable[[Need], Collection[Trait]]) -> Survey:
    """The room as if no need asked for some traits."""
    left = [replace(n, traits=tuple(trait for trait in n.traits if trait not in own(n))) for n in survey.needs]
    return replace(survey, needs=tuple(left))

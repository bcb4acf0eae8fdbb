"""Every need gets the channels that it asks for, and those to spare; needs that are nice to have may be short.

How short those may be together is no limit of theirs: the search finds the least, and its builds keep to that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from solver.fitted.standing import Standing
from solver.room.demand import drop, given_up
from solver.room.message import Message, Said, Unit, tell
from solver.room.survey import Need, Survey
from solver.room.wish import Change, Document, LimitWish, room_path
from solver.room.words import SIDES, Work
from solver.rules.limit import Draft, Limit, Place, Reading, Rule


@dataclass(frozen=True)
class FewerChannels(LimitWish):
    """A need that asks for fewer channels, and with it the one that it comes back on: each send has its return.

    `index` counts entries of the file from 0.
    """

    sort = "need"
    order = 10
    work: ClassVar[Work] = "give up channels"
    unit: ClassVar[Unit | None] = "channels"
    guessed = True
    at_once = True

    index: int

    def need(self, survey: Survey) -> Need:
        """The need with that index in the file."""
        return next(need for need in survey.needs if need.index == self.index)

    def most(self, survey: Survey) -> int:
        return self.need(survey).demand

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "need", self.index, "channels"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        need = self.need(survey)
        for index in (own.index for own in (need, survey.returns_of(need)) if own is not None):
            entry = room["need"][index]
            channels, spare = given_up(next(own for own in survey.needs if own.index == index), change.amount)
            if spare:
                entry["spare"] = int(entry["spare"]) - spare
            entry["channels"] = int(entry["channels"]) - channels

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        need = self.need(survey)
        returns = survey.returns_of(need)
        dropped = drop(need, change.amount)
        if returns is None:
            return dropped
        return tell('{dropped}, and as many of its returns, "{returns}"', dropped=dropped, returns=returns.name)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        demand = self.need(survey).demand
        return demand, demand - change.amount

    def kept(self, survey: Survey) -> Message:
        need = self.need(survey)
        sides = SIDES[need.direction] if need.demand > 1 else SIDES[need.direction][:-1]
        text = f'"{{name}}" asks for {{demand}} {{signal}} {sides}' + (", {spare} of them spare" if need.spare else "")
        asked = tell(text, name=need.name, demand=need.demand, signal=need.signal, spare=need.spare)
        returns = survey.returns_of(need)
        return (
            asked
            if returns is None
            else tell('{asked}, and as many come back on "{returns}"', asked=asked, returns=returns.name)
        )


class Needs(Rule):
    """Needs that get what they ask for."""

    code = "needs"
    speaks_of = "lines"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each need: at least its channels and spare. Sends give way together with their returns."""
        for need in survey.needs:
            index = (survey.sends_of(need) or need).index
            yield Limit(
                self.code,
                Place(subject=need.name, direction=need.direction),
                need.demand,
                "channels",
                at_least=True,
                source=("need", index, "channels"),
                give=range(0) if need.nice else range(1, need.demand + 1),
            )

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """Channels that serve the need; not judged where it is nice to have, or a frame has no numbers."""
        need = next(n for n in survey.needs if n.name == limit.place.subject)
        served = standing.served(need)
        if need.nice or (served < limit.bound and any(frame.layout is None for frame in standing.frames)):
            return None
        return served

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Channels of the lines that serve the need."""
        need = next(n for n in draft.survey.needs if n.name == limit.place.subject)
        draft.ask(limit, need)

    def wish(self, limit: Limit) -> LimitWish | None:
        """The need asks for less."""
        return FewerChannels(int(limit.source[1])) if limit.source else None

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        text = 'need "{name}": {used} of {bound} channels'
        return tell(text, name=reading.limit.place.subject or "", used=reading.used, bound=reading.limit.bound)

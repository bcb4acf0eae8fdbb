"""Needs out that come back on a need in have each channel on the number of its return, in the same frame."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from solver.fitted.standing import Standing
from solver.room.message import Message, Said, tell
from solver.room.survey import Need, Survey, Wanted
from solver.room.wish import Change, LimitWish
from solver.rules.limit import Draft, Limit, Number
from solver.rules.wanted import Channels, NumbersLeftOpen, Unshaped, at_most, need_of, number_text


class ReturnsElsewhere(NumbersLeftOpen):
    """Its channels may come back on other numbers."""

    sort = "returns"
    order = 16
    key = "returns_on"
    implies_latency = True

    def _returns(self, survey: Survey) -> str:
        wanted = self.need(survey).wanted
        return (wanted.returns if wanted else None) or ""

    def left_open(self, survey: Survey) -> Said:
        return tell('let it come back on other numbers of "{returns}"', returns=self._returns(survey))

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return self._returns(survey), None

    def kept(self, survey: Survey) -> Message:
        text = '"{name}" asks for the numbers of its returns, "{returns}"'
        return tell(text, name=self.need(survey).name, returns=self._returns(survey))


class ReturnsOn(Unshaped):
    """Sends and returns on the same numbers, channel by channel."""

    code = "returns-on"
    key = "returns_on"

    def concerns(self, wanted: Wanted) -> bool:
        return wanted.returns is not None

    def without(self, wanted: Wanted) -> Wanted:
        return replace(wanted, returns=None, sends=None)

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """Channels that come back elsewhere or not at all, and returns of none.

        Not judged where a frame has no numbers.
        """
        need = next(need for need in survey.needs if need.name == limit.place.subject)
        back = _returns(standing, need)
        astray = super().used(survey, standing, limit)
        if astray is None or any(use.number is None for _, use in back):
            return None
        return astray + max(0, len(back) - len(standing.in_order(need)))

    def astray(self, standing: Standing, wanted: Wanted, channels: Channels) -> Iterator[int]:
        back = _returns(standing, channels[0][1].need) if channels else ()
        for place, (frame, use) in enumerate(channels):
            there = back[place][1].number if place < len(back) and back[place][0] is frame else None
            if there != use.number:
                yield place

    def state(self, draft: Draft, limit: Limit, wanted: Wanted, numbers: Sequence[Number]) -> None:
        """A number carries a send exactly if it carries a return.

        Both count their channels in one order, so that channels on the same numbers are the same ones.
        """
        need, _ = need_of(draft.survey, limit)
        returns = draft.survey.returns_of(need)
        if returns is None:
            return
        kept = [draft.kept(limit)]
        back = {(own.site.index, own.number): own.term for own in draft.numbers(returns)}
        out = {(own.site.index, own.number): own.term for own in numbers}
        for place in sorted(back.keys() | out.keys()):
            send, comes_back = out.get(place, 0), back.get(place, 0)
            at_most(draft, limit, kept, [(1, send), (-1, comes_back)], 0)
            at_most(draft, limit, kept, [(1, comes_back), (-1, send)], 0)

    def wish(self, limit: Limit) -> LimitWish | None:
        """Returns on other numbers."""
        return ReturnsElsewhere(int(limit.source[1])) if limit.source else None

    def told(self, survey: Survey, need: Need, wanted: Wanted) -> Said:
        return tell('asks for the numbers of its returns, "{returns}"', returns=wanted.returns or "")

    def found(self, standing: Standing, wanted: Wanted, channels: Channels, place: int) -> Said:
        """Where it goes out and comes back."""
        out = super().found(standing, wanted, channels, place)
        back = _returns(standing, channels[place][1].need)
        if place >= len(back):
            return tell("{out} and comes back nowhere", out=out)
        frame, use = back[place]
        number = number_text(standing.survey, use.need, frame.site.index, use.number or 0)
        return tell("{out} and comes back on {number}", out=out, number=number)


def _returns(standing: Standing, need: Need) -> Channels:
    """The channels that those of a need come back on."""
    returns = standing.survey.returns_of(need)
    return () if returns is None else standing.in_order(returns)

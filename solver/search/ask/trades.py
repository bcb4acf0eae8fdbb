"""How far each wish of a set has to give way: every list of amounts that no other undercuts.

Nearly always there is one. Where one wish can give way less when another gives way more, there are several: they are
found by dividing what is left into boxes, each with the most that every wish may give way in it. What gives way is
planned as a scenario of its own, and halved: what little allows, more allows too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from solver.relax.document import changed
from solver.room.demand import must_be_met
from solver.room.ready import survey_room
from solver.room.survey import Survey
from solver.room.wish import Change, LimitWish
from solver.search.ask.loose import Questions, Unsure
from solver.search.solve.stages import Search

Amounts = dict[LimitWish, int]


@dataclass
class Trades:
    """The amounts of one set of wishes."""

    questions: Questions
    wishes: frozenset[LimitWish]
    order: list[LimitWish] = field(init=False)
    _most: Amounts = field(init=False)
    """As far as each may give way: that is enough, or the set would not be one."""
    _impossible: list[Amounts] = field(default_factory=list, init=False)
    """Boxes in which nothing is possible."""

    def __post_init__(self) -> None:
        self.order = sorted(self.wishes, key=lambda wish: wish.rank)
        self._most = {wish: wish.most(self.questions.survey) for wish in self.order}

    def every(self, most: int) -> tuple[list[Amounts], bool]:
        """So many lists of amounts that no other undercuts, in no order that means anything; whether these are all.

        Raises
        ------
        Unsure
            If the time is over.
        """
        boxes = [self._most]
        found: list[Amounts] = []
        while boxes:
            if len(found) == most:
                return found, False
            box = boxes.pop(0)
            if any(_within(box, other) for other in self._impossible):
                continue
            amounts = self._descend(box)
            if amounts is None:
                self._impossible.append(box)
                continue
            found.append(amounts)
            boxes = _largest([part for own in [box, *boxes] for part in _without(own, amounts)])
        return found, True

    def _descend(self, box: Amounts) -> Amounts | None:
        """Amounts within a box, each as little as can be, one after another; None where nothing in it is possible."""
        amounts = dict(box)
        asked = [wish for wish in self.order if box[wish] > 1] or self.order[:1]
        for wish in asked:
            least = self._least(amounts, wish)
            if least is None:
                return None
            if least > 1:
                self._impossible.append({**amounts, wish: least - 1})
            amounts[wish] = least
        return amounts

    def _least(self, caps: Amounts, wish: LimitWish) -> int | None:
        """The least amount of one wish when each gives way by so much at most; None where that is not enough."""
        if wish.unit == "money":
            return self._least_money(caps, wish)
        told = self.questions.guess(self.wishes, caps, wish) if wish.guessed else None
        known = caps[wish] if told is None else told
        sure = caps == self._most or (told is not None and not any(own.unmeasured for own in self.wishes))
        if not sure and not self._possible({**caps, wish: known}):
            if known == caps[wish] or not self._possible(caps):
                return None
            known = caps[wish]
        low, middle = 1, known - 1  # one less than what is enough is seldom enough
        while low < known:
            if self._possible({**caps, wish: middle}):
                known = middle
            else:
                low = middle + 1
            middle = (low + known) // 2
        return known

    def _least_money(self, caps: Amounts, wish: LimitWish) -> int | None:
        """What has to be spent beyond the budget."""
        search = search_after(self.questions, caps)
        cheapest = search.least(("cost",), {})
        if not cheapest.proven:
            raise Unsure
        if cheapest.value is None:
            return None
        more = cheapest.value * search.scale.units["cost"] - (self.questions.survey.budget or 0)
        return max(1, more) if more <= caps[wish] else None

    def _possible(self, caps: Amounts) -> bool:
        possible = search_after(self.questions, caps).possible()
        if possible is None:
            raise Unsure
        return possible


def search_after(questions: Questions, amounts: Mapping[LimitWish, int]) -> Search:
    """The search for what can be built when wishes give way so far, and all that is nice to have with them."""
    after = after_changes(questions.survey, [Change(wish, amount) for wish, amount in amounts.items()])
    return Search.of(must_be_met(after), questions.clock, 1, rough=False)


def after_changes(survey: Survey, changes: list[Change] | tuple[Change, ...]) -> Survey:
    """The room when changes are made, cost alone to be ranked by."""
    return replace(survey_room(changed(survey, changes), survey.hardware), rank=("cost",), slack={})


def _within(box: Amounts, other: Amounts) -> bool:
    return all(amount <= other[wish] for wish, amount in box.items())


def _without(box: Amounts, amounts: Amounts) -> list[Amounts]:
    """What is left of a box without all that these amounts undercut; every wish of a set gives way by 1 at least."""
    if not _within(amounts, box):
        return [box]
    return [{**box, wish: amount - 1} for wish, amount in amounts.items() if amount > 1]


def _largest(boxes: list[Amounts]) -> list[Amounts]:
    """Boxes without those that lie within another."""
    return [
        box
        for place, box in enumerate(boxes)
        if not any(_within(box, other) and (box != other or place > n) for n, other in enumerate(boxes) if n != place)
    ]

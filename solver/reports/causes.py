"""Arithmetic causes: why a scenario is impossible where plain counting shows it, with no search."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from solver import rules
from solver.reports.least_order import Line, least_order
from solver.reports.wording import in_words, kilohertz, money
from solver.room.demand import must_be_met
from solver.room.survey import Survey
from solver.room.words import DIRECTIONS, SIDES


@dataclass(frozen=True, slots=True)
class Cause:
    """One count that cannot come out: what is asked for, what there is at most, and in whose place."""

    code: str
    subject: str
    asked: int
    at_most: int
    text: str


def causes(survey: Survey) -> list[Cause]:
    """Every arithmetic cause that is found; an empty list says nothing about possibility.

    Needs that are nice to have are no part of any: they give way.
    """
    survey = must_be_met(survey)
    return [*_frames(survey), *_numbers(survey), *_cards(survey), *_budget(survey), *_rules(survey)]


def _frames(survey: Survey) -> Iterator[Cause]:
    if any(survey.demand.values()) and not any(site.candidates for site in survey.frames):
        yield Cause(
            "no-frame",
            ", ".join(site.name for site in survey.frames),
            1,
            0,
            "no frame has a board to hand that runs at "
            f"{kilohertz(survey.sample_rate)} with the settings that are asked for",
        )


def _numbers(survey: Survey) -> Iterator[Cause]:
    rate = kilohertz(survey.sample_rate)
    for direction in DIRECTIONS:
        most = 0
        for site in survey.frames:
            sides = [w.blocks(direction) for w in site.candidates]
            most += max((sum(block.width for block in blocks) for blocks in sides), default=0)
        asked = survey.demand[direction]
        if asked > most and any(site.candidates for site in survey.frames):
            boards = sorted({w.board for site in survey.frames for w in site.candidates})
            one = len(boards) == 1 and len(survey.frames) == 1
            who, verb = (boards[0], "numbers") if one else ("the frames together", "number")
            if any(site.reach for site in survey.frames):
                who, verb = "the host ports", "carry"
                who += " and frames that are cabled to none" * any(not site.reach for site in survey.frames)
            yield Cause(
                f"{direction}-numbers",
                who,
                asked,
                most,
                f"{asked} {SIDES[direction]} are asked for; {who} {verb} at most {most} at {rate}",
            )


def _cards(survey: Survey) -> Iterator[Cause]:
    for direction in DIRECTIONS:
        for signal in sorted({n.signal for n in survey.needs if n.direction == direction and n.demand}):
            asked = sum(n.demand for n in survey.needs if n.direction == direction and n.signal == signal)
            most = 0
            endless = False
            counted: list[str] = []
            for kind in survey.kinds.values():
                channels = kind.taking(direction, signal)
                count = survey.most_of(kind.id)
                endless = endless or (channels > 0 and count is None)
                most += channels * (count or 0)
                counted += [f"{count} x {kind.id} with {channels}"] if channels and count else []
            if not endless and most < asked:
                word = SIDES[direction][:-1]
                yield Cause(
                    "cards",
                    signal,
                    asked,
                    most,
                    f"{asked} {signal} {word} channels are asked for; the cards in stock and on offer have {most}"
                    + (f": {' + '.join(counted)}" if counted else ""),
                )


def _budget(survey: Survey) -> Iterator[Cause]:
    if survey.budget is None:
        return
    for direction in DIRECTIONS:
        for signal in sorted({n.signal for n in survey.needs if n.direction == direction and n.demand}):
            asked = sum(n.demand for n in survey.needs if n.direction == direction and n.signal == signal)
            owned = sum(k.taking(direction, signal) * survey.stock.get(k.id, 0) for k in survey.kinds.values())
            order = least_order(survey, direction, signal, asked - owned) if asked > owned else None
            least = sum(line.count * line.price for line in order or ())
            if order and least > survey.budget:
                yield Cause(
                    "budget",
                    signal,
                    least,
                    survey.budget,
                    f"{asked} {signal} {SIDES[direction]} are asked for, stock has {owned}: the least order for "
                    f"{asked - owned} more is {_sum(survey, order)}; the budget is {money(survey, survey.budget)}",
                )


def _sum(survey: Survey, order: Sequence[Line]) -> str:
    """An order as a sum: counts, cards, prices, total."""
    lines = [f"{line.count} x {line.card} at {money(survey, line.price)}" for line in order]
    return f"{' + '.join(lines)} = {money(survey, sum(line.count * line.price for line in order))}"


def _rules(survey: Survey) -> Iterator[Cause]:
    for rule in rules.LIST:
        for count in rule.counts(survey):
            yield Cause(rule.code, count.subject, count.asked, count.at_most, in_words(survey, count.said))

"""Two builds of one scenario made up from a seed: cards that do not overlap, any board, legal settings or not."""

from __future__ import annotations

import random
from dataclasses import dataclass

import generate

from solver.room.build import Build, BuiltFrame
from solver.room.hardware import Hardware
from solver.room.scenario import Scenario


@dataclass(frozen=True)
class Pair:
    """A build that stands and one that is to stand."""

    scenario: Scenario
    hardware: Hardware
    old: Build
    new: Build


def two_builds(seed: int) -> Pair:
    """The pair of a seed: the second build is made up anew, or is the first with some of its cards moved about."""
    draw = random.Random(seed)
    scenario, hardware = generate.random_pair(seed)
    old = _made_up(draw, scenario, hardware)
    new = _made_up(draw, scenario, hardware) if draw.random() < 0.6 else _shuffled(draw, scenario, hardware, old)
    return Pair(scenario, hardware, old, new)


def _made_up(draw: random.Random, scenario: Scenario, hardware: Hardware) -> Build:
    spans = {card.id: card.span for card in hardware.card}
    frames = []
    for frame in scenario.frame:
        board = draw.choice(hardware.board)
        slots = next(c.slot_count for c in hardware.chassis if c.id == frame.chassis)
        cards: list[str] = []
        while sum(spans[card] for card in cards) < slots and draw.random() < 0.8:
            cards.append(draw.choice(sorted(spans)))
        straps = {group.name: draw.choice(group.settings()).name for group in board.strap_group}
        seats = _seated(draw, cards, spans, slots)
        frames.append(BuiltFrame(name=frame.name, board=board.id, straps=straps, cards=seats))
    return Build(frame=tuple(frames))


def _shuffled(draw: random.Random, scenario: Scenario, hardware: Hardware, build: Build) -> Build:
    """The same cards, board and straps, each frame with cards of any frame."""
    spans = {card.id: card.span for card in hardware.card}
    count = {c.id: c.slot_count for c in hardware.chassis}
    slots = {frame.name: count[frame.chassis] for frame in scenario.frame}
    cards = [card for frame in build.frame for _, card in frame.seats()]
    draw.shuffle(cards)
    frames = []
    for frame in build.frame:
        own = [cards.pop() for _ in range(min(len(cards), draw.randint(0, 4)))]
        seats = _seated(draw, own, spans, slots[frame.name])
        frames.append(frame.model_copy(update={"cards": seats}))
    return Build(frame=tuple(frames))


def _seated(draw: random.Random, cards: list[str], spans: dict[str, int], slots: int) -> dict[str, str]:
    """Cards in slots from the first on with gaps here and there; what has no room is left out."""
    seats: dict[str, str] = {}
    slot = 1
    for card in cards:
        slot += draw.choice((0, 0, 1))
        if slot + spans[card] - 1 <= slots:
            seats[str(slot)] = card
            slot += spans[card]
    return seats

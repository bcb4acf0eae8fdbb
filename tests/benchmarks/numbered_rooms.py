"""Invented rooms whose needs ask for numbers: a frame with 64 in and 32 out, up to 40 needs, the same for a seed.

Run as ``PYTHONPATH=. python tests/benchmarks/numbered_rooms.py FOLDER --slots 12 --seed 1`` to write ``room.toml`` and
``room-hardware.toml``.

A frame is filled at random first, and the needs are cut out of the numbers that it has: single ones that keep their
number, runs, banks on one card, pairs, and some that ask for nothing. About a quarter of the numbers is left. So needs
fit, but for heat and rails.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import tomlkit
from generated_rooms import _exact, _stock, documents

from solver.room.hardware import Hardware
from solver.room.kind import LineType
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.straps import Layout
from solver.room.survey import Survey
from solver.room.words import DIRECTIONS, Direction

LIMITS = {"in": 64, "out": 32}

NEEDS = 40

Channel = tuple[int, int, LineType]
"""Number, slot and line."""


def numbered(seed: int, *, slots: int = 12, settings: int = 16, kinds: int = 20) -> tuple[dict[str, Any], Any]:
    """The scenario and the hardware of a seed, as files have them."""
    draw = random.Random(f"numbered room {seed}")
    scenario, hardware = documents(seed, frames=1, slots=slots, settings=settings, kinds=kinds)
    for board in hardware["board"]:
        board["limits"] = {"48": LIMITS}
    survey = survey_room(Scenario.model_validate(_exact(scenario)), Hardware.model_validate(_exact(hardware)))
    layout = draw.choice(survey.frames[0].candidates)
    cards = [_card(draw, survey, layout, slot) for slot in range(1, slots + 1)]
    needs: list[dict[str, Any]] = []
    for direction in DIRECTIONS:
        channels = list(_channels(survey, layout, cards, direction))
        needs += _cut(draw, direction, channels, NEEDS * LIMITS[direction] // sum(LIMITS.values()))
    scenario |= {"title": f"Numbered room {seed}", "need": needs, "stock": _stock(draw, hardware["card"], needs)}
    return scenario, hardware


def _card(draw: random.Random, survey: Survey, layout: Layout, slot: int) -> str:
    """One of the cards of one slot of which most channels have numbers there."""

    def answers(card: str) -> int:
        kind = survey.kinds[card]
        return sum(min(layout.block(d, slot).width, len(kind.on(d, 0))) for d in DIRECTIONS) * (kind.span == 1)

    most = max(map(answers, survey.kinds))
    return draw.choice([card for card in survey.kinds if 2 * answers(card) > most or not most])


def _channels(survey: Survey, layout: Layout, cards: Sequence[str], direction: Direction) -> Iterator[Channel]:
    """What cards of one slot each would answer."""
    for slot, card in enumerate(cards, start=1):
        block, kind = layout.block(direction, slot), survey.kinds[card]
        if kind.span == 1:
            for channel in kind.on(direction, 0)[: block.width]:
                yield block.first + channel.index - 1, slot, channel.line_type


def _cut(draw: random.Random, direction: Direction, channels: Sequence[Channel], most: int) -> list[dict[str, Any]]:
    """So many needs at most, in order of the numbers that they are cut from."""
    found: list[dict[str, Any]] = []
    at = 0
    while at < len(channels) and len(found) < most:
        number, slot, line_type = channels[at]
        if draw.random() < 0.1:
            at += line_type.grain
            continue
        signal = draw.choice(sorted(line_type.signals))
        need: dict[str, Any] = {"name": f"{direction} {len(found) + 1}", "direction": direction, "signal": signal}
        alike = [c for n, c in enumerate(channels[at:]) if c == (number + n, slot, line_type)]
        count, wish = _wish(draw, number, len(alike), line_type.grain)
        found.append({**need, "channels": count, **wish})
        at += count
    return found


def _wish(draw: random.Random, number: int, free: int, grain: int) -> tuple[int, dict[str, Any]]:
    """How many channels a need has of those that are free on a card, whole lines, and what it asks of their numbers."""
    some = max(grain, min(free, draw.randint(2, 4)) // grain * grain)
    sort = draw.random()
    if sort < 0.06 and free >= 8 and number % 8 == 1:
        return 8, {"consecutive": True, "bank_of": 8, "one_card": True}
    if sort < 0.3 and free > 1 and number % 2:
        return 2 * (some // 2), {"pairs": True}
    if sort < 0.4:
        return some, {"consecutive": True}
    if sort < 0.5:
        return some, {"numbers": {"from": number}}
    if sort < 0.6:
        return some, {}
    return grain, {"numbers": {"from": number}}


def write(folder: Path, seed: int, **shape: int) -> Path:
    """The same as files in a folder; the scenario's path."""
    scenario, hardware = numbered(seed, **shape)
    folder.mkdir(parents=True, exist_ok=True)
    for name, document in (("room-hardware.toml", hardware), ("room.toml", scenario)):
        (folder / name).write_text(tomlkit.dumps(document), encoding="utf-8")
    return folder / "room.toml"


def main() -> None:
    """Write one room."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    for name, usual in (("slots", 12), ("settings", 16), ("kinds", 20)):
        parser.add_argument(f"--{name}", type=int, default=usual)
    parser.add_argument("--seed", type=int, default=1)
    asked = vars(parser.parse_args())
    sys.stdout.write(f"{write(asked.pop('folder'), asked.pop('seed'), **asked)}\n")


if __name__ == "__main__":
    main()

"""The pinouts that can be named: published ones, which every scenario knows, and those of its hardware files."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path

from solver.room.connectors import Pinout


@cache
def published() -> Mapping[str, Pinout]:
    """Pinouts of published standards, by id; `pinouts.toml` has them, with where each comes from."""
    text = Path(__file__).with_suffix(".toml").read_text(encoding="utf-8")
    return {entry["id"]: Pinout.model_validate(entry) for entry in tomllib.loads(text)["pinout"]}


def pinouts(own: Iterable[Pinout]) -> Mapping[str, Pinout]:
    """Published pinouts and those of hardware files, by id."""
    return {**published(), **{pinout.id: pinout for pinout in own}}

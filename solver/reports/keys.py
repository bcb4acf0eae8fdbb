"""The words beside every key of the documents' JSON Schemas; `keys.toml` has them."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

EVERY = "every"
"""Where keys stand that mean the same in every model."""

AS = "as"
"""Where a model names another one of which it has all keys."""


@cache
def words() -> dict[str, dict[str, str]]:
    """Descriptions of keys by the name of their model, and those of `EVERY` model."""
    return tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))


def described(schema: dict[str, Any]) -> dict[str, Any]:
    """A model's JSON Schema with a description of each key, of its own and of every model within."""
    inner = {name: _described(name, part) for name, part in schema.get("$defs", {}).items()}
    return _described(schema["title"], schema) | ({"$defs": inner} if inner else {})


def _described(model: str, schema: dict[str, Any]) -> dict[str, Any]:
    own = words().get(model, {})
    own = words().get(own.get(AS, ""), {}) | own
    shared = words()[EVERY]
    if "properties" not in schema:
        return schema
    keys = {
        key: {**value, "description": text} if (text := own.get(key, shared.get(key))) else value
        for key, value in schema["properties"].items()
    }
    return {**schema, "properties": keys}

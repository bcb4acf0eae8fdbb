"""What is known of signals by their names, which are an open set: any other is taken for analogue line."""

from __future__ import annotations

DIGITAL = frozenset({"aes3", "aes67", "madi", "spdif"})
"""Signals that carry levels as numbers; any other is taken to be analogue."""

ON_ONE_PAIR = frozenset({"aes3", "spdif"})
"""Signals of two channels on one pair of wires (AES3, IEC 60958-3)."""

NEVER_ON_JACKS = frozenset({"aes67", "loudspeaker", "madi", "word-clock"})
"""Signals that are on no jacks of a bay (common practice, no source)."""

NEVER_HALVED = DIGITAL | {"mic"}
"""Signals whose points are normalled in full or not at all: never on two destinations (common practice, no source)."""

NO_PHANTOM = frozenset({"instrument", "line", "ribbon", "unbalanced"})
"""Signals whose sources take no phantom power unless a need says otherwise (common practice, no source)."""

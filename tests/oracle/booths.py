"""Two booths, rooms of one scenario each, that draw on the same cards."""

from __future__ import annotations

NORTH = """\
[[room]]
name = "Booth north"
frame = [{ name = "A", chassis = "wren-4", board = "flint-48" }]
need = [
  { name = "voices", direction = "in", signal = "mic", channels = 14 },
  { name = "headphones", direction = "out", signal = "line", channels = 6 },
]
"""

SOUTH = """\
[[room]]
name = "Booth south"
frame = [{ name = "A", chassis = "wren-4", board = "slate-32" }]
need = [
  { name = "voices", direction = "in", signal = "mic", channels = 8 },
  { name = "headphones", direction = "out", signal = "line", channels = 4 },
]
"""

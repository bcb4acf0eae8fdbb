"""Makes the other planners and the generators importable, and keeps generated cases the same everywhere."""

from __future__ import annotations

import sys
from pathlib import Path

from hypothesis import settings

sys.path[:0] = [
    str(Path(__file__).parent / folder) for folder in (".", "oracle", "rules", "texts", "fuzz", "benchmarks")
]

settings.register_profile("ci", derandomize=True, deadline=None)
settings.register_profile("explore", deadline=None)
settings.load_profile("ci")

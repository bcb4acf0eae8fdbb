"""The page for developers names every module, so that the room of any line can be found."""

from __future__ import annotations

from pathlib import Path

ROOT = Path(__file__).parents[1]


def test_every_module_of_the_solver_is_named() -> None:
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    modules = [m for folder in ("solver", "solver/search") for m in sorted((ROOT / folder).glob("*.py"))]
    assert len(modules) > 50
    assert [m.name for m in modules if m.name != "__init__.py" and f"{m.name}`" not in page] == []

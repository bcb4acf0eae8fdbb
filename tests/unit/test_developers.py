"""The page for developers names every room, each module says what it is, and imports point downwards."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]

FLOORS = (
    "solver/physics",
    "solver/room",
    "solver/files",
    "solver/fitted",
    "solver/rules",
    "solver/judge",
    "solver/relax",
    "solver/racks",
    "solver/search/model",
    "solver/search/solve",
    "solver/search/ask",
    "solver/search/campus",
    "solver/search/rack",
    "solver/handover",
    "solver/reports",
    "solver/answers",
    "solver/door",
    "cli",
)
"""From the ground up, as the page has them."""


def _modules() -> list[Path]:
    return sorted(module for folder in ("solver", "cli") for module in (ROOT / folder).rglob("*.py"))


def _floor(module: str) -> int | None:
    """How high a module stands; None for the package itself."""
    return next((n for n, folder in enumerate(FLOORS) if f"{module}/".startswith(f"{folder}/")), None)


def _imports(tree: ast.AST) -> Iterator[str]:
    """What is imported when a module runs, as paths; what only types need is left out."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            continue
        if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[0] in ("solver", "cli"):
            path = node.module.replace(".", "/")
            for name in node.names:
                inner = f"{path}/{name.name}"
                there = (ROOT / inner).with_suffix(".py").exists() or (ROOT / inner / "__init__.py").exists()
                yield inner if there else path
        elif isinstance(node, ast.Import):
            yield from (n.name.replace(".", "/") for n in node.names if n.name.split(".")[0] in ("solver", "cli"))
        yield from _imports(node)


def _graph() -> dict[str, set[str]]:
    graph = {}
    for module in _modules():
        name = module.relative_to(ROOT).with_suffix("").as_posix().removesuffix("/__init__")
        graph[name] = set(_imports(ast.parse(module.read_text(encoding="utf-8")))) - {name}
    return graph


def test_every_room_is_on_the_page_and_every_module_says_what_it_is() -> None:
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = [line.split("|")[1] for line in page.splitlines() if line.startswith("| `")]
    modules = _modules()
    assert len(modules) > 300
    for module in modules:
        room = module.parent.relative_to(ROOT).as_posix()
        assert any(f"`{room}/" in row for row in rows), room
        first = (ast.get_docstring(ast.parse(module.read_text(encoding="utf-8"))) or "").partition("\n")[0]
        assert first.endswith("."), module
        assert len(first.split()) >= 3, module


def test_the_page_has_the_floors_in_this_order() -> None:
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = [line.split("|")[1] for line in page.splitlines() if line.startswith("| `")]
    places = [next(n for n, row in enumerate(rows) if f"`{floor}/`" in row) for floor in reversed(FLOORS)]
    assert places == sorted(places)


def test_imports_point_downwards() -> None:
    upwards = [
        (module, other)
        for module, others in _graph().items()
        for other in others
        if (here := _floor(module)) is not None and (there := _floor(other)) is not None and there > here
    ]
    assert upwards == []


def test_no_imports_run_in_a_circle() -> None:
    graph = _graph()
    done: set[str] = set()

    def walk(module: str, trail: tuple[str, ...]) -> None:
        assert module not in trail, trail[trail.index(module) :]
        if module not in done:
            for other in graph.get(module, ()):
                walk(other, (*trail, module))
            done.add(module)

    for module in graph:
        walk(module, ())


def test_nothing_of_the_solver_knows_the_command_line() -> None:
    words = ("click", "rich", "cli")
    known = [
        (module, name)
        for module in _modules()
        if module.is_relative_to(ROOT / "solver")
        for name in _all_imports(ast.parse(module.read_text(encoding="utf-8")))
        if name.split(".")[0] in words
    ]
    assert known == []


def test_commands_search_through_the_answers_alone() -> None:
    known = {
        (module, other)
        for module, others in _graph().items()
        for other in others
        if module.startswith("cli") and other.startswith("solver/search")
    }
    assert known == {("cli/search", "solver/search/solve/clock")}


def _all_imports(tree: ast.AST) -> Iterator[str]:
    """Whatever a module names in an import, for types too."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            yield node.module or ""
        elif isinstance(node, ast.Import):
            yield from (name.name for name in node.names)


ASKED_OF_ALL = {"solver/rules", "solver/rules/limit", "solver/rules/finding"}
"""What others may know of the rules: that there are some, and what one is."""

CHANGES = {f"solver/relax/{name}" for name in ("board", "frame", "rate")}

NAMED = {"rule", "sort", "code"}
"""Attributes that name a rule, a kind of wish or a cause."""


def _outside() -> list[str]:
    return [m for m in _graph() if not f"{m}/".startswith(("solver/rules/", "solver/relax/"))]


def test_no_module_but_those_of_rules_and_changes_knows_one_of_them() -> None:
    graph = _graph()
    known = {(module, other) for module in _outside() for other in graph[module] if _is_one(other)}
    assert known == set()


def _is_one(module: str) -> bool:
    return (module.startswith("solver/rules") and module not in ASKED_OF_ALL) or module in CHANGES


def test_no_module_but_those_of_rules_and_changes_compares_the_name_of_one() -> None:
    found = []
    for module in _outside():
        path = (ROOT / module).with_suffix(".py")
        tree = ast.parse((path if path.exists() else ROOT / module / "__init__.py").read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            asked = [node.left, *node.comparators] if isinstance(node, ast.Compare) else []
            asked += [node.subject] if isinstance(node, ast.Match) else []
            names = any(isinstance(part, ast.Attribute) and part.attr in NAMED for part in asked)
            words = any(
                isinstance(part, ast.Constant) and isinstance(part.value, str) for a in asked for part in ast.walk(a)
            )
            if isinstance(node, ast.Compare | ast.Match) and names and (words or isinstance(node, ast.Match)):
                found.append((module, node.lineno))
    assert found == []

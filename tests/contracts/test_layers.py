"""The layers of the house, by reading every import: lower ones know nothing of higher ones."""

from __future__ import annotations

import ast
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[2]
APP = PROJECT / "app"

LAYERS: tuple[frozenset[str], ...] = (
    frozenset({"app", "errors", "settings"}),
    frozenset({"domain"}),
    frozenset({"rulebook"}),
    frozenset({"legality", "scoring"}),
    frozenset({"planner", "chances", "requests"}),
    frozenset({"engine", "stopwatch", "live", "contract"}),
    frozenset({"practice", "review", "storage", "security"}),
    frozenset({"web"}),
    frozenset({"main", "copies"}),
    frozenset({"__main__"}),
)
RANK = {name: rank for rank, names in enumerate(LAYERS) for name in names}
STRANGERS = {("legality", "scoring"), ("scoring", "legality")}
AT_HOME = {
    "sqlmodel": {"storage"},
    "sqlalchemy": {"storage"},
    "alembic": {"storage"},
    "psycopg": {"storage"},
    "fastapi": {"web", "main"},
    "starlette": {"web", "main"},
    "uvicorn": {"web"},
    "jinja2": {"web"},
    "babel": {"web"},
    "segno": {"web"},
    "cryptography": {"security"},
    "pypdf": {"review"},
}
PURE = ("domain", "rulebook", "legality", "scoring", "planner", "chances")
IMPURE = {
    "time",
    "datetime",
    "random",
    "secrets",
    "os",
    "asyncio",
    "threading",
    "socket",
    "subprocess",
    "logging",
}
FILES = {"pathlib", "io", "shutil", "tempfile"}
MAY_READ_FILES = {
    # Together the loader of rulebooks …
    "rulebook/loader.py",
    "rulebook/values.py",
    "rulebook/editions.py",
    # … and that of priors.
    "chances/prior.py",
    # The loops' machine code is kept in a folder named after their text.
    "planner/kernels/__init__.py",
}

MODULES = sorted(APP.rglob("*.py"))


def part_of(file: Path) -> str:
    """The part of the house a module belongs to: its folder under app/, or its own name."""
    first = file.relative_to(APP).parts[0]
    return "app" if first == "__init__.py" else first.removesuffix(".py")


def imports_of(file: Path) -> set[str]:
    """Every module named by an import, inside functions too; type-checking imports count as well."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{file}: relative import"
            module = node.module or ""
            found |= {f"app.{alias.name}" for alias in node.names} if module == "app" else {module}
    return found


def parts_used(file: Path) -> set[str]:
    """The parts of the house a module imports from."""
    own = {name.split(".")[1] for name in imports_of(file) if name.startswith("app.")}
    return {"app" if name.startswith("__") else name for name in own}


@pytest.mark.parametrize("file", MODULES, ids=lambda file: str(file.relative_to(APP)))
def test_imports_go_down(file: Path) -> None:
    part = part_of(file)
    assert part in RANK, f"{part} has no place among the layers; give it one here and in DEVELOPERS.md"
    for used in parts_used(file) - {part}:
        assert used in RANK, f"{used} has no place among the layers"
        assert RANK[used] <= RANK[part], f"{part} must not know {used}"
        assert (part, used) not in STRANGERS, f"{part} must not know {used}"


def test_no_two_parts_import_each_other() -> None:
    graph: dict[str, set[str]] = {}
    for file in MODULES:
        graph.setdefault(part_of(file), set()).update(parts_used(file) - {part_of(file)})
    assert list(TopologicalSorter(graph).static_order())  # raises CycleError naming the circle


@pytest.mark.parametrize("library", AT_HOME)
def test_each_library_stays_at_home(library: str) -> None:
    users = {
        part_of(file) for file in MODULES if library in {name.split(".")[0] for name in imports_of(file)}
    }
    assert users, f"nobody uses {library}: take it out of the locks and out of this table"
    assert users <= AT_HOME[library]


@pytest.mark.parametrize(
    "file", [f for f in MODULES if part_of(f) in PURE], ids=lambda f: str(f.relative_to(APP))
)
def test_domain_to_planner_are_pure(file: Path) -> None:
    roots = {name.split(".")[0] for name in imports_of(file)}
    assert not roots & IMPURE, "no clock, environment, chance, or anything asynchronous here"
    if file.relative_to(APP).as_posix() not in MAY_READ_FILES:
        assert not roots & FILES, "only the loader reads files"
    tree = ast.parse(file.read_text(encoding="utf-8"))
    assert not [node for node in ast.walk(tree) if isinstance(node, (ast.AsyncFunctionDef, ast.Await))]

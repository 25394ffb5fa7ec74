"""Small modules, short functions, names of the trade."""

from __future__ import annotations

import ast
from pathlib import Path
from statistics import median, quantiles

import pytest

PROJECT = Path(__file__).parents[2]
MODULES = [*sorted((PROJECT / "app").rglob("*.py")), *sorted((PROJECT / "scripts").glob("*.py"))]
MOST_LINES = 400
MEDIAN_LINES = 300
LINES_OF_NINE_IN_TEN = 30
FORBIDDEN = {"utils", "util", "helpers", "helper", "common", "core", "models", "misc", "base", "manager"}


@pytest.mark.parametrize("file", MODULES, ids=lambda file: str(file.relative_to(PROJECT)))
def test_no_module_is_long(file: Path) -> None:
    assert len(file.read_text(encoding="utf-8").splitlines()) <= MOST_LINES


def test_the_median_module_is_short() -> None:
    sizes = [
        len(file.read_text(encoding="utf-8").splitlines()) for file in MODULES if file.name != "__init__.py"
    ]
    assert median(sizes) <= MEDIAN_LINES


def test_nine_functions_in_ten_are_short() -> None:
    lengths = [
        (node.end_lineno or node.lineno) - node.lineno + 1
        for file in MODULES
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef))
    ]
    assert quantiles(lengths, n=10)[-1] < LINES_OF_NINE_IN_TEN


def test_no_module_is_named_after_nothing() -> None:
    names = {part.removesuffix(".py") for file in MODULES for part in file.relative_to(PROJECT).parts}
    assert not names & FORBIDDEN


@pytest.mark.parametrize("file", MODULES, ids=lambda file: str(file.relative_to(PROJECT)))
def test_every_module_says_what_it_is_for(file: Path) -> None:
    assert ast.get_docstring(ast.parse(file.read_text(encoding="utf-8")))

"""A data folder to spoil: two seasons of free skating, copied, with one piece of text replaced."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from app.rulebook.editions import DATA, Edition, load_all

OLD, NEW = "rules/isu/2025-26/free.toml", "rules/isu/2026-27/free.toml"
HEIR = "rules/isu/2024-25/free.toml"
"""Based on OLD as well, and before it in the alphabet."""
FILES = (OLD, NEW, "values/2025-26.csv", "values/2026-27.csv")

Spoil = Callable[..., dict[str, Edition]]


@pytest.fixture
def spoil(tmp_path: Path) -> Spoil:
    """`spoil(file, old, new, *more)` loads a folder in which the first `old` of `file` reads `new`.

    `more`: further files to copy.
    """

    def spoiled(file: str = OLD, old: str = "", new: str = "", *more: str) -> dict[str, Edition]:
        for name in (*FILES, *more):
            (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(DATA / name, tmp_path / name)
        text = (tmp_path / file).read_text(encoding="utf-8")
        assert old in text, f"{file} no longer holds {old!r}: the test needs another place"
        (tmp_path / file).write_text(text.replace(old, new, 1), encoding="utf-8")
        return load_all(tmp_path)

    return spoiled

"""Machine code on disk belongs to exactly the sources it was compiled from."""

from __future__ import annotations

from pathlib import Path

import pytest
from numba import config

from app.planner import kernels


def test_the_folder_is_named_after_the_text_of_all_loops() -> None:
    """numba asks the file of one function only; a change in another file must not serve old loops."""
    assert Path(config.CACHE_DIR) == kernels.kept_under()
    assert kernels.kept_under().parent.parent == kernels.HERE


def test_any_change_moves_the_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for path in kernels.HERE.glob("*.py"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    monkeypatch.setattr(kernels, "HERE", tmp_path)
    before = kernels.kept_under().name
    (tmp_path / "layout.py").write_text((tmp_path / "layout.py").read_text() + "# \n")
    assert kernels.kept_under().name != before

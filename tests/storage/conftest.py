"""What several tests of the storage share."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from app.storage.database import Database


@pytest.fixture
def elsewhere(migrated_file: Path, tmp_path: Path) -> Iterator[Database]:
    """Another installation, empty."""
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    (folder / "recoup.sqlite3").write_bytes(migrated_file.read_bytes())
    opened = Database(folder / "recoup.sqlite3")
    yield opened
    opened.close()

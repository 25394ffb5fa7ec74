"""The table of what was checked names tests that exist, and says of each requirement where it is tested or why not."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]
PAGE = (TESTS.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
SECTION = PAGE.partition("## Security and privacy")[2].partition("\n## ")[0]
ROWS = [line.strip("| ").split(" | ") for line in SECTION.splitlines() if line.startswith("| ")][1:]


def test_there_is_a_table() -> None:
    assert len(ROWS) > 20


@pytest.mark.parametrize("row", ROWS, ids=[row[0] for row in ROWS])
def test_a_requirement_is_tested_or_differs_with_a_reason(row: list[str]) -> None:
    named = re.findall(r"`(\w+/test_\w+)`", row[-1])
    assert named or "**Differs:**" in row[1]
    for one in named:
        assert (TESTS / f"{one}.py").is_file(), one

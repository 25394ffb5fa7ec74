"""No field for weight, food or the body: neither in a table nor in a form nor in the described interface.

Source of the rule: safeguarding of young skaters, who skip meals and get hurt; common practice.
"""

from __future__ import annotations

import re

import pytest
from sqlmodel import SQLModel

import app.storage.tables
from app.requests import AdviseRequest, ScoreRequest
from tests.fuzz.hostile import ALL_FIELDS

WORDS = re.compile(
    r"(^|_)(weights?|kg|height|size|bmi|body|food|meals?|diet|eat\w*|calor\w*|period|cycle|growth|age|born|birth\w*)($|_)"
)


def columns() -> set[str]:
    """Every column of every table."""
    assert app.storage.tables
    return {column.name for table in SQLModel.metadata.tables.values() for column in table.columns}


@pytest.mark.parametrize(
    "fields",
    [columns(), set(ALL_FIELDS), set(ScoreRequest.model_fields) | set(AdviseRequest.model_fields)],
    ids=["tables", "forms", "interface"],
)
def test_nothing_asks_for_the_body(fields: set[str]) -> None:
    assert len(fields) > 5
    assert {name for name in fields if WORDS.search(name)} == set()


@pytest.mark.parametrize("name", ["weight", "body_height", "birth_date", "age", "meals"])
def test_such_a_field_would_be_seen(name: str) -> None:
    assert WORDS.search(name)

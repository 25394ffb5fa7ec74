"""What a content sheet lists. The form's own rules, as federations print them: jumps as turns and letter, "+" joins,
"+SEQ" marks a sequence, no levels."""

from __future__ import annotations

import random
from itertools import chain

import pytest

from app.domain.content import content_code, line_by_line


@pytest.mark.parametrize(
    ("planned", "listed"),
    [
        ("3Lz+3T", "3Lz+3T"),
        ("3S+2A+SEQ", "3S+2A+SEQ"),
        ("3F+Eu+3S", "3F+Eu+3S"),
        ("CCoSp4", "CCoSp"),
        ("FCSSp4V", "FCSSp"),
        ("StSq3", "StSq"),
        ("ChSq1", "ChSq"),
        ("LSpB", "LSp"),
    ],
)
def test_codes_without_levels(planned: str, listed: str) -> None:
    assert content_code(planned) == listed


def test_a_changed_line_faces_the_new_one_and_the_rest_stays_where_it_was() -> None:
    lines = line_by_line(("3Lz+3T", "3F", "2A", "CCoSp"), ("3Lz+2T", "3F", "2A", "CCoSp"))
    assert [(one.handed_in, one.now) for one in lines if not one.same] == [("3Lz+3T", "3Lz+2T")]


def test_a_line_put_in_does_not_make_every_later_one_different() -> None:
    lines = line_by_line(("3Lz", "2A", "CCoSp"), ("3Lz", "3S", "2A", "CCoSp"))
    assert [(one.handed_in, one.now) for one in lines if not one.same] == [(None, "3S")]


@pytest.mark.parametrize("seed", range(100))
def test_both_sheets_can_be_read_back_from_the_lines(seed: int) -> None:
    """Nothing is lost and nothing made up, whatever changed; and no difference is shown where there is none."""
    drawn = random.Random(seed)
    codes = ("3Lz+3T", "3F", "2A", "3Lo", "CCoSp", "StSq", "3S+2T")
    old = drawn.choices(codes, k=drawn.randrange(8))
    new = list(old) if seed % 5 == 0 else drawn.choices(codes, k=drawn.randrange(8))
    lines = line_by_line(old, new)
    assert [one.handed_in for one in lines if one.handed_in is not None] == old
    assert [one.now for one in lines if one.now is not None] == new
    assert all(one.same for one in lines) == (old == new)
    assert not [one for one in lines if one.handed_in is None and one.now is None]
    assert set(chain(old, new)) >= {one.now for one in lines} - {None}

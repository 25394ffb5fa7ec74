"""The count files against the engine, one by one and by merged state.

Counts "by hand" have their working beside them; counts "second opinion" were made by the independent
implementation tests/reference/second_opinion.py, counts of "whole programs" by whole_programs.py; none by the engine.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from app import engine
from tests.counts import walk, whole_programs

BUDGET = 6_000
"""Sequences beyond this are counted by merged state only."""
QUESTIONS = [(block, depth, count) for block in walk.all_countings() for depth, count in block.depths.items()]
IDS = [f"{block.name}, depth {depth}" for block, depth, _ in QUESTIONS]


@pytest.mark.parametrize(("counting", "depth", "count"), QUESTIONS, ids=IDS)
def test_count(counting: walk.Counting, depth: int, count: int) -> None:
    small = depth <= 2 if counting.facts["how"] == "whole programs" else count <= BUDGET
    if counting.is_short or small:
        assert walk.one_by_one(counting, depth) == count, walk.by_first_choice(counting, depth)
    if not counting.is_short:
        assert walk.merged(counting, depth) == count


def test_a_faulty_count_file_is_refused(tmp_path: Path) -> None:
    """A misspelt key, a missing part and an unknown origin name the line."""
    good = "id a\nsource s\nhow by hand\nedition e\nallowed 2T\ndepth 1 = 1\n"
    for bad, word in (
        (good.replace("allowed", "allow"), "bad.txt:5"),
        (good.replace("source s\n", ""), "missing source"),
        (good.replace("by hand", "by us"), "how is 'by us'"),
        (good.replace("depth 1 = 1\n", ""), "a depth"),
    ):
        path = tmp_path / "bad.txt"
        path.write_text(bad, encoding="utf-8")
        with pytest.raises(ValueError, match=word):
            list(walk.read(path))


def test_every_edition_is_counted() -> None:
    """No rulebook without a count from outside the engine."""
    assert {counting.edition for counting in walk.all_countings()} == set(engine.editions())


@pytest.mark.parametrize(
    "counting", [one for one in walk.all_countings() if one.facts["how"] == "whole programs"][::7]
)
def test_the_file_is_what_the_second_count_says(counting: walk.Counting) -> None:
    """A sample of levels.txt, counted again from the conditions on whole programs."""
    lines = list(whole_programs.block(counting.edition, sorted(counting.depths)))
    assert [line for line in lines if line.startswith("depth")] == [
        f"depth {depth} = {count}" for depth, count in sorted(counting.depths.items())
    ]

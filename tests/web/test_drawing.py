"""The drawing: what is told by shape, by word and in the text alternative. Programs here are invented."""

from __future__ import annotations

import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given, strategies as st

from app.web.drawing import WIDTH, Column, Mark, Picture, Stage, describe, draw

SVG = "{http://www.w3.org/2000/svg}"


def picture(*columns: Column, marks: tuple[Mark, ...] = ()) -> Picture:
    """A four-minute program."""
    return Picture("test", "The program", 240, 120, columns, marks)


def tree(*columns: Column) -> ElementTree.Element:
    """The drawing, read back as XML."""
    return ElementTree.fromstring(
        str(draw(picture(*columns))).replace("<svg ", f'<svg xmlns="{SVG[1:-1]}" ', 1)
    )


def boxes(root: ElementTree.Element) -> list[tuple[str, str]]:
    """(fate, text) of every jump drawn."""
    found = []
    for group in root.iter(f"{SVG}g"):
        name, _, fate = group.get("class", "").partition(" ")
        if name == "jump":
            found.append((fate, group.findtext(f"{SVG}text") or ""))
    return found


def test_a_lost_tail_is_crossed_out() -> None:
    root = tree(Column(18, "3Lz+3T", Stage.DONE, skated="3Lz"))
    assert boxes(root) == [("kept", "3Lz"), ("lost", "3T")]
    assert len([path for path in root.iter(f"{SVG}path") if path.get("class") == "cross"]) == 1


def test_a_popped_jump_shows_what_was_planned_and_what_came() -> None:
    assert boxes(tree(Column(18, "3F", Stage.DONE, skated="2F"))) == [("lost", "3F"), ("came", "2F")]


def test_a_swap_on_the_table_is_marked_with_a_plus_and_a_word() -> None:
    root = tree(Column(190, "3S", Stage.TO_COME, offered="3S+3T"))
    assert boxes(root) == [("kept", "3S"), ("offered", "+3T")]
    assert "swap" in [text.text for text in root.iter(f"{SVG}text")]


def test_a_jump_that_counts_for_nothing_is_crossed_out_planned_or_skated() -> None:
    assert boxes(tree(Column(18, "3F+2T*"))) == [("kept", "3F"), ("lost", "2T*")]
    skated = Column(18, "3F+2T", Stage.DONE, skated="3F+2T*")
    assert boxes(tree(skated)) == [("kept", "3F"), ("lost", "2T*")]
    assert "came as 3F+2T*" in describe(picture(skated))


def test_a_pass_left_out_is_crossed_out_whole() -> None:
    root = tree(Column(18, "3F+2T", Stage.LEFT_OUT))
    assert boxes(root) == [("lost", "3F"), ("lost", "2T")]
    assert "not attempted" in describe(picture(Column(18, "3F+2T", Stage.LEFT_OUT)))


@pytest.mark.parametrize(
    ("stage", "word"), [(Stage.DONE, "done"), (Stage.NEXT, "next"), (Stage.TO_COME, "to go")]
)
def test_every_stage_has_its_word(stage: Stage, word: str) -> None:
    skated = "3F" if stage is Stage.DONE else None
    root = tree(Column(18, "3F", stage, skated=skated))
    assert word in [text.text for text in root.iter(f"{SVG}text")]


def test_the_description_tells_everything_the_picture_shows() -> None:
    said = describe(
        picture(
            Column(18, "3Lz+3T", Stage.DONE, skated="3Lz", note="fell"),
            Column(42, "3F", Stage.NEXT),
            Column(190, "3S", Stage.TO_COME, offered="3S+3T"),
        )
    )
    assert said == (
        "Pass 1 at 0:18: 3Lz+3T, came as 3Lz, fell. "
        "Pass 2 at 0:42: 3F, next. "
        "Pass 3 at 3:10: 3S, second half, to come, swap offered: 3S+3T."
    )


def test_it_has_a_title_and_a_description_that_it_points_to() -> None:
    root = tree(Column(18, "3F"))
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "test-t test-d"
    assert [root.findtext(f"{SVG}title"), root.find(f"{SVG}title").get("id")] == ["The program", "test-t"]  # type: ignore[union-attr]


def test_no_inline_style_and_no_script_so_a_strict_content_policy_holds() -> None:
    drawn = str(draw(picture(Column(18, "3F", note="fell"), marks=(Mark(60, "CCoSp4", True),))))
    assert " style=" not in drawn
    assert "<script" not in drawn


def test_words_from_outside_are_escaped() -> None:
    drawn = str(draw(Picture("k", "<b>&", 240, 120, (Column(18, "3F", note='"<'),))))
    assert "<b>" not in drawn
    assert "&lt;b&gt;&amp;" in drawn


@given(st.lists(st.integers(0, 250), min_size=1, max_size=7))
def test_columns_never_touch_and_stay_inside(seconds: list[int]) -> None:
    drawn = str(draw(picture(*(Column(second, "3F") for second in sorted(seconds)))))
    centres = [float(x) for x in re.findall(r'class="number" x="([\d.]+)"', drawn)]
    assert len(centres) == len(seconds)
    assert all(later - earlier >= 44 for earlier, later in pairwise(centres))
    assert centres[0] >= 22
    assert centres[-1] <= WIDTH - 22

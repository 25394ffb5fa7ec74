"""The picture of an element's weeks: dots by size, hollow where few, a band of Wilson's interval. Numbers invented."""

from __future__ import annotations

import re
from datetime import date, timedelta
from statistics import NormalDist
from xml.etree import ElementTree

import pytest
from hypothesis import given, strategies as st

from app.practice.weeks import Week
from app.web.sparkline import EDGE, ENOUGH, HEIGHT, WIDTH, describe, sparkline

SVG = "{http://www.w3.org/2000/svg}"
FIRST = date(2026, 9, 7)


def weeks(*counts: tuple[int, int]) -> list[Week]:
    """Weeks in order from (landed, attempts)."""
    return [
        Week(FIRST + timedelta(weeks=place), attempts, landed)
        for place, (landed, attempts) in enumerate(counts)
    ]


def tree(*counts: tuple[int, int]) -> ElementTree.Element:
    """The picture, read back as XML."""
    drawn = str(sparkline("key", "3Lz", weeks(*counts)))
    return ElementTree.fromstring(drawn.replace("<svg ", f'<svg xmlns="{SVG[1:-1]}" ', 1))


def share(y: str) -> float:
    """The share a height stands for: the lower line none, the upper line all."""
    return (HEIGHT - EDGE - float(y)) / (HEIGHT - 2 * EDGE)


def test_nothing_logged_draws_nothing() -> None:
    assert sparkline("key", "3Lz", weeks((0, 0), (0, 0))) == ""
    assert describe(weeks((0, 0))) == "Nothing logged in these weeks."


def test_a_week_with_few_attempts_is_a_hollow_dot_without_a_line() -> None:
    root = tree((1, ENOUGH - 1), (2, ENOUGH - 1), (0, 0))
    assert [dot.get("class") for dot in root.iter(f"{SVG}circle")] == ["spark-dot few"] * 2
    assert list(root.iter(f"{SVG}polyline")) == []
    assert list(root.iter(f"{SVG}polygon")) == []


def test_the_line_breaks_where_a_week_has_too_few() -> None:
    root = tree((5, 5), (3, 6), (1, 2), (4, 8), (0, 0), (6, 6), (5, 10), (7, 7))
    lines = [len((line.get("points") or "").split()) for line in root.iter(f"{SVG}polyline")]
    assert lines == [2, 3]
    assert len(list(root.iter(f"{SVG}polygon"))) == 3, "a week alone has its own band"


def test_more_attempts_make_a_larger_dot_and_more_landed_a_higher_one() -> None:
    few, many, low = tree((5, 5), (12, 12), (0, 5)).iter(f"{SVG}circle")
    assert float(many.get("r") or 0) > float(few.get("r") or 0)
    assert [share(dot.get("cy") or "") for dot in (few, many, low)] == pytest.approx([1, 1, 0], abs=0.01)


@given(st.integers(ENOUGH, 40).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_the_band_is_wilsons_interval(week: tuple[int, int]) -> None:
    """Wilson 1927: the ends of the interval solve (share - p)^2 = z^2 p (1 - p) / n; here put into that equation."""
    landed, attempts = week
    (band,) = tree(week, (0, 0)).iter(f"{SVG}polygon")
    ends = {share(point.split(",")[1]) for point in (band.get("points") or "").split()}
    z = NormalDist().inv_cdf(0.95)
    for p in ends:
        # Heights are written to a tenth of a unit: p is known to half of that.
        miss = (landed / attempts - p) ** 2 - z**2 * p * (1 - p) / attempts
        slope = abs(2 * (landed / attempts - p)) + z**2 * abs(1 - 2 * p) / attempts
        assert abs(miss) <= (slope + 0.01) * 0.06 / (HEIGHT - 2 * EDGE)
    assert min(ends) - 0.002 <= landed / attempts <= max(ends) + 0.002


@given(
    st.lists(
        st.integers(0, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))),
        min_size=1,
        max_size=12,
    )
)
def test_everything_stays_inside_the_picture(counts: list[tuple[int, int]]) -> None:
    if not any(attempts for _, attempts in counts):
        return
    for dot in tree(*counts).iter(f"{SVG}circle"):
        x, y, r = (float(dot.get(name) or "nan") for name in ("cx", "cy", "r"))
        assert r <= x <= WIDTH - r
        assert r <= y <= HEIGHT - r


def test_the_text_says_what_the_picture_shows() -> None:
    root = tree((3, 6), (0, 0), (2, 2))
    said = root.findtext(f"{SVG}desc") or ""
    assert re.findall(r"week of (\d+ \w+ \d+): (\d+) of (\d+)", said) == [
        ("7 September 2026", "3", "6"),
        ("21 September 2026", "2", "2"),
    ]
    assert root.findtext(f"{SVG}title") == "3Lz, last 3 weeks"

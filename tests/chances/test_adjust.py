"""The odds of the moment against the published figures and the definition of odds.

Published: open data of ISU protocols 2016-2017, elite senior free skatings, as in `data/priors/adjustments.csv`.
Distributions of attempts are invented.
"""

from __future__ import annotations

import pytest
from hypothesis import given, strategies as st

from app.chances.adjust import Moment, at_the_moment, is_clean, is_major, with_odds
from app.chances.outcomes import Fate
from app.chances.prior import published
from app.settings import CoachSettings

LUTZ = (
    Fate("3Lz", 0.58, 1.2),
    Fate("3Lz", 0.14, -1.6, error=True),
    Fate("3Lz<", 0.12, -2.2, error=True),
    Fate("3Lz", 0.08, -5.0, fall=True, error=True),
    Fate("2Lz", 0.08, -0.4, error=True),
)
LATE, SHAKEN = Moment(late=True), Moment(after_fall=True)


def chance(found: tuple[float, ...], *places: int) -> float:
    return sum(found[place] for place in places)


def odds(p: float) -> float:
    return p / (1 - p)


@pytest.mark.parametrize("who", ["men", "women"])
def test_after_a_fall_the_odds_of_a_clean_pass_are_halved(who: str) -> None:
    """Published: about x 0.5 (men 0.34-0.70 of 118, women 0.30-0.83 of 57). The misses keep their proportions."""
    found = at_the_moment("3Lz", LUTZ, who, SHAKEN)
    assert odds(found[0]) == pytest.approx(0.5 * odds(0.58), rel=1e-5)
    assert found[1] / found[3] == pytest.approx(0.14 / 0.08, rel=1e-4)
    assert sum(found) == pytest.approx(1, abs=1e-12)


def test_the_published_odds_agree_with_the_published_shares() -> None:
    """Clean 44 % instead of 62 % (men), 49 % instead of 66 % (women): odds ratios of 0.48 and 0.49."""
    assert odds(0.44) / odds(0.62) == pytest.approx(published("after fall", "men").odds, abs=0.03)
    assert odds(0.49) / odds(0.66) == pytest.approx(published("after fall", "women").odds, abs=0.03)


@pytest.mark.parametrize(("who", "ratio"), [("women", 1.80), ("men", 1.04)])
def test_late_the_odds_of_a_major_failure_rise(who: str, ratio: float) -> None:
    """Published for triples: women x 1.80 (1.16-2.78), men x 1.04 (0.58-1.86); major: fall, pop, downgrade."""
    found = at_the_moment("3Lz", LUTZ, who, LATE)
    assert odds(chance(found, 3, 4)) == pytest.approx(ratio * odds(0.16), rel=1e-5)
    assert found[0] / found[2] == pytest.approx(0.58 / 0.12, rel=1e-4)  # the rest is no worse among itself


def test_late_says_nothing_of_doubles() -> None:
    """The sample is triples."""
    double = (Fate("2A", 0.8, 0.5), Fate("1A", 0.2, -1.0, error=True))
    assert at_the_moment("2A", double, "women", LATE) == (0.8, 0.2)


def test_both_moments_multiply() -> None:
    late = at_the_moment("3Lz", LUTZ, "women", LATE)
    both = at_the_moment("3Lz", LUTZ, "women", Moment(late=True, after_fall=True))
    assert odds(both[0]) == pytest.approx(0.5 * odds(late[0]), rel=1e-4)


@pytest.mark.parametrize(
    ("end", "clean", "major"),
    [
        (Fate("3F+2T", 1, 0), True, False),
        (Fate("3F+2T", 1, -0.4), True, False),  # an entered grade is a mean
        (Fate("3F+2T", 1, -2, error=True), False, False),
        (Fate("3F+2T<", 1, -2), False, False),
        (Fate("3Fe+2T", 1, -1), False, False),
        (Fate("3F", 1, -1), False, False),  # a lost tail is not clean, but no major failure of the jump
        (Fate("3F", 1, -5, fall=True), False, True),
        (Fate("3F<<", 1, -4), False, True),
        (Fate("2F", 1, -1), False, True),
        (Fate("F", 1, -5), False, True),
        (Fate("3F+2T", 1, -5, fall=True), False, True),
    ],
)
def test_what_is_clean_and_what_is_a_major_failure(end: Fate, clean: bool, major: bool) -> None:
    """Whatever was flagged by hand: the sheet's own marks decide. Terms of the sample behind the odds."""
    assert (is_clean("3F+2T", end), is_major("3F+2T", end)) == (clean, major)


@given(st.lists(st.floats(0.001, 1), min_size=2, max_size=9), st.floats(0.1, 5), st.data())
def test_any_distribution_stays_one_with_the_odds_multiplied(
    weights: list[float], ratio: float, data: st.DataObject
) -> None:
    chances = [weight / sum(weights) for weight in weights]
    which = data.draw(st.lists(st.booleans(), min_size=len(chances), max_size=len(chances)))
    found = with_odds(chances, which, ratio)
    assert sum(found) == pytest.approx(1, abs=1e-9)
    before = sum(chance for chance, marked in zip(chances, which, strict=True) if marked)
    after = sum(chance for chance, marked in zip(found, which, strict=True) if marked)
    expected = ratio * before / (ratio * before + 1 - before)
    assert after == pytest.approx(expected, abs=1e-5)


def test_a_sure_thing_stays_sure() -> None:
    """A planned element nobody knows is reckoned as landed: there is nothing to shift."""
    assert at_the_moment("3Lz", (Fate("3Lz", 1.0, 0.0),), "women", SHAKEN) == (1.0,)


def test_odds_are_on_by_default_exactly_where_the_interval_leaves_out_no_change() -> None:
    defaults = CoachSettings()
    assert published("second half", "women").established is defaults.second_half_odds_women is True
    assert published("second half", "men").established is defaults.second_half_odds_men is False
    assert defaults.after_fall_odds is True
    assert all(published("after fall", who).established for who in ("men", "women"))

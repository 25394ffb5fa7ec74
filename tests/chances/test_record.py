"""The skater's own log against the algebra of Beta and Dirichlet distributions, worked out here.

Logs and priors are invented; the formulas are textbook: a Dirichlet prior with weights a_i and counts c_i has the
mean (a_i + c_i) / sum(a + c), and its groups are a Beta distribution apart from the shares inside the groups.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, strategies as st
from scipy.stats import binomtest

from app.chances.record import FATES, LANDED, Record, fate_chances, landing_chance, wilson
from app.errors import InputError

PRIOR = dict(zip(FATES, (0.4, 0.1, 0.05, 0.05, 0.05, 0.05, 0.1, 0.05, 0.05, 0.06, 0.04), strict=True))
COUNTS = st.fixed_dictionaries({fate: st.integers(0, 30) for fate in FATES})


@given(COUNTS, st.integers(10, 20))
def test_where_every_fate_is_known_the_mean_is_that_of_the_dirichlet(
    counts: dict[str, int], pseudo: int
) -> None:
    record = Record(sum(counts.values()), sum(counts[fate] for fate in LANDED), counts)
    found = fate_chances(record, PRIOR, pseudo)
    for fate in FATES:
        mean = (pseudo * Fraction(PRIOR[fate]) + counts[fate]) / (pseudo + record.attempts)
        assert found[fate].chance == pytest.approx(float(mean))
        assert found[fate].low <= found[fate].chance <= found[fate].high


@given(COUNTS, st.integers(0, 40), st.integers(0, 40))
def test_counts_without_fates_move_landing_and_nothing_inside(
    counts: dict[str, int], landed: int, missed: int
) -> None:
    known, feet = sum(counts.values()), sum(counts[fate] for fate in LANDED)
    more = Record(known + landed + missed, feet + landed, counts)
    with_more = fate_chances(more, PRIOR, 15)
    without = fate_chances(Record(known, feet, counts), PRIOR, 15)
    assert sum(one.chance for one in with_more.values()) == pytest.approx(1)
    up = sum(with_more[fate].chance for fate in LANDED)
    prior = sum(PRIOR[fate] for fate in LANDED)
    assert up == pytest.approx((15 * prior + feet + landed) / (15 + known + landed + missed))
    for one, other in (("clean", "q"), ("fall", "tail not tried")):
        ratio = with_more[one].chance / with_more[other].chance
        assert ratio == pytest.approx(without[one].chance / without[other].chance)


def test_an_old_log_without_fates_keeps_the_priors_shares() -> None:
    """18 of 24 landed, prior 0.65 landed: (18 + 15 x 0.65) / 39 landed, of them 0.40 / 0.65 clean."""
    found = fate_chances(Record(24, 18), PRIOR, 15)
    assert found["clean"].chance == pytest.approx((18 + 15 * 0.65) / 39 * 0.40 / 0.65)
    assert landing_chance(Record(24, 18), 0.65, 15).chance == pytest.approx((18 + 15 * 0.65) / 39)


def test_a_fate_the_sheets_never_showed_may_still_be_in_the_log() -> None:
    prior = {"clean": 0.7, "fall": 0.3}
    found = fate_chances(Record(10, 10, {"clean": 8, "q": 2}), prior, 15)
    assert found["q"].chance == pytest.approx(2 / 25)
    assert found["edge"].chance == 0


@pytest.mark.parametrize(("part", "whole"), [(0, 10), (7, 25), (25, 25)])
def test_the_interval_is_wilsons(part: int, whole: int) -> None:
    """SciPy's `binomtest` as a general library."""
    found = wilson(part / whole, whole)
    assert (found.low, found.high) == pytest.approx(
        tuple(binomtest(part, whole).proportion_ci(0.90, method="wilson"))
    )


@pytest.mark.parametrize(
    ("given_", "said"),
    [
        ((3, 5), "landed: 5 of 3"),
        ((3, 2, {"stumbled": 1}), "'stumbled': 1 given; expected a count of clean, error"),
        ((3, 2, {"clean": -1}), "'clean': -1 given"),
        ((3, 2, {"clean": 3}), "3 landed and 0 missed by their fates; expected no more than 2 of 3"),
        ((3, 2, {"fall": 2}), "0 landed and 2 missed"),
    ],
)
def test_a_log_that_contradicts_itself_is_refused(given_: tuple[object, ...], said: str) -> None:
    with pytest.raises(InputError, match=said.replace("(", r"\(")):
        Record(*given_)  # type: ignore[arg-type]

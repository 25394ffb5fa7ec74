"""The outcome model: published counts in, distributions out.

Sources: official judges' details sheets 2022/23-2025/26 (shares, copied here from the table they were counted
into), open data of ISU protocols 2016-2017 (pops, odds), Wilson's interval from SciPy as a general library.
"""

from __future__ import annotations

import pytest
from scipy.stats import binomtest

from app.chances.outcomes import chances
from app.chances.prior import CATEGORIES, jump_prior, level_and_discipline
from app.chances.record import Record, landing_chance
from app.domain.notation import parse_element
from app.errors import InputError

CODES = ("3Lz", "3Lz+3T", "3F+2T+2Lo", "2A+Eu+3S", "3F+2A+SEQ", "4T", "2A", "1A", "3S+1Eu+3S")


def test_the_prior_of_a_rare_level_leans_on_the_wider_sample() -> None:
    """4T: 358 on all sheets, 17.0 % fallen (`any, any` row); no woman's row may stray far from it."""
    prior = jump_prior("junior", "women", "4T")
    assert prior is not None
    assert prior.seen == 358
    assert prior.shares["fall"] == pytest.approx(0.1704, abs=0.06)


def test_a_large_sample_speaks_for_itself() -> None:
    """3Lz: 1150 on all sheets; the widest row says 50.5 % clean, and every narrower row has many jumps."""
    prior = jump_prior("senior", "men", "3Lz")
    assert prior is not None
    assert prior.pop == 0.07  # elite men, Lutz: 7 % popped
    assert 0.4 < prior.shares["clean"] < 0.75


@pytest.mark.parametrize("jump", ["2A", "3Lz", "3S", "4T", "2Lo"])
def test_shares_sum_to_one(jump: str) -> None:
    prior = jump_prior("senior", "women", jump)
    assert prior is not None
    assert sum(prior.shares[c] for c in CATEGORIES) == pytest.approx(1)


def test_too_few_jumps_give_no_prior() -> None:
    """1T: four on all sheets. "Not enough data" is an answer."""
    assert jump_prior("senior", "women", "1T") is None
    assert chances("senior", "women", "1T+2T", Record(20, 18)) is None


@pytest.mark.parametrize("code", CODES)
@pytest.mark.parametrize("record", [Record(0, 0), Record(12, 3), Record(40, 40)])
def test_fates_are_a_distribution_of_readable_elements(code: str, record: Record) -> None:
    found = chances("senior", "women", code, record)
    assert found is not None
    assert sum(round(one.chance * 10_000) for one in found.fates) == 10_000
    for one in found.fates:
        assert str(parse_element(one.becomes)) == one.becomes
        assert -5 <= one.grade <= 5
        # A fall costs five grades (share of judges' marks on fallen jumps: 97.8 % are -5).
        assert not one.fall or one.grade < -4


def test_the_log_moves_the_chance_and_the_prior_holds_it_back() -> None:
    """15 prior attempts against 45 logged: three quarters of the weight lie on the log."""
    estimate = landing_chance(Record(45, 45), prior=0.6, pseudo=15)
    assert estimate.chance == pytest.approx((45 + 15 * 0.6) / 60)
    assert estimate.low < estimate.chance < estimate.high


@pytest.mark.parametrize(("landed", "attempts"), [(0, 10), (7, 25), (18, 25), (60, 60)])
def test_the_interval_is_wilsons(landed: int, attempts: int) -> None:
    estimate = landing_chance(Record(attempts, landed), prior=0.5, pseudo=0)
    low, high = binomtest(landed, attempts).proportion_ci(0.90, method="wilson")
    assert (estimate.low, estimate.high) == pytest.approx((low, high))


def test_more_attempts_make_a_narrower_interval() -> None:
    few, many = landing_chance(Record(10, 7), 0.7, 15), landing_chance(Record(100, 70), 0.7, 15)
    assert many.high - many.low < few.high - few.low


def test_a_record_cannot_land_more_than_it_tried() -> None:
    with pytest.raises(InputError, match="landed: 5 of 3"):
        Record(3, 5)


def test_young_skaters_lean_on_the_sheets_of_novice() -> None:
    """The sheets call them women and men; below novice there are none (tests/reference/README.md)."""
    assert level_and_discipline("isu/2025-26/advanced-novice/girls/free") == ("novice", "women")
    assert level_and_discipline("isu/2025-26/advanced-novice/boys/short") == ("novice", "men")
    assert level_and_discipline("isu/2025-26/basic-novice/all/free") == ("novice", "all")
    assert level_and_discipline("isu/2025-26/junior/men/free") == ("junior", "men")

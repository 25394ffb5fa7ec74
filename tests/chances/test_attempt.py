"""The tree of an attempt against arithmetic done here on the tables.

Tables: official judges' details sheets 2022/23-2025/26 (first jumps, tails), open data of ISU protocols 2016-2017
(pops), common practice without a source (how often a tail is tried). The expected values are worked out from them.
"""

from __future__ import annotations

from itertools import product

import pytest

from app.chances.attempt import chance_tried, ends_of
from app.chances.outcomes import chances
from app.chances.prior import JumpPrior, habit, jump_prior, tail_calls
from app.chances.record import FATES, LANDED, Record
from app.domain.elements import Jump
from app.domain.notation import parse_jump_element

CODES = ("3Lz", "2A", "3Lz+3T", "3F+2T+2Lo", "2A+Eu+3S", "3F+2A+SEQ", "3S+3T+2T", "4T+1Eu+3F", "2S+1Lo")


def prior_of(jump: str) -> JumpPrior:
    found = jump_prior("senior", "women", jump)
    assert found is not None
    return found


def share(code: str, fate: str) -> float:
    element = parse_jump_element(code)
    return sum(one.chance for one in ends_of(element, prior_of(element.jumps[0].name)) if one.fate == fate)


@pytest.mark.parametrize("code", CODES)
def test_the_leaves_are_a_distribution_of_readable_elements(code: str) -> None:
    element = parse_jump_element(code)
    ends = ends_of(element, prior_of(element.jumps[0].name))
    assert sum(one.chance for one in ends) == pytest.approx(1)
    for one in ends:
        assert one.fate in FATES
        assert str(parse_jump_element(one.becomes)) == one.becomes
        assert one.fall == (one.fate == "fall")


def test_a_solo_jump_is_its_row_of_the_table() -> None:
    """Share of the sheets times one less the pops; women's Lutz: 10 % popped, 7 in 10 of them by one turn."""
    prior = prior_of("3Lz")
    assert share("3Lz", "clean") == pytest.approx(0.9 * prior.shares["clean"])
    assert share("3Lz", "edge") == pytest.approx(0.9 * (prior.shares["!"] + prior.shares["e"]))
    assert share("3Lz", "popped by one") == pytest.approx(0.07)
    assert share("3Lz", "popped to a single") == pytest.approx(0.03)
    assert share("3Lz", "tail not tried") == 0


def test_a_combination_path_by_path() -> None:
    """3Lz+3T, every path written out: landing of the lead, tail tried or not, call of the tail."""
    prior, expected = prior_of("3Lz"), dict.fromkeys(FATES, 0.0)
    expected |= {"popped by one": 0.07, "popped to a single": 0.03}
    expected["fall"] = 0.9 * prior.shares["fall"]
    expected["<<"] = 0.9 * prior.shares["<<"]
    rank = ["clean", "edge", "error", "q", "<", "<<", "fall"]
    name = {"clean": "clean", "neg": "error", "!": "edge", "e": "edge", "q": "q", "<": "<"}
    for lead, tail in product(name, ("", "q", "<", "<<", "fall")):
        poor = lead in ("neg", "q", "<")
        tried = 0.75 / 0.25 * (0.5 if poor else 1)
        tried /= 1 + tried
        calls = tail_calls(3, poor)
        chance = 0.9 * prior.shares[lead] * tried * (calls[tail] if tail else 1 - sum(calls.values()))
        expected[max(name[lead], tail or "clean", key=rank.index)] += chance
        if not tail:
            lost = 0.9 * prior.shares[lead] * (1 - tried)
            expected["tail not tried"] += lost / 2
            expected["tail shortened"] += lost / 2
    for fate in FATES:
        assert share("3Lz+3T", fate) == pytest.approx(expected[fate]), fate


def test_after_a_poor_landing_a_tail_is_tried_less_often_and_comes_out_worse() -> None:
    """Sheets 2022/23-2025/26: a triple behind a called lead is under-rotated 31 times in 100, else 10 times."""
    toe = Jump("T", 3)
    odds = [p / (1 - p) for p in (chance_tried(toe, False), chance_tried(toe, True))]
    assert odds[1] / odds[0] == pytest.approx(0.5)
    for turns in (2, 3):
        good, poor = tail_calls(turns, False), tail_calls(turns, True)
        assert poor["<"] > 2 * good["<"]
        assert poor["q"] > good["q"]


def test_a_lost_tail_leaves_the_jumps_before_it() -> None:
    lost = {
        one.becomes
        for one in ends_of(parse_jump_element("3F+2A+2T+SEQ"), prior_of("3F"))
        if "tail" in one.fate
    }
    assert {"3F", "3F+2A+SEQ"} <= lost


def test_a_fall_inside_a_sequence_leaves_a_sequence() -> None:
    """Used to be 3F+2A without +SEQ, which the rulebook took for a combination."""
    fallen = {one.becomes for one in ends_of(parse_jump_element("3F+2A+2T+SEQ"), prior_of("3F")) if one.fall}
    assert "3F+2A+SEQ" in fallen
    assert "3F+2A" not in fallen


@pytest.mark.parametrize("code", CODES)
def test_the_shares_of_the_landed_fates_are_the_landing(code: str) -> None:
    found = chances("senior", "women", code, Record(24, 15))
    assert found is not None
    assert sum(found.shares[fate].chance for fate in LANDED) == pytest.approx(found.landing.chance)
    assert sum(one.chance for one in found.shares.values()) == pytest.approx(1)
    for one in found.shares.values():
        assert one.low <= one.chance <= one.high


@pytest.mark.parametrize("fate", FATES)
def test_what_the_log_knows_of_fates_moves_exactly_that_fate(fate: str) -> None:
    """Thirty attempts that all ended one way against a prior worth fifteen: two thirds of the weight (Dirichlet)."""
    landed = 30 if fate in LANDED else 0
    before = chances("senior", "women", "3Lz+3T", Record(0, 0))
    after = chances("senior", "women", "3Lz+3T", Record(30, landed, {fate: 30}))
    assert before is not None
    assert after is not None
    for other in FATES:
        counted = 30 if other == fate else 0
        mean = (habit("pseudo-count") * before.shares[other].chance + counted) / (habit("pseudo-count") + 30)
        assert after.shares[other].chance == pytest.approx(mean)
    assert sum(one.chance for one in after.fates) == pytest.approx(1)


def test_a_fate_no_sheet_shows_becomes_something_readable() -> None:
    """No sheet has a quarter on 1A or a lost tail behind a solo jump; a log may."""
    found = chances("senior", "women", "1A", Record(10, 5, {"q": 5, "popped by one": 1, "tail not tried": 1}))
    assert found is not None
    assert "1Aq" in {one.becomes for one in found.fates}
    for one in found.fates:
        assert str(parse_jump_element(one.becomes)) == one.becomes


@pytest.mark.parametrize("code", CODES)
def test_what_the_planner_gets_keeps_the_chance_of_every_fall_and_of_clean(code: str) -> None:
    """Rare leaves are taken together inside their fate; only fates under 2 in 1000 are left out."""
    found = chances("senior", "women", code, Record(0, 0))
    assert found is not None
    left_out = sum(one.chance for one in found.shares.values() if one.chance < 0.002)
    for said, is_it in (("fall", lambda one: one.fall), ("clean", lambda one: not one.error)):
        told = sum(one.chance for one in found.fates if is_it(one))
        assert told == pytest.approx(found.shares[said].chance, abs=left_out + 0.002)

"""The entry guard. Entries, counts and gains are invented; a second a tail is common practice, no source."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings, strategies as st

from app.live.advice import layout_question, question
from app.live.entries import NOT_NOTED, caution, fitting, gathered, same_entry, trained_from, why_unfit
from app.live.program import KnownElement, Limits, Outcome, Plan, PlannedPass, Setting
from app.storage.records import LayoutItem, TrainedRecord
from app.web.advisor import sort_elements
from app.web.views.plans import known_of

TODAY = date(2026, 11, 25)
LIMITS = Limits()
BOOK = "isu/2026-27/senior/women/free"


def element(
    code: str, entry: str = "", attempts: int = 25, ready: bool = True, chance: float = 0.7
) -> KnownElement:
    """An element that counts as trained, unless said otherwise."""
    ends = (Outcome(code, chance, 1.0), Outcome(code, 1 - chance, -5.0, fall=True))
    return KnownElement(code, ready, attempts, attempts // 2, TODAY, ends, entry=entry)


def plan(*rows: PlannedPass) -> Plan:
    return Plan(BOOK, Setting.RUN_THROUGH, "", rows)


def row(code: str, entry: str = "", slack: int = 0, options: tuple[str | None, ...] = ()) -> PlannedPass:
    return PlannedPass(code, 40, False, options, entry, slack)


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("three-turn", "Three turn", True),
        ("  mohawk ", "mohawk", True),
        ("mohawk", "three-turn", False),
        ("", "", True),
    ],
)
def test_entries_are_compared_by_their_words(one: str, other: str, same: bool) -> None:
    assert same_entry(one, other) is same


@pytest.mark.parametrize(
    ("pass_entry", "trained", "fits", "said"),
    [
        ("mohawk", ("mohawk",), True, ""),
        ("mohawk", ("three-turn",), False, ""),
        ("mohawk", ("three-turn", "Mohawk"), True, ""),
        ("mohawk", ("",), True, NOT_NOTED),
        ("mohawk", ("three-turn", ""), True, NOT_NOTED),
        ("", ("three-turn",), True, NOT_NOTED),
        ("", ("",), True, ""),
    ],
)
def test_a_swap_needs_the_entry_it_was_trained_from(
    pass_entry: str, trained: tuple[str, ...], fits: bool, said: str
) -> None:
    tail = gathered([element("3S+2T", entry) for entry in trained])
    here = row("3S", pass_entry, options=("3S+2T",))
    assert (why_unfit(here, tail) == "") is fits
    asked = question(plan(here), {"3S+2T": tail}, {"3S+2T": tail}, LIMITS)
    assert asked["passes"][0]["options"] == (["3S", "3S+2T"] if fits else ["3S"])
    if fits:
        assert caution(here, tail) == said


def test_the_planned_element_is_never_taken_away() -> None:
    here = row("3S", "mohawk", slack=1)
    assert why_unfit(here, element("3S", "three-turn")) == ""
    asked = question(plan(here), {}, {"3S": element("3S", "three-turn")}, LIMITS)
    assert asked["passes"][0]["options"] == ["3S"]


@pytest.mark.parametrize(
    ("slack", "code", "fits"),
    [
        (0, "3S+2T+2Lo", True),  # nothing noted
        (1, "3S+2T", True),
        (1, "3S+2T+2Lo", False),
        (2, "3S+2T+2Lo", True),
        (1, "3S+Eu+3S", False),  # the Euler takes its time too
        (1, "3F", True),
        (1, "2S", True),
    ],
)
def test_an_added_tail_needs_about_a_second(slack: int, code: str, fits: bool) -> None:
    why = why_unfit(row("3S", slack=slack), element(code))
    assert (why == "") is fits
    assert fits or f"only {slack} s to spare" in why


def test_why_it_does_not_fit_is_said() -> None:
    tail = gathered([element("3S+2T", "three-turn", 30), element("3S+2T", "mohawk", 20)])
    here = row("3S", "back crossovers along the boards")
    assert why_unfit(here, tail) == (
        "trained from: three-turn or mohawk; this pass is entered from: back crossovers along the boards"
    )


def test_the_record_of_that_entry_stands_for_the_element() -> None:
    """The same code from two entries has two records; each pass is reckoned with its own."""
    often, seldom = element("3S+2T", "three-turn", 40, chance=0.8), element("3S+2T", "mohawk", 12, chance=0.4)
    both = gathered([seldom, often])
    assert both.entry == "three-turn"
    assert fitting(row("3S", "mohawk"), both) == seldom
    asked = question(
        plan(row("3S", "mohawk", options=("3S+2T",)), row("3S", "three-turn", options=("3S+2T",))),
        {"3S+2T": both},
        {"3S+2T": both},
        LIMITS,
    )
    first, second = asked["passes"]
    assert first["attempts"]["3S+2T"][0]["chance"] == 0.4
    assert "attempts" not in second
    assert asked["attempts"]["3S+2T"][0]["chance"] == 0.8


def test_trained_is_asked_of_every_entry_by_itself() -> None:
    """Forty attempts from one entry do not make the other competition-ready."""
    stale = replace(element("3S+2T", "three-turn", 40), last_logged=TODAY - timedelta(days=90))
    fresh = element("3S+2T", "mohawk", 12)
    kept = trained_from(gathered([stale, fresh]), LIMITS, TODAY)
    assert kept is not None
    assert kept.entry == "mohawk"
    assert kept.others == ()
    assert trained_from(gathered([stale, replace(fresh, attempts=3)]), LIMITS, TODAY) is None


def test_stored_records_of_one_code_keep_their_entries() -> None:
    records = [
        TrainedRecord(1, "3S+2T", "three-turn", True, 40, 30, last_logged=TODAY),
        TrainedRecord(1, "3S+2T", "mohawk", False, 50, 40, last_logged=TODAY),
    ]
    known = known_of(records, BOOK)
    assert [one.entry for one in (known["3S+2T"], *known["3S+2T"].others)] == ["three-turn", "mohawk"]
    elements = sort_elements(known, LIMITS, TODAY)
    assert elements.offered["3S+2T"].others == (), "the entry that is not ticked is not offered"
    assert elements.refused == {}
    here = row("3S", "mohawk", options=("3S+2T",))
    assert elements.why_not(here, "3S+2T").startswith("Does not fit: trained from: three-turn")
    assert elements.why_not(row("3S", "three-turn"), "3S+2T") == ""


def test_a_stored_pass_carries_entry_and_spare_seconds() -> None:
    from app import engine
    from app.web.views.plans import passes_of

    items = (LayoutItem("jump", "3S", 100, entry="mohawk", slack=3),)
    (one,) = passes_of(items, engine.edition(BOOK))
    assert (one.entry, one.slack) == ("mohawk", 3)


ENTRIES = st.sampled_from(["", "mohawk", "three-turn", "Mohawk", "inside spread eagle"])
CODES = st.sampled_from(["3S", "3S+2T", "3F", "3F+2T+2Lo", "2A"])


@settings(deadline=None)  # a busy machine
@given(
    st.lists(st.tuples(CODES, ENTRIES, st.integers(0, 3)), min_size=1, max_size=4),
    st.dictionaries(CODES, st.lists(ENTRIES, min_size=1, max_size=3, unique=True), max_size=5),
)
def test_nothing_that_does_not_fit_is_ever_asked(
    passes: list[tuple[str, str, int]], trained: dict[str, list[str]]
) -> None:
    offered = {code: gathered([element(code, one) for one in entries]) for code, entries in trained.items()}
    rows = plan(*(row(*one) for one in passes))
    asked = layout_question(rows, offered, offered, LIMITS)
    for (planned, entry, slack), said in zip(passes, asked["passes"], strict=True):
        assert said["options"][0] == planned
        for code in said["options"][1:]:
            words = {one.replace("-", " ").lower() for one in trained[code]}
            assert not entry or entry.replace("-", " ").lower() in words or "" in words
            assert not slack or code.count("+") - planned.count("+") <= slack
        missing = set(trained) - set(said["options"])
        assert not missing or entry or slack, "without a note nothing is held back"

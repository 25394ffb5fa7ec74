"""Logs no screen of ours would write: read or refused by name, folded to some state, whatever the order.

A log may come from another laptop, an older version or a phone that was tampered with. Folding it must give a state,
the same one in any order of arrival, and a stop in it must never be lost.
"""

from __future__ import annotations

import random
from typing import Any

import pytest
from hypothesis import given, strategies as st
from starlette.testclient import TestClient

from app.errors import InputError
from app.live.events import (
    AdviceShown,
    Author,
    Cleared,
    Event,
    Stamped,
    Stopped,
    Undone,
    from_record,
    to_record,
)
from app.live.fold import fold
from app.live.merge import in_force, stamp
from app.live.program import Plan, PlannedPass, Setting
from tests.fuzz.hostile import CODES, HOSTILE, many

PLAN = Plan(
    "isu/2026-27/senior/women/free",
    Setting.RUN_THROUGH,
    "",
    tuple(
        PlannedPass(code, 20 + 35 * place, place > 2)
        for place, code in enumerate(("3Lz+3T", "3F", "2A", "3Lo"))
    ),
)
"""Invented."""

JUMPS = tuple(code for code in CODES if "S" not in code or code[0].isdigit())
KINDS = (
    "pass skated",
    "pass left out",
    "corrected",
    "inserted",
    "undone",
    "redone",
    "chosen",
    "lateness set",
    "music started",
    "interrupted",
    "resumed",
    "layout chosen",
    "aim set",
    "stopped",
    "cleared",
    "advice allowed",
    "advice hidden",
    "advice shown",
)
"""As the head of app/live/events.py lists them."""

NAMES = st.sampled_from(tuple("abcdefgh"))
IDS = st.lists(NAMES, max_size=3)
NUMBER = st.sampled_from((1, 2, 3, 4, 5, 6, 0, -1, 10**9))
READING = st.fixed_dictionaries(
    {
        "code": st.sampled_from(JUMPS),
        "fall": st.booleans(),
        "error": st.booleans(),
        "chance": st.sampled_from((1.0, 0.5)),
    }
)
SKATED = st.fixed_dictionaries(
    {
        "number": NUMBER,
        "tried": st.sampled_from(JUMPS),
        "how": st.just("as planned"),
        "readings": st.lists(READING, min_size=1, max_size=3),
    }
)
LEFT = st.fixed_dictionaries({"number": NUMBER})
WHAT = st.one_of(
    SKATED.map(lambda said: {"kind": "pass skated", "payload": said}),
    LEFT.map(lambda said: {"kind": "pass left out", "payload": said}),
)
POINTS = st.sampled_from((0.0, 62.4, 400.0))
PAYLOADS: dict[str, st.SearchStrategy[dict[str, Any]]] = {
    "pass skated": SKATED,
    "pass left out": LEFT,
    "corrected": st.fixed_dictionaries({"what": WHAT, "instead_of": IDS}),
    "inserted": st.fixed_dictionaries({"before": NUMBER, "what": WHAT}),
    "undone": st.fixed_dictionaries({"number": NUMBER, "of": IDS}),
    "redone": st.fixed_dictionaries({"of": IDS}),
    "chosen": st.fixed_dictionaries({"number": NUMBER, "keeps": NAMES, "over": IDS}),
    "lateness set": st.fixed_dictionaries({"number": NUMBER, "of": IDS, "late": st.booleans()}),
    "music started": st.fixed_dictionaries({"instead_of": IDS}),
    "interrupted": st.fixed_dictionaries({"music_stopped": st.booleans()}),
    "resumed": st.fixed_dictionaries({"of": IDS}),
    "layout chosen": st.fixed_dictionaries({"letter": st.sampled_from("ABCZ")}),
    "aim set": st.fixed_dictionaries(
        {"kind": st.sampled_from(("expected", "reach", "floor")), "points": POINTS, "components": POINTS}
    ),
    "stopped": st.just({}),
    "cleared": st.fixed_dictionaries({"by": st.just("coach"), "relying_on": st.just("a doctor"), "of": IDS}),
    "advice allowed": st.fixed_dictionaries({"by": st.just("coach")}),
    "advice hidden": st.fixed_dictionaries({"by": st.just("coach")}),
    "advice shown": st.fixed_dictionaries({"by": st.just("coach"), "of": IDS}),
}


@st.composite
def events(draw: st.DrawFn) -> Event:
    """An event of any kind about anything."""
    kind = draw(st.sampled_from(KINDS))
    return from_record(kind, draw(PAYLOADS[kind]))


@st.composite
def logs(draw: st.DrawFn) -> list[Stamped]:
    """Up to eight entries that name each other at random, rings included; none in the form of old logs without ids."""
    names = draw(st.permutations("abcdefgh"))
    author = st.sampled_from((Author(), Author("boards", "3", "logger"), Author("stand", "4", "logger")))
    made = [
        Stamped(name, draw(st.floats(0, 300)), draw(author), draw(events()))
        for name in names[: draw(st.integers(0, 8))]
    ]
    return [
        one
        for one in made
        if not (isinstance(one.event, Undone | Cleared | AdviceShown) and not one.event.of)
    ]


def test_every_kind_is_attacked() -> None:
    assert set(PAYLOADS) == set(KINDS)


@many(150)
@given(logs(), st.randoms(use_true_random=False))
def test_any_log_folds_to_one_state_in_any_order(log: list[Stamped], lots: random.Random) -> None:
    state = fold(PLAN, log)
    shuffled = [*log, *log[:2]]
    lots.shuffle(shuffled)
    assert fold(PLAN, stamp(shuffled)) == state
    assert all(slot.candidates for slot in state.slots)


@many(150)
@given(logs())
def test_a_stop_holds_until_it_is_lifted_by_name(log: list[Stamped]) -> None:
    """Nothing but a clearance that names a stop can end it."""
    stops = {one.id for one in log if isinstance(one.event, Stopped)}
    lifted = {name for one in log if isinstance(one.event, Cleared) for name in one.event.of}
    if stops - lifted:
        assert fold(PLAN, log).stopped
    assert set(in_force(stamp(log))) <= {one.id for one in log}


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.sampled_from((*HOSTILE[:20], *CODES)),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(("code", "kind", "payload", "number", "x")), inner, max_size=3)
    ),
    max_leaves=6,
)


@st.composite
def broken(draw: st.DrawFn) -> tuple[str, dict[str, Any]]:
    """A record with one value of the wrong kind, a key gone or a key too many."""
    kind = draw(st.sampled_from((*KINDS, "unknown")))
    record = dict(draw(PAYLOADS.get(kind, st.just({}))))
    if record and draw(st.booleans()):
        record[draw(st.sampled_from(sorted(record)))] = draw(JSON)
    elif record and draw(st.booleans()):
        del record[draw(st.sampled_from(sorted(record)))]
    else:
        record[draw(st.sampled_from(("x", "of", "number")))] = draw(JSON)
    return kind, record


@many(300)
@given(broken())
def test_a_broken_record_is_refused_or_means_what_it_says(made: tuple[str, dict[str, Any]]) -> None:
    kind, record = made
    try:
        event = from_record(kind, record)
    except InputError:
        return
    name, again = to_record(event)
    assert (name, from_record(name, again)) == (kind, event)
    fold(PLAN, [event])


@pytest.mark.parametrize("said", ["9" * 5_000, "9" * 30, "-1", "x", "²", "1e3"])
@pytest.mark.parametrize("program", ["99", "9" * 30])
def test_a_stream_is_refused_before_it_begins(used: TestClient, said: str, program: str) -> None:
    """No such program, and nonsense for the last entry that was heard: a refusal, no broken stream."""
    path = f"/live/{program}/stream"
    assert used.get(path, params={"seen": said}).status_code in (404, 422)
    assert used.get(path, headers={"Last-Event-ID": said.encode()}).status_code == 404

"""Events written down and read back."""

from __future__ import annotations

import json

import pytest

from app.errors import InputError
from app.live.events import (
    AdviceAllowed,
    AdviceHidden,
    AdviceShown,
    Cleared,
    Event,
    PassLeftOut,
    PassSkated,
    Reading,
    Stopped,
    Undone,
    from_record,
    to_record,
)

EVENTS: list[Event] = [
    PassSkated(1, "3Lz+3T", "tail lost", (Reading("3Lz", error=True),)),
    PassSkated(2, "3F", "?", (Reading("3F", chance=0.5), Reading("3F<", chance=0.5))),
    PassLeftOut(3),
    Undone(3),
    AdviceAllowed("laptop"),
    AdviceHidden("laptop"),
    AdviceShown("boards"),
    Stopped(),
    Cleared("coach", "tapped by mistake"),
]


@pytest.mark.parametrize("event", EVENTS, ids=lambda event: type(event).__name__)
def test_every_event_comes_back_from_json_as_it_was(event: Event) -> None:
    name, record = to_record(event)
    assert from_record(name, json.loads(json.dumps(record))) == event


def test_every_kind_of_event_is_in_the_list_above() -> None:
    assert {type(event) for event in EVENTS} == set(Event.__args__)


def test_an_unknown_event_is_named() -> None:
    with pytest.raises(InputError, match=r"'jumped'; expected one of pass skated"):
        from_record("jumped", {})


def test_a_record_with_other_keys_is_refused() -> None:
    with pytest.raises(InputError, match=r"given the keys \['pass'\]; expected \['number'\]"):
        from_record("undone", {"pass": 3})

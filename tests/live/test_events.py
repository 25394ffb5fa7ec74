"""Events written down and read back."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest

from app.errors import InputError
from app.live import events
from app.live.events import (
    AdviceAllowed,
    AdviceHidden,
    AdviceShown,
    AimSet,
    Author,
    Chosen,
    Cleared,
    Corrected,
    Event,
    FailureCalled,
    Inserted,
    Interrupted,
    LatenessSet,
    LayoutChosen,
    MusicStarted,
    PassLeftOut,
    PassSkated,
    Reading,
    Redone,
    Resumed,
    Stamped,
    Stopped,
    Undone,
    from_record,
    stamped_json,
    to_record,
)

EVENTS: list[Event] = [
    LayoutChosen("B"),
    PassSkated(1, "3Lz+3T", "tail lost", (Reading("3Lz", error=True),)),
    PassSkated(2, "3F", "?", (Reading("3F", chance=0.5), Reading("3F<", chance=0.5))),
    PassLeftOut(3),
    FailureCalled(4, "tail lost", "2T", "3Lo"),
    PassSkated(4, "3Lo+2T", "tail lost", (Reading("3Lo", error=True),), "call-1"),
    Corrected(PassSkated(2, "3F", "fell", (Reading("3F", True, True),)), ("a", "b")),
    Inserted(2, PassLeftOut(2)),
    Undone(3, ("a",)),
    Redone(("u",)),
    Chosen(3, "a", ("b", "c")),
    LatenessSet(4, ("a",), late=True),
    MusicStarted(("m",)),
    Interrupted(music_stopped=True),
    Resumed(("i",)),
    AimSet("reach", 62.4, 28.5),
    AdviceAllowed("laptop"),
    AdviceHidden("laptop"),
    AdviceShown("boards", ("h",)),
    Stopped(),
    Cleared("coach", "tapped by mistake", ("s",)),
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
    with pytest.raises(InputError, match=r"given the keys \['pass'\]; expected \['called', 'number'\]"):
        from_record("pass left out", {"pass": 3})


def test_a_correction_holds_a_pass_and_nothing_else() -> None:
    record = {"what": {"kind": "stopped", "payload": {}}, "instead_of": ["a"]}
    with pytest.raises(InputError, match="given 'stopped'; expected a pass skated or left out"):
        from_record("corrected", record)


@pytest.mark.parametrize(
    ("name", "record", "said"),
    [
        ("pass left out", {"number": "3"}, "number: given '3'; expected a whole number"),
        ("pass left out", {"number": True}, "number: given 'True'; expected a whole number"),
        ("undone", {"number": 1, "of": None}, "of: given 'None'; expected a list of event ids"),
        ("undone", {"number": 1, "of": [["a"]]}, "expected a list of event ids"),
        ("redone", {"of": "abc"}, "expected a list of event ids"),
        ("lateness set", {"number": 1, "of": [], "late": 1}, "late: given '1'; expected true or false"),
        ("aim set", {"kind": "all", "points": 1, "components": 0}, "expected expected, reach or floor"),
        (
            "aim set",
            {"kind": "reach", "points": float("nan"), "components": 0},
            "points: given 'nan'; expected a number",
        ),
        ("layout chosen", {"letter": {}}, "letter: given '{}'; expected text"),
        ("inserted", {"before": 1, "what": None}, "what: given 'None'; expected kind and payload of a pass"),
        ("inserted", {"before": 1, "what": {"payload": {}}}, "given 'None'; expected one of pass skated"),
    ],
)
def test_a_value_of_the_wrong_kind_is_refused(name: str, record: dict[str, object], said: str) -> None:
    """A log may come from another laptop, or from a tampered file."""
    with pytest.raises(InputError) as caught:
        from_record(name, record)
    assert said in str(caught.value)


@pytest.mark.parametrize(
    ("readings", "said"),
    [
        ([], "at least one reading"),
        (["3F"], "at least one reading"),
        ([{"fall": True}], "a reading with the keys ['fall']"),
        ([{"code": "3F", "colour": "red"}], "a reading with the keys ['code', 'colour']"),
        ([{"code": "3F", "chance": "1"}], "chance: given '1'; expected a number"),
        ([{"code": "3Q"}], "cannot read '3Q'"),
    ],
)
def test_a_pass_holds_readings_that_can_be_read(readings: list[object], said: str) -> None:
    with pytest.raises(InputError) as caught:
        from_record("pass skated", {"number": 1, "tried": "3F", "how": "x", "readings": readings})
    assert said in str(caught.value)


def test_logs_from_before_there_were_ids_in_them_are_read() -> None:
    assert from_record("undone", {"number": 3}) == Undone(3)
    assert from_record("cleared", {"by": "coach", "relying_on": "x"}) == Cleared("coach", "x")
    assert from_record("advice shown", {"by": "laptop"}) == AdviceShown("laptop")


def test_an_entry_of_the_log_as_json_is_what_the_module_promises() -> None:
    at = datetime(2026, 11, 25, 16, 5, 12, 250_000, tzinfo=UTC)
    fell = PassSkated(3, "3F", "fell", (Reading("3F", True, True),))
    said = stamped_json(7, at, Stamped("4f0c", at.timestamp(), Author("boards", "3", "logger"), fell))
    promised = events.__doc__ or ""
    shown = promised[promised.index('{"id"') : promised.index("`kind` and `payload`")]
    assert json.loads(json.dumps(said)) == json.loads(shown.replace("4f0c…", "4f0c"))

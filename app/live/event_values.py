"""What may stand in a record of the log, key by key. A log can come from another laptop, or from a tampered file.

Only kinds are checked, never sense: an undo of nothing is a fair entry, an undo of a list is none.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import isfinite
from typing import Any, Final

from app.domain.notation import parse_jump_element
from app.domain.words import say
from app.errors import InputError
from app.planner.slips import Kind

FAILURES: Final = frozenset(kind.value for kind in Kind if kind is not Kind.FELL)
"""What a rehearsal may call: nobody acts a fall."""
Test = Callable[[Any], bool]


def _is_text(value: Any) -> bool:
    return isinstance(value, str)


def _is_whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _is_figure(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value)


def _is_yes_or_no(value: Any) -> bool:
    return isinstance(value, bool)


def _are_ids(value: Any) -> bool:
    return isinstance(value, list | tuple) and all(isinstance(one, str) for one in value)


def _is_aim(value: Any) -> bool:
    return value in ("expected", "reach", "floor")


def _is_failure(value: Any) -> bool:
    return value in FAILURES


def _is_code_or_none(value: Any) -> bool:
    return value is None or isinstance(value, str)


def _are_readings(value: Any) -> bool:
    return isinstance(value, list | tuple) and bool(value) and all(isinstance(one, Mapping) for one in value)


def _is_entry(value: Any) -> bool:
    return isinstance(value, Mapping) and isinstance(value.get("payload"), Mapping)


_TEXT: Final = (_is_text, "text")
_WHOLE: Final = (_is_whole, "a whole number")
_FIGURE: Final = (_is_figure, "a number")
_YES_OR_NO: Final = (_is_yes_or_no, "true or false")
_IDS: Final = (_are_ids, say("a list of event ids"))
_VALUES: Final[Mapping[str, tuple[Test, str]]] = {
    **dict.fromkeys(("tried", "how", "letter", "by", "relying_on", "keeps", "code", "called", "jump"), _TEXT),
    **dict.fromkeys(("number", "before"), _WHOLE),
    **dict.fromkeys(("points", "components", "chance"), _FIGURE),
    **dict.fromkeys(("late", "music_stopped", "fall", "error"), _YES_OR_NO),
    **dict.fromkeys(("of", "instead_of", "over"), _IDS),
    "failure": (_is_failure, say("a failure that may be called")),
    "becomes": (_is_code_or_none, say("the code that is then skated, or nothing")),
    "kind": (_is_aim, say("expected, reach or floor")),
    "readings": (_are_readings, say("at least one reading, each with its code")),
    "what": (_is_entry, say("kind and payload of a pass")),
}
_READING: Final = frozenset({"code", "fall", "error", "chance"})


def check(name: str, key: str, value: Any) -> None:
    """Refuse a value of the wrong kind under that key of an event called `name`. Raises InputError."""
    fits, expected = _VALUES[key]
    if not fits(value):
        raise InputError(
            name,
            say(
                "%(key)s: given %(value)s; expected %(expected)s",
                key=key,
                value=repr(str(value)[:80]),
                expected=expected,
            ),
        )
    if key == "becomes" and value is not None:
        parse_jump_element(value)
    if key == "readings":
        for reading in value:
            _check_reading(name, reading)


def _check_reading(name: str, reading: Mapping[str, Any]) -> None:
    if not {"code"} <= set(reading) <= _READING:
        raise InputError(
            name,
            say(
                "a reading with the keys %(reading)s; expected %(reading_2)s",
                reading=sorted(map(str, reading)),
                reading_2=sorted(_READING),
            ),
        )
    for key, value in reading.items():
        check(name, key, value)
    parse_jump_element(
        reading["code"]
    )  # a code nobody can read would be met again by every page that shows the pass

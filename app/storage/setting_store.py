"""The coach's settings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import ClassVar, Final

from sqlmodel import Session, select

from app.domain.words import listed, say
from app.errors import InputError
from app.settings import CoachSettings, read_value
from app.storage import tables

MOST: Final[Mapping[str, int]] = {
    "most_changes": 2,
    "threshold": 100,
    "trained_attempts": 99_999,
    "trained_within_days": 36_500,
}
"""The largest value of each setting that is a number. All but the first only keep out slips of the pen."""

EXPECTED: dict[type, str] = {
    bool: say("yes or no"),
    int: say("a whole number"),
    float: say("a number"),
    str: say("plain text"),
}


class SettingStore:
    """Settings that differ from their default."""

    changes: ClassVar[int] = 0
    """How often this process has changed one: whoever remembers a setting looks whether this has grown."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def coach(self) -> CoachSettings:
        """The settings in force."""
        defaults = {item.name: item.default for item in fields(CoachSettings)}
        kept = {row.name: row.value for row in self._session.exec(select(tables.Setting))}
        chosen = {
            name: read_value(name, defaults[name], kept[name]) for name in kept.keys() & defaults.keys()
        }
        return CoachSettings(**chosen)  # type: ignore[arg-type]  # read_value gives the default's type

    def change(self, name: str, text: str) -> CoachSettings:
        """Change one setting. Raises InputError for an unknown name or an unusable value."""
        self.check(name, text)
        row = self._session.get(tables.Setting, name) or tables.Setting(name=name, value=text)
        row.value = text
        self._session.add(row)
        self._session.commit()
        SettingStore.changes += 1
        return self.coach()

    def check(self, name: str, text: str) -> None:
        """Raises InputError for an unknown name or an unusable value."""
        defaults = {item.name: item.default for item in fields(CoachSettings)}
        if name not in defaults:
            raise InputError(
                say("setting"),
                say(
                    "%(given)s given; expected one of: %(expected)s",
                    given=repr(name),
                    expected=listed(defaults),
                ),
            )
        try:
            value = read_value(name, defaults[name], text)
        except InputError:
            expected = EXPECTED[type(defaults[name])]
            raise InputError(
                name, say("%(given)s given; expected %(expected)s", given=repr(text[:20]), expected=expected)
            ) from None
        self._check(name, value)

    @staticmethod
    def _check(name: str, value: object) -> None:
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            return
        if not 0 <= value <= MOST[name]:
            raise InputError(
                name, say("%(given)s given; expected 0 to %(most)s", given=str(value)[:20], most=MOST[name])
            )

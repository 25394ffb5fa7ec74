"""Every setting, in one table: name, default, help text and environment variable.

Two groups. `Settings` belongs to the machine and is fixed at start (command line, then environment, then
default). `CoachSettings` belongs to the coach, lives in the database and can be changed while Recoup runs; the
values here are its defaults. A test holds DEVELOPERS.md to this table.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import Field, dataclass, field, fields
from pathlib import Path
from typing import Any

from app.errors import InputError

PROJECT = Path(__file__).resolve().parent.parent


def setting(default: object, explanation: str) -> Any:
    """A dataclass field that carries its own help text."""
    return field(default=default, metadata={"help": explanation})


@dataclass(frozen=True)
class Settings:
    """What is fixed when the server starts."""

    host: str = setting("127.0.0.1", "address the laptop's own door listens on")
    port: int = setting(8000, "port of the laptop's own door; the next free one when it is taken")
    lan: bool = setting(False, "let phones in from the start")
    phone_port: int = setting(0, "port of the phones' door; 0 means the first free one after `port`")
    open_browser: bool = setting(True, "open the browser once the server answers")
    data_dir: Path = setting(PROJECT / "var", "folder of the database file")
    seed_demo: bool = setting(True, "put the invented demo skater into an empty database")
    seed_season: bool = setting(True, "with the demo skater, an invented season and competition day")
    database_url: str = setting("", "a PostgreSQL server instead of a file: `postgresql://user@host/name`")
    workers: int = setting(1, "processes that answer; more than one needs `DATABASE_URL`")
    address: str = setting("", "public address, https by a proxy on this machine; needs `DATABASE_URL`")

    @property
    def database_file(self) -> Path:
        """The SQLite file."""
        return self.data_dir / "recoup.sqlite3"

    @property
    def database(self) -> Path | str:
        """Where the data are: the address of a server, or the file."""
        return self.database_url or self.database_file


@dataclass(frozen=True)
class CoachSettings:
    """What the coach may change at any time; kept in the database."""

    threshold: float = setting(0.5, "gains below this many points read 'keep the plan'")
    most_changes: int = setting(2, "most passes changed in one program (0, 1 or 2)")
    harder_after_fall: bool = setting(False, "allow a harder jump or an added tail after a fall")
    after_fall_odds: bool = setting(True, "reckon the pass right after a fall with the published odds")
    second_half_odds_women: bool = setting(True, "reckon women's late passes with the published odds")
    second_half_odds_men: bool = setting(False, "reckon men's late passes with the published odds")
    trained_attempts: int = setting(10, "logged attempts an element needs before it is ever advised")
    trained_within_days: int = setting(60, "the last logged attempt may be at most this many days old")
    language: str = setting(
        "", "language of devices that have chosen none (fr, de, ja …); empty: as their browser asks"
    )


@dataclass(frozen=True)
class SettingRow:
    """One row of the table, as shown in the documentation."""

    group: str
    name: str
    default: object
    help: str
    variable: str


def variable_of(name: str) -> str:
    """Environment variable of a machine setting: `port` -> `RECOUP_PORT`; `DATABASE_URL` is called as elsewhere."""
    return name.upper() if name == "database_url" else f"RECOUP_{name.upper()}"


def _row(group: str, item: Field[Any]) -> SettingRow:
    variable = variable_of(item.name) if group == "machine" else ""
    return SettingRow(group, item.name, item.default, item.metadata["help"], variable)


TABLE: tuple[SettingRow, ...] = (
    *(_row("machine", item) for item in fields(Settings)),
    *(_row("coach", item) for item in fields(CoachSettings)),
)


def read_value(name: str, default: object, text: str) -> object:
    """`text` read as the type of `default`. Raises InputError naming the setting."""
    try:
        if isinstance(default, bool):
            return _yes_or_no(text)
        if isinstance(default, int):
            return int(text)
        if isinstance(default, float):
            return float(text)
    except ValueError:
        kind = {bool: "yes or no", int: "a whole number", float: "a number"}[type(default)]
        raise InputError(name, f"{text!r} given; expected {kind}, such as {default}") from None
    return Path(text) if isinstance(default, Path) else text


def _yes_or_no(text: str) -> bool:
    answers = {
        "1": True,
        "true": True,
        "yes": True,
        "on": True,
        "0": False,
        "false": False,
        "no": False,
        "off": False,
    }
    if text.strip().lower() not in answers:
        raise ValueError(text)
    return answers[text.strip().lower()]


def from_environment(environment: Mapping[str, str] | None = None, **given: object) -> Settings:
    """Settings from the command line (`given`, None = not given), then the environment, then defaults."""
    source = os.environ if environment is None else environment
    chosen: dict[str, Any] = {name: value for name, value in given.items() if value is not None}
    for row in TABLE:
        if row.group == "machine" and row.name not in chosen and source.get(row.variable):
            chosen[row.name] = read_value(row.variable, row.default, source[row.variable])
    return Settings(**chosen)

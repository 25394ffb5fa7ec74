"""Databases as older releases left them: the tables of one migration, with rows as that release wrote them.

Every row names the migration that first has its table, and every column the one that first has it, from the
migration files themselves read once more by hand; so a column that a later migration forgets, renames or fills wrongly
shows. The skater is invented.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import Engine, text

from app.storage import migrating
from app.storage.database import Database

RELEASED = (
    "0001",
    "0002",
    "0003",
    "0005",
    "0006",
    "0007",
    "0008",
    "0009",
    "0010",
    "0011",
    "0012",
    "0013",
    "0014",
    "0015",
    "0016",
)
"""Every schema that was ever on the main branch. 0004 was never used."""
THEN = "2026-11-20 10:00:00.000000"
OUTCOMES = json.dumps([{"becomes": "3S", "chance": 1.0, "goe": 0.0, "fall": False, "error": False}])
ITEMS = json.dumps(
    [
        {
            "kind": "jump",
            "code": "3S",
            "start": 10,
            "goe": 0.0,
            "options": ["3S", None],
            "entry": "",
            "slack": 0,
        }
    ]
)
DRAWN = "drawn by the migration"
"""Stands for a value that comes out differently every time."""
EDITION = "isu/2025-26/senior/women/free"


class Column(NamedTuple):
    """A value as that release wrote it, since which migration it is there, and what older rows get instead."""

    value: Any
    since: str = "0001"
    older: Any = None


class Row(NamedTuple):
    """One row of a table that is there since a migration."""

    table: str
    since: str
    columns: dict[str, Column]


def plain(**values: Any) -> dict[str, Column]:
    """Columns there from the table's beginning."""
    return {name: Column(value) for name, value in values.items()}


def event(name: str, seq: int, kind: str) -> Row:
    columns = plain(
        id=name,
        program_id=1,
        seq=seq,
        at=THEN,
        author="laptop",
        kind=kind,
        payload=json.dumps({"number": seq}),
    )
    columns |= {
        "role": Column("logger", "0005", "coach"),
        "device": Column("7", "0005", "laptop"),
        "made_at": Column(THEN, "0005", None),
    }
    return Row("live_event", "0001", columns)


ROWS = (
    Row(
        "skater",
        "0001",
        plain(id=1, name="Ä. Nobody", invented=True) | {"key": Column("k" * 32, "0011", DRAWN)},
    ),
    Row(
        "trained_element",
        "0001",
        plain(
            id=1,
            skater_id=1,
            code="3S",
            entry="",
            ready=True,
            attempts=25,
            landed=18,
            outcomes=OUTCOMES,
            last_logged="2026-11-19",
        )
        | {"cue": Column("arms first", "0002", "")},
    ),
    Row(
        "layout",
        "0001",
        plain(id=1, skater_id=1, name="Long", edition=EDITION, fingerprint="f", items=ITEMS),
    ),
    Row(
        "live_program",
        "0001",
        plain(
            id=1,
            skater_id=1,
            layout_id=1,
            layout_name="Long",
            edition=EDITION,
            fingerprint="f",
            items=ITEMS,
            trained="[]",
            kind="competition",
            event="Invented Cup",
            threshold=0.4,
            most_changes=1,
            harder_after_fall=True,
            advice_confirmed_at=THEN,
            started_at=THEN,
        )
        | {
            "after_fall_odds": Column(True, "0003", False),
            "second_half_odds": Column(True, "0003", False),
            "variants": Column("[]", "0009", "[]"),
            "rehearsal": Column('{"seed": 7, "most": 1, "failures": []}', "0014", None),
        },
    ),
    event("first", 1, "pass left out"),
    event("second", 2, "undone"),
    Row(
        "device",
        "0001",
        plain(id=1, name="boards", token_hash="h", paired_at=THEN, last_seen=None, revoked_at=THEN)
        | {
            "role": Column("viewer", "0005", "coach"),
            "sees_advice": Column(False, "0005", True),
            "skater_key": Column("k" * 32, "0012", ""),
        },
    ),
    Row(
        "pairing_code",
        "0001",
        plain(id=1, code_hash="c", created_at=THEN, expires_at=THEN, used_at=None, wrong_tries=3)
        | {"role": Column("logger", "0005", "coach"), "skater_key": Column("k" * 32, "0012", "")},
    ),
    Row("setting", "0001", plain(name="threshold", value="0.4")),
    Row(
        "attempt",
        "0006",
        plain(
            id=1,
            skater_id=1,
            sending="s",
            line=0,
            code="3S",
            entry="",
            day="2026-11-19",
            place="alone",
            fate="clean",
            count=4,
            undone=False,
            logged_at=THEN,
        ),
    ),
    Row(
        "official_sheet",
        "0007",
        plain(id=1, skater_id=1, program_id=1, edition=EDITION, note="n", sheet="{}", read_at=THEN),
    ),
    Row(
        "content_sheet",
        "0013",
        plain(id=1, layout_id=1, codes='["3S", "CCoSp"]', note="Invented Cup", handed_in_at=THEN),
    ),
    Row("own_rulebook", "0008", plain(id=1, slug="mine", version=1, text="[file]", made_at=THEN)),
    Row("kept_rulebook", "0008", plain(edition=EDITION, fingerprint="g", snapshot='{"a": [1, "ä"]}')),
    Row("day", "0009", plain(id=1, name="Invented Cup", kind="competition", made_at=THEN)),
    Row(
        "day_start",
        "0009",
        plain(
            id=1, day_id=1, skater_id=1, place=1, layout_ids="[1]", program_id=1, withdrawn=False, mark="done"
        ),
    ),
    Row(
        "call_out",
        "0010",
        plain(
            id=1,
            skater_id=1,
            sending="c",
            program="p",
            number=1,
            kind="lost tail",
            jump="3S",
            answer="keep",
            right="keep",
            seconds=2.5,
            rating=3,
            answered_at=THEN,
        ),
    ),
    Row(
        "handed_over",
        "0011",
        plain(id=1, skater_id=1, at=THEN, kind="export", given_to="the club", mark="m"),
    ),
    Row(
        "drill",
        "0014",
        plain(
            id=1,
            skater_id=1,
            sending="d",
            day="2026-11-19",
            program="p",
            number=1,
            failure="tail lost",
            jump="3T",
            codes='["1Lz", "1S+1T"]',
            undone=False,
            logged_at=THEN,
        ),
    ),
    Row("worker_note", "0015", plain(kind="job", key="k", sealed=b"s", at=THEN)),
)


def old_database(file: Path, version: str) -> Path:
    """A file as the release with that migration left it."""
    database = Database(file)
    fill(database.engine, version)
    database.close()
    return file


def fill(engine: Engine, version: str) -> None:
    """The tables of that migration, with every row it can hold."""
    migrating.upgrade(engine, version)
    with engine.begin() as connection:
        for row in ROWS:
            if row.since <= version:
                values = {name: one.value for name, one in row.columns.items() if one.since <= version}
                names = ", ".join(f'"{name}"' for name in values)
                places = ", ".join(f":{name}" for name in values)
                connection.execute(text(f'INSERT INTO "{row.table}" ({names}) VALUES ({places})'), values)


def expected(version: str) -> dict[str, list[dict[str, Any]]]:
    """What the newest tables hold after a migration from that version: what was there, and what older rows get."""
    found: dict[str, list[dict[str, Any]]] = {}
    for row in ROWS:
        mine = found.setdefault(row.table, [])
        if row.since <= version:
            mine.append(
                {name: one.value if one.since <= version else one.older for name, one in row.columns.items()}
            )
    return found

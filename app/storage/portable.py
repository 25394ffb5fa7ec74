"""The export file: what it holds, how each row is written, and what makes a row acceptable. Format 1.

A zip archive without encryption:

    manifest.json          {"format": "recoup-export", "format_version": 1, "schema": "0011", "export_id": "…",
                            "made_at": "2026-11-28T16:05:12Z", "program_version": "…", "whole": false,
                            "tables": [{"table": "skater", "file": "tables/skater.jsonl", "rows": 1,
                                        "bytes": 81, "sha256": "…"}, …]}
    tables/<table>.jsonl   one row a line, a JSON object with every column of the table (`app.storage.tables`), UTF-8
    READ-ME.txt            the same in plain words

Moments are UTC (`2026-11-28T16:05:12.250000Z`), days `2026-11-28`, JSON columns stand as they are. Numbers of rows are
those of the installation that wrote the file: whoever brings it in gives new ones (`LINKS_IN_JSON` says which columns
hold numbers inside). `schema` is the newest migration then; columns that came later may be missing.
Paired phones and pairing codes are never in it.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime
from functools import cache
from typing import Annotated, Any, Final

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    StringConstraints,
    TypeAdapter,
    create_model,
)
from sqlalchemy import JSON, Boolean, Table
from sqlmodel import SQLModel

from app.domain.notation import parse_element, parse_jump_element
from app.live.events import from_record
from app.live.rehearsal import Rehearsal
from app.review.official import sheet_from_json
from app.rulebook.editions import value_tables
from app.rulebook.own_file import read_file
from app.rulebook.snapshot import from_snapshot
from app.storage import rows, tables
from app.storage.records import LayoutItem, OutcomeRecord, TrainedRecord, VariantRecord
from app.storage.tables import UtcDateTime

FORMAT, FORMAT_VERSION = "recoup-export", 1
MANIFEST, FOLDER, NOTE = "manifest.json", "tables/", "READ-ME.txt"

OF_EVERYBODY: Final = ("own_rulebook", "kept_rulebook", "day", "setting")
"""Tables that belong to no skater and go out with everything; of a single skater what its rows rest on."""
NEVER: Final = ("device", "pairing_code", "worker_note")
"""Who may come in is decided anew on every laptop; notes of workers are for a day."""
LINKS_IN_JSON: Final[Mapping[tuple[str, str], Mapping[str, str]]] = {
    ("day_start", "layout_ids"): {"": "layout"},
    ("live_program", "trained"): {"skater_id": "skater", "id": "trained_element"},
    ("live_program", "variants"): {"layout_id": "layout"},
}
"""Numbers of rows inside JSON columns: key in each object ("" = the list holds the numbers), and the table meant."""

MOST_LETTERS = 4_000
LONG_TEXTS: Final = {("own_rulebook", "text"): 100_000}
MOST_IN_A_LIST = 400
Check = Callable[[Any], Any]


class TableEntry(BaseModel):
    """One table of the file."""

    model_config = ConfigDict(extra="forbid", strict=True)
    table: str = Field(max_length=60, pattern=r"^[a-z_]+$")
    file: str = Field(max_length=80)
    rows: int = Field(ge=0, le=5_000_000)
    bytes: int = Field(ge=0)
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")


class Manifest(BaseModel):
    """What the file says of itself."""

    model_config = ConfigDict(extra="ignore", strict=True)
    format: str
    format_version: int
    schema_: str = Field(alias="schema", pattern=r"^[0-9]{4}$")
    export_id: str = Field(pattern=r"^[0-9a-f]{32}$")
    made_at: str = Field(max_length=40)
    whole: bool
    tables: list[TableEntry] = Field(max_length=60)


def _all_of(kind: Any) -> Check:
    """Every object of a list is one of these records."""
    reader = TypeAdapter(kind)

    def check(value: list[Any]) -> list[Any]:
        if len(value) > MOST_IN_A_LIST:
            raise ValueError(f"{len(value)} entries; expected at most {MOST_IN_A_LIST}")
        for one in value:
            reader.validate_python(one)
        return value

    return check


def _items(value: list[Any]) -> list[Any]:
    for item in rows.items_from_json(_all_of(LayoutItem)(value)):
        if item.kind == "jump":
            for code in (item.code, *filter(None, item.options)):
                parse_jump_element(code)
    return value


def _codes(value: list[Any]) -> list[Any]:
    for code in _all_of(str)(value):
        parse_element(code)
    return value


def _trained(value: list[Any]) -> list[Any]:
    _all_of(TrainedRecord)([{**one, "log": one.get("log") or {}} for one in value])
    for one in value:
        rows.trained_from_json(one)
    return value


def _variants(value: list[Any]) -> list[Any]:
    rows.variants_from_json(_all_of(VariantRecord)(value))
    return value


def _rehearsal(value: dict[str, Any] | None) -> dict[str, Any] | None:
    found = rows.rehearsal_from_json(value)
    if found is not None:
        TypeAdapter(Rehearsal).validate_python(value)
        _jumps([one.becomes for one in found.failures if one.becomes is not None])
    return value


def _jumps(value: list[str]) -> list[str]:
    for code in _all_of(str)(value):
        parse_jump_element(code)
    return value


def _sheet(value: dict[str, Any]) -> dict[str, Any]:
    sheet_from_json(value)
    return value


def _snapshot(value: dict[str, Any]) -> dict[str, Any]:
    from_snapshot("brought/in", value)
    return value


def _book(value: str) -> str:
    read_file(value, value_tables())
    return value


def _code(value: str) -> str:
    parse_jump_element(value)
    return value


def _same(value: Any) -> Any:
    return value


CHECKS: Final[Mapping[tuple[str, str], Check]] = {
    ("layout", "items"): _items,
    ("trained_element", "outcomes"): _all_of(OutcomeRecord),
    ("trained_element", "code"): _code,
    ("attempt", "code"): _code,
    ("live_program", "items"): _items,
    ("live_program", "trained"): _trained,
    ("live_program", "variants"): _variants,
    ("live_program", "rehearsal"): _rehearsal,
    ("drill", "codes"): _jumps,
    ("live_event", "payload"): _same,  # read together with its kind, by `check_event`
    ("day_start", "layout_ids"): _all_of(int),
    ("content_sheet", "codes"): _codes,
    ("official_sheet", "sheet"): _sheet,
    ("kept_rulebook", "snapshot"): _snapshot,
    ("own_rulebook", "text"): _book,
}
"""What else must be true of a column: whatever reads it later can read it. Every JSON column has a row here."""


def check_event(row: Mapping[str, Any]) -> None:
    """An entry of the log says something the app knows. Raises what reading it raises."""
    from_record(row["kind"], row["payload"])


def table_named(name: str) -> Table:
    """The declared table of that name."""
    return SQLModel.metadata.tables[name]


def class_of(name: str) -> type[SQLModel]:
    """The class of a table."""
    found = (one for one in vars(tables).values() if isinstance(one, type) and issubclass(one, SQLModel))
    return next(one for one in found if getattr(one, "__tablename__", "") == name)


@cache
def row_model(name: str) -> type[BaseModel]:
    """What a row of that table must be: every column by its type, strictly, and nothing else."""
    fields: dict[str, Any] = {}
    for column, field in class_of(name).model_fields.items():
        kind: Any = field.annotation
        if kind is str:
            kind = Annotated[str, StringConstraints(max_length=LONG_TEXTS.get((name, column), MOST_LETTERS))]
        if (name, column) in CHECKS:
            kind = Annotated[kind, AfterValidator(CHECKS[name, column])]
        fields[column] = (
            (kind, ...)
            if field.is_required() or column == "id"
            else (kind, field.get_default(call_default_factory=True))
        )
    return create_model(f"Row of {name}", __config__=ConfigDict(extra="forbid", strict=True), **fields)


def written(name: str, raw: Mapping[str, Any]) -> str:
    """One row as it lies in the file of the database, as a line of JSON."""
    return json.dumps(
        {column: _plain(table_named(name).c[column].type, value) for column, value in raw.items()},
        ensure_ascii=False,
        separators=(",", ":"),
    )


def _plain(kind: Any, value: Any) -> Any:
    """A value as SQLite keeps it, or as PostgreSQL hands it over, for the file."""
    if isinstance(kind, JSON):
        return json.loads(value) if isinstance(value, str) else value
    if isinstance(kind, UtcDateTime) and value is not None:
        moment = value if isinstance(value, datetime) else datetime.fromisoformat(value)
        return moment.replace(tzinfo=UTC).isoformat().replace("+00:00", "Z")
    if isinstance(value, date):
        return value.isoformat()
    return bool(value) if isinstance(kind, Boolean) and value is not None else value

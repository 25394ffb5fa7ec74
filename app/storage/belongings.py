"""What in a database belongs to a skater, found by its foreign keys: of a file of any age, or of the server's tables.

A row belongs to what it points to: a log entry to its program, a program to its skater. A row that names its skater
belongs to that one alone, whatever else it points to. So a table that is added tomorrow is found without being listed
here; a test holds that every table either belongs to a skater or is known to hold nothing of one.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from sqlmodel import SQLModel

SKATER = "skater"
LET_GO = "SET NULL"
AT_ONCE = 500
"""Rows asked for in one statement."""

Rows = dict[str, set[Any]]
"""Keys of rows by table."""


class Talk(Protocol):
    """A connection that takes SQL with `?` for values: sqlite3's own, or `app.storage.erase.ServerTalk`."""

    def execute(self, sql: str, parameters: Sequence[Any] = ..., /) -> Any:
        """A cursor over the answer."""


@dataclass(frozen=True, slots=True)
class Link:
    """One foreign key: `table.column` points to `target.key`; `lets_go`: emptied when the target goes."""

    table: str
    column: str
    target: str
    key: str
    lets_go: bool


@dataclass(frozen=True)
class Shape:
    """Tables and foreign keys. `keys`: what names a row of each table, as SQL; `columns`: names and SQL types."""

    links: tuple[Link, ...]
    keys: Mapping[str, str]
    columns: Mapping[str, Mapping[str, str]]

    @property
    def owned(self) -> frozenset[str]:
        """The skaters' table and those that point to it."""
        return frozenset({SKATER} | {one.table for one in self.links if one.target == SKATER})


def shape_of_file(connection: Talk) -> Shape:
    """The shape of a SQLite file, whatever its age."""
    said = connection.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
    )
    links, keys, columns = [], {}, {}
    for table in sorted(str(row[0]) for row in said.fetchall()):
        rows = connection.execute(f'PRAGMA table_info("{table}")').fetchall()
        columns[table] = {str(row[1]): str(row[2]) for row in rows}
        keys[table] = _key([str(row[1]) for row in sorted(rows, key=lambda row: row[5]) if row[5]]) or "rowid"
        for row in connection.execute(f'PRAGMA foreign_key_list("{table}")').fetchall():
            links.append(Link(table, row[3], row[2], row[4] or "id", row[6] == LET_GO))
    return Shape(tuple(links), keys, columns)


def shape_declared() -> Shape:
    """The shape of the newest tables, as `app.storage.tables` declares them."""
    links, keys, columns = [], {}, {}
    for table in SQLModel.metadata.sorted_tables:
        columns[table.name] = {one.name: str(one.type) for one in table.columns}
        keys[table.name] = _key([one.name for one in table.primary_key.columns])
        for key in table.foreign_keys:
            target = key.column
            links.append(
                Link(table.name, key.parent.name, target.table.name, target.name, key.ondelete == LET_GO)
            )
    return Shape(tuple(links), keys, columns)


def belongings(connection: Talk, shape: Shape, table: str, key: object) -> Rows:
    """Everything that belongs to one row, itself included.

    Of a skater: whatever leads there by any foreign key. Of anything else (a program, a layout): what cannot be without
    it; what merely points to it and may let go is not its own.
    """
    links = [one for one in shape.links if table == SKATER or not one.lets_go]
    named = {one.table: one.column for one in links if one.target == SKATER}
    found: Rows = {table: {key}}
    growing = True
    while growing:
        growing = False
        for link in links:
            new = _pointing(connection, shape, link, found.get(link.target, ()))
            if table == SKATER and link.target != SKATER and link.table in named:
                new -= _of_others(connection, shape, link.table, named[link.table], key)
            new -= found.get(link.table, set())
            if new:
                found.setdefault(link.table, set()).update(new)
                growing = True
    return found


def _key(columns: Sequence[str]) -> str:
    return " || '|' || ".join(f'"{one}"' for one in columns)


def _pointing(connection: Talk, shape: Shape, link: Link, keys: Collection[Any]) -> set[Any]:
    """Rows whose foreign key points to one of `keys`."""
    found: set[Any] = set()
    for marks, some in in_turn(keys):
        sql = (
            f'SELECT {shape.keys[link.table]} FROM "{link.table}" WHERE "{link.column}" IN '
            f'(SELECT "{link.key}" FROM "{link.target}" WHERE {shape.keys[link.target]} IN ({marks}))'
        )
        found |= {one[0] for one in connection.execute(sql, some).fetchall()}
    return found


def _of_others(connection: Talk, shape: Shape, table: str, column: str, skater: object) -> set[Any]:
    sql = f'SELECT {shape.keys[table]} FROM "{table}" WHERE "{column}" IS NOT NULL AND "{column}" <> ?'
    return {one[0] for one in connection.execute(sql, (skater,)).fetchall()}


def in_turn(keys: Collection[Any]) -> Iterator[tuple[str, list[Any]]]:
    """Keys in parts that fit into one statement, each with its question marks."""
    ordered = sorted(keys)
    for start in range(0, len(ordered), AT_ONCE):
        some = ordered[start : start + AT_ONCE]
        yield ",".join("?" * len(some)), some

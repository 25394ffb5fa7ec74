"""What in a database belongs to a skater, found by the foreign keys of the file itself, whatever its age.

A row belongs to what it points to: a log entry to its program, a program to its skater. A row that names its skater
belongs to that one alone, whatever else it points to. So a table that is added tomorrow is found without being listed
here; a test holds that every table either belongs to a skater or is known to hold nothing of one.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from sqlite3 import Connection

SKATER = "skater"
LET_GO = "SET NULL"
AT_ONCE = 500
"""Row numbers asked for in one statement."""

Rows = dict[str, set[int]]
"""Row numbers (SQLite's rowid) by table."""


@dataclass(frozen=True, slots=True)
class Link:
    """One foreign key: `table.column` points to `target.key`; `lets_go`: emptied when the target goes."""

    table: str
    column: str
    target: str
    key: str
    lets_go: bool


def tables_of(connection: Connection) -> tuple[str, ...]:
    """Every table of the file."""
    said = connection.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name"
    )
    return tuple(str(row[0]) for row in said)


def links_of(connection: Connection) -> tuple[Link, ...]:
    """Every foreign key of the file."""
    found = []
    for table in tables_of(connection):
        for row in connection.execute(f'PRAGMA foreign_key_list("{table}")'):
            found.append(Link(table, row[3], row[2], row[4] or "id", row[6] == LET_GO))
    return tuple(found)


def belongings(connection: Connection, table: str, row: int) -> Rows:
    """Everything that belongs to one row, itself included.

    Of a skater: whatever leads there by any foreign key. Of anything else (a program, a layout): what cannot be without
    it; what merely points to it and may let go is not its own.
    """
    links = [one for one in links_of(connection) if table == SKATER or not one.lets_go]
    named = {one.table: one.column for one in links if one.target == SKATER}
    found: Rows = {table: {row}}
    growing = True
    while growing:
        growing = False
        for link in links:
            new = _pointing(connection, link, found.get(link.target, ()))
            if table == SKATER and link.target != SKATER and link.table in named:
                new -= _of_others(connection, link.table, named[link.table], row)
            new -= found.get(link.table, set())
            if new:
                found.setdefault(link.table, set()).update(new)
                growing = True
    return found


def _pointing(connection: Connection, link: Link, rows: Collection[int]) -> set[int]:
    """Rows whose foreign key points to one of `rows`."""
    found: set[int] = set()
    for marks, some in in_turn(rows):
        sql = (
            f'SELECT rowid FROM "{link.table}" WHERE "{link.column}" IN '
            f'(SELECT "{link.key}" FROM "{link.target}" WHERE rowid IN ({marks}))'
        )
        found |= {int(one[0]) for one in connection.execute(sql, some)}
    return found


def _of_others(connection: Connection, table: str, column: str, skater: int) -> set[int]:
    said = connection.execute(
        f'SELECT rowid FROM "{table}" WHERE "{column}" IS NOT NULL AND "{column}" <> ?', (skater,)
    )
    return {int(one[0]) for one in said}


def in_turn(rows: Collection[int]) -> Iterator[tuple[str, list[int]]]:
    """Row numbers in parts that fit into one statement, each with its question marks."""
    ordered = sorted(rows)
    for start in range(0, len(ordered), AT_ONCE):
        some = ordered[start : start + AT_ONCE]
        yield ",".join("?" * len(some)), some

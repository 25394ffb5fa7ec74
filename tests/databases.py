"""A database for a test: a SQLite file of its own, or one on the PostgreSQL server that the environment names.

RECOUP_TEST_DATABASE_URL is the address of a server on which databases may be made (scripts/postgres starts one). Each
process of a test run makes one there and empties it for each test, which takes a hundredth of making a new one.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import closing, contextmanager
from typing import Any

import psycopg
from psycopg import sql
from sqlalchemy import make_url

from app.storage.database import Database

SERVER = os.environ.get("RECOUP_TEST_DATABASE_URL", "")
WORKER = os.environ.get("PYTEST_XDIST_WORKER", "gw0")
KEPT = ("alembic_version",)
OTHERS_OUT = (
    "SELECT pg_terminate_backend(pid, 2000) FROM pg_stat_activity "
    "WHERE datname = current_database() AND pid <> pg_backend_pid()"
)


def connected(address: str) -> psycopg.Connection[Any]:
    """A plain connection; each statement is a transaction of its own."""
    plain = make_url(address).set(drivername="postgresql")
    return psycopg.connect(plain.render_as_string(hide_password=False), autocommit=True)


def address_of(name: str) -> str:
    """The address of a database on that server."""
    return make_url(SERVER).set(database=name).render_as_string(hide_password=False)


@contextmanager
def made(purpose: str) -> Iterator[str]:
    """The address of a database without tables, for one process of a test run; gone at the end."""
    name = sql.Identifier(plain_name := f"recoup_{purpose}_{WORKER}_{os.getpid()}")
    with closing(connected(SERVER)) as server:
        server.execute(sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(name))
        server.execute(sql.SQL("CREATE DATABASE {}").format(name))
    try:
        yield address_of(plain_name)
    finally:
        with closing(connected(SERVER)) as server:
            server.execute(sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(name))


def migrated(address: str) -> str:
    """With all tables."""
    database = Database(address)
    database.migrate()
    database.close()
    return address


def emptied(address: str) -> str:
    """Nobody else is connected any more, every table is empty, and numbers begin at 1 again."""
    with closing(connected(address)) as server:
        server.execute(OTHERS_OUT)
        query = "SELECT tablename FROM pg_tables WHERE schemaname = 'public' AND tablename <> ALL(%s)"
        names = [sql.Identifier(row[0]) for row in server.execute(query, [list(KEPT)])]
        server.execute(sql.SQL("TRUNCATE {} RESTART IDENTITY").format(sql.SQL(", ").join(names)))
    return address


def replaced(address: str, by: str) -> str:
    """As the database `by` is now; nobody stays connected to either."""
    with closing(connected(by)) as there:
        there.execute(OTHERS_OUT)
    name, pattern = (sql.Identifier(str(make_url(one).database)) for one in (address, by))
    with closing(connected(SERVER)) as server:
        server.execute(sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(name))
        server.execute(sql.SQL("CREATE DATABASE {} TEMPLATE {}").format(name, pattern))
    return address


def bare(address: str) -> str:
    """Without any table."""
    with closing(connected(address)) as server:
        server.execute(OTHERS_OUT)
        server.execute("DROP SCHEMA public CASCADE")
        server.execute("CREATE SCHEMA public")
    return address

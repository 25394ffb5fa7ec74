"""What goes wrong with a PostgreSQL server is said in plain words, and the next request finds a connection again."""

from __future__ import annotations

from collections.abc import Callable
from threading import Barrier, Thread

import pytest
from sqlalchemy import make_url, text

from app.errors import InputError, RecoupError, StorageTrouble
from app.storage.database import Database
from app.storage.stores import open_stores
from tests import databases

pytestmark = [
    pytest.mark.skipif(not databases.SERVER, reason="needs PostgreSQL: scripts/postgres sets it up"),
    pytest.mark.usefixtures("on_server"),
]


def opened(address: str) -> None:
    database = Database(address)
    try:
        database.migrate()
    finally:
        database.close()


@pytest.mark.parametrize(
    ("wrong", "said"),
    [({"database": "nowhere"}, '"nowhere" does not exist'), ({"username": "stranger"}, '"stranger"')],
)
def test_a_wrong_name_of_database_or_user_is_no_server_that_does_not_answer__bug_no_sqlstate(
    wrong: dict[str, str], said: str, caplog: pytest.LogCaptureFixture
) -> None:
    """Used to be: "does not answer, try again in a moment", since the driver gives no code for a refused connection."""
    address = make_url(databases.SERVER).set(**wrong).render_as_string(hide_password=False)
    with pytest.raises(StorageTrouble, match=r"turned Recoup away.*DATABASE_URL"):
        opened(address)
    assert said in caplog.text


def test_a_server_that_is_not_there_does_not_answer() -> None:
    with pytest.raises(StorageTrouble, match="does not answer"):
        opened("postgresql://recoup@127.0.0.1:1/recoup")  # port 1: nobody listens


def test_a_connection_that_was_cut_is_said_once_and_then_made_anew(database: Database) -> None:
    with database.engine.connect() as connection:
        databases.emptied(database.engine.url.render_as_string(hide_password=False))
        with pytest.raises(StorageTrouble, match="being stopped"):
            connection.execute(text("SELECT 1"))
    with open_stores(database) as stores:
        assert stores.skaters.add("A").id


@pytest.mark.parametrize(
    ("statement", "given", "error", "said"),
    [
        ("SELECT CAST(:given AS text)", "a\0b", InputError, "a sign that cannot be kept"),
        ("SELECT CAST(:given AS text)", "\ud800", UnicodeEncodeError, "surrogates"),
        ("SELECT CAST(:given AS integer)", 2**40, OverflowError, "out of range"),
        ("SELECT CAST(:given AS bigint)", 2**70, OverflowError, "out of range"),
        ("SET TRANSACTION READ ONLY; CREATE TABLE x (i int)", None, StorageTrouble, "takes no writing"),
    ],
)
def test_what_the_server_cannot_keep_is_refused_as_by_a_file(
    database: Database, statement: str, given: object, error: type[Exception], said: str
) -> None:
    with database.engine.begin() as connection, pytest.raises(error, match=said):
        connection.execute(text(statement), {"given": given} if ":given" in statement else {})


def test_of_two_that_wait_for_each_other_one_is_told_to_try_again(database: Database) -> None:
    """PostgreSQL ends a deadlock by giving up one of the two (its documentation, "Deadlocks")."""
    both, faults = Barrier(2), list[RecoupError]()

    def writer(first: int, second: int) -> Callable[[], None]:
        def write() -> None:
            try:
                with database.engine.begin() as connection:
                    connection.execute(text("SELECT pg_advisory_xact_lock(:one)"), {"one": first})
                    both.wait(30)
                    connection.execute(text("SELECT pg_advisory_xact_lock(:one)"), {"one": second})
            except RecoupError as fault:
                faults.append(fault)

        return write

    threads = [Thread(target=writer(1, 2)), Thread(target=writer(2, 1))]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    (fault,) = faults
    assert isinstance(fault, StorageTrouble)
    assert "at the same moment" in str(fault)

"""What the terminal says of a fault: enough to find it, nothing that somebody typed."""

from __future__ import annotations

import logging
from pathlib import Path

import pytest
from sqlalchemy.exc import SQLAlchemyError
from starlette.testclient import TestClient

from app.storage.database import Database
from app.web import fault_log

NAME = "Quillfeather Xanthe"


def failing() -> None:
    """Fails as code does that quotes what it was given."""
    try:
        {}[NAME]  # type: ignore[index]
    except KeyError as error:
        raise ValueError(f"cannot use {NAME}") from error


def caught() -> ValueError:
    """That error."""
    try:
        failing()
    except ValueError as error:
        return error
    raise AssertionError


def test_a_fault_is_told_by_kind_and_place() -> None:
    said = fault_log.told(caught())
    assert said.startswith("ValueError at test_fault_log.py:")
    assert "failing" in said
    assert "because of KeyError" in said
    assert NAME not in said


@pytest.mark.parametrize("name", fault_log.LOGGERS)
def test_no_logger_of_ours_writes_values(name: str, caplog: pytest.LogCaptureFixture) -> None:
    fault_log.install()
    fault_log.install()
    logger = logging.getLogger(name)
    assert sum(isinstance(one, fault_log.WithoutValues) for one in logger.filters) == 1
    with caplog.at_level(logging.ERROR):
        logger.error("Exception in %s", "a page", exc_info=caught())
    assert "Exception in a page: ValueError" in caplog.text
    assert NAME not in caplog.text
    assert "Traceback" not in caplog.text


def test_an_error_of_the_database_names_no_value(database: Database) -> None:
    with database.engine.connect() as connection, pytest.raises(SQLAlchemyError) as raised:
        connection.exec_driver_sql("INSERT INTO skater (name, nothing) VALUES (?, 1)", (NAME,))
    assert NAME not in str(raised.value)


def test_an_unexpected_error_reaches_the_terminal_without_what_was_typed(
    laptop: TestClient, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(self: object, name: str) -> None:
        raise RuntimeError(f"no room for {name}")

    monkeypatch.setattr("app.storage.skater_store.SkaterStore.add", fail)
    with pytest.raises(RuntimeError):
        laptop.post("/skaters", data={"name": NAME})
    assert "unexpected error at /skaters: RuntimeError" in caplog.text
    assert NAME not in caplog.text


def test_the_database_is_for_its_owner_alone(tmp_path: Path) -> None:
    file = tmp_path / "inside" / "recoup.sqlite3"
    database = Database(file)
    database.migrate()
    try:
        for one in (file, *file.parent.glob("*-wal"), *file.parent.glob("*-shm")):
            assert one.stat().st_mode & 0o077 == 0, one.name
        assert file.parent.stat().st_mode & 0o077 == 0
    finally:
        database.close()

"""The file itself: how it is opened, and that migrations and tables agree."""

from __future__ import annotations

from contextlib import ExitStack
from datetime import date
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import text
from sqlmodel import SQLModel

from app.errors import RulebookError
from app.storage import seed, tables
from app.storage.database import MIGRATIONS, NEWEST, Database
from app.storage.stores import Stores, open_stores
from app.storage.tables import UtcDateTime

# Numbers of `PRAGMA synchronous` and `PRAGMA foreign_keys`: the SQLite documentation, "Pragma statements".
RULES = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}


@pytest.mark.file_database
@pytest.mark.parametrize(("pragma", "value"), RULES.items(), ids=RULES)
def test_every_connection_follows_the_rules(database: Database, pragma: str, value: object) -> None:
    with database.engine.connect() as one, database.engine.connect() as other:
        for connection in (one, other):
            assert connection.execute(text(f"PRAGMA {pragma}")).scalar_one() == value


def test_migrations_make_exactly_the_declared_tables(database: Database) -> None:
    assert tables.LiveEvent.__tablename__ == "live_event"

    def same_type(*compared: object) -> bool | None:
        return False if isinstance(compared[-1], UtcDateTime) else None

    with database.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": same_type})
        assert compare_metadata(context, SQLModel.metadata) == []


@pytest.mark.file_database
def test_migrated_tables_give_a_number_once_where_they_say_so(database: Database) -> None:
    # Without AUTOINCREMENT the next program got the number of a deleted one, and a waiting tap went to it.
    declared = {
        table.name
        for table in SQLModel.metadata.tables.values()
        if table.dialect_options["sqlite"]["autoincrement"]
    }
    with database.engine.connect() as connection:
        made = connection.execute(
            text("SELECT name FROM sqlite_master WHERE type = 'table' AND sql LIKE '%AUTOINCREMENT%'")
        )
        assert set(made.scalars()) == declared
    assert declared >= {"skater", "layout", "live_program", "day", "official_sheet", "device"}


def test_the_newest_migration_is_the_one_start_up_expects(database: Database) -> None:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    assert ScriptDirectory.from_config(config).get_current_head() == NEWEST
    with database.engine.connect() as connection:
        assert MigrationContext.configure(connection).get_current_revision() == NEWEST


def test_migrating_twice_changes_nothing(stores: Stores, database: Database) -> None:
    stores.skaters.add("A")
    database.migrate()
    assert [skater.name for skater in stores.skaters.all()] == ["A"]


@pytest.mark.file_database
def test_elements_stored_before_there_were_cue_words_are_kept(tmp_path: Path) -> None:
    database = Database(tmp_path / "old.sqlite3")
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    with database.engine.connect() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
        connection.execute(text("INSERT INTO skater VALUES (1, 'A', 0)"))
        connection.execute(text("INSERT INTO trained_element VALUES (1, 1, '3S', '', 1, 25, 18, '[]', NULL)"))
        connection.commit()
    database.migrate()
    with open_stores(database) as stores:
        (element,) = stores.skaters.trained(1)
    assert (element.code, element.attempts, element.landed, element.cue) == ("3S", 25, 18, "")
    database.close()


@pytest.mark.file_database
def test_programs_started_before_there_were_odds_go_on_without(tmp_path: Path) -> None:
    database = Database(tmp_path / "old.sqlite3")
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    with database.engine.connect() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "0002")
        connection.execute(text("INSERT INTO skater VALUES (1, 'A', 0)"))
        connection.execute(
            text(
                "INSERT INTO live_program VALUES (1, 1, NULL, 'L', 'isu/2026-27/senior/women/free', 'f', '[]', '[]', "
                "'run-through', '', 0.5, 2, 0, NULL, '2026-11-25 10:00:00')"
            )
        )
        connection.commit()
    database.migrate()
    with open_stores(database) as stores:
        program = stores.live.program(1)
    assert (program.after_fall_odds, program.second_half_odds) == (False, False)
    database.close()


@pytest.mark.file_database
def test_every_thread_that_serves_requests_gets_a_connection__bug_load(database: Database) -> None:
    """Used to be: fifteen connections for forty threads, so that a busy evening ended in errors after 30 s."""
    with ExitStack() as open_ones:
        sessions = [open_ones.enter_context(database.session()) for _ in range(60)]
        assert [one.execute(text("SELECT 1")).scalar_one() for one in sessions] == [1] * 60


@pytest.mark.file_database
def test_a_missing_folder_is_made_even_with_a_percent_sign_in_its_name(tmp_path: Path) -> None:
    database = Database(tmp_path / "100 % new" / "recoup.sqlite3")
    database.migrate()
    assert database.file.exists()
    database.close()


def test_seeding_plants_the_demo_once(stores: Stores) -> None:
    folder = Path(__file__).parents[2] / "data" / "demo"
    today = date(2026, 1, 10)
    assert seed.plant(stores, folder, today, fingerprint_of=lambda edition: f"of {edition}") >= 1
    assert seed.plant(stores, folder, today, fingerprint_of=lambda edition: f"of {edition}") == 0
    (skater,) = stores.skaters.all()
    assert skater.invented
    assert all(layout.fingerprint == f"of {layout.edition}" for layout in stores.layouts.of_skater(skater.id))
    assert all(
        one.last_logged is not None and one.last_logged <= today for one in stores.skaters.trained(skater.id)
    )


def test_a_broken_demo_file_is_named(stores: Stores, tmp_path: Path) -> None:
    (tmp_path / "bad.json").write_text('{"skater": {"name": "A", "invented": true}}')
    with pytest.raises(RulebookError, match=r"bad\.json: KeyError: 'elements'"):
        seed.plant(stores, tmp_path, date(2026, 1, 10), fingerprint_of=str)

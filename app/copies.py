"""`python -m app backup` and `python -m app restore [NAME]`: copies of the database from the command line."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from app.errors import InputError, StorageTrouble
from app.settings import Settings
from app.storage.backups import Backup, Backups, contents
from app.storage.database import Database
from app.storage.folder_lock import FolderLock, Taken
from app.storage.restoring import restore as bring_back


def backup(settings: Settings) -> int:
    """Copy the database now; a server may be running. Raises StorageTrouble, InputError without a database."""
    file = _file(settings)
    if not file.exists():
        raise InputError("data-dir", f"there is no database in {settings.data_dir}; nothing to copy")
    made = Backups(file).make("asked", datetime.now(UTC))
    print(f"{made.file}")
    return 0


def listed(settings: Settings) -> int:
    """Print the copies there are, the latest first."""
    copies = Backups(_file(settings)).all()
    for one in copies:
        print(f"{one.name}   {_inside(one)}")
    if not copies:
        print(f"No copies in {Backups(_file(settings)).folder} yet.")
    return 0


def restore(settings: Settings, name: str) -> int:
    """Bring a copy back while no server runs. Raises StorageTrouble, InputError."""
    lock = FolderLock(settings.data_dir)
    try:
        lock.take()
    except Taken as taken:
        where = taken.holder.address or f"as process {taken.holder.process}"
        raise InputError(
            "restore",
            f"Recoup runs on {settings.data_dir} ({where}); use its page /backups, or stop it first",
        ) from None
    database = Database(_file(settings))
    try:
        before = bring_back(database, name, datetime.now(UTC))
    finally:
        database.close()
        lock.free()
    print(f"{name} is back.")
    print(f"What was there before: {before.name}" if before else "The damaged file was kept beside it.")
    return 0


def _file(settings: Settings) -> Path:
    if settings.database_url:
        raise InputError(
            "DATABASE_URL", "copies of a PostgreSQL database are made with pg_dump; see DEVELOPERS.md"
        )
    return settings.database_file


def _inside(one: Backup) -> str:
    try:
        held = contents(one.file)
    except StorageTrouble:
        return "damaged"
    latest = f", last tap {held.latest:%Y-%m-%d %H:%M} UTC" if held.latest else ""
    return f"{held.skaters} skaters, {held.layouts} layouts, {held.programs} live programs{latest}"

"""One server to a data folder, whoever comes second is told who was first; a crash locks nobody out."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from app.errors import StorageTrouble
from app.settings import PROJECT
from app.storage.folder_lock import FolderLock, Holder, Taken

HOLD = """
import sys
from pathlib import Path
from app.storage.folder_lock import FolderLock
lock = FolderLock(Path(sys.argv[1]))
lock.take()
lock.announce("http://127.0.0.1:8123/")
print("held", flush=True)
sys.stdin.read()
"""
pytestmark = pytest.mark.file_database


def test_the_second_one_learns_process_and_address_of_the_first(tmp_path: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(tmp_path)],
        cwd=PROJECT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as first:
        assert first.stdout is not None
        assert first.stdout.readline() == "held\n"
        with pytest.raises(Taken) as taken:
            FolderLock(tmp_path).take()
        assert taken.value.holder == Holder(first.pid, "http://127.0.0.1:8123/")
        first.kill()
        first.wait()
        # SIGKILL: its file is still there, its lock is not.
        assert json.loads((tmp_path / "recoup.lock").read_text())["process"] == first.pid
        lock = FolderLock(tmp_path)
        lock.take()
        assert lock.holder().address == ""
        lock.free()


def test_a_lock_can_be_taken_again_after_it_was_freed(tmp_path: Path) -> None:
    first, second = FolderLock(tmp_path), FolderLock(tmp_path)
    first.take()
    with pytest.raises(Taken):
        second.take()
    first.free()
    first.free()
    second.take()
    second.free()


def test_a_lock_file_that_says_nothing_is_no_obstacle(tmp_path: Path) -> None:
    (tmp_path / "recoup.lock").write_text("not what was written")
    lock = FolderLock(tmp_path)
    assert lock.holder() == Holder(0)
    lock.take()
    lock.free()


def test_a_folder_that_is_a_file_is_said(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("a file")
    with pytest.raises((StorageTrouble, FileExistsError)):
        FolderLock(tmp_path / "data").take()

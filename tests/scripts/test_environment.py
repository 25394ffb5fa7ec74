"""Set-up: done once, skipped while the locks stay the same, and clear about what is missing."""

from __future__ import annotations

import ast
import importlib.util
import subprocess
import sys
import zipfile
from pathlib import Path
from types import ModuleType

import pytest

SCRIPTS = Path(__file__).parents[2] / "scripts"


@pytest.fixture
def environment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """scripts/environment.py, looking at a project folder of this test's own."""
    spec = importlib.util.spec_from_file_location("environment", SCRIPTS / "environment.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    locks = tmp_path / "scripts" / "locks"
    locks.mkdir(parents=True)
    for name in ("run", "test", "static"):
        (locks / f"{name}.txt").write_text(f"{name}==1\n")
    places = {"PROJECT": tmp_path, "VENV": tmp_path / ".venv", "LOCKS": locks, "VENDOR": tmp_path / "vendor"}
    for name, place in places.items():
        monkeypatch.setattr(module, name, place)
    return module


@pytest.fixture
def commands(environment: ModuleType, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What set-up would have run; a made environment and downloaded wheels are pretended."""
    said: list[str] = []

    def pretend(command: list[str], what: str) -> None:
        said.append(what)
        if "venv" in command:
            environment.interpreter().parent.mkdir(parents=True)
            environment.interpreter().touch()
        if "download" in command:
            wheel = Path(command[command.index("-d") + 1]) / "files.whl"
            with zipfile.ZipFile(wheel, "w") as archive:
                for source in environment.BROWSER_FILES.values():
                    archive.writestr(source, source)

    monkeypatch.setattr(environment, "_run", pretend)
    return said


FIRST = ["making the environment", "pip install", "pip download"]


def test_the_first_start_does_everything_and_the_second_nothing(
    environment: ModuleType, commands: list[str]
) -> None:
    environment.make("run")
    assert commands == FIRST
    environment.make("run")
    assert commands == FIRST
    assert (environment.VENDOR / "htmx" / "htmx.min.js").read_text().endswith("htmx-4.min.js")


@pytest.mark.parametrize(("lock", "again"), [("run", "pip install"), ("static", "pip download")])
def test_a_changed_lock_is_followed(
    environment: ModuleType, commands: list[str], lock: str, again: str
) -> None:
    environment.make("run")
    (environment.LOCKS / f"{lock}.txt").write_text("changed==2\n")
    environment.make("run")
    assert commands == [*FIRST, again]


def test_the_test_environment_serves_the_app_as_well(environment: ModuleType, commands: list[str]) -> None:
    environment.make("test")
    environment.make("run")
    assert commands == FIRST


def test_a_removed_environment_is_made_again(environment: ModuleType, commands: list[str]) -> None:
    environment.make("run")
    environment.interpreter().unlink()
    environment.interpreter().parent.rmdir()
    (environment.VENV / "recoup-run.stamp").unlink()
    environment.make("run")
    assert commands == [*FIRST, "making the environment", "pip install"]


def test_a_python_without_venv_is_told_the_way_out(
    environment: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(environment, "find_spec", lambda name: None if name == "ensurepip" else object())
    with pytest.raises(SystemExit, match="ensurepip missing") as stopped:
        environment.make("run")
    assert "sudo apt install python3-venv" in str(stopped.value)


def test_an_old_python_is_told_so(environment: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(environment.sys, "version_info", (3, 10, 0))
    with pytest.raises(SystemExit, match=r"needs Python 3\.11 or newer"):
        environment.make("run")


def test_a_failing_step_stops_with_a_word(environment: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(command: list[str], **_named: object) -> subprocess.CompletedProcess[str]:
        return subprocess.CompletedProcess(command, returncode=1)

    monkeypatch.setattr(environment.subprocess, "run", broken)
    with pytest.raises(SystemExit, match="Set-up stopped at making the environment"):
        environment.make("run")


@pytest.mark.parametrize("name", ["serve.py", "test.py", "environment.py"])
def test_scripts_need_the_standard_library_only(name: str) -> None:
    nodes = list(ast.walk(ast.parse((SCRIPTS / name).read_text())))
    named = [alias.name for node in nodes if isinstance(node, ast.Import) for alias in node.names]
    named += [node.module or "" for node in nodes if isinstance(node, ast.ImportFrom)]
    assert {one.split(".")[0] for one in named} - {"environment"} <= sys.stdlib_module_names

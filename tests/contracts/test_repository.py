"""What the repository promises about itself: locks, CI, tracked files, documents."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

import app
from app.settings import TABLE, SettingRow

PROJECT = Path(__file__).parents[2]
LOCKS = sorted((PROJECT / "scripts" / "locks").glob("*.txt"))
TOP_LEVEL = {
    ".ci",
    ".gitignore",
    "CHANGELOG.md",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "app",
    "data",
    "pyproject.toml",
    "scripts",
    "static",
    "templates",
    "tests",
}
# Written in two halves, so that this file does not hold what it forbids.
MACHINE_PATHS = [f"/{name}/" for name in ("wo" + "rk", "tm" + "p", "ro" + "ot", "ho" + "me", "op" + "t")]
HOSTS = [
    "pypi" + ".org",
    "pythonhosted" + ".org",
    "npm" + "js.org",
    "npm" + "js.com",
    "crates" + ".io",
    "debian" + ".org",
    "unpkg" + ".com",
    "jsdelivr" + ".net",
    "cdnjs" + ".cloudflare",
    "googleapis" + ".com",
]
TEXT = {".py", ".md", ".toml", ".txt", ".in", ".html", ".css", ".js", ".json", ".csv", ".svg", ".yaml", ""}


def tracked() -> list[Path]:
    """Every file under version control."""
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=PROJECT, capture_output=True, check=True, text=True
    ).stdout
    return [PROJECT / name for name in listed.split("\0") if name and (PROJECT / name).exists()]


def pins(lock: Path) -> dict[str, list[str]]:
    """Name==version of each requirement and its hashes."""
    found: dict[str, list[str]] = {}
    current = ""
    for line in lock.read_text().splitlines():
        if match := re.match(r"^([A-Za-z0-9._-]+==[^ ;\\]+)", line):
            current = match[1]
            found.setdefault(current, [])
        elif match := re.match(r"^\s+--hash=(sha256:[0-9a-f]{64})", line):
            found[current].append(match[1])
        else:
            assert re.match(r"^\s*#|^\s*$", line), (
                f"{lock.name}: a line that is neither pin, hash nor comment: {line}"
            )
    return found


@pytest.mark.parametrize("lock", LOCKS, ids=lambda lock: lock.name)
def test_every_pinned_package_is_hashed(lock: Path) -> None:
    held = pins(lock)
    assert held
    assert [name for name, hashes in held.items() if not hashes] == []


@pytest.mark.parametrize("lock", LOCKS, ids=lambda lock: lock.name)
def test_everything_asked_for_is_locked(lock: Path) -> None:
    asked = re.findall(r"^([a-z][a-z0-9-]+)", lock.with_suffix(".in").read_text(), re.MULTILINE)
    assert set(asked) <= {name.partition("==")[0] for name in pins(lock)}


def test_the_tests_run_on_the_very_packages_of_the_app() -> None:
    run, test = (pins(PROJECT / "scripts" / "locks" / f"{kind}.txt") for kind in ("run", "test"))
    assert {name: test.get(name) for name in run} == run


def test_ci_calls_the_one_test_command_and_nothing_else() -> None:
    lines = (PROJECT / ".ci" / "run").read_text().splitlines()
    assert lines[0] == "#!/usr/bin/env bash"
    assert "set -euo pipefail" in lines
    assert lines[-1] == "exec python3 scripts/test.py"
    assert len(lines) <= 25
    assert not [
        line
        for line in lines
        if "pytest" in line or "|| true" in line.removesuffix("apt-get update -qq || true")
    ]


def test_the_top_level_is_as_agreed() -> None:
    assert {file.relative_to(PROJECT).parts[0] for file in tracked()} <= TOP_LEVEL


@pytest.mark.parametrize("forbidden", [*MACHINE_PATHS, *HOSTS])
def test_no_machine_path_and_no_registry_in_tracked_files(forbidden: str) -> None:
    holding = [
        str(file.relative_to(PROJECT))
        for file in tracked()
        if file.suffix in TEXT and forbidden in file.read_text(encoding="utf-8", errors="replace")
    ]
    assert holding == []


def test_the_changelog_has_this_version() -> None:
    assert re.search(
        rf"^## .*\b{re.escape(app.__version__)}\b", (PROJECT / "CHANGELOG.md").read_text(), re.MULTILINE
    )


def as_row(row: SettingRow) -> str:
    """The row of a setting as DEVELOPERS.md should have it."""
    default = "var in the project" if row.name == "data_dir" else row.default
    return (
        f"| `{row.name}` | {default} | {row.help} | {f'`{row.variable}`' if row.variable else 'in the app'} |"
    )


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row.name)
def test_every_setting_is_documented(row: SettingRow) -> None:
    assert as_row(row) in (PROJECT / "DEVELOPERS.md").read_text(), (
        f"DEVELOPERS.md needs this line:\n{as_row(row)}"
    )


def test_the_readme_runs() -> None:
    """Every python block of the README, one after the other in one namespace, as a reader would type them."""
    blocks = re.findall(
        r"^```python\n(.*?)^```", (PROJECT / "README.md").read_text(), re.DOTALL | re.MULTILINE
    )
    assert blocks, "the README shows no engine scenario"
    namespace: dict[str, object] = {"__name__": "readme"}
    for number, block in enumerate(blocks, start=1):
        exec(compile(block, f"README.md, python block {number}", "exec"), namespace)

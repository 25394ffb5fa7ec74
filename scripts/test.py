#!/usr/bin/env python3
"""Run the tests: `python3 scripts/test.py [pytest arguments]`. Needs Python 3.11 or newer and nothing else.

Makes the test environment like serve.py does, then runs ruff, mypy --strict, the tests nearest to the engine under
coverage (cover.py), then all tests, and prints the total. With arguments only pytest runs, on what they say. Browser
tests need Chromium; without one they are skipped, loudly, unless RECOUP_REQUIRE_BROWSER is set (as .ci/run does), when
its absence is a failure. With RECOUP_REQUIRE_POSTGRES=1 every test that uses the database runs a second time on
PostgreSQL, on a server of its own (scripts/postgres).
"""

import os
import subprocess
import sys
import time

import environment

CHECKS = (
    ("ruff check", ["-m", "ruff", "check", "."]),
    ("ruff format", ["-m", "ruff", "format", "--check", "."]),
    ("mypy --strict", ["-m", "mypy"]),
)

ALL_CORES = ["-n", "auto", "--dist", "loadfile"]
"""The whole suite runs on every core; a file stays in one process, with what its tests share."""

ON_A_SERVER = [
    *ALL_CORES,
    *("tests/storage", "tests/security", "tests/web"),
    *(
        f"--ignore=tests/web/test_{name}.py"
        for name in ("policy", "robust", "card_page", "trainer", "fragility", "aim", "rehearse")
    ),
]
"""What touches the database runs on PostgreSQL too, apart from pages that mostly reckon."""


def main() -> int:
    """Set up, check, test; the exit code is 0 only when everything passed."""
    chosen = sys.argv[1:]
    python = str(environment.make("test"))
    environment.compile_once()
    os.chdir(environment.PROJECT)
    began = time.monotonic()
    checks = () if chosen else CHECKS
    failed = [name for name, arguments in checks if not _passes(name, [python, *arguments])]
    if not chosen and not _passes(
        "coverage", [sys.executable, str(environment.PROJECT / "scripts" / "cover.py")]
    ):
        failed.append("coverage")
    if os.environ.get("RECOUP_REQUIRE_POSTGRES") and not chosen and not _passes_on_a_server(python):
        failed.append("pytest on PostgreSQL")
    pytest = subprocess.run([python, "-m", "pytest", *(chosen or ALL_CORES)], check=False).returncode
    if pytest:
        failed.append(f"pytest (exit {pytest})")
    verdict = f"failed: {', '.join(failed)}" if failed else "all passed"
    # pytest's own closing line stays the last one on standard output.
    print(f"scripts/test.py: {verdict}, {time.monotonic() - began:.0f} s", file=sys.stderr, flush=True)
    return 1 if failed else 0


def _passes_on_a_server(python: str) -> bool:
    """The part of the suite that touches the database, on a PostgreSQL server of its own."""
    return _passes("pytest on PostgreSQL", [python, "scripts/postgres", python, "-m", "pytest", *ON_A_SERVER])


def _passes(name: str, command: list[str]) -> bool:
    print(f"-- {name}", flush=True)
    return subprocess.run(command, check=False).returncode == 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        sys.exit(130)

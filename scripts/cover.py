#!/usr/bin/env python3
"""How much of the engine the tests reach: `python3 scripts/cover.py`; part of `python3 scripts/test.py`.

Runs the tests that stand nearest to the six packages under coverage, with branches, and holds each package to 95 %. The
compiled loops are seen where they run as plain Python (tests/planner/test_plain_loops.py). Left out for time are tests
that repeat on many seeds what one seed covers; `scripts/test.py` runs them all.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import environment

PACKAGES = ("domain", "rulebook", "legality", "scoring", "planner", "live")
LEAST = 95
"""Per cent of lines and branches, in each package."""
MEASURED = (
    *(f"tests/{name}" for name in PACKAGES),
    "tests/web/test_policy_pages.py",
    "tests/web/test_stream.py",
)
FEWER = " and ".join(
    (
        "not (test_judge_and_quotas_agree and 26])",
        "not test_random_programs_agree_with_the_exact_values",
        "not (test_every_swap_against_the_exhaustive_solver and not 0])",
        "not (test_mean_and_chances_are_those_of_the_exhaustive_solver and not 0])",
        "(not test_policy_pages or test_a_tap_leads_to_the_node_that_the_policy_names)",
    )
)


def main() -> int:
    """Run, combine, report; 0 when the tests pass and every package has its share."""
    python = str(environment.make("test"))
    sources = [f"--cov=app/{name}" for name in PACKAGES]
    with tempfile.TemporaryDirectory() as folder:
        kept = os.environ | {"COVERAGE_FILE": str(Path(folder) / "data")}
        command = [python, "-m", "pytest", "-q", "-n", "auto", "--dist", "loadfile", "-k", FEWER, *MEASURED]
        command += ["--hypothesis-profile=patient"]
        command += [*sources, "--cov-branch", "--cov-report="]
        if subprocess.run(command, cwd=environment.PROJECT, env=kept, check=False).returncode:
            return 1
        return max(_share(python, name, kept) for name in PACKAGES)


def _share(python: str, name: str, kept: dict[str, str]) -> int:
    """Print what one package has; 1 when that is too little, with the lines that no test reaches."""
    command = [python, "-m", "coverage", "report", f"--include=app/{name}/*"]
    total = subprocess.run(
        [*command, "--format=total", "--precision=1"],
        capture_output=True,
        env=kept,
        check=False,
        text=True,
        cwd=environment.PROJECT,
    )
    share = float(total.stdout or 0)
    print(f"-- coverage of app/{name}: {share} % of lines and branches, at least {LEAST} wanted", flush=True)
    if share >= LEAST:
        return 0
    subprocess.run(command, env=kept, check=False, cwd=environment.PROJECT)
    return 1


if __name__ == "__main__":
    sys.exit(main())

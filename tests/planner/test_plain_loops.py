"""The compiled loops against themselves as plain Python: the same questions, in a process that compiles nothing.

Compiled code differs from Python where whole numbers run over and where a division is by nothing; a compiler has
faults of its own. The loops are held to the rules elsewhere (tests/agreement, tests/properties), here to their
own text. It is
also where coverage can see them: compiled code leaves no trace.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.planner.plain_loops import answers


def test_compiled_loops_answer_as_their_text_says() -> None:
    command = [sys.executable, "-m", "tests.planner.plain"]
    said = subprocess.run(command, cwd=Path(__file__).parents[2], capture_output=True, check=True, text=True)
    plain, compiled = json.loads(said.stdout), answers()
    assert plain.keys() == compiled.keys()
    for question, figures in compiled.items():
        assert plain[question] == pytest.approx(figures, abs=1e-9), question

"""The command line: one JSON object out, one line on a bad input and exit 2, `.jsonl` answered line by line."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest

from app.__main__ import main
from app.web.routes.api import ADVISE_EXAMPLE, SCORE_EXAMPLE

Printed = pytest.CaptureFixture[str]


def written(folder: Path, name: str, *lines: object) -> str:
    """A file with one JSON value (or text) a line."""
    file = folder / name
    file.write_text(
        "\n".join(line if isinstance(line, str) else json.dumps(line) for line in lines), encoding="utf-8"
    )
    return str(file)


def test_score_prints_one_object(tmp_path: Path, capsys: Printed) -> None:
    assert main(["score", written(tmp_path, "sheet.json", SCORE_EXAMPLE)]) == 0
    printed = capsys.readouterr()
    # The total is the contract's own example: 14.79 + 21.36 - 1.00.
    assert json.loads(printed.out)["total"] == 35.15
    assert printed.err == ""


def test_advise_prints_one_object(tmp_path: Path, capsys: Printed) -> None:
    assert main(["advise", written(tmp_path, "program.json", ADVISE_EXAMPLE)]) == 0
    answered = json.loads(capsys.readouterr().out)
    assert answered["best"] in {"3F+2T", "3F"}
    assert answered["keep"] == "3F+2T"


def test_a_dash_reads_standard_input(monkeypatch: pytest.MonkeyPatch, capsys: Printed) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(json.dumps(SCORE_EXAMPLE)))
    assert main(["score", "-"]) == 0
    assert json.loads(capsys.readouterr().out)["total"] == 35.15


@pytest.mark.parametrize(
    ("verb", "content", "named"),
    [
        ("score", "{", "request: not JSON"),
        ("score", {"edition": "none", "elements": []}, "edition: no rulebook called 'none'"),
        ("advise", ADVISE_EXAMPLE | {"passes": [{"planned": "3F", "options": []}]}, "options"),
    ],
)
def test_bad_input_is_one_line_and_exit_2(
    tmp_path: Path, capsys: Printed, verb: str, content: object, named: str
) -> None:
    assert main([verb, written(tmp_path, "bad.json", content)]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    assert named in printed.err


@pytest.mark.parametrize("name", ["missing.json", "missing.jsonl"])
def test_a_file_that_is_not_there_is_named(tmp_path: Path, capsys: Printed, name: str) -> None:
    assert main(["score", str(tmp_path / name)]) == 2
    assert "missing.json" in capsys.readouterr().err


def test_lines_are_answered_in_order_and_a_bad_one_does_not_stop_the_rest(
    tmp_path: Path, capsys: Printed
) -> None:
    lines = (SCORE_EXAMPLE, "{", SCORE_EXAMPLE | {"edition": "none"}, "", SCORE_EXAMPLE | {"falls": 0})
    assert main(["score", written(tmp_path, "sheets.jsonl", *lines)]) == 0
    answered = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [list(one) == ["error"] for one in answered] == [False, True, True, False]
    # One fall fewer is one point more (senior, first fall: -1.00; the contract's example).
    assert [answered[0]["total"], answered[3]["total"]] == [35.15, 36.15]


def test_help_and_version_need_no_database(capsys: Printed) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["--version"])
    assert ended.value.code == 0
    assert capsys.readouterr().out.startswith("Recoup ")

"""Official score sheets, to the cent.

Source: "judges details per skater" sheets of ISU events, senior and junior, 2018/19 to 2025/26 (public
results, no people in the file). The sample is chosen by `scripts/sheets sample`; see README.md here.
Stars, +REP, base values, late credit, GOE, scores, components and totals must be equal in every season.
"""

from __future__ import annotations

import gzip
import json
import subprocess
import sys
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from app import engine
from tests.reference import sheet_mapping, sheet_sample

FILE = Path(__file__).parent / "sheets.jsonl.gz"
SCRIPT = Path(__file__).parent.parent.parent / "scripts" / "sheets"
SHEETS: list[dict[str, Any]] = [
    json.loads(line) for line in gzip.decompress(FILE.read_bytes()).decode().splitlines()
]
NAMES = [f"{s['id']}-{sheet_mapping.edition_name(s).removeprefix('isu/').replace('/', '-')}" for s in SHEETS]


@pytest.mark.parametrize("sheet", SHEETS, ids=NAMES)
def test_sheet(sheet: dict[str, Any]) -> None:
    answer = engine.score(sheet_mapping.sheet_request(sheet)).as_json()
    assert sheet_mapping.differences(sheet, answer) == []


def test_a_wrong_sheet_is_noticed() -> None:
    """One hundredth more on any printed number, or a lost star, must show as a difference."""
    sheet = next(
        s for s in SHEETS if s["season"] == "2022/23" and any("*" in e["code"] for e in s["elements"])
    )
    answer = engine.score(sheet_mapping.sheet_request(sheet)).as_json()
    for place, element in enumerate(sheet["elements"]):
        for key in ("base_value", "goe", "score"):
            wrong = json.loads(json.dumps(sheet))
            wrong["elements"][place][key] = round(element[key] + 0.01, 2)
            assert sheet_mapping.differences(wrong, answer)
        if "*" in element["code"]:
            wrong = json.loads(json.dumps(sheet))
            wrong["elements"][place]["code"] = element["code"].replace("*", "")
            assert sheet_mapping.differences(wrong, answer)
    for key in ("tes", "pcs", "deductions", "total"):
        wrong = json.loads(json.dumps(sheet))
        wrong[key] = round(sheet[key] + 0.01, 2)
        assert sheet_mapping.differences(wrong, answer)


def test_the_sample_touches_every_rule() -> None:
    """Kinds of stars and marks that must be on some sheet of 2022/23 or later."""
    seen: Counter[str] = Counter()
    for sheet in SHEETS:
        seen.update(tag for tag in sheet_sample.tags(sheet) if tag.startswith("new"))
    for wanted in (
        "new free star on jump 1 of 1 whole",
        "new free star on jump 1 of 3",
        "new free star on jump 2 of 2",
        "new free star on jump 3 of 3",
        "new free +REP of 1 x fall",
        "new free +REP of 2 x",
        "new free +COMBO of 2 broken",
        "new free +COMBO of 3 broken",
        "new free +SEQ of 2 broken",
        "new free +SEQ of 3 end",
        "new free Euler",
        "new free Euler<<",
        "new free no turns first",
        "new free no turns tail",
        "new free downgraded jump repeated",
        "new free worthless among the last",
        "new free senior falls 3",
        "new free deduction time_violation -1.0",
        "new free deduction illegal_element -2.0",
        "new free StSqB",
        "new short +COMBO of 1 end",
        "new short +COMBO of 2 broken",
        "new short star on jump 1 of 2",
        "new short star on jump 2 of 2",
        "new short CSp*",
        "new short late credits 0",
        *(
            f"new free mark {mark}"
            for mark in ("q", "<", "<<", "e", "!", "eq", "!q", "e<", "!<", "e<<", "!<<")
        ),
    ):
        assert seen[wanted], wanted
    panels = {len(e["judges"]) for sheet in SHEETS for e in sheet["elements"]}
    assert panels == {5, 6, 7, 8, 9}


def test_the_sample_carries_no_people_and_no_events() -> None:
    """Only the fields that a check needs."""
    for sheet in SHEETS:
        assert set(sheet) <= set(sheet_sample.KEPT)
        assert all(set(e) <= set(sheet_sample.KEPT_OF_ELEMENT) for e in sheet["elements"])
        assert all(set(c) <= {"name", "factor", "judges", "score"} for c in sheet.get("components", ()))


def test_the_sample_follows_its_own_rule() -> None:
    """Choosing from the sample gives the sample back: no sheet was put in or taken out by hand."""
    assert sheet_sample.choose(SHEETS) == SHEETS


def run_sheets(*words: str) -> subprocess.CompletedProcess[str]:
    """`scripts/sheets` as a person runs it."""
    return subprocess.run(
        [sys.executable, str(SCRIPT), *words], capture_output=True, text=True, check=False, timeout=120
    )


def test_check_prints_a_difference_and_fails(tmp_path: Path) -> None:
    right = next(s for s in SHEETS if s["season"] == "2025/26")
    wrong = json.loads(json.dumps(right))
    wrong["elements"][0]["goe"] = round(right["elements"][0]["goe"] + 0.01, 2)
    file = tmp_path / "sheets.jsonl"
    file.write_text(json.dumps(right) + "\n", encoding="utf-8")
    assert run_sheets("check", str(file)).returncode == 0
    file.write_text(json.dumps(wrong) + "\n", encoding="utf-8")
    failed = run_sheets("check", str(file))
    assert failed.returncode == 1
    assert right["id"] in failed.stdout
    assert "goe" in failed.stdout


def test_sample_of_the_sample_is_the_same_bytes(tmp_path: Path) -> None:
    target = tmp_path / "again.jsonl.gz"
    assert run_sheets("sample", str(FILE), "--to", str(target)).returncode == 0
    assert gzip.decompress(target.read_bytes()) == gzip.decompress(FILE.read_bytes())


def test_a_missing_file_is_named() -> None:
    failed = run_sheets("check", "nowhere.jsonl")
    assert failed.returncode == 2
    assert "nowhere.jsonl" in failed.stderr

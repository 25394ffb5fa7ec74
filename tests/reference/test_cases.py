"""Every case file under cases/ becomes tests: the engine's calls and base values against the source's.

A case gives elements as executed ("3Lz+2T late fall error"), and for each the call that the source
expects, with the base value behind " = " where the source gives one. Sources stand beside the cases.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from app import engine

FOLDER = Path(__file__).parent / "cases"
KEYS = {"id", "sentence", "edition", "elements", "expected", "source", "origin"}
MORE_KEYS = {"bonuses", "switches"}
ORIGINS = {"published", "official sheet", "common practice, no source", "invented"}
FACTS = {"late", "fall", "error"}


def all_cases() -> list[tuple[str, dict[str, Any]]]:
    """Every case with the name of its file."""
    found = []
    for path in sorted(FOLDER.glob("*.toml")):
        for case in tomllib.loads(path.read_text(encoding="utf-8"))["case"]:
            found.append((f"{path.stem}: {case['id']}", case))
    return found


CASES = all_cases()


def performed(text: str) -> dict[str, Any]:
    """`3Lz+2T late fall` as an element of a scoring request; a fall is an error too."""
    code, *facts = text.split()
    if not set(facts) <= FACTS:
        raise ValueError(f"{text!r}: after the code only {sorted(FACTS)}")
    return {
        "code": code,
        "late": "late" in facts,
        "fall": "fall" in facts,
        "error": bool({"fall", "error"} & set(facts)),
    }


def asked(case: dict[str, Any]) -> dict[str, Any]:
    """The scoring request of a case."""
    elements = [performed(text) for text in case["elements"]]
    return {"edition": case["edition"], "elements": elements, "switches": case.get("switches", {})}


@pytest.mark.parametrize("case", [c for _, c in CASES], ids=[name for name, _ in CASES])
def test_case(case: dict[str, Any]) -> None:
    answer = engine.score(asked(case)).as_json()["elements"]
    for given, wanted, line in zip(case["elements"], case["expected"], answer, strict=True):
        code, _, value = wanted.partition(" = ")
        assert line["code"] == code, f"{given}: {case['sentence']} ({case['source']})"
        if value:
            assert round(line["base_value"] * 100) == round(float(value) * 100), (
                f"{given}: {case['sentence']}"
            )
    if "bonuses" in case:
        assert [line["bonus"] for line in answer] == case["bonuses"], case["sentence"]


def test_every_ruling_of_a_case_names_a_rule() -> None:
    """A star or a +REP without a rule behind it could not be explained to anyone."""
    for name, case in CASES:
        for line in engine.score(asked(case)).as_json()["elements"]:
            if "*" in line["code"] or "+REP" in line["code"]:
                assert line["rulings"], f"{name}: {line['code']} has no ruling"
                assert all(ruling["rule"] and ruling["why"] for ruling in line["rulings"]), name


def test_case_files_are_complete() -> None:
    """Every case has every key, a known origin and a source; ids are unique within their file."""
    names = [name for name, _ in CASES]
    assert len(names) == len(set(names))
    for name, case in CASES:
        assert KEYS <= set(case) <= KEYS | MORE_KEYS, name
        assert case["origin"] in ORIGINS, name
        assert case["source"].strip(), name
        assert len(case["elements"]) == len(case["expected"]), name


def test_every_worked_example_is_a_case_or_skipped_by_name() -> None:
    """Examples 1 to 76 of the fact sheet: each is a case `12-07…`/`14-61a…` or a row of SKIPPED.md."""
    have = {int(case["id"][3:5]) for _, case in CASES if case["id"][:3] in ("12-", "14-")}
    assert len(CASES) >= 150
    skipped = set()
    for row in (FOLDER / "SKIPPED.md").read_text(encoding="utf-8").splitlines():
        first = row.split("|")[1] if row.startswith("|") else ""
        skipped |= {int(part) for part in first.split(",") if part.strip().isdigit()}
    assert have | skipped == set(range(1, 77))

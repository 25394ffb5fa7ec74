"""The engine against the second opinion: on official sheets, on the cases, and on random programs.

Sources of the rules: named in `second_opinion.py`. Random programs reach what no sheet shows; where the
rule texts leave something open (`second_opinion.OPEN`), the comparison stops at that element.
"""

from __future__ import annotations

import gzip
import json
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from app import engine
from tests.reference import second_opinion, sheet_mapping
from tests.reference.random_programs import Program, free_program, short_program
from tests.reference.second_opinion import Attempt, Sheet, Verdict
from tests.reference.test_cases import CASES, performed

Calls = list[tuple[str, int, bool]]
FILE = Path(__file__).parent / "sheets.jsonl.gz"
SEEDS = range(500)
SWITCH = "starred_jumps_use_up_an_execution"


def of_engine(program: Program, switches: dict[str, str]) -> Calls:
    """Code, base value in hundredths and late credit of each element, by the engine."""
    elements = [
        {"code": attempt.code, "late": attempt.late, "error": error}
        for attempt, error in zip(program.attempts, program.errors, strict=True)
    ]
    answer = engine.score({"edition": program.edition, "elements": elements, "switches": switches}).as_json()
    return [
        (e["code"], round(e["base_value"] * 100), e["credited"] and e["base_value"] > 0)
        for e in answer["elements"]
    ]


def of_second_opinion(verdicts: list[Verdict]) -> Calls:
    """The same of the second opinion."""
    return [(v.code, v.value, v.credited and v.value > 0) for v in verdicts]


def judged(program: Program, starred_count: bool = True) -> tuple[Sheet, list[Verdict]]:
    """The second opinion on a program."""
    sheet = replace(second_opinion.edition(program.edition), starred_count=starred_count)
    attempts = second_opinion.place_combo(sheet, list(program.attempts), list(program.errors))
    return sheet, second_opinion.judge(sheet, attempts)


def settled(sheet: Sheet, verdicts: list[Verdict]) -> int:
    """How many elements the rule texts settle."""
    times: dict[tuple[int, str], int] = {}
    eulers = sequences = 0
    for place, verdict in enumerate(verdicts):
        combination_eulers = sum(j.name == "Eu" for j in verdict.unit.jumps)
        sequences += verdict.unit.sequence or verdict.unit.broken == "SEQ"
        eulers += combination_eulers
        if sheet.season >= 2026 and (eulers > 1 or (eulers and sequences)):
            return place
        doubt = False
        for jump, star in zip(verdict.unit.jumps, verdict.stars, strict=True):
            times[jump.kind] = times.get(jump.kind, 0) + 1
            doubt |= star and jump.turns >= 3 and times[jump.kind] == 2
        if doubt and sheet.starred_count:
            return place + 1
    return len(verdicts)


@pytest.mark.parametrize("starred_count", [True, False], ids=["starred count", "starred do not count"])
def test_random_free_skates(starred_count: bool) -> None:
    compared = 0
    for seed in SEEDS:
        program = free_program(seed)
        sheet, verdicts = judged(program, starred_count)
        known = settled(sheet, verdicts)
        calls = of_engine(program, {SWITCH: "yes" if starred_count else "no"})
        assert calls[:known] == of_second_opinion(verdicts)[:known], f"seed {seed}: {program}"
        compared += known
    assert compared > 3 * len(SEEDS), "the rule texts settle most of what is generated"


def test_random_short_programs() -> None:
    for seed in SEEDS:
        program = short_program(seed)
        _, verdicts = judged(program)
        assert of_engine(program, {}) == of_second_opinion(verdicts), f"seed {seed}: {program}"


def test_random_programs_reach_the_rules() -> None:
    """Generated programs must bring stars in every place, +REP alone and in units, and unstarred ones."""
    codes = [v.code for seed in SEEDS for v in judged(free_program(seed))[1]]
    assert sum(code.endswith("+REP") and "*" not in code for code in codes) > 20
    assert sum(code.endswith("+REP") and "*" in code for code in codes) > 50
    for place in range(3):
        assert sum(len(p := code.split("+")) > place and p[place].endswith("*") for code in codes) > 50
    assert sum("*" not in code for code in codes) > len(codes) / 3
    short = [v.code for seed in SEEDS for v in judged(short_program(seed))[1]]
    assert sum(code.endswith("+COMBO") for code in short) > 50


def test_second_opinion_on_official_sheets() -> None:
    """It must itself agree with every sheet of the sample from 2022/23 on."""
    rows = [json.loads(line) for line in gzip.decompress(FILE.read_bytes()).decode().splitlines()]
    for row in rows:
        if row["season"] < sheet_mapping.PRESENT_RULES_FROM:
            continue
        late = sheet_mapping.late_flags(row["elements"])
        jumps = [
            (e, f)
            for e, f in zip(row["elements"], late, strict=True)
            if sheet_mapping.is_jump_element(e["code"])
        ]
        attempts = [Attempt(sheet_mapping.without_rulings(e["code"]), flag) for e, flag in jumps]
        verdicts = second_opinion.judge(second_opinion.edition(sheet_mapping.edition_name(row)), attempts)
        printed = [(e["code"], sheet_mapping.cents(e["base_value"])) for e, _ in jumps]
        assert [(v.code, v.value) for v in verdicts] == printed, row["id"]


def test_second_opinion_on_the_cases() -> None:
    """It must agree with the sources of every senior and junior case of the ISU from 2022/23 on, the rules it knows."""
    asked = 0
    for name, case in CASES:
        federation, season, level, *_ = case["edition"].split("/")
        if (federation, level) not in (("isu", "senior"), ("isu", "junior")) or season < "2022-23":
            continue
        asked += 1
        given = [performed(text) for text in case["elements"]]
        attempts = tuple(Attempt(e["code"], e["late"]) for e in given)
        _, verdicts = judged(Program(case["edition"], attempts, tuple(e["error"] for e in given)))
        for verdict, wanted in zip(verdicts, case["expected"], strict=True):
            code, _, value = wanted.partition(" = ")
            assert verdict.code == code, name
            assert not value or verdict.value == round(float(value) * 100), name
    assert asked > 50


def test_the_second_opinion_is_independent() -> None:
    """It may import the standard library and itself, nothing of the project."""
    for path in Path(__file__).parent.glob("second_opinion*.py"):
        for line in path.read_text(encoding="utf-8").splitlines():
            if line.startswith(("import ", "from ")):
                module = line.split()[1]
                assert module.split(".")[0] in sys.stdlib_module_names or module.startswith(
                    "tests.reference.second_opinion"
                ), f"{path.name}: {line}"

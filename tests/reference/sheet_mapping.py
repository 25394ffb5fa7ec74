"""From an official score sheet to a scoring request, and the differences of the answer from the sheet.

A sheet is one row of `sheets.jsonl.gz`: an ISU "judges details per skater" sheet without people, as
described in README.md beside this file. Money on sheets is in points; comparisons are in whole
hundredths, so "to the cent" means equal integers.

What the engine is given: codes without `*` and without +REP, judges' grades, component marks, falls,
deductions that are not for falls, and which jump elements started late. What it must find again:
the stars and +REP, base values, late credit, GOE, element scores, component score and total.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

Row = Mapping[str, Any]

JUMP_FIRST = re.compile(r"[1-5]?(?:Eu|T|S|Lo|F|Lz|A)[!eq<]*\*?(?:\+|$)")
PRESENT_RULES_FROM = "2022/23"
"""Season of the rules the second opinion knows; the engine is compared in full in every season."""


def is_jump_element(code: str) -> bool:
    """True for `3Lz+2T`, false for spins, steps and choreographic elements."""
    return JUMP_FIRST.match(code) is not None


def without_rulings(code: str) -> str:
    """The panel's own marks only: `3Lo+3T*+REP` becomes `3Lo+3T`."""
    return code.replace("*", "").replace("+REP", "")


def starred_whole(code: str) -> bool:
    """True when no jump (or not the spin) of the element counts."""
    parts = [p for p in code.split("+") if p not in ("REP", "COMBO", "SEQ")]
    return all(part.endswith("*") for part in parts)


def edition_name(sheet: Row) -> str:
    """`isu/2025-26/senior/women/free`."""
    season = str(sheet["season"]).replace("/", "-")
    level, discipline = sheet["level"], sheet["discipline"]
    if level == "novice":
        level, discipline = "advanced-novice", {"women": "girls", "men": "boys"}[discipline]
    return f"isu/{season}/{level}/{discipline}/{sheet['segment']}"


def cents(points: float) -> int:
    """Points to whole hundredths."""
    return round(float(points) * 100)


def late_flags(elements: Sequence[Row]) -> list[bool]:
    """Which elements started in the second half, as far as a sheet tells.

    A sheet prints x on credited elements only. Credit goes to the last three jump elements (short:
    last one) *if* they started late. So the first x proves that everything after it was late too,
    a worthless element without an x among them; an element before the first x either was not late
    or was not among the last three, and for its base value the two are the same.
    """
    flags: list[bool] = []
    started = False
    for element in elements:
        if is_jump_element(element["code"]):
            started = started or bool(element["x"])
            flags.append(started)
        else:
            flags.append(False)
    return flags


def fell(element: Row) -> bool:
    """An F in the info column (printed from 2022/23 on)."""
    return "F" in str(element["info"]).split()


def failed(element: Row) -> bool:
    """An error visible on the sheet that can explain a missing combination.

    A fall, a downgraded jump, or a jump popped to a single or to nothing. Judges' grades are of no
    use here: an element with +COMBO must be graded -5 whatever it was like.
    """
    first = without_rulings(element["code"]).split("+")[0]
    return fell(element) or "<<" in first or first[0] not in "2345"


def falls(sheet: Row) -> int:
    """Falls as printed; three sheets print only a sum, there the F marks are counted."""
    if sheet["falls"] is not None:
        return int(sheet["falls"])
    return sum(fell(e) for e in sheet["elements"])


def other_deductions(sheet: Row) -> float:
    """Deductions that are not for falls: time, late start, illegal element; zero or negative.

    Where a sheet prints only a sum, the falls' share is taken off it: seniors 1, 1, 2, 2, then 3
    a fall, juniors 1 (sheets of 2018/19 to 2025/26).
    """
    if sheet["falls"] is None:
        grades = [1, 1, 2, 2] if sheet["level"] == "senior" else [1] * 5
        share = sum((grades + [3] * 5)[: falls(sheet)])
        return float(sheet["deductions"] + share)
    detail = sheet.get("deduction_detail") or {}
    return float(sum(points for kind, points in detail.items() if kind != "falls"))


def sheet_request(sheet: Row) -> dict[str, Any]:
    """The scoring request of a sheet: what the panel and the judges said, without stars and +REP."""
    request: dict[str, Any] = {
        "edition": edition_name(sheet),
        "elements": [
            {
                "code": without_rulings(element["code"]),
                "late": late,
                "error": failed(element),
                "judges": element["judges"],
            }
            for element, late in zip(sheet["elements"], late_flags(sheet["elements"]), strict=True)
        ],
    }
    if sheet.get("components"):
        request["components"] = [
            {"name": c["name"], "factor": c["factor"], "judges": c["judges"]} for c in sheet["components"]
        ]
        request["falls"] = falls(sheet)
        request["other_deductions"] = other_deductions(sheet)
    return request


def differences(sheet: Row, answer: Mapping[str, Any]) -> list[str]:
    """Every difference between sheet and answer, in words; empty when they agree to the cent."""
    found = list(element_differences(sheet["elements"], answer["elements"]))
    if sheet.get("components"):
        found += total_differences(sheet, answer)
    return found


def element_differences(printed: Sequence[Row], given: Sequence[Row]) -> Iterator[str]:
    """Code, base value, late credit, GOE and score of each element.

    Sheets print x on a starred element but not on one without value (an attempted 1A<<), so credit
    is compared where there is a value to multiply.
    """
    for row, mine in zip(printed, given, strict=True):
        where = f"element {row['n']} {row['code']}"
        if mine["code"] != row["code"]:
            yield f"{where}: code {mine['code']}"
        for key in ("base_value", "goe", "score"):
            if cents(mine[key]) != cents(row[key]):
                yield f"{where}: {key} {row[key]} on the sheet, {mine[key]} here"
        if cents(row["base_value"]) and bool(mine["credited"]) != bool(row["x"]):
            yield f"{where}: late credit {row['x']} on the sheet, {mine['credited']} here"


def total_differences(sheet: Row, answer: Mapping[str, Any]) -> list[str]:
    """Element score, component score, deductions and total."""
    pairs = [
        ("element score", cents(sheet["tes"]), cents(answer["element_score"])),
        ("component score", cents(sheet["pcs"]), cents(answer["component_score"])),
        ("deductions", cents(sheet["deductions"]), cents(answer["deductions"])),
        ("total", cents(sheet["total"]), cents(answer["total"])),
    ]
    return [
        f"{name}: {want / 100:.2f} on the sheet, {got / 100:.2f} here"
        for name, want, got in pairs
        if want != got
    ]


def check_sheet(sheet: Row, score: Callable[[dict[str, Any]], Any]) -> list[str]:
    """Scores one sheet and lists the differences; an error of the engine is a difference too."""
    try:
        answer = score(sheet_request(sheet))
    except Exception as error:  # any refusal of an official sheet is a finding, whatever its kind
        return [f"{type(error).__name__}: {error}"]
    return differences(sheet, as_mapping(answer))


def as_mapping(answer: Any) -> Mapping[str, Any]:
    """An answer as plain data, whether it came as a mapping or as a value object."""
    if isinstance(answer, Mapping):
        return answer
    for name in ("as_json",):
        if hasattr(answer, name):
            plain: Mapping[str, Any] = getattr(answer, name)()
            return plain
    raise TypeError(f"cannot read the scoring answer {type(answer).__name__}")

"""Which sheets the tests carry: a fair sample in which every rule is touched.

The rule is deterministic. Sheets are walked in the order of their id. Each sheet has tags: its cell
(season, level, discipline, segment) and everything rare that happens on it. A sheet is taken while
any of its tags has been taken fewer times than its quota.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from tests.reference.sheet_mapping import (
    PRESENT_RULES_FROM,
    cents,
    fell,
    is_jump_element,
    starred_whole,
    without_rulings,
)

Row = Mapping[str, Any]

QUOTA = {"cell": 4, "new": 5, "old": 2, "every": 10**6}
"""How often each kind of tag is wanted: a cell, an event from 2022/23 on, an event before, an event always kept."""
KEPT = (
    *("id", "season", "level", "discipline", "segment", "elements", "components"),
    *("tes", "pcs", "deductions", "deduction_detail", "falls", "total"),
)
KEPT_OF_ELEMENT = ("n", "code", "info", "base_value", "x", "goe", "judges", "score")


def choose(sheets: Sequence[Row]) -> list[dict[str, Any]]:
    """The sample, sheets in order of id, without event and without anything about people."""
    taken: Counter[str] = Counter()
    chosen: list[dict[str, Any]] = []
    for sheet in sorted(sheets, key=lambda s: str(s["id"])):
        marks = tags(sheet)
        if any(taken[mark] < QUOTA[mark.split()[0]] for mark in marks):
            taken.update(marks)
            chosen.append(trimmed(sheet))
    return chosen


def trimmed(sheet: Row) -> dict[str, Any]:
    """Only the fields that a check needs."""
    kept = {key: sheet[key] for key in KEPT if key in sheet}
    kept["elements"] = [{key: e[key] for key in KEPT_OF_ELEMENT} for e in sheet["elements"]]
    return kept


def tags(sheet: Row) -> set[str]:
    """Cell and rare events of a sheet; rare events are counted apart for the two eras and segments."""
    cell = "cell " + " ".join(str(sheet[k]) for k in ("season", "level", "discipline", "segment"))
    era = "new" if sheet["season"] >= PRESENT_RULES_FROM else "old"
    jumps = [e for e in sheet["elements"] if is_jump_element(e["code"])]
    events = {*deduction_tags(sheet), *program_tags(sheet, jumps)}
    for element in sheet["elements"]:
        events |= set(jump_tags(element) if is_jump_element(element["code"]) else other_tags(element))
    found = {cell} | {f"{era} {sheet['segment']} {event}" for event in events}
    if era == "new" and sheet["segment"] == "short" and any(e["code"].endswith("+COMBO") for e in jumps):
        found.add("every lone +COMBO")  # test_combo_placement.py wants them all
    return found


def deduction_tags(sheet: Row) -> Iterator[str]:
    """Falls by number (they are graded for seniors), every other deduction, sheets without totals."""
    if not sheet.get("components"):
        yield "no components"
        return
    yield f"{sheet['level']} falls {sheet['falls']}"
    for kind, points in (sheet.get("deduction_detail") or {}).items():
        yield f"deduction {kind} {'' if kind == 'falls' else points}"


def program_tags(sheet: Row, jumps: Sequence[Row]) -> Iterator[str]:
    """What only the whole program shows."""
    yield f"panel of {len(sheet['elements'][0]['judges'])}"
    yield f"jump elements {len(jumps)}"
    yield f"late credits {sum(bool(e['x']) for e in jumps)}"
    if sheet["segment"] == "free" and not any("A" in e["code"] for e in jumps):
        yield "no Axel"
    worthless = [k for k, e in enumerate(jumps) if not cents(e["base_value"])]
    late_places = 3 if sheet["segment"] == "free" else 1
    if any(k >= len(jumps) - late_places for k in worthless):
        yield "worthless among the last"
    executed = [part for e in jumps for part in without_rulings(e["code"]).split("+") if part[0].isdigit()]
    kinds = Counter(re.sub(r"[!eq<]", "", part) for part in executed)
    marked = [part for part in executed if part.endswith("<<") and part[0] > "2"]
    if any(kinds[part.rstrip("!eq<")] > 1 for part in marked):
        yield "downgraded jump repeated"
    for turns in "234":
        if max((n for kind, n in kinds.items() if kind[0] == turns and "Eu" not in kind), default=0) > 2:
            yield f"third {turns}-turn jump of a name"


def jump_tags(element: Row) -> Iterator[str]:
    """Unit marks, falls and the GOE reference of a jump element, then the marks of its jumps."""
    code = element["code"]
    parts = [p for p in code.split("+") if p not in ("REP", "COMBO", "SEQ")]
    size = f"of {len(parts)}"
    if "+REP" in code:
        yield f"+REP {size}" + (" x" if element["x"] else "") + (" fall" if fell(element) else "")
    for mark in ("+COMBO", "+SEQ"):
        if mark in code:
            yield f"{mark} {size} {'end' if code.replace('+REP', '').endswith(mark) else 'broken'}"
    if fell(element):
        yield f"fall {size}"
    if len(parts) > 1 and element["goe"] and any("<" in p for p in parts):
        yield f"reduced reference {size}"
    whole = " whole" if starred_whole(code) else ""
    for place, part in enumerate(parts, start=1):
        if part.endswith("*"):
            yield f"star on jump {place} {size}{whole}"
        yield from single_jump_tags(place, part)


def single_jump_tags(place: int, part: str) -> Iterator[str]:
    """Edge and rotation marks, jumps without a turn, Eulers."""
    marks = "".join(re.findall(r"[!eq<]", part))
    if marks:
        yield f"mark {marks}"
    if not part[0].isdigit():
        yield f"no turns {'first' if place == 1 else 'tail'}"
    if part.startswith("1Eu"):
        yield "Euler" + part[3:]


def other_tags(element: Row) -> Iterator[str]:
    """Spins, steps and choreographic elements: level, V, stars, falls."""
    code = element["code"]
    name = re.sub(r"[B0-4]?V?\*?$", "", code)
    yield name + ("V" if "V" in code else "") + ("*" if "*" in code else "")
    if name in ("StSq", "ChSq", "CCoSp") or "V" in code:
        yield code
    if re.fullmatch(r"[A-Za-z]+", code) or "B" in code:
        yield f"no level or basic {code}"
    if fell(element):
        yield "fall outside jumps"

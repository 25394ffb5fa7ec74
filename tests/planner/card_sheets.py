"""From an official sheet of a free skating to an assumed plan: the sheet's own elements with the misses undone.

A sheet carries no plan. The least plan that explains it is assumed, step by step:

1. Every call, star and `+REP` is taken off; a fall is undone by trying the same element.
2. A first jump popped to a single or a double is a triple of the same take-off again (an Axel popped to a single: a
   double for women, a triple for men); a double Axel is planned. Singles behind it are doubles.
3. A unit broken by an error is whole again, with the tail that was called.
4. While units are unused, a pass that shows a lost tail gets one back: first a solo with `+REP`, then one marked
   `+COMBO`, then a solo that fell, then a first jump that popped alone. The tail is 2T while the plan holds fewer
   than two, else 3T while it holds fewer than two.
5. A plan in which anything would not count is tried again without step 4, then without step 2; if that does not
   help, the sheet is left out.

What a skater won back on the ice is in the sheet and so in the plan: a recovery cannot be told from a plan, and a
triple popped from a quad cannot be told from a triple.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from app.domain.elements import Jump, JumpElement
from app.domain.notation import parse_jump_element
from app.legality.judge import judge_all
from app.rulebook.editions import Edition
from tests.reference.sheet_mapping import fell, is_jump_element, late_flags, without_rulings

Row = Mapping[str, Any]
UNITS = 3
"""Combinations and sequences in a free skating up to 2025/26 (technical panel handbook)."""


@dataclass(frozen=True)
class Pass:
    """One jump element of a sheet: as planned by assumption, as skated, in points as printed."""

    planned: JumpElement
    skated: JumpElement
    late: bool
    fall: bool
    printed: float


def passes_of(sheet: Row, book: Edition) -> tuple[Pass, ...] | None:
    """The passes of a sheet with an assumed plan that counts in full; None when there is none."""
    flags = late_flags(sheet["elements"])
    rows = [(row, late) for row, late in zip(sheet["elements"], flags, strict=True)]
    jumps = [(row, late) for row, late in rows if is_jump_element(row["code"])]
    women = sheet["discipline"] == "women"
    for tails, pops in ((True, True), (False, True), (True, False), (False, False)):
        plan = plan_of([row for row, _ in jumps], women, tails=tails, pops=pops)
        verdicts, _ = judge_all(book, plan)
        if len(plan) == book.boxes and not any(one.rulings for one in verdicts):
            return tuple(
                Pass(
                    planned,
                    parse_jump_element(without_rulings(row["code"])),
                    late,
                    fell(row),
                    row["base_value"] + row["goe"],
                )
                for planned, (row, late) in zip(plan, jumps, strict=True)
            )
    return None


def plan_of(rows: Sequence[Row], women: bool, *, tails: bool = True, pops: bool = True) -> list[JumpElement]:
    """The assumed plan of the jump elements of a sheet, whether or not it counts in full."""
    plan = [_undone(parse_jump_element(without_rulings(row["code"])), women, pops) for row in rows]
    if tails:
        for place in _lost(rows):
            if sum(one.is_unit for one in plan) >= UNITS:
                break
            if not plan[place].is_unit and (tail := _unused_tail(plan)) is not None:
                plan[place] = JumpElement((*plan[place].jumps, tail))
    return plan


def _undone(skated: JumpElement, women: bool, pops: bool) -> JumpElement:
    """One element without calls, breaks and pops; a sequence stays one."""
    jumps = [Jump(jump.takeoff, jump.revolutions) for jump in skated.jumps]
    if pops:
        jumps = [_unpopped(jump, place == 0, women) for place, jump in enumerate(jumps)]
    axel_behind = any(
        jump.is_axel and not jumps[place].is_euler for place, jump in enumerate(jumps[1:], start=0)
    )
    if axel_behind:
        jumps[-1] = replace(jumps[-1], mark="+SEQ")
    return JumpElement(tuple(jumps))


def _unpopped(jump: Jump, first: bool, women: bool) -> Jump:
    turns = jump.revolutions or 0
    if jump.is_euler:
        return jump
    if jump.takeoff == "A":
        meant = 2 if women or not first else 3
        return jump if turns >= 2 else replace(jump, revolutions=meant)
    least = 3 if first else 2
    return jump if turns >= least else replace(jump, revolutions=least)


def _lost(rows: Sequence[Row]) -> list[int]:
    """Passes that show a lost tail, the clearest sign first."""
    solo = [place for place, row in enumerate(rows) if _is_solo(row["code"])]
    signs = (
        [place for place in solo if "+REP" in rows[place]["code"]],
        [place for place in solo if "+COMBO" in rows[place]["code"] or "+SEQ" in rows[place]["code"]],
        [place for place in solo if fell(rows[place])],
        [place for place in solo if _popped(rows[place]["code"])],
    )
    return list(dict.fromkeys(place for sign in signs for place in sign))


def _is_solo(code: str) -> bool:
    return len(parse_jump_element(without_rulings(code)).jumps) == 1


def _popped(code: str) -> bool:
    jump = parse_jump_element(without_rulings(code)).jumps[0]
    return (jump.revolutions or 0) < (2 if jump.is_axel else 3)


def _unused_tail(plan: Sequence[JumpElement]) -> Jump | None:
    """2T while fewer than two are planned, else 3T; None when both are used up."""
    for turns in (2, 3):
        if sum(jump.name == f"{turns}T" for one in plan for jump in one.jumps) < 2:
            return Jump("T", turns)
    return None

"""The rule check on the layout page. The demo skater and the changes made here are invented."""

from __future__ import annotations

from dataclasses import replace

from starlette.testclient import TestClient

from app import engine
from app.live.program import KnownElement, Outcome, PlannedPass
from app.web.views.rule_check import rule_check

BOOK = engine.edition("isu/2025-26/senior/women/free")


# Invented: one trained element.
LOOP = KnownElement("3S+2Lo", True, 20, 15, None, (Outcome("3S+2Lo", 1.0),), entry="mohawk")


def rows(*codes: str) -> list[PlannedPass]:
    return [PlannedPass(code, 20 * n, False) for n, code in enumerate(codes, start=1)]


def test_a_mend_is_said_as_a_coach_would() -> None:
    """Doubles count twice: the third 2T is made a 2Lo (1.70) or dropped."""
    plan = rows("3Lz+2T", "3F+2T", "2A", "3Lo", "3F", "3S+2T", "2A")
    (fault,) = rule_check(BOOK, plan, {"3S+2Lo": LOOP}).faults
    assert fault.says == "Pass 6, 3S+2T: 2T counts for nothing"
    says = {mend.says: (mend.points, mend.caution) for mend in fault.mends}
    assert says["Pass 6: make the 2T a 2Lo, 3S+2Lo"] == ("+1.70", "")
    assert "Pass 6: drop the 2T, 3S" in says


def test_a_mend_from_another_entry_or_without_time_is_not_called_trained() -> None:
    plan = rows("3Lz+2T", "3F+2T", "2A", "3Lo", "3F", "3S+2T", "2A")
    plan[5] = replace(plan[5], entry="three-turn")
    (fault,) = rule_check(BOOK, plan, {"3S+2Lo": LOOP}).faults
    loops = [mend.caution for mend in fault.mends if "3S+2Lo" in mend.says]
    assert loops in ([], ["not trained for this pass"])


def test_what_is_not_trained_is_marked() -> None:
    plan = rows("3Lz+2T", "3F+2T", "2A", "3Lo", "3F", "3S+2T+2Lo", "2A")
    (fault,) = rule_check(BOOK, plan, {}).faults
    for mend in fault.mends:
        assert bool(mend.caution) != ("drop" in mend.says or "leave" in mend.says or "instead" in mend.says)


def test_spent_doubles_are_a_trap_without_a_fault() -> None:
    check = rule_check(BOOK, rows("3Lz+2T+2Lo", "3F+2T", "2A", "3Lo+2Lo", "3F", "3S", "2A"), {})
    assert check.faults == ()
    assert check.traps[0].says == "All 2T and 2Lo are planned: no spare tail is left for a lost one."
    check = rule_check(BOOK, rows("3Lz+3T", "3F+2T", "2A", "3Lo", "3S+2T", "3F", "2A"), {})
    assert check.traps[0].says == "Every 2T is planned: a spare tail can only be a 2Lo."
    toe = check.traps[1]
    assert (
        toe.says
        == "If the 3T of pass 1 comes short, 3Lz+2T, the 2T of pass 5 counts for nothing, 1.3 points."
    )
    assert "How sure: " in toe.rule


def test_the_layout_page_shows_faults_with_mends_and_the_traps(demo_laptop: TestClient) -> None:
    clean = demo_laptop.get("/layouts/3").text
    assert "how to mend it" not in clean
    assert "Traps ahead" in clean
    change = {"code": "3Lo+2T", "seconds": "2:02", "goe": "0", "options": ""}
    assert demo_laptop.post("/layouts/3/rows/5", data=change).status_code in (303, 204, 200)
    text = demo_laptop.get("/layouts/3").text
    # Three units count; the fourth, on pass 6, keeps a part of its first jump.
    assert "Pass 6, 3S+2T: 3S counts for 70 % of its value, 2T counts for nothing" in text
    assert "drop the 2T" in text


def test_a_layout_without_passes_has_nothing_to_check() -> None:
    assert rule_check(BOOK, [], {}).traps == ()

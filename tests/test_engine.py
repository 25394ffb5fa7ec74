"""The front door: scores and rulings by the contract, errors that name the field, nothing more exported than promised.

Planner answers have their own tests; here only that the door leads to them.
"""

from __future__ import annotations

import json
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from app import engine
from app.engine import Performed
from app.errors import InputError, NotationError, RecoupError, RulebookError, UnknownEdition

WOMEN = "isu/2025-26/senior/women/free"
SHORT = "isu/2025-26/senior/women/short"
README = Path(__file__).parents[1] / "README.md"

# The project's own contract of `score`, with its figures: 4.72 + 4.20 = 8.92, x 1.1 = 9.812; components 8.00 x 2.67.
REQUEST: dict[str, Any] = {
    "edition": WOMEN,
    "elements": [
        {"code": "3Lz<+3T", "late": True, "judges": [1, 2, 2, 1, 3]},
        {"code": "CCoSp4", "judges": [2, 2, 3, 2, 2]},
    ],
    "components": [{"name": "Composition", "factor": 2.67, "judges": [8.0, 8.25, 8.0, 7.75, 8.0]}],
    "falls": 1,
    "other_deductions": 0,
}
ANSWER: dict[str, Any] = {
    "elements": [
        {"code": "3Lz<+3T", "base_value": 9.81, "credited": True, "goe": 0.78, "score": 10.59, "rulings": []},
        {"code": "CCoSp4", "base_value": 3.5, "credited": False, "goe": 0.7, "score": 4.2, "rulings": []},
    ],
    "element_score": 14.79,
    "component_score": 21.36,
    "deductions": -1.0,
    "total": 35.15,
    "warnings": ["no Axel-type jump", "1 of 7 jump elements"],
}


def score(**changed: Any) -> dict[str, Any]:
    """The contract's request with some fields changed or, with `...`, left out."""
    asked = {**REQUEST, **changed}
    return engine.score({name: value for name, value in asked.items() if value is not ...}).as_json()


def test_the_contract_to_the_letter() -> None:
    assert score() == ANSWER
    assert json.loads(json.dumps(score())) == ANSWER


def test_what_may_be_absent() -> None:
    """Contract: judges, components and falls may be absent or null."""
    for nothing in (..., None):
        answered = score(components=nothing, falls=nothing, other_deductions=nothing)
        assert (answered["component_score"], answered["deductions"], answered["total"]) == (0.0, 0.0, 14.79)
    bare = score(elements=[{"code": "3Lz", "judges": None}], components=..., falls=...)
    assert (bare["total"], bare["elements"][0]["goe"]) == (5.90, 0.0)


def test_rulings_carry_jump_rule_certainty_and_reason() -> None:
    """Contract: {"jump": 2, "ruling": "nothing", "rule": …, "certainty": "read", "why": …}. TPH25: doubles twice."""
    answered = score(elements=[{"code": code} for code in ("2A", "2T", "2T", "3Lz+2T")])
    line = answered["elements"][3]
    assert (line["code"], line["base_value"]) == ("3Lz+2T*", 5.90)
    (ruling,) = line["rulings"]
    assert set(ruling) == {"jump", "ruling", "rule", "certainty", "why"}
    assert (ruling["jump"], ruling["ruling"], ruling["certainty"]) == (2, "nothing", "read")
    assert "Handbook" in ruling["rule"]


def test_deductions_add_up() -> None:
    """Sheets: three falls of a senior cost 4 points; other deductions are given below zero."""
    assert score(falls=3, other_deductions=-1)["deductions"] == -5.0
    assert score(falls=0, other_deductions=-0.5)["deductions"] == -0.5


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        (
            {"edition": "isu/2031-32/senior/women/free"},
            "edition: no rulebook called 'isu/2031-32/senior/women/free'",
        ),
        ({"edition": ...}, "edition: missing"),
        ({"elements": ...}, "elements: missing"),
        ({"colour": "blue"}, "colour: unknown field"),
        (
            {"elements": [{"code": "3Lz"}, {"code": "4X"}]},
            r"elements\[1\]\.code: cannot read '4X' at '4X'; expected a jump",
        ),
        ({"elements": [{"code": "3Lz*"}]}, r"elements\[0\]\.code: '3Lz\*' carries \* or \+REP"),
        ({"elements": [{"code": "3Lz+REP"}]}, r"elements\[0\]\.code: '3Lz\+REP' carries"),
        ({"elements": [{"late": True}]}, r"elements\[0\]\.code: missing"),
        ({"elements": [{"code": "3Lz", "judges": [9]}]}, r"elements\.judges: mark 9; expected -5 to 5"),
        ({"elements": [{"code": "3Lz", "judges": [0.5]}]}, r"elements\[0\]\.judges\[0\]"),
        ({"elements": [{"code": "3F+1Eu<+3S"}]}, r"know 1Eu only as"),
        (
            {"components": [{"name": "Timing", "judges": [8]}]},
            r"components\[0\]\.name: no component 'Timing'",
        ),
        (
            {"components": [{"name": "Composition", "judges": [12]}]},
            r"components\[0\]\.judges: component mark 12",
        ),
        ({"components": [{"name": "Composition", "factor": 0, "judges": [8]}]}, r"components\[0\]\.factor"),
        ({"falls": -1}, "falls: Input should be greater than or equal to 0"),
        ({"other_deductions": 1}, "other_deductions: Input should be less than or equal to 0"),
        ({"other_deductions": -0.005}, "other_deductions: -0.005; expected whole hundredths"),
        ({"other_deductions": "NaN"}, "other_deductions"),
        ({"switches": {"euler": "never"}}, "switches: no switch 'euler'"),
    ],
)
def test_a_bad_request_names_the_field(changed: dict[str, Any], message: str) -> None:
    with pytest.raises(InputError, match=message) as caught:
        score(**changed)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    "changed",
    [
        {"other_deductions": Decimal("-1e400")},
        {"other_deductions": Decimal("-1e30")},
        {"components": [{"name": "Composition", "factor": Decimal("1e999999"), "judges": [8]}]},
        {"components": [{"name": "Composition", "factor": Decimal("1e-999999"), "judges": [8]}]},
        {"elements": [{"code": "+".join(["3T"] * 20_000)}]},
    ],
)
def test_numbers_beyond_reason_are_refused(changed: dict[str, Any]) -> None:
    with pytest.raises(InputError):
        score(**changed)


def test_review_reports_every_ruling_at_once() -> None:
    """A third 2T and a fourth unit in one program: both said, nothing stops at the first."""
    book = engine.edition(WOMEN)
    done = [Performed(code) for code in ("2A+2T", "3Lz+2T", "CCoSp4", "3F+2T", "3S+2Lo")]
    found = engine.review(book, done)
    assert [line.code for line in found.lines] == ["2A+2T", "3Lz+2T", "CCoSp4", "3F+2T*", "3S+2Lo*+REP"]
    assert [line.given for line in found.lines] == [one.code for one in done]
    assert found.base_total == 460 + 720 + 350 + 530 + 301  # 4.30 x 0.7
    assert [len(line.rulings) for line in found.lines] == [0, 0, 0, 1, 2]


def test_review_of_a_short_program_places_the_combination() -> None:
    """TPH25: clean first, fall on the second: the later one is the combination of one jump."""
    done = [Performed("3F"), Performed("3Lz", fall=True), Performed("2A", late=True)]
    found = engine.review(engine.edition(SHORT), done)
    assert [line.code for line in found.lines] == ["3F", "3Lz+COMBO", "2A"]
    assert [line.base_value for line in found.lines] == [530, 590, 363]


@pytest.mark.parametrize(
    ("codes", "warning"),
    [
        (["3Lz", "3F"], "no Axel-type jump"),
        (["2A"], "1 of 7 jump elements"),
        (["2A", "3F+2A"], "3F+2A: an Axel behind another jump makes a sequence, written 3F+2A+SEQ"),
    ],
)
def test_warnings_say_what_no_ruling_says(codes: list[str], warning: str) -> None:
    assert warning in engine.review(engine.edition(WOMEN), [Performed(code) for code in codes]).warnings


def test_an_axel_behind_an_euler_makes_no_sequence() -> None:
    """TPH25: listed jump, Euler, Axel stays a combination."""
    found = engine.review(engine.edition(WOMEN), [Performed("3F+1Eu+2A")])
    assert not [warning for warning in found.warnings if "sequence" in warning]


def test_would_count_asks_the_next_pass() -> None:
    book = engine.edition(WOMEN)
    done = [Performed("2A+2T"), Performed("StSq3"), Performed("3Lz+2T")]
    third, solo, loop = engine.would_count(book, done, ["3F+2T", "3F", "3F+2Lo"])
    assert [one.why for one in third.rulings] == ["no more 2T: executed twice"]
    assert (third.base_value, solo.base_value, loop.base_value) == (530, 530, 700)
    assert solo.rulings == loop.rulings == ()
    with pytest.raises(InputError, match="'StSq3' is not a jump element"):
        engine.would_count(book, done, ["StSq3"])


def test_would_count_in_a_short_program_under_way() -> None:
    """3Lz alone, then 3F alone: with 2A last the sheet reads 3Lz | 3F+COMBO | 2A, all in full (TPH25)."""
    book = engine.edition(SHORT)
    second, quad, repeat = engine.would_count(book, [Performed("3Lz")], ["3F", "4T", "3Lz"])
    assert second.rulings == ()
    assert quad.rulings[0].why == "4T is not allowed in the combination"
    assert repeat.rulings[0].ruling == "nothing"


def test_left_to_use_looks_at_jumps_only() -> None:
    book = engine.edition(WOMEN)
    left = engine.left_to_use(book, [Performed("CCoSp4"), Performed("3Lz+2T"), Performed("2A")])
    assert (left.boxes, left.units, left.doubles["2T"], left.axel_owed) == (5, 2, 1, False)


def test_a_wrong_code_in_a_program_says_where() -> None:
    with pytest.raises(InputError, match=r"elements\[1\]\.code: cannot read '9Z'"):
        engine.review(engine.edition(WOMEN), [Performed("2A"), Performed("9Z")])


def test_parse_and_show() -> None:
    assert str(engine.parse("3Lz<+3T")) == "3Lz<+3T"
    assert engine.show(1059) == "10.59"
    with pytest.raises(NotationError):
        engine.parse("3Q")


def test_the_error_tree_is_as_drawn() -> None:
    assert issubclass(RulebookError, RecoupError)
    assert issubclass(InputError, RecoupError)
    assert issubclass(UnknownEdition, RulebookError)
    assert issubclass(UnknownEdition, InputError)
    assert issubclass(NotationError, InputError)
    inside = InputError("code", "no").inside("elements[2]").inside("done")
    assert (inside.field, str(inside)) == ("done.elements[2].code", "done.elements[2].code: no")
    assert InputError("", "no").inside("passes").field == "passes"
    assert str(InputError("", "no")) == "no"


@pytest.mark.parametrize("name", engine.__all__)
def test_every_promised_name_is_there(name: str) -> None:
    assert getattr(engine, name) is not None


def test_no_other_name_is() -> None:
    with pytest.raises(AttributeError, match="has no attribute 'no_such_name'"):
        engine.no_such_name  # noqa: B018  (asking is the test)


def test_the_readme_knows_every_edition() -> None:
    """Seasons from … to …, levels, disciplines and segments of the table of editions against the engine."""
    text = README.read_text(encoding="utf-8")
    table = "\n".join(line for line in text.splitlines() if line.startswith("|") and "20" in line)
    seasons = {name.split("/")[1] for name in engine.editions()}
    spans = re.findall(r"(20\d\d)-\d\d to (20\d\d)-\d\d", table)
    said = {f"{year}-{year % 100 + 1}" for first, last in spans for year in range(int(first), int(last) + 1)}
    assert said == seasons
    for part in {part for name in engine.editions() for part in name.split("/")[2:] if part != "all"}:
        assert part in table, f"README.md, table of editions: nothing on {part}"


def test_a_short_program_without_a_combination_is_warned_of() -> None:
    """Technical Panel Handbook 2025/26: with no combination one lone jump carries +COMBO."""
    short = engine.edition("isu/2025-26/senior/women/short")
    done = [engine.Performed("3Lz"), engine.Performed("2A"), engine.Performed("3F")]
    assert any("no combination" in one for one in engine.review(short, done).warnings)
    assert not engine.review(short, [*done[:2], engine.Performed("3F+3T")]).warnings
    assert engine.short_outlook(short, [*done[:2], engine.Performed("CCoSp4")]).owed == ("combination",)

"""The engine's front door: the names that README, scripts, the web app and other programs use.

Everything here is pure: no clock, no files but the rulebooks (read once), nothing asynchronous.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from importlib import import_module
from typing import TYPE_CHECKING, Any

from app.domain.elements import Element, JumpElement, OtherElement
from app.domain.notation import parse_element
from app.domain.points import Points, as_float, show
from app.domain.rulings import Ruling
from app.domain.words import say
from app.errors import InputError
from app.legality.judge import judge, judge_all
from app.legality.left import LeftToUse, left_to_use as left_of_tally
from app.legality.short_outlook import ShortOutlook, short_outlook as outlook_of_elements
from app.legality.short_program import ShortElement, judge_short
from app.legality.spins import judge_others
from app.legality.tally import Tally
from app.legality.verdict import Award, Verdict
from app.requests import AdviseRequest, ScoreComponent, ScoreRequest, read_request
from app.rulebook.editions import Edition, edition, edition_names, pinned
from app.scoring.base_value import base_value
from app.scoring.components import component_points
from app.scoring.deductions import falls_deduction
from app.scoring.sheet import Scored, score_elements

__all__ = [
    "Advice",
    "AdviseRequest",
    "Candidate",
    "Card",
    "CardRule",
    "CardSwap",
    "Edition",
    "Failure",
    "Fragility",
    "LeftToUse",
    "Line",
    "OptionValue",
    "Performed",
    "Planner",
    "Review",
    "ScoreAnswer",
    "ScoreRequest",
    "ShortOutlook",
    "Spare",
    "Spread",
    "Sturdy",
    "SturdyLayout",
    "SwapChances",
    "SwapValue",
    "Wishes",
    "advise",
    "edition",
    "editions",
    "find_card",
    "fragility",
    "left_to_use",
    "parse",
    "pinned",
    "review",
    "score",
    "short_outlook",
    "show",
    "spares",
    "sturdier",
    "warm",
    "would_count",
]

parse = parse_element
editions = edition_names

if TYPE_CHECKING:
    from app.planner.advice import Advice, OptionValue, SwapValue
    from app.planner.aims import SwapChances
    from app.planner.card import Card, CardRule, CardSwap, find_card
    from app.planner.fragile import Failure, Fragility, Spare
    from app.planner.fragility import fragility
    from app.planner.robust import Sturdy, SturdyLayout, Wishes, sturdier
    from app.planner.spares import spares
    from app.planner.spread import Spread
    from app.planner.warm import warm
    from app.stopwatch import Planner, advise

_PLANNER = {
    "Advice": "planner.advice",
    "Card": "planner.card",
    "CardRule": "planner.card",
    "Failure": "planner.fragile",
    "Fragility": "planner.fragile",
    "CardSwap": "planner.card",
    "OptionValue": "planner.advice",
    "Planner": "stopwatch",
    "Spread": "planner.spread",
    "Sturdy": "planner.robust",
    "SturdyLayout": "planner.robust",
    "SwapChances": "planner.aims",
    "SwapValue": "planner.advice",
    "Wishes": "planner.robust",
    "advise": "stopwatch",
    "fragility": "planner.fragility",
    "Spare": "planner.fragile",
    "spares": "planner.spares",
    "sturdier": "planner.robust",
    "find_card": "planner.card",
    "warm": "planner.warm",
}
"""Names that bring the compiled loops with them: loaded on first use, so that a page is served at once."""


def __getattr__(name: str) -> Any:
    if name not in _PLANNER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"app.{_PLANNER[name]}"), name)


@dataclass(frozen=True, slots=True)
class Performed:
    """One element as skated: its code without `*` and `+REP`; late = started in the second half."""

    code: str
    late: bool = False
    fall: bool = False
    error: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """One element as the rulebook has it. `base_value` in hundredths, with the late factor."""

    code: str
    given: str
    base_value: Points
    credited: bool
    rulings: tuple[Ruling, ...]
    awards: tuple[Award, ...] = ()
    """Bonuses, at levels that have them."""

    @property
    def bonus(self) -> Points:
        """Hundredths of bonus that this element earned."""
        return sum(one.points for one in self.awards)


@dataclass(frozen=True, slots=True)
class Review:
    """Every ruling of a program at once."""

    lines: tuple[Line, ...]
    warnings: tuple[str, ...]

    @property
    def base_total(self) -> Points:
        return sum(line.base_value for line in self.lines)

    @property
    def bonus_total(self) -> Points:
        return sum(line.bonus for line in self.lines)

    @property
    def points(self) -> Points:
        """Hundredths of base value and bonus."""
        return self.base_total + self.bonus_total


@dataclass(frozen=True, slots=True)
class Candidate:
    """A possible next element, its rulings (none: counts in full) and its base value without late factor."""

    code: str
    rulings: tuple[Ruling, ...]
    base_value: Points


@dataclass(frozen=True, slots=True)
class ScoreAnswer:
    """A scored sheet; `as_json()` is the contract's answer."""

    lines: tuple[Line, ...]
    goes: tuple[Points, ...]
    component_score: Points
    deductions: Points
    warnings: tuple[str, ...]
    has_bonus: bool = False
    """The edition has a bonus table: the answer then says `bonus`, of each element and in all."""

    @property
    def element_score(self) -> Points:
        return sum(line.base_value for line in self.lines) + sum(self.goes)

    @property
    def total(self) -> Points:
        return self.element_score + self.component_score + self.bonus + self.deductions

    @property
    def bonus(self) -> Points:
        return sum(line.bonus for line in self.lines)

    def as_json(self) -> dict[str, Any]:
        """The answer of `score` as JSON data, in points."""
        said: dict[str, Any] = {
            "elements": [
                {
                    "code": line.code,
                    "base_value": as_float(line.base_value),
                    "credited": line.credited,
                    "goe": as_float(goe),
                    "score": as_float(line.base_value + goe),
                    "rulings": [asdict(ruling) for ruling in line.rulings],
                }
                | ({"bonus": as_float(line.bonus)} if self.has_bonus else {})
                for line, goe in zip(self.lines, self.goes, strict=True)
            ],
            "element_score": as_float(self.element_score),
            "component_score": as_float(self.component_score),
            "deductions": as_float(self.deductions),
            "total": as_float(self.total),
            "warnings": list(self.warnings),
        }
        return said | {"bonus": as_float(self.bonus)} if self.has_bonus else said


def review(book: Edition, elements: Sequence[Performed]) -> Review:
    """All rulings of a program, jumps, spins and steps in skating order. Raises NotationError."""
    verdicts, scored, warnings = _ruled(book, elements, [()] * len(elements))
    return Review(_lines(elements, verdicts, scored), warnings)


def score(request: ScoreRequest | dict[str, Any]) -> ScoreAnswer:
    """Score a sheet to the cent (contract `score`). Raises InputError naming the field."""
    sheet = read_request(ScoreRequest, request)
    book = edition(sheet.edition, sheet.switches)
    elements = [
        Performed(_plain(place, one.code), one.late, one.fall, one.error)
        for place, one in enumerate(sheet.elements)
    ]
    marks = [one.judges or () for one in sheet.elements]
    verdicts, scored, warnings = _ruled(book, elements, marks)
    components = sum(_component(book, place, one) for place, one in enumerate(sheet.components or ()))
    other = sheet.other_deductions or Decimal(0)
    if other * 100 != int(other * 100):
        raise InputError("other_deductions", say("%(other)s; expected whole hundredths", other=other))
    deductions = falls_deduction(book, sheet.falls or 0) + int(other * 100)
    return ScoreAnswer(
        _lines(elements, verdicts, scored),
        tuple(one.goe for one in scored),
        components,
        deductions,
        warnings,
        book.bonuses is not None,
    )


def _plain(place: int, code: str) -> str:
    try:
        element = parse_element(code)
    except InputError as error:
        raise error.inside(f"elements[{place}]") from None
    if element != element.without_rulings():
        raise InputError(
            f"elements[{place}].code",
            say("%(code)s carries * or +REP; leave them out, the engine finds them", code=repr(code)),
        )
    return code


def _component(book: Edition, place: int, one: ScoreComponent) -> Points:
    marks = [mark for mark in one.judges if mark is not None]
    try:
        return component_points(book, one.name, one.factor, marks)
    except InputError as error:
        raise error.inside(f"components[{place}]") from None


def left_to_use(book: Edition, done: Sequence[Performed]) -> LeftToUse:
    """What the rulebook still leaves after the jump elements done (a free skating)."""
    before = [one for one in done if isinstance(parse_element(one.code), JumpElement)]
    jumps = [one for one in _parsed(before) if isinstance(one, JumpElement)]
    _, tally = judge_all(book, jumps, [one.fall for one in before])
    return left_of_tally(book, tally)


def short_outlook(book: Edition, done: Sequence[Performed]) -> ShortOutlook:
    """What a short program still owes after the elements done, and what would be worth nothing now."""
    before = [one for one in done if isinstance(parse_element(one.code), JumpElement)]
    jumps = [one for one in _parsed(before) if isinstance(one, JumpElement)]
    elements = [ShortElement(e, one.error or one.fall) for e, one in zip(jumps, before, strict=True)]
    return outlook_of_elements(book, elements)


def would_count(book: Edition, done: Sequence[Performed], codes: Sequence[str]) -> tuple[Candidate, ...]:
    """What the rulebook would make of each code as the next element after those done."""
    before = [one for one in done if isinstance(parse_element(one.code), JumpElement)]
    if book.is_short:
        return tuple(_short_candidate(book, before, code) for code in codes)
    _, tally = judge_all(book, [e for e in _parsed(before) if isinstance(e, JumpElement)])
    return tuple(_candidate(book, tally, code) for code in codes)


def _candidate(book: Edition, tally: Tally, code: str) -> Candidate:
    element = parse_element(code)
    if not isinstance(element, JumpElement):
        raise InputError("codes", say("%(code)s is not a jump element", code=repr(code)))
    found = judge(book, tally, element).verdict
    return Candidate(code, found.rulings, base_value(book, found.element))


def _short_candidate(book: Edition, before: Sequence[Performed], code: str) -> Candidate:
    elements = [*before, Performed(code)]
    found = _jump_verdicts(book, elements, [e for e in _parsed(elements) if isinstance(e, JumpElement)])[-1]
    return Candidate(code, found.rulings, base_value(book, found.element))


def _parsed(elements: Sequence[Performed]) -> list[Element]:
    parsed = []
    for place, one in enumerate(elements):
        try:
            parsed.append(parse_element(one.code))
        except InputError as error:
            raise error.inside(f"elements[{place}]") from None
    return parsed


def _jump_verdicts(
    book: Edition, performed: Sequence[Performed], jumps: Sequence[JumpElement]
) -> tuple[Verdict, ...]:
    falls = [one.fall for one in performed]
    if not book.is_short:
        return judge_all(book, jumps, falls)[0]
    flags = [one.error or one.fall for one in performed]
    return judge_short(book, [ShortElement(e, flag) for e, flag in zip(jumps, flags, strict=True)], falls)


def _ruled(
    book: Edition, elements: Sequence[Performed], marks: Sequence[Sequence[int | None]]
) -> tuple[list[Verdict], tuple[Scored, ...], tuple[str, ...]]:
    parsed = _parsed(elements)
    jump_places = [n for n, e in enumerate(parsed) if isinstance(e, JumpElement)]
    jumps = [e for e in parsed if isinstance(e, JumpElement)]
    others = [e for e in parsed if isinstance(e, OtherElement)]
    verdicts: list[Verdict] = [Verdict(element) for element in parsed]
    for place, found in zip(
        jump_places, _jump_verdicts(book, [elements[n] for n in jump_places], jumps), strict=True
    ):
        verdicts[place] = found
    other_places = [n for n in range(len(parsed)) if n not in set(jump_places)]
    for place, found in zip(other_places, judge_others(book, others), strict=True):
        verdicts[place] = found
    ruled = [one.element for one in verdicts]
    scored = _scored(book, ruled, [one.late for one in elements], marks)
    return verdicts, scored, _warnings(book, jumps)


def _scored(
    book: Edition, ruled: Sequence[Element], late: Sequence[bool], marks: Sequence[Sequence[int | None]]
) -> tuple[Scored, ...]:
    try:
        return score_elements(book, ruled, late, marks)
    except InputError as error:
        raise error.inside("elements") from None


def _lines(
    elements: Sequence[Performed], verdicts: Sequence[Verdict], scored: Sequence[Scored]
) -> tuple[Line, ...]:
    return tuple(
        Line(str(found.element), one.code, line.base_value, line.credited, found.rulings, found.awards)
        for one, found, line in zip(elements, verdicts, scored, strict=True)
    )


def _warnings(book: Edition, jumps: Sequence[JumpElement]) -> tuple[str, ...]:
    """What no ruling says: things missing, and codes that look unfinished."""
    words = []
    if book.rules.axel.required and not any(j.is_axel for e in jumps[: book.boxes] for j in e.jumps):
        words.append(say("no Axel-type jump"))
    if len(jumps) < book.boxes:
        words.append(say("%(count)s of %(boxes)s jump elements", count=len(jumps), boxes=book.boxes))
    if book.is_short and len(jumps) >= book.boxes and not any(e.is_unit for e in jumps[: book.boxes]):
        words.append(say("no combination: one lone jump stands for it (+COMBO), with the lowest grade"))
    for element in jumps:
        if element.has_step_to_axel and not element.is_sequence and not element.is_marked_combo:
            words.append(
                say(
                    "%(element)s: an Axel behind another jump makes a sequence, written %(element_2)s+SEQ",
                    element=element,
                    element_2=element,
                )
            )
    return tuple(words)

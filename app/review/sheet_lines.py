"""One line of an official sheet, read or refused: the grammar of the published columns.

    summary     [rank] [name] [nation] starting-number  total [=] elements [+] components [-] deductions
    element     number code {info} base [x] goe {judge} [reference] panel-score
    base line   base-total element-score
    component   name factor {judge} score
    components  … Total Program Component Score … points
    deductions  Deductions: {kind: points [(count)]} [sum]

Whole numbers and figures with two decimals are what tells the columns apart. A judge without a mark is a dash. What
fits no form is returned as `Unread` with the reason, or as `Other` when it holds no figure that could be a mark.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from app.domain.notation import parse_element
from app.domain.points import Points, read_points
from app.domain.words import say
from app.errors import InputError
from app.review.official import Deduction, SheetComponent, SheetRow

LONGEST_LINE = 600
_FIGURE = r"-?\d{1,4}\.\d\d"
_IS_FIGURE = re.compile(_FIGURE)
_SUMMARY = re.compile(
    rf"(?:(?P<rank>\d{{1,3}})\s+)?(?P<who>\D[^=]*?)?\s*(?<!\S)(?P<start>\d{{1,3}})\s+(?P<total>{_FIGURE})\s*=?\s*"
    rf"(?P<elements>{_FIGURE})\s*\+?\s*(?P<components>{_FIGURE})\s+(?:[-+]\s+)?(?P<deductions>{_FIGURE})"
)
_ELEMENT = re.compile(r"\d{1,2}\s+\S*[A-Z]\S*\s.*\d")
_INFO = re.compile(r"[F<!qe*|,>]+")
_COMPONENT = re.compile(r"(?P<name>[A-Z][A-Za-z /&()-]*?)\s+(?P<factor>\d{1,2}\.\d\d)\s+(?P<rest>[-\d. ]+)")
_COMPONENT_SUM = re.compile(rf".*Total Program Component Score.*?\s(?P<points>{_FIGURE})", re.IGNORECASE)
_DEDUCTIONS = re.compile(r"(?:Total\s+)?Deductions\b:?\s*(?P<rest>.*)", re.IGNORECASE)
_KIND = re.compile(
    rf"(?P<kind>[A-Za-z][A-Za-z /-]*?)\s*:?\s*(?P<points>{_FIGURE})(?:\s*\((?P<count>\d{{1,2}})\))?"
)
_DASHES = str.maketrans({"−": "-", "–": "-", "—": "-", "\u00a0": " ", "\u2011": "-"})


@dataclass(frozen=True, slots=True)
class Summary:
    """The line that opens a skater's sheet. `who`: everything printed before the starting number, for choosing only."""

    who: str
    rank: int | None
    start: int
    total: Points
    elements: Points
    components: Points
    deductions: Points


@dataclass(frozen=True, slots=True)
class BaseLine:
    """The sums below the elements."""

    base: Points
    elements: Points


@dataclass(frozen=True, slots=True)
class ComponentSum:
    """The component score below the components."""

    points: Points


@dataclass(frozen=True, slots=True)
class Deductions:
    """The deductions, kind by kind, and their sum where it is printed."""

    detail: tuple[Deduction, ...]
    total: Points | None


@dataclass(frozen=True, slots=True)
class Other:
    """A line without figures: a title, a column head, a legend."""


@dataclass(frozen=True, slots=True)
class Unread:
    """A line that could not be read, and why."""

    why: str


Line = Summary | SheetRow | BaseLine | SheetComponent | ComponentSum | Deductions | Other | Unread


def plain(text: str) -> str:
    """A line with ordinary dashes and single spaces."""
    return " ".join(text.translate(_DASHES).split())


def read_line(text: str) -> Line:
    """What a line says. Never raises: what cannot be read comes back as `Unread`."""
    line = plain(text)
    if len(line) > LONGEST_LINE:
        return Unread(
            say(
                "%(count)s signs in one line; expected at most %(longest_line)s",
                count=len(line),
                longest_line=LONGEST_LINE,
            )
        )
    try:
        return _read(line)
    except InputError as error:
        return Unread(error.problem)


def _read(line: str) -> Line:
    # A skater's summary ends in four figures behind a whole number; no other line does.
    if (found := _SUMMARY.fullmatch(line)) and not re.search(_FIGURE, found["who"] or ""):
        return _summary(found)
    # Number and element code.
    if _ELEMENT.fullmatch(line):
        return _element(line.split())
    words = line.split()
    # Two figures and nothing else.
    if len(words) == 2 and all(_IS_FIGURE.fullmatch(word) for word in words):
        return BaseLine(read_points(words[0]), read_points(words[1]))
    if found := _COMPONENT_SUM.fullmatch(line):
        return ComponentSum(read_points(found["points"]))
    if found := _DEDUCTIONS.fullmatch(line):
        return _deductions(found["rest"])
    if found := _COMPONENT.fullmatch(line):
        return _component(found)
    if any(_IS_FIGURE.fullmatch(word) for word in words):
        return Unread(say("figures in no order that a sheet has"))
    return Other()


def _summary(found: re.Match[str]) -> Summary:
    deductions = read_points(found["deductions"])
    return Summary(
        who=(found["who"] or "").strip(),
        rank=int(found["rank"]) if found["rank"] else None,
        start=int(found["start"]),
        total=read_points(found["total"]),
        elements=read_points(found["elements"]),
        components=read_points(found["components"]),
        deductions=-abs(deductions),  # some sheets print the minus in the column's head
    )


def _element(words: list[str]) -> SheetRow | Unread:
    number, code, *rest = words
    parse_element(code)  # raises what is shown as the reason
    info = []
    while rest and _INFO.fullmatch(rest[0]):
        info.append(rest.pop(0))
    base, late, rest = _base_and_x(rest)
    if base is None or len(rest) < 2:
        return Unread(say("no base value, GOE and panel score behind the element"))
    goe, *marks, score = rest
    if marks and _IS_FIGURE.fullmatch(marks[-1]):
        marks.pop()  # the reference column
    judges = [_grade(mark) for mark in marks]
    if not (_IS_FIGURE.fullmatch(goe) and _IS_FIGURE.fullmatch(score)):
        return Unread(
            say(
                "GOE %(goe)s and panel score %(score)s; expected figures with two decimals",
                goe=repr(goe),
                score=repr(score),
            )
        )
    if "off" in judges:
        wrong = marks[judges.index("off")]
        return Unread(say("a judge's mark %(wrong)s; expected -5 to 5 or a dash", wrong=repr(wrong)))
    kept = tuple(mark for mark in judges if not isinstance(mark, str))
    return SheetRow(
        int(number), code, " ".join(info), read_points(base), late, read_points(goe), kept, read_points(score)
    )


def _base_and_x(rest: list[str]) -> tuple[str | None, bool, list[str]]:
    """The base value, whether an x stands behind it (also without a space), and what follows."""
    if not rest:
        return None, False, rest
    base, *rest = rest
    late = base.endswith(("x", "X"))
    base = base.rstrip("xX")
    if rest and rest[0] in ("x", "X"):
        late, rest = True, rest[1:]
    return (base if _IS_FIGURE.fullmatch(base) else None), late, rest


def _grade(text: str) -> int | str | None:
    if text == "-":
        return None
    if re.fullmatch(r"[-+]?[0-5]", text):
        return int(text)
    return "off"


def _component(found: re.Match[str]) -> SheetComponent | Unread:
    *marks, score = found["rest"].split()
    if not _IS_FIGURE.fullmatch(score) or not all(m == "-" or _IS_FIGURE.fullmatch(m) for m in marks):
        return Unread(say("component marks and score; expected figures with two decimals or a dash"))
    judges = tuple(None if m == "-" else read_points(m) for m in marks)
    if any(m is not None and not 0 <= m <= 1000 for m in judges):
        return Unread(say("a component mark off the scale; expected 0 to 10.00"))
    return SheetComponent(found["name"], read_points(found["factor"]), judges, read_points(score))


def _deductions(rest: str) -> Deductions | Unread:
    detail = []
    while found := _KIND.match(rest):
        count = int(found["count"]) if found["count"] else None
        detail.append(Deduction(found["kind"], -abs(read_points(found["points"])), count))
        rest = rest[found.end() :].lstrip(" ,;")
    if rest and not _IS_FIGURE.fullmatch(rest):
        return Unread(say("deductions: %(rest)s; expected a kind with its points", rest=repr(rest)))
    return Deductions(tuple(detail), -abs(read_points(rest)) if rest else None)

"""A season's misses, calls and grades: small multiples over the programs, and tables by element, pass and half."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from app.live.program import Setting
from app.review.season.marks import CALLS, MISSES, Marks, marks_by, marks_of
from app.review.season.passes import SeenPass, Skated
from app.web.season_picture import Panel, draw_panels
from app.web.season_source import Facts
from app.web.views.season_counts import Row

CALL_WORDS = {
    "q": "Quarter q",
    "<": "Under-rotated <",
    "<<": "Downgraded <<",
    "e": "Wrong edge e",
    "!": "Unclear edge !",
    "*": "No value *",
    "+REP": "Repeat +REP",
}


@dataclass(frozen=True, slots=True)
class MarksTable:
    """One table: what its rows are, and of each: passes, misses, passes judged, calls, signs of the grades."""

    name: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class MarksView:
    """Pictures and tables. `calls` is empty without any official sheet."""

    misses: Markup
    calls: Markup
    judged: int
    tables: tuple[MarksTable, ...]


def marks_view(facts: Facts) -> MarksView | None:
    """None without any program or sheet."""
    every = [*facts.programs, *facts.alone]
    if not every:
        return None
    judged = sorted((one for one in every if one.judged), key=lambda one: one.at)
    passes = [one for skated in every for one in skated.passes]
    return MarksView(
        misses=_misses(facts.programs),
        calls=_calls(judged) if judged else Markup(),
        judged=len(judged),
        tables=(
            _table("First jump", marks_by(passes, lambda one: one.lead or None)),
            _table("Pass", dict(sorted(marks_by(passes, lambda one: one.number).items()))),
            _table("Half", dict(sorted(marks_by(passes, _half).items()))),
            _table("Program", {_name(one, facts): marks_of(one.passes) for one in every}),
        ),
    )


def _half(one: SeenPass) -> str:
    return "Second half" if one.late else "First half"


def _name(one: Skated, facts: Facts) -> str:
    name = facts.names.get(one.id, "Official sheet alone")
    return f"{one.at.day} {one.at:%b}, {name}"


def _misses(programs: Sequence[Skated]) -> Markup:
    counted = [marks_of(one.passes) for one in programs]
    panels = [
        _panel(miss.capitalize(), [one.misses.get(miss, 0) for one in counted])
        for miss in MISSES
        if any(miss in one.misses for one in counted)
    ]
    if not panels:
        return Markup()
    return draw_panels("misses", "Misses over the programs", panels, _competitions(programs))


def _calls(judged: Sequence[Skated]) -> Markup:
    counted = [marks_of(one.passes) for one in judged]
    panels = [
        _panel(CALL_WORDS[call], [one.calls.get(call, 0) for one in counted])
        for call in CALLS
        if any(call in one.calls for one in counted)
    ]
    plus, minus = (
        tuple(float(n) for n in side) for side in ([o.plus for o in counted], [o.minus for o in counted])
    )
    total = f"{sum(plus):.0f} plus ↑, {sum(minus):.0f} minus ↓"
    panels.append(Panel("Grades", total, plus, minus))
    return draw_panels("calls", "Calls and grades over the programs", panels, _competitions(judged))


def _panel(words: str, values: Sequence[int]) -> Panel:
    return Panel(words, str(sum(values)), tuple(float(one) for one in values))


def _competitions(programs: Iterable[Skated]) -> list[bool]:
    return [one.setting is Setting.COMPETITION for one in programs]


def _table(name: str, marks: Mapping[object, Marks]) -> MarksTable:
    return MarksTable(name, tuple(Row(str(key), _cells(one)) for key, one in marks.items()))


def _cells(one: Marks) -> tuple[str, ...]:
    kept = f"{one.kept} of {one.passes}"
    missed = ", ".join(f"{name} {count}" for name, count in one.misses.items())
    if not one.judged:
        return kept, missed or "–"
    calls = ", ".join(f"{name} {count}" for name, count in one.calls.items()) or "no call"
    signs = f"{calls}; grades {one.plus} plus, {one.zero} zero, {one.minus} minus"
    return kept, f"{missed}. On sheets: {signs}" if missed else f"On sheets: {signs}"

"""A season's misses, calls and grades: small multiples over the programs, and tables by element, pass and half."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from app.domain.words import Text, listed, say, sentences
from app.live.program import Setting
from app.review.season.marks import CALLS, MISSES, Marks, marks_by, marks_of
from app.review.season.passes import Skated
from app.web.languages import Day
from app.web.season_picture import Panel, draw_panels
from app.web.season_source import Facts
from app.web.views.season_counts import Row

CALL_WORDS: dict[str, Text] = {
    "q": say("Quarter q"),
    "<": say("Under-rotated <"),
    "<<": say("Downgraded <<"),
    "e": say("Wrong edge e"),
    "!": say("Unclear edge !"),
    "*": say("No value *"),
    "+REP": say("Repeat +REP"),
}
HALVES = {False: say("First half"), True: say("Second half")}
MISS_WORDS: dict[str, Text] = {
    "fell": say("Fell"),
    "popped": say("Popped"),
    "tail lost": say("Tail lost"),
    "tail shortened": say("Tail shortened"),
    "not attempted": say("Not attempted"),
}


@dataclass(frozen=True, slots=True)
class MarksTable:
    """One table: what its rows are, and of each: passes as tried, misses, on sheets calls and signs of the grades."""

    title: str
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
            _table(say("By first jump"), say("First jump"), marks_by(passes, lambda one: one.lead or None)),
            _table(
                say("By pass"), say("Pass"), dict(sorted(marks_by(passes, lambda one: one.number).items()))
            ),
            _table(
                say("By half"),
                say("Half"),
                {
                    HALVES[late]: found
                    for late, found in sorted(marks_by(passes, lambda one: one.late).items())
                },
            ),
            _table(
                say("By program"), say("Program"), {_name(one, facts): marks_of(one.passes) for one in every}
            ),
        ),
    )


def _name(one: Skated, facts: Facts) -> str:
    name = facts.names.get(one.id, say("Official sheet alone"))
    return say("%(day)s, %(program)s", day=Day(one.at.date()), program=name)


def _misses(programs: Sequence[Skated]) -> Markup:
    counted = [marks_of(one.passes) for one in programs]
    panels = [
        _panel(MISS_WORDS[miss], [one.misses.get(miss, 0) for one in counted])
        for miss in MISSES
        if any(miss in one.misses for one in counted)
    ]
    if not panels:
        return Markup()
    return draw_panels("misses", say("Misses over the programs"), panels, _competitions(programs))


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
    total = say("%(plus)s plus ↑, %(minus)s minus ↓", plus=round(sum(plus)), minus=round(sum(minus)))
    panels.append(Panel(say("Grades"), total, plus, minus))
    return draw_panels("calls", say("Calls and grades over the programs"), panels, _competitions(judged))


def _panel(words: str, values: Sequence[int]) -> Panel:
    return Panel(words, str(sum(values)), tuple(float(one) for one in values))


def _competitions(programs: Iterable[Skated]) -> list[bool]:
    return [one.setting is Setting.COMPETITION for one in programs]


def _table(title: str, name: str, marks: Mapping[Any, Marks]) -> MarksTable:
    rows = [Row(key if isinstance(key, str) else str(key), _cells(one)) for key, one in marks.items()]
    return MarksTable(title, name, tuple(rows))


def _cells(one: Marks) -> tuple[str, ...]:
    kept = say("%(count)s of %(of)s", count=one.kept, of=one.passes)
    missed = listed(_counted(MISS_WORDS[name], count) for name, count in one.misses.items())
    if not one.judged:
        return kept, missed or "–"
    calls = listed(_counted(name, count) for name, count in one.calls.items()) or say("no call")
    signs = say(
        "On sheets: %(calls)s; grades %(plus)s plus, %(zero)s zero, %(minus)s minus.",
        calls=calls,
        plus=one.plus,
        zero=one.zero,
        minus=one.minus,
    )
    return kept, sentences(say("%(misses)s.", misses=missed), signs) if missed else signs


def _counted(name: str, count: int) -> Text:
    return say("%(what)s: %(total)s", what=name, total=count)

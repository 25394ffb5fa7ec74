"""Jumps as two pictures: a calendar with a number a day, and bars a week parted by turns. Made for a phone.

The calendar has a row a week and a column a day; a ring is a day on which no jump was logged, the bar under a number is
as long as the number is large beside the others. In the bars of a week each number of turns has a pattern of its own.
There is no line at any height: no number of jumps is known to be right.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from html import escape

from babel.core import Locale
from babel.dates import format_date
from markupsafe import Markup

from app.domain.words import listed, say, sentences
from app.practice.load import MOST_TURNS, DayLoad, WeekLoad
from app.web.languages import language, shown_text
from app.web.views.home import day_words

WIDTH = 328
LEFT, CELL, HEAD, ROW = 70, 29, 26, 42
TOTAL = WIDTH - 2
DAYS = (say("Mo"), say("Tu"), say("We"), say("Th"), say("Fr"), say("Sa"), say("Su"))
NOTHING = say("No jump is logged in these weeks.")
LEGEND, BAR_ROW, BAR, BAR_END = 56, 34, 20, 268
TURN_WORDS: Mapping[int, str] = {
    1: say("single"),
    2: say("double"),
    3: say("triple"),
    MOST_TURNS: say("quad"),
}


def draw_calendar(weeks: Sequence[WeekLoad], today: date, first: date | None) -> Markup:
    """The calendar as an `<svg>` with title and description. `first`: the first day anything was logged."""
    most = max((day.total for week in weeks for day in week.days), default=0)
    high = HEAD + ROW * len(weeks) + 4
    parts = [_opening("calendar", say("Jumps by day"), _calendar_words(weeks), high)]
    for place, name in enumerate(DAYS):
        parts.append(f'<text class="number when" x="{_column(place)}" y="18">{written(name)}</text>')
    parts.append(f'<text class="end when" x="{TOTAL}" y="18">{written(say("week"))}</text>')
    for row, week in enumerate(weeks):
        top = HEAD + ROW * row
        parts.append(f'<path class="thread" d="M0 {top}H{WIDTH}"/>')
        parts.append(f'<text class="when" x="0" y="{top + 26}">{_short(week.start)}</text>')
        parts += [_day(day, place, top, most, today, first) for place, day in enumerate(week.days)]
        parts.append(f'<text class="end number-end" x="{TOTAL}" y="{top + 26}">{week.total}</text>')
    return Markup("".join((*parts, "</svg>")))


def draw_weeks(weeks: Sequence[WeekLoad]) -> Markup:
    """A bar a week, parted by turns, as an `<svg>` with title and description."""
    most = max((week.total for week in weeks), default=0)
    high = LEGEND + BAR_ROW * len(weeks) + 4
    parts = [_opening("weeks", say("Jumps by week and turns"), _weeks_words(weeks), high), _patterns()]
    for place, (turns, word) in enumerate(TURN_WORDS.items()):
        x, y = 4 + 164 * (place % 2), 2 + 26 * (place // 2)
        parts.append(f'<rect class="turns t{turns}" x="{x}" y="{y}" width="26" height="18"/>')
        parts.append(f'<text x="{x + 34}" y="{y + 15}">{written(word)}</text>')
    for row, week in enumerate(weeks):
        top = LEGEND + BAR_ROW * row
        parts.append(f'<text class="when" x="0" y="{top + 21}">{_short(week.start)}</text>')
        parts += _bar(week, top, most)
        parts.append(f'<text class="end number-end" x="{TOTAL}" y="{top + 21}">{week.total}</text>')
    return Markup("".join((*parts, "</svg>")))


def _day(day: DayLoad, place: int, top: int, most: int, today: date, first: date | None) -> str:
    x = _column(place)
    if day.total:
        wide = max(CELL * 0.8 * day.total / most, 2)
        return (
            f'<text class="number" x="{x}" y="{top + 26}">{day.total}</text>'
            f'<rect class="length" x="{x - wide / 2:.1f}" y="{top + 32}" width="{wide:.1f}" height="5"/>'
        )
    if first is None or not first <= day.day <= today:
        return ""
    return f'<circle class="free" cx="{x}" cy="{top + 21}" r="5"/>'


def _bar(week: WeekLoad, top: int, most: int) -> list[str]:
    parts, x = [], float(LEFT)
    for turns in TURN_WORDS:
        count = week.by_turns.get(turns, 0)
        if count:
            wide = (BAR_END - LEFT) * count / most
            parts.append(
                f'<rect class="turns t{turns}" x="{x:.1f}" y="{top + 6}" width="{wide:.1f}" height="{BAR}"/>'
            )
            x += wide
    return parts


def _patterns() -> str:
    """A filling for each number of turns: none, stripes, solid (by its class), a grid."""
    return (
        '<defs><pattern id="two-turns" width="7" height="7" patternUnits="userSpaceOnUse">'
        '<path class="hatch" d="M-1 8L8 -1M-1 1L1 -1M6 8L8 6"/></pattern>'
        '<pattern id="four-turns" width="6" height="6" patternUnits="userSpaceOnUse">'
        '<path class="hatch" d="M0 3H6M3 0V6"/></pattern></defs>'
    )


def _opening(key: str, title: str, words: str, high: int) -> str:
    return (
        f'<svg class="drawing load" viewBox="0 0 {WIDTH} {high}" role="img" '
        f'aria-labelledby="{key}-t {key}-d" focusable="false">'
        f'<title id="{key}-t">{written(title)}</title><desc id="{key}-d">{written(words)}</desc>'
    )


def _column(place: int) -> float:
    return LEFT + CELL * place + CELL / 2


def _short(day: date) -> str:
    """A Monday in few signs, as the reader writes it: `2 Nov`."""
    return escape(format_date(day, "d MMM", Locale.parse(language().page)))


def written(words: str) -> str:
    """A text as it is written into a drawing, in the reader's language."""
    return escape(shown_text(words))


def _calendar_words(weeks: Sequence[WeekLoad]) -> str:
    said = [
        say("%(day)s: %(count)s", day=day_words(day.day), count=day.total)
        for week in weeks
        for day in week.days
        if day.total
    ]
    return say("Jumps logged: %(days)s.", days=listed(said)) if said else NOTHING


def _weeks_words(weeks: Sequence[WeekLoad]) -> str:
    said = [
        say("Week of %(day)s: %(turns)s.", day=day_words(week.start), turns=turn_words(week))
        for week in weeks
        if week.total
    ]
    return sentences(*said) if said else NOTHING


def turn_words(week: WeekLoad) -> str:
    """The jumps of a week by turns: `12 single, 40 double`."""
    by_turns = week.by_turns
    return listed(
        say("%(count)s %(turns)s", count=by_turns[turns], turns=word)
        for turns, word in TURN_WORDS.items()
        if by_turns.get(turns)
    )

"""Planned, skated, called: the three columns, the price of each difference, and the decisions as they stood then."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup

from app import engine
from app.domain.notation import parse_jump_element
from app.domain.points import Points, show
from app.domain.words import figure, listed, say, sentences
from app.live.events import PassLeftOut
from app.live.fold import LiveState, likeliest
from app.review.compare import (
    CAUSE_NAMES,
    CAUSE_WORDS,
    Beside,
    Called,
    Tried,
    causes,
    credit_apart,
    log_of,
    rows_of,
    three_columns,
)
from app.review.decisions import Decision, decisions, mattered_most
from app.review.official import OfficialSheet
from app.review.price import Cost, Price, Skate, price
from app.scoring.base_value import base_value
from app.web.views.boards import Sheet
from app.web.waterfall import Fall, Waterfall, draw, signed

MOST_OPEN = 2
"""Open options named for one pass; more is not remembered."""


@dataclass(frozen=True, slots=True)
class LineView:
    """One pass in three columns. `causes`: kind and words of each difference; `costs`: points in words."""

    planned: str
    tried: str
    called: str
    moved: bool
    causes: tuple[tuple[str, str], ...]
    costs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SkateView:
    """The page. `figures`: what the way from plan to sheet is made of, word and points."""

    id: int
    title: str
    program_id: int
    hurt: bool
    fault: str
    good: str
    lines: tuple[LineView, ...]
    picture: Markup
    figures: tuple[tuple[str, str], ...]
    jumps_only: bool
    bonus: str
    most: str
    choices: tuple[str, ...]


def skate_view(sheet_id: int, title: str, live: Sheet, official: OfficialSheet) -> SkateView:
    """The page of a live program and its sheet. Raises InputError where the rulebook refuses a pass."""
    state = live.state
    skate = skate_of(live, state, official)
    log = log_of(state)
    rows = rows_of(official)
    planned = [one.code for one in skate.planned]
    lines = three_columns(planned, log, rows)
    apart = credit_apart(live.edition, lines, log, rows)
    found = price(live.edition, lines, skate)
    views = tuple(
        LineView(
            planned="–" if line.planned is None else planned[line.planned],
            tried=_tried_words(line, log),
            called="–" if line.called is None else rows[line.called].printed,
            moved=line.moved,
            causes=tuple(
                (CAUSE_NAMES[one], CAUSE_WORDS[one])
                for one in causes(line, planned, log, rows, credit=place in apart)
            ),
            costs=tuple(_cost_words(cost, lines, planned, rows)),
        )
        for place, (line, cost) in enumerate(zip(lines, found.costs, strict=True))
    )
    chosen = decisions_of(live, state)
    return SkateView(
        id=sheet_id,
        title=title,
        program_id=live.record.id,
        hurt=state.stopped,
        fault="",
        good=_good(views),
        lines=views,
        picture=draw(_waterfall(found, lines, planned, rows)),
        figures=_figures(found),
        jumps_only=skate.others == (0, 0),
        bonus=_bonus_words(found),
        most=_most(chosen),
        choices=tuple(filter(None, map(_choice, chosen))),
    )


def stopped_view(sheet_id: int, title: str, program_id: int, fault: str = "") -> SkateView:
    """The page without points: the program is stopped, or (`fault`) its rulebook refuses the sheet."""
    return SkateView(sheet_id, title, program_id, not fault, fault, "", (), Markup(), (), False, "", "", ())


def credit_questions(live: Sheet, official: OfficialSheet) -> tuple[str, ...]:
    """What the log knows of the second half that the sheet alone cannot show, as questions for the referee's table.

    Raises InputError where the rulebook refuses a pass.
    """
    state, rows = live.state, rows_of(official)
    log = log_of(state)
    lines = three_columns([one.code for one in state.plan.passes], log, rows)
    found = []
    for place in sorted(credit_apart(live.edition, lines, log, rows)):
        row = rows[lines[place].called or 0]
        if not row.x:
            element, number = parse_jump_element(row.printed), official.jumps[lines[place].called or 0].number
            points = base_value(live.edition, element, True) - base_value(live.edition, element)
            found.append(
                say(
                    "Element %(number)s, %(printed)s: by your log second-half credit is due (%(signed)s), and "
                    "the sheet prints no x. The log goes by the clock where it ran, else by the plan: ask, do "
                    "not claim.",
                    number=number,
                    printed=row.printed,
                    signed=signed(points),
                )
            )
    return tuple(found)


def skate_of(live: Sheet, state: LiveState, official: OfficialSheet) -> Skate:
    """The skate of a live program and its sheet, for the price."""
    book = live.edition
    others = [engine.Performed(item.code) for item in live.record.items if item.kind != "jump"]
    planned_others = engine.review(book, others).base_total
    called_others = sum(row.score for row in official.rows if not row.is_jump) if others else 0
    late = dict(zip((row.number for row in official.rows), official.late_flags(), strict=True))
    return Skate(
        planned=tuple(engine.Performed(one.code, one.late) for one in state.plan.passes),
        tried=tuple(performed_log(state)),
        called=tuple(
            engine.Performed(row.called, late[row.number], row.fell, row.failed) for row in official.jumps
        ),
        goes=tuple(row.goe for row in official.jumps),
        scores=tuple(row.score for row in official.jumps),
        others=(planned_others, called_others),
        deductions=official.deductions or 0,
    )


def performed_log(state: LiveState) -> Iterator[engine.Performed | None]:
    """The passes of a log as the rulebook judges them; None for one not attempted."""
    for entry, late in zip(state.logged, state.late, strict=True):
        if isinstance(entry, PassLeftOut):
            yield None
        else:
            one = likeliest(entry)
            yield engine.Performed(one.code, late, one.fall, one.error)


def _tried_words(line: Beside, log: list[Tried]) -> str:
    if line.tried is None:
        return say("not logged")
    one = log[line.tried]
    if one.code is None:
        return say("not attempted")
    return say("%(code)s, fell", code=one.code) if one.fall else one.code


def _name(line: Beside, planned: list[str], rows: list[Called]) -> str:
    """How a line is called: its number on the plan and its element."""
    if line.planned is not None:
        return f"{line.planned + 1} {planned[line.planned]}"
    return say("put in %(code)s", code=rows[line.called].code) if line.called is not None else say("put in")


def _cost_words(
    cost: Cost, lines: tuple[Beside, ...], planned: list[str], rows: list[Called]
) -> Iterator[str]:
    if cost.changed and cost.error:
        if cost.fall:
            yield say("%(points)s by itself, its grade and the fall with it", points=signed(cost.error))
        else:
            yield say("%(points)s by itself, its grade with it", points=signed(cost.error))
    elif cost.grade:
        yield say("%(signed)s grade", signed=signed(cost.grade))
    if cost.call:
        yield say("%(signed)s the panel's call", signed=signed(cost.call))
    if cost.bonus:
        yield say("%(signed)s its bonus", signed=signed(cost.bonus))
    for one in cost.dragged:
        yield say(
            "%(signed)s on pass %(name)s: %(why)s",
            signed=signed(one.points),
            name=_name(lines[one.line], planned, rows),
            why=one.why,
        )


def _waterfall(found: Price, lines: tuple[Beside, ...], planned: list[str], rows: list[Called]) -> Waterfall:
    steps = []
    for cost in found.costs:
        name = _name(lines[cost.line], planned, rows)
        if cost.changed and cost.error:
            steps.append(Fall(name, cost.error))
        if cost.call:
            steps.append(Fall(say("%(name)s: call", name=name), cost.call))
        if cost.bonus:
            steps.append(Fall(say("%(name)s: bonus", name=name), cost.bonus))
        if cost.consequence:
            steps.append(Fall(say("%(name)s: drags along", name=name), cost.consequence))
    steps += [Fall(words, points) for words, points in _rest(found) if points]
    return Waterfall(
        "price",
        say("From planned to called"),
        (say("As planned"), found.planned),
        tuple(steps),
        (say("As called"), found.called),
    )


def _kept_grades(found: Price) -> Points:
    return sum(cost.grade for cost in found.costs if not cost.changed)


def _rest(found: Price) -> tuple[tuple[str, Points], ...]:
    """The steps that belong to no single error."""
    return (
        (say("Grades of passes as planned"), _kept_grades(found)),
        (say("Spins and steps"), found.others),
        (say("Passes in another order"), found.order),
        (say("Other deductions"), found.deductions),
        (say("Sheet against rulebook"), found.sheet),
    )


def _figures(found: Price) -> tuple[tuple[str, str], ...]:
    """The way in sums: they lead from the first figure to the last."""
    errors = sum(cost.error for cost in found.costs)
    calls = sum(cost.call for cost in found.costs)
    dragged = sum(cost.consequence for cost in found.costs)
    rows = [
        (say("Errors and changes by themselves"), errors),
        (say("What they dragged along or won back"), dragged),
        (say("The panel's calls"), calls),
        (say("Their own bonuses"), sum(cost.bonus for cost in found.costs)),
        *_rest(found),
    ]
    middle = tuple((words, signed(points)) for words, points in rows if points)
    return (
        (say("As planned, grades at 0"), show(found.planned)),
        *middle,
        (say("As called, less deductions"), show(found.called)),
    )


def _bonus_words(found: Price) -> str:
    """What of both ends is bonus; empty at levels without one."""
    if found.bonus is None:
        return ""
    planned, called = map(show, found.bonus)
    return say(
        "Bonus points are part of both ends, as the rulebook gives them: %(planned)s planned, %(called)s called. "
        "The bonus a sheet prints is not read.",
        planned=planned,
        called=called,
    )


def _good(lines: tuple[LineView, ...]) -> str:
    kept = [line.planned for line in lines if not line.causes and line.planned != "–"]
    return say("As planned and so called: %(kept)s.", kept=listed(kept)) if kept else ""


def decisions_of(live: Sheet, state: LiveState) -> tuple[Decision, ...]:
    """Every decision of a finished program as it stood then; none before the end."""
    if not state.finished:
        return ()
    elements = live.elements
    return decisions(state, elements.offered, elements.known, live.limits)


def _most(found: tuple[Decision, ...]) -> str:
    """The one decision that would have mattered most, or that there was none."""
    if not found:
        return ""
    one = mattered_most(found)
    if one is None:
        return say(
            "No other choice would have mattered: each was the best of what is trained, or close to it."
        )
    best = one.best or say("leaving the pass out")
    return say(
        "The one choice that would have mattered most: pass %(number)s, %(best)s instead of %(tried)s, about "
        "%(short_of)s points on average, misses included.",
        number=one.number,
        best=best,
        tried=one.tried,
        short_of=figure(one.short_of, 1),
    )


def _choice(one: Decision) -> str:
    """One decision in a sentence; nothing where all went as planned."""
    if one.right and not one.came and one.tried is not None:
        return say(
            "Pass %(number)s: %(tried)s was the right choice; it did not come off this time.",
            number=one.number,
            tried=one.tried,
        )
    if one.right and one.tried != one.planned:
        return say(
            "Pass %(number)s: %(tried)s instead of %(planned)s was the right change.",
            number=one.number,
            tried=one.tried or say("leaving it out"),
            planned=one.planned,
        )
    others = [
        say("%(code)s (%(gain)s)", code=code or say("leaving it out"), gain=figure(gain, signed=True))
        for code, gain in one.open[:MOST_OPEN]
        if code != one.tried
    ]
    was_open = (
        say(
            "Pass %(number)s: open and trained, against keeping the plan: %(others)s.",
            number=one.number,
            others=listed(others),
        )
        if others
        else ""
    )
    if not one.right:
        return sentences(
            was_open,
            say(
                "Pass %(number)s: %(best)s was %(points)s points better on average than %(tried)s.",
                number=one.number,
                best=one.best or say("leaving it out"),
                points=figure(one.short_of),
                tried=one.tried or say("leaving it out"),
            ),
        )
    return was_open

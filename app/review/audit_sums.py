"""The sums of an official sheet: element score, components, deductions, total, each from the figures printed for it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from app.domain.points import Points, half_up, show
from app.domain.rulings import Certainty
from app.domain.words import entry, say, say_many
from app.review.findings import Finding, Kind
from app.review.official import OfficialSheet, SheetComponent, as_decimal
from app.rulebook.editions import Edition
from app.scoring.components import panel_mean
from app.scoring.deductions import falls_deduction

PUBLISHED = say("the published way of scoring, held to official sheets 2018/19 to 2025/26")


def sum_findings(book: Edition, sheet: OfficialSheet) -> Iterator[Finding]:
    """Every sum that is not the sum of what stands above it."""
    bases = sum(row.base for row in sheet.rows)
    yield from _sum(
        say("the sum of base values"),
        sheet.base_total,
        bases,
        entry("The base values of the rows make %(points)s."),
        affects=False,
    )
    scores = sum(row.score for row in sheet.rows)
    yield from _sum(
        say("the element score"),
        sheet.element_score,
        scores,
        entry("The panel scores of the rows make %(points)s."),
    )
    yield from _components(book, sheet)
    yield from _deductions(book, sheet)
    if None not in (sheet.total, sheet.element_score, sheet.component_score, sheet.deductions):
        made = (sheet.element_score or 0) + (sheet.component_score or 0) + (sheet.deductions or 0)
        yield from _sum(
            say("the segment score"),
            sheet.total,
            made,
            entry("Elements and components less deductions make %(points)s."),
        )


def _sum(
    where: str, printed: Points | None, made: Points, words: str, *, affects: bool = True
) -> Iterator[Finding]:
    if printed is None or printed == made:
        return
    yield _finding(Kind.ARITHMETIC, where, (printed, made), say(words, points=show(made)), affects=affects)


def _finding(
    kind: Kind,
    where: str,
    figures: tuple[Points, Points],
    what: str,
    rule: tuple[str, Certainty] = (PUBLISHED, "read"),
    *,
    affects: bool = True,
) -> Finding:
    printed, made = figures
    points = made - printed if affects else 0
    return Finding(kind, 0, where, show(printed), show(made), points, rule[0], rule[1], what)


def _components(book: Edition, sheet: OfficialSheet) -> Iterator[Finding]:
    if not sheet.components:
        return
    for one in sheet.components:
        yield from _component(book, one)
    made = sum(half_up(one.score * one.factor, 100) for one in sheet.components)
    yield from _sum(
        say("the component score"),
        sheet.component_score,
        made,
        entry("The components with their factors make %(points)s."),
    )
    if sheet.component_sum != sheet.component_score:
        yield from _sum(
            say("the component score below the components"),
            sheet.component_sum,
            made,
            entry("They make %(points)s."),
        )


def _component(book: Edition, one: SheetComponent) -> Iterator[Finding]:
    where = say("the component %(name)s", name=one.name)
    mean = panel_mean(book, [as_decimal(mark) for mark in one.judges if mark is not None])
    if any(mark is not None for mark in one.judges) and mean != one.score:
        points = half_up(mean * one.factor, 100) - half_up(one.score * one.factor, 100)
        what = say(
            "The judges' marks give %(mean)s: one highest and one lowest left out, the rest averaged.",
            mean=show(mean),
        )
        yield replace(_finding(Kind.ARITHMETIC, where, (one.score, mean), what), points=points)
    rule = book.rules.components
    factors = {known.name.casefold(): round(Decimal(str(known.factor)) * 100) for known in rule.list}
    factor = factors.get(one.name.casefold())
    if factor is not None and factor != one.factor:
        points = half_up(one.score * factor, 100) - half_up(one.score * one.factor, 100)
        what = say("The rulebook's factor for %(name)s is %(factor)s.", name=one.name, factor=show(factor))
        yield Finding(
            Kind.ENTRY,
            0,
            say("the factor of %(name)s", name=one.name),
            show(one.factor),
            show(factor),
            points,
            f"{rule.document}, {rule.paragraph}",
            rule.certainty,
            what,
        )


def _deductions(book: Edition, sheet: OfficialSheet) -> Iterator[Finding]:
    if sheet.deductions is None:
        return
    if sheet.detail:
        kinds = sum(one.points for one in sheet.detail)
        yield from _sum(
            say("the deductions"),
            sheet.deductions,
            kinds,
            entry("The deductions of each kind make %(points)s."),
        )
    falls = sheet.falls or 0
    rule = book.rules.falls
    graded = (f"{rule.document}, {rule.paragraph}", rule.certainty)
    for one in sheet.detail:
        due = falls_deduction(book, falls)
        if one.is_falls and one.count is not None and one.points != due:
            words = say_many(
                "%(count)s fall costs %(due)s.", "%(count)s falls cost %(due)s.", falls, due=show(due)
            )
            yield _finding(Kind.ENTRY, say("the deduction for falls"), (one.points, due), words, graded)
    marked = sum(row.fell for row in sheet.rows)
    if marked > falls:
        due = falls_deduction(book, marked)
        now = falls_deduction(book, falls)
        words = say_many(
            "%(count)s element marked F, %(falls)s in the deductions.",
            "%(count)s elements marked F, %(falls)s in the deductions.",
            marked,
            falls=falls,
        )
        yield _finding(Kind.ENTRY, say("the number of falls"), (now, due), words, graded)

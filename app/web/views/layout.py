"""The layout page: every element in order, its planned points, when it starts, every ruling in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256

from markupsafe import Markup

from app import engine
from app.domain.elements import JumpElement
from app.domain.points import Points, half_up, show
from app.domain.rulings import Ruling
from app.domain.words import Figure, say
from app.live.program import KnownElement, clock
from app.live.rule_notes import HOW_SURE
from app.rulebook.editions import Edition
from app.scoring.execution import grade_worth
from app.storage.records import LayoutItem, LayoutRecord, SkaterRecord
from app.web.views import plans
from app.web.views.home import edition_words
from app.web.views.making import USUAL_ENTRIES
from app.web.views.pictures import layout_picture
from app.web.views.rule_check import RuleCheckView, rule_check
from app.web.views.rulebook_diff import NewsView, news_view

NEAR_SECONDS = 3
"""A pass that starts within so many seconds of the half-way mark is pointed out (no source: common practice)."""
MARK_SIGNS = 12
RULED = {"part": say("counts in part"), "nothing": say("counts for nothing"), "not judged": say("not judged")}


@dataclass(frozen=True, slots=True)
class RulingView:
    """One ruling: which jump, what it means, why, where it stands, how sure we are."""

    jump: str
    ruled: str
    why: str
    rule: str
    certainty: str


@dataclass(frozen=True, slots=True)
class HalfWay:
    """Where an element starts by the clock: seconds into the music, its distance to the half-way mark.

    `tag`: in the second half, and what that brings; `caution`: so near the mark that a little early or late moves late
    credit.
    """

    says: str
    tag: str
    caution: str


@dataclass(frozen=True, slots=True)
class RowForm:
    """The fields of one row as they stand, or as they were typed; `fault` says why that could not be kept."""

    code: str
    seconds: str
    goe: str
    options: str
    entry: str
    slack: str
    fault: str = ""


@dataclass(frozen=True, slots=True)
class LayoutRow:
    """One element. `number` is the pass number, empty for spins and steps; points as printed; `cue` in quotes."""

    place: int
    number: str
    code: str
    called: str
    cue: str
    when: str
    late: bool
    mark: HalfWay
    base: str
    bonus: str
    planned_goe: str
    points: str
    rulings: tuple[RulingView, ...]
    form: RowForm
    entry: str
    slack: int
    mark_of_row: str
    """Sent along by the row's forms, so that they change this row or none."""


@dataclass(frozen=True, slots=True)
class LayoutView:
    """The layout page. Totals are planned base value, planned GOE and their sum; `entries` to choose a pass's from.

    `check`: faults with mends, and traps; None where nobody asked for it.
    """

    id: int
    name: str
    skater_id: int
    skater: str
    edition: str
    rows: tuple[LayoutRow, ...]
    warnings: tuple[str, ...]
    base: str
    bonus: str
    goe: str
    total: str
    half_way: str
    drawing: Markup
    edition_name: str
    news: NewsView | None
    season_note: str
    entries: tuple[str, ...]
    check: RuleCheckView | None
    added: str = ""
    """What was typed as a new row and could not be kept, with the reason in `not_added`."""
    not_added: str = ""
    stale: str = ""
    """What was handed in is no longer what the layout says; empty where it is, or nothing was."""


def layout_view(
    layout: LayoutRecord,
    skater: SkaterRecord,
    cues: Mapping[str, str] | None = None,
    entries: Sequence[str] = (),
    trained: Mapping[str, KnownElement] | None = None,
) -> LayoutView:
    """A layout under its own rulebook. `cues`: the skater's own words by element; `entries`: those trained.

    `trained`: the trained elements by code, for the rule check; None: no check.
    """
    edition = engine.edition(layout.edition)
    half = edition.half_way_seconds
    performed = [engine.Performed(item.code, late=item.start >= half) for item in layout.items]
    review = engine.review(edition, performed)
    goes = [_planned_goe(edition, line, item) for line, item in zip(review.lines, layout.items, strict=True)]
    base = review.points
    return LayoutView(
        id=layout.id,
        name=layout.name,
        skater_id=skater.id,
        skater=skater.name,
        edition=edition_words(layout.edition),
        rows=_rows(edition, layout.items, review.lines, goes, cues or {}),
        warnings=review.warnings,
        base=show(review.base_total),
        bonus=show(review.bonus_total) if edition.bonuses is not None else "",
        goe=show(sum(goes)),
        total=show(base + sum(goes)),
        half_way=clock(half),
        drawing=_drawing(edition, layout, review.lines),
        edition_name=layout.edition,
        news=news_view(layout),
        season_note=_season_note(edition),
        entries=tuple(dict.fromkeys(one for one in (*sorted(entries), *USUAL_ENTRIES) if one)),
        check=None
        if trained is None
        else rule_check(edition, plans.passes_of(layout.items, edition), trained),
    )


def _rows(
    edition: Edition,
    items: Sequence[LayoutItem],
    lines: Sequence[engine.Line],
    goes: Sequence[Points],
    cues: Mapping[str, str],
) -> tuple[LayoutRow, ...]:
    rows: list[LayoutRow] = []
    number = 0
    for place, (item, line, goe) in enumerate(zip(items, lines, goes, strict=True)):
        number += item.kind == "jump"
        rows.append(
            LayoutRow(
                place=place,
                number=str(number) if item.kind == "jump" else "",
                code=item.code,
                called=line.code,
                cue=cues.get(item.code, ""),
                when=clock(item.start),
                late=item.start >= edition.half_way_seconds,
                mark=half_way(edition, item, line.credited),
                base=show(line.base_value),
                bonus=show(line.bonus) if line.bonus else "",
                planned_goe=show(goe),
                points=show(line.base_value + line.bonus + goe),
                rulings=ruling_views(item.code, line.rulings),
                form=_form(item),
                entry=item.entry,
                slack=item.slack,
                mark_of_row=mark_of(item),
            )
        )
    return tuple(rows)


def _form(item: LayoutItem) -> RowForm:
    # As it is read again, so in no other language.
    options = ", ".join(option if option is not None else "leave out" for option in item.options)
    return RowForm(
        item.code, clock(item.start), Figure(f"{item.goe:g}"), options, item.entry, str(item.slack)
    )


def refused_row(view: LayoutView, place: int, typed: RowForm) -> LayoutView:
    """The page with what was typed into the row at `place`, and why it was not kept."""
    rows = (replace(row, form=typed) if row.place == place else row for row in view.rows)
    return replace(view, rows=tuple(rows))


def mark_of(item: LayoutItem) -> str:
    """What a row says, in a few signs."""
    return sha256(repr(item).encode()).hexdigest()[:MARK_SIGNS]


def half_way(edition: Edition, item: LayoutItem, credited: bool) -> HalfWay:
    """An element by the clock, under the half-way mark of its rulebook."""
    apart = item.start - edition.half_way_seconds
    late = edition.rules.late
    tag = ""
    if apart >= 0:
        times = Figure(f"{late.percent / 100:g}")
        tag = say("second half, ×%(times)s", times=times) if credited else say("second half")
    near = item.kind == "jump" and late.last > 0 and late.percent > 100 and abs(apart) <= NEAR_SECONDS
    caution = say("so near that a start a little early or late moves its late credit") if near else ""
    return HalfWay(_side(item.start, apart), tag, caution)


def _side(start: int, apart: int) -> str:
    """Where a start lies beside the half-way mark, `apart` seconds behind it."""
    if apart < 0:
        return say(
            "%(start)s s into the music, %(apart)s s before the half-way mark", start=start, apart=-apart
        )
    if apart > 0:
        return say(
            "%(start)s s into the music, %(apart)s s after the half-way mark", start=start, apart=apart
        )
    return say("%(start)s s into the music, at the half-way mark", start=start)


def ruling_views(code: str, rulings: Sequence[Ruling]) -> tuple[RulingView, ...]:
    """Rulings of one element in words."""
    element = engine.parse(code)
    found = []
    for one in rulings:
        jump = element.jumps[one.jump - 1].name if isinstance(element, JumpElement) else code
        found.append(
            RulingView(jump, RULED.get(one.ruling, one.ruling), one.why, one.rule, HOW_SURE[one.certainty])
        )
    return tuple(found)


def _planned_goe(edition: Edition, line: engine.Line, item: LayoutItem) -> Points:
    numerator, denominator = grade_worth(edition, engine.parse(line.code))
    return half_up(round(item.goe * 100) * numerator, 100 * denominator)


def _drawing(edition: Edition, layout: LayoutRecord, lines: Sequence[engine.Line]) -> Markup:
    called = [line for line, item in zip(lines, layout.items, strict=True) if item.kind == "jump"]
    notes = {number: _note(line.rulings) for number, line in enumerate(called, start=1) if line.rulings}
    passes = [
        replace(row, code=line.code)
        for row, line in zip(plans.passes_of(layout.items, edition), called, strict=True)
    ]
    return layout_picture(layout.name, edition, passes, plans.marks_of(layout.items), notes)


def _note(rulings: Sequence[Ruling]) -> str:
    kinds = {ruling.ruling for ruling in rulings}
    return say("zero") if "nothing" in kinds else say("part") if "part" in kinds else "?"


def _season_note(edition: Edition) -> str:
    """How sure the numbers of this season are, from its own marks."""
    marks = {edition.rules.boxes.certainty}
    if edition.rules.units is not None:
        marks.add(edition.rules.units.certainty)
    if marks == {"read"}:
        return say("The main limits of this season were read in the rulebook itself.")
    return say(
        "Some limits of this season are known second-hand only. Check the official text before an event."
    )

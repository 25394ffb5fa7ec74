"""After the program: planned and executed side by side, kind and short."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from app import engine
from app.domain.points import show
from app.domain.words import Figure, listed, say
from app.live.events import PassLeftOut
from app.live.fold import LiveState, likeliest
from app.live.pad import how_words
from app.live.program import clock
from app.live.rehearsal import called_passes
from app.live.rule_notes import HOW_SURE
from app.storage.records import SheetRecord
from app.web.advisor import called, performed
from app.web.languages import Day
from app.web.views import plans
from app.web.views.boards import Sheet
from app.web.views.pictures import live_picture
from app.web.views.rehearsed import RehearsalView, rehearsal_view


@dataclass(frozen=True, slots=True)
class ReviewRow:
    """One pass: what was planned, what came, in words, with base value as ruled; `bonus`: what of it is bonus."""

    number: int
    when: str
    planned: str
    executed: str
    how: str
    same: bool
    base: str
    bonus: str
    rulings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReviewView:
    """The review page. Points are hidden while the program is stopped."""

    program_id: int
    title: str
    skater: str
    occasion: str
    day: str
    stopped: bool
    complete: bool
    rows: tuple[ReviewRow, ...]
    planned_base: str
    executed_base: str
    has_bonus: bool
    """The rulebook adds bonuses: they are part of every figure."""
    good: str
    drawing: Markup
    doubtful: bool
    sheets: tuple[int, ...]
    """Official sheets that were added, the latest first."""
    rehearsal: RehearsalView | None = None
    """In a rehearsal: what was called, and what became of the answers."""


def review_view(sheet: Sheet, sheets: Sequence[SheetRecord] = ()) -> ReviewView:
    """The review of a live program as far as it has been logged."""
    state = sheet.state
    rows = _rows(sheet, state)
    planned = [engine.Performed(row.code, late=row.late) for row in state.plan.passes]
    return ReviewView(
        program_id=sheet.record.id,
        title=sheet.record.layout_name,
        skater=sheet.skater.name,
        occasion=sheet.record.event,
        day=Day(sheet.record.started_at.date()),
        stopped=state.stopped,
        complete=state.finished,
        rows=rows,
        planned_base=_total(sheet, planned),
        executed_base=_total(sheet, performed(state)),
        has_bonus=sheet.edition.bonuses is not None,
        good=_good(rows),
        drawing=live_picture(
            say("The program as skated"),
            sheet.edition,
            state,
            plans.marks_of(sheet.record.items),
            called=called(state),
        ),
        doubtful=any(len(getattr(entry, "readings", ())) > 1 for entry in state.logged),
        sheets=tuple(one.id for one in sheets),
        rehearsal=rehearsal_view(sheet, state),
    )


def _total(sheet: Sheet, elements: Sequence[engine.Performed]) -> str:
    """Base value of the jumps as ruled, with the bonus of the rulebook."""
    return Figure(show(engine.review(sheet.edition, elements).points))


def _rows(sheet: Sheet, state: LiveState) -> tuple[ReviewRow, ...]:
    lines = iter(engine.review(sheet.edition, performed(state)).lines)
    called_for = {one.number for one in called_passes(state) if one.as_called}
    rows = []
    for number, (entry, planned) in enumerate(zip(state.logged, state.plan.passes, strict=False), start=1):
        if isinstance(entry, PassLeftOut):
            rows.append(
                ReviewRow(
                    number,
                    clock(planned.seconds),
                    planned.code,
                    "–",
                    say("not attempted"),
                    False,
                    Figure("0.00"),
                    "",
                    (),
                )
            )
            continue
        line = next(lines)
        code = likeliest(entry).code
        rows.append(
            ReviewRow(
                number=number,
                when=clock(planned.seconds),
                planned=planned.code,
                executed=line.code,
                how=say("%(how)s, as called", how=how_words(entry))
                if number in called_for
                else how_words(entry),
                same=code == planned.code,
                base=Figure(show(line.base_value + line.bonus)),
                bonus=Figure(show(line.bonus)) if line.bonus else "",
                rulings=tuple(
                    say(
                        "%(why)s (%(rule)s; %(how_sure)s)",
                        why=ruling.why,
                        rule=ruling.rule,
                        how_sure=HOW_SURE[ruling.certainty],
                    )
                    for ruling in line.rulings
                ),
            )
        )
    return tuple(rows)


def _good(rows: tuple[ReviewRow, ...]) -> str:
    """What went well, first."""
    kept = [row.planned for row in rows if row.how == "as planned"]
    if not kept:
        return ""
    return say("As planned: %(codes)s.", codes=listed(kept))

"""The report after a skate: one page, the same sections on screen, on paper, in the shared file and in the PDF."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final, Literal

from markupsafe import Markup

from app import engine
from app.domain.spoken import spoken
from app.domain.words import Text, listed, say, sentences
from app.errors import InputError
from app.live.events import Cleared, PassSkated
from app.live.fold import LiveState, likeliest
from app.review.compare import Beside, Called, log_of, rows_of, three_columns
from app.review.official import OfficialSheet
from app.review.price import Price, Skate, price
from app.review.report import PassFact, Report, facts, report
from app.web.languages import Day
from app.web.views import report_words as words
from app.web.views.boards import Sheet
from app.web.views.sheet_skate import decisions_of, performed_log, skate_of

Audience = Literal["coach", "guardian"]
AUDIENCES: Final[tuple[Audience, ...]] = ("coach", "guardian")
BY_MISTAKE = "tapped by mistake"
"""What a lifted stop relies on when nobody was hurt (the form of the stop page)."""
HURT = say(
    "Medical staff decide what comes next, and when skating goes on. Coach, parent and skater do not decide that "
    "themselves."
)


@dataclass(frozen=True, slots=True)
class SectionView:
    """A part of the page. `lines` are sentences, a list where there is more than one; `table`: head and rows."""

    heading: str
    lines: tuple[str, ...] = ()
    head: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    is_main: bool = False
    """The one thing to take along."""


@dataclass(frozen=True, slots=True)
class ReportView:
    """The page for one audience. `about`: whose skate, what, where and when; `notes` stand small at the end."""

    program_id: int
    audience: Audience
    title: str
    about: str
    sections: tuple[SectionView, ...]
    notes: tuple[str, ...]

    @property
    def file_name(self) -> str:
        """The name of the shared file, without its ending; no name of a person in it."""
        return f"after-the-skate-{self.program_id}-{self.audience}"


@dataclass(frozen=True, slots=True)
class SharedReportView:
    """The report as a file of its own. `looks`: our own style sheet, which goes inside."""

    report: ReportView
    looks: Markup


def report_view(live: Sheet, official: OfficialSheet | None, audience: Audience) -> ReportView:
    """The report of a skate that is over. Raises InputError while it is not, and where the rulebook refuses a pass."""
    state = live.state
    if not (state.finished or was_hurt(state)):
        done, of = len(state.logged), len(state.plan.passes)
        raise InputError(
            say("program"),
            say("%(done)s of %(of)s passes are logged; a report follows once all are", done=done, of=of),
        )
    if was_hurt(state):
        sections = tuple(_hurt(state, audience))
        notes: tuple[str, ...] = (say("Not official."),)
    else:
        sections, notes = _sections(live, state, official, audience)
    return ReportView(
        program_id=live.record.id,
        audience=audience,
        title=say("After the skate"),
        about=_about(live, audience),
        sections=sections,
        notes=notes,
    )


def was_hurt(state: LiveState) -> bool:
    """Whether the program was stopped for somebody hurt, lifted or not; a stop tapped by mistake is none."""
    return state.stopped or any(_for_hurt(one) for one in state.clearances)


def _for_hurt(one: Cleared) -> bool:
    return one.relying_on != BY_MISTAKE


def _about(live: Sheet, audience: Audience) -> Text:
    record = live.record
    segment = say("short program") if live.edition.is_short else say("free skating")
    practised = say("run-through") if record.kind == "run-through" else say("competition")
    return say(
        "%(skater)s, %(program)s, %(occasion)s, %(day)s",
        skater=live.skater.name,
        program=record.layout_name if audience == "coach" else segment,
        occasion=record.event or practised,
        day=Day(record.started_at.date()),
    )


def _hurt(state: LiveState, audience: Audience) -> Iterator[SectionView]:
    """Neutral facts alone: how far it went, and who decides."""
    came = [likeliest(one).code for one in state.logged if isinstance(one, PassSkated)]
    names = came if audience == "coach" else [spoken(code) for code in came]
    done, of = len(state.logged), len(state.plan.passes)
    lines = [say("The program was stopped after %(done)s of %(all)s passes.", done=done, all=of)]
    if audience == "guardian":
        lines = [say("The program was stopped after %(done)s of %(all)s planned jumps.", done=done, all=of)]
    if names:
        lines.append(say("Skated until then: %(jumps)s.", jumps=listed(names)))
    yield SectionView(say("What is known"), tuple(lines))
    yield SectionView(say("What comes next"), (HURT,), is_main=True)


def _sections(
    live: Sheet, state: LiveState, official: OfficialSheet | None, audience: Audience
) -> tuple[tuple[SectionView, ...], tuple[str, ...]]:
    with_sheet = official is not None
    lines, skate, rows = _columns(live, state, official)
    found = price(live.edition, lines, skate)
    planned = [one.code for one in skate.planned]
    passes = facts(lines, found.costs, planned, log_of(state), rows, with_sheet=with_sheet)
    told = report(passes, decisions_of(live, state), live.limits.threshold)
    if audience == "guardian":
        return tuple(_for_guardian(told)), _guardian_notes(with_sheet)
    return tuple(_for_coach(told, passes, found, with_sheet)), _coach_notes(with_sheet)


def _columns(
    live: Sheet, state: LiveState, official: OfficialSheet | None
) -> tuple[tuple[Beside, ...], Skate, list[Called]]:
    """Plan, log and sheet side by side; without a sheet the log itself, as the rulebook rules it, with grades at 0."""
    planned = [one.code for one in state.plan.passes]
    log = log_of(state)
    if official is not None:
        rows = rows_of(official)
        return three_columns(planned, log, rows), skate_of(live, state, official), rows
    skated = tuple(performed_log(state))
    came = [one for one in skated if one is not None]
    ruled = engine.review(live.edition, came).lines
    rows = [Called(one.code, line.code) for one, line in zip(came, ruled, strict=True)]
    falls = sum(one.fall for one in came)
    skate = Skate(
        planned=tuple(engine.Performed(one.code, one.late) for one in state.plan.passes),
        tried=skated,
        called=tuple(came),
        goes=(0,) * len(came),
        scores=tuple(line.base_value for line in ruled),
        deductions=-sum(live.edition.fall_deduction(n) for n in range(1, falls + 1)),
    )
    return three_columns(planned, log, rows), skate, rows


def _for_coach(
    told: Report, passes: Iterable[PassFact], found: Price, with_sheet: bool
) -> Iterator[SectionView]:
    yield SectionView(say("What went well"), tuple(words.coach_strengths(told, with_sheet=with_sheet)))
    called = (say("Called"),) if with_sheet else ()
    head = (say("Pass"), say("Planned"), say("Skated"), *called, say("Points"))
    rows = tuple(_row(one, with_sheet) for one in passes if not one.kept)
    if rows:
        total = words.total_words(found.planned, found.called, with_sheet=with_sheet)
        yield SectionView(say("What came out otherwise"), (total,), head, rows)
    choices = tuple(words.coach_choices(told))
    if choices:
        yield SectionView(say("Right choices"), choices)
    heading = say("One thing to rehearse") if told.rehearsal else say("To rehearse")
    yield SectionView(heading, words.coach_rehearsal(told), is_main=True)


def _row(one: PassFact, with_sheet: bool) -> tuple[str, ...]:
    fell = say("%(element)s, fell", element=one.came)
    came = say("not attempted") if one.came is None else fell if one.fell else one.came
    return (
        str(one.number) if one.number else say("put in"),
        one.planned or "–",
        came,
        *(((one.called or "–"),) if with_sheet else ()),
        words.points_of(one),
    )


def _for_guardian(told: Report) -> Iterator[SectionView]:
    yield SectionView(say("What went well"), tuple(words.guardian_strengths(told)))
    others = tuple(words.guardian_others(told))
    if others:
        yield SectionView(say("What came out otherwise"), others)
    choices = tuple(words.guardian_choices(told))
    if choices:
        yield SectionView(say("Right choices"), choices)
    heading = say("One thing to practise") if told.rehearsal else say("To practise")
    yield SectionView(heading, words.guardian_rehearsal(told), is_main=True)


def _coach_notes(with_sheet: bool) -> tuple[str, ...]:
    called = say(
        "Points: what the pass cost by itself, with its grade, the fall and what it took from other passes."
    )
    logged = say(
        "Points: what the pass cost by itself, with the fall and what it took from other passes, as logged. Without "
        "the official sheet calls and grades are not in it."
    )
    judged = say(
        "Choices are judged by what was known before each pass, not by what came of them. Not official: the panel, the "
        "referee and a licensed coach have the last word."
    )
    return (called if with_sheet else logged, judged)


def _guardian_notes(with_sheet: bool) -> tuple[str, ...]:
    called = say("Written from the log at the boards and the panel's sheet.")
    logged = say("Written from the log at the boards; a panel may see it otherwise.")
    alone = say("It is about this skater and this program alone. Questions go to the coach. Not official.")
    return (sentences(called if with_sheet else logged, alone),)

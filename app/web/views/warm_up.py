"""The warm-up page of a start: layouts A, B, C, in what they differ, what each costs, which one is chosen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app import engine
from app.domain.words import clauses, figure, say
from app.live.advice import question
from app.live.line import percent
from app.live.program import Limits, Plan, Setting
from app.live.warm_up import LETTERS, Figures, chosen_letter, cost_words, difference, may_choose
from app.storage.records import LayoutItem, LiveProgramRecord, SkaterRecord, StartRecord, VariantRecord
from app.web.advisor import Elements
from app.web.views import plans
from app.web.views.boards import Sheet
from app.web.views.day import SHAPES, STATUS_WORDS, mark_of, status_of
from app.web.views.home import edition_words
from app.web.views.layout import RulingView, ruling_views
from app.web.visitor import Visitor


@dataclass(frozen=True, slots=True)
class PassCode:
    """One pass of a layout; `other`: not the element of A."""

    number: int
    code: str
    other: bool


@dataclass(frozen=True, slots=True)
class Price:
    """What a layout brings, in words: points if the plan is kept, with the best answers, chance of a fall."""

    kept: str
    best: str
    fall: str


@dataclass(frozen=True, slots=True)
class VariantView:
    """One layout. `line`: what differs from A and what that costs; `rulings`, `cautions`: what is wrong with it."""

    letter: str
    name: str
    chosen: bool
    line: str
    passes: tuple[PassCode, ...]
    rulings: tuple[RulingView, ...]
    cautions: tuple[str, ...]
    price: Price | None


@dataclass(frozen=True, slots=True)
class WarmUpView:
    """The page. `open`: a choice still counts; `shut`: why not, in words; `waiting`: the figures are being reckoned.

    `fault`: why there are none; `changed`: the agreed layouts are no longer those the program was opened with.
    """

    day_id: int
    day: str
    start_id: int
    skater: str
    edition: str
    status: str
    shape: str
    program_id: int
    variants: tuple[VariantView, ...]
    open: bool
    shut: str
    waiting: bool
    fault: str
    changed: bool
    is_coach: bool
    event_id: str
    notice: str
    seen: str


@dataclass(frozen=True, slots=True)
class Ground:
    """What the page is made from. `fresh`: the program as it would be opened now; `sheet`: as it was, if it was."""

    day: str
    start: StartRecord
    skater: SkaterRecord
    fresh: LiveProgramRecord
    sheet: Sheet | None
    elements: Elements
    limits: Limits
    visitor: Visitor

    @property
    def open(self) -> bool:
        """Whether a choice still counts."""
        if self.sheet is None:
            return True
        return may_choose(plans.events_of(self.sheet.log)) and not self.sheet.state.stopped

    @property
    def layouts(self) -> tuple[VariantRecord, ...]:
        """A, B, C: as they are now while a choice counts, else as the program keeps them."""
        return as_variants(self.fresh if self.open or self.sheet is None else self.sheet.record)

    @property
    def book(self) -> str:
        """The rulebook: today's while a choice counts, else as it was when the program began."""
        if self.open or self.sheet is None:
            return self.fresh.edition
        return engine.pinned(self.sheet.record.edition, self.sheet.record.fingerprint)

    @property
    def shows_figures(self) -> bool:
        """Points and chances are for the coach, and only before the skate."""
        return self.visitor.is_coach and self.open

    @property
    def letter(self) -> str:
        """The chosen letter; A where nobody has chosen."""
        log = () if self.sheet is None else self.sheet.log
        return chosen_letter(plans.events_of(log)) or LETTERS[0]


def as_variants(record: LiveProgramRecord) -> tuple[VariantRecord, ...]:
    """The layouts of a program; one without a choice has A alone."""
    alone = VariantRecord(
        LETTERS[0], record.layout_id or 0, record.layout_name, record.fingerprint, record.items
    )
    return record.variants or (alone,)


def plan_of(edition: str, items: Sequence[LayoutItem]) -> Plan:
    """A layout as a plan, to ask the engine about."""
    return Plan(edition, Setting.RUN_THROUGH, "", plans.passes_of(items, engine.edition(edition)))


def questions(ground: Ground) -> list[dict[str, object]]:
    """The advise request of each layout."""
    elements = ground.elements
    return [
        question(plan_of(ground.book, one.items), elements.offered, elements.known, ground.limits)
        for one in ground.layouts
    ]


def warm_up_view(
    ground: Ground, figures: Sequence[Figures] | None, event_id: str, fault: str = "", notice: str = ""
) -> WarmUpView:
    """The page; `figures` one a layout, None: not there yet (or, with `fault`, not to be had)."""
    start, sheet = ground.start, ground.sheet
    state = None if sheet is None else sheet.state
    status = status_of(start, state)
    shown = figures if ground.shows_figures else None
    view = WarmUpView(
        day_id=start.day_id,
        day=ground.day,
        start_id=start.id,
        skater=ground.skater.name,
        edition=edition_words(ground.fresh.edition),
        status=STATUS_WORDS[status],
        shape=SHAPES[status],
        program_id=start.program_id or 0,
        variants=_variants(ground, shown),
        open=ground.open,
        shut=_shut(ground),
        waiting=ground.shows_figures and figures is None and not fault,
        fault=fault,
        changed=ground.open and sheet is not None and not _same(sheet.record, ground.fresh),
        is_coach=ground.visitor.is_coach,
        event_id="",
        notice="",
        seen="",
    )
    return replace(view, seen=mark_of(view), event_id=event_id, notice=notice)


def _same(kept: LiveProgramRecord, fresh: LiveProgramRecord) -> bool:
    if not kept.variants and not fresh.variants:
        return kept.items == fresh.items
    return kept.variants == fresh.variants


def _shut(ground: Ground) -> str:
    if ground.open:
        return ""
    if ground.sheet is not None and ground.sheet.state.stopped:
        return say("Stopped. Nothing is chosen or advised until an adult has lifted the stop.")
    return say(
        "Layout %(letter)s is being skated. After the first logged pass it cannot be changed any more.",
        letter=ground.letter,
    )


def _variants(ground: Ground, figures: Sequence[Figures] | None) -> tuple[VariantView, ...]:
    layouts, chosen = ground.layouts, ground.letter
    usual = plan_of(ground.book, layouts[0].items)
    found = []
    for place, one in enumerate(layouts):
        plan = plan_of(ground.book, one.items)
        rulings, cautions = _wrong(ground, one, plan)
        codes = [row.code for row in usual.passes]
        found.append(
            VariantView(
                letter=one.letter,
                name=one.name,
                chosen=one.letter == chosen,
                line=_line(usual, plan, figures, place),
                passes=tuple(
                    PassCode(n, row.code, n > len(codes) or row.code != codes[n - 1])
                    for n, row in enumerate(plan.passes, start=1)
                ),
                rulings=rulings,
                cautions=cautions,
                price=_price(figures[place]) if figures else None,
            )
        )
    return tuple(found)


def _line(usual: Plan, plan: Plan, figures: Sequence[Figures] | None, place: int) -> str:
    """What differs from A, and what that costs; A itself has no line."""
    if place == 0:
        return ""
    said = difference(usual.passes, plan.passes) or say("the same jump passes as A")
    return clauses((said, cost_words(figures[0], figures[place]))) if figures else said


def _price(figures: Figures) -> Price:
    return Price(figure(figures.kept), figure(figures.best), percent(figures.fall))


def _wrong(ground: Ground, one: VariantRecord, plan: Plan) -> tuple[tuple[RulingView, ...], tuple[str, ...]]:
    """What the rulebook takes from a layout, and what the skater has not trained."""
    book = engine.edition(plan.edition)
    half = book.half_way_seconds
    review = engine.review(book, [engine.Performed(i.code, late=i.start >= half) for i in one.items])
    rulings = tuple(
        view
        for line, item in zip(review.lines, one.items, strict=True)
        for view in ruling_views(item.code, line.rulings)
    )
    untrained = tuple(
        say(
            "%(code)s is not trained: %(get)s",
            code=code,
            get=ground.elements.refused.get(code, say("not among the elements of this skater")),
        )
        for code in dict.fromkeys(row.code for row in plan.passes)
        if code not in ground.elements.offered
    )
    return rulings, (*review.warnings, *(untrained if ground.shows_figures else ()))

"""Two editions beside each other in words, and what the difference does to a layout, pass by pass."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from app import engine
from app.domain.points import show
from app.domain.rulings import Ruling
from app.domain.said import said_of
from app.domain.words import Figure, clauses, say, say_many, sentences
from app.errors import InputError
from app.live.program import clock
from app.rulebook.editions import SHELF, Edition
from app.rulebook.own import newer
from app.rulebook.own_words import TABLES
from app.rulebook.season_diff import Difference, ValueDifference, rule_differences, value_differences
from app.storage.records import LayoutItem, LayoutRecord
from app.web.views.home import edition_words
from app.web.views.rulebook import Choice, SourceView, comparable, layout_choices, source_view

WHAT = {"changed": say("changed"), "new": say("new"), "gone": say("no longer")}
MOST_VALUES = 400


@dataclass(frozen=True, slots=True)
class DifferenceView:
    """One rule that differs: `what` as a word, `shape` as the class of its sign, the source of what is said now."""

    what: str
    shape: str
    words: str
    source: SourceView


@dataclass(frozen=True, slots=True)
class DifferencesOf:
    """The differences of one matter."""

    heading: str
    rows: tuple[DifferenceView, ...]


@dataclass(frozen=True, slots=True)
class ValueRow:
    """One base value now and before."""

    code: str
    before: str
    now: str


@dataclass(frozen=True, slots=True)
class PassEffect:
    """One element of a layout under both: as called, base value, and what is said of it; `moved`: something differs."""

    number: str
    before_code: str
    now_code: str
    before: str
    now: str
    change: str
    why: str
    moved: bool


@dataclass(frozen=True, slots=True)
class EffectView:
    """What a difference does to one layout. `fault`: why it cannot be said; totals are base values as ruled."""

    layout_id: int
    layout: str
    rows: tuple[PassEffect, ...]
    before: str
    now: str
    change: str
    half_way: str
    says: str
    fault: str


@dataclass(frozen=True, slots=True)
class DifferencesView:
    """Two editions compared, and for a layout if one was chosen."""

    before: str
    now: str
    before_words: str
    now_words: str
    tables: tuple[DifferencesOf, ...]
    values: tuple[ValueRow, ...]
    effect: EffectView | None
    others: tuple[Choice, ...]
    layouts: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class NewsView:
    """What changed in the rulebook of a layout since it was accepted. `target`: the edition to accept, in words too.

    `says`: the heading; `tables` and `effect` are empty and None where the earlier state was not kept.
    """

    layout_id: int
    says: str
    target: str
    target_words: str
    tables: tuple[DifferencesOf, ...]
    values: int
    effect: EffectView | None


def differences_view(
    before: Edition,
    now: Edition,
    layout: LayoutRecord | None,
    layouts: Sequence[tuple[str, LayoutRecord]],
) -> DifferencesView:
    """What `now` says differently from `before`."""
    return DifferencesView(
        before=before.name,
        now=now.name,
        before_words=edition_words(before.name),
        now_words=edition_words(now.name),
        tables=_tables(rule_differences(before, now)),
        values=tuple(_value(one) for one in value_differences(before, now)[:MOST_VALUES]),
        effect=effect_view(before, now, layout) if layout else None,
        others=comparable(now, before.name),
        layouts=layout_choices(layouts, layout.id if layout else 0),
    )


def _tables(found: Iterable[Difference]) -> tuple[DifferencesOf, ...]:
    rows: dict[str, list[DifferenceView]] = {}
    for one in found:
        said = one.now or one.before
        if said is not None:
            source = source_view(said.source)
            row = DifferenceView(WHAT[one.what], f"diff-{one.what}", one.words, source)
            rows.setdefault(one.table, []).append(row)
    return tuple(DifferencesOf(TABLES[table], tuple(rows[table])) for table in TABLES if table in rows)


def _value(one: ValueDifference) -> ValueRow:
    said: list[str] = [
        show(points) if points is not None else say("none") for points in (one.before, one.now)
    ]
    variant = "" if one.variant == "clean" else f" {one.variant}"
    return ValueRow(f"{one.code}{variant}", *said)


def effect_view(before: Edition, now: Edition, layout: LayoutRecord) -> EffectView:
    """A layout ruled and valued under both editions, each with its own half-way mark."""
    try:
        old, new = _review(before, layout.items), _review(now, layout.items)
    except InputError as error:
        half = clock(now.half_way_seconds)
        return EffectView(layout.id, layout.name, (), "", "", "", half, "", said_of(error))
    rows, number = [], 0
    for item, then, today in zip(layout.items, old.lines, new.lines, strict=True):
        number += item.kind == "jump"
        row = _row(str(number) if item.kind == "jump" else "", then, today)
        if item.kind == "jump" or row.moved:
            rows.append(row)
    moved = [one for one in rows if one.moved]
    jumps = sum(one.kind == "jump" for one in layout.items)
    change = new.base_total - old.base_total
    return EffectView(
        layout_id=layout.id,
        layout=layout.name,
        rows=tuple(rows),
        before=show(old.base_total),
        now=show(new.base_total),
        change=_signed(change),
        half_way=_half_way(before, now),
        says=sentences(_too_many(jumps, now), _counts_otherwise(len(moved), change)),
        fault="",
    )


def _too_many(jumps: int, now: Edition) -> str:
    if jumps <= now.boxes:
        return ""
    return say("It has %(jumps)s jump elements, %(count)s count.", jumps=jumps, count=now.boxes)


def _counts_otherwise(moved: int, change: int) -> str:
    if not moved:
        return say("Nothing in it counts otherwise.")
    return say_many(
        "One of its elements counts otherwise: %(points)s points of base value.",
        "%(count)s of its elements count otherwise: %(points)s points of base value.",
        moved,
        points=_signed(change),
    )


def _half_way(before: Edition, now: Edition) -> str:
    old, new = clock(before.half_way_seconds), clock(now.half_way_seconds)
    if old == new:
        return say("The second half begins at %(now)s, as before.", now=new)
    return say("The second half begins at %(now)s, instead of %(before)s.", now=new, before=old)


def _review(book: Edition, items: Sequence[LayoutItem]) -> engine.Review:
    half = book.half_way_seconds
    return engine.review(book, [engine.Performed(one.code, late=one.start >= half) for one in items])


def _row(number: str, then: engine.Line, today: engine.Line) -> PassEffect:
    change = today.base_value - then.base_value
    said = _reasons(today.rulings) or (
        say("before: %(before)s", before=before) if (before := _reasons(then.rulings)) else ""
    )
    credit = {True: say("late credit now"), False: say("no late credit any more")}[today.credited]
    moved = change != 0 or then.code != today.code
    parts = [said if then.rulings != today.rulings else "", credit if then.credited != today.credited else ""]
    if moved and not any(parts):
        parts = [say("another base value")]
    return PassEffect(
        number,
        then.code,
        today.code,
        show(then.base_value),
        show(today.base_value),
        _signed(change),
        clauses(parts) if moved else "",
        moved,
    )


def _reasons(rulings: Sequence[Ruling]) -> str:
    return clauses(dict.fromkeys(one.why for one in rulings))


def _signed(points: int) -> str:
    return Figure(f"+{show(points)}" if points > 0 else show(points).replace("-", "\N{MINUS SIGN}"))


def news_view(layout: LayoutRecord) -> NewsView | None:
    """What changed for a layout since its rulebook was accepted: the same edition changed, or a newer own version."""
    today = engine.edition(layout.edition)
    later = newer(layout.edition, engine.editions())
    target = engine.edition(later) if later else today
    moved = bool(layout.fingerprint) and layout.fingerprint != today.fingerprint
    if not moved and not later:
        return None
    before = SHELF.kept.get((layout.edition, layout.fingerprint)) if moved else today
    says = (
        say("Your rulebook has a newer version, %(split)s.", split=later.split("/")[2])
        if later
        else say("The rulebook has changed since this layout was planned.")
    )
    if before is None:
        return NewsView(
            layout.id, sentences(says, say("How it was before was not kept.")), target.name, "", (), 0, None
        )
    return NewsView(
        layout_id=layout.id,
        says=says,
        target=target.name,
        target_words=edition_words(target.name) if later else "",
        tables=_tables(rule_differences(before, target)),
        values=len(value_differences(before, target)),
        effect=effect_view(before, target, layout),
    )

"""The page of a fragile program: picture, the worst failures in sentences, what a spare is worth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from markupsafe import Markup

from app import engine
from app.domain.words import Figure, ended, figure, listed, say, sentences
from app.live.advice import sure_things, unknown_chances
from app.live.program import KnownElement, Limits, Plan, PlannedPass, clock
from app.planner.consequences import What
from app.planner.fragile import LONG_UNIT, REPEAT, UNIT
from app.planner.slips import Kind
from app.rulebook.editions import Edition
from app.storage.records import LayoutRecord, SkaterRecord
from app.web.fragility_picture import Arc, Bar, FragilePicture, Mark, Miss, draw_tall, draw_wide
from app.web.views import fragility_words as words
from app.web.views.home import edition_words
from app.web.views.layout import RulingView, ruling_views

WORST, DRAWN = 3, 3
SHORT = {
    Kind.FELL: say("fell"),
    Kind.POPPED: say("popped"),
    Kind.SINGLED: say("single"),
    Kind.TAIL_LOST: say("tail lost"),
    Kind.TAIL_SHORT: say("tail short"),
    Kind.LEFT_OUT: say("out"),
}
"""The word beside a miss in the picture."""
EMPTY = {
    What.AXEL: say("Axel"),
    What.UNIT: say("combo"),
    What.COMBO: say("combo"),
    What.LONG_UNIT: say("3 jumps"),
    What.BOX: say("box"),
}
"""The word beside an open ring at the end of the picture, the gravest first."""
THINGS = {
    UNIT: say("A combination place"),
    LONG_UNIT: say("The three-jump unit"),
    REPEAT: say("A place for a repeated triple"),
}


@dataclass(frozen=True, slots=True)
class Report:
    """What was reckoned for one layout: the answer of the engine, and what it was asked with."""

    plan: Plan
    known: Mapping[str, KnownElement]
    limits: Limits
    found: engine.Fragility
    spares: tuple[engine.Spare, ...]


@dataclass(frozen=True, slots=True)
class FailureView:
    """One failure in sentences. `place`: its index in the report, for drawing it alone; `drawn`: it is drawn now."""

    place: int
    fails: str
    follows: str
    answer: str
    likely: str
    rules: tuple[RulingView, ...]
    drawn: bool


@dataclass(frozen=True, slots=True)
class PassFailures:
    """All other failures of one pass."""

    number: int
    code: str
    failures: tuple[FailureView, ...]


@dataclass(frozen=True, slots=True)
class SpareRow:
    """One boundary of one thing: where, how many are left, one more wins, one fewer costs."""

    where: str
    left: int
    more: str
    fewer: str


@dataclass(frozen=True, slots=True)
class SpareView:
    """What one thing is worth along the program; `most` says its greatest worth in words."""

    thing: str
    most: str
    rows: tuple[SpareRow, ...]


@dataclass(frozen=True, slots=True)
class FragilityView:
    """The page. `alone`: one failure was chosen for the picture."""

    layout_id: int
    layout: str
    skater: str
    edition: str
    summary: str
    wide: Markup
    tall: Markup
    drawn: str
    alone: bool
    worst: tuple[FailureView, ...]
    others: tuple[PassFailures, ...]
    unknown: str
    spares: tuple[SpareView, ...]


def fragility_view(
    layout: LayoutRecord, skater: SkaterRecord, report: Report, show: int | None = None
) -> FragilityView:
    """The page of a report; `show`: draw the failure of that index alone."""
    book = engine.edition(layout.edition)
    failures = report.found.failures
    chosen = [failures[show]] if show is not None and 0 <= show < len(failures) else _to_draw(report)
    worst = report.found.worst(WORST)
    picture = _picture(report, chosen, book)
    views = {id(one): _failure(n, one, report, book, one in chosen) for n, one in enumerate(failures)}
    return FragilityView(
        layout_id=layout.id,
        layout=layout.name,
        skater=skater.name,
        edition=edition_words(layout.edition),
        summary=_summary(report),
        wide=draw_wide(picture),
        tall=draw_tall(picture),
        drawn=_drawn_words(chosen),
        alone=show is not None,
        worst=tuple(views[id(one)] for one in worst),
        others=tuple(
            PassFailures(number, group[0].planned, tuple(views[id(one)] for one in group))
            for number, group in _by_pass([one for one in failures if one not in worst])
        ),
        unknown=_unknown(report),
        spares=_spares(report),
    )


def _by_pass(failures: Sequence[engine.Failure]) -> list[tuple[int, list[engine.Failure]]]:
    return [(number, list(group)) for number, group in groupby(failures, key=lambda one: one.number)]


def _summary(report: Report) -> str:
    found = report.found
    own = found.expected_loss - found.expected_consequences
    later = found.expected_consequences
    if later >= words.PRINTED:
        return say(
            "Against a program with every pass landed at its usual grade, misses are expected to cost %(own)s "
            "points on their own passes and %(later)s on later ones.",
            own=figure(own),
            later=figure(later),
        )
    return say(
        "Against a program with every pass landed at its usual grade, misses are expected to cost %(own)s points "
        "on their own passes and next to nothing on later ones, as long as the rest is kept as planned.",
        own=figure(own),
    )


def _unknown(report: Report) -> str:
    """Which planned elements have no chances of the skater's own, and how they are reckoned."""
    sure = dict.fromkeys(sure_things(report.plan, report.known))
    others = [code for code in dict.fromkeys(unknown_chances(report.plan, report.known)) if code not in sure]
    said = []
    if others:
        said.append(
            say(
                "No chances are recorded for %(codes)s: reckoned as others at this level.",
                codes=listed(others),
            )
        )
    if sure:
        said.append(say("No chances are recorded for %(codes)s: reckoned as landed.", codes=listed(sure)))
    return sentences(*said)


def _failure(place: int, one: engine.Failure, report: Report, book: Edition, drawn: bool) -> FailureView:
    rules = ruling_views(one.becomes, one.own_rulings) if one.becomes else ()
    for effect in one.effects:
        if effect.rulings:
            rules += ruling_views(one.program[effect.number - 1], effect.rulings)
    return FailureView(
        place=place,
        fails=words.what_fails(one),
        follows=words.what_follows(one, book),
        answer=words.what_answers(one, report.limits),
        likely=words.how_likely(one),
        rules=rules,
        drawn=drawn,
    )


def _to_draw(report: Report) -> list[engine.Failure]:
    """The worst failures that reach another pass or leave a place unused, one a pass."""
    found: dict[int, engine.Failure] = {}
    for one in report.found.worst(len(report.found.failures)):
        if _reach(one):
            found.setdefault(one.number, one)
    return sorted(list(found.values())[:DRAWN], key=lambda one: one.number)


def _reach(one: engine.Failure) -> bool:
    return any(effect.what in EMPTY or effect.rulings for effect in one.effects)


def _picture(report: Report, chosen: Sequence[engine.Failure], book: Edition) -> FragilePicture:
    arcs = tuple(arc for n, one in enumerate(chosen) for arc in _arcs(n, one, report, book))
    rows = tuple(
        Bar(number, row.seconds, row.code, row.late) for number, row in enumerate(report.plan.passes, start=1)
    )
    picture = FragilePicture(
        key="fragile",
        title=say("What a miss drags along"),
        says="",
        bars=rows,
        misses=tuple(Miss(one.number, SHORT[one.kind]) for one in chosen),
        arcs=arcs,
    )
    return replace(picture, says=_says(report, chosen, book))


def _arcs(miss: int, one: engine.Failure, report: Report, book: Edition) -> list[Arc]:
    """A star or a plate at every jump that counts for less, and one ring for what stays unused."""
    found = []
    for effect in one.effects:
        if effect.rulings:
            jumps = listed(words.names_of(effect, one.program[effect.number - 1]))
            star = effect.what is What.NOTHING
            word = (
                say("%(jumps)s zero", jumps=jumps)
                if star
                else say("%(jumps)s %(percent)s %%", jumps=jumps, percent=words.percent(book))
            )
            mark = Mark.STAR if star else Mark.PART
            found.append(Arc(miss, effect.number, mark, word, signed(-float(effect.points) / 100)))
    empty = next((what for what in EMPTY if what in {effect.what for effect in one.effects}), None)
    answer = words.answer_to(one, report.limits)
    if empty is not None and answer is not None and answer[0].element is not None:
        swap = answer[0]
        found.append(Arc(miss, swap.number, Mark.RING, swap.element or "", signed(swap.gain)))
    elif empty is not None:
        found.append(Arc(miss, 0, Mark.RING, EMPTY[empty], signed(-one.cost)))
    return found


def signed(points: float) -> str:
    """Points with their sign, a true minus."""
    return Figure(f"{'+' if points >= 0 else '−'}{abs(points):.1f}")


def _drawn_words(chosen: Sequence[engine.Failure]) -> str:
    if not chosen:
        return say("No failure with a recorded chance reaches beyond its own pass.")
    return ended(words.what_fails(chosen[0])) if len(chosen) == 1 else ""


def _says(report: Report, chosen: Sequence[engine.Failure], book: Edition) -> str:
    """The picture in words."""
    rows: Sequence[PlannedPass] = report.plan.passes
    said: list[str] = [
        say(
            "Pass %(number)s at %(when)s, second half: %(code)s."
            if row.late
            else "Pass %(number)s at %(when)s: %(code)s.",
            number=number,
            when=clock(row.seconds),
            code=row.code,
        )
        for number, row in enumerate(rows, start=1)
    ]
    for one in chosen:
        said.append(
            say("%(what)s: %(follows)s.", what=words.what_fails(one), follows=words.what_follows(one, book))
        )
        said.append(words.what_answers(one, report.limits))
    return sentences(*said)


def _spares(report: Report) -> tuple[SpareView, ...]:
    found = []
    for what, group in groupby(report.spares, key=lambda one: one.what):
        spares = list(group)
        best = max((one.one_more or 0.0 for one in spares), default=0.0)
        worst = max((one.one_fewer or 0.0 for one in spares), default=0.0)
        found.append(SpareView(THINGS.get(what, f"A {what}"), _most(best, worst), _rows(spares)))
    return tuple(found)


def _most(best: float, worst: float) -> str:
    if max(best, worst) < words.PRINTED:
        return say("makes no difference in this program")
    said = [say("one more is worth up to %(points)s", points=figure(best))] if best >= words.PRINTED else []
    said += [say("one fewer costs up to %(points)s", points=figure(worst))] if worst >= words.PRINTED else []
    return listed(said)


def _rows(spares: Sequence[engine.Spare]) -> tuple[SpareRow, ...]:
    return tuple(
        SpareRow(
            where=say("before pass 1") if one.after == 0 else say("after pass %(number)s", number=one.after),
            left=one.left,
            more=say("none used yet") if one.one_more is None else _worth(one.one_more, 1),
            fewer=say("none left") if one.one_fewer is None else _worth(one.one_fewer, -1),
        )
        for one in spares
    )


def _worth(points: float, sign: int) -> str:
    return signed(sign * points) if points >= words.PRINTED else "0"

"""A season's lost combinations, rehearsals, choices and forecasts as tables and sentences; a rate only of enough."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from markupsafe import Markup

from app.live.program import Setting
from app.review.season.choices import Choice, quality
from app.review.season.forecasts import ENOUGH_FORECASTS, Forecast, brier, parts
from app.review.season.rehearsals import effect
from app.review.season.shares import ENOUGH, Share
from app.review.season.units import LostUnit, grouped, losses
from app.web.season_picture import LossRow, Panel, draw_losses, draw_panels, draw_parts
from app.web.season_source import Facts
from app.web.views.home import day_words

Key = TypeVar("Key")

ON_PURPOSE = "something else tried"
SETTINGS = {Setting.COMPETITION: "In competition", Setting.RUN_THROUGH: "In run-throughs"}


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table: its name and its cells, in words."""

    name: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LossesView:
    """Lost and won back. `said`: one sentence a setting; `by_pass`, `by_kind`: cells in the order of SETTINGS."""

    said: tuple[str, ...]
    picture: Markup
    by_pass: tuple[Row, ...]
    by_kind: tuple[Row, ...]
    enough: int = ENOUGH


@dataclass(frozen=True, slots=True)
class EffectView:
    """Before and after the first rehearsal: rows of counts, and what may be said of the difference."""

    rows: tuple[Row, ...]
    gap: str
    any: bool


@dataclass(frozen=True, slots=True)
class ChoicesView:
    """Choices after a miss. `said`: the sentence; `rows`: right or not, by what came of it; `each`: a line a choice."""

    said: str
    luck: str
    unweighed: str
    rows: tuple[Row, ...]
    picture: Markup
    each: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ChancesView:
    """Forecasts beside outcomes. `rows`: attempts, Brier score and that of the level, a setting each."""

    said: str
    rows: tuple[Row, ...]
    picture: Markup


def share_words(share: Share) -> str:
    """Counts, and a percentage with its interval where there are enough: `12 of 20, 60 % (42 to 76 %)`."""
    said = f"{share.count} of {share.of}"
    found = share.estimate
    if not share.enough or found is None:
        return said
    return f"{said}, {found.chance:.0%} ({found.low * 100:.0f} to {found.high:.0%})".replace("%", " %")


def losses_view(facts: Facts) -> LossesView | None:
    """Lost combinations; None when none was lost."""
    if not facts.lost:
        return None
    passes = sorted({one.number for one in facts.lost})
    kinds = dict.fromkeys(_kind(one) for one in facts.lost)
    return LossesView(
        said=tuple(_said(words, _of(facts.lost, setting)) for setting, words in SETTINGS.items()),
        picture=draw_losses(
            [
                LossRow(
                    f"Pass {number}",
                    tuple(
                        (one.setting is Setting.COMPETITION, one.had_place, one.won_back)
                        for one in facts.lost
                        if one.number == number
                    ),
                )
                for number in passes
            ]
        ),
        by_pass=tuple(
            Row(f"Pass {number}", _cells(facts.lost, lambda one: one.number, number)) for number in passes
        ),
        by_kind=tuple(Row(kind.capitalize(), _cells(facts.lost, _kind, kind)) for kind in kinds),
    )


def _of(lost: Sequence[LostUnit], setting: Setting) -> list[LostUnit]:
    return [one for one in lost if one.setting is setting]


def _kind(one: LostUnit) -> str:
    return one.kind.value if one.kind else ON_PURPOSE


def _cells(lost: Sequence[LostUnit], key: Callable[[LostUnit], Key], name: Key) -> tuple[str, ...]:
    found = []
    for setting in SETTINGS:
        group = grouped(_of(lost, setting), key).get(name)
        found.append("–" if group is None else f"{group.lost} lost, {group.won_back.count} back")
    return tuple(found)


def _said(words: str, lost: Sequence[LostUnit]) -> str:
    if not lost:
        return f"{words}: none was lost."
    found = losses(lost)
    no_place = found.lost - found.won_back.of
    back = share_words(found.won_back)
    if not no_place:
        return f"{words}: {found.lost} lost. Won back: {back}."
    said = f"{words}: {found.lost} lost, {no_place} of them with no solo jump left to add to."
    return f"{said} Won back of the rest: {back}."


def effect_view(facts: Facts) -> EffectView:
    """Whether losses were won back more often after rehearsing."""
    found = effect(facts.lost, facts.rehearsed)
    rows = (
        Row("Before the first rehearsal of that failure", (share_words(found.before),)),
        Row("After it", (share_words(found.after),)),
        Row("Failures never rehearsed", (share_words(found.never),)),
    )
    gap = found.gap
    if gap is None:
        said = f"Fewer than {ENOUGH} before or after: no difference is named."
    else:
        low, mid, high = (round(100 * one) for one in (gap.low, gap.chance, gap.high))
        said = f"After it {mid:+d} percentage points, with 90 % certainty between {low:+d} and {high:+d}."
    return EffectView(rows, said, bool(facts.rehearsed))


def choices_view(facts: Facts) -> ChoicesView | None:
    """Choices after a miss; None when there was none."""
    if not facts.choices:
        return None
    found = quality(facts.choices)
    luck = ""
    if found.right_and_missed:
        times = "once" if found.right_and_missed == 1 else f"{found.right_and_missed} times"
        luck = f"A right choice did not come off {times}: that was bad luck, and the choice stays right."
    return ChoicesView(
        said=f"Right by what was known then: {share_words(found.right)}. Given away in all: {found.away:.1f} points, "
        "as reckoned before each pass.",
        luck=luck,
        unweighed=f"Not weighed, because what was tried was not trained then or had no place in the plan: "
        f"{facts.unweighed}."
        if facts.unweighed
        else "",
        rows=(
            Row("Right by what was known", (str(found.right_and_came), str(found.right_and_missed))),
            Row("Another was better", (str(found.short_and_came), str(found.short_and_missed))),
        ),
        picture=draw_panels(
            "choices", "Points given away after a miss", [_away_panel(facts)], _competitions(facts)
        ),
        each=tuple(_choice_words(one, facts) for one in facts.choices),
    )


def _competitions(facts: Facts) -> list[bool]:
    return [one.setting is Setting.COMPETITION for one in facts.programs]


def _away_panel(facts: Facts) -> Panel:
    away: dict[int, float] = {}
    for one in facts.choices:
        away[one.program_id] = away.get(one.program_id, 0.0) + one.decision.short_of
    total = sum(away.values())
    return Panel("Given away", f"{total:.1f} points", tuple(away.get(one.id) for one in facts.programs))


def _choice_words(one: Choice, facts: Facts) -> str:
    said = one.decision
    tried, best = said.tried or "leaving it out", said.best or "leaving it out"
    where = f"{day_words(one.at.date())}, {facts.names[one.program_id]}, pass {said.number}"
    came = "it came" if said.came else "it did not come off"
    if said.right:
        return f"{where}: {tried} was right; {came}."
    return f"{where}: {tried}, {said.short_of:.1f} points less on average than {best}; {came}."


def chances_view(facts: Facts) -> ChancesView | None:
    """Forecasts beside outcomes; None without any."""
    found = facts.forecasts
    if not found:
        return None
    few = len(found) < ENOUGH_FORECASTS
    rows = [
        _score_row(words, [o for o in found if o.setting is setting]) for setting, words in SETTINGS.items()
    ]
    said = (
        f"{len(found)} attempts, fewer than {ENOUGH_FORECASTS}: too few to judge the chances by."
        if few
        else ""
    )
    return ChancesView(said, (*rows, _score_row("All", found)), draw_parts(parts(found)))


def _score_row(words: str, found: Sequence[Forecast]) -> Row:
    """Attempts, the score of the own chances, and both on the attempts of which sheets say something."""
    if not found:
        return Row(words, ("0", "–", "–"))
    known = [(one.others, one.landed) for one in found if one.others is not None]
    own = f"{brier((one.said, one.landed) for one in found):.2f}"
    return Row(words, (str(len(found)), own, f"{brier(known):.2f}" if len(known) == len(found) else "–"))

"""A season's lost combinations, rehearsals, choices and forecasts as tables and sentences; a rate only of enough."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from markupsafe import Markup

from app.domain.words import Text, figure, say, say_many
from app.live.program import Setting
from app.planner.slips import Kind
from app.review.season.choices import Choice, quality
from app.review.season.forecasts import ENOUGH_FORECASTS, Forecast, brier, parts
from app.review.season.rehearsals import effect
from app.review.season.shares import ENOUGH, Share
from app.review.season.units import LostUnit, grouped, losses
from app.web.languages import Day
from app.web.season_picture import LossRow, Panel, draw_losses, draw_panels, draw_parts, percent
from app.web.season_source import Facts

Key = TypeVar("Key")

KINDS: dict[Kind | None, Text] = {
    Kind.FELL: say("Fell"),
    Kind.POPPED: say("Popped by one turn"),
    Kind.SINGLED: say("Popped to a single"),
    Kind.TAIL_LOST: say("Tail lost"),
    Kind.TAIL_SHORT: say("Tail shortened"),
    Kind.LEFT_OUT: say("Not attempted"),
    None: say("Something else tried"),
}
SETTINGS = {Setting.COMPETITION: say("In competition"), Setting.RUN_THROUGH: say("In run-throughs")}


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


@dataclass(frozen=True, slots=True)
class EffectView:
    """Before and after the first rehearsal: rows of counts, and what may be said of the difference."""

    rows: tuple[Row, ...]
    gap: str
    any: bool


@dataclass(frozen=True, slots=True)
class ChoicesView:
    """Choices after a miss. `said`: the sentence; `rows`: right or not, by what came of it; `each`: a line a choice.

    `others`: how many choices nothing need be said of.
    """

    said: str
    luck: str
    unweighed: str
    rows: tuple[Row, ...]
    picture: Markup
    each: tuple[str, ...]
    others: str


@dataclass(frozen=True, slots=True)
class ChancesView:
    """Forecasts beside outcomes. `rows`: attempts, Brier score and that of the level, a setting each.

    `said`: that there are too few; `alone`: how many could not be compared.
    """

    said: str
    alone: str
    rows: tuple[Row, ...]
    picture: Markup


def share_words(share: Share) -> str:
    """Counts, and a percentage with its interval where there are enough: `12 of 20, 60 % (42 to 76 %)`."""
    found = share.estimate
    if not share.enough or found is None:
        return say("%(count)s of %(of)s", count=share.count, of=share.of)
    return say(
        "%(count)s of %(of)s, %(share)s %% (%(low)s to %(high)s %%)",
        count=share.count,
        of=share.of,
        share=percent(found.chance),
        low=percent(found.low),
        high=percent(found.high),
    )


def losses_view(facts: Facts) -> LossesView | None:
    """Lost combinations; None when none was lost."""
    if not facts.lost:
        return None
    passes = sorted({one.number for one in facts.lost})
    kinds = dict.fromkeys(one.kind for one in facts.lost)
    return LossesView(
        said=tuple(_said(setting, _of(facts.lost, setting)) for setting in SETTINGS),
        picture=draw_losses(
            [
                LossRow(
                    pass_words(number),
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
            Row(pass_words(number), _cells(facts.lost, lambda one: one.number, number)) for number in passes
        ),
        by_kind=tuple(Row(KINDS[kind], _cells(facts.lost, lambda one: one.kind, kind)) for kind in kinds),
    )


def pass_words(number: int) -> Text:
    """A pass by its number."""
    return say("Pass %(number)s", number=number)


def _of(lost: Sequence[LostUnit], setting: Setting) -> list[LostUnit]:
    return [one for one in lost if one.setting is setting]


def _cells(lost: Sequence[LostUnit], key: Callable[[LostUnit], Key], name: Key) -> tuple[str, ...]:
    found = []
    for setting in SETTINGS:
        group = grouped(_of(lost, setting), key).get(name)
        found.append(
            "–"
            if group is None
            else say("%(lost)s lost, %(back)s back", lost=group.lost, back=group.won_back.count)
        )
    return tuple(found)


def _said(setting: Setting, lost: Sequence[LostUnit]) -> str:
    if not lost:
        return say("%(where)s: none was lost.", where=SETTINGS[setting])
    found = losses(lost)
    values = {"where": SETTINGS[setting], "lost": found.lost, "back": share_words(found.won_back)}
    no_place = found.lost - found.won_back.of
    if not no_place:
        return say("%(where)s: %(lost)s lost. Won back: %(back)s.", **values)
    return say(
        "%(where)s: %(lost)s lost, %(no_place)s of them with no solo jump left to add to. "
        "Won back of the rest: %(back)s.",
        no_place=no_place,
        **values,
    )


def effect_view(facts: Facts) -> EffectView:
    """Whether losses were won back more often after rehearsing."""
    found = effect(facts.lost, facts.rehearsed)
    rows = (
        Row(say("Before the first rehearsal of that failure"), (share_words(found.before),)),
        Row(say("After it"), (share_words(found.after),)),
        Row(say("Failures never rehearsed"), (share_words(found.never),)),
    )
    gap = found.gap
    if gap is None:
        said = say("Fewer than %(enough)s before or after: no difference is named.", enough=ENOUGH)
    else:
        said = say(
            "After it %(gap)s percentage points, with 90 %% certainty between %(low)s and %(high)s.",
            gap=_signed(gap.chance),
            low=_signed(gap.low),
            high=_signed(gap.high),
        )
    return EffectView(rows, said, bool(facts.rehearsed))


def _signed(share: float) -> str:
    return f"{percent(share):+d}"


def choices_view(facts: Facts) -> ChoicesView | None:
    """Choices after a miss; None when there was none."""
    if not facts.choices:
        return None
    found = quality(facts.choices)
    missed = found.right_and_missed
    return ChoicesView(
        said=say(
            "Right by what was known then: %(right)s. Given away in all: %(away)s points, as reckoned "
            "before each pass.",
            right=share_words(found.right),
            away=figure(found.away),
        ),
        luck=say_many(
            "A right choice did not come off once: that was bad luck, and the choice stays right.",
            "A right choice did not come off %(count)s times: that was bad luck, and the choice stays right.",
            missed,
        )
        if missed
        else "",
        unweighed=say(
            "Not weighed, because what was tried was not trained then or had no place in the plan: %(count)s.",
            count=facts.unweighed,
        )
        if facts.unweighed
        else "",
        rows=(
            Row(say("Right by what was known"), (str(found.right_and_came), str(missed))),
            Row(say("Another was better"), (str(found.short_and_came), str(found.short_and_missed))),
        ),
        picture=draw_panels(
            "choices", say("Points given away after a miss"), [_away_panel(facts)], _competitions(facts)
        ),
        each=tuple(_choice_words(one, facts) for one in facts.choices if not _plain(one)),
        others=_others(sum(map(_plain, facts.choices))),
    )


def _competitions(facts: Facts) -> list[bool]:
    return [one.setting is Setting.COMPETITION for one in facts.programs]


def _away_panel(facts: Facts) -> Panel:
    away: dict[int, float] = {}
    for one in facts.choices:
        away[one.program_id] = away.get(one.program_id, 0.0) + one.decision.short_of
    total = say("%(points)s points", points=figure(sum(away.values())))
    return Panel(say("Given away"), total, tuple(away.get(one.id) for one in facts.programs))


def _plain(one: Choice) -> bool:
    """Whether the plan was kept, rightly, and it came."""
    said = one.decision
    return said.right and said.came and said.tried == said.planned


def _others(count: int) -> str:
    if not count:
        return ""
    return say_many(
        "Once more the plan was kept, rightly, and it came.",
        "%(count)s times more the plan was kept, rightly, and it came.",
        count,
    )


def _choice_words(one: Choice, facts: Facts) -> str:
    said = one.decision
    where = say(
        "%(day)s, %(program)s, pass %(number)s",
        day=Day(one.at.date()),
        program=facts.names[one.program_id],
        number=said.number,
    )
    tried = said.tried or say("leaving it out")
    came = say("it came") if said.came else say("it did not come off")
    if said.right:
        return say("%(where)s: %(tried)s was right; %(came)s.", where=where, tried=tried, came=came)
    return say(
        "%(where)s: %(tried)s, %(away)s points less on average than %(best)s; %(came)s.",
        where=where,
        tried=tried,
        away=figure(said.short_of),
        best=said.best or say("leaving it out"),
        came=came,
    )


def chances_view(facts: Facts) -> ChancesView | None:
    """Forecasts beside outcomes; None without any. Both scores are of the attempts of which sheets say something."""
    found = [one for one in facts.forecasts if one.others is not None]
    if not found:
        return None
    rows = [
        _score_row(words, [o for o in found if o.setting is setting]) for setting, words in SETTINGS.items()
    ]
    return ChancesView(
        said=_few(len(found)),
        alone=_alone(len(facts.forecasts) - len(found)),
        rows=(*rows, _score_row(say("All"), found)),
        picture=draw_parts(parts(found)),
    )


def _few(count: int) -> str:
    if count >= ENOUGH_FORECASTS:
        return ""
    return say(
        "%(count)s attempts, fewer than %(enough)s: too few to judge the chances by.",
        count=count,
        enough=ENOUGH_FORECASTS,
    )


def _alone(count: int) -> str:
    if not count:
        return ""
    return say("Left out, because sheets say nothing of such jumps: %(count)s.", count=count)


def _score_row(words: str, found: Sequence[Forecast]) -> Row:
    """Attempts, the score of the own chances, and that of the level alone."""
    if not found:
        return Row(words, ("0", "–", "–"))
    own = brier((one.said, one.landed) for one in found)
    level = brier((one.others or 0.0, one.landed) for one in found)
    return Row(words, (str(len(found)), figure(own, 2), figure(level, 2)))

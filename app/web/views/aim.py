"""The aim page: what is needed, how likely it is by keeping the plan, by the best swap, by the best answers."""

from __future__ import annotations

from dataclasses import dataclass, replace

from markupsafe import Markup

from app import engine
from app.domain.words import Figure, figure, say, say_many, sentences
from app.live import aim as aims
from app.live.advice import Choice, swap_words
from app.live.doubt import in_doubt
from app.live.events import AimSet
from app.live.fold import LiveState
from app.live.line import percent
from app.web.advisor import Advisor
from app.web.spread_picture import Ends, draw_spread
from app.web.standing import spins_and_steps
from app.web.views.boards import Sheet
from app.web.views.decided import decide
from app.web.views.live import Mode, mode_of
from app.web.visitor import Visitor

RANGE = (0.1, 0.9)
IN_DOUBT = say("A call is in doubt: these chances are the average over the ways it may go.")

NO_BEST = say(
    "The best chance over all answers is not shown until the call is known: what is still needed changes with it."
)


@dataclass(frozen=True, slots=True)
class Way:
    """One way to go on: its name, the chance of the aim (empty without one), the middle, and the likely range."""

    name: str
    chance: str
    mean: str
    likely: str


@dataclass(frozen=True, slots=True)
class AimView:
    """The aim page. `seen`: length of the log; `hidden`: why no points show.

    `parts`: what the total is made of, in words and points. `may_aim`: something is left to aim at, and nobody has
    stopped it.
    """

    program_id: int
    title: str
    seen: int
    event_id: str
    kind: str
    points: str
    components: str
    hidden: str
    may_aim: bool
    headline: str
    ways: tuple[Way, ...]
    parts: tuple[tuple[str, str], ...]
    picture: Markup
    caption: str
    note: str


def aim_view(sheet: Sheet, advisor: Advisor, visitor: Visitor, event_id: str) -> AimView:
    """The page of one program for one device."""
    state = sheet.ahead
    view = AimView(
        program_id=sheet.record.id,
        title=sheet.record.layout_name,
        seen=len(sheet.log),
        event_id=event_id,
        kind=state.aim.kind,
        points=figure(state.aim.points, 2) if state.aim.kind != "expected" else "",
        components=figure(state.aim.components, 2) if state.aim.components else "",
        hidden=_hidden(state, visitor),
        may_aim=mode_of(state) not in (Mode.STOPPED, Mode.FINISHED),
        headline="",
        ways=(),
        parts=(),
        picture=Markup(),
        caption="",
        note="",
    )
    return view if view.hidden else _with_chances(view, sheet, state, advisor)


def refused(view: AimView, why: str, kind: str, points: str, components: str) -> AimView:
    """The form as it was typed, with the reason in place of the picture, which would be of another total."""
    said = sentences(f"{why}.", view.hidden or say("The aim is as before."))
    return replace(view, kind=kind, points=points, components=components, hidden=said)


def _hidden(state: LiveState, visitor: Visitor) -> str:
    mode = mode_of(state)
    if mode is Mode.STOPPED:
        return say("The program is stopped: no points.")
    if mode is Mode.FINISHED:
        return say("All passes are logged: nothing is left to aim at.")
    if mode is Mode.SILENT or not visitor.sees_advice:
        return say("Advice and points are hidden in this program.")
    return ""


def _with_chances(view: AimView, sheet: Sheet, state: LiveState, advisor: Advisor) -> AimView:
    elements = sheet.elements
    others = spins_and_steps(sheet.edition, sheet.record.items)
    decided = decide(sheet.record.id, state, elements, sheet.limits, others, advisor)
    answer, choice = decided.answer, decided.choice
    spreads = advisor.spreads(sheet.record.id, state, elements, sheet.limits, choice.swap)
    sure = answer.elsewhere.total
    target = state.aim.points if _aimed(state.aim) else None
    plan, best = spreads.plan, advisor.best_chance(state, elements, sheet.limits, sure)
    ways = [_way(say("Keep the plan"), plan, sure, target)]
    swapped = spreads.swap
    if swapped is not None and choice.swap is not None:
        ways.append(_way(_swap_words(choice), swapped, sure, target))
    said = [decided.note]
    if target is not None and in_doubt(state):
        said += [IN_DOUBT, "" if best is not None else NO_BEST]
    if best is not None and target is not None:
        chance, bound = best
        most = sheet.limits.most_changes
        reached = say_many(
            "With the best trained answer at every pass (up to %(count)s change): %(chance)s.",
            "With the best trained answer at every pass (up to %(count)s changes): %(chance)s.",
            most,
            chance=percent(chance),
        )
        said.insert(0, reached)
        if bound > 0.005:
            said.append(say("The true chance may be higher by up to %(chance)s.", chance=percent(bound)))
    ends = Ends(say("keep the plan"), [sure + x for x in plan.points], plan.chances)
    other = (
        Ends(_swap_words(choice), [sure + x for x in swapped.points], swapped.chances) if swapped else None
    )
    return replace(
        view,
        headline=_headline(state.aim, ways),
        ways=tuple(ways),
        parts=_parts(answer.elsewhere, plan.mean, target, has_bonus=sheet.edition.bonuses is not None),
        picture=draw_spread(ends, other, target, _said(ways, target)),
        caption=_caption(ways, view.points),
        note=sentences(*said),
    )


def _caption(ways: list[Way], target: str) -> str:
    """What the picture shows."""
    return sentences(
        say("Bars: %(way)s.", way=ways[0].name),
        say("Stepped line: %(way)s.", way=ways[1].name) if len(ways) > 1 else "",
        say("Upright line: %(points)s.", points=Figure(target)) if target else "",
        say("Total points of this segment, misses included."),
    )


def _aimed(aim: AimSet) -> bool:
    return aim.kind != "expected"


def _swap_words(choice: Choice) -> str:
    swap = choice.swap
    return "" if swap is None else swap_words(swap)


def _way(name: str, spread: engine.Spread, sure: float, target: float | None) -> Way:
    low, high = (sure + spread.quantile(share) for share in RANGE)
    chance = "" if target is None else percent(spread.at_least(target - sure))
    likely = say("%(low)s to %(high)s", low=figure(low), high=figure(high))
    return Way(name, chance, figure(sure + spread.mean), likely)


def _headline(aim: AimSet, ways: list[Way]) -> str:
    first, best = ways[0], ways[-1]
    if not _aimed(aim):
        return say("Most points: %(points)s expected", points=_from_to(first.mean, best.mean))
    return say("%(chance)s %(aim)s", chance=_from_to(first.chance, best.chance), aim=aims.words(aim))


def _from_to(first: str, best: str) -> str:
    return first if first == best else say("%(first)s → %(best)s", first=first, best=best)


def _parts(
    elsewhere: aims.Elsewhere, to_come: float, target: float | None, *, has_bonus: bool
) -> tuple[tuple[str, str], ...]:
    skated = say("Jumps skated, base value without late credit")
    if has_bonus:
        skated = say("Jumps skated, base value with bonus, without late credit")
    rows = [
        (say("Components, as you reckon them"), elsewhere.components),
        (say("Spins and steps, as planned"), elsewhere.others),
        (skated, elsewhere.skated),
        (say("Their grades, as such attempts usually got"), elsewhere.skated_goe),
        (say("Deductions"), elsewhere.deductions),
        (say("Jumps to come, expected"), to_come),
    ]
    said = [(name, _signed(points)) for name, points in rows if points or name.startswith("Jumps")]
    if target is not None:
        need = target - elsewhere.total
        said.append(
            (
                say("Needed from the jumps to come for %(points)s", points=figure(target, 2)),
                figure(need, 2) if need > 0 else say("nothing more"),
            )
        )
    return tuple(said)


def _signed(points: float) -> str:
    """Points with their sign, a true minus."""
    return Figure(f"{points:+.2f}".replace("-", "−"))


def _said(ways: list[Way], target: float | None) -> str:
    """The picture in words."""
    told = []
    for one in ways:
        if target is not None:
            reach = {"chance": one.chance, "points": figure(target, 2)}
            told.append(say("%(way)s: %(chance)s to get %(points)s.", way=one.name, **reach))
        told.append(
            say(
                "%(way)s: mostly %(likely)s points, %(mean)s on average.",
                way=one.name,
                likely=one.likely,
                mean=one.mean,
            )
        )
    return sentences(*told)

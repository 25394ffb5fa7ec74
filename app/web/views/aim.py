"""The aim page: what is needed, how likely it is by keeping the plan, by the best swap, by the best answers."""

from __future__ import annotations

from dataclasses import dataclass, replace

from markupsafe import Markup

from app import engine
from app.live import aim as aims
from app.live.advice import Choice
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
IN_DOUBT = "A call is in doubt: these chances are the average over the ways it may go."


@dataclass(frozen=True, slots=True)
class Way:
    """One way to go on: its name, the chance of the aim (empty without one), the middle, and the likely range."""

    name: str
    chance: str
    mean: str
    likely: str


@dataclass(frozen=True, slots=True)
class AimView:
    """The aim page. `hidden`: why no points show; `parts`: what the total is made of, in words and points."""

    program_id: int
    title: str
    event_id: str
    kind: str
    points: str
    components: str
    hidden: str
    headline: str
    ways: tuple[Way, ...]
    parts: tuple[tuple[str, str], ...]
    picture: Markup
    note: str


def aim_view(sheet: Sheet, advisor: Advisor, visitor: Visitor, event_id: str) -> AimView:
    """The page of one program for one device."""
    state = sheet.ahead
    view = AimView(
        program_id=sheet.record.id,
        title=sheet.record.layout_name,
        event_id=event_id,
        kind=state.aim.kind,
        points=f"{state.aim.points:.2f}" if state.aim.kind != "expected" else "",
        components=f"{state.aim.components:.2f}" if state.aim.components else "",
        hidden=_hidden(state, visitor),
        headline="",
        ways=(),
        parts=(),
        picture=Markup(),
        note="",
    )
    return view if view.hidden else _with_chances(view, sheet, state, advisor)


def refused(view: AimView, why: str, kind: str, points: str, components: str) -> AimView:
    """The form as it was typed, with the reason in place of the picture, which would be of another total."""
    said = f"{why}. {view.hidden or 'The aim is as before.'}"
    return replace(view, kind=kind, points=points, components=components, hidden=said)


def _hidden(state: LiveState, visitor: Visitor) -> str:
    mode = mode_of(state)
    if mode is Mode.STOPPED:
        return "The program is stopped: no points."
    if mode is Mode.FINISHED:
        return "All passes are logged: nothing is left to aim at."
    if mode is Mode.SILENT or not visitor.sees_advice:
        return "Advice and points are hidden in this program."
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
    ways = [_way("Keep the plan", plan, sure, target)]
    swapped = spreads.swap
    if swapped is not None and choice.swap is not None:
        ways.append(_way(_swap_words(choice), swapped, sure, target))
    note = decided.note
    if target is not None and in_doubt(state):
        note = f"{note} {IN_DOUBT}".lstrip()
    if best is not None and target is not None:
        chance, bound = best
        most = sheet.limits.most_changes
        note = f"With the best trained answer at every pass (up to {most} changes): {percent(chance)}. {note}".rstrip()
        if bound > 0.005:
            note += f" The true chance may be higher by up to {percent(bound)}."
    ends = Ends("keep the plan", [sure + x for x in plan.points], plan.chances)
    other = (
        Ends(_swap_words(choice), [sure + x for x in swapped.points], swapped.chances) if swapped else None
    )
    return replace(
        view,
        headline=_headline(state.aim, ways),
        ways=tuple(ways),
        parts=_parts(answer.elsewhere, plan.mean, target),
        picture=draw_spread(ends, other, target, _said(ways, target)),
        note=note,
    )


def _aimed(aim: AimSet) -> bool:
    return aim.kind != "expected"


def _swap_words(choice: Choice) -> str:
    swap = choice.swap
    return "" if swap is None else f"{swap.element or 'leave out'} on pass {swap.number}"


def _way(name: str, spread: engine.Spread, sure: float, target: float | None) -> Way:
    low, high = (sure + spread.quantile(share) for share in RANGE)
    chance = "" if target is None else percent(spread.at_least(target - sure))
    return Way(name, chance, f"{sure + spread.mean:.1f}", f"{low:.1f} to {high:.1f}")


def _headline(aim: AimSet, ways: list[Way]) -> str:
    first, best = ways[0], ways[-1]
    if not _aimed(aim):
        return f"Most points: {_from_to(first.mean, best.mean)} expected"
    return f"{_from_to(first.chance, best.chance)} {aims.words(aim)}"


def _from_to(first: str, best: str) -> str:
    return first if first == best else f"{first} → {best}"


def _parts(elsewhere: aims.Elsewhere, to_come: float, target: float | None) -> tuple[tuple[str, str], ...]:
    rows = [
        ("Components, as you reckon them", elsewhere.components),
        ("Spins and steps, as planned", elsewhere.others),
        ("Jumps skated, base value without late credit", elsewhere.skated),
        ("Their grades, as such attempts usually got", elsewhere.skated_goe),
        ("Deductions", elsewhere.deductions),
        ("Jumps to come, expected", to_come),
    ]
    said = [(name, _signed(points)) for name, points in rows if points or name.startswith("Jumps")]
    if target is not None:
        need = target - elsewhere.total
        said.append(
            (f"Needed from the jumps to come for {target:.2f}", f"{need:.2f}" if need > 0 else "nothing more")
        )
    return tuple(said)


def _signed(points: float) -> str:
    """Points with their sign, a true minus."""
    return f"{points:+.2f}".replace("-", "−")


def _said(ways: list[Way], target: float | None) -> str:
    """The picture in words."""
    told = []
    for one in ways:
        chance = f"{one.chance} to get {target:.2f}; " if target is not None else ""
        told.append(f"{one.name}: {chance}mostly {one.likely} points, {one.mean} on average")
    return ". ".join(told)

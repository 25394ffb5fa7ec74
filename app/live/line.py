"""The one line on the live screen: what to do, what it brings, what it needs, why, under which rules.

A choice becomes words here. Every sentence is meant for a parent at the boards; rule references ride along
behind it with how sure we are of each.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from app.domain.notation import parse_jump_element
from app.domain.rulings import CERTAINTIES, Ruling
from app.live.advice import Choice, Swap, adds_a_jump
from app.live.entries import caution, record_for
from app.live.events import PassSkated
from app.live.fold import LiveState, likeliest
from app.live.program import KnownElement, Limits
from app.live.rule_notes import RuleNote, notes_for
from app.rulebook.editions import Edition

RULED = {"nothing": "nothing", "part": "only a part"}
"""Rulings that cost something, in words that follow "counts for"."""
ROUNDING = 1e-9
"""Sums of many chances are exact to about so much."""


@dataclass(frozen=True, slots=True)
class Line:
    """`headline` is the largest text on the screen; everything else explains it. `cue`: the skater's own words."""

    is_swap: bool
    headline: str
    gain: str = ""
    needs: str = ""
    cue: str = ""
    why: str = ""
    notes: tuple[RuleNote, ...] = ()
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Ground:
    """What a line is made from. `as_planned`: rulings of the remaining planned passes, by pass number.

    `as_swapped`: the same, were the swap made and everything else kept. `aim`: a total to reach in words, with
    `kept` the chance of it when the plan is kept; `doubt`: whether a doubtful call matters.
    """

    state: LiveState
    edition: Edition
    offered: Mapping[str, KnownElement]
    limits: Limits
    as_planned: Mapping[int, Sequence[Ruling]]
    as_swapped: Mapping[int, Sequence[Ruling]] = field(default_factory=dict)
    aim: str = ""
    kept: float = 0.0
    doubt: str = ""


def line_of(choice: Choice, ground: Ground) -> Line:
    """The line for a choice."""
    if choice.swap is None:
        return _keep(choice, ground)
    return _swap(choice.swap, ground)


def _keep(choice: Choice, ground: Ground) -> Line:
    why = _why_keep(choice, ground)
    notes = notes_for(ground.edition, (), _flat(ground.as_planned))
    gain = f"{percent(ground.kept)} {ground.aim}" if ground.aim else ""
    return Line(False, "Keep the plan", gain=gain, why=why, notes=notes, caution=_caution(notes))


def _why_keep(choice: Choice, ground: Ground) -> str:
    lost = _lost(ground.state, ground.as_planned)
    said = (_why_no_swap(choice, ground), lost, _combination_owed(ground), ground.doubt)
    return " ".join(filter(None, said))


def _combination_owed(ground: Ground) -> str:
    """In a short program: said when the combination is lost and no pass to come is planned as one."""
    state = ground.state
    to_come = state.plan.passes[len(state.logged) :]
    planned = any(parse_jump_element(row.code).is_unit for row in to_come)
    skated = [likeliest(entry).code for entry in state.logged if isinstance(entry, PassSkated)]
    came = any(parse_jump_element(code).is_unit for code in skated)
    if not state.plan.is_short or not to_come or planned or came or _lost_unit(state) is None:
        return ""
    if any(parse_jump_element(code).is_unit for code in _trained_options(ground)):
        return "The combination is still owed, but moving it to a later pass is not worth a change."
    return "The combination is still owed, and nothing trained for the passes to come makes it."


def _lost(state: LiveState, ruled: Mapping[int, Sequence[Ruling]]) -> str:
    """What the passes to come lose to the rules if skated so: the first such jump in words."""
    for number, rulings in sorted(ruled.items()):
        for ruling in rulings:
            if ruling.ruling in RULED:
                planned = state.plan.passes[number - 1].code
                jump = parse_jump_element(planned).jumps[ruling.jump - 1].name
                return f"The {jump} in pass {number} will count for {RULED[ruling.ruling]}."
    return ""


def _why_no_swap(choice: Choice, ground: Ground) -> str:
    if ground.state.changes >= ground.limits.most_changes:
        count = ground.limits.most_changes
        if not count:
            return "Your limits allow no change in this program."
        return (
            f"{count} change{'' if count == 1 else 's'} in one program are enough; the rest stays as planned."
        )
    if choice.held_back:
        return f"Not offered: {choice.held_back}."
    if ground.aim and choice.best_gain > 0.0005:
        more = percent(choice.best_gain)
        return f"The best trained swap adds only {more} to that chance: too little for a change."
    if ground.aim:
        return "No trained swap makes that likelier than the program as planned."
    if choice.best_gain > 0.005:
        return f"The best trained swap brings only {choice.best_gain:.1f} points: too little for a change."
    if not _trained_options(ground):
        return "Nothing else is trained for the passes to come."
    return "No trained swap brings more than the program as planned."


def _trained_options(ground: Ground) -> list[str]:
    """What the skater may try instead on the passes to come."""
    state = ground.state
    to_come = state.plan.passes[len(state.logged) :]
    found = [code for row in to_come for code in row.options if code != row.code]
    return [code for code in found if code is not None and code in ground.offered]


def _swap(swap: Swap, ground: Ground) -> Line:
    notes = notes_for(ground.edition, _codes(swap), _flat(ground.as_planned, swap.number))
    where = "Now" if swap.number == ground.state.next_number else f"Pass {swap.number}"
    if swap.element is None:
        headline, needs, cue = f"{where}: leave it out", "", ""
    else:
        element = ground.offered[swap.element]
        row = ground.state.plan.passes[swap.number - 1]
        record, unsure = record_for(row, element), caution(row, element)
        needs = f"trained {record.record}" + (f", {unsure}" if unsure else "")
        headline, cue = f"{where}: {swap.element}", record.cue
    return Line(
        is_swap=True,
        headline=headline,
        gain=_gain(swap, ground),
        needs=needs,
        cue=cue,
        why=" ".join(filter(None, (_why_swap(swap, ground), _cost_of(swap, ground), ground.doubt))),
        notes=notes,
        caution=_caution(notes),
    )


def _gain(swap: Swap, ground: Ground) -> str:
    if swap.chance is None:
        return f"+{swap.gain:.1f} points"
    return f"{percent(ground.kept)} → {percent(swap.chance)} {ground.aim}"


def percent(chance: float) -> str:
    """A chance as people say it: `48 %`, never a false 0 or 100 (a sum of chances may miss 1 by its rounding)."""
    if ROUNDING < chance < 0.01:
        return "under 1 %"
    return "over 99 %" if 0.99 < chance < 1 - ROUNDING else f"{chance:.0%}".replace("%", " %")


def _cost_of(swap: Swap, ground: Ground) -> str:
    """What the swap takes from a later planned pass, where the plan alone would not lose it."""
    later = {number: rulings for number, rulings in ground.as_swapped.items() if number != swap.number}
    lost = _lost(ground.state, later)
    known = lost == _lost(ground.state, ground.as_planned)
    return "" if not lost or known else f"But then {lost[0].lower()}{lost[1:]}"


def _why_swap(swap: Swap, ground: Ground) -> str:
    ruled = next((r for r in ground.as_planned.get(swap.number, ()) if r.ruling in RULED), None)
    if swap.element is None:
        return f"{swap.planned} would bring nothing here, so the pass is better left out."
    if ruled is not None:
        jump = parse_jump_element(swap.planned).jumps[ruled.jump - 1].name
        much = RULED[ruled.ruling]
        return f"As planned, the {jump} in pass {swap.number} would count for {much}; {swap.element} avoids that."
    if adds_a_jump(swap.element, swap.planned):
        return _why_tail(swap, ground)
    if len(_codes(swap)) > 1 and adds_a_jump(swap.planned, swap.element):
        return f"{swap.element} is surer than {swap.planned}: misses cost more than the extra jump brings."
    if ground.aim:
        return f"Misses included, {swap.element} makes that likelier than {swap.planned}, and it is trained."
    return f"Misses included, {swap.element} brings more here than {swap.planned}, and it is trained."


def _why_tail(swap: Swap, ground: Ground) -> str:
    state = ground.state
    planned = parse_jump_element(swap.planned).jumps
    new = parse_jump_element(swap.element or swap.planned).jumps
    tail = "+".join(jump.name for jump in new[len(planned) :])
    source = _lost_unit(state)
    if state.plan.is_short:
        return f"The combination is still owed: a {tail} after the {planned[0].name} on pass {swap.number} makes it."
    if source is None and _cost_of(swap, ground):
        return f"Misses included, a {tail} after the {planned[0].name} brings more here than what it takes later."
    if source is None:
        return f"A combination is still free: a {tail} after the {planned[0].name} uses it."
    return (
        f"The combination lost on pass {source} left a place free: "
        f"adding {tail} to the {planned[0].name} on pass {swap.number} uses it."
    )


def _lost_unit(state: LiveState) -> int | None:
    """The first pass on which a planned unit came out as a solo jump."""
    for number, (entry, planned) in enumerate(zip(state.logged, state.plan.passes, strict=False), start=1):
        was_unit = parse_jump_element(planned.code).is_unit
        came = isinstance(entry, PassSkated) and parse_jump_element(likeliest(entry).code).is_unit
        if was_unit and not came:
            return number
    return None


def _codes(swap: Swap) -> tuple[str, ...]:
    return (swap.planned,) if swap.element is None else (swap.element, swap.planned)


def _flat(as_planned: Mapping[int, Sequence[Ruling]], number: int | None = None) -> tuple[Ruling, ...]:
    wanted = as_planned.values() if number is None else [as_planned.get(number, ())]
    return tuple(ruling for rulings in wanted for ruling in rulings)


def _caution(notes: Sequence[RuleNote]) -> str:
    """The least sure thing a line rests on, in a word or two; empty when every rule was read."""
    if any(note.disputed for note in notes):
        return "disputed"
    unsure = [note.certainty for note in notes if note.certainty != "read"]
    if not unsure:
        return ""
    word = max(unsure, key=CERTAINTIES.index)
    return "partly from memory" if word == "memory" else f"partly {word}"

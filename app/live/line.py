"""The one line on the live screen: what to do, what it brings, what it needs, why, under which rules.

A choice becomes words here. Every sentence is meant for a parent at the boards; rule references ride along
behind it with how sure we are of each.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from app.domain.notation import parse_jump_element
from app.domain.rulings import CERTAINTIES, Certainty, Ruling
from app.domain.words import figure, say, say_many, sentences
from app.live.advice import Choice, Swap, adds_a_jump
from app.live.entries import caution, record_for
from app.live.events import PassSkated
from app.live.fold import LiveState, likeliest
from app.live.program import KnownElement, Limits
from app.live.rule_notes import RuleNote, notes_for
from app.rulebook.editions import Edition

RULED = ("nothing", "part")
"""Rulings that cost something."""
PARTLY: dict[Certainty, str] = {
    "read": "",
    "second-hand": say("partly second-hand"),
    "inferred": say("partly inferred"),
    "memory": say("partly from memory"),
    "your own": say("partly your own"),
}
"""The least sure rule behind a line, in a word or two."""
ROUNDING = 1e-9
"""Sums of many chances are exact to about so much."""


LEAVE_OUT_NOW = say("Now: leave it out")


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
    gain = say("%(chance)s %(aim)s", chance=percent(ground.kept), aim=ground.aim) if ground.aim else ""
    return Line(False, say("Keep the plan"), gain=gain, why=why, notes=notes, caution=_caution(notes))


def _why_keep(choice: Choice, ground: Ground) -> str:
    lost = _lost(ground.state, ground.as_planned)
    return sentences(_why_no_swap(choice, ground), lost, _combination_owed(ground), ground.doubt)


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
        return say("The combination is still owed, but moving it to a later pass is not worth a change.")
    return say("The combination is still owed, and nothing trained for the passes to come makes it.")


def _first_lost(state: LiveState, ruled: Mapping[int, Sequence[Ruling]]) -> tuple[str, int, str] | None:
    """What the passes to come lose to the rules if skated so: the first such jump, its pass, and its ruling."""
    for number, rulings in sorted(ruled.items()):
        for ruling in rulings:
            if ruling.ruling in RULED:
                planned = state.plan.passes[number - 1].code
                jump = parse_jump_element(planned).jumps[ruling.jump - 1].name
                return jump, number, ruling.ruling
    return None


def _lost(state: LiveState, ruled: Mapping[int, Sequence[Ruling]]) -> str:
    """The same in words."""
    found = _first_lost(state, ruled)
    if found is None:
        return ""
    jump, number, kind = found
    if kind == "nothing":
        return say("The %(jump)s in pass %(number)s will count for nothing.", jump=jump, number=number)
    return say("The %(jump)s in pass %(number)s will count for only a part.", jump=jump, number=number)


def _why_no_swap(choice: Choice, ground: Ground) -> str:
    if ground.state.changes >= ground.limits.most_changes:
        count = ground.limits.most_changes
        if not count:
            return say("Your limits allow no change in this program.")
        return say_many(
            "%(count)s change in one program is enough; the rest stays as planned.",
            "%(count)s changes in one program are enough; the rest stays as planned.",
            count,
        )
    if choice.held_back:
        return say("Not offered: %(reason)s.", reason=choice.held_back)
    if ground.aim and choice.best_gain > 0.0005:
        return say(
            "The best trained swap adds only %(chance)s to that chance: too little for a change.",
            chance=percent(choice.best_gain),
        )
    if ground.aim:
        return say("No trained swap makes that likelier than the program as planned.")
    if choice.best_gain > 0.005:
        return say(
            "The best trained swap brings only %(points)s points: too little for a change.",
            points=figure(choice.best_gain),
        )
    if not _trained_options(ground):
        return say("Nothing else is trained for the passes to come.")
    return say("No trained swap brings more than the program as planned.")


def _trained_options(ground: Ground) -> list[str]:
    """What the skater may try instead on the passes to come."""
    state = ground.state
    to_come = state.plan.passes[len(state.logged) :]
    found = [code for row in to_come for code in row.options if code != row.code]
    return [code for code in found if code is not None and code in ground.offered]


def _swap(swap: Swap, ground: Ground) -> Line:
    notes = notes_for(ground.edition, _codes(swap), _flat(ground.as_planned, swap.number))
    if swap.element is None:
        needs, cue = "", ""
    else:
        element = ground.offered[swap.element]
        row = ground.state.plan.passes[swap.number - 1]
        record, unsure = record_for(row, element), caution(row, element)
        needs, cue = _trained(record, unsure), record.cue
    return Line(
        is_swap=True,
        headline=_headline(swap, ground),
        gain=_gain(swap, ground),
        needs=needs,
        cue=cue,
        why=sentences(_why_swap(swap, ground), _cost_of(swap, ground), ground.doubt),
        notes=notes,
        caution=_caution(notes),
    )


def _headline(swap: Swap, ground: Ground) -> str:
    now = swap.number == ground.state.next_number
    if swap.element is None:
        return LEAVE_OUT_NOW if now else say("Pass %(number)s: leave it out", number=swap.number)
    if now:
        return say("Now: %(element)s", element=swap.element)
    return say("Pass %(number)s: %(element)s", number=swap.number, element=swap.element)


def _trained(record: KnownElement, unsure: str) -> str:
    if not unsure:
        return say("trained %(record)s", record=record.record)
    return say("trained %(record)s, %(unsure)s", record=record.record, unsure=unsure)


def _gain(swap: Swap, ground: Ground) -> str:
    if swap.chance is None:
        return say("%(points)s points", points=figure(swap.gain, signed=True))
    change = {"before": percent(ground.kept), "after": percent(swap.chance)}
    return say("%(before)s → %(after)s %(aim)s", aim=ground.aim, **change)


def percent(chance: float) -> str:
    """A chance as people say it: `48 %`, never a false 0 or 100 (a sum of chances may miss 1 by its rounding)."""
    if ROUNDING < chance < 0.01:
        return say("under 1 %%")
    if 0.99 < chance < 1 - ROUNDING:
        return say("over 99 %%")
    return say("%(number)s %%", number=round(100 * chance))


def _cost_of(swap: Swap, ground: Ground) -> str:
    """What the swap takes from a later planned pass, where the plan alone would not lose it."""
    later = {number: rulings for number, rulings in ground.as_swapped.items() if number != swap.number}
    lost = _first_lost(ground.state, later)
    if lost is None or lost == _first_lost(ground.state, ground.as_planned):
        return ""
    jump, at, kind = lost
    if kind == "nothing":
        return say("But then the %(jump)s in pass %(number)s will count for nothing.", jump=jump, number=at)
    return say("But then the %(jump)s in pass %(number)s will count for only a part.", jump=jump, number=at)


def _why_swap(swap: Swap, ground: Ground) -> str:
    ruled = next((r for r in ground.as_planned.get(swap.number, ()) if r.ruling in RULED), None)
    if swap.element is None:
        return say(
            "%(planned)s would bring nothing here, so the pass is better left out.", planned=swap.planned
        )
    if ruled is not None:
        jump = parse_jump_element(swap.planned).jumps[ruled.jump - 1].name
        said = {"jump": jump, "number": swap.number, "element": swap.element}
        if ruled.ruling == "nothing":
            return say(
                "As planned, the %(jump)s in pass %(number)s would count for nothing; %(element)s avoids that.",
                **said,
            )
        return say(
            "As planned, the %(jump)s in pass %(number)s would count for only a part; %(element)s avoids that.",
            **said,
        )
    if adds_a_jump(swap.element, swap.planned):
        return _why_tail(swap, ground)
    pair = {"element": swap.element, "planned": swap.planned}
    if len(_codes(swap)) > 1 and adds_a_jump(swap.planned, swap.element):
        return say(
            "%(element)s is surer than %(planned)s: misses cost more than the extra jump brings.", **pair
        )
    if ground.aim:
        return say(
            "Misses included, %(element)s makes that likelier than %(planned)s, and it is trained.", **pair
        )
    return say("Misses included, %(element)s brings more here than %(planned)s, and it is trained.", **pair)


def _why_tail(swap: Swap, ground: Ground) -> str:
    state = ground.state
    planned = parse_jump_element(swap.planned).jumps
    new = parse_jump_element(swap.element or swap.planned).jumps
    tail = "+".join(jump.name for jump in new[len(planned) :])
    source = _lost_unit(state)
    said = {"tail": tail, "lead": planned[0].name, "number": swap.number}
    if state.plan.is_short:
        return say(
            "The combination is still owed: a %(tail)s after the %(lead)s on pass %(number)s makes it.",
            **said,
        )
    if source is None and _cost_of(swap, ground):
        return say(
            "Misses included, a %(tail)s after the %(lead)s brings more here than what it takes later.",
            **said,
        )
    if source is None:
        return say("A combination is still free: a %(tail)s after the %(lead)s uses it.", **said)
    return say(
        "The combination lost on pass %(lost)s left a place free: "
        "adding %(tail)s to the %(lead)s on pass %(number)s uses it.",
        lost=source,
        **said,
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
        return say("disputed")
    unsure = [note.certainty for note in notes if note.certainty != "read"]
    if not unsure:
        return ""
    return PARTLY[max(unsure, key=CERTAINTIES.index)]

"""The rehearsal sheet: drills in plain sentences, jumps counted, what was done today, the run-through to start."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import uuid4

from app.domain.words import figure, listed, say, say_many, sentences
from app.live.program import KnownElement, Plan, clock
from app.practice.drills import Drill, Step, StepKind, jumps_of
from app.practice.rehearsals import Rehearsable
from app.practice.trainer import Call
from app.storage.records import AttemptRecord, DrillRecord, LayoutRecord, SkaterRecord, TrainedRecord
from app.web.views.called import WORDS as CALL_WORDS, answer_said
from app.web.views.home import edition_words
from app.web.views.log import last_words
from app.web.views.trainer import fails_words


@dataclass(frozen=True, slots=True)
class StepView:
    """One step. `jumps`: take-offs in it, in words. How what was done is logged: `singles` are its codes, for a form;

    `element_id` is the row of the skater's list; "" and 0: not here.
    """

    says: str
    jumps: str
    singles: str = ""
    element_id: int = 0


@dataclass(frozen=True, slots=True)
class DrillView:
    """One drill. `also`: other failures of the pass with the same answer; `cue`: the answer in the skater's own words.

    `number`, `failure`, `jump` name it in a form; `sending` makes a second sending count once.
    """

    fails: str
    also: str
    stake: str
    answer: str
    cue: str
    steps: tuple[StepView, ...]
    jumps: str
    number: int
    failure: str
    jump: str
    sending: str


@dataclass(frozen=True, slots=True)
class DoneView:
    """Something done in a drill today: `of` says in which list it stands, singles or attempts."""

    words: str
    sending: str
    of: str


@dataclass(frozen=True, slots=True)
class RehearseView:
    """The page and its printed side. `nothing`: why there is no drill, or nothing to call; `day`: today, for the log.

    `calls`: failures that may be called in a run-through; `program_jumps`: take-offs of the whole program as planned.
    """

    layout_id: int
    layout: str
    skater_id: int
    skater: str
    edition: str
    drills: tuple[DrillView, ...]
    total: str
    nothing: str
    done: tuple[DoneView, ...]
    day: str
    calls: int
    program_jumps: str


@dataclass(frozen=True, slots=True)
class RehearseGround:
    """What the page is put into words from. `trained` are the skater's elements, for the way to the log."""

    layout: LayoutRecord
    skater: SkaterRecord
    plan: Plan
    known: Mapping[str, KnownElement]
    trained: Sequence[TrainedRecord]


def rehearse_view(
    ground: RehearseGround,
    found: Sequence[Rehearsable],
    drills: Sequence[Drill],
    day: str,
    done: Sequence[DoneView],
) -> RehearseView:
    """The sheet of a layout."""
    total = sum(one.jumps for one in drills)
    return RehearseView(
        layout_id=ground.layout.id,
        layout=ground.layout.name,
        skater_id=ground.skater.id,
        skater=ground.skater.name,
        edition=edition_words(ground.layout.edition),
        drills=tuple(_drill(one, ground) for one in drills),
        total=say("Jumps in all, every step done once: %(count)s.", count=total),
        nothing=_nothing(found, drills),
        done=tuple(done),
        day=day,
        calls=len(found),
        program_jumps=say_many(
            "The whole program as planned has %(count)s jump.",
            "The whole program as planned has %(count)s jumps.",
            _planned_jumps(ground.plan),
        ),
    )


def done_today(
    singles: Sequence[DrillRecord], attempts: Sequence[AttemptRecord], day: str
) -> tuple[DoneView, ...]:
    """What was logged from drills on this day: easy jumps first, then attempts at elements."""
    easy = [
        DoneView(say("In singles: %(codes)s", codes=listed(one.codes)), one.sending, "singles")
        for one in singles
        if one.day.isoformat() == day
    ]
    whole = [
        DoneView(last_words([one]), one.sending, "attempts")
        for one in attempts
        if one.place == "drill" and one.day.isoformat() == day
    ]
    return (*easy, *whole)


def _drill(drill: Drill, ground: RehearseGround) -> DrillView:
    drilled = drill.drilled
    first, code = drilled.first, drilled.swap.element
    cue = ground.known[code].cue if code is not None and code in ground.known else ""
    also = [fails_words(one.call) for one in drilled.failures[1:]]
    return DrillView(
        fails=_called(first),
        also=say("The same answer for: %(failures)s.", failures=listed(also)) if also else "",
        stake=_stake(drill),
        answer=answer_said(drilled.swap),
        cue=cue,
        steps=tuple(_step(step, drill, cue, ground) for step in drill.steps),
        jumps=say("Jumps in this drill: %(count)s.", count=drill.jumps),
        number=first.key.number,
        failure=first.key.kind.value,
        jump=first.key.jump,
        sending=str(uuid4()),
    )


def _called(call: Call) -> str:
    return say(
        "Pass %(number)s, %(planned)s: %(fails)s",
        number=call.key.number,
        planned=call.planned,
        fails=fails_words(call),
    )


def _stake(drill: Drill) -> str:
    chance, wins = round(100 * drill.drilled.chance), drill.drilled.failures[0].wins
    often = (
        say_many("Happens in about %(count)s try in 100.", "Happens in about %(count)s tries in 100.", chance)
        if chance
        else say("Happens in fewer than 1 try in 100.")
    )
    return sentences(
        often, say("The answer then wins %(points)s points, misses included.", points=figure(wins, 1))
    )


def _step(step: Step, drill: Drill, cue: str, ground: RehearseGround) -> StepView:
    count = step.jumps
    jumps = say_many("%(count)s jump", "%(count)s jumps", count) if count else say("no jump")
    return StepView(
        says=_step_words(step, drill, cue),
        jumps=jumps,
        singles=" ".join(step.codes) if step.kind is StepKind.SINGLES else "",
        element_id=_element_id(step, drill, ground) if step.kind is StepKind.WHOLE else 0,
    )


def _step_words(step: Step, drill: Drill, cue: str) -> str:
    first, swap = drill.drilled.first, drill.drilled.swap
    here, there = first.key.number, swap.number
    match step.kind:
        case StepKind.SAY:
            return say(
                "Off the ice: the coach says “%(call)s” for pass %(number)s, the skater answers “%(answer)s”.",
                call=CALL_WORDS[first.key.kind],
                number=here,
                answer=cue or answer_said(swap),
            )
        case StepKind.WALK:
            return say(
                "Walk it beside the ice: the entry of pass %(failed)s, then that of pass %(answer)s, with arms and "
                "directions.",
                failed=here,
                answer=there,
            )
        case StepKind.MARK:
            return say(
                "On the ice, marked: pass %(failed)s at %(start)s, then pass %(answer)s at %(end)s; entry and exit "
                "steps only.",
                failed=here,
                start=clock(drill.start),
                answer=there,
                end=clock(drill.end),
            )
        case StepKind.SINGLES:
            if len(step.codes) == 1:
                return say("The same in singles: %(element)s.", element=step.codes[0])
            first_one, second = step.codes
            return say("The same in singles: %(first)s, then %(second)s.", first=first_one, second=second)
        case StepKind.WHOLE:
            return say(
                "Once whole, from its own entry: %(element)s. A miss is not repeated.", element=step.codes[0]
            )


def _element_id(step: Step, drill: Drill, ground: RehearseGround) -> int:
    """The row of the skater's list that the answer is logged under: that of the pass's entry where there is one."""
    entry = ground.plan.passes[drill.drilled.swap.number - 1].entry
    rows = [one for one in ground.trained if one.code == step.codes[0]]
    chosen = sorted(rows, key=lambda one: (one.entry != entry, -one.attempts))
    return chosen[0].id if chosen else 0


def _nothing(found: Sequence[Rehearsable], drills: Sequence[Drill]) -> str:
    if drills:
        return ""
    if found:
        return say(
            "No failure of this layout has a trained answer that is worth a change: the plan is kept, and there is "
            "nothing to drill."
        )
    return say(
        "Nothing can be rehearsed here yet: a failure is called only where the pass is trained and there is something "
        "to choose from afterwards."
    )


def _planned_jumps(plan: Plan) -> int:
    return sum(jumps_of(row.code) for row in plan.passes)

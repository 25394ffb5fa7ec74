"""Taps on the live screen: what happened on a pass, undo and redo, corrections, decisions, the clock, the stop.

Every form works without JavaScript. Nothing readable is refused: what contradicts the log is kept there and shown
as needing a decision. Who may tap what stands in `app.security.roles`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends, Form, Response

from app.domain.notation import parse_jump_element
from app.domain.said import said_of
from app.domain.words import say
from app.errors import InputError
from app.live.events import (
    Chosen,
    Cleared,
    Corrected,
    Event,
    Inserted,
    Interrupted,
    LatenessSet,
    LoggedPass,
    MusicStarted,
    PassLeftOut,
    PassSkated,
    Reading,
    Redone,
    Resumed,
    Stopped,
    Undone,
)
from app.live.fold import LiveState
from app.live.pad import SOMETHING_ELSE, SOMETHING_ELSE_FELL, tap_of
from app.live.rehearsal import call_now
from app.web.advisor import check_countable
from app.web.live_log import Tap, TapDep, ids_of

router = APIRouter(prefix="/live/{program_id}", include_in_schema=False)

Text = Annotated[str, Form()]
Number = Annotated[int, Form()]


@dataclass(frozen=True)
class Said:
    """What a form says about a pass. `tap` is "<tried> <key>", "left out" or "typed" (then `code` and `fall`).

    `called`: id of the failure that the screen was calling for it.
    """

    tap: str
    code: str
    fall: bool
    called: str = ""

    def about(self, number: int, state: LiveState) -> LoggedPass:
        """The same as an event. `InputError`: no such button, or a code that cannot be read or has no value."""
        count = len(state.plan.passes)
        if not 1 <= number <= count + 1:
            raise InputError(
                say("number"),
                say("given %(given)s; this program has %(count)s passes", given=number, count=count),
            )
        if self.tap == "left out":
            return PassLeftOut(number, self.called)
        return self._typed(number, state) if self.tap == "typed" else self._tapped(number)

    def _tapped(self, number: int) -> PassSkated:
        tried, _, key = self.tap.partition(" ")
        found = tap_of(tried, key)
        if found is None:
            raise InputError(
                say("tap"), say("%(given)s given; expected a button of this pass", given=repr(self.tap))
            )
        return PassSkated(number, tried, found.how, found.readings, self.called)

    def _typed(self, number: int, state: LiveState) -> PassSkated:
        """A typed code is a slip of the planned element, not a choice to try something else."""
        executed = str(parse_jump_element(self.code).without_rulings())
        planned = state.plan.passes[min(number, len(state.plan.passes)) - 1].code
        how = SOMETHING_ELSE_FELL if self.fall else SOMETHING_ELSE
        reading = Reading(executed, self.fall, error=self.fall)
        return PassSkated(number, planned, how, (reading,), self.called)


async def get_said(tap: Text, code: Text = "", fall: Text = "", called: Text = "") -> Said:
    """What this form says about a pass."""
    return Said(tap, code.strip(), fall == "yes", next(iter(ids_of(called)), ""))


PassDep = Annotated[Said, Depends(get_said)]


def _log_what(tap: Tap, number: int, said: Said, event: Callable[[LoggedPass], Event]) -> Response:
    """Log a pass as the event made of it, unless its code means nothing."""
    state = tap.state
    try:
        what = said.about(number, state)
        check_countable(state.plan.edition, what)
    except InputError as error:
        return tap.answer(say("Not logged. %(why)s", why=said_of(error)))
    tap.log(event(what))
    return tap.answer()


@router.post("/pass")
def log_pass(tap: TapDep, number: Number, what: PassDep) -> Response:
    """Log what happened on pass `number` (insertions not counted)."""
    return _log_what(tap, number, what, lambda said: said)


@router.post("/correct")
def correct(tap: TapDep, number: Number, of: Text, what: PassDep) -> Response:
    """What a pass logged before really was."""
    ids = ids_of(of)
    if not ids:
        return tap.answer(say("Not corrected: that pass is not in the log."))
    return _log_what(tap, number, what, lambda said: Corrected(said, ids))


@router.post("/insert")
def insert(tap: TapDep, before: Number, what: PassDep) -> Response:
    """A pass that was skated but not logged, before pass `before`."""
    return _log_what(tap, before, what, lambda said: Inserted(before, said))


@router.post("/undo")
def undo(tap: TapDep, number: Number, of: Text = "") -> Response:
    """Take back what was logged; without `of` the latest pass, if that is pass `number`."""
    state = tap.state
    latest = state.slots[-1] if state.slots and not state.stopped else None
    ids = ids_of(of) or (latest.ids if latest and latest.number == number else ())
    own = tap.own(ids)
    if not own:
        return tap.answer(say("Nothing to undo there."))
    tap.log(Undone(number, own))
    return tap.answer()


@router.post("/call-off")
def call_off(tap: TapDep, number: Number, of: Text) -> Response:
    """A failure is not called after all: the pass is skated as planned."""
    now = call_now(tap.state)
    if now is None or now.id not in ids_of(of):
        return tap.answer(say("That failure is not called any more."))
    tap.log(Undone(number, (now.id,)))
    return tap.answer()


@router.post("/redo")
def redo(tap: TapDep, of: Text = "") -> Response:
    """Take an undo back."""
    own = tap.own(ids_of(of) or tap.state.redo)
    if not own:
        return tap.answer(say("Nothing to bring back."))
    tap.log(Redone(own))
    return tap.answer()


@router.post("/choose")
def choose(tap: TapDep, number: Number, keeps: Text, over: Text) -> Response:
    """Two people logged one pass differently: one account counts."""
    tap.log(Chosen(number, keeps, ids_of(over)))
    return tap.answer()


@router.post("/late")
def late(tap: TapDep, number: Number, of: Text, late: Text) -> Response:
    """Whether a pass started in the second half, whatever the clock says."""
    tap.log(LatenessSet(number, ids_of(of), late == "yes"))
    return tap.answer()


@router.post("/hurt")
def hurt(tap: TapDep) -> Response:
    """Hurt or hit the head: everything stops, on every device."""
    tap.log(Stopped())
    return tap.answer()


@router.post("/clear")
def clear(tap: TapDep, by: Text = "", relying_on: Text = "", of: Text = "") -> Response:
    """A named adult lifts the stops this screen showed and says what they rely on."""
    stops = tap.state.stops
    ids = ids_of(of) or stops
    if not stops:
        return tap.answer()
    if not by.strip() or not relying_on.strip():
        return tap.answer(say("Still stopped: name the adult and tick what they rely on."))
    tap.log(Cleared(by.strip(), relying_on.strip(), ids))
    return tap.answer(say("Still stopped: it was tapped again meanwhile.") if tap.state.stopped else "")


@router.post("/music")
def music(tap: TapDep, instead_of: Text = "") -> Response:
    """The music starts; an earlier start by mistake is replaced."""
    tap.log(MusicStarted(ids_of(instead_of)))
    return tap.answer()


@router.post("/interrupt")
def interrupt(tap: TapDep, music_stopped: Text = "no") -> Response:
    """The skater has stopped."""
    tap.log(Interrupted(music_stopped == "yes"))
    return tap.answer()


@router.post("/resume")
def resume(tap: TapDep, of: Text = "") -> Response:
    """Skating again."""
    still = tap.state.clock.open_interruption
    ids = ids_of(of) or (still.ids if still else ())
    if ids:
        tap.log(Resumed(ids))
    return tap.answer()

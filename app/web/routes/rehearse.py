"""Rehearsing on the ice: the sheet with its drills, what was done of them, and the run-through that calls failures."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from hashlib import sha256
from secrets import randbelow
from typing import Annotated

from fastapi import APIRouter, Form, Request, Response

from app import engine
from app.domain.notation import parse_jump_element
from app.domain.words import say
from app.errors import InputError
from app.live.rehearsal import MOST, Rehearsal, draw
from app.planner.slips import Kind
from app.practice.drills import Drill, drill_of
from app.practice.rehearsals import Rehearsable, callables, rehearsable, worth_a_drill
from app.storage.records import DrillRecord
from app.storage.stores import Stores
from app.web import htmx, opening
from app.web.deps import JobsDep, StoresDep
from app.web.jobs import Job, Jobs, Progress, Waiting, wait_for
from app.web.live_log import keep_call, sheet_of
from app.web.rendering import page
from app.web.routes.log import today
from app.web.routes.trainer import Lesson
from app.web.views.rehearse import RehearseGround, RehearseView, done_today, rehearse_view

router = APIRouter(prefix="/layouts/{layout_id}/rehearse", include_in_schema=False)

Text = Annotated[str, Form()]
Number = Annotated[int, Form()]
Sending = Annotated[str, Form(min_length=8, max_length=64, pattern=r"^[A-Za-z0-9-]+$")]
MOST_CODES = 2
"""Elements in the singles of one drill: the failed pass and its answer."""
SEEDS = 10_000
"""Draw numbers that are made by themselves: short enough to note on paper."""


@dataclass(frozen=True)
class Prepared:
    """A layout with what may be called on it, once that is reckoned."""

    lesson: Lesson
    job: Job[tuple[Rehearsable, ...]]

    @property
    def found(self) -> tuple[Rehearsable, ...]:
        """Every failure that may be called."""
        return self.job.result or ()

    @property
    def drills(self) -> tuple[Drill, ...]:
        """The drills of the sheet."""
        worth = worth_a_drill(self.found, self.lesson.limits)
        return tuple(drill_of(self.lesson.plan, one) for one in worth)


def _prepared(stores: Stores, jobs: Jobs, layout_id: int) -> Prepared:
    """The failures of a layout, reckoned once for everything they depend on."""
    lesson = Lesson(stores, stores.layouts.get(layout_id))
    elements = lesson.elements
    parts = (lesson.plan, sorted(elements.known.items()), sorted(elements.offered), lesson.limits)
    book = engine.edition(lesson.layout.edition).fingerprint
    key = f"rehearse {sha256(repr((parts, book)).encode()).hexdigest()[:32]}"

    def work(progress: Progress) -> tuple[Rehearsable, ...]:
        def heard(through: int, of: int) -> None:
            progress(through / of, say("Pass %(through)s of %(of)s", through=through, of=of))

        return rehearsable(lesson.plan, elements.offered, elements.known, lesson.limits, heard)

    return Prepared(lesson, jobs.start(key, work))


@router.get("")
def show(request: Request, stores: StoresDep, jobs: JobsDep, layout_id: int) -> Response:
    """The sheet on a screen."""
    return _answer(request, stores, jobs, layout_id, "rehearse/page.html")


@router.get("/print")
def printed(request: Request, stores: StoresDep, jobs: JobsDep, layout_id: int) -> Response:
    """The sheet on paper."""
    return _answer(request, stores, jobs, layout_id, "rehearse/print.html")


def _answer(request: Request, stores: Stores, jobs: Jobs, layout_id: int, template: str) -> Response:
    prepared = _prepared(stores, jobs, layout_id)
    waiting = wait_for(request, prepared.job, Waiting(say("Rehearse on the ice"), f"/layouts/{layout_id}"))
    if waiting is not None:
        return waiting
    return page(request, template, _view(stores, prepared))


def _view(stores: Stores, prepared: Prepared) -> RehearseView:
    lesson, on = prepared.lesson, today()
    skater_id, day = lesson.skater.id, on.isoformat()
    done = done_today(
        stores.drills.of_skater(skater_id, since=on), stores.attempts.of_skater(skater_id, since=on), day
    )
    trained = stores.skaters.trained(skater_id)
    ground = RehearseGround(lesson.layout, lesson.skater, lesson.plan, lesson.elements.known, trained)
    return rehearse_view(ground, prepared.found, prepared.drills, day, done)


@router.post("/drill")
def drilled(
    request: Request,
    stores: StoresDep,
    layout_id: int,
    number: Number,
    failure: Text,
    jump: Text,
    codes: Text,
    sending: Sending,
) -> Response:
    """The step in singles was done, as the sheet had it then; a second sending of the same form counts nothing."""
    lesson = Lesson(stores, stores.layouts.get(layout_id))
    if failure not in {kind.value for kind in Kind}:
        raise InputError(
            say("failure"),
            say("%(given)s given; expected one of the drills of the sheet", given=repr(failure[:40])),
        )
    record = DrillRecord(
        skater_id=lesson.skater.id,
        sending=sending,
        day=today(),
        program=lesson.program,
        number=number,
        failure=failure,
        jump=str(parse_jump_element(jump)),
        codes=_singles(codes),
    )
    stores.drills.append(record, datetime.now().astimezone())
    return htmx.go_to(request, _address(layout_id))


@router.post("/undo")
def undo(request: Request, stores: StoresDep, layout_id: int, sending: Sending, of: Text) -> Response:
    """What was logged from a drill is left out again."""
    skater_id = stores.layouts.get(layout_id).skater_id
    (stores.attempts if of == "attempts" else stores.drills).undo(skater_id, sending)
    return htmx.go_to(request, _address(layout_id))


@router.post("/start")
def start(
    request: Request, stores: StoresDep, jobs: JobsDep, layout_id: int, calls: Number = 1, seed: Text = ""
) -> Response:
    """Start a run-through that calls failures. `seed`: the draw number; the same one draws the same lots."""
    if not 1 <= calls <= MOST:
        raise InputError(say("calls"), say("%(given)s given; expected 1 to %(most)s", given=calls, most=MOST))
    if seed.strip() and not (seed.strip().isascii() and seed.strip().isdigit()):
        raise InputError(
            say("seed"),
            say("%(given)s given; expected a whole number, or nothing for a new draw", given=repr(seed[:20])),
        )
    prepared = _prepared(stores, jobs, layout_id)
    if prepared.job.result is None:  # the app was started again in between: they are being reckoned
        return htmx.go_to(request, _address(layout_id))
    drawn_from = Rehearsal(int(seed) if seed.strip() else randbelow(SEEDS), calls, callables(prepared.found))
    if not drawn_from.failures:
        raise InputError(say("layout"), say("nothing of it can be called: start a plain run-through instead"))
    record = opening.fresh(stores, [prepared.lesson.layout], "run-through", "")
    begun = stores.live.start(replace(record, rehearsal=drawn_from))
    first = draw(drawn_from, sheet_of(stores, begun.id).state, answer_to_come=False)
    if first is not None:
        keep_call(stores, begun, first)
    return htmx.go_to(request, f"/live/{begun.id}")


def _singles(text: str) -> tuple[str, ...]:
    """Elements in singles as a form sends them, separated by spaces. Raises InputError for anything else."""
    codes = tuple(text.split())
    jumps = [jump for code in codes for jump in parse_jump_element(code).jumps]
    if not 1 <= len(codes) <= MOST_CODES or any(not one.is_euler and one.revolutions != 1 for one in jumps):
        raise InputError(
            say("codes"),
            say(
                "%(given)s given; expected one or two elements in singles, such as 1Lz 1S+1T",
                given=repr(text[:40]),
            ),
        )
    return codes


def _address(layout_id: int) -> str:
    return f"/layouts/{layout_id}/rehearse"

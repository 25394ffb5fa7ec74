"""The call-out trainer: a failure is called, an answer is picked, and it is weighed. Works without JavaScript.

The calls of a layout are reckoned at the desk for long answers; what is kept are the answers alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from hashlib import sha256
from random import Random
from typing import Annotated
from uuid import uuid4

from fastapi import APIRouter, Form, Request, Response

from app import engine
from app.domain.words import say
from app.errors import InputError
from app.live.program import Limits, Plan, Setting
from app.planner.slips import Kind
from app.practice.schedule import Given, Memory, is_early, memory, next_call, rating_of
from app.practice.trainer import Call, CallKey, calls, name_of, program_key
from app.practice.verdicts import right_line, verdict
from app.storage.records import CallOutRecord, LayoutRecord
from app.storage.stores import Stores
from app.web import htmx
from app.web.advisor import Elements, sort_elements
from app.web.deps import JobsDep, StoresDep, VisitorDep
from app.web.jobs import Job, Jobs, Progress, Waiting, wait_for
from app.web.rendering import page
from app.web.views import plans
from app.web.views.trainer import call_view, programs_view, trainer_view, verdict_view
from app.web.views.trainer_plain import without_points

router = APIRouter(include_in_schema=False)

Text = Annotated[str, Form()]
LONGEST = 600.0
"""Seconds after which an answer's time says nothing more."""
MOST_MILLISECONDS, LONGEST_NUMBER = 10**15, 15
"""No clock shows more; a number of any length may be sent."""
_lots = Random()


class Lesson:
    """One layout with its skater's elements and limits as of today."""

    def __init__(self, stores: Stores, layout: LayoutRecord) -> None:
        self.layout = layout
        self.skater = stores.skaters.get(layout.skater_id)
        self.limits: Limits = plans.limits_of(stores.settings.coach(), layout.edition)
        self.plan = _plan(layout)
        known = plans.known_of(stores.skaters.trained(layout.skater_id), layout.edition)
        self.elements: Elements = sort_elements(known, self.limits, _now().date())
        self.program = program_key(self.plan)

    def job(self, jobs: Jobs) -> Job[tuple[Call, ...]]:
        """The calls of the layout, reckoned once for everything they depend on."""
        parts = (self.plan, sorted(self.elements.known.items()), sorted(self.elements.offered), self.limits)
        book = engine.edition(self.layout.edition).fingerprint
        key = f"calls {sha256(repr((parts, book)).encode()).hexdigest()[:32]}"
        return jobs.start(key, self._work)

    def _work(self, progress: Progress) -> tuple[Call, ...]:
        def heard(through: int, of: int) -> None:
            progress(through / of, say("Pass %(number)s of %(count)s", number=through, count=of))

        return calls(self.plan, self.elements.offered, self.elements.known, self.limits, heard)

    def memories(self, stores: Stores, found: Sequence[Call], now: datetime) -> list[Memory]:
        """What is remembered of each call."""
        given: dict[CallKey, list[Given]] = {}
        for one in stores.call_outs.of_program(self.skater.id, self.program):
            given.setdefault(_key(one), []).append(Given(one.answered_at, one.rating, one.right))
        return [memory(given.get(call.key, ()), name_of(call.choice.swap), now) for call in found]

    def last(self, stores: Stores, found: Sequence[Call]) -> int | None:
        """Index of the call that was answered last; None when there is none."""
        answered = stores.call_outs.of_program(self.skater.id, self.program)
        key = _key(answered[-1]) if answered else None
        return next((n for n, call in enumerate(found) if call.key == key), None)


@router.get("/skaters/{skater_id}/trainer")
def choose_program(request: Request, stores: StoresDep, skater_id: int) -> Response:
    """Which program to train for."""
    skater = stores.skaters.get(skater_id)
    return page(request, "trainer/programs.html", programs_view(skater, stores.layouts.of_skater(skater_id)))


@router.get("/layouts/{layout_id}/trainer")
def start(request: Request, stores: StoresDep, jobs: JobsDep, layout_id: int) -> Response:
    """How well the answers are known, and the way to the next call."""
    lesson = Lesson(stores, stores.layouts.get(layout_id))
    job = lesson.job(jobs)
    waiting = wait_for(request, job, Waiting(say("Call-out trainer"), f"/layouts/{layout_id}"))
    if waiting is not None or job.result is None:
        return waiting or Response(status_code=204)
    now = _now()
    memories = lesson.memories(stores, job.result, now)
    view = trainer_view(lesson.layout, lesson.skater, job.result, memories, now)
    return page(request, "trainer/page.html", view)


@router.get("/layouts/{layout_id}/trainer/call")
def call(request: Request, stores: StoresDep, jobs: JobsDep, layout_id: int) -> Response:
    """The next call, with its buttons."""
    lesson = Lesson(stores, stores.layouts.get(layout_id))
    job = lesson.job(jobs)
    waiting = wait_for(request, job, Waiting(say("The next call"), _start(layout_id)))
    if waiting is not None or job.result is None:
        return waiting or Response(status_code=204)
    if not job.result:
        return htmx.go_to(request, _start(layout_id))
    now = _now()
    memories = lesson.memories(stores, job.result, now)
    weights = [one.weight for one in job.result]
    place = next_call(weights, memories, now, _lots.random(), lesson.last(stores, job.result))
    early = is_early(memories[place], now)
    asked_at = round(now.timestamp() * 1000)
    view = call_view(lesson.layout, job.result[place], lesson.elements.known, str(uuid4()), asked_at, early)
    return page(request, "trainer/call.html", view)


@router.post("/layouts/{layout_id}/trainer/answer")
def answer(
    request: Request,
    stores: StoresDep,
    jobs: JobsDep,
    layout_id: int,
    number: Annotated[int, Form()],
    kind: Text,
    jump: Text,
    picked: Text,
    sending: Annotated[str, Form(min_length=1, max_length=80)],
    asked_at: Annotated[int, Form()] = 0,
    took: Text = "",
) -> Response:
    """Weigh an answer and keep it; a second sending of the same form changes nothing."""
    lesson = Lesson(stores, stores.layouts.get(layout_id))
    found = lesson.job(jobs).result
    if found is None:  # the app was started again in between: the calls are being reckoned
        return htmx.go_to(request, _start(layout_id))
    asked = _call(found, number, kind, jump)
    chosen = asked.answer(picked)
    if chosen is None:
        raise InputError(
            say("picked"),
            say("%(given)s given; expected one of the buttons: ask for the next call", given=repr(picked)),
        )
    now = _now()
    seconds = seconds_of(asked_at, took, now)
    weight = verdict(asked, chosen, lesson.limits).weight
    stores.call_outs.append(
        CallOutRecord(
            skater_id=lesson.skater.id,
            sending=sending,
            program=lesson.program,
            number=number,
            kind=asked.key.kind.value,
            jump=asked.key.jump,
            answer=chosen.name,
            right=name_of(asked.choice.swap),
            seconds=seconds,
            rating=rating_of(weight, seconds),
            answered_at=now,
        )
    )
    return htmx.go_to(request, f"{_start(layout_id)}/answer/{sending}")


@router.get("/layouts/{layout_id}/trainer/answer/{sending}")
def weighed(
    request: Request, stores: StoresDep, jobs: JobsDep, visitor: VisitorDep, layout_id: int, sending: str
) -> Response:
    """What an answer was worth."""
    lesson = Lesson(stores, stores.layouts.get(layout_id))
    given = stores.call_outs.get(sending)
    if (given.skater_id, given.program) != (lesson.skater.id, lesson.program):
        raise InputError(say("answer"), say("it was given to another program: go back to the trainer"))
    job = lesson.job(jobs)
    waiting = wait_for(request, job, Waiting(say("What it was worth"), _start(layout_id)))
    if waiting is not None or job.result is None:
        return waiting or Response(status_code=204)
    asked = _call(job.result, given.number, given.kind, given.jump)
    chosen = asked.answer(given.answer)
    if chosen is None:
        raise InputError(
            say("answer"), say("the layout or its trained elements have changed since: ask for the next call")
        )
    book = engine.edition(lesson.layout.edition)
    line = right_line(asked, book, lesson.elements.offered, lesson.limits)
    found = verdict(asked, chosen, lesson.limits)
    view = verdict_view(lesson.layout, asked, chosen, found, line, given.seconds)
    if visitor.is_skater and not visitor.sees_advice:
        view = without_points(view, found.weight, line.is_swap)
    return page(request, "trainer/answer.html", view)


def seconds_of(asked_at: int, took: str, now: datetime) -> float:
    """How long an answer took: as the page measured it, else from delivery to answer; both in milliseconds.

    What the page says counts only where it is no longer than the time since delivery, with a second for clocks.
    """
    since = max(now.timestamp() - min(max(asked_at, 0), MOST_MILLISECONDS) / 1000, 0.0)
    if took.isascii() and took.isdigit() and len(took) <= LONGEST_NUMBER and int(took) / 1000 <= since + 1:
        since = int(took) / 1000
    return min(round(since, 2), LONGEST)


def _plan(layout: LayoutRecord) -> Plan:
    passes = plans.passes_of(layout.items, engine.edition(layout.edition))
    if not passes:
        raise InputError(
            say("layout"), say("%(name)s has no jump pass; add one, then train the answers", name=layout.name)
        )
    return Plan(layout.edition, Setting.RUN_THROUGH, "", passes)


def _call(found: Sequence[Call], number: int, kind: str, jump: str) -> Call:
    wanted = (number, kind, jump)
    one = next((one for one in found if (one.key.number, one.key.kind.value, one.key.jump) == wanted), None)
    if one is None:
        raise InputError(
            say("call"),
            say(
                "pass %(number)s, %(kind)s is not called in this layout: ask for the next call",
                number=number,
                kind=kind,
            ),
        )
    return one


def _key(one: CallOutRecord) -> CallKey:
    return CallKey(one.number, Kind(one.kind), one.jump)


def _start(layout_id: int) -> str:
    return f"/layouts/{layout_id}/trainer"


def _now() -> datetime:
    return datetime.now(UTC)

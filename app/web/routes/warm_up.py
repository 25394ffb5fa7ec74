"""The warm-up of a start: look at the agreed layouts, choose one with one tap; every screen sees it."""

from __future__ import annotations

from datetime import UTC, datetime
from hashlib import sha256
from typing import Annotated, Any
from uuid import uuid4

from fastapi import APIRouter, Form, Query, Request, Response

from app import engine
from app.domain.words import listed, say
from app.errors import InputError
from app.live.events import LayoutChosen
from app.live.warm_up import Figures, fall_chance, may_choose
from app.storage.stores import Stores
from app.web import htmx
from app.web.advisor import sort_elements
from app.web.deps import JobsDep, StoresDep, VisitorDep
from app.web.jobs import Job, Jobs, Progress
from app.web.live_log import sheet_of, tap_of
from app.web.opening import agreed, for_start, open_start
from app.web.rendering import page
from app.web.standing import spins_and_steps
from app.web.views import plans
from app.web.views.warm_up import Ground, as_variants, questions, warm_up_view
from app.web.visitor import Visitor

router = APIRouter(prefix="/day/{day_id}/starts/{start_id}", include_in_schema=False)

Text = Annotated[str, Form(max_length=80)]
Mark = Annotated[str, Query(max_length=40)]
TOO_LATE = say("Nothing changed: a pass is logged already, so the layout stays as it is.")


@router.get("")
def show(
    request: Request, stores: StoresDep, jobs: JobsDep, visitor: VisitorDep, day_id: int, start_id: int
) -> Response:
    """The layouts of a start, what differs, which one is chosen."""
    return _page(request, stores, jobs, visitor, (day_id, start_id))


@router.get("/news")
def news(
    request: Request,
    stores: StoresDep,
    jobs: JobsDep,
    visitor: VisitorDep,
    day_id: int,
    start_id: int,
    seen: Mark = "",
) -> Response:
    """For an open page: the layouts when anything has changed since `seen`, else 204."""
    return _page(request, stores, jobs, visitor, (day_id, start_id), seen=seen)


@router.post("/choose")
def choose(
    request: Request,
    stores: StoresDep,
    jobs: JobsDep,
    visitor: VisitorDep,
    day_id: int,
    start_id: int,
    letter: Text,
    event_id: Text,
) -> Response:
    """The layout that will be skated. It is taken as it is now; the live program runs on it from here on."""
    day, start = stores.days.get(day_id), stores.days.start(day_id, start_id)
    now = for_start(stores, day, start)
    program = open_start(stores, day, start)
    sheet = sheet_of(stores, program.id)
    if sheet.state.stopped or not may_choose(plans.events_of(sheet.log)):
        return _page(request, stores, jobs, visitor, (day_id, start_id), notice=TOO_LATE)
    if not stores.live.renew(program.id, now):
        now = program  # a pass was logged and undone: the layouts stay those the program was opened with
    letters = [one.letter for one in as_variants(now)]
    if letter not in letters:
        raise InputError(
            say("letter"),
            say(
                "%(given)s given; expected one of %(expected)s", given=repr(letter), expected=listed(letters)
            ),
        )
    tap_of(request, stores, visitor, program.id, event_id).log(LayoutChosen(letter))
    return htmx.go_to(request, f"/day/{day_id}/starts/{start_id}")


def _page(
    request: Request,
    stores: Stores,
    jobs: Jobs,
    visitor: Visitor,
    where: tuple[int, int],
    notice: str = "",
    seen: str = "",
) -> Response:
    ground = _ground(stores, visitor, *where)
    job: Job[list[Figures]] = _reckoned(jobs, ground) if ground.shows_figures else Job()
    view = warm_up_view(ground, job.result, uuid4().hex, job.fault, notice)
    if seen and view.seen == seen:
        return Response(status_code=204)
    return page(request, "day/warm_up.html", view, fragment="day/_layouts.html")


def _ground(stores: Stores, visitor: Visitor, day_id: int, start_id: int) -> Ground:
    day, start = stores.days.get(day_id), stores.days.start(day_id, start_id)
    opened = None if start.program_id is None else sheet_of(stores, start.program_id)
    # Layouts may be removed after a program was opened with them: then it is shown as it was opened.
    now = for_start(stores, day, start) if opened is None or agreed(stores, start) else opened.record
    limits = plans.limits_of(stores.settings.coach(), now.edition)
    known = plans.known_of(now.trained, now.edition)
    return Ground(
        day=day.name,
        start=start,
        skater=stores.skaters.get(start.skater_id),
        fresh=now,
        sheet=opened,
        elements=sort_elements(known, limits, datetime.now(UTC).date()),
        limits=limits,
        visitor=visitor,
    )


def _reckoned(jobs: Jobs, ground: Ground) -> Job[list[Figures]]:
    """What each layout is worth, worked out beside: choosing never waits for it."""
    asked = questions(ground)
    book = engine.edition(ground.fresh.edition)
    others = [spins_and_steps(book, one.items) for one in ground.layouts]

    def work(progress: Progress) -> list[Figures]:
        found = []
        for place, (one, more) in enumerate(zip(asked, others, strict=True)):
            progress(place / len(asked), say("Reckoning"))
            found.append(_figures(one, more))
        return found

    said = repr((asked, others, book.fingerprint))
    return jobs.start(f"warm-up {sha256(said.encode()).hexdigest()[:32]}", work)


def _figures(asked: dict[str, Any], others: float) -> Figures:
    advice = engine.advise(asked)
    kept = advice.value if advice.keep_all_value is None else advice.keep_all_value
    return Figures(kept + others, advice.value + others, fall_chance(asked))

"""What a miss drags along in a layout: worked out at the desk for long answers, shown when it is there."""

from __future__ import annotations

from datetime import UTC, date, datetime
from hashlib import sha256

from fastapi import APIRouter, Request, Response

from app import engine
from app.domain.words import say
from app.errors import InputError
from app.live.advice import question
from app.live.program import Limits, Plan, Setting
from app.storage.records import LayoutRecord
from app.storage.stores import Stores
from app.web.advisor import Elements, sort_elements
from app.web.deps import JobsDep, StoresDep
from app.web.jobs import Progress, Waiting, wait_for
from app.web.rendering import page
from app.web.views import plans
from app.web.views.fragility import Report, fragility_view

router = APIRouter(prefix="/layouts", include_in_schema=False)

FAILURES = 0.9
"""Share of the work that the failures are; the spares are the rest."""


@router.get("/{layout_id}/fragile")
def show(
    request: Request, stores: StoresDep, jobs: JobsDep, layout_id: int, show: int | None = None
) -> Response:
    """The page, or how far it is. `show`: the failure to draw alone."""
    layout = stores.layouts.get(layout_id)
    limits = plans.limits_of(stores.settings.coach(), layout.edition)
    today = datetime.now(UTC).date()
    plan = _plan(layout)
    elements = _elements(stores, layout, limits, today)
    job = jobs.start(
        _key(plan, elements, limits, layout), lambda progress: _work(plan, elements, limits, progress)
    )
    waiting = Waiting(say("What a miss drags along"), back=f"/layouts/{layout_id}")
    view = wait_for(request, job, waiting)
    if view is not None or job.result is None:
        return view or Response(status_code=204)
    skater = stores.skaters.get(layout.skater_id)
    return page(request, "fragility/page.html", fragility_view(layout, skater, job.result, show))


def _plan(layout: LayoutRecord) -> Plan:
    book = engine.edition(layout.edition)
    passes = plans.passes_of(layout.items, book)
    if not passes:
        raise InputError(
            say("layout"),
            say("%(name)s has no jump pass; add one, then look at what a miss does", name=layout.name),
        )
    return Plan(layout.edition, Setting.RUN_THROUGH, "", passes)


def _elements(stores: Stores, layout: LayoutRecord, limits: Limits, today: date) -> Elements:
    known = plans.known_of(stores.skaters.trained(layout.skater_id), layout.edition)
    return sort_elements(known, limits, today)


def _key(plan: Plan, elements: Elements, limits: Limits, layout: LayoutRecord) -> str:
    """Everything the report depends on, in a word."""
    book = engine.edition(layout.edition).fingerprint
    said = repr((plan, sorted(elements.known.items()), sorted(elements.offered), limits, book))
    return f"fragile {layout.id} {sha256(said.encode()).hexdigest()[:32]}"


def _work(plan: Plan, elements: Elements, limits: Limits, progress: Progress) -> Report:
    asked = question(plan, elements.offered, elements.known, limits)
    progress(0.0, say("Ruling the program"))
    found = engine.fragility(
        asked,
        lambda done, of: progress(FAILURES * done / of, say("Failure %(done)s of %(of)s", done=done, of=of)),
    )
    progress(FAILURES, say("Weighing what is spare"))
    return Report(plan, elements.known, limits, found, engine.spares(asked))

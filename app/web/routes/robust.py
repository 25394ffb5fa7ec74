"""Sturdier layouts: the coach says what is fixed, the best five come back, one may be taken as a new layout."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from hashlib import sha256
from typing import Annotated

from fastapi import APIRouter, Form, Query, Request, Response

from app import engine
from app.domain.words import listed, say
from app.errors import InputError
from app.live.advice import layout_question
from app.live.program import Limits, Plan, Setting
from app.storage.records import LayoutRecord
from app.storage.stores import Stores
from app.web import htmx
from app.web.advisor import Elements, sort_elements
from app.web.deps import JobsDep, StoresDep
from app.web.jobs import Progress, Waiting, wait_for
from app.web.layout_rows import checked
from app.web.rendering import page
from app.web.views import plans
from app.web.views.making import read_start
from app.web.views.robust import MOST_CHOICES, USUAL_MOST, Asked, form_view, sturdier_view, taken

router = APIRouter(prefix="/layouts", include_in_schema=False)

Short = Annotated[str, Query(max_length=20)]
Numbers = Annotated[list[int] | None, Query(max_length=20)]


@router.get("/{layout_id}/sturdier")
def show(
    request: Request,
    stores: StoresDep,
    jobs: JobsDep,
    layout_id: int,
    stays: Numbers = None,
    axel: Short = "",
    most: Short = USUAL_MOST,
    ask: Short = "",
) -> Response:
    """The form; with `ask`, the answer or how far it is."""
    layout = stores.layouts.get(layout_id)
    plan, elements, limits = _ground(stores, layout)
    asked = Asked(tuple(stays or ()), axel.strip(), most)
    form = form_view(layout, stores.skaters.get(layout.skater_id), plan, limits, asked)
    if not ask:
        return page(request, "robust/page.html", form)
    wishes = _wishes(plan, asked)
    question = layout_question(plan, elements.offered, elements.known, limits)
    book = engine.edition(layout.edition).fingerprint

    def work(progress: Progress) -> engine.Sturdy:
        return engine.sturdier(question, wishes, progress)

    said = repr((question, wishes, book))
    job = jobs.start(f"sturdier {sha256(said.encode()).hexdigest()[:32]}", work)
    waiting = wait_for(request, job, Waiting(say("Sturdier layouts"), back=f"/layouts/{layout_id}"))
    if waiting is not None or job.result is None:
        return waiting or Response(status_code=204)
    return page(request, "robust/page.html", sturdier_view(form, plan, elements, limits, job.result))


@router.post("/{layout_id}/sturdier")
def take(
    request: Request,
    stores: StoresDep,
    layout_id: int,
    elements: Annotated[str, Form(max_length=400)],
) -> Response:
    """Keep one of the layouts as a new one, once; the old one stays as it is. `elements`: codes parted by commas."""
    layout = stores.layouts.get(layout_id)
    plan, mine, limits = _ground(stores, layout)
    new = [code.strip() for code in elements.split(",")]
    _check(plan, mine, limits, new)
    copy = taken(layout, plan, mine, limits, new)
    checked(copy, stores.skaters.get(layout.skater_id))
    kept = next(
        (one for one in stores.layouts.of_skater(layout.skater_id) if replace(one, id=0) == copy), None
    )
    return htmx.go_to(request, f"/layouts/{(kept or stores.layouts.save(copy)).id}")


def _ground(stores: Stores, layout: LayoutRecord) -> tuple[Plan, Elements, Limits]:
    """What is planned today, what is trained today, and the coach's limits."""
    book = engine.edition(layout.edition)
    passes = plans.passes_of(layout.items, book)
    if not passes:
        raise InputError(
            say("layout"),
            say("%(name)s has no jump pass; add one, then ask for a sturdier layout", name=layout.name),
        )
    limits = plans.limits_of(stores.settings.coach(), layout.edition)
    known = plans.known_of(stores.skaters.trained(layout.skater_id), layout.edition)
    elements = sort_elements(known, limits, datetime.now(UTC).date())
    return Plan(layout.edition, Setting.RUN_THROUGH, "", passes), elements, limits


def _wishes(plan: Plan, asked: Asked) -> engine.Wishes:
    if asked.most not in MOST_CHOICES:
        raise InputError(
            say("most"),
            say(
                "%(given)s given; expected one of %(expected)s",
                given=repr(asked.most),
                expected=listed(MOST_CHOICES),
            ),
        )
    too_late = frozenset[int]()
    if asked.axel_before:
        before = read_start(asked.axel_before, "axel")
        too_late = frozenset(n for n, row in enumerate(plan.passes, start=1) if row.seconds >= before)
    most = None if asked.most == "any" else int(asked.most)
    return engine.Wishes(frozenset(asked.stays), too_late, most)


def _check(plan: Plan, elements: Elements, limits: Limits, new: list[str]) -> None:
    """Refuse what was not offered: another number of passes, an element that is not trained or does not fit."""
    if len(new) != len(plan.passes):
        raise InputError(
            say("elements"),
            say(
                "%(given)s given; this layout has %(count_2)s jump passes",
                given=len(new),
                count_2=len(plan.passes),
            ),
        )
    asked = layout_question(plan, elements.offered, elements.known, limits)["passes"]
    for number, (code, row) in enumerate(zip(new, asked, strict=True), start=1):
        if code not in row["options"]:
            raise InputError(
                say("elements"),
                say(
                    "%(code)s on pass %(number)s; expected a trained element that fits it",
                    code=repr(code),
                    number=number,
                ),
            )

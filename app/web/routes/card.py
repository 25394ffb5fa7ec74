"""The card of a layout: worked out at the desk, shown on a phone, printed as A6."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from fastapi import APIRouter, Request, Response

from app import engine
from app.domain.words import say
from app.errors import InputError
from app.live import advice
from app.live.program import Limits, Plan, Setting
from app.storage.records import LayoutRecord
from app.storage.stores import Stores
from app.web.advisor import sort_elements
from app.web.deps import JobsDep, StoresDep, VisitorDep
from app.web.jobs import Jobs, Progress, Waiting, wait_for
from app.web.rendering import page
from app.web.views import plans
from app.web.views.card import MOST_RULES, Asked, CardGround, CardView, card_view

router = APIRouter(prefix="/layouts/{layout_id}/card", include_in_schema=False)

RULES, SWAPS = 4, 1


@router.get("")
def show(
    request: Request,
    stores: StoresDep,
    jobs: JobsDep,
    visitor: VisitorDep,
    layout_id: int,
    rules: int = RULES,
    changes: int | None = None,
    swaps: int = SWAPS,
) -> Response:
    """The card on a screen; on a skater's own phone the rules alone, in large type."""
    found = found_card(request, stores, jobs, layout_id, (rules, changes, swaps))
    if isinstance(found, Response):
        return found
    view = replace(found, shows_points=visitor.sees_advice)
    return page(request, "card/own.html" if visitor.is_skater else "card/page.html", view)


@router.get("/print")
def printed(
    request: Request,
    stores: StoresDep,
    jobs: JobsDep,
    layout_id: int,
    rules: int = RULES,
    changes: int | None = None,
    swaps: int = SWAPS,
) -> Response:
    """The card on a sheet of A6."""
    found = found_card(request, stores, jobs, layout_id, (rules, changes, swaps))
    return found if isinstance(found, Response) else page(request, "card/print.html", found)


def found_card(
    request: Request,
    stores: Stores,
    jobs: Jobs,
    layout_id: int,
    chosen: tuple[int, int | None, int] = (RULES, None, SWAPS),
) -> CardView | Response:
    """The card of a layout in words; a page that asks again as long as it is being worked out."""
    layout = stores.layouts.get(layout_id)
    coach = stores.settings.coach()
    asked = _asked(chosen, coach.most_changes)
    limits = replace(plans.limits_of(coach, layout.edition), most_changes=asked.changes)
    plan = plan_of_layout(layout)
    known = plans.known_of(stores.skaters.trained(layout.skater_id), layout.edition)
    offered = sort_elements(known, limits, datetime.now(UTC).date()).offered
    question = advice.question(plan, offered, known, limits)
    job = jobs.start(
        _key(layout.edition, question, asked, limits),
        lambda progress: _find(question, asked, limits, progress),
    )
    waiting = wait_for(request, job, Waiting(say("The card"), f"/layouts/{layout_id}"))
    if waiting is not None:
        return waiting
    assert job.result is not None, "no waiting and no fault: there is a result"
    ground = CardGround(layout, stores.skaters.get(layout.skater_id), plan, known, limits, coach.most_changes)
    return card_view(job.result, ground, asked)


def plan_of_layout(layout: LayoutRecord) -> Plan:
    """A layout as the plan of a program that has not begun."""
    edition = engine.edition(layout.edition)
    passes = plans.passes_of(layout.items, edition)
    if not passes:
        raise InputError(
            say("layout"), say("it has no jump passes yet; add one on the layout page, then ask for a card")
        )
    return Plan(edition=layout.edition, setting=Setting.RUN_THROUGH, occasion="", passes=passes)


def _asked(chosen: tuple[int, int | None, int], most_changes: int) -> Asked:
    rules, changes, swaps = chosen
    if not 1 <= rules <= MOST_RULES:
        raise InputError(
            say("rules"),
            say("%(given)s given; expected 1 to %(most)s", given=rules, most=MOST_RULES),
        )
    if swaps not in (1, 2):
        raise InputError(say("swaps"), say("%(given)s given; expected 1 or 2", given=swaps))
    changes = most_changes if changes is None else changes
    if not 0 <= changes <= most_changes:
        raise InputError(
            say("changes"),
            say(
                "%(given)s given; your settings allow 0 to %(most_changes)s",
                given=changes,
                most_changes=most_changes,
            ),
        )
    return Asked(rules, changes, swaps)


def _find(question: Mapping[str, Any], asked: Asked, limits: Limits, progress: Progress) -> engine.Card:
    """The card: swaps that bring the coach's threshold, nothing harder right after a fall unless allowed."""
    passes = question["passes"]

    def barred(place: int, option: int) -> bool:
        code, planned = passes[place]["options"][option], passes[place]["planned"]
        return code is not None and not limits.harder_after_fall and advice.is_harder(code, planned)

    return engine.find_card(
        question,
        asked.rules,
        least_gain=limits.threshold,
        swaps_a_rule=asked.swaps,
        barred=barred,
        progress=progress,
    )


def _key(edition: str, question: Mapping[str, Any], asked: Asked, limits: Limits) -> str:
    """Everything the answer depends on, as a fingerprint."""
    parts = [
        engine.edition(edition).fingerprint,
        question,
        asked.address,
        limits.threshold,
        limits.harder_after_fall,
    ]
    text = json.dumps(parts, sort_keys=True, default=str)
    return f"card {hashlib.sha256(text.encode()).hexdigest()}"

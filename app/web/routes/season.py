"""The season of one skater: gathered once, worked out at the desk for long answers, kept while nothing changes."""

from __future__ import annotations

from datetime import datetime

from fastapi import APIRouter, Request, Response

from app.domain.words import listed, say
from app.errors import InputError
from app.storage.stores import Stores
from app.web import season_source
from app.web.deps import JobsDep, StoresDep
from app.web.jobs import Job, Jobs, Waiting, wait_for
from app.web.rendering import page
from app.web.season_source import Facts
from app.web.views.season import season_view

router = APIRouter(prefix="/skaters/{skater_id}/season", include_in_schema=False)


@router.get("")
def show(request: Request, stores: StoresDep, jobs: JobsDep, skater_id: int, season: str = "") -> Response:
    """The page, or how far it is. `season`: as rulebooks name it; without one the newest with anything in it."""
    skater = stores.skaters.get(skater_id)
    known = season_source.seasons_with_programs(stores, skater_id, datetime.now().astimezone().date())
    chosen = season or known[0]
    if chosen not in known:
        raise InputError(
            say("season"),
            say("%(given)s given; expected one of: %(expected)s", given=repr(season), expected=listed(known)),
        )
    job = _job(stores, jobs, skater_id, chosen)
    waiting = wait_for(request, job, Waiting("Season", f"/skaters/{skater_id}"))
    if waiting is not None or job.result is None:
        return waiting or Response(status_code=204)
    return page(request, "season/page.html", season_view(skater, chosen, known, job.result))


def _job(stores: Stores, jobs: Jobs, skater_id: int, season: str) -> Job[Facts]:
    """The work, begun with everything read; a known one is not read for again."""
    key = season_source.mark_of(stores, skater_id, season)
    known = jobs.get(key)
    if known is not None:
        return known
    source = season_source.gather(stores, skater_id, season)
    return jobs.start(key, lambda progress: season_source.work(source, progress))

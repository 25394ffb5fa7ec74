"""Joins everything: settings, database, gate, routes, error pages. Nothing else does."""

from __future__ import annotations

import time
from collections.abc import AsyncIterator, Callable
from contextlib import ExitStack, asynccontextmanager
from datetime import UTC, datetime
from threading import Thread

from fastapi import FastAPI
from starlette.staticfiles import StaticFiles

import app as package
from app import engine
from app.live.broadcast import SHELF_NEWS, Hub
from app.rulebook.editions import SHELF
from app.security import certificate
from app.security.pairing import PairingDesk
from app.security.sealed import Seal
from app.settings import PROJECT, Settings
from app.storage import seed
from app.storage.daily import DailyCopies
from app.storage.database import Database
from app.storage.folder_lock import FolderLock
from app.storage.server_hub import ServerHub
from app.storage.stores import open_stores
from app.web import error_pages
from app.web.advisor import Advisor
from app.web.club_door import ClubDoor, public_door
from app.web.demo_day import plant_day
from app.web.demo_season import plant_season
from app.web.gate import Gate
from app.web.jobs import Jobs
from app.web.notes import Notes
from app.web.phone_door import PhoneDoor
from app.web.policy_desk import PolicyDesk
from app.web.routes import (
    aim,
    alone,
    api,
    backups,
    card,
    content,
    data,
    day,
    fragility,
    home,
    how_we_know,
    language,
    layout,
    live,
    load,
    log,
    log_table,
    making,
    own_pages,
    pairing,
    policy,
    privacy,
    rehearse,
    removing,
    report,
    robust,
    rulebooks,
    season,
    sheets,
    skater,
    tally,
    taps,
    trainer,
    warm_up,
    words,
)
from app.web.server import Door, bind
from app.web.shared_jobs import SharedJobs
from app.web.shared_pairing import SharedPairingDesk
from app.web.shared_policies import SharedPolicyDesk
from app.web.tongue import Tongue

ROUTERS = (
    home.router,
    how_we_know.router,
    making.router,
    skater.router,
    log.router,
    load.router,
    log_table.router,
    own_pages.router,
    layout.router,
    fragility.router,
    card.router,
    robust.router,
    rulebooks.router,
    trainer.router,
    content.router,
    season.router,
    tally.router,
    rehearse.router,
    sheets.router,
    live.router,
    report.router,
    taps.router,
    aim.router,
    policy.router,
    day.router,
    warm_up.router,
    pairing.router,
    alone.router,
    language.router,
    words.router,
    privacy.router,
    data.router,
    removing.router,
    backups.router,
    api.router,
)
"""One a module of `app.web.routes`, in the order they are asked."""

STATIC = PROJECT / "static"
DEMO = PROJECT / "data" / "demo"


def create_app(settings: Settings, key: bytes | None = None) -> FastAPI:
    """The whole app over the database in `settings.data_dir`, migrated and (if empty) seeded.

    `key`: by which several workers read one another's notes.
    """
    app = FastAPI(
        title="Recoup",
        version=package.__version__,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        lifespan=_lifespan,
    )
    app.state.settings = settings
    app.state.database = database = _open_database(settings)
    app.state.folder_lock = FolderLock(settings.data_dir)
    app.state.daily = None if database.backups is None else DailyCopies(database.backups)
    _desks(app, Notes(database, Seal(key)) if settings.database_url else None)
    app.state.hub = ServerHub(settings.database_url) if settings.database_url else Hub()
    one_door = settings.address or settings.workers > 1
    app.state.phone_door = ClubDoor(settings.address) if one_door else _phone_door(app, settings)
    app.state.advisor = Advisor()
    error_pages.install(app)
    for router in ROUTERS:
        app.include_router(router)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    public = public_door(settings.address, settings.phone_port)
    app.add_middleware(Gate, database=database, public=public)
    app.add_middleware(Tongue, database=database)
    return app


def _desks(app: FastAPI, notes: Notes | None) -> None:
    """What is kept from one request to the next: in memory, or where every worker finds it."""
    app.state.pairing_desk = PairingDesk(time.monotonic) if notes is None else SharedPairingDesk(notes)
    app.state.jobs = Jobs() if notes is None else SharedJobs(notes)
    app.state.policy_desk = PolicyDesk() if notes is None else SharedPolicyDesk(notes)


def _phone_door(app: FastAPI, settings: Settings) -> PhoneDoor:
    return PhoneDoor(
        lambda host, port: Door(
            app,
            bind(host, port),
            main=False,
            certificate=certificate.read(settings.data_dir, datetime.now(UTC)),
        ),
        port=settings.phone_port,
        after=settings.port,
    )


def prepare(settings: Settings) -> None:
    """Tables and demo, before several workers start."""
    _open_database(settings).close()


def _open_database(settings: Settings) -> Database:
    database = Database(settings.database, settings.workers)
    database.migrate()
    with open_stores(database) as stores:
        stores.rulebooks.fill(SHELF)
    SHELF.look_again[:] = [_looking_again(database)] if settings.database_url else []
    if settings.seed_demo:
        with open_stores(database) as stores:
            today = datetime.now(UTC).date()
            if seed.plant(stores, DEMO, today, _fingerprint_of) and settings.seed_season:
                plant_season(stores, DEMO / "seasons", today)
                plant_day(stores, DEMO / "day", today, _fingerprint_of)
    return database


def _looking_again(database: Database) -> Callable[[], None]:
    def look() -> None:
        with open_stores(database) as stores:
            stores.rulebooks.add_missing(SHELF)

    return look


def _fingerprint_of(edition: str) -> str:
    return engine.edition(edition).fingerprint


def _warm(policies: PolicyDesk) -> None:
    engine.warm()
    policies.warm()


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    # The planner's compiled loops take a moment to load: now, not at the first tap.
    app.state.policy_desk.open()
    Thread(target=_warm, args=(app.state.policy_desk,), daemon=True).start()
    daily: DailyCopies | None = app.state.daily
    if daily is not None:
        daily.start()
    app.state.hub.start()
    with ExitStack() as heard:
        for look in SHELF.look_again:
            heard.enter_context(app.state.hub.listening(SHELF_NEWS, look))
        yield
    if daily is not None:
        daily.stop()
    await app.state.phone_door.close()
    let_go(app)


def let_go(app: FastAPI) -> None:
    """Give back what an app holds since it was made; its desks end first, for they write what they know.

    Running does so at its end; whoever makes an app without running it does so itself.
    """
    app.state.hub.close()
    app.state.jobs.close()
    app.state.policy_desk.close()
    app.state.database.close()

"""Joins everything: settings, database, gate, routes, error pages. Nothing else does."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import import_module
from importlib.util import find_spec

from fastapi import FastAPI
from starlette.staticfiles import StaticFiles

import app as package
from app.settings import PROJECT, Settings
from app.storage.database import Database
from app.web import error_pages
from app.web.gate import Gate

ROUTES = ("home", "skater", "layout", "live", "pairing", "api")
"""Modules of `app.web.routes`, each with a `router`, in the order they are asked."""

STATIC = PROJECT / "static"


def create_app(settings: Settings) -> FastAPI:
    """The whole app over the database in `settings.data_dir`, migrated and (if empty) seeded."""
    database = Database(settings.database_file)
    database.migrate()
    app = FastAPI(
        title="Recoup",
        version=package.__version__,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        lifespan=_lifespan,
    )
    app.state.settings = settings
    app.state.database = database
    error_pages.install(app)
    for name in ROUTES:
        if find_spec(f"app.web.routes.{name}") is not None:
            app.include_router(import_module(f"app.web.routes.{name}").router)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.add_middleware(Gate, database=database)
    return app


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    yield
    app.state.database.close()

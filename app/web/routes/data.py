"""Your data: everything out as a file, a file in, who sees a skater, a skater deleted. For the laptop only."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import IO, Annotated, cast

from fastapi import APIRouter, File, Form, Request, Response, UploadFile
from starlette.responses import StreamingResponse

from app.domain.words import say
from app.errors import InputError
from app.rulebook.editions import SHELF
from app.security.limits import MEGABYTE, most_body
from app.settings import Settings
from app.storage.bring_in import bring_in
from app.storage.database import Database
from app.storage.erase import counted, forget_skater, named_elsewhere
from app.storage.export import write_export
from app.storage.records import HandedKind, HandedRecord
from app.storage.stores import Stores
from app.web.deps import DatabaseDep, StoresDep
from app.web.live_log import hub_of
from app.web.phone_door import PhoneDoor
from app.web.rendering import page
from app.web.views.data import (
    DataView,
    SharingView,
    after,
    before,
    brought_view,
    handed_views,
    person_links,
    seer_views,
)

router = APIRouter(prefix="/data", include_in_schema=False)

FormText = Annotated[str, Form(max_length=80)]
IN_MEMORY = 4 * MEGABYTE
AT_ONCE = 64 * 1024


@router.get("")
def show(request: Request, stores: StoresDep, database: DatabaseDep) -> Response:
    """Where everything lies, and the ways out and in."""
    return page(request, "data/page.html", _view(request, stores, database))


@router.post("/export")
def export(stores: StoresDep, database: DatabaseDep, given_to: FormText = "") -> Response:
    """Everything as one file."""
    return _file(stores, database, None, given_to)


@router.post("/import")
def take_in(
    request: Request,
    stores: StoresDep,
    database: DatabaseDep,
    file: Annotated[UploadFile, File()],
    again: Annotated[str, Form()] = "",
) -> Response:
    """A file of this or another installation; nothing that is here is touched."""
    try:
        with database.session() as session:
            report = bring_in(session, file.file, datetime.now(UTC), again=again == "yes")
    except InputError as error:
        return page(request, "data/page.html", _view(request, stores, database, error.problem), status=422)
    stores.rulebooks.fill(SHELF)
    return page(request, "data/brought.html", brought_view(report))


@router.get("/skaters/{skater_id}")
def sharing(request: Request, stores: StoresDep, skater_id: int) -> Response:
    """Who can see this skater, and what was given out: to be shown to skater and parents, and printed."""
    skater = stores.skaters.get(skater_id)
    door = cast(PhoneDoor, request.app.state.phone_door)
    view = SharingView(
        id=skater.id,
        name=skater.name,
        door_open=door.is_open,
        seers=seer_views(stores.devices.all(), skater_id, datetime.now(UTC)),
        handed=handed_views(stores.handed.of_skater(skater_id)),
    )
    return page(request, "data/sharing.html", view)


@router.post("/skaters/{skater_id}/export")
def export_one(stores: StoresDep, database: DatabaseDep, skater_id: int, given_to: FormText = "") -> Response:
    """Everything about one skater as one file."""
    return _file(stores, database, skater_id, given_to)


@router.get("/skaters/{skater_id}/delete")
def ask(request: Request, stores: StoresDep, database: DatabaseDep, skater_id: int) -> Response:
    """What would go, and the question."""
    skater = stores.skaters.get(skater_id)
    copies = len(database.backups.all()) if database.backups else 0
    view = before(skater, counted(database, skater_id), named_elsewhere(database, skater.name), copies)
    return page(request, "data/delete.html", view)


@router.post("/skaters/{skater_id}/delete")
def delete(
    request: Request,
    stores: StoresDep,
    database: DatabaseDep,
    skater_id: int,
    sure: Annotated[str, Form()] = "",
) -> Response:
    """Delete a skater with everything, from the copies as well."""
    skater = stores.skaters.get(skater_id)
    if sure != "yes":
        raise InputError(say("sure"), say("not ticked; nothing was deleted. Go back and tick the box"))
    erased = forget_skater(database, skater_id)
    hub_of(request).wake_all()  # screens on the skater's programs go
    stores.days.close_gaps()
    return page(request, "data/delete.html", after(skater, erased, named_elsewhere(database, skater.name)))


def _view(request: Request, stores: Stores, database: Database, fault: str = "") -> DataView:
    settings = cast(Settings, request.app.state.settings)
    return DataView(
        folder=str(settings.data_dir),
        on_server=database.backups is None,
        skaters=person_links(stores.skaters.all()),
        handed=handed_views(stores.handed.all()),
        most_megabytes=most_body("/data/import") // MEGABYTE,
        fault=fault,
    )


def _file(stores: Stores, database: Database, skater_id: int | None, given_to: str) -> Response:
    """The export as a download; that it was given out is noted first."""
    target = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115  # closed when it has been sent
    now = datetime.now(UTC)
    kind: HandedKind = "everything" if skater_id is None else "skater"
    try:
        mark = write_export(database, target, skater_id, now)
        stores.handed.add(HandedRecord(now, kind, skater_id, " ".join(given_to.split()), mark))
    except BaseException:
        target.close()
        raise
    target.seek(0)
    # No name of anybody in the file's name: it stands in lists of downloads.
    name = f"recoup-{kind}-{now:%Y-%m-%d}.zip"
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "no-store"}
    return StreamingResponse(_parts(target), media_type="application/zip", headers=headers)


def _parts(source: IO[bytes]) -> Iterator[bytes]:
    with source:
        while part := source.read(AT_ONCE):
            yield part

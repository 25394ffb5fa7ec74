"""A practice log as a pasted table or a file: read, shown line by line, stored once it is confirmed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, cast
from uuid import uuid4

from fastapi import APIRouter, File, Form, Request, Response, UploadFile
from pydantic import BaseModel, Field

from app.domain.said import said_of
from app.domain.words import listed, say
from app.errors import InputError
from app.practice.log_table import DELIMITERS, MOST_BYTES, TableFacts, TableReading, read_table
from app.practice.table_dates import DayOrder
from app.storage.records import PLACES, TrainedRecord
from app.storage.stores import Stores
from app.web import htmx, uploads
from app.web.deps import StoresDep
from app.web.rendering import page
from app.web.routes.log import _now, today
from app.web.sheet_log import list_elements
from app.web.views.log_table import known_lines, preview_view, table_view

router = APIRouter(prefix="/skaters/{skater_id}/log/table", include_in_schema=False)

ORDERS = ("", "day first", "month first")


class TableForm(BaseModel):
    """What the form says of a table besides its file. A wrong choice is refused when it is read."""

    text: str = Field("", max_length=MOST_BYTES)
    delimiter: str = ""
    order: str = ""
    place: str = "alone"
    sending: str = Field("", max_length=64, pattern=r"^[A-Za-z0-9-]*$")
    skip_known: str = ""

    @property
    def sent(self) -> tuple[str, str, str, str]:
        """Text, delimiter, order and place, as the preview sends them back."""
        return self.text, self.delimiter, self.order, self.place


@router.get("")
def form(request: Request, stores: StoresDep, skater_id: int) -> Response:
    """The empty form."""
    return page(request, "log/table.html", table_view(stores.skaters.get(skater_id)))


@router.post("/read")
def read(
    request: Request,
    stores: StoresDep,
    skater_id: int,
    given: Annotated[TableForm, Form(media_type="multipart/form-data")],
    file: Annotated[UploadFile | None, File()] = None,
) -> Response:
    """What was understood. Nothing is stored."""
    skater = stores.skaters.get(skater_id)
    try:
        if not given.text.strip() and file is not None:
            given = given.model_copy(update={"text": _text_of(file)})
        sending = given.sending or str(uuid4())
        reading = _reading(stores, skater_id, given, sending)
    except InputError as error:
        view = table_view(
            skater, given.text, given.place if given.place in PLACES else PLACES[0], said_of(error)
        )
        return page(request, "log/table.html", view, status=422)
    log, trained = stores.attempts.of_skater(skater_id), stores.skaters.trained(skater_id)
    preview = preview_view(skater, given.sent, sending, reading, log, trained)
    return page(request, "log/preview.html", preview)


@router.post("")
def keep(
    request: Request,
    stores: StoresDep,
    skater_id: int,
    given: Annotated[TableForm, Form(media_type="multipart/form-data")],
) -> Response:
    """Store what was understood; the same form sent twice counts once."""
    stores.skaters.get(skater_id)
    if not given.sending:
        raise InputError(say("sending"), say("nothing given; read the table first and confirm it there"))
    reading = _reading(stores, skater_id, given, given.sending)
    log = [one for one in stores.attempts.of_skater(skater_id) if one.sending != given.sending]
    known = known_lines(reading, log) if given.skip_known == "yes" else frozenset()
    attempts = [one for number, one in reading.read if number not in known]
    if not attempts:
        raise InputError(say("table"), say("no line of it is new; nothing was stored"))
    list_elements(stores, skater_id, attempts)
    stores.attempts.append(attempts, _now())
    return htmx.go_to(request, f"/skaters/{skater_id}/log")


def _reading(stores: Stores, skater_id: int, given: TableForm, sending: str) -> TableReading:
    chosen = (("delimiter", given.delimiter, ("", *DELIMITERS)), ("order", given.order, ORDERS))
    for name, value, choices in (*chosen, ("place", given.place, PLACES)):
        if value not in choices:
            raise InputError(
                name,
                say(
                    "%(given)s given; expected one of: %(expected)s",
                    given=repr(value),
                    expected=listed(filter(None, choices)),
                ),
            )
    facts = TableFacts(
        skater_id=skater_id,
        sending=sending,
        today=today(),
        order=cast(DayOrder, given.order),
        place=given.place,
        delimiter=given.delimiter,
        entries=_entries(stores.skaters.trained(skater_id)),
    )
    return read_table(given.text, facts)


def _entries(trained: Sequence[TrainedRecord]) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for one in trained:
        found[one.code] = (*found.get(one.code, ()), one.entry)
    return found


def _text_of(file: UploadFile) -> str:
    """The text of a file. Raises InputError when it is too large or no text."""
    raw = file.file.read(MOST_BYTES + 1)
    if len(raw) > MOST_BYTES:
        raise InputError(
            say("file"),
            say("more than %(given)s bytes given; expected at most that", given=MOST_BYTES),
        )
    text = uploads.text_of(raw)
    if text is not None:
        return text
    raise InputError(
        say("file"), say("no text given; expected a CSV file, saved as text and not as a workbook")
    )

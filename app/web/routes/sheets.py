"""Official sheets: bring one in (PDF, pasted text or table), choose the skater, see the audit, forget it again."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, File, Form, Request, Response, UploadFile
from pydantic import BaseModel, Field

from app import engine
from app.domain.said import said_of
from app.domain.words import say
from app.errors import InputError
from app.review.official import OfficialSheet, sheet_from_json, sheet_json
from app.review.pdf_lines import lines_of_pdf
from app.review.sheet_import import MOST_BYTES, SheetReading, read_lines, read_text
from app.storage.records import SheetRecord
from app.storage.stores import Stores
from app.web import htmx, uploads
from app.web.deps import StoresDep
from app.web.live_log import sheet_of
from app.web.rendering import page
from app.web.sheet_log import Offer, add, chosen_day, offer_of, read_rows, sending_name
from app.web.views.plans import usual_edition
from app.web.views.sheet import audited, sheet_view
from app.web.views.sheet_form import Belongs, SheetFormView, form_view, reading_view
from app.web.views.sheet_skate import credit_questions, skate_view, stopped_view

router = APIRouter(prefix="/sheets", include_in_schema=False)

MOST_TEXT = 400_000
MOST_SHEET = 40_000


class BelongsForm(BaseModel):
    """What the user says of a sheet."""

    edition: str = Field(max_length=80)
    skater_id: int = 0
    program_id: int = 0
    note: str = Field("", max_length=80)

    @property
    def belongs(self) -> Belongs:
        """The same as a value."""
        return Belongs(self.edition, self.skater_id, self.program_id, " ".join(self.note.split()))


class FileForm(BelongsForm):
    """What the form sends beside its file."""

    text: str = Field("", max_length=MOST_TEXT)


class KeepForm(BelongsForm):
    """One sheet out of a file, to be kept."""

    sheet: str = Field(max_length=MOST_SHEET)


@router.get("/new")
def form(request: Request, stores: StoresDep, program: int = 0, skater: int = 0) -> Response:
    """The form; from a live program its rulebook and skater are chosen already."""
    if program:
        record = stores.live.program(program)
        belongs = Belongs(record.edition, record.skater_id, program)
    elif skater:
        stores.skaters.get(skater)
        belongs = Belongs(usual_edition(stores.layouts.of_skater(skater)), skater)
    else:
        belongs = Belongs()
    return page(request, "sheet/new.html", _form(stores, belongs))


@router.post("/read")
def read(
    request: Request,
    stores: StoresDep,
    given: Annotated[FileForm, Form(media_type="multipart/form-data")],
    file: Annotated[UploadFile | None, File()] = None,
) -> Response:
    """What was understood. Nothing is stored."""
    _check(stores, given.belongs)
    try:
        reading, pages_left = _reading(given.text, file)
    except InputError as error:
        view = _form(stores, given.belongs, given.text, said_of(error))
        return page(request, "sheet/new.html", view, status=422)
    return page(request, "sheet/reading.html", reading_view(given.belongs, reading, pages_left))


@router.post("")
def keep(
    request: Request, stores: StoresDep, given: Annotated[KeepForm, Form(media_type="multipart/form-data")]
) -> Response:
    """Keep one sheet of those read, without any name."""
    belongs = given.belongs
    _check(stores, belongs)
    record = SheetRecord(
        edition=belongs.edition,
        sheet=sheet_json(_sheet(given.sheet)),
        read_at=datetime.now(UTC),
        skater_id=belongs.skater_id or None,
        program_id=belongs.program_id or None,
        note=belongs.note,
    )
    return htmx.go_to(request, f"/sheets/{stores.sheets.add(record).id}")


@router.get("/{sheet_id}")
def show(request: Request, stores: StoresDep, sheet_id: int) -> Response:
    """The audit; a program that was stopped shows no points until an adult has lifted the stop."""
    record = stores.sheets.get(sheet_id)
    sheet = sheet_from_json(record.sheet)
    skater = stores.skaters.get(record.skater_id).name if record.skater_id else ""
    live = None if record.program_id is None else sheet_of(stores, record.program_id)
    hurt = live is not None and live.state.stopped
    found, fault, offer = None, "", None
    asked: tuple[str, ...] = ()
    if not hurt:
        offer = offer_of(stores, record, sheet, live)
        try:
            found = audited(record, sheet)
            asked = credit_questions(live, sheet) if live is not None else ()
        except InputError as error:
            fault = said_of(error)
    view = sheet_view(
        record, sheet, skater, hurt=hurt, found=found, fault=fault, by_the_log=asked, offer=offer
    )
    return page(request, "sheet/page.html", view)


@router.post("/{sheet_id}/log")
def add_to_log(
    request: Request,
    stores: StoresDep,
    sheet_id: int,
    rows: Annotated[list[int] | None, Form()] = None,
    meant: Annotated[list[str] | None, Form()] = None,
    day: Annotated[str, Form(max_length=20)] = "",
) -> Response:
    """Count the ticked rows in the skater's own log; a sheet, or two of one program, only once."""
    record, offer = _offered(stores, sheet_id, day)
    chosen = read_rows(rows or [], meant or [])
    add(stores, offer, sending_name(record), chosen, datetime.now(UTC))
    return htmx.go_to(request, f"/sheets/{sheet_id}#log")


@router.post("/{sheet_id}/log/undo")
def take_out_of_log(request: Request, stores: StoresDep, sheet_id: int) -> Response:
    """Leave the attempts of a sheet out of the own log again."""
    _, offer = _offered(stores, sheet_id, "")
    if offer.added:
        stores.attempts.undo(offer.skater_id, offer.added)
    return htmx.go_to(request, f"/sheets/{sheet_id}#log")


def _offered(stores: Stores, sheet_id: int, day: str) -> tuple[SheetRecord, Offer]:
    """A sheet and what it would add. Raises InputError for one of no skater, or of a stopped program."""
    record = stores.sheets.get(sheet_id)
    live = None if record.program_id is None else sheet_of(stores, record.program_id)
    if live is not None and live.state.stopped:
        raise InputError(
            say("sheet"), say("its program is stopped; nothing is counted until an adult has lifted the stop")
        )
    on = chosen_day(day, datetime.now().astimezone().date())
    offer = offer_of(stores, record, sheet_from_json(record.sheet), live, on)
    if offer is None:
        raise InputError(say("sheet"), say("it is kept for no skater; bring it in again and choose one"))
    return record, offer


@router.get("/{sheet_id}/skate")
def skate(request: Request, stores: StoresDep, sheet_id: int) -> Response:
    """Planned, skated, called, with the price; for a sheet that belongs to a live program."""
    record = stores.sheets.get(sheet_id)
    if record.program_id is None:
        raise InputError(
            say("sheet"), say("no logged program belongs to it; add it from the review page of one")
        )
    live = sheet_of(stores, record.program_id)
    title = record.note or live.record.layout_name
    if live.state.stopped:
        return page(request, "sheet/skate.html", stopped_view(sheet_id, title, record.program_id))
    try:
        view = skate_view(sheet_id, title, live, sheet_from_json(record.sheet))
    except InputError as error:
        view = stopped_view(sheet_id, title, record.program_id, said_of(error))
    return page(request, "sheet/skate.html", view)


@router.post("/{sheet_id}/forget")
def forget(request: Request, stores: StoresDep, sheet_id: int) -> Response:
    """Remove a sheet."""
    stores.sheets.delete(sheet_id)
    return htmx.go_to(request, "/sheets/new")


def _form(stores: Stores, belongs: Belongs, text: str = "", fault: str = "") -> SheetFormView:
    program = stores.live.program(belongs.program_id).layout_name if belongs.program_id else ""
    return form_view(belongs, stores.skaters.all(), stores.sheets.recent(), program, text, fault)


def _check(stores: Stores, belongs: Belongs) -> None:
    """Refuse a rulebook, skater or program that does not exist."""
    engine.edition(belongs.edition)
    if belongs.skater_id:
        stores.skaters.get(belongs.skater_id)
    if belongs.program_id:
        stores.live.program(belongs.program_id)


def _reading(text: str, file: UploadFile | None) -> tuple[SheetReading, int]:
    """The sheets in pasted text or in the file, and how many pages of a PDF were left. Raises InputError."""
    pages_left = 0
    if text.strip():
        reading = read_text(text)
    elif file is not None and (raw := file.file.read(MOST_BYTES + 1)):
        if raw.lstrip()[:5] == b"%PDF-":
            pdf = lines_of_pdf(raw)
            reading, pages_left = read_lines(pdf.lines), pdf.pages_left
        else:
            reading = read_text(_text_of(raw))
    else:
        raise InputError(say("sheet"), say("nothing given; choose a file or paste the sheet's text"))
    return reading, pages_left


def _text_of(raw: bytes) -> str:
    if len(raw) > MOST_TEXT:
        raise InputError(
            say("file"),
            say(
                "more than %(given)s bytes of text given; expected the sheets of one event",
                given=format(MOST_TEXT, ","),
            ),
        )
    text = uploads.text_of(raw)
    if text is not None:
        return text
    raise InputError(
        say("file"), say("neither a PDF nor text; expected a PDF with a text layer, or a CSV file")
    )


def _sheet(text: str) -> OfficialSheet:
    """The sheet the form carries. Raises InputError when it is none."""
    try:
        return sheet_from_json(json.loads(text))
    except (ValueError, RecursionError):
        raise InputError(say("sheet"), say("not a sheet as it was read; bring the file in again")) from None

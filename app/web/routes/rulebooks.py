"""Rulebooks: choose and read one, compare two, make one of one's own, take it out as a file and in again."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Depends, File, Form, Query, Request, Response, UploadFile

from app import engine
from app.domain.said import said_of
from app.domain.words import say
from app.errors import InputError
from app.live.broadcast import SHELF_NEWS
from app.rulebook.editions import value_tables
from app.rulebook.own import slug_of
from app.rulebook.own_file import MOST_BYTES, file_text, read_file
from app.storage.records import LayoutRecord
from app.storage.stores import Stores
from app.web import htmx
from app.web.deps import StoresDep
from app.web.layout_rows import checked
from app.web.live_log import hub_of
from app.web.rendering import page
from app.web.views.rulebook import PARTS, rulebook_view, rulebooks_view
from app.web.views.rulebook_diff import differences_view
from app.web.views.rulebook_own import check_view, made, own_view, values_of

router = APIRouter(prefix="/rulebooks", include_in_schema=False)

Text = Annotated[str, Query(max_length=200)]
Typed = Annotated[str, Form(max_length=200)]
MOST_FIELDS = 400
MOST_LETTERS = 400


@router.get("")
def choose(request: Request) -> Response:
    """Choose an edition; nothing asked: every edition, newest season first."""
    return page(request, "rulebook/list.html", rulebooks_view(_asked(request)))


def _asked(request: Request) -> dict[str, str]:
    return {part: request.query_params.get(part, "") for part in PARTS}


@router.get("/differences")
def differences(request: Request, stores: StoresDep, now: Text, before: Text, layout: int = 0) -> Response:
    """Two editions beside each other, and what the difference does to a layout."""
    chosen = stores.layouts.get(layout) if layout else None
    view = differences_view(engine.edition(before), engine.edition(now), chosen, _layouts(stores))
    return page(request, "rulebook/differences.html", view)


@router.get("/own")
def copy(request: Request, of: Text) -> Response:
    """The form for a rulebook of one's own, filled from an edition."""
    return page(request, "rulebook/own.html", own_view(engine.edition(of)))


@dataclass(frozen=True, slots=True)
class Sent:
    """The form of a copy as it was sent: the edition it is of, its name, numbers by path, base values in lines."""

    of: str
    title: str
    numbers: Mapping[str, str]
    values: str


async def get_sent(request: Request) -> Sent:
    """Reads the form. Its numbers have names of their own in every edition, so they are declared nowhere."""
    length = request.headers.get("content-length", "")
    if not length.isascii() or not length.isdigit() or int(length) > MOST_BYTES:
        raise InputError(
            say("form"),
            say(
                "%(given)s bytes given; expected at most %(most)s",
                given=length or "no",
                most=format(MOST_BYTES, ","),
            ),
        )
    form = await request.form(max_fields=MOST_FIELDS, max_files=0)
    texts = {key: value[:MOST_BYTES] for key, value in form.items() if isinstance(value, str)}
    numbers = {key: value[:MOST_LETTERS] for key, value in texts.items() if "." in key}
    return Sent(texts.get("of", ""), texts.get("title", ""), numbers, texts.get("values", ""))


SentDep = Annotated[Sent, Depends(get_sent)]


@router.post("/own")
def keep(request: Request, stores: StoresDep, sent: SentDep) -> Response:
    """Keep the copy as a new version; what is wrong comes back at its field, nothing typed is lost."""
    book = engine.edition(sent.of)
    title_fault, values_fault = (
        _fault(lambda: slug_of(sent.title)),
        _fault(lambda: values_of(book, sent.values)),
    )
    view = own_view(book, sent.numbers, sent.title, sent.values, title_fault, values_fault)
    if view.faults:
        return page(request, "rulebook/own.html", view, status=422)
    changed = made(book, sent.numbers, sent.values)
    kept = stores.rulebooks.add(changed, sent.title, datetime.now(UTC))
    hub_of(request).news(SHELF_NEWS)
    return htmx.go_to(request, f"/rulebooks/{kept.name}")


def _fault(check: Callable[[], object]) -> str:
    try:
        check()
    except InputError as error:
        return said_of(error)
    return ""


@router.post("/own/check")
def check(request: Request, sent: SentDep, field: Text) -> Response:
    """What is to be said of one field while it is typed."""
    return page(request, "rulebook/_check.html", check_view(engine.edition(sent.of), field, sent.numbers))


@router.get("/file")
def export(of: Text) -> Response:
    """An edition as a file to keep or to give away."""
    book = engine.edition(of)
    text = file_text(book, value_tables()[book.values.name])
    name = "-".join(part for part in book.name.split("/")) + ".toml"
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "no-store"}
    return Response(text, media_type="application/toml; charset=utf-8", headers=headers)


@router.post("/file")
def take_in(request: Request, stores: StoresDep, file: Annotated[UploadFile, File()]) -> Response:
    """A file as a new own rulebook, or as the next version of one that has its name."""
    try:
        book = read_file(_file_text(file), value_tables(), "file")
        added = stores.rulebooks.add(book, book.title, datetime.now(UTC))
        hub_of(request).news(SHELF_NEWS)
    except InputError as error:
        return page(request, "rulebook/list.html", rulebooks_view({}, said_of(error)), status=422)
    return htmx.go_to(request, f"/rulebooks/{added.name}")


@router.post("/accept")
def accept(
    request: Request, stores: StoresDep, layout_id: Annotated[int, Form()], edition: Typed
) -> Response:
    """A layout takes over its changed rulebook."""
    book = engine.edition(edition)
    skater = stores.skaters.get(stores.layouts.get(layout_id).skater_id)

    def taken(layout: LayoutRecord) -> LayoutRecord:
        same = book.name.split("/")[:2] == layout.edition.split("/")[:2]
        if book.name != layout.edition and not (book.is_own and same):
            raise InputError(
                say("edition"),
                say(
                    "%(given)s given; expected %(edition_2)s or a later version of it",
                    given=repr(edition),
                    edition_2=layout.edition,
                ),
            )
        return checked(replace(layout, edition=book.name, fingerprint=book.fingerprint), skater)

    stores.layouts.change(layout_id, taken)
    return htmx.go_to(request, f"/layouts/{layout_id}")


@router.get("/{name:path}")
def show(request: Request, stores: StoresDep, name: str, values: Text = "") -> Response:
    """One edition: every rule, disputed readings, base values that hold `values`."""
    view = rulebook_view(engine.edition(name), values, _layouts(stores))
    return page(request, "rulebook/page.html", view)


def _layouts(stores: Stores) -> list[tuple[str, LayoutRecord]]:
    return [(one.name, layout) for one in stores.skaters.all() for layout in stores.layouts.of_skater(one.id)]


def _file_text(file: UploadFile) -> str:
    raw = file.file.read(MOST_BYTES + 1)
    if len(raw) > MOST_BYTES:
        raise InputError(
            say("file"),
            say(
                "more than %(given)s bytes given; a rulebook takes about 8,000",
                given=format(MOST_BYTES, ","),
            ),
        )
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(
            say("file"), say("no UTF-8 text given; expected a rulebook as exported here")
        ) from None

"""What is enough: set a total to reach or not to fall below, and see how likely it is."""

from __future__ import annotations

from typing import Annotated
from uuid import uuid4

from fastapi import APIRouter, Form, Request, Response

from app.domain.said import said_of
from app.domain.typed import read_number
from app.domain.words import figure, say
from app.errors import InputError
from app.live.events import AimSet
from app.web import htmx
from app.web.deps import StoresDep, VisitorDep
from app.web.live_log import TapDep, advisor_of, sheet_of
from app.web.rendering import page
from app.web.views.aim import aim_view, refused

router = APIRouter(prefix="/live/{program_id}/aim", include_in_schema=False)

Text = Annotated[str, Form()]
MOST = 400.0
"""No segment has ever been worth so many points."""


@router.get("")
def show(request: Request, stores: StoresDep, visitor: VisitorDep, program_id: int) -> Response:
    """The page as things stand."""
    sheet = sheet_of(stores, program_id)
    view = aim_view(sheet, advisor_of(request), visitor, uuid4().hex)
    return page(request, "live/aim.html", view)


@router.post("")
def change(tap: TapDep, kind: Text, points: Text = "", components: Text = "") -> Response:
    """Set the aim, an event like any other; what cannot be read comes back with the reason, nothing typed is lost."""
    try:
        wanted = _wanted(kind, points, components)
    except InputError as error:
        view = aim_view(tap.sheet, advisor_of(tap.request), tap.visitor, uuid4().hex)
        view = refused(view, said_of(error), kind, points, components)
        return page(tap.request, "live/aim.html", view, status=422)
    tap.log(wanted)
    return htmx.go_to(tap.request, f"/live/{tap.program_id}/aim")


def _wanted(kind: str, points: str, components: str) -> AimSet:
    """The aim as typed. The components are kept with any: they are part of every total."""
    brings = _points("components", components or "0")
    if kind == "expected":
        return AimSet("expected", components=brings)
    if kind not in ("reach", "floor"):
        raise InputError(
            say("kind"), say("%(given)s given; expected expected, reach or floor", given=repr(kind))
        )
    return AimSet("reach" if kind == "reach" else "floor", _points("points", points), brings)


def _points(field: str, text: str) -> float:
    """Points as people write them, 62.40 or 62,40."""
    try:
        value = read_number(text)
    except ValueError:
        value = -1.0
    if not 0 <= value <= MOST:
        raise InputError(
            field,
            say(
                "%(given)s given; expected points between 0 and %(most)s, such as 62.40",
                given=repr(text),
                most=figure(MOST, 0),
            ),
        )
    return round(value, 2)

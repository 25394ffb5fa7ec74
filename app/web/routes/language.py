"""Choosing the language: of this device by a cookie, of all others by the coach's setting."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import RedirectResponse

from app.domain.words import listed, say
from app.errors import InputError
from app.web.deps import StoresDep, VisitorDep
from app.web.languages import LANGUAGES, spoken
from app.web.rendering import page
from app.web.tongue import COOKIE, KEPT_SECONDS
from app.web.views.language import language_view, own_path

router = APIRouter(prefix="/language", include_in_schema=False)

FormText = Annotated[str, Form()]


@router.get("")
def choose(request: Request, stores: StoresDep, visitor: VisitorDep, back: str = "/") -> Response:
    """The languages there are."""
    may_set = visitor.may_enter and visitor.is_coach
    view = language_view(spoken.get(), own_path(back), stores.settings.coach().language, may_set)
    return page(request, "language/page.html", view)


@router.post("")
def keep(
    stores: StoresDep,
    visitor: VisitorDep,
    language: FormText = "",
    back: FormText = "/",
    usual: FormText = "",
) -> Response:
    """Keep a choice. `usual`: for all devices that have none, as only the coach may say; it may be empty then."""
    if language not in LANGUAGES and not (usual and language == ""):
        raise InputError(
            say("language"),
            say(
                "%(given)s given; expected one of: %(expected)s",
                given=repr(language),
                expected=listed(LANGUAGES),
            ),
        )
    answer = RedirectResponse(own_path(back), status_code=303)
    if not usual:
        answer.set_cookie(COOKIE, language, max_age=KEPT_SECONDS, httponly=True, samesite="lax")
    elif visitor.may_enter and visitor.is_coach:
        stores.settings.change("language", language)
    else:
        raise InputError(
            say("usual"), say("only the coach sets the language of other devices; choose one for this device")
        )
    return answer

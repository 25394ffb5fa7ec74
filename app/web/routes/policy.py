"""What a phone fetches so that it can go on without the laptop: the policy of a program, and where it stands."""

from __future__ import annotations

import time
from contextvars import copy_context
from typing import Any, cast

from fastapi import APIRouter, Request, Response
from starlette.responses import JSONResponse

from app.live.fold import LiveState
from app.live.policy import Pads, Policy, Source
from app.web.advisor import lasting_mark, skated_points
from app.web.deps import StoresDep, VisitorDep
from app.web.languages import shown_text, spoken
from app.web.live_log import advisor_of, sheet_of
from app.web.policy_desk import Order, PolicyDesk
from app.web.views.boards import Sheet, board, seen_mode
from app.web.views.live import LiveView, Mode
from app.web.views.policy import Frame, policy_json

router = APIRouter(prefix="/live/{program_id}/policy", include_in_schema=False)
NEVER_KEPT = {"Cache-Control": "no-store"}


@router.get("/here")
def here(request: Request, stores: StoresDep, visitor: VisitorDep, program_id: int) -> Response:
    """Where the program stands: mode, version of the policy, node, points so far. `version` null: being made."""
    sheet = sheet_of(stores, program_id)
    state, view = sheet.ahead, board(sheet, advisor_of(request), visitor, time.time())
    said: dict[str, Any] = {
        "mode": view.mode,
        "version": None,
        "place": len(state.logged),
        "undo": _undo(view),
    }
    if view.mode in (Mode.ADVICE, Mode.SILENT):
        found = desk_of(request).find(_order(sheet, state, view), state)
        if found is not None:
            said |= {"version": found.version, "node": found.node}
            said |= {
                "cents": round(100 * skated_points(state)),
                "lost": [shown_text(one) for one in found.lost],
            }
    return JSONResponse(said, headers=NEVER_KEPT)


@router.get("/{version}")
def policy(
    request: Request, stores: StoresDep, visitor: VisitorDep, program_id: int, version: str
) -> Response:
    """The policy of that version, as long as this device may see what it holds."""
    mode = seen_mode(sheet_of(stores, program_id).state, visitor)
    packed = desk_of(request).packed(version, program_id, mode, visitor.role)
    if packed is None:
        return JSONResponse({"error": f"no policy {version!r}; ask for the place anew"}, status_code=404)
    headers = {"Content-Encoding": "gzip", "Cache-Control": "private, max-age=86400, immutable"}
    return Response(packed, media_type="application/json", headers=headers)


def desk_of(request: Request) -> PolicyDesk:
    """The desk of this server."""
    return cast(PolicyDesk, request.app.state.policy_desk)


def _order(sheet: Sheet, state: LiveState, view: LiveView) -> Order:
    elements, limits, edition = sheet.elements, sheet.limits, sheet.edition
    pads = Pads(state.plan, elements.known, tuple(elements.offered))
    frame = Frame(view, state, elements, pads)
    # What a total to reach asks for depends on points that no merged state knows: such a program is logged only.
    silent = view.mode is Mode.SILENT or state.aim.kind != "expected"

    context = copy_context()  # the policy is written in the reader's language, by another thread

    def write(version: str, found: Policy) -> dict[str, Any]:
        return context.run(policy_json, version, found, frame)

    def source(one: LiveState) -> Source:
        from app.web.policy_source import (
            source_of,
        )  # brings the compiled loops: not before somebody needs them

        return source_of(one, edition, elements, limits, silent=silent)

    asked = lasting_mark(sheet.record.id, state, elements, limits)
    key = f"{sheet.record.id} {view.mode} {state.aim} {asked} {spoken.get()} {view.role}"
    return Order(key, source, pads, write)


def _undo(view: LiveView) -> dict[str, Any]:
    return {"number": view.undo_number, "of": view.undo_of}

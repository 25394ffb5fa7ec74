"""What a phone fetches so that it can go on without the laptop: the policy of a program, and where it stands."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Any, cast

from fastapi import APIRouter, Request, Response
from starlette.responses import JSONResponse

from app.domain.words import say
from app.live.policy import Pads
from app.web.advisor import Advisor, skated_points
from app.web.deps import StoresDep, VisitorDep
from app.web.languages import shown_text, spoken
from app.web.live_log import advisor_of, sheet_of
from app.web.policy_desk import Order, PolicyDesk
from app.web.views.boards import Sheet, board, own_of, seen_mode
from app.web.views.live import Mode
from app.web.views.policy import Frame
from app.web.visitor import Visitor

router = APIRouter(prefix="/live/{program_id}/policy", include_in_schema=False)
SOON, EACH_TAKES, LATEST = 500, 1000, 10_000
"""Milliseconds: a phone asks again no sooner and no later than that; about how long one policy takes."""
NEVER_KEPT = {"Cache-Control": "no-store"}


@router.get("/here")
def here(request: Request, stores: StoresDep, visitor: VisitorDep, program_id: int) -> Response:
    """Where the program stands: mode, version of the policy, node, points so far.

    `version` null: being made; ask again after `again` milliseconds.
    """
    sheet = sheet_of(stores, program_id)
    state, undo_of = sheet.ahead, own_of(sheet.ahead, visitor)
    mode = seen_mode(state, visitor)
    said: dict[str, Any] = {
        "mode": mode,
        "version": None,
        "place": len(state.logged),
        "undo": {"number": len(state.logged) if undo_of else 0, "of": " ".join(undo_of)},
    }
    if mode in (Mode.ADVICE, Mode.SILENT):
        asked = Asker(sheet, visitor, spoken.get())
        found = desk_of(request).find(asked.key, state, lambda: asked.order(advisor_of(request)))
        if found is None:
            said["again"] = again_in(desk_of(request).ahead(asked.key))
        else:
            said |= {"version": found.version, "node": found.node}
            said |= {
                "cents": round(100 * skated_points(state)),
                "lost": [shown_text(one) for one in found.lost],
            }
    return JSONResponse(said, headers=NEVER_KEPT)


def again_in(ahead: int) -> int:
    """Milliseconds after which to ask again: on a crowded laptop the others' turns come first."""
    return min(max(SOON, ahead * EACH_TAKES), LATEST)


@router.get("/{version}")
def policy(
    request: Request, stores: StoresDep, visitor: VisitorDep, program_id: int, version: str
) -> Response:
    """The policy of that version, as long as this device may see what it holds."""
    mode = seen_mode(sheet_of(stores, program_id).state, visitor)
    packed = desk_of(request).packed(version, program_id, mode, visitor.role)
    if packed is None:
        return JSONResponse(
            {"error": say("no policy %(version)s; ask for the place anew", version=repr(version))},
            status_code=404,
        )
    headers = {"Content-Encoding": "gzip", "Cache-Control": "private, max-age=86400, immutable"}
    return Response(packed, media_type="application/json", headers=headers)


def desk_of(request: Request) -> PolicyDesk:
    """The desk of this server."""
    return cast(PolicyDesk, request.app.state.policy_desk)


@dataclass(frozen=True, slots=True)
class Asker:
    """Who asks for the policy of which program, in which language."""

    sheet: Sheet
    visitor: Visitor
    language: str

    @property
    def key(self) -> str:
        """All that the policy depends on apart from the passes logged."""
        sheet, role = self.sheet, self.visitor.role
        mode = seen_mode(sheet.ahead, self.visitor)
        return f"{sheet.record.id} {mode} {sheet.ahead.aim} {sheet.mark} {self.language} {role}"

    def order(self, advisor: Advisor) -> Order:
        """What it is made from."""
        sheet, state = self.sheet, self.sheet.ahead
        view = board(sheet, advisor, self.visitor, time.time())
        pads = Pads(state.plan, sheet.elements.known, tuple(sheet.elements.offered))
        # What a total to reach asks for depends on points that no merged state knows: such a program is logged only.
        silent = view.mode is Mode.SILENT or state.aim.kind != "expected"
        frame = Frame(view, state, sheet.elements, pads)
        return Order(self.key, frame, sheet.limits, silent, self.language)

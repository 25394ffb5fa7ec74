"""The engine over HTTP: `POST /api/score`, `POST /api/advise`, and the page that describes them (/api/docs)."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from pydantic import BaseModel
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, Response

from app import contract
from app.requests import AdviseRequest, ScoreRequest
from app.web.rendering import page

router = APIRouter(prefix="/api", tags=["engine"])

MOST_BYTES = 2_000_000
SCORE_EXAMPLE = {
    "edition": "isu/2025-26/senior/women/free",
    "elements": [
        {"code": "3Lz<+3T", "late": True, "judges": [1, 2, 2, 1, 3]},
        {"code": "CCoSp4", "judges": [2, 2, 3, 2, 2]},
    ],
    "components": [{"name": "Composition", "factor": 2.67, "judges": [8.0, 8.25, 8.0, 7.75, 8.0]}],
    "falls": 1,
    "other_deductions": 0,
}
ADVISE_EXAMPLE = {
    "edition": "isu/2026-27/senior/women/free",
    "done": [{"code": "3Lz", "fall": True, "planned": "3Lz+3T", "tried": "3Lz+3T"}],
    "passes": [{"planned": "3F+2T", "late": False, "options": ["3F+2T", "3F"]}],
    "attempts": {
        "3F+2T": [
            {"becomes": "3F+2T", "chance": 0.75, "goe": 0.8},
            {"becomes": "3F", "chance": 0.25, "goe": -1},
        ],
        "3F": [{"becomes": "3F", "chance": 1.0, "goe": 1.0}],
    },
    "max_changes": 2,
}


class Refusal(BaseModel):
    """What went wrong: the field, what was given, what was expected."""

    error: str


def _inlined(part: Any, named: dict[str, Any]) -> Any:
    """A JSON schema with its `$ref`s replaced by what they name, so that it can stand anywhere."""
    if isinstance(part, list):
        return [_inlined(item, named) for item in part]
    if not isinstance(part, dict):
        return part
    if "$ref" in part:
        return _inlined(named[part["$ref"].rpartition("/")[2]], named)
    return {name: _inlined(value, named) for name, value in part.items() if name != "$defs"}


def _body(model: type[BaseModel], example: dict[str, Any]) -> dict[str, Any]:
    whole = model.model_json_schema()
    schema = _inlined(whole, whole.get("$defs", {}))
    return {
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": schema, "example": example}},
        }
    }


REFUSALS: dict[int | str, dict[str, Any]] = {422: {"model": Refusal}, 413: {"model": Refusal}}


@router.post("/score", openapi_extra=_body(ScoreRequest, SCORE_EXAMPLE), responses=REFUSALS)
async def score(request: Request) -> Response:
    """Score a program as called: base values as ruled, GOE, late credit, components, deductions, to the cent.

    Codes carry the panel's calls, never `*` or `+REP`: those the engine finds.
    """
    return await _answer("score", request)


@router.post("/advise", openapi_extra=_body(AdviseRequest, ADVISE_EXAMPLE), responses=REFUSALS)
async def advise(request: Request) -> Response:
    """The best next pass over all adaptive plans, with every option, swap and ruling.

    An option `null` leaves a pass out.
    """
    return await _answer("advise", request)


@router.get("/docs", include_in_schema=False)
def docs(request: Request) -> Response:
    """The description page, served from here."""
    return page(request, "api/docs.html", None)


async def _answer(verb: str, request: Request) -> Response:
    body = bytearray()
    async for chunk in request.stream():
        body += chunk
        if len(body) > MOST_BYTES:
            problem = f"request: more than {MOST_BYTES} bytes given; send the programs one by one"
            return JSONResponse({"error": problem}, status_code=413)
    return JSONResponse(await run_in_threadpool(contract.answer, verb, bytes(body)))

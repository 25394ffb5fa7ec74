"""The report after a skate: on a page, as a PDF, as one web file that needs nothing else."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response
from markupsafe import Markup

from app.domain.words import say
from app.errors import InputError
from app.review.official import OfficialSheet, sheet_from_json
from app.settings import PROJECT
from app.storage.stores import Stores
from app.web.deps import StoresDep
from app.web.live_log import sheet_of
from app.web.rendering import page, text_of
from app.web.views.report import AUDIENCES, ReportView, SharedReportView, report_view

router = APIRouter(prefix="/live/{program_id}", include_in_schema=False)

LOOKS = PROJECT / "static" / "report.css"


def get_report(stores: StoresDep, program_id: int, reader: str = "coach") -> ReportView:
    """The report of a live program for `reader`, with the latest official sheet where one was added."""
    if reader not in AUDIENCES:
        raise InputError(
            say("reader"),
            say(
                "%(given)s given; expected %(expected)s",
                given=repr(reader[:20]),
                expected=" or ".join(AUDIENCES),
            ),
        )
    sheet = sheet_of(stores, program_id)
    if sheet.record.rehearsal is not None:
        raise InputError(
            say("program"), say("it was a rehearsal; what was called and answered stands on its review page")
        )
    return report_view(sheet, _official(stores, program_id), reader)


ReportDep = Annotated[ReportView, Depends(get_report)]


@router.get("/report")
def show(request: Request, view: ReportDep) -> Response:
    """The report on a page; printed, it is one sheet."""
    return page(request, "report/page.html", view)


@router.get("/report.pdf")
def as_pdf(view: ReportDep) -> Response:
    """The report as a PDF of one page."""
    from app.web.report_pdf import report_pdf  # brings numpy; the first page waits for nothing heavy

    return _file(report_pdf(view), "application/pdf", f"{view.file_name}.pdf")


@router.get("/report.html")
def as_file(view: ReportDep) -> Response:
    """The report as one web file, its looks inside, to be sent on."""
    shared = SharedReportView(view, Markup(LOOKS.read_text(encoding="utf-8")))  # our own style sheet
    return _file(
        text_of("report/file.html", shared).encode(), "text/html; charset=utf-8", f"{view.file_name}.html"
    )


def _official(stores: Stores, program_id: int) -> OfficialSheet | None:
    kept = stores.sheets.of_program(program_id)
    return sheet_from_json(kept[0].sheet) if kept else None


def _file(content: bytes, kind: str, name: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "no-store"}
    return Response(content, media_type=kind, headers=headers)

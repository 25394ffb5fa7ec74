"""The report after a skate, as page, PDF and web file, for coach and guardian. Skaters and programs are invented."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO

import pytest
from babel.dates import format_date
from pypdf import PdfReader
from starlette.testclient import TestClient

from app.errors import InputError
from app.web.report_pdf import report_pdf
from app.web.views.report import ReportView, SectionView
from tests.review.test_report import CODES
from tests.web.test_sheet_skate import skated  # noqa: F401  the fixture: a lost tail, a call, and the panel's sheet

ROUGH = (
    "3Lz+3T fell-1",
    "3F planned",
    "2A planned",
    "3Lo popped-1",
    "3F+2T+2Lo popped-tail",
    "3S+2T lost-2",
    "2A planned",
)
CLEAN = ("3Lz+3T", "3F", "2A", "3Lo", "3F+2T+2Lo", "3S+2T", "2A")
READERS = ("coach", "guardian")


def logged(client: TestClient, taps: tuple[str, ...]) -> str:
    """The address of a run-through with these taps."""
    live = str(client.post("/live", data={"layout_id": 3, "kind": "run-through"}).headers["location"])
    for number, tap in enumerate(taps, start=1):
        data = {"number": number, "tap": tap, "event_id": f"{live}-{number}"}
        assert client.post(f"{live}/pass", data=data).status_code == 303
    return live


def text_of(page: str) -> str:
    """The words of the report on a page."""
    body = re.search(r'<(article|main) class="report">(.*?)</\1>', page, re.DOTALL)
    assert body is not None
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body[2].replace("<wbr>", ""))).split())


def headings(page: str) -> list[str]:
    """The headings of the report in order."""
    body = re.search(r'<article class="report">(.*?)</article>', page, re.DOTALL)
    assert body is not None
    return re.findall(r"<h2>(.*?)</h2>", body[1])


@pytest.mark.parametrize("reader", READERS)
def test_strengths_come_first_and_at_most_one_thing_last(demo_laptop: TestClient, reader: str) -> None:
    live = logged(demo_laptop, ROUGH)
    page = demo_laptop.get(f"{live}/report?reader={reader}").text
    found = headings(page)
    assert found[0] == "What went well"
    assert found[-1] in ("One thing to rehearse", "One thing to practise")
    assert page.count('class="main-thing"') == 1


def test_a_guardian_reads_neither_codes_nor_points_and_no_other_skater(
    skated: tuple[TestClient, str, str],  # noqa: F811
) -> None:
    client, live, _ = skated
    said = text_of(client.get(f"{live}/report?reader=guardian").text)
    assert not CODES.search(said)
    assert "triple Lutz with a triple toe loop" in said
    assert "a little short of turns" in said
    for word in ("rank", "place", "better than", "worse", "fail", "mistake", "blame", "should have"):
        assert word not in said.casefold()


def test_the_coach_reads_codes_and_points_with_the_sheet(skated: tuple[TestClient, str, str]) -> None:  # noqa: F811
    client, live, _ = skated
    said = text_of(client.get(f"{live}/report").text)
    # 3T is worth 4.20 and the call on the flip takes a fifth of 5.30, both published for 2025/26.
    assert "1 3Lz+3T 3Lz 3Lz −4.20" in said
    assert "2 3F 3F 3F< −1.06" in said
    assert "Pass 1: 3Lz+3T was the right choice; it did not come off this time." in said


def test_without_a_sheet_it_tells_what_was_logged(demo_laptop: TestClient) -> None:
    said = text_of(demo_laptop.get(f"{logged(demo_laptop, ROUGH)}/report").text)
    assert "Right after a fall 3F came as tried." in said
    # The lost 3T of 4.20 and a point for the fall of seniors, both published.
    assert "1 3Lz+3T 3Lz, fell −5.20" in said
    assert "Called" not in said


def test_all_as_planned_leaves_little_to_say(demo_laptop: TestClient) -> None:
    live = logged(demo_laptop, tuple(f"{code} planned" for code in CLEAN))
    page = demo_laptop.get(f"{live}/report?reader=guardian").text
    assert "What came out otherwise" not in headings(page)


def test_nothing_is_weighed_where_somebody_was_hurt(demo_laptop: TestClient) -> None:
    live = logged(demo_laptop, ROUGH[:2])
    demo_laptop.post(f"{live}/hurt", data={"event_id": "hurt-1"})
    stop = demo_laptop.get(f"{live}/report").text
    said = text_of(stop)
    assert "The program was stopped after 2 of 7 passes." in said
    assert "Medical staff decide" in said
    assert headings(stop) == ["What is known", "What comes next"]
    assert not re.search(r"\d\.\d\d|instead|rehearse", said)
    cleared = {"by": "coach", "relying_on": "medical staff have cleared the skater", "of": "hurt-1"}
    demo_laptop.post(f"{live}/clear", data=cleared | {"event_id": "clear-1"})
    assert headings(demo_laptop.get(f"{live}/report").text) == ["What is known", "What comes next"]


def test_a_stop_tapped_by_mistake_is_none(demo_laptop: TestClient) -> None:
    live = logged(demo_laptop, ROUGH)
    demo_laptop.post(f"{live}/hurt", data={"event_id": "hurt-1"})
    mistake = {"by": "coach", "relying_on": "tapped by mistake", "of": "hurt-1", "event_id": "clear-1"}
    demo_laptop.post(f"{live}/clear", data=mistake)
    assert headings(demo_laptop.get(f"{live}/report").text)[0] == "What went well"


def test_there_is_no_report_before_the_end(demo_laptop: TestClient) -> None:
    live = logged(demo_laptop, ROUGH[:3])
    answer = demo_laptop.get(f"{live}/report")
    assert answer.status_code == 422
    assert "3 of 7 passes are logged" in html.unescape(answer.text)
    assert demo_laptop.get(f"{live}/report?reader=judge").status_code == 422


@pytest.mark.parametrize("reader", READERS)
def test_the_pdf_is_one_page_and_says_what_the_page_says(demo_laptop: TestClient, reader: str) -> None:
    live = logged(demo_laptop, ROUGH)
    answer = demo_laptop.get(f"{live}/report.pdf?reader={reader}")
    assert answer.headers["content-type"] == "application/pdf"
    assert f"-{reader}.pdf" in answer.headers["content-disposition"]
    read = PdfReader(BytesIO(answer.content))
    assert len(read.pages) == 1
    said = set(read.pages[0].extract_text().replace("•", " ").split())
    page = text_of(demo_laptop.get(f"{live}/report?reader={reader}").text)
    assert said == set(page.split())


@pytest.mark.parametrize("reader", READERS)
def test_the_web_file_needs_nothing_else(demo_laptop: TestClient, reader: str) -> None:
    live = logged(demo_laptop, ROUGH)
    answer = demo_laptop.get(f"{live}/report.html?reader={reader}")
    assert answer.headers["content-disposition"].startswith("attachment")
    assert not re.search(r"(src|href|action)=|url\(|@import|<script", answer.text)
    assert ".report h1" in answer.text
    assert text_of(answer.text) == text_of(demo_laptop.get(f"{live}/report?reader={reader}").text)


def long_view(words: int) -> ReportView:
    """A report with far more to say than any program gives."""
    rows = tuple((str(n), "3F+2T+2Lo", "3F+2T+2Lo, fell", "3F<<+2T+2Lo*", "−10.00") for n in range(1, 13))
    lines = tuple(f"Line {n}: " + "word " * words for n in range(12))
    sections = (
        SectionView("What went well", lines),
        SectionView(
            "What came out otherwise", ("A total.",), ("Pass", "Planned", "Skated", "Called", "Points"), rows
        ),
        SectionView("One thing to rehearse", lines[:2], is_main=True),
    )
    return ReportView(1, "coach", "After the skate", "Invented, free skating", sections, ("A note.",) * 3)


@pytest.mark.parametrize("words", [1, 10, 40])
def test_however_much_there_is_to_say_it_stays_one_page(words: int) -> None:
    assert len(PdfReader(BytesIO(report_pdf(long_view(words)))).pages) == 1


def test_names_in_latin_greek_and_cyrillic_are_written_and_others_refused_in_words() -> None:
    view = long_view(1)
    for name in ("Žofie Křížková", "Ελένη", "Юлия", "Łucja Ögmundsdóttir"):
        read = PdfReader(BytesIO(report_pdf(replace(view, about=name))))
        assert name in read.pages[0].extract_text()
    with pytest.raises(InputError, match="no letters for '羽'"):
        report_pdf(replace(view, about="羽"))


def test_the_pdf_speaks_the_readers_language_as_far_as_it_has_the_letters(demo_laptop: TestClient) -> None:
    """Days in German; Japanese needs letters the fonts lack, so that page comes in English."""
    live = logged(demo_laptop, ROUGH)
    said = {}
    for code in ("de", "ja"):
        demo_laptop.cookies.set("recoup_language", code)
        said[code] = PdfReader(BytesIO(demo_laptop.get(f"{live}/report.pdf").content)).pages[0].extract_text()
    assert format_date(datetime.now(UTC).date(), "long", "de") in said["de"]
    assert "After the skate" in said["ja"]

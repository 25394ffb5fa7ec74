"""The content sheet: official codes, the forms' own columns, and the warning when it is stale. All is invented."""

from __future__ import annotations

import html
import re
from dataclasses import replace

from starlette.testclient import TestClient

from app.storage.records import LayoutItem, LayoutRecord
from app.storage.stores import Stores

PAGE = "/skaters/1/content"


def sheet_of(page: str) -> list[tuple[str, str, str]]:
    """The printed rows: number, short program, free skating."""
    part = re.search(r'<section class="content-sheet">(.*?)</section>', page, re.DOTALL)
    assert part is not None
    body = part[1].replace("<wbr>", "")
    return re.findall(r'<tr><th scope="row">(\d+)</th><td>(.*?)</td><td>(.*?)</td></tr>', body)


def handed_in(page: str) -> list[tuple[str, str, bool]]:
    """The lines of the first kept sheet: then, now, and whether they are marked as different."""
    part = re.search(r'<table class="handed-in">.*?<tbody>(.*?)</tbody>', page, re.DOTALL)
    if part is None:
        return []
    rows = re.findall(r"<tr(.*?)><td>(.*?)</td><td>(.*?)</td>", part[1])
    return [(then, now, "other" in kind) for kind, then, now in rows]


def test_it_lists_codes_in_skating_order_and_nothing_else(demo_laptop: TestClient, stores: Stores) -> None:
    page = demo_laptop.get(f"{PAGE}?short=2&free=3").text
    rows = sheet_of(page)
    free = [one.code for one in stores.layouts.get(3).items]
    assert [row[2] for row in rows if row[2]] == [re.sub(r"(?<=Sp|Sq)[B1-4]?V?$", "", code) for code in free]
    assert [int(row[0]) for row in rows] == list(range(1, len(rows) + 1))
    part = page.split('<section class="content-sheet">')[1].split("</section>")[0]
    assert re.findall(r"<dt>(.*?)</dt>", part) == ["Category", "Competitor"]
    words = re.sub(r"<[^>]+>", " ", part)
    assert not re.search(r"\d\.\d|\d:\d\d|GOE|Sp[1-4]|Sq[1-4]", words)


def test_what_was_handed_in_is_kept_with_its_day_and_agrees_at_first(
    demo_laptop: TestClient, stores: Stores
) -> None:
    demo_laptop.post(PAGE, data={"short": "2", "free": "3", "note": "Invented Cup"})
    page = html.unescape(demo_laptop.get(f"{PAGE}?short=2&free=3").text)
    assert page.count("Handed in on") == 2
    assert ": Invented Cup" in page
    assert page.count("It is what the layout says today") == 2
    assert "no longer what this layout says" not in demo_laptop.get("/layouts/3").text
    (kept,) = stores.contents.of_layout(3)
    assert kept.codes[0] == "3Lz+3T"


def test_a_layout_that_moved_on_warns_line_by_line(demo_laptop: TestClient, stores: Stores) -> None:
    demo_laptop.post(PAGE, data={"short": "0", "free": "3", "note": ""})
    layout = stores.layouts.get(3)
    place = next(n for n, one in enumerate(layout.items) if one.code == "3F")
    items = list(layout.items)
    items[place] = replace(items[place], code="3F+2T")
    stores.layouts.save(replace(layout, items=tuple(items)))
    page = demo_laptop.get(f"{PAGE}?free=3&short=0").text
    assert "One line is different now." in page
    assert [line for line in handed_in(page) if line[2]] == [("3F", "3F+2T", True)]
    warned = demo_laptop.get("/layouts/3").text
    assert "is no longer what this layout says" in warned
    assert f'href="{PAGE}?free=3"' in warned
    # Handed in anew, all is well again; levels and times do not matter.
    demo_laptop.post(PAGE, data={"short": "0", "free": "3", "note": "again"})
    layout = stores.layouts.get(3)
    moved = tuple(
        replace(one, start=one.start + 1, code=one.code.replace("CCoSp4", "CCoSp3")) for one in layout.items
    )
    stores.layouts.save(replace(layout, items=moved))
    assert "no longer what this layout says" not in demo_laptop.get("/layouts/3").text


def test_a_sheet_kept_by_mistake_is_forgotten(demo_laptop: TestClient, stores: Stores) -> None:
    demo_laptop.post(PAGE, data={"free": "3"})
    (kept,) = stores.contents.of_layout(3)
    assert demo_laptop.post(f"/skaters/2/content/{kept.id}/forget").status_code in (404, 422)
    assert demo_laptop.post(f"{PAGE}/{kept.id}/forget").status_code == 303
    assert stores.contents.of_layout(3) == ()


def test_other_skaters_layouts_and_wrong_columns_are_refused(demo_laptop: TestClient, stores: Stores) -> None:
    skater = stores.skaters.add("Bryn (invented)")
    items = (LayoutItem("jump", "2A", 20),)
    theirs = stores.layouts.save(
        LayoutRecord(skater.id, "Theirs", "isu/2026-27/junior/women/free", "", items)
    )
    assert demo_laptop.get(f"{PAGE}?free={theirs.id}").status_code == 422
    assert demo_laptop.get(f"{PAGE}?free=2").status_code == 422, "a short program is no free skating"
    assert demo_laptop.post(PAGE, data={"short": "0", "free": "0"}).status_code == 422
    page = demo_laptop.get(f"/skaters/{skater.id}/content").text
    assert [row[1:] for row in sheet_of(page)] == [("", "2A")]

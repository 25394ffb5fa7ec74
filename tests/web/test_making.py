"""From nothing to advice: add a skater, elements, a layout, and log a miss. All names and figures are invented."""

from __future__ import annotations

import html
import re
from datetime import UTC, datetime

import pytest
from starlette.testclient import TestClient

from app import engine

EDITION = "isu/2025-26/senior/women/free"
LINES = """0:18 3Lz+3T 1
0:42 3F
1:06 2A
1:22 FCSp4
2:08 3Lo
2:32 3S
2:50 CCoSp4 2
"""


def text_of(client: TestClient, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200, answer.text
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.text)))


def new_skater(client: TestClient) -> str:
    answer = client.post("/skaters", data={"name": "Q. R."})
    assert answer.status_code == 303
    return str(answer.headers["location"])


def train(client: TestClient, skater: str, code: str, attempts: int, landed: int) -> None:
    assert client.post(f"{skater}/elements", data={"code": code}).status_code == 303
    page = client.get(skater).text
    number = re.findall(rf'action="({skater}/elements/\d+)".*?Save {re.escape(code)}<', page, re.DOTALL)[-1]
    today = datetime.now(UTC).date().isoformat()
    data = {"attempts": attempts, "landed": landed, "ready": "yes", "cue": "", "last_logged": today}
    assert client.post(number.split('"')[-1], data=data).status_code == 303


def write(client: TestClient, skater: str, lines: str = LINES, edition: str = EDITION) -> object:
    return client.post(f"{skater}/layouts", data={"name": "Free", "edition": edition, "lines": lines})


def test_a_coach_gets_from_nothing_to_advice(laptop: TestClient) -> None:
    skater = new_skater(laptop)
    for code in ("3Lz+3T", "3Lo+2T", "3S+2T"):
        train(laptop, skater, code, 40, 32)
    answer = write(laptop, skater)
    assert answer.status_code == 303  # type: ignore[attr-defined]
    layout = answer.headers["location"]  # type: ignore[attr-defined]
    said = text_of(laptop, layout)
    # Values printed on official sheets 2025/26: 3Lz 5.90 + 3T 4.20 = 10.10; 3Lo late 4.90 x 1.1 = 5.39.
    assert "base 10.10" in said
    assert "base 5.39" in said
    live = laptop.post("/live", data={"layout_id": layout.split("/")[-1], "kind": "run-through"})
    program = live.headers["location"]
    tap = {"number": 1, "tap": "tail lost", "event_id": "one", "code": ""}
    page = laptop.get(program).text
    taps = re.findall(r'name="tap" value="([^"]+)"', page)
    lost = next(one for one in taps if "lost" in one)
    laptop.post(f"{program}/pass", data=tap | {"tap": lost})
    after = text_of(laptop, program)
    # The tail lost on pass 1 leaves a unit open: one of the two trained combinations of a later pass is offered.
    assert re.search(r"Pass [45]: 3(Lo|S)\+2T", after), after[:400]
    assert "trained 32 of 40" in after


def test_options_are_the_ready_elements_of_the_same_takeoff(laptop: TestClient) -> None:
    skater = new_skater(laptop)
    train(laptop, skater, "3Lo+2T", 20, 15)
    assert laptop.post(f"{skater}/elements", data={"code": "3Lo+2Lo"}).status_code == 303  # not ticked
    layout = write(laptop, skater).headers["location"]  # type: ignore[attr-defined]
    page = laptop.get(layout).text
    assert re.findall(r'name="options" value="([^"]*)"', page) == ["", "", "", "3Lo+2T", ""]


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("0:18 3Q", "line 1: cannot read '3Q'"),
        ("0:18 3Lz\n9:99:9 3F", "line 2: '9:99:9' given; expected minutes and seconds"),
        ("0:18 3Lz 9", "line 1: '9' given; expected a grade"),
        ("0:18 3Lz 1 2", "expected a time, an element and perhaps a grade"),
        ("   ", "0 lines given"),
        ("0:18 5T", None),
    ],
)
def test_what_cannot_be_read_comes_back_with_the_reason(
    laptop: TestClient, lines: str, said: str | None
) -> None:
    skater = new_skater(laptop)
    answer = write(laptop, skater, lines)
    if said is None:
        assert answer.status_code == 303  # type: ignore[attr-defined]  # a quint has a value in 2025/26
        return
    assert answer.status_code == 422  # type: ignore[attr-defined]
    shown = html.unescape(answer.text)  # type: ignore[attr-defined]
    assert said in shown
    assert lines in shown  # nothing typed is lost


def test_without_times_the_elements_are_spread(laptop: TestClient) -> None:
    skater = new_skater(laptop)
    layout = write(laptop, skater, "3Lz\n3F\n2A").headers["location"]  # type: ignore[attr-defined]
    said = text_of(laptop, layout)
    # 4:00 less 18 s at both ends: 0:18, 2:00, 3:42.
    assert all(when in said for when in ("0:18", "2:00", "3:42"))


def test_rows_come_and_go_and_a_copy_keeps_everything(laptop: TestClient) -> None:
    skater = new_skater(laptop)
    layout = write(laptop, skater).headers["location"]  # type: ignore[attr-defined]
    assert laptop.post(f"{layout}/rows", data={"line": "3:20 3T"}).status_code == 303
    assert "Take 3T out" in text_of(laptop, layout)
    assert laptop.post(f"{layout}/rows/0/out").status_code == 303
    assert "Take 3Lz+3T out" not in text_of(laptop, layout)
    copy = html.unescape(laptop.get(f"{skater}/layouts/new?copy={layout.split('/')[-1]}").text)
    assert "0:42 3F\n1:06 2A\n1:22 FCSp4\n2:08 3Lo\n2:32 3S\n2:50 CCoSp4 2\n3:20 3T" in copy
    assert laptop.post(f"{layout}/rows/99/out").status_code == 422


def test_a_skater_needs_initials(laptop: TestClient) -> None:
    assert laptop.post("/skaters", data={"name": " "}).status_code == 422
    assert laptop.post("/skaters", data={"name": "x" * 61}).status_code == 422


def test_a_new_layout_chooses_among_the_newest_seasons_and_a_sheet_among_all(laptop: TestClient) -> None:
    # 151 rulebooks in one list were too many to find one's own in on a phone.
    laptop.post("/skaters", data={"name": "XY"})
    form, sheet = laptop.get("/skaters/1/layouts/new").text, laptop.get("/sheets/new").text
    assert '<optgroup label="ISU 2026/27">' in form
    assert 'value="isu/2026-27/senior/women/free" selected' in form
    assert 'value="isu/2025-26/senior/women/free"' in form
    assert 'value="canada/2022-23/star-5/all/free"' in form  # the newest there is of that federation
    assert 'value="isu/2018-19/senior/women/free"' not in form
    assert all(f'value="{name}"' in sheet for name in engine.editions())


def test_a_changed_copy_keeps_entries_spare_seconds_and_what_may_be_tried(demo_laptop: TestClient) -> None:
    # Used to be: "Write a changed copy" knew nothing but starts, elements and grades.
    row = {
        "code": "3Lz+3T",
        "seconds": "0:18",
        "options": "3Lz",
        "asked": "entry",
        "entry": "long edge",
        "slack": "2",
    }
    assert demo_laptop.post("/layouts/1/rows/0", data=row).status_code == 303
    other = {
        "code": "3F",
        "seconds": "0:42",
        "options": "",
        "asked": "entry",
        "entry": "mohawk",
        "slack": "3",
    }
    assert demo_laptop.post("/layouts/1/rows/1", data=other).status_code == 303
    form = demo_laptop.get("/skaters/1/layouts/new?copy=1").text
    assert 'name="changed_from" value="1"' in form
    lines = "0:18 3Lz+2T\n0:45 3F\n1:06 2A\n1:30 3F"
    sent = {"name": "Copy", "edition": "isu/2026-27/senior/women/free", "lines": lines, "changed_from": "1"}
    made = demo_laptop.post("/skaters/1/layouts", data=sent)
    assert made.status_code == 303
    rows = demo_laptop.get(made.headers["location"]).text.split('<li class="pass')[1:]
    assert "long edge" in rows[0]  # another tail, from the same take-off at the same second
    assert 'name="slack" value="2"' in rows[0]
    assert "mohawk" in rows[1]  # moved by three seconds
    assert 'name="slack" value="3"' in rows[1]
    assert 'name="entry" value="mohawk"' not in rows[3]  # a second 3F is a pass of its own


def test_an_element_is_added_with_its_counts_and_its_tick_in_one_form(laptop: TestClient) -> None:
    # Used to be: added empty, then found again in the list, opened, filled in and saved, for each of twenty elements.
    laptop.post("/skaters", data={"name": "XY"})
    new = {"code": "2A", "attempts": "24", "landed": "20", "ready": "yes", "entry": ""}
    assert laptop.post("/skaters/1/elements", data=new).headers["location"] == "/skaters/1#add"
    said = text_of(laptop, "/skaters/1")
    assert "20 of 24 landed" in said
    assert "1 of 1 elements count as trained" in said


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"code": "2Axel"}, "cannot read"),
        ({"attempts": "many"}, "expected a whole number such as 24"),
        ({"landed": "30"}, "expected between 0 and the number of attempts"),
    ],
)
def test_what_was_typed_for_a_new_element_comes_back_with_the_reason(
    laptop: TestClient, wrong: dict[str, str], said: str
) -> None:
    laptop.post("/skaters", data={"name": "XY"})
    typed = {"code": "2A", "attempts": "24", "landed": "20", "ready": "yes", "entry": "mohawk"} | wrong
    answer = laptop.post("/skaters/1/elements", data=typed)
    assert answer.status_code == 422
    shown = html.unescape(answer.text)
    assert said in shown
    for field in ("code", "attempts", "landed", "entry"):
        assert f'name="{field}" value="{typed[field]}"' in shown
    assert "autofocus" in shown  # the browser goes to the field, far down the page
    assert "0 of 0 elements" in re.sub(r"\s+", " ", shown)


def test_what_was_typed_into_a_row_of_a_layout_comes_back_with_the_reason(demo_laptop: TestClient) -> None:
    typed = {
        "code": "3Lzz+3T",
        "seconds": "0:19",
        "options": "3Lz",
        "asked": "entry",
        "entry": "edge",
        "slack": "2",
    }
    answer = demo_laptop.post("/layouts/1/rows/0", data=typed)
    assert answer.status_code == 422
    for field in ("code", "seconds", "options", "entry", "slack"):
        assert f'name="{field}" value="{typed[field]}"' in answer.text
    added = demo_laptop.post("/layouts/1/rows", data={"line": "2:00 3Lzz"})
    assert added.status_code == 422
    assert 'name="line" value="2:00 3Lzz" required autofocus' in added.text
    assert "cannot read" in html.unescape(added.text)

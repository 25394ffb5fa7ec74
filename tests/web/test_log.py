"""The practice log through the app: two taps, once each, undo, a table, a file. The skater is the invented demo."""

from __future__ import annotations

import html
import re
from datetime import date, timedelta

import pytest
from starlette.testclient import TestClient

from app.practice.endings import FATE_WORDS, fates_for
from app.storage.database import Database
from app.storage.records import AttemptRecord, TrainedRecord
from app.storage.stores import open_stores

LOG = "/skaters/1/log"
TABLE = (
    "date;element;result;count\n{day};3Lz+3T;fell;2\n{day};3A;clean;1\n03/04/2026;2A;clean;1\n{day};2A;odd;1"
)


def words(text: str) -> str:
    """A page without its tags."""
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text)))


def element_of(database: Database, code: str) -> TrainedRecord:
    with open_stores(database) as stores:
        return next(one for one in stores.skaters.trained(1) if one.code == code)


def log_of(database: Database) -> tuple[AttemptRecord, ...]:
    with open_stores(database) as stores:
        return stores.attempts.of_skater(1)


def form_of(text: str, action: str) -> dict[str, str]:
    """The hidden fields of the form with that action."""
    form = re.search(rf'<form method="post" action="{re.escape(action)}".*?</form>', text, re.DOTALL)
    assert form, f"no form for {action}"
    fields = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form[0])
    return {name: html.unescape(value) for name, value in fields}


def first_tap(client: TestClient, database: Database, code: str) -> tuple[str, dict[str, str]]:
    """The page behind an element's button and the fields its form sends."""
    link = re.search(rf'href="([^"]+/elements/{element_of(database, code).id}\?[^"]+)"', client.get(LOG).text)
    assert link, f"no button for {code}"
    answer = client.get(html.unescape(link[1]))
    assert answer.status_code == 200
    return answer.text, form_of(answer.text, LOG)


def test_two_taps_count_one_attempt(demo_laptop: TestClient, database: Database) -> None:
    before, record = log_of(database), element_of(database, "3Lz+3T")
    _, fields = first_tap(demo_laptop, database, "3Lz+3T")
    answer = demo_laptop.post(LOG, data={**fields, "fate": "fall"})
    assert answer.status_code == 303
    assert "Last: 3Lz+3T, fell Undo" in words(demo_laptop.get(answer.headers["location"]).text)
    assert len(log_of(database)) == len(before) + 1
    after = element_of(database, "3Lz+3T")
    assert (after.attempts, after.landed) == (record.attempts + 1, record.landed)
    assert f"{after.landed} of {after.attempts} landed" in words(demo_laptop.get("/skaters/1").text)


def test_a_form_sent_twice_counts_once_and_says_so_when_it_differs(
    demo_laptop: TestClient, database: Database
) -> None:
    before = len(log_of(database))
    _, fields = first_tap(demo_laptop, database, "2A")
    for _ in range(2):
        assert demo_laptop.post(LOG, data={**fields, "fate": "clean"}).status_code == 303
    answer = demo_laptop.post(LOG, data={**fields, "fate": "fall"})
    assert answer.status_code == 422
    assert "undo it first" in answer.text
    assert len(log_of(database)) == before + 1


def test_undo_takes_the_last_attempt_out(demo_laptop: TestClient, database: Database) -> None:
    before = log_of(database)
    _, fields = first_tap(demo_laptop, database, "2A")
    where = demo_laptop.post(LOG, data={**fields, "fate": "clean"}).headers["location"]
    undone = demo_laptop.post(f"{LOG}/undo", data=form_of(demo_laptop.get(where).text, f"{LOG}/undo"))
    assert undone.status_code == 303
    assert log_of(database) == before
    # The demo's own log came with the file: nothing of it is offered for undoing.
    assert "Nothing is logged yet" in demo_laptop.get(undone.headers["location"]).text


@pytest.mark.parametrize("code", ["3Lz+3T", "2A", "3Lo+2T", "3S"])
def test_only_endings_the_element_can_have_are_offered(
    demo_laptop: TestClient, database: Database, code: str
) -> None:
    text, fields = first_tap(demo_laptop, database, code)
    offered = [html.unescape(one) for one in re.findall(r'<button name="fate" value="([^"]+)"', text)]
    assert tuple(offered) == fates_for(code)
    wrong = next(fate for fate in (*FATE_WORDS, "landed") if fate not in offered)
    assert demo_laptop.post(LOG, data={**fields, "fate": wrong}).status_code == 422


def test_day_and_place_are_chosen_once(demo_laptop: TestClient, database: Database) -> None:
    day = (date.today() - timedelta(days=3)).isoformat()
    chosen = demo_laptop.get(f"{LOG}?day={day}&place=run-through").text
    links = re.findall(rf'href="({LOG}/elements/\d+[^"]*)"', chosen)
    assert links
    assert all(f"day={day}&amp;place=run-through" in link for link in links)
    fields = form_of(demo_laptop.get(html.unescape(links[0])).text, LOG)
    after = demo_laptop.post(LOG, data={**fields, "fate": "clean"}).headers["location"]
    assert after.endswith(f"?day={day}&place=run-through")
    assert [one.place for one in log_of(database) if one.sending == fields["sending"]] == ["run-through"]


def test_today_remembers_the_place_of_the_last_attempt(demo_laptop: TestClient, database: Database) -> None:
    _, fields = first_tap(demo_laptop, database, "2A")
    demo_laptop.post(LOG, data={**fields, "fate": "clean", "place": "competition"})
    assert "place=competition" in demo_laptop.get(LOG).text


@pytest.mark.parametrize(
    "change",
    [
        {"place": "at the pond"},
        {"day": "2999-01-01"},
        {"day": "03/04/2026"},
        {"fate": "perfect"},
        {"sending": "x"},
        {"sending": "a" * 65},
        {"element_id": "999"},
    ],
    ids=str,
)
def test_what_no_form_sends_is_refused(
    demo_laptop: TestClient, database: Database, change: dict[str, str]
) -> None:
    before = log_of(database)
    _, fields = first_tap(demo_laptop, database, "2A")
    assert demo_laptop.post(LOG, data={**fields, "fate": "clean", **change}).status_code in (404, 422)
    assert log_of(database) == before


def sent_table(client: TestClient, text: str, **more: str) -> str:
    answer = client.post(f"{LOG}/table/read", data={"text": text, **more}, files={"file": ("", b"")})
    assert answer.status_code == 200, answer.text
    return answer.text


def test_a_pasted_table_is_shown_before_anything_is_stored(
    demo_laptop: TestClient, database: Database
) -> None:
    before = log_of(database)
    page = sent_table(demo_laptop, TABLE.format(day=date.today().isoformat()))
    said = words(page)
    assert "Lines understood: 2. Attempts in them: 3. Lines left out: 2. Nothing is stored yet." in said
    assert "'03/04/2026' given; it may be 3 April or 4 March" in said
    assert "'odd' given; expected one of: clean" in said
    assert "New to the list, not ticked" in said
    assert log_of(database) == before

    asked = form_of(page, f"{LOG}/table/read")
    page = sent_table(demo_laptop, **asked)
    assert "Lines understood: 3. Attempts in them: 4. Lines left out: 1" in words(page)
    fields = form_of(page, f"{LOG}/table")
    for _ in range(2):  # sent twice, stored once
        assert demo_laptop.post(f"{LOG}/table", data=fields).status_code == 303
    added = log_of(database)[len(before) :]
    assert len(log_of(database)) == len(before) + 3
    assert {one.code for one in log_of(database) if one.sending == fields["sending"]} == {
        "3Lz+3T",
        "3A",
        "2A",
    }
    assert added
    new = element_of(database, "3A")
    assert (new.ready, new.attempts) == (False, 1)
    # A line without an entry belongs to the only entry the skater has for it.
    assert element_of(database, "3Lz+3T").log.fates["fall"] >= 2


def test_the_file_of_the_log_reads_back_and_adds_nothing(demo_laptop: TestClient, database: Database) -> None:
    before = log_of(database)
    file = demo_laptop.get(f"{LOG}/attempts.csv")
    assert file.headers["content-type"].startswith("text/csv")
    answer = demo_laptop.post(f"{LOG}/table/read", files={"file": ("log.csv", file.content)})
    assert answer.status_code == 200
    assert f"Lines understood: {len(before)}." in answer.text
    assert f"Leave out {len(before)} lines that stand in the log already" in answer.text
    fields = {**form_of(answer.text, f"{LOG}/table"), "skip_known": "yes"}
    assert demo_laptop.post(f"{LOG}/table", data=fields).status_code == 422
    assert log_of(database) == before
    # Without the tick the coach gets what was asked for: every line once more.
    del fields["skip_known"]
    assert demo_laptop.post(f"{LOG}/table", data=fields).status_code == 303
    assert len(log_of(database)) == 2 * len(before)


@pytest.mark.parametrize(
    ("raw", "why"),
    [
        (b"PK\x03\x04\0\0", "expected a CSV file"),
        (b"date,element,result\n" + b"x" * 200_001, "more than 200000 bytes"),
        (b"", "nothing given"),
        (b"one,two\n1,2", "no column date or element or result"),
    ],
)
def test_a_file_that_is_no_table_is_refused_in_words(demo_laptop: TestClient, raw: bytes, why: str) -> None:
    answer = demo_laptop.post(f"{LOG}/table/read", files={"file": ("log.csv", raw)})
    assert answer.status_code == 422
    assert why in answer.text


def test_a_file_from_an_old_office_program_is_read(demo_laptop: TestClient) -> None:
    raw = "date;element;entry;result\n24.11.2025;3S;früh über links;clean\n".encode("cp1252")
    answer = demo_laptop.post(f"{LOG}/table/read", files={"file": ("log.csv", raw)})
    assert "Entry: früh über links" in answer.text


@pytest.mark.parametrize(
    "change", [{"delimiter": "pipe"}, {"order": "year first"}, {"place": "pond"}], ids=str
)
def test_a_choice_no_form_offers_is_refused(demo_laptop: TestClient, change: dict[str, str]) -> None:
    answer = demo_laptop.post(f"{LOG}/table/read", data={"text": "date,element,result", **change})
    assert answer.status_code == 422


def test_another_skater_is_left_alone(demo_laptop: TestClient, database: Database) -> None:
    demo_laptop.post("/skaters", data={"name": "B"})
    _, fields = first_tap(demo_laptop, database, "2A")
    assert demo_laptop.post("/skaters/2/log", data={**fields, "fate": "clean"}).status_code == 422
    demo_laptop.post(LOG, data={**fields, "fate": "clean"})
    assert demo_laptop.post("/skaters/2/log/undo", data=fields).status_code == 404
    assert "No elements yet" in demo_laptop.get("/skaters/2/log").text
    assert demo_laptop.get("/skaters/9/log/attempts.csv").status_code == 404


def test_the_counts_before_the_log_are_changed_without_touching_it(
    demo_laptop: TestClient, database: Database
) -> None:
    before = element_of(database, "2A")
    given = {"attempts": 100, "landed": 90, "ready": "yes", "cue": before.cue}
    assert demo_laptop.post(f"/skaters/1/elements/{before.id}", data=given).status_code == 303
    after = element_of(database, "2A")
    assert (after.attempts, after.landed) == (100 + before.log.attempts, 90 + before.log.landed)
    assert after.log == before.log


def test_the_skater_page_shows_record_chance_and_weeks(demo_laptop: TestClient, database: Database) -> None:
    element = element_of(database, "3Lz")
    row = re.search(rf'<li id="element-{element.id}">.*?</li>', demo_laptop.get("/skaters/1").text, re.DOTALL)
    assert row
    said = words(row[0])
    assert f"{element.landed} of {element.attempts} landed" in said
    assert re.search(r"Reckoned to land \d+ %, likely \d+ to \d+ % \(from \d+ attempts in programs\)", said)
    assert "Advice uses the chances entered for it" in said
    assert '<svg class="spark"' in row[0]
    assert "3Lz, last 12 weeks" in said

"""Your data on screen: files out and in, who sees a skater, deleting, and what phones may do of it: nothing."""

from __future__ import annotations

import html
import io
import re
import zipfile
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from app import engine
from app.security.tokens import COOKIE, UNSEEN, hash_of
from app.storage import tables
from app.storage.backups import Backups
from app.storage.records import LayoutRecord
from app.storage.rulebook_store import RESTING
from app.storage.stores import Stores, open_stores
from tests.storage.everything import ITEMS, NOON, WOMEN, fill
from tests.storage.test_erase import holding

Knock = Callable[..., TestClient]
NAME = "Quillfeather Xanthe"
ZIP = "application/zip"


def said_by(answer: str) -> str:
    """The text of a page, white space as one space."""
    return " ".join(re.sub(r"<[^>]+>", " ", answer).split())


def test_everything_goes_out_as_a_file_and_that_is_noted(laptop: TestClient, stores: Stores) -> None:
    fill(stores, NAME)
    answer = laptop.post("/data/export", data={"given_to": " the  club "})
    assert (answer.status_code, answer.headers["content-type"]) == (200, ZIP)
    named = answer.headers["content-disposition"]
    assert re.search(r'filename="recoup-everything-\d{4}-\d\d-\d\d\.zip"', named)
    assert answer.headers["cache-control"] == "no-store"
    assert "tables/skater.jsonl" in zipfile.ZipFile(io.BytesIO(answer.content)).namelist()
    page = said_by(laptop.get("/data").text)
    assert "A file with everything about everybody. For the club" in page
    skater = stores.skaters.all()[0].id
    assert "A file with everything about everybody" in laptop.get(f"/data/skaters/{skater}").text


def test_one_skater_goes_out_and_comes_in_elsewhere(
    laptop: TestClient, stores: Stores, demo_laptop: TestClient
) -> None:
    skater = fill(stores, NAME)
    answer = laptop.post(f"/data/skaters/{skater}/export")
    assert NAME.split()[0] not in answer.headers["content-disposition"]
    file = {"file": ("some.zip", answer.content, ZIP)}
    # The same installation: noticed. As a copy: beside it.
    assert "Nothing new in this file" in laptop.post("/data/import", files=file).text
    assert len(stores.skaters.all()) == 2  # the demo's skater lives in the same file
    brought = laptop.post("/data/import", files=file, data={"again": "yes"}).text
    assert "Nothing that was here has changed" in brought
    found = re.search(r'href="/skaters/(\d+)"', brought)
    assert found is not None
    assert NAME in laptop.get(f"/skaters/{found[1]}").text
    assert "Brought in from a file" in laptop.get(f"/data/skaters/{found[1]}").text
    with open_stores(laptop.app.state.database) as there:  # type: ignore[attr-defined]
        (program,) = there.live.recent(int(found[1]))
    for page in (f"/live/{program.id}", f"/live/{program.id}/review", f"/skaters/{found[1]}/log"):
        assert laptop.get(page).status_code in (200, 303)


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 nothing", b"<html>"])
def test_what_is_no_export_is_refused_in_words(laptop: TestClient, content: bytes) -> None:
    answer = laptop.post("/data/import", files={"file": ("x.zip", content, ZIP)})
    assert answer.status_code == 422
    assert "Nothing came in." in answer.text
    assert "no export file of Recoup" in answer.text


def test_the_sharing_page_says_which_phones_see_what(laptop: TestClient, stores: Stores) -> None:
    skater, now = fill(stores, NAME), datetime.now(UTC)
    stores.devices.add("Assistant", "1", now)
    stores.devices.add("Boards", "2", now, "logger", sees_advice=False)
    stores.devices.add("Mother", "3", now, "viewer", sees_advice=True)
    stores.devices.add("Old phone", "4", now - UNSEEN - timedelta(days=1))
    stores.devices.add("Somebody else's own", "6", now, "skater", False, fill(stores, "Other", "Other cup"))
    stores.devices.revoke(stores.devices.add("Lost phone", "5", now).id, now)
    page = html.unescape(said_by(laptop.get(f"/data/skaters/{skater}").text))
    for name, sees in (
        ("Assistant , coach", "Everything about every skater"),
        ("Boards , logger", "No practice log, no layouts. No advice and no points show on it."),
        (f"phone of {NAME} , skater", "This skater's own page alone"),
        ("Mother , viewer", "No practice log, no layouts. Advice and points show on it"),
    ):
        assert name in page
        assert sees in page[page.index(name) :].partition("Paired on")[0]
    assert "Somebody else's own" not in page
    assert "phone of Other" not in page
    assert "Old phone" not in page
    assert "Lost phone" not in page
    assert "Phones cannot reach this computer at this moment." in page
    assert f"For mother of {NAME}" in page


def test_a_practice_log_taken_as_a_table_is_noted(laptop: TestClient, stores: Stores) -> None:
    skater = fill(stores, NAME)
    assert laptop.get(f"/skaters/{skater}/log/attempts.csv").status_code == 200
    assert "The practice log as a table" in laptop.get(f"/data/skaters/{skater}").text


@pytest.mark.file_database
def test_a_skater_is_deleted_after_the_question(
    laptop: TestClient, web_app: FastAPI, stores: Stores, data_dir: Path
) -> None:
    skater = fill(stores, NAME)
    stores.days.add(f"For {NAME}", "run-through", NOON)
    Backups(data_dir / "recoup.sqlite3").make("daily", NOON)
    for page in ("/", f"/skaters/{skater}", f"/live/{stores.live.recent(skater)[0].id}"):
        laptop.get(page)  # whatever the app remembers of a page
    asked = said_by(laptop.get(f"/data/skaters/{skater}/delete").text)
    for goes in (
        "1 element",
        "2 layouts",
        "1 logged program",
        "2 official sheets",
        "1 copy that Recoup keeps",
    ):
        assert goes in asked
    assert f"The day “For {NAME}”" in asked
    assert laptop.post(f"/data/skaters/{skater}/delete").status_code == 422
    assert stores.skaters.get(skater)
    done = laptop.post(f"/data/skaters/{skater}/delete", data={"sure": "yes"})
    assert "with everything that belonged to that skater" in done.text
    assert laptop.get(f"/skaters/{skater}").status_code == 404
    day = next(one for one in stores.days.all() if NAME in one.name)
    assert (
        laptop.post(f"/data/days/{day.id}/delete", data={"sure": "yes", "copies": "yes"}).headers["location"]
        == "/day"
    )
    assert holding(data_dir, NAME) == []


def test_starts_are_numbered_through_again(laptop: TestClient, stores: Stores) -> None:
    first, second = fill(stores, NAME), fill(stores, "Other", "Other cup")
    laptop.post(f"/data/skaters/{first}/delete", data={"sure": "yes"})
    (day,) = stores.days.all()
    assert [(one.skater_id, one.place) for one in stores.days.starts(day.id)] == [(second, 1)]


def test_one_program_one_layout_one_day(laptop: TestClient, stores: Stores) -> None:
    skater = fill(stores, NAME)
    (program,), (day,) = stores.live.recent(skater), stores.days.all()
    layout = stores.layouts.of_skater(skater)[0]
    # Agreed for a start: not now, and the page leads to where it can be taken out.
    asked = laptop.get(f"/data/layouts/{layout.id}/delete").text
    assert f"/day/{day.id}/order" in asked
    assert laptop.post(f"/data/layouts/{layout.id}/delete", data={"sure": "yes"}).status_code == 422
    for address, gone in (
        (f"/data/programs/{program.id}/delete", f"/live/{program.id}"),
        (f"/data/days/{day.id}/delete", f"/day/{day.id}"),
        (f"/data/layouts/{layout.id}/delete", f"/layouts/{layout.id}"),
    ):
        assert laptop.get(address).status_code == 200
        assert laptop.post(address).status_code == 422
        assert laptop.get(gone).status_code in (200, 303)
        assert laptop.post(address, data={"sure": "yes"}).status_code == 303
        assert laptop.get(gone).status_code == 404
        assert laptop.get(address).status_code == 404
    assert len(stores.layouts.of_skater(skater)) == 1
    assert laptop.get("/").status_code == 200


def test_an_entry_of_the_log_is_taken_out_and_put_back(laptop: TestClient, stores: Stores) -> None:
    skater = fill(stores, NAME)
    (entry,) = stores.attempts.entries(skater, 10)
    address = f"/skaters/{skater}/log/entries/{entry.id}"
    page = f"/skaters/{skater}/log/entries"
    assert "Take out" in laptop.get(page).text
    assert (
        laptop.post(address, data={"left_out": "yes"}).headers["location"]
        == f"{page}?start=0#entry-{entry.id}"
    )
    assert stores.attempts.of_skater(skater) == ()
    assert "Put back in" in laptop.get(page).text
    laptop.post(address, data={"left_out": "no"})
    assert len(stores.attempts.of_skater(skater)) == 1
    assert laptop.post(f"/skaters/{skater + 1}/log/entries/{entry.id}").status_code == 404


def test_an_own_rulebook_nothing_rests_on_is_renamed_and_deleted(laptop: TestClient, stores: Stores) -> None:
    fill(stores, NAME, "Used cup")
    free = stores.rulebooks.add(engine.edition(WOMEN), "Free cup", NOON)
    stores.rulebooks.add(free, "Free cup", NOON)
    page = said_by(laptop.get("/data/rulebooks").text)
    assert "Used cup 1 version. 1 thing rests on it." in page
    assert "Free cup 2 versions. New name" in page
    renamed = laptop.post("/data/rulebooks/free-cup/rename", data={"title": "Spring cup"})
    assert renamed.status_code == 303
    assert engine.edition("own/spring-cup/2/women/free").title == "Spring cup"
    assert laptop.get("/rulebooks/own/free-cup/1/women/free").status_code == 422
    taken = laptop.post("/data/rulebooks/spring-cup/rename", data={"title": "Used cup"})
    assert taken.status_code == 422
    assert "is the name of another rulebook of yours" in said_by(taken.text).replace("&#39;", "'")
    for verb in ("rename", "delete"):
        answer = laptop.post(f"/data/rulebooks/used-cup/{verb}", data={"title": "x", "sure": "yes"})
        assert answer.status_code == 422
        assert "rest on it" in answer.text
    assert laptop.post("/data/rulebooks/spring-cup/delete").status_code == 422
    assert laptop.post("/data/rulebooks/spring-cup/delete", data={"sure": "yes"}).status_code == 303
    assert "Spring cup" not in laptop.get("/data/rulebooks").text
    assert laptop.post("/data/rulebooks/spring-cup/delete", data={"sure": "yes"}).status_code == 422


def test_a_layout_deleted_frees_its_rulebook(laptop: TestClient, stores: Stores) -> None:
    own = stores.rulebooks.add(engine.edition(WOMEN), "Cup", NOON)
    skater = stores.skaters.add("A.B.").id
    layout = stores.layouts.save(LayoutRecord(skater, "Free", own.name, own.fingerprint, ITEMS))
    assert stores.rulebooks.own_books()[0].rests == 1
    laptop.post(f"/data/layouts/{layout.id}/delete", data={"sure": "yes"})
    assert stores.rulebooks.own_books()[0].rests == 0


def test_everything_that_rests_on_a_rulebook_is_known() -> None:
    """A new table with a column `edition` has to be asked before a rulebook is deleted."""
    named = {
        one
        for one in vars(tables).values()
        if isinstance(one, type) and "edition" in getattr(one, "model_fields", {})
    }
    assert named == {*RESTING, tables.KeptRulebook}


def test_a_coachs_phone_is_told_that_this_is_done_on_the_laptop(
    web_app: FastAPI, knock: Knock, stores: Stores
) -> None:
    stores.devices.add("boards", hash_of("token"), datetime.now(UTC))
    phone = knock(web_app, client="192.168.7.33", host="192.168.7.20:8001")
    phone.cookies.set(COOKIE, "token")
    answer = phone.get("/data")
    assert answer.status_code == 403
    assert "on the laptop only" in answer.text
    assert "<h1>" in answer.text


def test_forms_say_that_initials_are_enough(laptop: TestClient) -> None:
    assert "The skater. Initials will do" in laptop.get("/").text
    assert "Initials are enough" in laptop.get("/privacy").text

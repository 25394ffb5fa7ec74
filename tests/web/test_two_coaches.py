"""Two phones, or two taps, on one layout: nothing is lost, and a form changes the row it was about or none."""

from __future__ import annotations

import re
from dataclasses import replace
from threading import Thread

import pytest
from starlette.testclient import TestClient

from app.storage.database import Database
from app.storage.records import LayoutItem, LayoutRecord
from app.storage.stores import Stores, open_stores

ROWS = ("3Lz", "3F", "2A", "3S")


@pytest.fixture
def layout(stores: Stores) -> LayoutRecord:
    """Four passes, twenty seconds apart."""
    skater = stores.skaters.add("Q. R.")
    items = tuple(LayoutItem("jump", code, 20 * place) for place, code in enumerate(ROWS, start=1))
    return stores.layouts.save(LayoutRecord(skater.id, "Free", "isu/2022-23/senior/women/free", "", items))


def codes(stores: Stores, layout: LayoutRecord) -> list[str]:
    return [item.code for item in stores.layouts.get(layout.id).items]


def marks(laptop: TestClient, layout: LayoutRecord) -> list[str]:
    """What the page's forms say of each row; each row has two forms, which say the same."""
    found = re.findall(r'name="was" value="([0-9a-f]+)"', laptop.get(f"/layouts/{layout.id}").text)
    assert found[::2] == found[1::2]
    return found[::2]


def test_a_row_taken_out_twice_takes_no_other_row_along(
    laptop: TestClient, stores: Stores, layout: LayoutRecord
) -> None:
    # Two taps on "Take 3F out" took out 3F and the 2A that had moved into its place.
    was = marks(laptop, layout)[1]
    assert laptop.post(f"/layouts/{layout.id}/rows/1/out", data={"was": was}).status_code == 303
    again = laptop.post(f"/layouts/{layout.id}/rows/1/out", data={"was": was})
    assert again.status_code == 409
    assert "changed or taken out since this page was made" in again.text
    assert codes(stores, layout) == ["3Lz", "2A", "3S"]


def test_a_row_that_moved_is_found(laptop: TestClient, stores: Stores, layout: LayoutRecord) -> None:
    seen = marks(laptop, layout)
    laptop.post(f"/layouts/{layout.id}/rows/0/out", data={"was": seen[0]})
    change = {"was": seen[2], "code": "2A+2T", "seconds": "1:00"}
    assert laptop.post(f"/layouts/{layout.id}/rows/2", data=change).status_code == 303
    assert codes(stores, layout) == ["3F", "2A+2T", "3S"]


def test_a_row_changed_by_somebody_else_is_not_changed_back(
    laptop: TestClient, stores: Stores, layout: LayoutRecord
) -> None:
    was = marks(laptop, layout)[3]
    first = {"was": was, "code": "3S+2T", "seconds": "1:20"}
    assert laptop.post(f"/layouts/{layout.id}/rows/3", data=first).status_code == 303
    assert laptop.post(f"/layouts/{layout.id}/rows/3", data={**first, "code": "3Lo"}).status_code == 409
    assert codes(stores, layout)[3] == "3S+2T"


def test_two_changes_at_one_moment_are_both_kept(
    stores: Stores, database: Database, layout: LayoutRecord
) -> None:
    # Both had read the layout before either wrote, and the later one wrote the earlier one's change away.
    def other() -> None:
        with open_stores(database) as theirs:
            theirs.layouts.change(layout.id, lambda now: replace(now, items=now.items[:-1]))

    beside = Thread(target=other)

    def renamed(now: LayoutRecord) -> LayoutRecord:
        beside.start()  # begins while this one has read and not yet written
        return replace(now, name="Short of breath")

    stores.layouts.change(layout.id, renamed)
    beside.join()
    with open_stores(database) as found:
        kept = found.layouts.get(layout.id)
    assert (kept.name, len(kept.items)) == ("Short of breath", 3)


def test_what_the_rulebook_refuses_leaves_the_layout_as_it_was(
    laptop: TestClient, stores: Stores, layout: LayoutRecord
) -> None:
    answer = laptop.post(f"/layouts/{layout.id}/rows/0", data={"code": "5T", "seconds": "0:20"})
    assert answer.status_code == 422
    assert codes(stores, layout) == list(ROWS)

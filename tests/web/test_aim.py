"""What is enough: the aim page and the live screen with a total to reach. The skater is the invented demo."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from app.storage.database import Database
from tests.web.test_advice_on_screen import Boards


@pytest.fixture
def boards(demo_laptop: TestClient, database: Database) -> Boards:
    """Someone at the boards, two passes in."""
    return Boards(demo_laptop, database).start().tap("3Lz+3T planned")


def set_aim(boards: Boards, **data: str) -> int:
    boards.mark += 1
    sent = data | {"event_id": f"aim-{boards.mark}"}
    return boards.client.post(f"{boards.live}/aim", data=sent).status_code


def text_of(boards: Boards) -> str:
    answer = boards.client.get(f"{boards.live}/aim")
    assert answer.status_code == 200
    return answer.text


def test_without_an_aim_the_page_shows_how_the_points_spread(boards: Boards) -> None:
    page = text_of(boards)
    assert "Most points:" in page
    assert page.count('class="spread-bar"') > 5
    assert 'aria-label="Keep the plan: mostly' in page


def test_a_total_far_away_and_one_surely_reached(boards: Boards) -> None:
    """300 points of one segment are out of reach; 1 point is not, whatever happens."""
    assert set_aim(boards, kind="reach", points="300", components="30") == 303
    assert "0 % to reach 300.00" in text_of(boards)
    assert set_aim(boards, kind="floor", points="1", components="30") == 303
    assert "100 % not to fall below 1.00" in text_of(boards)
    assert "100 % not to fall below 1.00" in boards.look().text


def test_what_is_needed_is_the_total_less_the_parts(boards: Boards) -> None:
    """The rows above the last add up to the total: what is in hand and what is needed."""
    set_aim(boards, kind="reach", points="95,00", components="40")
    rows = re.findall(r'<th scope="row">(.*?)</th><td>([-+0-9.]+)</td>', text_of(boards))
    told = {name: float(points) for name, points in rows}
    needed = told.pop("Needed from the jumps to come for 95.00")
    told.pop("Jumps to come, expected")
    assert sum(told.values()) + needed == pytest.approx(95.0, abs=0.02)
    assert told["Components, as you reckon them"] == 40.0


def test_back_to_most_points(boards: Boards) -> None:
    set_aim(boards, kind="reach", points="300", components="30")
    set_aim(boards, kind="expected")
    assert "to reach" not in boards.look().text


@pytest.mark.parametrize(
    "data", [{"kind": "reach", "points": "many"}, {"kind": "win"}, {"kind": "floor", "points": "-3"}]
)
def test_what_cannot_be_read_is_refused_in_words(boards: Boards, data: dict[str, str]) -> None:
    assert set_aim(boards, **data) == 422


def test_no_points_while_stopped(boards: Boards) -> None:
    boards.client.post(f"{boards.live}/hurt", data={"event_id": "h1"})
    page = text_of(boards)
    assert "The program is stopped" in page
    assert "spread" not in page


def test_a_doubt_is_said_to_matter_or_not(boards: Boards) -> None:
    """3F clean or 3F<: the call changes points already skated, nothing that is still to come (a repeat is by name)."""
    boards.tap("3F doubt-<-1")
    assert "The doubt does not matter" in boards.text

"""What is enough: the aim page and the live screen with a total to reach. The skater is the invented demo."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from app.live.line import percent
from app.storage.database import Database
from app.storage.stores import open_stores
from app.web.advisor import Advisor
from app.web.live_log import sheet_of
from app.web.standing import spins_and_steps
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


def test_without_a_total_the_page_shows_the_same_swap_as_the_live_screen(boards: Boards) -> None:
    """What is enough names and draws the swap beside the plan, whatever the aim."""
    boards.start().tap("3Lz+3T lost-2")
    number, code = re.fullmatch(r"Pass (\d): (\S+)", boards.line).groups()  # type: ignore[union-attr]
    page = text_of(boards)
    assert f"<b>{code} on pass {number}</b>" in page
    assert 'class="spread-line"' in page
    assert re.search(r"Most points: [\d.]+ → [\d.]+ expected", page)


def test_what_cannot_be_read_comes_back_in_the_form(boards: Boards) -> None:
    """At the boards nobody types a second time, nor looks for the way back."""
    data = {"kind": "reach", "points": "lots", "components": "28,5", "event_id": "aim-lots"}
    answer = boards.client.post(f"{boards.live}/aim", data=data)
    assert answer.status_code == 422
    assert "such as 62.40. The aim is as before." in answer.text
    assert 'value="lots"' in answer.text
    assert 'value="28,5"' in answer.text
    assert "upright line" not in answer.text  # the picture would be of another total
    assert "Back to the live screen" in answer.text
    assert "Most points:" in text_of(boards)


def test_components_count_without_a_total_too(boards: Boards) -> None:
    set_aim(boards, kind="expected", points="", components="28.50")
    assert ">Components, as you reckon them</th><td>+28.50<" in text_of(boards)


@pytest.mark.parametrize(("far", "arrow"), [("399", "399.00 →"), ("0.5", "← 0.50")])
def test_a_total_far_away_leaves_the_picture_readable(boards: Boards, far: str, arrow: str) -> None:
    set_aim(boards, kind="reach", points=far, components="40")
    page = text_of(boards)
    assert page.count('class="spread-bar"') > 5
    assert arrow in page


def test_a_total_in_hand_asks_nothing_more(boards: Boards) -> None:
    set_aim(boards, kind="floor", points="10", components="40")
    assert ">Needed from the jumps to come for 10.00</th><td>nothing more<" in text_of(boards)


def test_out_of_reach_the_advice_is_for_most_points(boards: Boards) -> None:
    """No chance is left to raise, so the swap that is best on average is named, and why."""
    boards.start().tap("3Lz+3T lost-2")
    usual = boards.line
    set_aim(boards, kind="reach", points="399", components="28.50")
    boards.look()
    assert usual != "Keep the plan"
    assert boards.line == usual
    assert "399.00 is out of reach now (0 %), so the advice is for most points on average." in boards.text
    assert re.search(r"\+\d\.\d points", boards.text)
    page = text_of(boards)
    assert "0 % to reach 399.00" in page
    assert "out of reach now" in page


@pytest.mark.parametrize(("chance", "said"), [(1 - 1e-12, "100 %"), (0.9999, "over 99 %"), (1e-13, "0 %")])
def test_rounding_of_sums_is_no_doubt(chance: float, said: str) -> None:
    assert percent(chance) == said


def kept_chance(boards: Boards) -> float:
    """The chance of the aim when the plan is kept, from the advisor itself."""
    with open_stores(boards.database) as stores:
        sheet = sheet_of(stores, int(boards.live.rsplit("/", 1)[1]))
    others = spins_and_steps(sheet.edition, sheet.record.items)
    return Advisor().ask(sheet.record.id, sheet.state, sheet.elements, sheet.limits, others).kept


@pytest.mark.parametrize("points", ["84.00", "88.00"])
def test_a_doubtful_call_weighs_both_ways_in_the_chance_of_a_total(boards: Boards, points: str) -> None:
    """3F or 3F<<, half and half: the chance is the average of the two, as the law of total probability says."""
    told = {}
    for tap, code in (("3F doubt-<<-1", ""), ("typed", "3F"), ("typed", "3F<<")):
        boards.start().tap("3Lz+3T planned")
        boards.mark += 1
        data = {"number": 2, "tap": tap, "code": code, "event_id": f"{boards.live}-{boards.mark}"}
        assert boards.client.post(f"{boards.live}/pass", data=data).status_code == 303
        set_aim(boards, kind="reach", points=points, components="30")
        told[code] = kept_chance(boards)
    assert told["3F"] - told["3F<<"] > 0.1
    assert told[""] == pytest.approx((told["3F"] + told["3F<<"]) / 2, abs=1e-9)


def test_with_a_total_the_doubt_is_weighed_in_words_too(boards: Boards) -> None:
    set_aim(boards, kind="reach", points="84", components="30")
    boards.tap("3F doubt-<-1")
    assert "The doubt does not matter" in boards.text or "The doubt matters" in boards.text
    assert "A call is in doubt: these chances are the average" in text_of(boards)


def test_many_doubts_are_said_to_be_averaged(boards: Boards) -> None:
    """Two readings on each of four passes: sixteen ways, more than are told apart."""
    boards.start().tap("3Lz+3T doubt-<-1", "3F doubt-<-1", "2A doubt-<-1", "3Lo doubt-<-1")
    assert "Several calls are in doubt: this is best on average over all of them." in boards.text


def test_the_review_writes_codes_as_codes(boards: Boards) -> None:
    """`3F` is no word to be made small, and a doubt is no question put to the reader."""
    boards.tap("3F doubt-<-1")
    review = re.sub(r"<[^>]+>", "", boards.client.get(f"{boards.live}/review").text)
    assert "3F clean or under-rotated." in review
    assert "3f" not in review


def test_nothing_is_left_to_aim_at_once_it_is_stopped_or_all_logged(boards: Boards) -> None:
    # Used to be: the form stood there and could be sent, below "The program is stopped".
    assert "Set the aim" in text_of(boards)
    boards.client.post(f"{boards.live}/hurt", data={"event_id": "aim-hurt"})
    page = text_of(boards)
    assert "The program is stopped" in page
    assert "Set the aim" not in page


def test_with_a_doubt_the_page_says_why_the_best_chance_is_missing(boards: Boards) -> None:
    assert set_aim(boards, kind="reach", points="90", components="45") == 303
    assert "With the best trained answer at every pass" in text_of(boards)
    boards.tap("3F doubt-<<-1")
    page = text_of(boards)
    assert "With the best trained answer at every pass" not in page
    assert "The best chance over all answers is not shown until the call is known" in page

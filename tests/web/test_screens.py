"""Home, layout, skater and the forms of the live screen, through the app. The skater is the invented demo."""

from __future__ import annotations

import html
import re

import pytest
from starlette.testclient import TestClient

from app.storage.database import Database
from app.storage.records import LayoutItem, LayoutRecord
from app.storage.stores import open_stores


def text_of(client: TestClient, path: str) -> str:
    """The words of a page, tags taken out."""
    answer = client.get(path)
    assert answer.status_code == 200, answer.text
    bare = re.sub(r"<[^>]+>", " ", answer.text)
    return html.unescape(re.sub(r"\s+", " ", bare))


def start(client: TestClient, kind: str = "competition", event: str = "Invented Cup", layout: int = 1) -> str:
    """A new live program; its address."""
    answer = client.post("/live", data={"layout_id": layout, "kind": kind, "event": event})
    assert answer.status_code == 303
    return answer.headers["location"]


def log(client: TestClient, live: str, number: int, tap: str, mark: str, code: str = "") -> str:
    """Post one tap; the words of the page it leads to."""
    answer = client.post(f"{live}/pass", data={"number": number, "tap": tap, "event_id": mark, "code": code})
    if answer.status_code == 303:
        return text_of(client, answer.headers["location"])
    assert answer.status_code == 200
    return html.unescape(re.sub(r"<[^>]+>", " ", answer.text))


def test_the_first_page_shows_the_demo_as_invented(demo_laptop: TestClient) -> None:
    said = text_of(demo_laptop, "/")
    assert "An invented skater with invented numbers" in said
    assert "ISU 2026/27, senior women, free skating" in said
    assert "Let phones in" in said


def test_the_first_page_of_an_empty_database_says_so(laptop: TestClient) -> None:
    assert "Nobody is stored yet" in text_of(laptop, "/")


def test_the_demo_layout_is_legal_and_adds_up(demo_laptop: TestClient) -> None:
    # Base values of ISU Communication 2786 (2026/27), x 1.1 for the last three started in the second half:
    # 3Lz+3T 5.90+4.20, 3F 5.30, 2A 3.30, FCSp4 3.80, StSq3 3.50, 3Lo 4.90x1.1=5.39,
    # 3F+2T+2Lo 8.30x1.1=9.13, CCoSp4 4.20, 3S 4.30x1.1=4.73, ChSq1 3.50, ChSp1 3.50 = 56.45.
    said = text_of(demo_laptop, layout_page(demo_laptop, "Free skating"))
    assert "Base value 56.45" in said
    assert "counts for nothing" not in said
    assert "counts in part" not in said


def layout_page(client: TestClient, name: str) -> str:
    """Address of the layout of that name."""
    for number in (1, 2, 3):
        if f"<h1>{name}</h1>" in client.get(f"/layouts/{number}").text:
            return f"/layouts/{number}"
    raise AssertionError(f"no layout {name}")


def test_a_changed_row_gets_its_ruling_in_words(demo_laptop: TestClient) -> None:
    # Family cap 2026/27 (technical panel slides, second-hand): the same take-off at most three times.
    # 3Lz+3T and 3F+2T+2Lo hold two toe loops; 3T and then 2T make the fourth.
    page = layout_page(demo_laptop, "Free skating")
    for place, code, seconds in ((1, "3T", "0:42"), (2, "2A+2T", "1:06")):
        answer = demo_laptop.post(f"{page}/rows/{place}", data={"code": code, "seconds": seconds})
        assert answer.status_code == 303
    said = text_of(demo_laptop, page)
    assert "counts for nothing" in said
    assert "second-hand" in said


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"code": "3Lzz"}, "cannot read '3Lzz'"),
        ({"code": "CCoSp4"}, "this row holds a jump pass"),
        ({"seconds": "soon"}, "expected minutes and seconds"),
        ({"goe": "7"}, "expected a grade from -5 to 5"),
        ({"options": "3F, CCoSp4"}, "expected jump passes"),
        ({"code": "5A"}, "1 to 4 revolutions for A"),
    ],
)
def test_a_row_that_cannot_be_used_is_refused_in_words(
    demo_laptop: TestClient, change: dict[str, str], said: str
) -> None:
    page = layout_page(demo_laptop, "Free skating")
    before = text_of(demo_laptop, page)
    answer = demo_laptop.post(f"{page}/rows/0", data={"code": "3Lz", "seconds": "0:18", **change})
    assert answer.status_code == 422
    assert said in html.unescape(answer.text)
    assert text_of(demo_laptop, page) == before


def test_rows_stay_in_order_of_their_start(demo_laptop: TestClient) -> None:
    page = layout_page(demo_laptop, "Free skating")
    demo_laptop.post(
        f"{page}/rows/0", data={"code": "3Lz+3T", "seconds": "3:30", "options": "3Lz, leave out"}
    )
    codes = re.findall(r'<span class="code">([^<]+)</span>', demo_laptop.get(page).text)
    assert codes.index("3F") < codes.index("3S") < codes.index("3Lz+3T")


def test_the_skater_page_says_what_counts_as_trained_and_why_not(demo_laptop: TestClient) -> None:
    said = text_of(demo_laptop, "/skaters/1")
    assert "17 of 20 elements count as trained" in said
    assert "Not ticked as competition-ready" in said
    assert "Nothing logged in the last 60 days" in said


def test_an_untick_takes_an_element_out(demo_laptop: TestClient, database: Database) -> None:
    with open_stores(database) as stores:
        element = next(one for one in stores.skaters.trained(1) if one.code == "3Lo+2T")
    path = f"/skaters/1/elements/{element.id}"
    answer = demo_laptop.post(path, data={"attempts": 25, "landed": 18})
    assert answer.status_code == 303
    assert "16 of 20 elements count as trained" in text_of(demo_laptop, "/skaters/1")
    demo_laptop.post(path, data={"attempts": 26, "landed": 19, "ready": "yes"})
    assert "17 of 20 elements count as trained" in text_of(demo_laptop, "/skaters/1")


def test_more_landed_than_tried_is_refused(demo_laptop: TestClient, database: Database) -> None:
    with open_stores(database) as stores:
        element = stores.skaters.trained(1)[0]
    answer = demo_laptop.post(f"/skaters/1/elements/{element.id}", data={"attempts": 3, "landed": 4})
    assert answer.status_code == 422
    assert "4 landed of 3 attempts" in answer.text


def test_a_new_element_is_not_trained(demo_laptop: TestClient) -> None:
    demo_laptop.post("/skaters/1/elements", data={"code": "3Lz+2T+2Lo", "entry": ""})
    assert "17 of 21 elements count as trained" in text_of(demo_laptop, "/skaters/1")


def test_the_limits_can_be_changed_within_reason(demo_laptop: TestClient) -> None:
    given = {"threshold": "1.0", "most_changes": "1", "trained_attempts": "20", "trained_within_days": "30"}
    assert demo_laptop.post("/skaters/1/limits", data=given).status_code == 303
    assert "20 attempts are" in text_of(demo_laptop, "/skaters/1")
    answer = demo_laptop.post("/skaters/1/limits", data={**given, "most_changes": "3"})
    assert answer.status_code == 422
    assert "expected 0 to 2" in answer.text


def test_a_competition_shows_neither_advice_nor_points(demo_laptop: TestClient) -> None:
    live = start(demo_laptop)
    said = log(demo_laptop, live, 1, "3Lz+3T lost-2", "a1")
    assert "Logging only" in said
    assert "Pass 2 of 6" in said
    assert "points are hidden" in said
    assert not re.search(r"\d\.\d", said)


def test_the_same_tap_sent_twice_is_logged_once(demo_laptop: TestClient, database: Database) -> None:
    live = start(demo_laptop)
    log(demo_laptop, live, 1, "3Lz+3T planned", "same")
    said = log(demo_laptop, live, 1, "3Lz+3T planned", "same")
    assert "Pass 2 of 6" in said
    with open_stores(database) as stores:
        assert len(stores.live.events(int(live.rsplit("/", 1)[1]))) == 1


def test_undo_is_an_event_and_the_log_keeps_both(demo_laptop: TestClient, database: Database) -> None:
    live = start(demo_laptop)
    log(demo_laptop, live, 1, "3Lz+3T fell-1", "a1")
    demo_laptop.post(f"{live}/undo", data={"number": 1, "event_id": "a2"})
    assert "Pass 1 of 6" in text_of(demo_laptop, live)
    with open_stores(database) as stores:
        kinds = [entry.kind for entry in stores.live.events(int(live.rsplit("/", 1)[1]))]
    assert kinds == ["pass skated", "undone"]


def test_undo_of_an_older_pass_is_refused(demo_laptop: TestClient) -> None:
    live = start(demo_laptop)
    log(demo_laptop, live, 1, "3Lz+3T planned", "a1")
    log(demo_laptop, live, 2, "3F planned", "a2")
    answer = demo_laptop.post(f"{live}/undo", data={"number": 1, "event_id": "a3"})
    assert "Nothing to undo there" in answer.text
    assert "Pass 3 of 6" in text_of(demo_laptop, live)


def test_a_button_that_does_not_exist_is_refused(demo_laptop: TestClient) -> None:
    live = start(demo_laptop)
    answer = demo_laptop.post(f"{live}/pass", data={"number": 1, "tap": "3Lz+3T flew", "event_id": "a1"})
    assert "expected a button of this pass" in html.unescape(answer.text)
    assert "Pass 1 of 6" in text_of(demo_laptop, live)


@pytest.mark.parametrize("code", ["3Lz+9T", "CCoSp4", "three", "3A!", "4A<+9T"])
def test_a_typed_code_that_cannot_be_read_is_not_logged(demo_laptop: TestClient, code: str) -> None:
    live = start(demo_laptop)
    said = log(demo_laptop, live, 1, "typed", "a1", code)
    assert "Not logged." in said
    assert "Pass 1 of 6" in said


def test_a_jump_without_a_value_in_its_season_is_not_logged(laptop: TestClient, database: Database) -> None:
    # Quintuple jumps stand in the scale of values since 2025/26 (rules sheet 15); 2022/23 has none.
    with open_stores(database) as stores:
        skater = stores.skaters.add("Invented", invented=True)
        items = (LayoutItem("jump", "3T", 20), LayoutItem("jump", "2A", 60))
        record = LayoutRecord(skater.id, "Free skating", "isu/2022-23/senior/men/free", "", items)
        layout = stores.layouts.save(record)
    live = start(laptop, layout=layout.id)
    said = log(laptop, live, 1, "typed", "a1", "5T")
    assert "Not logged." in said
    assert "no '5T'" in said
    assert "Pass 1 of 2" in text_of(laptop, live)
    assert (
        laptop.post(f"/layouts/{layout.id}/rows/0", data={"code": "5T", "seconds": "0:20"}).status_code == 422
    )
    assert "5T" not in text_of(laptop, f"/layouts/{layout.id}")


def test_a_typed_fall_is_kept_as_a_slip_of_the_plan(demo_laptop: TestClient, database: Database) -> None:
    live = start(demo_laptop)
    given = {"number": 1, "tap": "typed", "event_id": "a1", "code": "3Lz<+2T*", "fall": "yes"}
    demo_laptop.post(f"{live}/pass", data=given)
    with open_stores(database) as stores:
        kept = stores.live.events(int(live.rsplit("/", 1)[1]))[0].payload
    assert kept["tried"] == "3Lz+3T"
    assert kept["readings"] == [{"code": "3Lz<+2T", "fall": True, "error": True, "chance": 1.0}]


def test_hurt_hides_everything_and_a_tap_that_comes_late_is_kept_for_afterwards(
    demo_laptop: TestClient, database: Database
) -> None:
    live = start(demo_laptop)
    log(demo_laptop, live, 1, "3Lz+3T fell-1", "a1")
    demo_laptop.post(f"{live}/hurt", data={"event_id": "a2"})
    said = text_of(demo_laptop, live)
    for needed in ("Stop. Get help.", "get off the ice", "emergency number", "medical", "referee"):
        assert needed in said
    assert "Pass 2 of 6" not in said
    late = log(demo_laptop, live, 2, "3F planned", "a3")
    assert "Stop. Get help." in late
    assert "Pass 3 of 6" not in late
    demo_laptop.post(f"{live}/undo", data={"number": 1, "event_id": "a4"})
    assert "not reviewed" in text_of(demo_laptop, f"{live}/review")
    with open_stores(database) as stores:
        kinds = [entry.kind for entry in stores.live.events(int(live.rsplit("/", 1)[1]))]
    assert kinds == ["pass skated", "stopped", "pass skated"]


def test_only_a_named_adult_lifts_the_stop_and_the_log_keeps_it(
    demo_laptop: TestClient, database: Database
) -> None:
    live = start(demo_laptop)
    demo_laptop.post(f"{live}/hurt", data={"event_id": "a1"})
    answer = demo_laptop.post(f"{live}/clear", data={"event_id": "a2", "by": " ", "relying_on": "x"})
    assert "Still stopped" in answer.text
    demo_laptop.post(
        f"{live}/clear", data={"event_id": "a3", "by": "coach", "relying_on": "tapped by mistake"}
    )
    assert "Pass 1 of 6" in text_of(demo_laptop, live)
    with open_stores(database) as stores:
        last = stores.live.events(int(live.rsplit("/", 1)[1]))[-1]
    wanted = {"by": "coach", "relying_on": "tapped by mistake", "of": ["a1"]}
    assert (last.kind, dict(last.payload)) == ("cleared", wanted)


def test_advice_needs_the_tick(demo_laptop: TestClient) -> None:
    live = start(demo_laptop)
    answer = demo_laptop.post(f"{live}/allow", data={"event_id": "a1"})
    assert "tick the box first" in answer.text
    assert "Logging only" in text_of(demo_laptop, live)


def test_news_only_when_the_log_has_grown(demo_laptop: TestClient) -> None:
    live = start(demo_laptop)
    assert demo_laptop.get(f"{live}/news?seen=0").status_code == 204
    log(demo_laptop, live, 1, "3Lz+3T planned", "a1")
    answer = demo_laptop.get(f"{live}/news?seen=0", headers={"HX-Request": "true"})
    assert "Pass 2 of 6" in answer.text
    assert "<html" not in answer.text


def test_an_unknown_program_is_a_page_that_helps(demo_laptop: TestClient) -> None:
    answer = demo_laptop.get("/live/4711")
    assert answer.status_code == 404
    assert "go back to the list" in answer.text


def test_an_edited_layout_leaves_a_started_program_alone(demo_laptop: TestClient) -> None:
    page = layout_page(demo_laptop, "Free skating")
    live = start(demo_laptop, layout=int(page.rsplit("/", 1)[1]))
    demo_laptop.post(f"{page}/rows/0", data={"code": "3F", "seconds": "0:18"})
    assert "3Lz+3T" in text_of(demo_laptop, live)


def test_the_review_puts_planned_beside_skated(demo_laptop: TestClient) -> None:
    live = start(demo_laptop, "run-through")
    log(demo_laptop, live, 1, "3Lz+3T lost-2", "a1")
    log(demo_laptop, live, 2, "3F planned", "a2")
    log(demo_laptop, live, 3, "left out", "a3")
    said = text_of(demo_laptop, f"{live}/review")
    assert "Planned 3Lz+3T : tail lost" in said
    assert "As planned: 3F." in said
    # ISU Communication 2786 (2026/27): 3Lz 5.90 and 3F 5.30.
    assert "11.20" in said


def test_the_review_waits_while_points_are_hidden(demo_laptop: TestClient) -> None:
    live = start(demo_laptop, "competition", "Invented Bowl")
    log(demo_laptop, live, 1, "3Lz+3T lost-2", "b1")
    assert demo_laptop.get(f"{live}/review").status_code == 303
    demo_laptop.post(f"{live}/allow", data={"event_id": "b2", "confirmed": "yes"})
    assert "5.90" in text_of(demo_laptop, f"{live}/review")
    demo_laptop.post(f"{live}/hide", data={"event_id": "b3"})
    assert demo_laptop.get(f"{live}/review").status_code == 303


def test_an_event_is_the_same_however_it_is_typed(demo_laptop: TestClient) -> None:
    live = start(demo_laptop, "competition", "Invented Plate")
    demo_laptop.post(f"{live}/allow", data={"event_id": "c1", "confirmed": "yes"})
    again = start(demo_laptop, "competition", " invented  plate")
    assert "Advice on" in text_of(demo_laptop, again)
    other = start(demo_laptop, "competition", "Invented Vase")
    assert "Advice on" not in text_of(demo_laptop, other)


def test_the_first_page_of_an_empty_database_begins_with_a_skater(laptop: TestClient) -> None:
    # Used to be: "Nobody is stored yet.", and the form folded away below rulebooks and copies.
    shown = laptop.get("/").text
    assert shown.index('action="/skaters"') < shown.index('href="/rulebooks"')
    assert "<details" not in shown[: shown.index('action="/skaters"')]


def test_the_first_page_keeps_two_layouts_open_and_folds_the_rest(demo_laptop: TestClient) -> None:
    # A coach at the boards has one thumb: 4,910 pixels of links were too many. Nothing is left out, only folded.
    shown = demo_laptop.get("/").text
    first, _ = shown.split("</section>")
    before, folded = first.split('<details class="more-layouts">')
    assert before.count("Start a run-through") == 2
    assert folded.count("Start a run-through") == 1
    demo_laptop.post("/skaters", data={"name": "XY"})
    others = demo_laptop.get("/").text.split("</section>")[1]
    assert others.count('<details class="skater">') == 2  # the other skater, and adding one
    assert "No layout yet: write the first one." in others


def test_the_list_of_programs_says_phone_only_to_a_phone(demo_laptop: TestClient) -> None:
    # Used to be: "This phone is a coach" on the laptop itself.
    assert "This phone is" not in text_of(demo_laptop, "/live")


def test_a_program_under_way_stands_first_in_the_list_of_programs(demo_laptop: TestClient) -> None:
    live = start(demo_laptop, "run-through")
    log(demo_laptop, live, 1, "3Lz+3T planned", "under-way-1")
    shown = demo_laptop.get("/live").text
    assert shown.index(f'class="button primary wide" href="{live}"') < shown.index('class="plain links"')


def test_the_review_counts_the_bonus_of_the_rulebook(demo_laptop: TestClient) -> None:
    # Technical panel slides 2026, juvenile: 1.00 for each double Axel. Scale of values 2025/26: 2A 3.30, 2Lz 2.10.
    # Used to be: the page added up base values alone, so it fell short of the layout's own sum.
    sent = {"name": "With bonus", "edition": "usa/2025-26/juvenile/all/free", "lines": "0:20 2A\n0:50 2Lz"}
    made = demo_laptop.post("/skaters/1/layouts", data=sent)
    layout = text_of(demo_laptop, made.headers["location"])
    assert "Bonus 1.00." in layout
    assert "Planned 6.40" in layout
    live = start(demo_laptop, "run-through", layout=int(made.headers["location"].rpartition("/")[2]))
    assert "Points 4.30 base" in log(demo_laptop, live, 1, "2A planned", "bonus-1")
    log(demo_laptop, live, 2, "2Lz planned", "bonus-2")
    said = text_of(demo_laptop, f"{live}/review")
    assert "2A 4.30" in said
    assert "1.00 of it is bonus." in said
    assert "Base value of the jumps, with bonus 6.40" in said
    assert "The jumps as planned: 6.40" in said


def test_the_review_of_a_rulebook_without_bonus_says_nothing_of_it(demo_laptop: TestClient) -> None:
    live = start(demo_laptop, "run-through")
    log(demo_laptop, live, 1, "3Lz+3T planned", "no-bonus")
    assert "bonus" not in text_of(demo_laptop, f"{live}/review")

"""The page of a fragile program: sentences, picture, spares; reckoned at the desk. The demo skater is invented."""

from __future__ import annotations

import re
import time
from xml.etree import ElementTree

import pytest
from starlette.testclient import TestClient

from app import engine
from app.live.program import Limits, Plan, PlannedPass, Setting
from app.planner.slips import Kind
from app.storage.records import LayoutRecord, SkaterRecord
from app.web.fragility_picture import Arc, Bar, FragilePicture, Mark, Miss, draw_tall, draw_wide
from app.web.views import fragility_words as words
from app.web.views.fragility import Report, fragility_view, signed
from tests.planner.test_fragility import MEN, WOMEN, request_of, solo_plan, the

SVG = "{http://www.w3.org/2000/svg}"


def page_of(laptop: TestClient, address: str) -> str:
    """The page once it is reckoned; the test fails after a minute."""
    until = time.monotonic() + 60
    while time.monotonic() < until:
        text = laptop.get(address).text
        if "<progress" not in text:
            return text
        time.sleep(0.1)
    raise AssertionError(f"{address} is not done")


def tree(svg: str) -> ElementTree.Element:
    """A drawing, read back as XML."""
    return ElementTree.fromstring(svg.replace("<svg ", f'<svg xmlns="{SVG[1:-1]}" ', 1))


BARS = tuple(Bar(n, 20 * n, code, n > 2) for n, code in enumerate(("3Lz+3T", "3F", "3S+2T", "2A"), start=1))


def picture(*arcs: Arc) -> FragilePicture:
    """Four invented passes, the last two late; a miss on the first and on the third."""
    misses = (Miss(1, "tail short"), Miss(3, "fell"))
    return FragilePicture("test", "The program", "Said in words.", BARS, misses, arcs)


ARCS = (
    Arc(0, 3, Mark.STAR, "2T zero", "−1.4"),
    Arc(0, 4, Mark.PART, "2A 70 %", "−1.0"),
    Arc(1, 0, Mark.RING, "combo", "−4.8"),
)


@pytest.mark.parametrize("draw", [draw_tall, draw_wide])
def test_the_picture_tells_everything_by_word_and_shape(draw: object) -> None:
    root = tree(str(draw(picture(*ARCS))))  # type: ignore[operator]
    texts = [text.text for text in root.iter(f"{SVG}text")]
    for bar in BARS:
        assert bar.code in texts
    assert {"tail short", "fell", "2T zero", "2A 70 %", "combo", "at the end", "−1.4", "−1.0", "−4.8"} <= set(
        texts
    )
    classes = [one.get("class") or "" for one in root.iter()]
    assert len([name for name in classes if name == "miss-cross"]) == 2
    assert len([name for name in classes if name == "star"]) == 1
    assert len([name for name in classes if name == "half"]) == 1
    assert len([name for name in classes if name == "target ring"]) == 1
    # Each miss has its own kind of line.
    assert [name for name in classes if name.startswith("arc")] == ["arc line-0", "arc line-0", "arc line-1"]
    assert root.findtext(f"{SVG}desc") == "Said in words."
    assert any("second half" in (text or "") for text in texts)


@pytest.mark.parametrize("draw", [draw_tall, draw_wide])
def test_nothing_is_drawn_outside_and_labels_stay_apart(draw: object) -> None:
    many = tuple(Arc(n % 2, 4, Mark.RING, "3S+3T", "+3.3") for n in range(5))
    root = tree(str(draw(picture(*many))))  # type: ignore[operator]
    _, _, wide, high = map(float, (root.get("viewBox") or "").split())
    labels = [one for one in root.iter(f"{SVG}rect") if one.get("class") == "label"]
    places = [
        (float(one.get("x") or 0), float(one.get("y") or 0), float(one.get("width") or 0)) for one in labels
    ]
    assert len(places) == 5
    for x, y, width in places:
        assert 0 <= x <= wide - width
        assert 0 <= y <= high - 24
    for n, (x, y, width) in enumerate(places):
        assert all(abs(x - ox) >= width or abs(y - oy) >= 24 for ox, oy, _ in places[:n])
    for mark in root.iter(f"{SVG}circle"):
        assert 10 <= float(mark.get("cx") or 0) <= wide - 10


def test_sentences_say_what_fails_what_follows_and_the_answer() -> None:
    book = engine.edition(MEN)
    one = the(solo_plan("4S", "4T", "3A", "3Lz", "3F+Eu+3S", "2A", "3S"), 1, Kind.POPPED, "3S")
    assert words.what_fails(one) == "If the 4S of pass 1 opens to a 3S"
    follows = words.what_follows(one, book)
    assert "the 3S of pass 7 counts for nothing, 4.3 points" in follows
    assert "9.7 points in all, 4.3 of them later" in follows
    assert words.how_likely(one) == "No chance of it is recorded."
    assert words.what_answers(one, Limits()) == "No trained change is worth making for it: keep the plan."


def sure(*program: tuple[list[str], bool]) -> engine.Fragility:
    """Attempts that always land: what an answer wins is its tail's value."""
    codes = {code for row, _ in program for code in row}
    attempts = {code: [{"becomes": code, "chance": 1}] for code in codes}
    return engine.fragility(request_of(list(program), WOMEN, attempts=attempts))


LOST = ((["3Lz+3T"], False), (["3F+2T"], False), (["2A+2T"], False), (["3Lo", "3Lo+2Lo"], False))


def test_the_best_answer_uses_the_place_that_was_lost() -> None:
    """With three units planned a fourth is void; one lost, 2Lo 1.70 (value table) can be hung on 3Lo."""
    one = the(sure(*LOST), 1, Kind.TAIL_LOST, "3Lz")
    assert words.what_fails(one) == "If the 3T of pass 1 is lost"
    assert "a combination place stays empty" in words.what_follows(one, engine.edition(WOMEN))
    assert words.what_answers(one, Limits()) == "Best answer: 3Lo+2Lo on pass 4 wins back 1.7."


def test_the_limits_of_the_coach_hold() -> None:
    found = sure(*LOST)
    one = the(found, 1, Kind.TAIL_LOST, "3Lz")
    assert words.answer_to(one, Limits(threshold=2.0)) is None
    assert words.answer_to(one, Limits(most_changes=0)) is None
    fell = the(found, 3, Kind.FELL, "2A")
    assert words.answer_to(fell, Limits()) is None
    assert "nothing harder right after a fall" in words.what_answers(fell, Limits())
    assert words.answer_to(fell, Limits(harder_after_fall=True)) is not None


def test_a_change_worth_making_anyway_is_no_answer_to_a_failure() -> None:
    found = sure((["3S"], False), (["3Lo", "3Lo+2T"], False))
    one = the(found, 1, Kind.POPPED, "2S")
    assert one.swaps[0].gain == pytest.approx(1.30)
    assert one.anyway[0] == pytest.approx(1.30)
    assert words.answer_to(one, Limits()) is None


def test_points_carry_a_true_sign() -> None:
    assert (signed(1.26), signed(-1.26), signed(0)) == ("+1.3", "−1.3", "+0.0")


def test_the_page_is_reckoned_at_the_desk_and_shows_the_worst_first(demo_laptop: TestClient) -> None:
    first = demo_laptop.get("/layouts/3/fragile")
    assert first.status_code == 200
    text = page_of(demo_laptop, "/layouts/3/fragile")
    assert "The most fragile points" in text
    losses = [float(found) for found in re.findall(r"expected loss (\d\.\d\d)", text)]
    assert losses[:3] == sorted(losses, reverse=True)[:3]
    assert text.count("<svg") == 3  # the wordmark, the picture down and across
    assert "A combination place" in text
    assert "Against a program with every pass landed at its usual grade, misses are expected to cost" in text
    assert 'href="/layouts/3/card"' in text
    # The untrained 3Lo+3T is planned as an option and never offered.
    assert "3Lo+3T" not in text
    assert "style=" not in text


def test_one_failure_can_be_drawn_alone(demo_laptop: TestClient) -> None:
    text = page_of(demo_laptop, "/layouts/3/fragile?show=0")
    assert "Draw the worst ones again" in text
    # Tail shortened to 2T on pass 1: the third double toe, on pass 6, is void (doubles twice at most).
    assert "2T zero" in text
    assert page_of(demo_laptop, "/layouts/3/fragile?show=999").count("<svg") == 3


def test_every_rule_behind_an_effect_is_named_with_how_sure(demo_laptop: TestClient) -> None:
    text = page_of(demo_laptop, "/layouts/3/fragile")
    assert "no more 2T: executed twice" in text
    assert "How sure:" in text


def test_the_layout_page_leads_there_and_a_layout_without_passes_is_told_why(demo_laptop: TestClient) -> None:
    assert 'href="/layouts/3/fragile"' in demo_laptop.get("/layouts/3").text
    while 'class="pass' in (text := demo_laptop.get("/layouts/2").text):
        places = [int(place) for place in re.findall(r"/layouts/2/rows/(\d+)/out", text)]
        codes = re.findall(r"Take (\S+) out", text)
        jumps = [
            place for place, code in zip(places, codes, strict=True) if re.match(r"\d(A|Lz|F|Lo|S|T)", code)
        ]
        if not jumps:
            break
        demo_laptop.post(f"/layouts/2/rows/{jumps[0]}/out", data={})
    assert "no jump pass" in demo_laptop.get("/layouts/2/fragile").text


def test_a_view_without_failures_to_draw_says_so() -> None:
    request = request_of([(["3Lo"], False)], attempts={"3Lo": [{"becomes": "3Lo", "chance": 1}]})
    plan = Plan(WOMEN, Setting.RUN_THROUGH, "", (PlannedPass("3Lo", 20, False),))
    report = Report(plan, {}, Limits(), engine.fragility(request), engine.spares(request))
    view = fragility_view(LayoutRecord(1, "Invented", WOMEN, "", ()), SkaterRecord(1, "Invented"), report)
    assert view.worst == ()
    assert "No failure" in view.drawn
    assert view.unknown == "No chances are recorded for 3Lo: reckoned as others at this level."

"""The rulebook screens: choose, read, compare, one's own, file out and in, accept. Changed numbers are invented."""

from __future__ import annotations

import html
import re
from dataclasses import replace

import pytest
from starlette.testclient import TestClient

from app import engine
from app.rulebook.editions import SHELF, edition
from app.rulebook.own import changed, own_fields
from app.rulebook.sentences import sentences
from app.storage.database import Database
from app.storage.stores import open_stores

WOMEN, BEFORE = "isu/2026-27/senior/women/free", "isu/2025-26/senior/women/free"


def words(text: str) -> str:
    """A page as a reader sees it."""
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text)))


def read(laptop: TestClient, address: str) -> str:
    answer = laptop.get(address)
    assert answer.status_code == 200, words(answer.text)
    return words(answer.text)


def form(name: str, **given: str) -> dict[str, str]:
    """The form of a copy as the browser sends it; `boxes__most` stands for `boxes.most`."""
    numbers = {one.path: one.text for one in own_fields(edition(name))}
    changes = {key.replace("__", "."): value for key, value in given.items()}
    return {"of": name, "title": "Club cup", "values": "", **numbers, **changes}


def test_choosing_by_federation_season_level_discipline_and_segment(laptop: TestClient) -> None:
    every = read(laptop, "/rulebooks")
    assert f"{len(engine.editions())} rulebooks" in every
    asked = "/rulebooks?federation=isu&season=2026-27&level=senior&discipline=women&segment=free"
    text = laptop.get(asked).text
    assert re.findall(r'href="/rulebooks/(isu[^"]+)"', text) == [WOMEN]
    assert "None fits" in read(laptop, "/rulebooks?federation=club&season=2026-27")


@pytest.mark.parametrize("name", [WOMEN, "usa/2025-26/juvenile/all/free", "isu/2018-19/junior/men/short"])
def test_every_rule_stands_there_with_source_and_certainty(laptop: TestClient, name: str) -> None:
    text = read(laptop, f"/rulebooks/{name}")
    for one in sentences(edition(name)):
        if one.table != "switches":
            assert one.words in text
            assert f"{one.source.certainty} {one.source}." in text


def test_both_readings_of_a_disputed_rule_with_their_sources(laptop: TestClient) -> None:
    text = read(laptop, f"/rulebooks/{WOMEN}")
    for switch in edition(WOMEN).rules.switches.values():
        assert switch.question in text
        for name, one in switch.readings.items():
            sign = "taken here" if name == switch.default else "other reading"
            assert f"{sign} {one.sentence} {one.certainty} {one.document}, {one.paragraph}." in text


def test_the_value_table_is_searched_by_a_plain_form(laptop: TestClient) -> None:
    """Base values of ISU Communication 2786: 3Lz 5.90, and 4.72 under-rotated (80 %)."""
    assert "3Lz 5.90" in read(laptop, f"/rulebooks/{WOMEN}?values=3lz")
    assert "< 4.72" in read(laptop, f"/rulebooks/{WOMEN}?values=3lz")
    assert "CCoSp4" in read(laptop, f"/rulebooks/{WOMEN}?values=CCoSp")
    assert "No code holds “nothing”" in read(laptop, f"/rulebooks/{WOMEN}?values=nothing")
    assert laptop.get(f"/rulebooks/{WOMEN}?values=%3Cscript%3E").text.count("<script>") == 0


def test_a_season_beside_another_for_a_layout(demo_laptop: TestClient) -> None:
    """Seven boxes before 2026/27: with the rules of today the seventh pass of the demo's older layout is too much."""
    with open_stores(demo_laptop.app.state.database) as stores:  # type: ignore[attr-defined]
        found = next(one for one in stores.layouts.of_skater(1) if one.edition == WOMEN)
        seventh = replace(found.items[0], code="2Lz", start=220)
        longer = stores.layouts.save(replace(found, id=0, name="Seven", items=(*found.items, seventh)))
    text = read(demo_laptop, f"/rulebooks/differences?now={WOMEN}&before={BEFORE}&layout={longer.id}")
    assert "changed Six jump elements count, instead of seven." in text
    assert "For Seven It has 7 jump elements, 6 count." in text
    assert "7 2Lz → 2Lz* 0.00" in text
    before, now = (
        engine.review(edition(name), [engine.Performed(i.code, late=i.start >= 120) for i in longer.items])
        for name in (BEFORE, WOMEN)
    )
    assert f"Base value, before {engine.show(before.base_total)} {engine.show(now.base_total)}" in text


def test_what_cannot_be_compared_is_said(demo_laptop: TestClient) -> None:
    assert demo_laptop.get(f"/rulebooks/differences?now={WOMEN}&before=isu/1999-00/senior").status_code == 422
    assert (
        demo_laptop.get(f"/rulebooks/differences?now={WOMEN}&before={BEFORE}&layout=999").status_code == 404
    )
    assert demo_laptop.get("/rulebooks/isu/1999-00/senior/women/free").status_code == 422


def test_an_own_rulebook_is_made_changed_and_kept_by_version(laptop: TestClient) -> None:
    answer = laptop.post("/rulebooks/own", data=form(WOMEN, boxes__most="5", values="3Lz 6.10\n3Lz < 4.88"))
    assert (answer.status_code, answer.headers["location"]) == (303, "/rulebooks/own/club-cup/1/women/free")
    first = read(laptop, "/rulebooks/own/club-cup/1/women/free?values=3Lz")
    assert "Own: Club cup, version 1, senior women, free skating" in first
    assert "Five jump elements count. your own Your own rulebook, changed by you; before:" in first
    assert "3Lz 6.10" in first
    assert "< 4.88" in first
    data = form("own/club-cup/1/women/free", boxes__most="4", values="3Lz 6.10")
    assert laptop.post("/rulebooks/own", data=data).headers["location"].endswith("/club-cup/2/women/free")
    assert "There is a newer version." in read(laptop, "/rulebooks/own/club-cup/1/women/free")
    assert [engine.edition(f"own/club-cup/{n}/women/free").boxes for n in (1, 2)] == [5, 4]
    assert "Own: Club cup, version 2" in read(laptop, "/rulebooks")


def test_an_own_rulebook_is_offered_for_a_new_layout_and_is_planned_under(demo_laptop: TestClient) -> None:
    demo_laptop.post("/rulebooks/own", data=form(WOMEN, boxes__most="5"))
    name = "own/club-cup/1/women/free"
    assert f'value="{name}"' in demo_laptop.get("/skaters/1/layouts/new").text
    data = {"name": "Cup", "edition": name, "lines": "0:20 3Lz+3T\n2:10 2A\n2:40 3S"}
    layout = demo_laptop.post("/skaters/1/layouts", data=data).headers["location"]
    assert "3 of 5 jump elements" in read(demo_laptop, layout)
    live = demo_laptop.post("/live", data={"layout_id": layout.split("/")[-1], "kind": "run-through"})
    assert "Pass 1" in read(demo_laptop, live.headers["location"])
    question = {
        "edition": name,
        "done": [],
        "passes": [{"planned": "2A", "late": False, "options": ["2A"]}],
        "attempts": {"2A": [{"becomes": "2A", "chance": 1.0, "goe": 0}]},
    }
    assert demo_laptop.post("/api/advise", json=question).json()["value"] == 3.3


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"boxes__most": "x"}, "'x' given; expected a whole number from 1 to 12"),
        (
            {"boxes__most": "1"},
            "“Combinations and sequences together” 2 is more than “Jump elements that count” 1",
        ),
        ({"title": "★"}, "expected a name"),
        ({"values": "3Lz"}, "line 1: '3Lz' given; expected a code"),
        ({"values": "3Lz 6.10\n9Q 1.00"}, "have no '9Q'"),
        ({"values": "3Lz -1"}, "expected a code"),
    ],
)
def test_what_is_wrong_stands_at_its_field_and_nothing_typed_is_lost(
    laptop: TestClient, given: dict[str, str], said: str
) -> None:
    data = form(WOMEN, part__percent="60", **given)
    answer = laptop.post("/rulebooks/own", data=data)
    assert answer.status_code == 422
    assert said in words(answer.text)
    assert "Not kept: 1 thing to put right" in words(answer.text)
    assert 'name="part.percent" value="60"' in answer.text
    assert SHELF.own == {}


@pytest.mark.parametrize(
    ("path", "text", "said"),
    [
        ("boxes.most", "5", "Five jump elements count, instead of six."),
        ("boxes.most", "five", "'five' given; expected a whole number from 1 to 12"),
        ("boxes.most", "6", "A whole number from 1 to 12."),
        ("falls.each.0", "0.50", "Falls cost 0.50, 1.00"),
    ],
)
def test_a_field_is_checked_while_it_is_typed(laptop: TestClient, path: str, text: str, said: str) -> None:
    answer = laptop.post(
        f"/rulebooks/own/check?field={path}", data={**form(WOMEN), path: text}, headers={"HX-Request": "true"}
    )
    assert said in words(answer.text)
    assert "<html" not in answer.text


def test_a_field_nobody_has_and_a_form_too_large_are_refused(laptop: TestClient) -> None:
    assert laptop.post("/rulebooks/own/check?field=boxes.least", data=form(WOMEN)).status_code == 422
    data = form(WOMEN, values="3Lz 6.10\n" * 20_000)
    assert laptop.post("/rulebooks/own", data=data).status_code == 422


def test_a_file_goes_out_and_comes_back_in(laptop: TestClient) -> None:
    laptop.post("/rulebooks/own", data=form(WOMEN, boxes__most="5", values="3Lz 6.10"))
    file = laptop.get("/rulebooks/file?of=own/club-cup/1/women/free")
    assert 'filename="own-club-cup-1-women-free.toml"' in file.headers["content-disposition"]
    again = laptop.post("/rulebooks/file", files={"file": ("cup.toml", file.content)})
    assert again.headers["location"] == "/rulebooks/own/club-cup/2/women/free"
    assert (
        edition("own/club-cup/2/women/free").fingerprint == edition("own/club-cup/1/women/free").fingerprint
    )


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"most = = 6", "not valid TOML"),
        (b"\xff\xfe\x00", "no UTF-8 text"),
        (b"#" * 200_000, "more than 100,000 bytes"),
        (b"", "table file"),
    ],
)
def test_a_file_that_is_none_is_refused_in_words(laptop: TestClient, content: bytes, said: str) -> None:
    answer = laptop.post("/rulebooks/file", files={"file": ("cup.toml", content)})
    assert answer.status_code == 422
    assert said in words(answer.text)
    assert SHELF.own == {}


def demo_layout(database: Database) -> int:
    with open_stores(database) as stores:
        return next(one.id for one in stores.layouts.of_skater(1) if one.edition == WOMEN)


def test_a_changed_rulebook_is_told_and_accepted(
    demo_laptop: TestClient, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An update of the shipped numbers (invented: +REP keeps 60 %, five boxes): told in words until it is accepted."""
    layout = demo_layout(database)
    draft = changed(edition(WOMEN), {"boxes.most": "5", "part.percent": "60"})
    assert draft.edition is not None
    updated = {WOMEN: draft.edition}
    assert "rulebook has changed" not in read(demo_laptop, f"/layouts/{layout}")
    monkeypatch.setattr("app.rulebook.editions._all", lambda: updated)
    with open_stores(database) as stores:
        stores.rulebooks.fill(SHELF)
    text = read(demo_laptop, f"/layouts/{layout}")
    assert "The rulebook has changed since this layout was planned." in text
    assert "Five jump elements count, instead of six." in text
    assert "What is marked +REP keeps 60 % of its base value, instead of 70." in text
    assert "It has 6 jump elements, 5 count." in text
    # Changing a row is not the same as accepting the rulebook.
    demo_laptop.post(f"/layouts/{layout}/rows/0", data={"code": "3Lz+3T", "seconds": "0:19"})
    assert "The rulebook has changed" in read(demo_laptop, f"/layouts/{layout}")
    answer = demo_laptop.post("/rulebooks/accept", data={"layout_id": layout, "edition": WOMEN})
    assert answer.status_code == 303
    assert "The rulebook has changed" not in read(demo_laptop, f"/layouts/{layout}")


def test_a_newer_version_is_told_and_taken_over(demo_laptop: TestClient, database: Database) -> None:
    demo_laptop.post("/rulebooks/own", data=form(WOMEN))
    first = "own/club-cup/1/women/free"
    with open_stores(database) as stores:
        found = stores.layouts.get(demo_layout(database))
        mine = stores.layouts.save(
            replace(found, id=0, edition=first, fingerprint=edition(first).fingerprint)
        )
    assert "newer version" not in read(demo_laptop, f"/layouts/{mine.id}")
    demo_laptop.post("/rulebooks/own", data=form(first, boxes__most="5"))
    text = read(demo_laptop, f"/layouts/{mine.id}")
    assert "Your rulebook has a newer version, 2." in text
    assert "Five jump elements count, instead of six." in text
    second = "own/club-cup/2/women/free"
    demo_laptop.post("/rulebooks/accept", data={"layout_id": mine.id, "edition": second})
    with open_stores(database) as stores:
        assert stores.layouts.get(mine.id).edition == second
    assert (
        demo_laptop.post("/rulebooks/accept", data={"layout_id": mine.id, "edition": BEFORE}).status_code
        == 422
    )


def test_a_rulebook_that_is_gone_stops_no_other_page(demo_laptop: TestClient, database: Database) -> None:
    with open_stores(database) as stores:
        found = stores.layouts.get(demo_layout(database))
        lost = stores.layouts.save(replace(found, id=0, edition="own/lost/1/women/free", fingerprint="x"))
    assert "own/lost/1/women/free, a rulebook that cannot be read" in read(demo_laptop, "/")
    answer = demo_laptop.get(f"/layouts/{lost.id}")
    assert answer.status_code == 422
    assert "no rulebook called 'own/lost/1/women/free'" in words(answer.text)
    assert (
        demo_laptop.get(f"/rulebooks/differences?now={WOMEN}&before={BEFORE}&layout={lost.id}").status_code
        == 200
    )


def test_the_clock_of_each_pass(demo_laptop: TestClient, database: Database) -> None:
    """Required time 4:00, so the mark is at 2:00 (ISU Communication 2176). Late credit follows from the clock."""
    layout = demo_layout(database)
    text = read(demo_laptop, f"/layouts/{layout}")
    assert "18 s into the music, 102 s before the half-way mark" in text
    assert "128 s into the music, 8 s after the half-way mark" in text
    assert "so near that" not in text
    for when, says, near in (
        ("1:56", "116 s into the music, 4 s before the half-way mark", False),
        ("1:57", "117 s into the music, 3 s before the half-way mark", True),
        ("2:00", "120 s into the music, at the half-way mark", True),
        ("2:03", "123 s into the music, 3 s after the half-way mark", True),
        ("2:04", "124 s into the music, 4 s after the half-way mark", False),
    ):
        with open_stores(database) as stores:
            items = stores.layouts.get(layout).items
        place = next(n for n, one in enumerate(items) if one.code == "3Lo")
        demo_laptop.post(f"/layouts/{layout}/rows/{place}", data={"code": "3Lo", "seconds": when})
        text = read(demo_laptop, f"/layouts/{layout}")
        assert says in text
        assert ("so near that" in text) is near
        # 3Lo 4.90, x 1.1 = 5.39 once it starts at the mark.
        row = text.split("Take StSq3 out")[1].split(" change ")[0]
        assert ("second half, ×1.1 base 5.39" in row) is (when >= "2:00")

"""The language of a page: who chooses it, and what is shown in it."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable, Iterator
from datetime import date

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from app.domain.words import both, either, figure, listed, say, say_many, sentences
from app.web.languages import LANGUAGES, Day, chosen, shown, spoken
from app.web.rendering import environment
from app.web.tongue import COOKIE
from app.web.views.language import own_path


@pytest.fixture
def client(demo_app: FastAPI, knock: Callable[..., TestClient]) -> TestClient:
    """The laptop's own browser."""
    return knock(demo_app)


@pytest.fixture
def german() -> Iterator[None]:
    """Everything in this test is read in German."""
    before = spoken.set("de")
    yield
    spoken.reset(before)


def lang_of(page: str) -> str:
    found = re.search(r'<html lang="([^"]+)">', page)
    assert found is not None
    return found[1]


@pytest.mark.parametrize(
    ("kept", "usual", "accepted", "code"),
    [
        ("ja", "fr", "de", "ja"),
        ("", "fr", "de", "fr"),
        ("", "", "de-AT,de;q=0.9,en;q=0.8", "de"),
        ("", "", "sv,en;q=0.5,fr;q=0.7", "fr"),
        ("", "", "fr;q=0,sv", "en"),
        ("", "", "ko", "en"),
        ("xx", "", "", "en"),
        ("../../x", "", "a;q=b,,;;", "en"),
    ],
)
def test_the_device_then_the_coach_then_the_browser(kept: str, usual: str, accepted: str, code: str) -> None:
    assert chosen(kept, usual, accepted) == code


def test_a_device_keeps_its_choice(client: TestClient) -> None:
    assert lang_of(client.get("/").text) == "en"
    assert lang_of(client.get("/", headers={"Accept-Language": "fr-CA"}).text) == "fr"
    answer = client.post("/language", data={"language": "de", "back": "/live"})
    assert answer.headers["location"] == "/live"
    assert client.cookies[COOKIE] == "de"
    page = client.get("/", headers={"Accept-Language": "fr-CA"}).text
    assert lang_of(page) == "de"
    assert "Diese Sprache wurde nicht von Muttersprachlern geprüft." in page


def test_the_coach_sets_the_language_of_the_others(client: TestClient) -> None:
    client.post("/language", data={"language": "ja", "usual": "yes"})
    assert COOKIE not in client.cookies
    assert lang_of(client.get("/", headers={"Accept-Language": "fr"}).text) == "ja"
    client.post("/language", data={"language": "", "usual": "yes"})
    assert lang_of(client.get("/", headers={"Accept-Language": "fr"}).text) == "fr"


def test_a_language_that_does_not_exist_is_refused(client: TestClient) -> None:
    assert client.post("/language", data={"language": "xx"}).status_code == 422


def test_with_terms_only_the_page_is_english(client: TestClient) -> None:
    client.cookies.set(COOKIE, "ko")
    assert lang_of(client.get("/").text) == "en"


@pytest.mark.parametrize("address", ["//evil.example", "https://evil.example", "/\\evil.example", "", "x"])
def test_the_way_back_stays_in_the_app(address: str) -> None:
    assert own_path(address) == "/"
    assert own_path("/live/1?x=y") == "/live/1?x=y"


@pytest.mark.usefixtures("german")
def test_texts_figures_and_days_are_shown_as_the_reader_writes_them() -> None:
    """Decimal comma and order of a date: Duden."""
    assert shown(figure(-0.25, 2)) == "-0,25"
    assert shown(Day(date(2026, 11, 28))) == "28. November 2026"
    assert shown(either(["2T", "3T", "1T"])) == "2T, 3T oder 1T"
    assert shown(both(["2T", "3T"])) == "2T und 3T"
    assert shown(listed(["2T", "3T"])) == "2T, 3T"
    assert shown(sentences("", say("Back"), figure(1.5))) == "Zurück 1,5"
    assert shown("Back") == "Back", "a text without a message stays as it is"


def test_english_is_the_text_itself() -> None:
    text = say_many("%(count)s change", "%(count)s changes", 2)
    assert text == "2 changes"
    assert say_many("%(count)s change", "%(count)s changes", 1) == "1 change"
    assert say("48 %%") == "48 %"
    assert sentences("a.", "", "b.") == "a. b."
    assert either([]) == ""
    assert not sentences("", "")


@pytest.mark.usefixtures("german")
def test_a_copy_of_a_text_keeps_its_message() -> None:
    text = copy.deepcopy(sentences(say("Back"), say("Save")))
    assert shown(text) == "Zurück Speichern"


@pytest.mark.usefixtures("german")
def test_values_are_escaped_and_markup_of_messages_is_not() -> None:
    page = environment.from_string("{{ _('%(first)s and %(last)s', first=one, last='<i>') }} {{ two }}")
    assert page.render(one=say("Back"), two=say("%(first)s or %(last)s", first="<b>", last=figure(1.5))) == (
        "Zurück und &lt;i&gt; &lt;b&gt; oder 1,5"
    )


def test_every_language_is_called_by_its_own_name(client: TestClient) -> None:
    page = client.get("/language").text
    for one in LANGUAGES.values():
        assert f'<span lang="{one.code}">{one.name}</span>' in page

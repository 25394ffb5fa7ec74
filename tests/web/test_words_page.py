"""The page of the trade's words."""

from __future__ import annotations

from starlette.testclient import TestClient

from app.web.tongue import COOKIE
from app.web.views.words import CODES, TERMS


def test_every_language_has_every_word() -> None:
    assert {len(row) for row in TERMS} == {len(CODES) + 1}
    assert all(all(row[1:]) for row in TERMS)


def test_a_loop_is_no_toe_loop_in_french_and_a_rittberger_in_german(laptop: TestClient) -> None:
    """The traps of translation: French boucle is the loop, boucle piqué the toe loop (common trade usage)."""
    french = laptop.get("/words?of=fr").text
    assert french.index("boucle piqué") < french.index('<td lang="fr">boucle</td>')
    assert '<td lang="de">Rittberger</td>' in laptop.get("/words?of=de").text


def test_the_device_s_language_comes_first(laptop: TestClient) -> None:
    laptop.cookies.set(COOKIE, "ko")
    page = laptop.get("/words").text
    assert '<html lang="en">' in page
    assert '<td lang="ko">살코</td>' in page
    laptop.cookies.set(COOKIE, "en")
    assert 'lang="fr">boucle' in laptop.get("/words?of=xx").text

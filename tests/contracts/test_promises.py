"""Every promise is really made where the page says so, and every test it names exists.

`README.md` may not promise with "never" or in its list of what Recoup does not do without a promise in
`data/promises.toml` that holds it.
"""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from app.web.promises import Promise, promises

PROJECT = Path(__file__).parents[2]
ALL = [one for group in promises().groups for one in group.promises]
README = (PROJECT / "README.md").read_text(encoding="utf-8")


def plain(text: str) -> str:
    """With single spaces: a quotation may run over the end of a line."""
    return " ".join(text.split())


@cache
def functions(file: Path) -> frozenset[str]:
    """The test functions that pytest would collect from a file."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    kinds = (ast.FunctionDef, ast.AsyncFunctionDef)
    return frozenset(one.name for one in tree.body if isinstance(one, kinds) and one.name.startswith("test_"))


@pytest.mark.parametrize("promise", ALL, ids=lambda one: one.says)
def test_a_promise_is_made_where_the_page_says_so(promise: Promise) -> None:
    for said in promise.said:
        text = plain((PROJECT / said.file).read_text(encoding="utf-8"))
        assert plain(said.words) in text, f"{said.file} does not say: {said.words}"


@pytest.mark.parametrize("promise", ALL, ids=lambda one: one.says)
def test_every_test_that_is_named_is_one(promise: Promise) -> None:
    for test in promise.tests:
        file, _, name = test.partition("::")
        path = PROJECT / file
        assert re.fullmatch(r"tests/(\w+/)?test_\w+\.py", file), file
        assert path.is_file(), f"there is no {file}"
        assert name in functions(path), f"{file} has no {name}"
    assert len(set(promise.tests)) == len(promise.tests)


def strict_sentences() -> list[str]:
    """Sentences of README.md with a "never", and its list of what Recoup does not do."""
    text = re.sub(r"```.*?```", "", README, flags=re.DOTALL)
    left = re.search(r"## What it does not do\n(.*?)\nNot yet there", text, re.DOTALL)
    assert left is not None
    found = [plain(one) for one in re.split(r"^- ", left[1], flags=re.MULTILINE) if one.strip()]
    words = [plain(line) for line in re.split(r"\n\s*\n", text) if not line.lstrip().startswith("|")]
    return found + [
        one for part in words for one in re.split(r"(?<=[.:!]) ", part) if re.search(r"\bnever\b", one)
    ]


NOT_OURS = (
    "It is not official.",
    "Medical staff and the referee decide, never this program.",
    '"never"})`',
)
"""Said of the world or of a parameter: nothing that a test of ours could hold."""


@pytest.mark.parametrize("sentence", strict_sentences(), ids=lambda one: one[:50])
def test_a_strict_word_of_the_readme_is_held_by_a_promise(sentence: str) -> None:
    quoted = [plain(said.words) for one in ALL for said in one.said if said.file == "README.md"]
    held = any(words in sentence or sentence in words for words in quoted)
    ours = not any(sentence.startswith(start) for start in NOT_OURS)
    assert held or not ours, f"say in data/promises.toml which test holds: {sentence}"


def test_the_page_shows_every_promise_with_its_tests(laptop: TestClient) -> None:
    shown = laptop.get("/how-we-know").text
    for one in ALL:
        assert one.says.replace("'", "&#39;") in shown
        assert all(test in shown for test in one.tests)
    assert 'href="/how-we-know"' in laptop.get("/").text

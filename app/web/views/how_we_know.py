"""The page "how we know": every promise in plain words, and behind it the tests that hold it."""

from __future__ import annotations

from dataclasses import dataclass

from app.domain.words import of_the_data
from app.web.promises import Promise, promises


@dataclass(frozen=True, slots=True)
class PromiseView:
    """One promise. `against` and `limits` may be empty; `files`: where it is said; `tests`: pytest's names."""

    says: str
    how: str
    against: str
    limits: str
    files: tuple[str, ...]
    tests: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class GroupView:
    """Promises about one subject; `anchor` is its place on the page."""

    name: str
    anchor: str
    promises: tuple[PromiseView, ...]


@dataclass(frozen=True, slots=True)
class HowWeKnowView:
    """The whole page; `promises` and `tests` are how many there are."""

    groups: tuple[GroupView, ...]
    promises: int
    tests: int


def how_we_know_view() -> HowWeKnowView:
    """Everything in the order of the file."""
    groups = tuple(
        GroupView(of_the_data(group.name), f"group-{number}", tuple(_view(one) for one in group.promises))
        for number, group in enumerate(promises().groups, start=1)
    )
    shown = [one for group in groups for one in group.promises]
    return HowWeKnowView(groups, len(shown), len({test for one in shown for test in one.tests}))


def _view(one: Promise) -> PromiseView:
    files = tuple(dict.fromkeys(said.file for said in one.said))
    says, how, against, limits = (of_the_data(text) for text in (one.says, one.how, one.against, one.limits))
    return PromiseView(says, how, against, limits, files, one.tests)

"""Choosing an edition by name, its readings, and the fingerprint a layout remembers."""

from __future__ import annotations

import pytest

from app.errors import InputError, RecoupError, RulebookError, UnknownEdition
from app.rulebook.editions import edition, edition_names
from tests.rulebook.conftest import NEW, OLD, Spoil

WOMEN = "isu/2025-26/senior/women/free"
NEXT = "isu/2026-27/senior/women/free"
BESIDE = "euler_beside_a_sequence"


def test_a_name_has_five_parts() -> None:
    book = edition("isu/2026-27/junior/men/short")
    parts = (book.federation, book.season, book.level, book.discipline, book.segment)
    assert parts == ("isu", "2026-27", "junior", "men", "short")


def test_seasons_levels_disciplines_and_segments_are_all_there() -> None:
    """What the first release promises, counted out: 5 seasons x 2 x 2 x 2 and one children's edition."""
    promised = {
        f"isu/{season}/{level}/{discipline}/{segment}"
        for season in ("2022-23", "2023-24", "2024-25", "2025-26", "2026-27")
        for level in ("senior", "junior")
        for discipline in ("men", "women")
        for segment in ("short", "free")
    }
    assert promised | {"isu/2022-23/intermediate-novice/all/free"} <= set(edition_names())
    assert list(edition_names()) == sorted(edition_names())


@pytest.mark.parametrize("name", ["", "isu", "isu/2031-32/senior/women/free", WOMEN.upper(), WOMEN + "/"])
def test_an_unknown_name_is_answered_with_known_ones(name: str) -> None:
    with pytest.raises(UnknownEdition) as caught:
        edition(name)
    assert str(caught.value).startswith(f"edition: no rulebook called {name!r}; expected one of: isu/")
    assert isinstance(caught.value, RulebookError)
    assert isinstance(caught.value, InputError)
    assert isinstance(caught.value, RecoupError)


def test_suggestions_are_of_the_same_discipline_and_segment() -> None:
    with pytest.raises(UnknownEdition) as caught:
        edition("isu/2031-32/senior/women/free")
    suggested = str(caught.value).split("expected one of: ")[1].removesuffix(" …").split(", ")
    assert suggested
    assert all(name.endswith("/women/free") for name in suggested)


def test_a_reading_is_chosen_away_from_the_default() -> None:
    assert edition(NEXT).reading(BESIDE) == "only inside the sequence"
    assert edition(NEXT, {BESIDE: "never"}).reading(BESIDE) == "never"
    assert edition(NEXT, {BESIDE: "never"}).reading_ref(BESIDE) != edition(NEXT).reading_ref(BESIDE)
    assert edition(WOMEN).reading(BESIDE) is None  # disputed for 2026/27 only
    assert edition(NEXT, {}) is edition(NEXT)


def test_an_unknown_switch_or_reading_is_named() -> None:
    with pytest.raises(InputError, match=r"switches: no switch 'euler'.*it has \['euler_beside_a_sequence'"):
        edition(NEXT, {"euler": "never"})
    with pytest.raises(
        InputError, match=rf"switches\.{BESIDE}: no reading 'maybe'; expected one of \['never'"
    ):
        edition(NEXT, {BESIDE: "maybe"})


def test_every_switch_has_two_readings_with_a_source_each() -> None:
    for name in edition_names():
        for switch in edition(name).rules.switches.values():
            assert len(switch.readings) >= 2
            assert switch.default in switch.readings
            assert (
                str(switch.ref)
                == f"{switch.readings[switch.default].document}, {switch.readings[switch.default].paragraph}"
            )
            sources = {(one.document, one.paragraph) for one in switch.readings.values()}
            assert len(sources) == len(switch.readings), f"{name}: one source cannot read both ways"


def test_the_fingerprint_stays_while_nothing_changes(spoil: Spoil) -> None:
    assert spoil()[WOMEN].fingerprint == edition(WOMEN).fingerprint


def test_every_edition_has_a_fingerprint_of_its_own() -> None:
    """Women and men differ by factors, seasons by tables; equal numbers may share one, different may not."""
    books = [edition(name) for name in edition_names()]
    by_print: dict[str, list[str]] = {}
    for book in books:
        by_print.setdefault(book.fingerprint, []).append(book.name)
    shared = [names for names in by_print.values() if len(names) > 1]
    assert all(
        edition(first).rules == edition(other).rules
        and edition(first).values.rows == edition(other).values.rows
        for first, *others in shared
        for other in others
    )


@pytest.mark.parametrize(
    ("file", "text", "changed", "touched"),
    [
        (OLD, "most = 7", "most = 6", True),
        (OLD, "percent = 110", "percent = 120", True),
        ("values/2025-26.csv", "3Lz,clean,5.90", "3Lz,clean,5.91", True),
        (OLD, "# ISU free skating", "# Free skating", False),  # a comment is no number
        (NEW, "percent = 10", "percent = 11", False),  # another season's
    ],
)
def test_the_fingerprint_changes_with_a_number(
    spoil: Spoil, file: str, text: str, changed: str, touched: bool
) -> None:
    assert (spoil(file, text, changed)[WOMEN].fingerprint != edition(WOMEN).fingerprint) is touched


def test_the_fingerprint_changes_with_a_reading() -> None:
    assert edition(NEXT, {BESIDE: "never"}).fingerprint != edition(NEXT).fingerprint


def test_a_default_chosen_by_name_is_the_same_rulebook() -> None:
    assert edition(NEXT, {BESIDE: "only inside the sequence"}).fingerprint == edition(NEXT).fingerprint

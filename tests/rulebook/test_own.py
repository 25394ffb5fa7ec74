"""Rulebooks of one's own: copies, changed numbers, files out and in. All changes here are invented."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given, settings, strategies as some

from app import engine
from app.errors import InputError
from app.rulebook.editions import SHELF, Edition, edition, edition_names, pinned, value_tables
from app.rulebook.own import changed, named, newer, own_fields, own_values, slug_of, with_values
from app.rulebook.own_file import MOST_BYTES, file_text, read_file
from app.rulebook.sentences import sentences
from app.rulebook.snapshot import from_snapshot, snapshot_of
from tests.reference.random_programs import Program, free_program, short_program

WOMEN = "isu/2026-27/senior/women/free"
LEVELS = (
    WOMEN,
    "isu/2018-19/junior/men/free",
    "isu/2026-27/advanced-novice/girls/short",
    "usa/2025-26/juvenile/all/free",
    "canada/2022-23/pre-novice/all/free",
    "club/2022-23/cubs-b/all/free",
)


def copy_of(name: str, title: str = "Club cup", version: int = 1) -> Edition:
    """A copy without changes, out to a file and in again, on the shelf."""
    book = edition(name)
    draft = changed(book, {})
    assert draft.edition is not None
    made = named(draft.edition, title, version)
    again = named(
        read_file(file_text(made, value_tables()[book.values.name]), value_tables()), title, version
    )
    SHELF.own[again.name] = again
    return again


def outcome(name: str, program: Program) -> object:
    """Everything the engine says of a program, or the reason why it cannot be read."""
    done = [
        engine.Performed(one.code, one.late, error=error)
        for one, error in zip(program.attempts, program.errors, strict=True)
    ]
    try:
        return engine.review(engine.edition(name), done)
    except InputError as error:
        return str(error)


@settings(max_examples=150, deadline=None)
@given(some.integers(0, 100_000), some.booleans())
def test_a_copy_without_changes_rules_and_values_like_its_source(seed: int, short: bool) -> None:
    program = short_program(seed) if short else free_program(seed)
    copy = copy_of(program.edition)
    assert outcome(copy.name, program) == outcome(program.edition, program)


@pytest.mark.parametrize("name", edition_names())
def test_every_edition_goes_out_as_a_file_and_comes_back_the_same(name: str) -> None:
    book = edition(name)
    again = copy_of(name)
    assert again.fingerprint == book.fingerprint
    assert [one.words for one in sentences(again)] == [one.words for one in sentences(book)]
    assert (again.level, again.season, again.discipline, again.segment) == (
        book.level, book.season, book.discipline, book.segment,
    )  # fmt: skip
    assert again.half_way_seconds == book.half_way_seconds


@pytest.mark.parametrize("name", edition_names())
def test_every_edition_survives_being_kept(name: str) -> None:
    book = edition(name)
    again = from_snapshot(name, snapshot_of(book))
    assert again.fingerprint == book.fingerprint
    assert again.rules == book.rules


@pytest.mark.parametrize("name", edition_names())
def test_every_number_has_a_name_and_is_read_as_it_is_written(name: str) -> None:
    book = edition(name)
    fields = own_fields(book)
    assert len({one.path for one in fields}) == len(fields)
    assert all(one.label and one.expected for one in fields)
    assert changed(book, {one.path: f" {one.text}  " for one in fields}).changed == ()


@pytest.mark.parametrize("name", LEVELS)
def test_every_number_that_is_changed_is_the_one_that_changes(name: str) -> None:
    """One more of each number in turn: where the loader takes it, it stands at that very path."""
    book, taken = edition(name), 0
    for one in own_fields(book):
        if one.kind != "number" or not one.text:
            continue
        draft = changed(book, {one.path: str(int(one.text) + 1)})
        if draft.edition is None:
            assert one.path in draft.faults
            continue
        found: object = draft.edition.rules.model_dump()
        for part in one.path.split("."):
            found = found[part] if isinstance(found, dict) else found[int(part)]  # type: ignore[index]
        assert found == int(one.text) + 1
        assert draft.edition.fingerprint != book.fingerprint
        taken += 1
    assert taken >= 8


def test_a_changed_table_says_that_it_is_your_own_and_where_it_stood_before() -> None:
    draft = changed(edition(WOMEN), {"boxes.most": "5"})
    assert draft.edition is not None
    said = next(one for one in sentences(draft.edition) if one.table == "boxes")
    assert said.words == "Five jump elements count."
    assert said.source.certainty == "your own"
    assert "six jump elements from 2026/27" in said.source.paragraph
    again = changed(draft.edition, {"boxes.most": "6"})
    assert again.edition is not None
    assert again.edition.rules.boxes.paragraph == draft.edition.rules.boxes.paragraph
    others = [one for one in sentences(draft.edition) if one.table != "boxes"]
    assert all(one.source.certainty != "your own" for one in others)


def test_no_shipped_rule_claims_to_be_your_own() -> None:
    for name in edition_names():
        assert all(one.source.certainty != "your own" for one in sentences(edition(name)))


@pytest.mark.parametrize(
    ("path", "text", "named"),
    [
        ("boxes.most", "seven", "'seven' given; expected a whole number from 1 to 12"),
        ("boxes.most", "13", "'13' given; expected a whole number from 1 to 12"),
        ("boxes.most", "", "'' given; expected a whole number from 1 to 12"),
        ("boxes.most", "1", "“Combinations and sequences together” 2 is more than “Jump elements that count” 1"),
        ("boxes.most", "٣", "expected a whole number"),
        ("falls.each.0", "5.00", "no fall may cost less than the one before it"),
        ("falls.each.0", "1.001", "'1.001' given; expected points such as 1.00"),
        ("allowed.forbidden", "2T, 7Q", "'2T, 7Q' given; expected jumps such as 2T, 3Lo"),
        ("axel.required", "perhaps", "'perhaps' given; expected yes or no"),
        ("components.list.0.factor", "inf", "expected a factor above 0"),
        ("components.list.0.factor", "0", "expected a factor above 0"),
        ("switches.euler_beside_a_sequence", "often", "expected one of: only inside the sequence; never"),
        ("late.last", "9999", "“Last jump elements that count more” is more than"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_said_at_its_field(path: str, text: str, named: str) -> None:
    draft = changed(edition(WOMEN), {path: text})
    assert draft.edition is None
    assert named in draft.faults[path].replace(" 9999", "")


def test_a_number_may_be_taken_away_where_there_may_be_none() -> None:
    draft = changed(edition(WOMEN), {"family.most": ""})
    assert draft.edition is not None
    assert draft.edition.rules.family is not None
    assert draft.edition.rules.family.most is None


def test_a_reading_becomes_the_default() -> None:
    draft = changed(edition(WOMEN), {"switches.euler_beside_a_sequence": "never"})
    assert draft.edition is not None
    assert draft.edition.reading("euler_beside_a_sequence") == "never"
    said = edition(WOMEN, {"euler_beside_a_sequence": "never"})
    again = read_file(file_text(said, value_tables()["2026-27"]), value_tables())
    assert again.reading("euler_beside_a_sequence") == "never"


def test_base_values_of_ones_own_go_out_and_come_back() -> None:
    shipped = value_tables()["2026-27"]
    book = with_values(edition(WOMEN), shipped, {("3Lz", "clean"): 610, ("3F", "clean"): shipped.value("3F")})
    assert own_values(book, shipped) == {("3Lz", "clean"): 610}
    again = read_file(file_text(book, shipped), value_tables())
    assert again.values.rows == book.values.rows
    assert again.values.sources["3Lz", "clean"].startswith("Your own rulebook")
    with pytest.raises(InputError, match="have no '9Q'"):
        with_values(book, shipped, {("9Q", "clean"): 1})


FAULTS = [
    ("most = 6", "most = = 6", ["not valid TOML", "line"]),
    ("most = 6", "most = 6\nleast = 1", ["table boxes, row least", "unknown key"]),
    ("most = 6", 'most = "six"', ["table boxes, row most", "'six'"]),
    ("[common.boxes]", "[common.box]", ["box"]),
    ("[common.boxes]", "[junior.boxes]", ["table junior", "unknown layer"]),
    ('title = "', 'titel = "', ["table file", "titel"]),
    (
        '"senior/women/free",',
        '"senior/women/free", "senior/men/free",',
        ["2 editions", "expected one edition"],
    ),
    ("[file]", '[file]\nbased_on = "isu/2026-27/free"', ["based_on", "states every table"]),
    ('table = "2026-27"', 'table = "../../secret"', ["table values", "expected one of 2018-19"]),
    (
        'copied_from = "isu/2026-27/senior/women/free"',
        'copied_from = "a/b/c/d/e"',
        ["copied_from", "senior/women/free"],
    ),
    ("[common.boxes]", '[[base_values]]\ncode = "3Lz"\n[common.boxes]', ["base_values", "missing"]),
    (
        "[common.boxes]",
        '[[base_values]]\ncode = "3Lz"\nvariant = "clean"\nbase_value = "-1"\n[common.boxes]',
        ["base_values, row 0", "-1"],
    ),
    (
        "[common.boxes]",
        '[[base_values]]\ncode = "6Lz"\nvariant = "clean"\nbase_value = "1.00"\n[common.boxes]',
        ["6Lz"],
    ),
    ("[common.boxes]", "common = 5\n[other]", ["other"]),
]


@pytest.mark.parametrize(("text", "wrong", "named"), FAULTS)
def test_a_wrong_file_is_refused_by_name(text: str, wrong: str, named: list[str]) -> None:
    good = file_text(edition(WOMEN), value_tables()["2026-27"])
    assert text in good
    with pytest.raises(InputError) as caught:
        read_file(good.replace(text, wrong, 1), value_tables(), "cup.toml")
    assert [word for word in named if word not in str(caught.value)] == [], str(caught.value)
    assert str(caught.value).startswith("cup.toml")


def test_a_file_too_large_or_too_deep_is_refused() -> None:
    with pytest.raises(InputError, match="more than 100,000 bytes"):
        read_file("#" * (MOST_BYTES + 1), value_tables())
    with pytest.raises(InputError):
        read_file("a = " + "[" * 20_000, value_tables())


@settings(max_examples=60, deadline=None)
@given(some.text(max_size=300))
def test_any_text_at_all_is_read_or_refused_in_words(text: str) -> None:
    with pytest.raises(InputError):
        read_file(text, value_tables())


def test_the_file_has_the_shape_of_the_shipped_ones() -> None:
    raw = tomllib.loads(file_text(edition(WOMEN), value_tables()["2026-27"]))
    assert set(raw) == {"file", "common"}
    assert raw["common"]["boxes"]["most"] == 6
    assert raw["common"]["boxes"]["certainty"] == "second-hand"


def test_names_versions_and_what_is_newer() -> None:
    assert slug_of("Club Cup 2027") == "club-cup-2027"
    assert slug_of("Pokal für Anfänger") == "pokal-fur-anfanger"
    for title in ("", "  ", "★", "x" * 41):
        with pytest.raises(InputError, match="expected a name"):
            slug_of(title)
    book = named(edition(WOMEN), "Club cup", 3)
    assert book.name == "own/club-cup/3/women/free"
    assert (book.season, book.level, book.is_own) == ("2026-27", "senior", True)
    known = ["own/club-cup/9/women/free", "own/club-cup/10/women/free", "own/club-cup/11/women/short", WOMEN]
    assert newer(book.name, known) == "own/club-cup/10/women/free"
    assert newer("own/club-cup/10/women/free", known) == ""
    assert newer(WOMEN, known) == ""


def test_an_earlier_state_is_found_by_its_fingerprint() -> None:
    book = edition(WOMEN)
    assert pinned(WOMEN, book.fingerprint) == WOMEN
    assert pinned(WOMEN, "never-kept") == WOMEN
    draft = changed(book, {"boxes.most": "5"})
    assert draft.edition is not None
    SHELF.kept[WOMEN, draft.edition.fingerprint] = draft.edition
    name = pinned(WOMEN, draft.edition.fingerprint)
    assert name == f"{WOMEN}@{draft.edition.fingerprint}"
    assert engine.edition(name).boxes == 5
    assert engine.edition(WOMEN).boxes == 6
    with pytest.raises(InputError, match="no rulebook called"):
        engine.edition(f"{WOMEN}@else")

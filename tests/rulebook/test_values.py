"""Value tables: faults name file and row; published values are where they belong.

Values: ISU Communication 2786 (scale of values 2026/27), and the factor rules it follows: `<` and `e` keep 80 %,
`e<` 60 %, a downgraded jump the value of one revolution less.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from app.errors import InputError, RulebookError
from app.rulebook.editions import DATA
from app.rulebook.values import ValueTable, load_values

HEAD = "code,variant,base_value,source\n"
TABLES = {path.stem: load_values(path) for path in sorted((DATA / "values").glob("*.csv"))}
SEASONS = [f"{year}-{year % 100 + 1}" for year in range(2018, 2027)]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", r"some\.csv: first line must be code,variant,base_value,source"),
        ("code,base_value\n", r"some\.csv: first line must be"),
        (HEAD + "3T,clean,4.20\n", r"some\.csv, row 2: expected 4 columns, got 3"),
        (HEAD + "3T,clean,4.20,a,b\n", r"some\.csv, row 2: expected 4 columns, got 5"),
        (HEAD + "3T,clean,4.20,a\n3S,clean,4.30,\n", r"some\.csv, row 3: 3S clean has no source"),
        (HEAD + "3T,clean,4.20,  \n", r"row 2: 3T clean has no source"),
        (HEAD + "3T,clean,many,a\n", r"row 2: base_value not a number: 'many'"),
        (HEAD + "3T,clean,4.205,a\n", r"row 2: base_value not in whole hundredths: '4.205'"),
        (HEAD + "3T,clean,-4.20,a\n", r"row 2: base_value -4\.20 is below zero"),
        (HEAD + "3T,clean,4.20,a\n3T,<,3.36,a\n3T,clean,4.20,b\n", r"row 4: 3T clean stands twice"),
    ],
)
def test_a_faulty_row_is_named(tmp_path: Path, text: str, message: str) -> None:
    file = tmp_path / "some.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(RulebookError, match=message):
        load_values(file)


def test_a_table_remembers_where_each_value_was_read(tmp_path: Path) -> None:
    file = tmp_path / "own.csv"
    file.write_text(HEAD + '3T,clean,4.20,"table, page 3"\n', encoding="utf-8")
    table = load_values(file)
    assert (table.name, table.value("3T"), table.sources["3T", "clean"]) == ("own", 420, "table, page 3")


def test_a_missing_value_says_what_the_table_knows() -> None:
    table = ValueTable("own", {("3T", "clean"): 420, ("3T", "<"): 336}, {})
    assert table.has("3T", "<")
    assert not table.has("3T", "q")
    with pytest.raises(InputError, match="the values of own know 3T only as <, clean, not 'q'"):
        table.value("3T", "q")
    with pytest.raises(InputError, match=r"have no '4T'; add a row to data/values/own\.csv"):
        table.value("4T")


# Communication 2786 as printed.
PUBLISHED_2026 = {
    ("1T", "clean"): 40, ("1A", "clean"): 110, ("2T", "clean"): 130, ("2A", "clean"): 330, ("3T", "clean"): 420,
    ("3S", "clean"): 430, ("3Lo", "clean"): 490, ("3F", "clean"): 530, ("3Lz", "clean"): 590, ("3A", "clean"): 800,
    ("4T", "clean"): 950, ("4A", "clean"): 1250, ("5T", "clean"): 1400, ("5T", "<<"): 950, ("5F", "e<<"): 760,
    ("5Lz", "e<"): 840, ("5S", "<"): 1120, ("Eu", "clean"): 0, ("CCoSp4", "clean"): 420, ("StSq4", "clean"): 410,
    ("ChSq1", "clean"): 350, ("ChSp1", "clean"): 350,
}  # fmt: skip


@pytest.mark.parametrize(("row", "points"), PUBLISHED_2026.items(), ids=lambda row: str(row))
def test_published_values_of_2026(row: tuple[str, str], points: int) -> None:
    assert TABLES["2026-27"].value(*row) == points


@pytest.mark.parametrize(
    ("season", "row", "points"),
    [
        ("2025-26", ("CCoSp4", "clean"), 350),  # official sheets 2025/26
        ("2025-26", ("StSq4", "clean"), 390),
        ("2025-26", ("ChSq1", "clean"), 300),
        ("2025-26", ("1Eu", "clean"), 50),  # a listed jump until 2025/26
        ("2018-19", ("3Lz", "<"), 443),  # 75 % of 5.90, half up, until 2018/19
        ("2019-20", ("3Lz", "<"), 472),  # 80 % since
    ],
)
def test_values_that_changed_with_a_season(season: str, row: tuple[str, str], points: int) -> None:
    assert TABLES[season].value(*row) == points


@pytest.mark.parametrize("season", SEASONS[1:])
def test_calls_follow_the_factors_of_the_scale_of_values(season: str) -> None:
    """Remarks of Communication 2786; official sheets back to 2019/20 agree. Quintuples have their own."""
    table = TABLES[season]
    wrong = []
    for (code, variant), points in table.rows.items():
        if code[0] not in "1234" or code[1:] not in ("T", "S", "Lo", "F", "Lz", "A"):
            continue
        fewer = int(code[0]) - 1
        lower = table.value(f"{fewer}{code[1:]}") if fewer else 0
        clean = table.value(code)
        kept = {"<": 80, "e": 80, "eq": 80, "e<": 60, "!<": 80}
        expected = clean * kept.get(variant, 100)
        if variant.endswith("<<"):
            expected = lower * (80 if variant.startswith("e") else 100)
        if abs(points * 100 - expected) > 50:  # printed in hundredths
            wrong.append((code, variant, points, expected / 100))
    assert wrong == []


def test_jumps_kept_their_values_from_2019_on_but_for_the_euler() -> None:
    """Scale of values 2026/27 against the sheets: same numbers for every jump seen in both."""
    first, last = TABLES["2019-20"], TABLES["2026-27"]
    shared = {row for row in first.rows if row in last.rows and row[0][0] in "1234" and "Eu" not in row[0]}
    assert len(shared) > 80
    assert {row for row in shared if first.rows[row] != last.rows[row]} == set()


@pytest.mark.parametrize("season", SEASONS)
def test_every_row_has_a_source(season: str) -> None:
    table = TABLES[season]
    assert set(table.rows) == set(table.sources)
    assert all(source.strip() for source in table.sources.values())

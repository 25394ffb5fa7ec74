"""A wrong rule file is refused with one message that names file, table and row.

The broken files are made here from the real ones; what each message must name is the promise of the loader's docstring.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from app.errors import RulebookError
from app.rulebook.editions import DATA, load_all
from tests.rulebook.conftest import HEIR, NEW, OLD, Spoil

UNITS = """[common.units]
most = 3
most_sequences = 1
most_jumps = 3
usual_jumps = 2
most_long = 1"""
HANDBOOK = 'document = "ISU Technical Panel Handbook Single Skating 2025/26"\n'
FALLS = "[senior.falls]\neach = [100, 100, 200, 200, 300]"

FAULTS = [
    # file, text, replacement, what the message must hold
    pytest.param(
        OLD, "most = 7", "most = = 7", ["isu/2025-26/free.toml", "not valid TOML", "line"], id="no TOML",
    ),
    pytest.param(
        OLD, "most = 7", f"most = {'[' * 3000}", ["isu/2025-26/free.toml", "without end"], id="tables without end",
    ),
    pytest.param(
        OLD, "most = 7", "most = 7\nleast = 1", ["isu/2025-26/free.toml", "table boxes", "row least", "unknown key"],
        id="unknown key",
    ),
    pytest.param(
        NEW, "[common.family]", "[common.famly]", ["isu/2026-27/free.toml", "table famly", "unknown key"],
        id="unknown table",
    ),
    pytest.param(
        OLD, "[common.boxes]", "[common.boxs]", ["isu/2025-26/free.toml", "table boxs", "unknown key"],
        id="a slip is named before what it leaves missing",
    ),
    pytest.param(
        OLD, "[common.boxes]", "[junior-men.boxes]", ["edition senior/men/free", "table boxes", "missing"],
        id="table missing",
    ),
    pytest.param(
        OLD, HANDBOOK + 'paragraph = "well-balanced', 'paragraph = "well-balanced',
        ["table boxes", "row document", "missing"], id="no source",
    ),
    pytest.param(OLD, 'certainty = "read"', "", ["row certainty", "missing"], id="no certainty"),
    pytest.param(
        OLD, 'certainty = "second-hand"', 'certainty = "sure"',
        ["table programme", "row certainty", "'read', 'second-hand', 'inferred', 'memory' or", "given: 'sure'"],
        id="unknown certainty",
    ),
    pytest.param(OLD, "most = 7", 'most = "many"', ["table boxes", "row most", "given: 'many'"], id="no number"),
    pytest.param(OLD, "most = 7", "most = 0", ["table boxes", "row most", "greater than 0"], id="no boxes at all"),
    pytest.param(
        OLD, UNITS, UNITS.replace("most_sequences = 1", "most_sequences = 4"),
        ["table units", "most_sequences 4 is more than most 3"], id="more sequences than units",
    ),
    pytest.param(
        OLD, UNITS, UNITS.replace("most_long = 1", "most_long = 4"), ["table units", "most_long 4 is more than most 3"],
        id="more long units than units",
    ),
    pytest.param(
        OLD, UNITS, UNITS.replace("most_long = 1", "most_long = 0"), ["table units", "most_jumps exceeds usual_jumps"],
        id="three jumps but no long unit",
    ),
    pytest.param(
        OLD, UNITS, UNITS.replace("most = 3", "most = 8"), ["units.most 8 is more than boxes.most 7"],
        id="more units than boxes",
    ),
    pytest.param(OLD, "last = 3", "last = 8", ["late.last 8 is more than boxes.most 7"], id="more late than boxes"),
    pytest.param(
        OLD, "revolutions = [2]\nexecutions = 2", "revolutions = [2, 3]\nexecutions = 2",
        ["table repeats", "revolutions [3] stand in two classes"], id="one jump in two quotas",
    ),
    pytest.param(
        OLD, "within = [4, 5]\n", "within = [2]\n", ["table repeats", "within must be part of revolutions"],
        id="tighter quota outside",
    ),
    pytest.param(
        OLD, "most_repeated_within = 1\n", "", ["table repeats", "within and most_repeated_within come together"],
        id="half a tighter quota",
    ),
    pytest.param(
        OLD, FALLS, FALLS.replace("300", "50"), ["table falls", "non-decreasing hundredths"], id="cheaper falls later"
    ),
    pytest.param(
        OLD, FALLS, FALLS.replace("[100, 100", "[-100, 100"), ["table falls", "non-decreasing hundredths"],
        id="falls that pay",
    ),
    pytest.param(OLD, 'code = "1Eu"', 'code = "2Eu"', ["table euler", "row code", "'1Eu' or 'Eu'"], id="unknown Euler"),
    pytest.param(
        OLD, 'default = "yes"', 'default = "perhaps"',
        ["table switches", "default 'perhaps' is none of the readings ['no', 'yes']"], id="default is no reading",
    ),
    pytest.param(
        OLD, "[common.switches.starred_jumps_use_up_an_execution.readings.no]", "[junior.programme.no]",
        ["table switches", "row starred_jumps_use_up_an_execution.readings", "at least 2 items"], id="one reading only",
    ),
    pytest.param(
        OLD, 'table = "2025-26"', 'table = "2031-32"', ["table values", "row table", "no data/values/2031-32.csv"],
        id="no such value table",
    ),
    pytest.param(
        OLD, 'title = "ISU free skating 2025/26"\n', "", ["isu/2025-26/free.toml, table file", "title", "missing"],
        id="file without title",
    ),
    pytest.param(
        OLD, "[common.boxes]", "[seniors.boxes]",
        ["isu/2025-26/free.toml, table seniors", "unknown layer", "common", "junior-women"], id="unknown layer",
    ),
    pytest.param(
        NEW, 'based_on = "isu/2025-26/free"', 'based_on = "isu/2035-36/free"',
        ["isu/2026-27/free.toml, table file", "based_on 'isu/2035-36/free' is no rule file"], id="based on nothing",
    ),
    pytest.param(
        NEW, '"junior/women/free"]', '"junior/women"]',
        ["isu/2026-27/free.toml, table file", "edition 'junior/women'; expected level/discipline/segment"],
        id="half a name",
    ),
    pytest.param(
        NEW, 'based_on = "isu/2025-26/free"', 'based_on = "isu/2026-27/free"',
        ["isu/2026-27/free.toml, table file", "based_on", "ring: isu/2026-27/free -> isu/2026-27/free"],
        id="based on itself",
    ),
    pytest.param(
        OLD, "[common.part]", "[senior-men.part]",
        ["edition senior/women/free", "a free skating needs units, repeats and part"], id="nothing kept",
    ),
    pytest.param(
        OLD, "[common.boxes]", "[common]\nboxes = 7\n[senior-men.boxes]",
        ["isu/2025-26/free.toml, table boxes", "7 given in layer common; expected a table"],
        id="a number for a table",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("file", "text", "wrong", "named"), FAULTS)
def test_a_fault_is_named_with_file_table_and_row(
    spoil: Spoil, file: str, text: str, wrong: str, named: list[str]
) -> None:
    with pytest.raises(RulebookError) as caught:
        spoil(file, text, wrong)
    said = str(caught.value)
    assert [word for word in named if word not in said] == [], said
    assert "\n" not in said.removesuffix("\n")
    assert said.startswith(caught.value.where)


def test_a_fault_in_a_base_file_is_not_blamed_on_its_heir(spoil: Spoil) -> None:
    with pytest.raises(RulebookError, match=r"^isu/2025-26/free\.toml, .*table boxes, row most"):
        spoil(OLD, "most = 7", "most = 7.5", HEIR, "values/2024-25.csv")


def test_a_number_for_a_table_that_is_inherited(spoil: Spoil) -> None:
    with pytest.raises(RulebookError, match=r"isu/2025-26/free\.toml, .*table boxes"):
        spoil(OLD, "[common.boxes]", "[common]\nboxes = 7\n[senior-men.boxes]", HEIR, "values/2024-25.csv")


@pytest.mark.parametrize("name", ["rules/isu/2025-26/free.toml", "values/2025-26.csv"])
def test_a_file_that_is_not_utf_8(spoil: Spoil, tmp_path: Path, name: str) -> None:
    """What a spreadsheet may save."""
    spoil()
    (tmp_path / name).write_bytes((tmp_path / name).read_bytes() + "# é".encode("latin-1"))
    with pytest.raises(RulebookError, match=r"UTF-8|utf-8"):
        load_all(tmp_path)


def test_an_edition_may_not_stand_in_two_files(spoil: Spoil, tmp_path: Path) -> None:
    spoil()
    folder = tmp_path / "rules" / "isu" / "2025-26"
    (folder / "again.toml").write_bytes((folder / "free.toml").read_bytes())
    with pytest.raises(RulebookError, match=r"isu/2025-26/senior/men/free: stands in two rule files"):
        load_all(tmp_path)


def test_the_most_particular_layer_wins_and_a_table_is_taken_whole(spoil: Spoil) -> None:
    """Documented order: common, level, discipline, level and discipline."""
    source = 'document = "Own rules"\nparagraph = "P"\ncertainty = "memory"'
    particular = f"[junior-women.boxes]\nmost = 5\n{source}\n\n[common.boxes]"
    loaded = spoil(OLD, "[common.boxes]", particular)
    assert loaded["isu/2025-26/junior/women/free"].boxes == 5
    assert loaded["isu/2025-26/junior/women/free"].rules.boxes.ref.document == "Own rules"
    assert loaded["isu/2025-26/junior/men/free"].boxes == 7


def test_what_is_inherited_is_no_surer_than_the_heir_says(spoil: Spoil) -> None:
    loaded = spoil(NEW, 'inherited_certainty = "inferred"', 'inherited_certainty = "memory"')
    rules = loaded["isu/2026-27/senior/women/free"].rules
    assert rules.axel.certainty == "memory"  # "read" for 2025/26
    assert "nothing was found that changes it" in rules.axel.note
    assert rules.boxes.certainty == "second-hand"  # stated by the heir itself
    assert loaded["isu/2025-26/senior/women/free"].rules.axel.certainty == "read"


def test_a_weaker_mark_is_not_made_surer_by_inheriting(spoil: Spoil) -> None:
    """The junior program time is from memory in 2025/26 and stays so."""
    loaded = spoil(NEW, 'inherited_certainty = "inferred"', 'inherited_certainty = "read"')
    assert loaded["isu/2026-27/junior/women/free"].rules.programme.certainty == "memory"


def test_every_rule_file_of_the_project_loads() -> None:
    assert len(load_all(DATA)) >= 41

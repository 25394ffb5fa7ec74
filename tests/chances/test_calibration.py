"""Folds, Brier score and reliability against small cases worked by hand; the tables against the shipped sheets.

Hand cases are invented. Sheets: the official sample of tests/reference, which carries no events, so invented events are
dealt to its sheets here.
"""

from __future__ import annotations

import csv
import gzip
import json
import re
from collections import Counter
from importlib.machinery import SourceFileLoader
from importlib.util import module_from_spec, spec_from_loader
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from hypothesis import given, strategies as st
from scipy.stats import binomtest

from app.chances.calibration import Checked, brier, cross_validated, folds, models_of, reliability
from app.chances.jump_table import KINDS, Seen, as_text, first_jumps, from_text, second_jumps, table_of
from app.chances.prior import BLEND, CATEGORIES, jump_prior, shipped_table

ROOT = Path(__file__).resolve().parents[2]


def sample() -> list[dict[str, Any]]:
    """The shipped sheets of the seasons that print falls, with an invented event each."""
    with gzip.open(ROOT / "tests" / "reference" / "sheets.jsonl.gz", "rt", encoding="utf-8") as lines:
        sheets = [json.loads(line) for line in lines]
    found = [sheet for sheet in sheets if sheet["season"] >= "2022/23"]
    return [sheet | {"rules": "isu", "event": f"e{place % 9}"} for place, sheet in enumerate(found)]


def checked(end: str, **forecast: float) -> Checked:
    said = dict.fromkeys(CATEGORIES, 0.0) | {"<": 0.0} | forecast
    return Checked("e", Seen("senior", "women", f"{forecast}", end, 0.0), {"m": said})


def test_the_brier_score_by_hand() -> None:
    """(0.7, 0.3) with the first true: 0.3^2 + 0.3^2 = 0.18; with the second true: 0.7^2 + 0.7^2 = 0.98; mean 0.58."""
    rows = [checked("clean", clean=0.7, fall=0.3), checked("fall", clean=0.7, fall=0.3)]
    assert brier(rows, "m") == pytest.approx(0.58)
    assert brier(rows, "m", "fall") == pytest.approx((0.3**2 + 0.7**2) / 2)


def test_the_best_constant_forecast_is_the_share_itself() -> None:
    """Algebra: a constant p scores 2 (p - s)^2 + 2 s (1 - s) where a share s of two ends came true."""
    ends = ["clean"] * 7 + ["fall"] * 3
    for p in (0.5, 0.6, 0.7, 0.8):
        rows = [checked(end, clean=p, fall=1 - p) for end in ends]
        assert brier(rows, "m") == pytest.approx(2 * (p - 0.7) ** 2 + 2 * 0.7 * 0.3)


def test_reliability_by_hand() -> None:
    """Ten attempts at 0.2, two clean; ten at 0.8, nine clean: two parts. Wilson from SciPy."""
    rows = [checked("clean" if n < 9 else "neg", clean=0.8, neg=0.2) for n in range(10)]
    rows += [checked("clean" if n < 2 else "neg", clean=0.2, neg=0.8) for n in range(10)]
    low, high = reliability(rows, "m", "clean", parts=2)
    assert (low.n, low.forecast, low.observed.chance) == (10, pytest.approx(0.2), pytest.approx(0.2))
    assert (high.n, high.forecast, high.observed.chance) == (10, pytest.approx(0.8), pytest.approx(0.9))
    limits = binomtest(9, 10).proportion_ci(0.90, method="wilson")
    assert (high.observed.low, high.observed.high) == pytest.approx(tuple(limits))


@given(st.lists(st.sampled_from("abcdefghijk"), min_size=1, max_size=80), st.integers(1, 6))
def test_every_event_is_in_exactly_one_fold(events: list[str], parts: int) -> None:
    found = folds(events, parts)
    assert Counter(event for fold in found for event in fold) == Counter(set(events))
    assert found == folds(list(reversed(events)), parts)
    sheets = Counter(events)
    sizes = [sum(sheets[event] for event in fold) for fold in found]
    assert max(sizes) - min(sizes) <= max(sheets.values())


def test_no_forecast_knows_its_own_event() -> None:
    """Each forecast again, slowly, from a table counted without the fold of its event."""
    sheets = sample()
    parts = folds((sheet["event"] for sheet in sheets), 3)
    rows = cross_validated(sheets, 3)
    assert len(rows) > 500
    tables = {
        fold: table_of(one for sheet in sheets if sheet["event"] not in fold for one in first_jumps(sheet))
        for fold in parts
    }
    for row in rows[:: len(rows) // 60]:
        (fold,) = (fold for fold in parts if row.event in fold)
        slow = jump_prior(row.seen.level, row.seen.discipline, row.seen.jump, tables[fold])
        assert slow is not None
        assert row.forecasts[f"prior {BLEND:g}"] == slow.shares


def test_a_level_average_is_the_plain_share() -> None:
    seen = [Seen("senior", "women", "3F", end, 0.0) for end in ("clean", "clean", "fall", "invalid")]
    said = models_of(seen, ())["level"]("senior", "men", "3S")
    assert said is not None
    assert (said["clean"], said["fall"], said["q"]) == (pytest.approx(2 / 3), pytest.approx(1 / 3), 0)


def test_first_jumps_counted_another_way() -> None:
    """By regular expressions on the printed codes alone: how many, called, fallen."""
    sheets = sample()
    table = table_of(one for sheet in sheets for one in first_jumps(sheet))
    for jump in ("3Lz", "3F", "2A", "4T", "3A"):
        rows = [
            row
            for sheet in sheets
            for row in sheet["elements"]
            if re.match(rf"{jump}[!eq<]*\*?(\+|$)", row["code"])
        ]
        assert table["all", "all", jump].n == len(rows)
        fallen = [
            row
            for row in rows
            if "F" in row["info"].split() and not re.match(rf"{jump}[!eq<]*\*", row["code"])
        ]
        assert table["all", "all", jump].shares["fall"] == pytest.approx(len(fallen) / len(rows))
        short = [row for row in rows if re.match(rf"{jump}[!e]?<(?![<*])", row["code"]) and row not in fallen]
        assert table["all", "all", jump].shares["<"] == pytest.approx(len(short) / len(rows))


def test_all_levels_are_the_levels_together() -> None:
    table = table_of(one for sheet in sample() for one in first_jumps(sheet))
    for (level, discipline, jump), row in table.items():
        if level == discipline == "all":
            parts = [table[key] for key in table if key[2] == jump and "all" not in key[:2]]
            assert row.n == sum(part.n for part in parts)
            for kind in KINDS:
                assert row.shares[kind] * row.n == pytest.approx(sum(p.shares[kind] * p.n for p in parts))


def test_a_row_survives_being_written() -> None:
    table = table_of(one for sheet in sample() for one in first_jumps(sheet))
    row = table["senior", "women", "3Lz"]
    again = from_text(as_text(row))
    assert again.n == row.n
    assert again.shares == pytest.approx(row.shares, abs=1e-3)
    assert again.grades == pytest.approx({k: v for k, v in row.grades.items() if k != "invalid"}, abs=1e-3)


def test_the_shipped_table_holds_more_than_the_shipped_sheets() -> None:
    """The sample is part of what the table was counted from: no key may show fewer jumps."""
    sample_table, shipped = table_of(one for sheet in sample() for one in first_jumps(sheet)), shipped_table()
    for key, row in sample_table.items():
        if key[2][0] != "0":
            assert shipped[key].n >= row.n


def test_tails_counted_by_hand() -> None:
    """3Lz+3T< behind a good landing, 3Fq+2T behind a poor one; Euler, downgrade and singles are left out."""
    codes = ("3Lz+3T<", "3Fq+2T", "2A+1Eu+3S", "3F<<+2T", "3Lz", "2Lz+2T", "3Lo!+1T", "CCoSp4")
    elements = [{"code": code, "info": "", "judges": [1]} for code in codes]
    found = [(one.turns, one.poor, one.end) for one in second_jumps({"elements": elements})]
    assert found == [(3, False, "<"), (2, True, "clean")]


def script() -> ModuleType:
    path = ROOT / "scripts" / "calibrate"
    spec = spec_from_loader("calibrate", SourceFileLoader("calibrate", str(path)))
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_script_writes_the_tables_the_priors_read(tmp_path: Path) -> None:
    calibrate = script()
    calibrate.write_tables(sample(), tmp_path)
    with (tmp_path / "first-jumps.csv").open(encoding="utf-8", newline="") as file:
        rows = {
            (row["level"], row["discipline"], row["jump"]): from_text(row) for row in csv.DictReader(file)
        }
    expected = table_of(one for sheet in sample() for one in first_jumps(sheet))
    assert {key: row.n for key, row in rows.items()} == {
        k: r.n for k, r in expected.items() if k[2][0] != "0"
    }
    assert (tmp_path / "tails.csv").read_text().startswith("turns,landing,n,p_q,p_<,p_<<,p_fall\n")


def test_the_script_says_what_it_needs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    calibrate = script()
    assert calibrate.main([str(tmp_path / "none")]) == 2
    assert "expected JSON lines" in capsys.readouterr().err
    nameless = tmp_path / "sheets.jsonl"
    nameless.write_text(json.dumps({key: value for key, value in sample()[0].items() if key != "event"}))
    assert calibrate.main([str(nameless)]) == 2
    assert "without event" in capsys.readouterr().err


def test_the_report_holds_no_event_and_a_picture_of_ten_parts(tmp_path: Path) -> None:
    calibrate = script()
    rows = cross_validated(sample(), 3, calibrate.BLENDS)
    text, picture = calibrate.report(rows, "picture.svg"), calibrate.drawing(rows)
    assert not re.search(r"\be[0-8]\b", text.replace("`e`", ""))  # our invented event names
    assert picture.count("<circle") == 20
    assert text.count("\n| 1 |") >= 3

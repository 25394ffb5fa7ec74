"""A season is started from the one before: it loads, plays by the same rules, and says it is not checked."""

from __future__ import annotations

import shutil
from importlib.machinery import SourceFileLoader
from importlib.util import module_from_spec, spec_from_loader
from pathlib import Path
from types import ModuleType

import pytest

from app.rulebook.editions import DATA, load_all

SCRIPT = Path(__file__).resolve().parents[2] / "scripts" / "new_edition"


def script() -> ModuleType:
    spec = spec_from_loader("new_edition", SourceFileLoader("new_edition", str(SCRIPT)))
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def data(tmp_path: Path) -> Path:
    return Path(shutil.copytree(DATA, tmp_path / "data"))


def test_a_new_season_inherits_and_is_marked(data: Path) -> None:
    assert script().main(["isu/2027-28", "--from", "isu/2026-27"], data) == 0
    editions = load_all(data)
    new, old = editions["isu/2027-28/senior/women/free"], editions["isu/2026-27/senior/women/free"]
    assert new.boxes == old.boxes
    assert new.values.value("3Lz") == old.values.value("3Lz")
    # Read for 2026/27 (the value table), but nobody has read it for 2027/28.
    assert old.rules.values.certainty == "read"
    assert new.rules.values.certainty == "inferred"
    assert "not yet checked for 2027/28" in new.rules.boxes.note


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["isu/2026-27", "--from", "isu/2025-26"], "exists already"),
        (["isu/next", "--from", "isu/2026-27"], "expected federation/season"),
        (["isu/2027-28", "--from", "isu/1999-00"], "no rule files"),
    ],
)
def test_nothing_is_overwritten_or_guessed(
    data: Path, arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = sorted(path.name for path in data.rglob("*"))
    assert script().main(arguments, data) == 2
    assert said in capsys.readouterr().err
    assert sorted(path.name for path in data.rglob("*")) == before

"""Rule files to rules: layers, inheritance, strict checks.

A rule file holds tables under layers: `[common.boxes]`, then `[senior.falls]` or `[women.components]`,
then `[senior-women.short]`; the most particular layer wins, a table is taken whole so that its source
belongs to all of it. A file `based_on` another inherits what it does not state, at no more certainty
than `inherited_certainty`. The loader is the only module of the engine that opens files.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from app.domain.rulings import CERTAINTIES, Certainty
from app.errors import RulebookError
from app.rulebook.schema import Rules
from app.rulebook.table import Table

RawTables = dict[str, dict[str, Any]]


class FileHead(Table):
    """The `[file]` table of a rule file."""

    title: str
    issuer: str = "ISU"
    level_words: str = ""
    """The level as people write it, where its name with spaces would not do: "STAR 6", "cubs B"."""
    editions: tuple[str, ...]
    based_on: str = ""
    inherited_certainty: Certainty = "inferred"
    inherited_note: str = ""


Head = TypeVar("Head", bound=FileHead)


@dataclass(frozen=True, slots=True)
class RuleFile:
    """One rule file as read: its head and its layers of raw tables."""

    path: Path
    key: str
    head: FileHead
    layers: dict[str, RawTables]


@dataclass(frozen=True, slots=True)
class LoadedRules:
    """The rules of one edition and the file they came from."""

    name: str
    head: FileHead
    rules: Rules


def load_rules(folder: Path) -> Iterator[LoadedRules]:
    """Every edition under `folder` (`data/rules`). Raises RulebookError naming file, table and row."""
    files = {file.key: file for file in (_read(folder, path) for path in sorted(folder.rglob("*.toml")))}
    # Bases before their heirs, so that a fault is named where it stands.
    for file in sorted(files.values(), key=lambda file: bool(file.head.based_on)):
        season = file.key.rsplit("/", 1)[0]
        for edition in file.head.editions:
            tables = _tables(files, file, edition)
            rules = _check(file, edition, tables)
            yield LoadedRules(f"{season}/{edition}", file.head, rules)


def _read(folder: Path, path: Path) -> RuleFile:
    key = path.relative_to(folder).with_suffix("").as_posix()
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise RulebookError(f"{key}.toml", f"not UTF-8 text ({error.reason}); save it as UTF-8") from None
    try:
        head, layers = read_text(text, f"{key}.toml", f"{key}.toml", FileHead)
    except RecursionError:
        raise RulebookError(
            f"{key}.toml", "tables within tables without end; expected layers of tables"
        ) from None
    return RuleFile(path, key, head, layers)


def read_text(text: str, file: str, where: str, kind: type[Head]) -> tuple[Head, dict[str, RawTables]]:
    """Head and layers of a rule file's text; `where` names it in what is said about a table.

    Raises RulebookError naming file, table and row.
    """
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise RulebookError(file, f"not valid TOML: {error}") from None
    try:
        head = kind.model_validate(raw.pop("file", {}))
    except ValidationError as error:
        raise RulebookError(f"{where}, table file", first_fault(error)) from None
    for edition in head.editions:
        if len(edition.split("/")) != 3 or not all(edition.split("/")):
            raise RulebookError(
                f"{where}, table file", f"edition {edition!r}; expected level/discipline/segment"
            )
    _check_layers(where, head, raw)
    return head, raw


def _check_layers(where: str, head: FileHead, raw: dict[str, Any]) -> None:
    allowed = {part for edition in head.editions for part in layer_names(edition)}
    for layer, tables in raw.items():
        if layer not in allowed:
            raise RulebookError(
                f"{where}, table {layer}", f"unknown layer; expected one of {', '.join(sorted(allowed))}"
            )
        if not isinstance(tables, dict):
            raise RulebookError(f"{where}, table {layer}", f"{tables!r} given; expected a layer of tables")
        for name, table in tables.items():
            if not isinstance(table, dict):
                raise RulebookError(
                    f"{where}, table {name}", f"{table!r} given in layer {layer}; expected a table"
                )


def layer_names(edition: str) -> list[str]:
    """Layers of `senior/women/free`, from common to particular."""
    level, discipline, _ = edition.split("/")
    return ["common", level, discipline, f"{level}-{discipline}"]


def _tables(
    files: dict[str, RuleFile], file: RuleFile, edition: str, behind: tuple[str, ...] = ()
) -> RawTables:
    inherited: RawTables = {}
    if file.key in behind:
        ring = " -> ".join((*behind, file.key))
        raise RulebookError(f"{file.key}.toml, table file", f"based_on goes round in a ring: {ring}")
    if file.head.based_on:
        if file.head.based_on not in files:
            raise RulebookError(
                f"{file.key}.toml, table file", f"based_on {file.head.based_on!r} is no rule file"
            )
        base = _tables(files, files[file.head.based_on], edition, (*behind, file.key))
        inherited = {name: _weaken(table, file.head) for name, table in base.items()}
    own: RawTables = {}
    for layer in layer_names(edition):
        own.update(file.layers.get(layer, {}))
    switches = {**inherited.get("switches", {}), **own.get("switches", {})}
    return {**inherited, **own, **({"switches": switches} if switches else {})}


def _weaken(table: dict[str, Any], head: FileHead) -> dict[str, Any]:
    """An inherited table is no surer than the file that inherits it says."""
    if "certainty" not in table or table["certainty"] not in CERTAINTIES:
        return table
    weaker = max(table["certainty"], head.inherited_certainty, key=CERTAINTIES.index)
    note = " ".join(part for part in (table.get("note", ""), head.inherited_note) if part)
    return {**table, "certainty": weaker, "note": note}


def _check(file: RuleFile, edition: str, tables: RawTables) -> Rules:
    try:
        return Rules.model_validate(tables)
    except ValidationError as error:
        raise RulebookError(f"{file.key}.toml, edition {edition}", first_fault(error)) from None


def first_fault(error: ValidationError) -> str:
    """The first fault in words: table, row, what was given, what was expected."""
    # A misspelt key also makes the right one missing: the slip is what helps.
    fault = min(error.errors(), key=lambda one: one["type"] != "extra_forbidden")
    place = [str(part) for part in fault["loc"]]
    table = place[0] if place else "the whole edition"
    row = ".".join(place[1:])
    what = {"extra_forbidden": "unknown key", "missing": "missing"}.get(fault["type"], fault["msg"])
    given = "" if fault["type"] == "missing" else f" (given: {str(fault['input'])[:60]!r})"
    return f"table {table}{', row ' + row if row else ''}: {what}{given}"

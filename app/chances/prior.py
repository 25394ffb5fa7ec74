"""Population priors: what became of first jumps on official sheets, pops, and published odds.

Sources stand in `data/priors/README.md` and in the files. A small sample leans on the wider one: the row
of level and discipline is blended with the row above it by pseudo-counts.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from app.chances.jump_table import ALL, KINDS, JumpRow, JumpTable, from_text
from app.errors import RulebookError
from app.rulebook.editions import OWN, edition as rulebook

FOLDER = Path(__file__).resolve().parents[2] / "data" / "priors"
CATEGORIES = tuple(kind for kind in KINDS if kind != "invalid")
"""Exclusive ends of a first jump that has a value, as in `jump_table`."""
LADDER = (("{level}", "{discipline}"), ("{level}", "all"), ("all", "{discipline}"), ("all", "all"))
BLEND = 40.0
"""Attempts of the wider sample that a row is blended with."""
TAIL_CALLS = ("q", "<", "<<", "fall")
USUAL_GRADES = {
    "clean": 0.0,
    "neg": -2.0,
    "!": -1.0,
    "e": -2.0,
    "q": -2.0,
    "<": -3.0,
    "<<": -4.0,
    "fall": -5.0,
}
"""Where no sheet has any: the handbook's usual reductions."""
ENOUGH = 20
"""Fewer attempts than this on all sheets together: there is no prior for the jump."""


@dataclass(frozen=True, slots=True)
class JumpPrior:
    """Shares of the fates of a first jump (summing to 1, pops apart) and the mean grade of each."""

    name: str
    shares: Mapping[str, float]
    grades: Mapping[str, float]
    pop: float
    """Share of attempts popped."""
    seen: int
    """First jumps of this name on all sheets."""


@lru_cache(maxsize=1)
def shipped_table() -> JumpTable:
    """The table of `data/priors/first-jumps.csv`."""
    with (FOLDER / "first-jumps.csv").open(encoding="utf-8", newline="") as file:
        return {
            (row["level"], row["discipline"], row["jump"]): from_text(row) for row in csv.DictReader(file)
        }


@lru_cache(maxsize=1)
def _tails() -> dict[tuple[int, bool], dict[str, float]]:
    with (FOLDER / "tails.csv").open(encoding="utf-8", newline="") as file:
        return {
            (int(row["turns"]), row["landing"] == "called"): {
                kind: float(row[f"p_{kind}"]) for kind in TAIL_CALLS
            }
            for row in csv.DictReader(file)
        }


def tail_calls(turns: int, poor: bool) -> dict[str, float]:
    """Shares of TAIL_CALLS of a tail that was tried, after a good or a `poor` landing; the rest is uncalled."""
    return _tails()[min(max(turns, 2), 3), poor]


@lru_cache(maxsize=1)
def _pops() -> dict[tuple[str, str], float]:
    with (FOLDER / "pops.csv").open(encoding="utf-8", newline="") as file:
        return {(row["discipline"], row["takeoff"]): float(row["share"]) for row in csv.DictReader(file)}


@lru_cache(maxsize=1)
def _habits() -> dict[str, float]:
    with (FOLDER / "habits.csv").open(encoding="utf-8", newline="") as file:
        return {row["name"]: float(row["value"]) for row in csv.DictReader(file)}


def habit(name: str) -> float:
    """A figure of common practice without a source, by name. Raises RulebookError for an unknown one."""
    try:
        return _habits()[name]
    except KeyError:
        raise RulebookError("data/priors/habits.csv", f"no row {name!r}") from None


@dataclass(frozen=True, slots=True)
class Published:
    """An odds ratio of `of` (`clean` or `major failure`) with its 95 % interval, and the sample behind it."""

    of: str
    odds: float
    low: float
    high: float
    sample: str

    @property
    def established(self) -> bool:
        """Whether the interval leaves out 1, that is, no change at all."""
        return not self.low <= 1 <= self.high


@lru_cache(maxsize=1)
def _published() -> dict[tuple[str, str], Published]:
    with (FOLDER / "adjustments.csv").open(encoding="utf-8", newline="") as file:
        return {
            (row["name"], row["discipline"]): Published(
                row["of"], float(row["odds"]), float(row["low"]), float(row["high"]), row["sample"]
            )
            for row in csv.DictReader(file)
        }


def published(name: str, discipline: str) -> Published:
    """The published odds `after fall` or `second half`; women's, the less sure ones, where both skate together."""
    return _published().get((name, discipline)) or _published()[name, "women"]


WITH_SHEETS = ("senior", "junior", "novice")
CALLED = {"girls": "women", "boys": "men"}
"""How the sheets call the fields of young skaters."""


def level_and_discipline(edition: str) -> tuple[str, str]:
    """The level and discipline of the sheets that stand for a rulebook: `isu/…/junior/men/free` -> junior, men.

    Levels without sheets of their own lean on novice, the youngest there are: common practice, no source.
    """
    federation, _, level, discipline, _ = edition.split("/")
    if federation == OWN:
        level = rulebook(edition).level
    return level if level in WITH_SHEETS else "novice", CALLED.get(discipline, discipline)


def jump_prior(
    level: str, discipline: str, jump: str, table: JumpTable | None = None, blend: float = BLEND
) -> JumpPrior | None:
    """The prior of one first jump (`3Lz`) from a table (the shipped one); None where too few were seen anywhere."""
    table = shipped_table() if table is None else table
    widest = table.get((ALL, ALL, jump))
    if widest is None or widest.n < ENOUGH:
        return None
    shares, grades = _valued(widest), {**USUAL_GRADES, **widest.grades}
    for pattern in reversed(LADDER[:-1]):
        row = table.get((pattern[0].format(level=level), pattern[1].format(discipline=discipline), jump))
        if row is None or row.shares["invalid"] == 1:
            continue
        own, seen = _valued(row), row.n * (1 - row.shares["invalid"])
        shares = {c: (seen * own[c] + blend * shares[c]) / (seen + blend) for c in CATEGORIES}
        grades = {**grades, **row.grades}
    return JumpPrior(jump, shares, grades, _pop(discipline, jump), widest.n)


def _pop(discipline: str, jump: str) -> float:
    """Singles are not popped; Axels and the rest by take-off."""
    takeoff = jump[1:]
    if jump[0] == "1":
        return 0.0
    found = [share for (d, t), share in _pops().items() if t == takeoff and discipline in (d, "all")]
    return sum(found) / len(found) if found else 0.0


def _valued(row: JumpRow) -> dict[str, float]:
    """Shares of the ends, jumps without value left out, summing to 1."""
    total = 1 - row.shares["invalid"]
    return {category: row.shares[category] / total for category in CATEGORIES}

"""Do the priors hold on sheets they were not made from? Folds that share no event, Brier scores, reliability.

Brier score (1950): the mean over attempts of the squared distances between forecast and outcome, summed over the ends;
0 is perfect, 2 the worst. Reliability: attempts sorted by forecast, cut into ten parts of equal size; in each the mean
forecast beside the share that came true, with Wilson's 90 % interval. They are sorted by the mean forecast of their
kind (level, discipline, jump): within a kind only the fold differs, and the fold in which a jump went badly is forecast
from those in which it went well, so sorting by the single forecast would find a fault that is none. Attempts of
one event hang together, so the intervals are somewhat too narrow.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from app.chances.jump_table import JumpTable, Seen, first_jumps, table_of
from app.chances.prior import BLEND, CATEGORIES, jump_prior
from app.chances.record import Estimate, wilson

Forecast = Mapping[str, float]
"""Chance of every end, summing to 1."""
Model = Callable[[str, str, str], Forecast | None]
"""Level, discipline and jump to a forecast; None: not enough data."""


@dataclass(frozen=True, slots=True)
class Checked:
    """One first jump of a left-out event: what happened, and what each model, by name, had said."""

    event: str
    seen: Seen
    forecasts: Mapping[str, Forecast]


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a reliability table: attempts, mean forecast, and the share that came true."""

    n: int
    forecast: float
    observed: Estimate


def folds(events: Iterable[str], parts: int) -> list[frozenset[str]]:
    """Events dealt into `parts` folds of much the same number of sheets; each event is in exactly one.

    `events` is one name a sheet. The same names always give the same folds.
    """
    dealt: list[set[str]] = [set() for _ in range(parts)]
    sizes = [0] * parts
    for event, sheets in sorted(Counter(events).items(), key=lambda item: (-item[1], item[0])):
        smallest = sizes.index(min(sizes))
        dealt[smallest].add(event)
        sizes[smallest] += sheets
    return [frozenset(fold) for fold in dealt]


def cross_validated(
    sheets: Sequence[Mapping[str, Any]], parts: int, blends: Sequence[float] = (BLEND,)
) -> list[Checked]:
    """Every first jump of every ISU sheet as forecast from the sheets of other events.

    Models: `prior <blend>` (the app's own way) for each blend, `level` (the plain average of all first jumps of the
    level), `level and discipline`. Jumps without value, and jumps the prior has not enough data on, are left out.
    """
    found: list[Checked] = []
    for fold in folds((sheet["event"] for sheet in sheets if sheet["rules"] == "isu"), parts):
        kept = [one for sheet in sheets if sheet.get("event") not in fold for one in first_jumps(sheet)]
        models = models_of(kept, blends)
        for sheet in sheets:
            if sheet["rules"] == "isu" and sheet["event"] in fold:
                found += [
                    Checked(sheet["event"], one, said)
                    for one in first_jumps(sheet)
                    if one.end != "invalid" and (said := _forecasts(models, one)) is not None
                ]
    return found


def models_of(seen: Sequence[Seen], blends: Sequence[float]) -> dict[str, Model]:
    """The models fitted to what was seen."""
    table = table_of(seen)
    models = {f"prior {blend:g}": _prior(table, blend) for blend in blends}
    models["level"] = _average(seen, lambda level, discipline: (level,))
    models["level and discipline"] = _average(seen, lambda level, discipline: (level, discipline))
    return models


def _prior(table: JumpTable, blend: float) -> Model:
    def forecast(level: str, discipline: str, jump: str) -> Forecast | None:
        found = jump_prior(level, discipline, jump, table, blend)
        return found.shares if found else None

    return forecast


def _average(seen: Iterable[Seen], group: Callable[[str, str], tuple[str, ...]]) -> Model:
    ends: dict[tuple[str, ...], Counter[str]] = defaultdict(Counter)
    for one in seen:
        if one.end != "invalid":
            ends[group(one.level, one.discipline)][one.end] += 1

    def forecast(level: str, discipline: str, jump: str) -> Forecast | None:
        found = ends.get(group(level, discipline))
        return found and {end: found[end] / found.total() for end in CATEGORIES}

    return forecast


def _forecasts(models: Mapping[str, Model], one: Seen) -> dict[str, Forecast] | None:
    said = {name: model(one.level, one.discipline, one.jump) for name, model in models.items()}
    return {name: forecast for name, forecast in said.items() if forecast} if all(said.values()) else None


def brier(tested: Sequence[Checked], model: str, end: str | None = None) -> float:
    """Brier score of a model over all ends, or of one end against all others (then 0 to 1)."""
    ends = CATEGORIES if end is None else (end,)
    total = sum((one.forecasts[model][kind] - (one.seen.end == kind)) ** 2 for one in tested for kind in ends)
    return total / len(tested)


def _kind(one: Checked) -> tuple[str, str, str]:
    return one.seen.level, one.seen.discipline, one.seen.jump


def reliability(tested: Sequence[Checked], model: str, end: str, parts: int = 10) -> list[Part]:
    """`parts` parts of (nearly) equal size by the mean forecast of one end for the kind of jump, lowest first."""
    kinds: dict[tuple[str, str, str], list[float]] = defaultdict(list)
    for one in tested:
        kinds[_kind(one)].append(one.forecasts[model][end])
    usual = {kind: sum(said) / len(said) for kind, said in kinds.items()}
    rows = sorted(tested, key=lambda one: usual[_kind(one)])
    pairs = [(one.forecasts[model][end], one.seen.end == end) for one in rows]
    cuts = [len(pairs) * place // parts for place in range(parts + 1)]
    found = []
    for start, stop in pairwise(cuts):
        part = pairs[start:stop]
        if part:
            came = sum(happened for _, happened in part) / len(part)
            found.append(Part(len(part), sum(said for said, _ in part) / len(part), wilson(came, len(part))))
    return found

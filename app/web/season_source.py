"""Everything stored that a season page rests on, and the reckoning of it, which takes seconds and runs at the desk."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time
from hashlib import sha256

from app.domain.words import say
from app.errors import InputError
from app.live.program import Setting
from app.live.rehearsal import called_passes
from app.practice.trainer import program_key
from app.review.decisions import Decision
from app.review.official import OfficialSheet, sheet_from_json
from app.review.season.choices import Choice, real_decisions
from app.review.season.forecasts import Forecast, forecasts
from app.review.season.passes import Skated, seen_passes, sheet_passes
from app.review.season.rehearsals import Situation
from app.review.season.units import LostUnit, lost_units
from app.review.season.years import days_of, season_of
from app.storage.records import AttemptRecord, SheetRecord
from app.storage.stores import Stores
from app.web.live_log import sheet_of
from app.web.views.boards import Sheet

Progress = Callable[[float, str], None]
NONE: tuple[tuple[Decision, ...], int] = ((), 0)


@dataclass(frozen=True, slots=True)
class Source:
    """What a season rests on. `programs`: each with its official sheet; `alone`: sheets that belong to no program.

    `rehearsed`: the moment each situation was rehearsed first; `own`: the season's part of the own log.
    """

    programs: tuple[tuple[Sheet, OfficialSheet | None], ...]
    alone: tuple[tuple[SheetRecord, OfficialSheet], ...]
    rehearsed: Mapping[Situation, datetime]
    own: tuple[AttemptRecord, ...]


@dataclass(frozen=True, slots=True)
class Facts:
    """A season worked out. `names`: what each program is called, by its id.

    Left out: `stopped` programs, `unfinished` ones without a sheet, and those whose rulebook refuses a pass.
    """

    programs: tuple[Skated, ...]
    names: Mapping[int, str]
    alone: tuple[Skated, ...]
    lost: tuple[LostUnit, ...]
    rehearsed: Mapping[Situation, datetime]
    choices: tuple[Choice, ...]
    forecasts: tuple[Forecast, ...]
    own: tuple[AttemptRecord, ...]
    stopped: int = 0
    unfinished: int = 0
    refused: int = 0
    unweighed: int = 0
    """Passes after a miss on which something was tried that the planner did not know as an option."""


def seasons_with_programs(stores: Stores, skater_id: int, today: date) -> tuple[str, ...]:
    """Seasons in which a skater has programs or sheets, and the present one; the newest first."""
    moments = [*stores.live.begun(skater_id), *(one.read_at for one in stores.sheets.of_skater(skater_id))]
    return tuple(sorted({season_of(today), *(season_of(one.date()) for one in moments)}, reverse=True))


def mark_of(stores: Stores, skater_id: int, season: str) -> str:
    """A mark that changes with everything the page rests on."""
    lengths = sorted(stores.live.lengths(skater_id).items())
    sheets = [(one.id, one.program_id) for one in stores.sheets.of_skater(skater_id)]
    answers = len(stores.call_outs.of_skater(skater_id))
    own = sum(one.count for one in stores.attempts.of_skater(skater_id))
    drills = len(stores.drills.of_skater(skater_id))
    said = repr((skater_id, season, lengths, sheets, answers, own, drills, stores.settings.coach()))
    return f"season {sha256(said.encode()).hexdigest()[:32]}"


def gather(stores: Stores, skater_id: int, season: str) -> Source:
    """Everything of one season, read once."""
    first, after = days_of(season)
    start, end = (datetime.combine(day, time(), UTC) for day in (first, after))
    kept = stores.sheets.of_skater(skater_id)
    of_program = {one.program_id: one for one in kept if one.program_id is not None}
    between = stores.live.between(skater_id, start, end)
    # A failure called in a rehearsal is no miss of the skater's own.
    programs = [sheet_of(stores, one.id) for one in between if one.rehearsal is None]
    alone = [one for one in kept if one.program_id is None and start <= one.read_at < end]
    return Source(
        programs=tuple((one, _official(of_program.get(one.record.id))) for one in programs),
        alone=tuple((one, sheet_from_json(one.sheet)) for one in alone),
        rehearsed=rehearsed_first(stores, skater_id),
        own=tuple(one for one in stores.attempts.of_skater(skater_id, since=first) if one.day < after),
    )


def rehearsed_first(stores: Stores, skater_id: int) -> dict[Situation, datetime]:
    """The moment each situation was rehearsed first: asked in the call-out trainer, called or drilled on the ice.

    A drill knows its day alone; it counts from the day's end.
    """
    asked = [
        ((one.program, one.number, one.kind, one.jump), one.answered_at)
        for one in stores.call_outs.of_skater(skater_id)
    ]
    drilled = [
        ((one.program, one.number, one.failure, one.jump), datetime.combine(one.day, time.max, UTC))
        for one in stores.drills.of_skater(skater_id)
    ]
    found: dict[Situation, datetime] = {}
    for situation, moment in (*asked, *drilled, *_called_on_the_ice(stores, skater_id)):
        found[situation] = min(moment, found.get(situation, moment))
    return found


def _called_on_the_ice(stores: Stores, skater_id: int) -> Iterator[tuple[Situation, datetime]]:
    """Failures that were called in rehearsals and done as called."""
    for record in stores.live.rehearsals(skater_id):
        state = sheet_of(stores, record.id).state
        key = program_key(replace(state.plan, edition=record.edition))
        for one in called_passes(state):
            if one.as_called:
                yield (key, one.number, one.failure.failure, one.failure.jump), record.started_at


def work(source: Source, progress: Progress) -> Facts:
    """The season in numbers. Programs that cannot count are left out and counted."""
    facts = Facts((), {}, _alone(source), (), source.rehearsed, (), (), source.own)
    for place, (live, official) in enumerate(source.programs):
        progress(
            place / max(len(source.programs), 1),
            say("Program %(place)s of %(count)s", place=place + 1, count=len(source.programs)),
        )
        facts = _with(facts, live, official)
    return facts


def _alone(source: Source) -> tuple[Skated, ...]:
    return tuple(
        Skated(0, one.read_at, Setting.COMPETITION, "", sheet_passes(official), judged=True)
        for one, official in source.alone
    )


def _with(facts: Facts, live: Sheet, official: OfficialSheet | None) -> Facts:
    state = live.state
    if state.stopped:
        return replace(facts, stopped=facts.stopped + 1)
    if not state.finished and official is None:
        begun = bool(state.logged or state.undecided)
        return replace(facts, unfinished=facts.unfinished + begun)
    record, elements = live.record, live.elements
    # A rulebook that was changed since is asked for by its fingerprint; the trainer knows it by its name.
    key = program_key(replace(state.plan, edition=record.edition))
    try:
        seen = seen_passes(live.edition, state, official)
        asked = (
            real_decisions(state, elements.offered, elements.known, live.limits) if state.finished else NONE
        )
    except InputError:
        return replace(facts, refused=facts.refused + 1)
    decided, unweighed = asked
    skated = Skated(record.id, record.started_at, state.plan.setting, key, seen, official is not None)
    return replace(
        facts,
        programs=(*facts.programs, skated),
        names={**facts.names, record.id: record.event or record.layout_name},
        lost=(*facts.lost, *lost_units(skated)),
        unweighed=facts.unweighed + unweighed,
        choices=(*facts.choices, *(Choice(record.id, skated.at, skated.setting, one) for one in decided)),
        forecasts=(*facts.forecasts, *forecasts(state, elements.known, live.limits, skated.at)),
    )


def _official(record: SheetRecord | None) -> OfficialSheet | None:
    return None if record is None else sheet_from_json(record.sheet)

"""From stored records to the values the live program and the drawing work with."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from app import engine
from app.chances.outcomes import Chances, chances
from app.chances.prior import level_and_discipline
from app.chances.record import Estimate
from app.domain.notation import parse_jump_element
from app.live.entries import gathered
from app.live.events import Author, Stamped, from_record as event_from_record
from app.live.program import KnownElement, Limits, Outcome, Plan, PlannedPass, Setting
from app.live.warm_up import chosen_letter
from app.practice.counts import for_programs
from app.rulebook.editions import Edition
from app.settings import CoachSettings
from app.storage.records import LayoutItem, LayoutRecord, LiveProgramRecord, LoggedEvent, TrainedRecord
from app.web.drawing import Mark

USUAL_EDITION = "isu/2026-27/senior/women/free"
"""For a skater without a layout."""


def plan_of(record: LiveProgramRecord, edition: Edition) -> Plan:
    """The plan a live program started from."""
    return Plan(
        edition=engine.pinned(record.edition, record.fingerprint),
        setting=Setting(record.kind),
        occasion=record.event,
        passes=passes_of(record.items, edition),
        allowed_before=record.advice_confirmed_at is not None,
        seconds=edition.rules.programme.seconds,
        tolerance=edition.rules.programme.tolerance,
    )


def as_chosen(record: LiveProgramRecord, log: Iterable[LoggedEvent]) -> LiveProgramRecord:
    """The program with the layout that was chosen in the warm-up; as it is where nothing was chosen."""
    letter = chosen_letter(events_of(log)) if record.variants else ""
    chosen = next((one for one in record.variants if one.letter == letter), None)
    if chosen is None:
        return record
    return replace(
        record,
        items=chosen.items,
        layout_name=chosen.name,
        layout_id=chosen.layout_id,
        fingerprint=chosen.fingerprint,
    )


def passes_of(items: Iterable[LayoutItem], edition: Edition) -> tuple[PlannedPass, ...]:
    """The jump passes of a layout, with whether each is late under this edition."""
    return tuple(
        PlannedPass(
            item.code,
            item.start,
            item.start >= edition.half_way_seconds,
            item.options,
            item.entry,
            item.slack,
        )
        for item in items
        if item.kind == "jump"
    )


def marks_of(items: Iterable[LayoutItem]) -> tuple[Mark, ...]:
    """Spins and steps for the drawing."""
    return tuple(
        Mark(item.start, item.code, item.kind == "spin" or item.code.startswith("ChSp"))
        for item in items
        if item.kind != "jump"
    )


def known_of(records: Sequence[TrainedRecord], edition: str) -> dict[str, KnownElement]:
    """The skater's elements by code; of several entries to one element the most practised stands first.

    `edition` is the rulebook they are skated under: its level and discipline choose the prior of the chances.
    """
    found: dict[str, list[KnownElement]] = {}
    for record in records:
        found.setdefault(record.code, []).append(element_of(record, edition))
    return {code: gathered(entries) for code, entries in found.items()}


def element_of(record: TrainedRecord, edition: str) -> KnownElement:
    """One element of the skater's log; where no chances were entered, they come from the log and the prior."""
    outcomes = tuple(
        Outcome(one.becomes, one.chance, one.goe, one.fall, one.error) for one in record.outcomes
    )
    outcomes = outcomes or _reckoned(record, edition)
    return KnownElement(
        record.code,
        record.ready,
        record.attempts,
        record.landed,
        record.last_logged,
        outcomes,
        record.cue,
        record.entry,
    )


def _reckoned(record: TrainedRecord, edition: str) -> tuple[Outcome, ...]:
    """Chances from attempts and landings, shrunk to the population; empty: not enough data."""
    found = _chances(record, edition)
    fates = found.fates if found else ()
    return tuple(Outcome(one.becomes, one.chance, one.grade, one.fall, one.error) for one in fates)


def landing_of(record: TrainedRecord, edition: str) -> Estimate | None:
    """How often an element is reckoned to land as tried, with a central 90 % range; None: not enough data.

    A pairing that was never tried has none: no rate of others says how a skater adds a tail.
    """
    if not record.attempts and len(parse_jump_element(record.code).jumps) > 1:
        return None
    found = _chances(record, edition)
    return found.landing if found else None


def _chances(record: TrainedRecord, edition: str) -> Chances | None:
    return chances(*level_and_discipline(edition), record.code, for_programs(record).record)


def usual_edition(layouts: Sequence[LayoutRecord]) -> str:
    """The rulebook a skater is usually skated under: that of the first layout, else the newest usual one."""
    return layouts[0].edition if layouts else USUAL_EDITION


def second_half_odds(coach: CoachSettings, edition: str) -> bool:
    """Whether a program under this rulebook reckons with the second half's odds; no sample covers mixed fields."""
    chosen = {"women": coach.second_half_odds_women, "men": coach.second_half_odds_men}
    return chosen.get(edition.split("/")[3], False)


def limits_of(coach: CoachSettings, edition: str = USUAL_EDITION) -> Limits:
    """The coach's settings as a program under this rulebook reads them."""
    return Limits(
        threshold=coach.threshold,
        most_changes=coach.most_changes,
        harder_after_fall=coach.harder_after_fall,
        trained_attempts=coach.trained_attempts,
        trained_within_days=coach.trained_within_days,
        after_fall_odds=coach.after_fall_odds,
        second_half_odds=second_half_odds(coach, edition),
    )


def program_limits(record: LiveProgramRecord, coach: CoachSettings) -> Limits:
    """The limits of one live program: those kept at its start, and what counts as trained."""
    return Limits(
        threshold=record.threshold,
        most_changes=record.most_changes,
        harder_after_fall=record.harder_after_fall,
        trained_attempts=coach.trained_attempts,
        trained_within_days=coach.trained_within_days,
        after_fall_odds=record.after_fall_odds,
        second_half_odds=record.second_half_odds,
    )


def events_of(log: Iterable[LoggedEvent]) -> tuple[Stamped, ...]:
    """The log as events, in order of arrival."""
    return tuple(stamped_of(entry) for entry in log)


def stamped_of(entry: LoggedEvent) -> Stamped:
    """One entry of the log as an event."""
    return Stamped(
        entry.id,
        entry.at.timestamp(),
        Author(entry.author, entry.device, entry.role),
        event_from_record(entry.kind, entry.payload),
    )

"""Rows to records and records to rows: the only translation between tables and frozen values."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, fields
from datetime import date
from typing import Any, cast

from app.live.rehearsal import Callable, Rehearsal
from app.storage import tables
from app.storage.records import (
    AttemptRecord,
    CallOutRecord,
    DayRecord,
    DeviceRecord,
    DrillRecord,
    LayoutItem,
    LayoutRecord,
    LiveProgramRecord,
    LogCounts,
    LoggedEvent,
    OutcomeRecord,
    ProgramKind,
    Role,
    SkaterRecord,
    StartMark,
    StartRecord,
    TrainedRecord,
    VariantRecord,
)


def stored_id(value: int | None) -> int:
    """The key of a row that has been written."""
    assert value is not None, "row has not been written yet"
    return value


def skater(row: tables.Skater) -> SkaterRecord:
    """A skater."""
    return SkaterRecord(stored_id(row.id), row.name, row.invented)


def outcomes(items: Sequence[Mapping[str, Any]]) -> tuple[OutcomeRecord, ...]:
    """Outcomes from their JSON form."""
    return tuple(OutcomeRecord(**item) for item in items)


def attempt(row: tables.Attempt) -> AttemptRecord:
    """One line of the log."""
    return AttemptRecord(**{one.name: getattr(row, one.name) for one in fields(AttemptRecord)})


def call_out(row: tables.CallOut) -> CallOutRecord:
    """One answer in the call-out trainer."""
    return CallOutRecord(**{one.name: getattr(row, one.name) for one in fields(CallOutRecord)})


def drill(row: tables.Drill) -> DrillRecord:
    """The easy jumps of one drill."""
    plain = {one.name: getattr(row, one.name) for one in fields(DrillRecord)}
    return DrillRecord(**plain | {"codes": tuple(row.codes)})


def trained(row: tables.TrainedElement, log: LogCounts | None = None) -> TrainedRecord:
    """A trained element with what its log counts."""
    log = log or LogCounts()
    days = [day for day in (row.last_logged, log.last) if day is not None]
    return TrainedRecord(
        skater_id=row.skater_id,
        code=row.code,
        entry=row.entry,
        ready=row.ready,
        attempts=row.attempts + log.attempts,
        landed=row.landed + log.landed,
        outcomes=outcomes(row.outcomes),
        last_logged=max(days, default=None),
        id=stored_id(row.id),
        cue=row.cue,
        log=log,
    )


def trained_json(record: TrainedRecord) -> dict[str, Any]:
    """A trained element as JSON, for the snapshot in a live program."""
    plain = asdict(record)
    for part in (plain, plain["log"]):
        name = "last" if "last" in part else "last_logged"
        part[name] = part[name] and part[name].isoformat()
    return plain


def trained_from_json(item: Mapping[str, Any]) -> TrainedRecord:
    """The other way; a program started before there was a log has none."""
    last, log = item["last_logged"], dict(item.get("log") or {})
    if log:
        log["last"] = log["last"] and date.fromisoformat(log["last"])
    changed = {
        "outcomes": outcomes(item["outcomes"]),
        "last_logged": last and date.fromisoformat(last),
        "log": LogCounts(**log),
    }
    return TrainedRecord(**(dict(item) | changed))


def items_json(items: Sequence[LayoutItem]) -> list[dict[str, Any]]:
    """The elements of a layout as JSON."""
    return [asdict(item) | {"options": list(item.options)} for item in items]


def items_from_json(items: Sequence[Mapping[str, Any]]) -> tuple[LayoutItem, ...]:
    """The other way."""
    return tuple(LayoutItem(**(dict(item) | {"options": tuple(item["options"])})) for item in items)


def layout(row: tables.Layout) -> LayoutRecord:
    """A layout."""
    return LayoutRecord(
        skater_id=row.skater_id,
        name=row.name,
        edition=row.edition,
        fingerprint=row.fingerprint,
        items=items_from_json(row.items),
        id=stored_id(row.id),
    )


def program(row: tables.LiveProgram) -> LiveProgramRecord:
    """A live program."""
    return LiveProgramRecord(
        skater_id=row.skater_id,
        layout_id=row.layout_id,
        layout_name=row.layout_name,
        edition=row.edition,
        fingerprint=row.fingerprint,
        items=items_from_json(row.items),
        trained=tuple(trained_from_json(item) for item in row.trained),
        kind=cast(ProgramKind, row.kind),
        event=row.event,
        threshold=row.threshold,
        most_changes=row.most_changes,
        harder_after_fall=row.harder_after_fall,
        after_fall_odds=row.after_fall_odds,
        second_half_odds=row.second_half_odds,
        advice_confirmed_at=row.advice_confirmed_at,
        started_at=row.started_at,
        variants=variants_from_json(row.variants),
        rehearsal=rehearsal_from_json(row.rehearsal),
        id=stored_id(row.id),
    )


def variants_json(variants: Sequence[VariantRecord]) -> list[dict[str, Any]]:
    """Agreed layouts as JSON."""
    return [asdict(one) | {"items": items_json(one.items)} for one in variants]


def variants_from_json(variants: Sequence[Mapping[str, Any]]) -> tuple[VariantRecord, ...]:
    """The other way."""
    return tuple(VariantRecord(**(dict(one) | {"items": items_from_json(one["items"])})) for one in variants)


def rehearsal_json(rehearsal: Rehearsal | None) -> dict[str, Any] | None:
    """What a rehearsal may call, as JSON."""
    return None if rehearsal is None else asdict(rehearsal)


def rehearsal_from_json(item: Mapping[str, Any] | None) -> Rehearsal | None:
    """The other way."""
    if item is None:
        return None
    failures = tuple(Callable(**one) for one in item["failures"])
    return Rehearsal(item["seed"], item["most"], failures)


def day(row: tables.Day) -> DayRecord:
    """A competition day."""
    return DayRecord(stored_id(row.id), row.name, cast(ProgramKind, row.kind), row.made_at)


def start(row: tables.DayStart) -> StartRecord:
    """One skater's start."""
    return StartRecord(
        id=stored_id(row.id),
        day_id=row.day_id,
        skater_id=row.skater_id,
        place=row.place,
        layout_ids=tuple(row.layout_ids),
        program_id=row.program_id,
        withdrawn=row.withdrawn,
        mark=cast(StartMark, row.mark),
    )


def event(row: tables.LiveEvent) -> LoggedEvent:
    """One entry of the log."""
    return LoggedEvent(
        id=row.id,
        program_id=row.program_id,
        seq=row.seq,
        at=row.at,
        author=row.author,
        kind=row.kind,
        payload=row.payload,
        device=row.device,
        role=cast(Role, row.role),
        made_at=row.made_at,
    )


def device(row: tables.Device, skater_id: int | None = None) -> DeviceRecord:
    """A paired phone; `skater_id` is whose own it is."""
    role = cast(Role, row.role)
    return DeviceRecord(
        stored_id(row.id),
        row.name,
        row.paired_at,
        row.last_seen,
        row.revoked_at,
        role,
        row.sees_advice,
        skater_id,
    )

"""The invented season of the demo skater: logged programs, official sheets, answers in the trainer; for a real start.

    {"skater": its name, "programs": [{"days_ago", "layout", "kind", "event", "taps", "called"}, …],
     "answers": [{"layout", "days_ago", "number", "kind", "jump", "answer", "right", "seconds", "rating"}, …]}

A tap is what was tried and the button; `called` are the panel's codes of the attempted jumps with their grade. Every
figure of a sheet is made by the engine, so that sheet and rulebook agree. No older practice log is invented: programs
keep the skater's elements with today's counts, last logged the day before.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from app import engine
from app.domain.elements import JumpElement
from app.errors import RulebookError
from app.live.events import PassSkated, to_record
from app.live.pad import tap_of
from app.live.program import Plan, PlannedPass, Setting
from app.practice.trainer import program_key
from app.review.official import Deduction, OfficialSheet, SheetComponent, SheetRow, sheet_json
from app.scoring.components import panel_mean
from app.storage.records import (
    CallOutRecord,
    LayoutRecord,
    LiveProgramRecord,
    LoggedEvent,
    SheetRecord,
    TrainedRecord,
)
from app.storage.stores import Stores

NOON = time(12, tzinfo=UTC)
USUAL_MARK, OTHER_GRADE = 650, 1
"""What the invented judges give for components, in hundredths, and for spins and steps."""
FALL, POOR = -5, -2
"""Grades that stand for a fall, and for an attempt that failed."""


@dataclass(frozen=True, slots=True)
class _Demo:
    """The demo skater as seeded."""

    stores: Stores
    skater_id: int
    layouts: Mapping[str, LayoutRecord]
    trained: Sequence[TrainedRecord]
    today: date


def plant_season(stores: Stores, folder: Path, today: date) -> int:
    """Seed the seasons of `folder` for skaters that are there and have no program yet; how many programs were added.

    Raises RulebookError naming the file.
    """
    added = 0
    for file in sorted(folder.glob("*.json")):
        try:
            said = json.loads(file.read_text(encoding="utf-8"))
            skater = next((one for one in stores.skaters.all() if one.name == said["skater"]), None)
            if skater is not None and not stores.live.recent(skater.id, limit=1):
                added += _plant(_demo(stores, skater.id, today), said)
        except (KeyError, TypeError, ValueError) as error:
            raise RulebookError(f"{folder.name}/{file.name}", f"{type(error).__name__}: {error}") from error
    return added


def _demo(stores: Stores, skater_id: int, today: date) -> _Demo:
    layouts = {one.name: one for one in stores.layouts.of_skater(skater_id)}
    return _Demo(stores, skater_id, layouts, stores.skaters.trained(skater_id), today)


def _plant(demo: _Demo, said: Mapping[str, Any]) -> int:
    for one in said["programs"]:
        record = demo.stores.live.start(_record(demo, one))
        demo.stores.live.fill(logged(record, one["taps"]))
        if "called" in one:
            sheet = sheet_json(_sheet(record, one))
            kept = SheetRecord(
                record.edition, sheet, record.started_at, demo.skater_id, record.id, one["event"]
            )
            demo.stores.sheets.add(kept)
    for number, one in enumerate(said["answers"]):
        demo.stores.call_outs.append(_answer(demo, one, number))
    return len(said["programs"])


def _record(demo: _Demo, one: Mapping[str, Any]) -> LiveProgramRecord:
    layout = demo.layouts[one["layout"]]
    day = demo.today - timedelta(days=one["days_ago"])
    return LiveProgramRecord(
        skater_id=demo.skater_id,
        layout_name=layout.name,
        edition=layout.edition,
        fingerprint=layout.fingerprint,
        items=layout.items,
        trained=tuple(replace(one, last_logged=day - timedelta(days=1)) for one in demo.trained),
        kind=one["kind"],
        started_at=datetime.combine(day, NOON),
        event=one["event"],
        layout_id=layout.id,
    )


def logged(record: LiveProgramRecord, taps: Sequence[str]) -> Iterator[LoggedEvent]:
    """The log of a program whose passes were tapped so. Raises ValueError for a button there is not."""
    for number, said in enumerate(taps, start=1):
        tried, key = said.split()
        tap = tap_of(tried, key)
        if tap is None:
            raise ValueError(f"no button {key!r} for {tried}")
        kind, payload = to_record(PassSkated(number, tried, tap.how, tap.readings))
        at = record.started_at + timedelta(seconds=30 * number)
        yield LoggedEvent(f"demo-{record.id}-{number}", record.id, number, at, "laptop", kind, payload)


def _sheet(record: LiveProgramRecord, one: Mapping[str, Any]) -> OfficialSheet:
    """What a panel might print for the program, from the codes it called."""
    book = engine.edition(record.edition)
    called = iter(one["called"])
    passes = [next(called) if item.kind == "jump" else (item.code, OTHER_GRADE) for item in record.items]
    elements = [
        {
            "code": code,
            "late": item.kind == "jump" and item.start >= book.half_way_seconds,
            "judges": _judges(grade),
            "fall": grade == FALL,
            "error": grade <= POOR,
        }
        for item, (code, grade) in zip(record.items, passes, strict=True)
    ]
    factors = {known.name: round(float(known.factor) * 100) for known in book.rules.components.list}
    marks = [{"name": name, "judges": [USUAL_MARK / 100] * 5} for name in factors]
    falls = sum(grade == FALL for _, grade in passes)
    said = engine.score(
        {"edition": record.edition, "elements": elements, "components": marks, "falls": falls}
    )
    rows = tuple(
        _row(number, line, goe, grade)
        for number, (line, goe, (_, grade)) in enumerate(
            zip(said.lines, said.goes, passes, strict=True), start=1
        )
    )
    mean = panel_mean(book, [Decimal(USUAL_MARK) / 100] * 5)
    return OfficialSheet(
        rows=rows,
        components=tuple(SheetComponent(n, f, (USUAL_MARK,) * 5, mean) for n, f in factors.items()),
        element_score=said.element_score,
        component_score=said.component_score,
        component_sum=said.component_score,
        deductions=said.deductions,
        detail=(Deduction("Falls", said.deductions, falls),) if falls else (),
        total=said.total,
    )


def _judges(grade: int) -> tuple[int, ...]:
    return tuple(FALL if grade == FALL else max(FALL, min(-FALL, grade + off)) for off in (0, 0, 1, 0, -1))


def _row(number: int, line: engine.Line, goe: int, grade: int) -> SheetRow:
    element = engine.parse(line.code)
    info = ["F"] if grade == FALL else []
    if isinstance(element, JumpElement):
        info += [mark for jump in element.jumps for mark in (jump.edge, jump.rotation) if mark]
    words, score = " ".join(dict.fromkeys(info)), line.base_value + goe
    return SheetRow(number, line.code, words, line.base_value, line.credited, goe, _judges(grade), score)


def _answer(demo: _Demo, one: Mapping[str, Any], number: int) -> CallOutRecord:
    layout = demo.layouts[one["layout"]]
    half = engine.edition(layout.edition).half_way_seconds
    passes = tuple(
        PlannedPass(item.code, item.start, item.start >= half) for item in layout.items if item.kind == "jump"
    )
    at = datetime.combine(demo.today - timedelta(days=one["days_ago"]), NOON)
    return CallOutRecord(
        skater_id=demo.skater_id,
        sending=f"demo-{demo.skater_id}-{number}",
        program=program_key(Plan(layout.edition, Setting.RUN_THROUGH, "", passes)),
        number=one["number"],
        kind=one["kind"],
        jump=one["jump"],
        answer=one["answer"],
        right=one["right"],
        seconds=one["seconds"],
        rating=one["rating"],
        answered_at=at,
    )

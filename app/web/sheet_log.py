"""A sheet and the own log: what would be added, what is there already, adding it once, and taking it out again.

Never twice: the sending is named after the live program, so a second sheet of the same program counts as added too; a
sheet without a program is named after what stands on it. Never double: an attempt at the same element that the log
has on that day in competition stands for one row of the sheet, and that row is not offered.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from hashlib import sha256

from app.domain.words import say
from app.errors import InputError
from app.practice.table_dates import read_day
from app.review.official import OfficialSheet
from app.review.own_log import SheetAttempt, attempts_on, could_be_meant, fate_of
from app.storage.records import AttemptRecord, SheetRecord, TrainedRecord
from app.storage.stores import Stores
from app.web.views.boards import Sheet

COMPETITION = "competition"
MOST_DIGITS = 3
"""Digits of a row's number on any sheet."""


@dataclass(frozen=True, slots=True)
class OfferRow:
    """One jump row. `options`: what may have been meant, with how it then ended; the first is chosen.

    `there`: the log has it already; `known`: the live program says what was meant. Without options nothing can be said.
    """

    number: int
    printed: str
    options: tuple[tuple[str, str], ...]
    known: bool
    there: bool = False


@dataclass(frozen=True, slots=True)
class Offer:
    """What a sheet would add. `added`: the sending that did, `count` attempts; `fixed`: the day is the program's."""

    skater_id: int
    skater: str
    day: date
    fixed: bool
    rows: tuple[OfferRow, ...]
    added: str = ""
    count: int = 0


def offer_of(
    stores: Stores, record: SheetRecord, sheet: OfficialSheet, live: Sheet | None, day: date | None = None
) -> Offer | None:
    """What may be added to whose log; None for a sheet that is kept for no skater."""
    skater_id = live.record.skater_id if live else record.skater_id
    if skater_id is None:
        return None
    on = _day(live.record.started_at) if live else day or _day(record.read_at)
    added = _added(stores, skater_id, record)
    log = stores.attempts.of_skater(skater_id, since=on)
    mine = [one for one in log if one.day == on and one.place == COMPETITION and one.sending != added]
    elements = stores.skaters.trained(skater_id)
    attempts = attempts_on(sheet, live.state if live else None)
    return Offer(
        skater_id=skater_id,
        skater=stores.skaters.get(skater_id).name,
        day=on,
        fixed=live is not None,
        rows=_rows(attempts, [one.code for one in elements], _counts(mine)),
        added=added,
        count=sum(one.count for one in log if one.sending == added) if added else 0,
    )


def _day(moment: datetime) -> date:
    """The day on this laptop's own clock."""
    return moment.astimezone().date()


def _counts(log: Sequence[AttemptRecord]) -> Counter[str]:
    found: Counter[str] = Counter()
    for one in log:
        found[one.code] += one.count
    return found


def _rows(
    attempts: Sequence[SheetAttempt], elements: Sequence[str], there: Counter[str]
) -> tuple[OfferRow, ...]:
    """Each row, and whether an attempt in the log stands for it; one attempt stands for one row."""
    found = []
    for one in attempts:
        codes = [one.tried] if one.known else [one.tried, *could_be_meant(one.row, elements)]
        options = [
            (code, fate) for code in dict.fromkeys(codes) if (fate := fate_of(code, one.row)) is not None
        ]
        counted = next((code for code, _ in options if there[code]), "")
        there[counted] -= bool(counted)
        found.append(OfferRow(one.row.number, one.row.code, tuple(options), one.known, bool(counted)))
    return tuple(found)


def add(stores: Stores, offer: Offer, name: str, meant: Mapping[int, str], at: datetime) -> None:
    """Count the rows of `meant` (row number: element); nothing when the sheet has been added already.

    `name`: how its sendings begin. Raises InputError for a row or an element that was not offered, or for none at all.
    """
    if offer.added:
        return
    rows = {one.number: one for one in offer.rows}
    chosen = []
    for number, code in sorted(meant.items()):
        fate = dict(rows[number].options).get(code) if number in rows and not rows[number].there else None
        if fate is None:
            raise InputError(
                say("rows"),
                say(
                    "row %(number)s as %(code)s given; expected one of the rows on the sheet's page",
                    number=number,
                    code=repr(code),
                ),
            )
        chosen.append((code, fate))
    if not chosen:
        raise InputError(say("rows"), say("no row is ticked; tick at least one, or leave the log as it is"))
    trained = stores.skaters.trained(offer.skater_id)
    sending = f"{name}{len(stores.attempts.sendings(offer.skater_id, name)) + 1}"
    attempts = [
        AttemptRecord(
            offer.skater_id, sending, code, entry_of(code, trained), offer.day, COMPETITION, fate, line=line
        )
        for line, (code, fate) in enumerate(chosen)
    ]
    list_elements(stores, offer.skater_id, attempts)
    stores.attempts.append(attempts, at)


def sending_name(record: SheetRecord) -> str:
    """How the sendings of a sheet begin: by its program, else by its skater and what stands on it."""
    if record.program_id is not None:
        return f"sheet-p{record.program_id}-"
    mark = sha256(json.dumps(record.sheet, sort_keys=True).encode()).hexdigest()[:24]
    return f"sheet-{record.skater_id}-{mark}-"


def _added(stores: Stores, skater_id: int, record: SheetRecord) -> str:
    """The sending that added this sheet and still counts; "" for none."""
    sent = stores.attempts.sendings(skater_id, sending_name(record))
    return next((sending for sending, counts in sent.items() if counts), "")


def entry_of(code: str, trained: Sequence[TrainedRecord]) -> str:
    """The entry an element is counted under: the most practised of those it has."""
    mine = [one for one in trained if one.code == code]
    return max(mine, key=lambda one: (one.ready, one.attempts)).entry if mine else ""


def list_elements(stores: Stores, skater_id: int, attempts: Sequence[AttemptRecord]) -> None:
    """Put elements that are new to the skater into the list, not ticked."""
    listed = {(one.code, one.entry) for one in stores.skaters.trained(skater_id)}
    for code, entry in dict.fromkeys((one.code, one.entry) for one in attempts):
        if (code, entry) not in listed:
            stores.skaters.save_trained(TrainedRecord(skater_id, code, entry))


def read_rows(rows: Sequence[int], meant: Sequence[str]) -> dict[int, str]:
    """The ticked rows with the element chosen for each; `meant` says `3 3Lz+3T`. Raises InputError."""
    chosen = {}
    for one in meant:
        number, _, code = one.partition(" ")
        if not (number.isascii() and number.isdigit() and len(number) <= MOST_DIGITS and code):
            raise InputError(
                say("meant"),
                say("%(given)s given; expected the number of a row and an element", given=repr(one[:40])),
            )
        chosen[int(number)] = code
    missing = [number for number in rows if number not in chosen]
    if missing:
        raise InputError(
            say("meant"),
            say("no element given for row %(missing)s; expected one for each ticked row", missing=missing[0]),
        )
    return {number: chosen[number] for number in rows}


def chosen_day(text: str, today: date) -> date | None:
    """The day a form gives; None when it gives none. Raises InputError for a day to come or no day."""
    return read_day(text, today) if text else None

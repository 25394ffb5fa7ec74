"""A tap on its way into the log: who sent it, when it was made, where it goes. Routes ask for it as `TapDep`."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import Annotated, cast

from fastapi import Depends, Form, Request, Response

from app.domain.words import say
from app.errors import InputError
from app.live.broadcast import Hub
from app.live.events import Event, FailureCalled, Ids, to_record
from app.live.fold import LiveState
from app.storage.records import LiveProgramRecord
from app.storage.stores import Stores
from app.web import htmx
from app.web.advisor import Advisor
from app.web.deps import StoresDep, VisitorDep
from app.web.kept_sheets import KeptSheets
from app.web.live_board import show_board
from app.web.rehearsing import AUTHOR, call_id, next_call
from app.web.views.boards import Sheet
from app.web.views.day_place import place_of
from app.web.views.plans import as_chosen
from app.web.visitor import Visitor

SHEETS = KeptSheets()
EVENT_ID = re.compile(r"[!-~]{1,80}")
LONGEST_WAIT = timedelta(days=2)
"""A tap kept on a phone longer than this counts as tapped when it arrived."""


@dataclass(frozen=True)
class Tap:
    """One tap. `at`: when it was made by the laptop's clock; `made_at`: by the device's own, if it said so."""

    request: Request
    stores: Stores
    visitor: Visitor
    program_id: int
    event_id: str
    at: datetime
    made_at: datetime | None
    _read: list[Sheet] = field(default_factory=list, repr=False)
    """The program as it was read last; empty: not yet."""

    @property
    def sheet(self) -> Sheet:
        """The program as it stands, with what this tap has logged."""
        if not self._read:
            self._read.append(sheet_of(self.stores, self.program_id))
        return self._read[-1]

    def read_anew(self) -> None:
        """Something else about the program has changed than its log."""
        self._read.clear()

    @property
    def state(self) -> LiveState:
        """The log, folded."""
        return self.sheet.state

    def log(self, event: Event) -> None:
        """Keep the event, safely on disk when this returns, and tell every screen."""
        name, payload = to_record(event)
        self.stores.live.append(
            self.program_id,
            self.event_id,
            self.at,
            self.visitor.name,
            name,
            payload,
            device=self.visitor.device,
            role=self.visitor.role,
            made_at=self.made_at,
        )
        self._read_on()
        self._call_next()
        hub_of(self.request).news(self.program_id)

    def _read_on(self) -> None:
        """The log grows; all else about the program stays, unless a layout may be chosen by an event."""
        if not self._read or self._read[-1].record.variants:
            self.read_anew()
            return
        before = self._read[-1]
        seen = before.log[-1].seq if before.log else 0
        log = (*before.log, *self.stores.live.events(self.program_id, after=seen))
        self._read[:] = [SHEETS.same(replace(before, log=log, asked=[], written={}))]

    def _call_next(self) -> None:
        """In a rehearsal: call a failure before the pass to come, if the lot falls on one."""
        sheet = self.sheet
        if sheet.record.rehearsal is None:
            return
        called = next_call(sheet, advisor_of(self.request))
        if called is not None:
            keep_call(self.stores, sheet.record, called)
            self._read_on()

    def own(self, ids: Ids) -> Ids:
        """Those of the events that this visitor may take back: a coach all, a logger what this device logged."""
        if self.visitor.is_coach:
            return ids
        return tuple(
            one.id for one in self.state.log if one.id in ids and one.author.device == self.visitor.device
        )

    def answer(self, notice: str = "") -> Response:
        """After a tap: htmx gets the board, a plain browser is sent back to the page (unless there is a notice)."""
        if htmx.is_htmx(self.request) or notice:
            return show_board(self.request, self.sheet, self.visitor, notice)
        return htmx.go_to(self.request, f"/live/{self.program_id}")


def tap_of(
    request: Request,
    stores: Stores,
    visitor: Visitor,
    program_id: int,
    event_id: str,
    made_at: str = "",
    sent_at: str = "",
) -> Tap:
    """The tap of a request. `InputError` for an id that is none."""
    if not EVENT_ID.fullmatch(event_id):
        raise InputError(
            say("event_id"),
            say("given %(given)s; expected 1 to 80 signs without spaces", given=repr(event_id[:80])),
        )
    arrived = datetime.now(UTC)
    made, sent = _moment(made_at), _moment(sent_at)
    return Tap(request, stores, visitor, program_id, event_id, _tapped_at(arrived, made, sent), made)


async def get_tap(
    request: Request,
    stores: StoresDep,
    visitor: VisitorDep,
    program_id: int,
    event_id: Annotated[str, Form()],
    made_at: Annotated[str, Form()] = "",
    sent_at: Annotated[str, Form()] = "",
) -> Tap:
    """The tap of this request, with its form."""
    return tap_of(request, stores, visitor, program_id, event_id, made_at, sent_at)


TapDep = Annotated[Tap, Depends(get_tap)]


def _tapped_at(arrived: datetime, made: datetime | None, sent: datetime | None) -> datetime:
    """When it was tapped by the laptop's clock: the device says how long ago, its own clock may be wrong."""
    if made is None or sent is None or not timedelta(0) <= sent - made <= LONGEST_WAIT:
        return arrived
    return arrived - (sent - made)


def _moment(milliseconds: str) -> datetime | None:
    try:
        return datetime.fromtimestamp(int(milliseconds) / 1000, UTC)
    except (ValueError, OverflowError, OSError):
        return None


def keep_call(stores: Stores, record: LiveProgramRecord, called: FailureCalled) -> None:
    """Keep a call; before one pass it is kept once."""
    name, payload = to_record(called)
    event_id = call_id(record, called.number)
    stores.live.append(record.id, event_id, datetime.now(UTC), AUTHOR, name, payload)


def ids_of(text: str) -> Ids:
    """Ids as a form sends them, separated by spaces."""
    return tuple(name for name in text.split() if EVENT_ID.fullmatch(name))


def sheet_of(stores: Stores, program_id: int) -> Sheet:
    """Everything a live screen needs of the stores. Raises NotStored."""
    record, log = stores.live.program(program_id), stores.live.events(program_id)
    skater = stores.skaters.get(record.skater_id)
    day = place_of(stores, program_id)
    return SHEETS.same(Sheet(as_chosen(record, log), log, skater, stores.settings.coach(), day))


def sheet_unless(stores: Stores, program_id: int, seen: int) -> Sheet | None:
    """The program, unless `seen` is the last entry of its log: as it was read with that entry, or anew."""
    seq, event_id = stores.live.latest(program_id)
    if seq == seen:
        return None
    return SHEETS.at(program_id, event_id) or sheet_of(stores, program_id)


def hub_of(request: Request) -> Hub:
    """Where screens listen for news on this server."""
    return cast(Hub, request.app.state.hub)


def advisor_of(request: Request) -> Advisor:
    """The advisor of this server."""
    return cast(Advisor, request.app.state.advisor)

"""Paired phones and one-time pairing codes. Only hashes come in; secrets are never stored."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import cast

from sqlmodel import Session, col, select, update

from app.domain.words import say
from app.errors import StorageTrouble
from app.security.tokens import is_alive
from app.storage import rows, tables
from app.storage.missing import NotStored
from app.storage.records import DeviceRecord, Role

SEEN_EVERY = timedelta(minutes=1)
REMOVED = "removed phone"


class DeviceStore:
    """Who may come in from the network."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def all(self) -> tuple[DeviceRecord, ...]:
        """Every phone that has not been removed, newest first; some may have run out (`tokens.is_alive`)."""
        table = tables.Device
        query = select(table).where(col(table.revoked_at).is_(None)).order_by(col(table.paired_at).desc())
        return tuple(self._record(row) for row in self._session.exec(query))

    def get(self, device_id: int) -> DeviceRecord:
        """One phone, removed or not. Raises NotStored."""
        row = self._session.get(tables.Device, device_id)
        if row is None:
            raise NotStored(say("phone"), device_id)
        return self._record(row)

    def add(
        self,
        name: str,
        token_hash: str,
        at: datetime,
        role: Role = "coach",
        sees_advice: bool = True,
        skater_id: int | None = None,
    ) -> DeviceRecord:
        """Remember a phone that has just been paired. `skater_id`: whose own phone it is."""
        row = tables.Device(
            name=name,
            token_hash=token_hash,
            paired_at=at,
            last_seen=at,
            role=role,
            sees_advice=sees_advice,
            skater_key=self._key_of(skater_id),
        )
        self._session.add(row)
        self._session.commit()
        return self._record(row)

    def by_token(self, token_hash: str, now: datetime) -> DeviceRecord | None:
        """The phone with that token; None when unknown, removed or run out. Notes by the minute when it was seen."""
        query = select(tables.Device).where(tables.Device.token_hash == token_hash)
        row = self._session.exec(query).first()
        if row is None or not _may_enter(row, now):
            return None
        if row.last_seen is None or now - row.last_seen >= SEEN_EVERY:
            self._note_seen(row, now)
        return self._record(row)

    def may_enter(self, device_id: int, now: datetime) -> bool:
        """Whether that phone may come in at this moment; for what stays open longer than a request."""
        row = self._session.get(tables.Device, device_id)
        return row is not None and _may_enter(row, now)

    def _note_seen(self, row: tables.Device, now: datetime) -> None:
        """A full disk shuts no phone out: what it asks for may still be read, and "hurt" still be seen."""
        row.last_seen = now
        try:
            self._session.commit()
        except StorageTrouble:
            self._session.rollback()

    def revoke(self, device_id: int, at: datetime) -> DeviceRecord:
        """Shut a phone out and forget its name; its number stays, for the logs that name it. Raises NotStored."""
        row = self._session.get(tables.Device, device_id)
        if row is None:
            raise NotStored(say("phone"), device_id)
        row.revoked_at = row.revoked_at or at
        row.name = REMOVED
        self._session.commit()
        return self._record(row)

    def show_advice(self, device_id: int, shown: bool) -> DeviceRecord:
        """Whether advice shows on this phone, where the event allows it. Raises NotStored."""
        row = self._session.get(tables.Device, device_id)
        if row is None:
            raise NotStored(say("phone"), device_id)
        row.sees_advice = shown
        self._session.commit()
        return self._record(row)

    def new_code(
        self,
        code_hash: str,
        at: datetime,
        expires_at: datetime,
        role: Role = "coach",
        skater_id: int | None = None,
    ) -> None:
        """Offer a new code for a phone of that role; older ones stop working. `skater_id`: for that skater's own."""
        for row in self._open_codes():
            row.expires_at = min(row.expires_at, at)
        row = tables.PairingCode(
            code_hash=code_hash,
            role=role,
            skater_key=self._key_of(skater_id),
            created_at=at,
            expires_at=expires_at,
        )
        self._session.add(row)
        self._session.commit()

    def open_code(self, now: datetime) -> tuple[int, str] | None:
        """(id, hash) of the code that works at this moment."""
        for row in self._open_codes():
            # One made "in the future" was made before the clock jumped back: it would live too long.
            if row.created_at <= now < row.expires_at:
                return rows.stored_id(row.id), row.code_hash
        return None

    def use_code(self, code_id: int, at: datetime) -> tuple[Role, int | None] | None:
        """Use a code up, in one statement; the role it gives and whose own phone it makes.

        None: somebody was faster or it has expired.
        """
        code = tables.PairingCode
        unused = (col(code.id) == code_id, col(code.used_at).is_(None), col(code.expires_at) > at)
        # Counting the rows by RETURNING: exactly one caller gets the code.
        wanted = (
            update(code).where(*unused).values(used_at=at).returning(col(code.role), col(code.skater_key))
        )
        found = self._session.execute(wanted).first()
        self._session.commit()
        return (cast(Role, found[0]), self._skater_of(found[1])) if found is not None else None

    def wrong_try(self, code_id: int, at: datetime, most: int) -> None:
        """Count a wrong code; after `most` of them the code stops working. An unknown id counts nothing."""
        code = tables.PairingCode
        mine = col(code.id) == code_id
        self._session.execute(update(code).where(mine).values(wrong_tries=col(code.wrong_tries) + 1))
        spent = (mine, col(code.wrong_tries) >= most, col(code.expires_at) > at)
        self._session.execute(update(code).where(*spent).values(expires_at=at))
        self._session.commit()

    def _open_codes(self) -> tuple[tables.PairingCode, ...]:
        query = select(tables.PairingCode).where(col(tables.PairingCode.used_at).is_(None))
        return tuple(self._session.exec(query.order_by(col(tables.PairingCode.id).desc())))

    def _record(self, row: tables.Device) -> DeviceRecord:
        return rows.device(row, self._skater_of(row.skater_key))

    def _key_of(self, skater_id: int | None) -> str:
        """The key of a skater; empty for a phone that is nobody's own. Raises NotStored."""
        if skater_id is None:
            return ""
        row = self._session.get(tables.Skater, skater_id)
        if row is None:
            raise NotStored(say("skater"), skater_id)
        return row.key

    def _skater_of(self, key: str) -> int | None:
        """The number of the skater with that key; None for nobody's own, or a skater who was deleted."""
        if not key:
            return None
        return self._session.exec(select(tables.Skater.id).where(tables.Skater.key == key)).first()


def _may_enter(row: tables.Device, now: datetime) -> bool:
    return row.revoked_at is None and is_alive(row.paired_at, row.last_seen, now)

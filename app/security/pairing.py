"""One-time pairing codes: made, shown on the laptop, typed on the phone, used up.

Eight signs from an alphabet of 31 that cannot be mistaken for one another: 31^8 is about 8.5e11 codes. A code lives
ten minutes, works once, dies after ten wrong tries, and tries are throttled; comparison takes constant time.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Protocol

from app.domain.words import say
from app.errors import InputError
from app.security.roles import COACH, SEES_ADVICE, Role
from app.security.throttle import Clock, Throttle
from app.security.tokens import hash_of, matches, new_token, slow_hash

ALPHABET = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
CODE_SIGNS = 8
LIFE = timedelta(minutes=10)
WRONG_TRIES = 10
TRIES_EACH, TRIES_TOGETHER, TRY_SECONDS = 5, 20, 60.0
NAME_SIGNS = 40
NOBODYS = slow_hash(new_token())
"""Compared with when no code is open, so that a try takes as long as any other."""


class WrongCode(InputError):
    """The code is not the one on the laptop's screen (any more)."""

    def __init__(self) -> None:
        super().__init__(
            say("code"),
            say("not the code that works now; look at the laptop, ask for a new one there if needed"),
        )


class TooManyTries(InputError):
    """Too many codes tried; `seconds` until the next one is read."""

    def __init__(self, seconds: float) -> None:
        self.seconds = int(seconds) + 1
        super().__init__(
            say("code"),
            say(
                "too many tries; wait %(seconds)s seconds, then type the code on the laptop",
                seconds=self.seconds,
            ),
        )


class CodeStore(Protocol):
    """What pairing needs of the database; hashes only."""

    def new_code(
        self, code_hash: str, at: datetime, expires_at: datetime, role: Role, skater_id: int | None
    ) -> None:
        """Offer a code; older ones stop working."""

    def open_code(self, now: datetime) -> tuple[int, str] | None:
        """(id, hash) of the code that works now."""

    def use_code(self, code_id: int, at: datetime) -> tuple[Role, int | None] | None:
        """Use it up; the role it gives and whose own phone it makes, None when somebody was faster."""

    def wrong_try(self, code_id: int, at: datetime, most: int) -> None:
        """Count a wrong try."""

    def add(
        self, name: str, token_hash: str, at: datetime, role: Role, sees_advice: bool, skater_id: int | None
    ) -> object:
        """Remember the phone."""


@dataclass(frozen=True)
class ShownCode:
    """The code as the laptop shows it; kept in memory only. `kept`: what is stored instead."""

    signs: str
    expires_at: datetime
    role: Role = COACH
    kept: str = ""
    skater_id: int | None = None

    @property
    def spaced(self) -> str:
        """In two halves, easier to type: `ABCD-EFGH`."""
        return f"{self.signs[: CODE_SIGNS // 2]}-{self.signs[CODE_SIGNS // 2 :]}"


class PairingDesk:
    """Hands out codes and tokens. One per running server."""

    def __init__(self, clock: Clock) -> None:
        self._throttle = Throttle(clock, each=TRIES_EACH, together=TRIES_TOGETHER, seconds=TRY_SECONDS)
        self._shown: ShownCode | None = None

    def offer(
        self, store: CodeStore, now: datetime, role: Role = COACH, skater_id: int | None = None
    ) -> ShownCode:
        """A new code for a phone of that role (`skater_id`: for that skater's own); any older one stops working."""
        signs = "".join(secrets.choice(ALPHABET) for _ in range(CODE_SIGNS))
        self._shown = ShownCode(signs, now + LIFE, role, slow_hash(signs), skater_id)
        store.new_code(self._shown.kept, now, self._shown.expires_at, role, skater_id)
        return self._shown

    def shown(self, store: CodeStore, now: datetime) -> ShownCode | None:
        """The code to show, None when it was used, has expired or died of wrong tries."""
        known = store.open_code(now)
        if self._shown is None or known is None or known[1] != self._shown.kept:
            return None
        return self._shown

    def accept(self, store: CodeStore, caller: str, typed: str, name: str, now: datetime) -> str:
        """The token for the phone at address `caller`. Raises TooManyTries or WrongCode."""
        wait = self._throttle.take(caller)
        if wait > 0:
            raise TooManyTries(wait)
        known = store.open_code(now)
        # Without an open code the comparison still happens, against nothing anybody can type.
        code_id, kept = known if known is not None else (0, NOBODYS)
        if not matches(plain(typed), kept):
            store.wrong_try(code_id, now, WRONG_TRIES)
            raise WrongCode
        given = store.use_code(code_id, now)
        if given is None:
            raise WrongCode
        role, skater_id = given
        token = new_token()
        called = name.strip()[:NAME_SIGNS] or "phone"
        store.add(called, hash_of(token), now, role, SEES_ADVICE[role], skater_id)
        return token


def plain(typed: str) -> str:
    """The signs of a code however it was typed: small letters, spaces, dashes."""
    return "".join(sign for sign in typed.upper() if sign.isalnum())

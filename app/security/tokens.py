"""Secrets a phone carries, and how long they hold.

Of a token only its SHA-256 is stored: 256 random bits need no salt and no slow hash. A code that people type has 40
bits, so it is stored by scrypt with a salt of its own (OWASP ASVS 5.0.0, 6.5.2), although it lives ten minutes only.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
from datetime import datetime, timedelta

TOKEN_BYTES = 32
COOKIE = "recoup_device"
ENCRYPTED_COOKIE = f"__Host-{COOKIE}"
LONGEST = timedelta(days=180)
"""A season: after that a phone is paired anew, however often it came."""
UNSEEN = timedelta(days=60)
"""A phone nobody has used for so long may have changed hands."""
COOKIE_SECONDS = int(LONGEST.total_seconds())
SALT_BYTES = 16
SCRYPT = {"n": 2**14, "r": 8, "p": 1}


def new_token() -> str:
    """A fresh device token, safe in a cookie."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def hash_of(secret: str) -> str:
    """What is stored instead of a token."""
    return hashlib.sha256(secret.encode()).hexdigest()


def slow_hash(secret: str) -> str:
    """What is stored instead of a code that people type: salt and digest."""
    salt = secrets.token_bytes(SALT_BYTES)
    return f"{salt.hex()}${_stretched(secret, salt)}"


def matches(secret: str, kept: str) -> bool:
    """Whether that is the secret behind a slow hash; takes the same time for each."""
    salt, _, digest = kept.partition("$")
    return hmac.compare_digest(_stretched(secret, bytes.fromhex(salt)).encode(), digest.encode())


def cookie_name(scheme: str) -> str:
    """The cookie a door of that scheme reads. Behind the encrypted one no other door or name can set it."""
    return ENCRYPTED_COOKIE if scheme == "https" else COOKIE


def is_alive(paired_at: datetime, last_seen: datetime | None, now: datetime) -> bool:
    """Whether a phone paired then and last seen then may still come in."""
    return paired_at + LONGEST > now and (last_seen or paired_at) + UNSEEN > now


def _stretched(secret: str, salt: bytes) -> str:
    return hashlib.scrypt(secret.encode(), salt=salt, n=SCRYPT["n"], r=SCRYPT["r"], p=SCRYPT["p"]).hex()

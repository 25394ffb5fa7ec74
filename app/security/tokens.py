"""Secrets a phone carries. Only their SHA-256 is stored; 256 random bits need no salt and no slow hash."""

from __future__ import annotations

import hashlib
import secrets

TOKEN_BYTES = 32
COOKIE = "recoup_device"
COOKIE_SECONDS = 180 * 24 * 3600


def new_token() -> str:
    """A fresh device token, safe in a cookie."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def hash_of(secret: str) -> str:
    """What is stored instead of the secret."""
    return hashlib.sha256(secret.encode()).hexdigest()

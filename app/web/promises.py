"""What Recoup promises, where it says so, and the tests that hold it: `data/promises.toml`, read once.

The shapes are the file's own tables; its head explains the keys. A fault in it is a fault of ours, and
`tests/contracts/test_promises.py` meets it first.
"""

from __future__ import annotations

import tomllib
from functools import cache

from pydantic import BaseModel, ConfigDict, Field

from app.settings import PROJECT

FILE = PROJECT / "data" / "promises.toml"


class Part(BaseModel):
    """Any table of the file: frozen, no unknown keys."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Said(Part):
    """Where a promise is made: a file of the project, and the very words in it."""

    file: str
    words: str = Field(min_length=10)


class Promise(Part):
    """One promise. `against`: what lies outside this project; empty where the tests hold the app to its own word."""

    says: str
    how: str
    against: str = ""
    limits: str = ""
    said: tuple[Said, ...] = Field(min_length=1)
    tests: tuple[str, ...] = Field(min_length=1)


class Group(Part):
    """Promises about one subject."""

    name: str
    promises: tuple[Promise, ...] = Field(min_length=1)


class Promises(Part):
    """All of them, in the order they are shown."""

    groups: tuple[Group, ...] = Field(min_length=1)


@cache
def promises() -> Promises:
    """The whole file."""
    return Promises.model_validate(tomllib.loads(FILE.read_text(encoding="utf-8")))

"""Which attempts the chances within a program rest on: those skated in programs once there are enough."""

from __future__ import annotations

from dataclasses import dataclass

from app.chances.record import Record
from app.domain.words import say
from app.storage.records import TrainedRecord

ENOUGH_IN_PROGRAMS = 10
"""As many as an element needs to count as trained by default; fewer say little about a program (no source)."""


@dataclass(frozen=True, slots=True)
class Counted:
    """The attempts that chances are reckoned from, and in words which they are."""

    record: Record
    words: str
    in_programs: bool


def for_programs(trained: TrainedRecord) -> Counted:
    """Attempts in programs when there are at least ten, else every attempt with the note "practice alone".

    A number entered by hand knows no place and counts as practice alone.
    """
    log = trained.log
    if log.program_attempts >= ENOUGH_IN_PROGRAMS:
        record = Record(log.program_attempts, log.program_landed, log.program_fates)
        return Counted(
            record,
            say("from %(program_attempts)s attempts in programs", program_attempts=log.program_attempts),
            in_programs=True,
        )
    record = Record(trained.attempts, min(trained.landed, trained.attempts), log.fates)
    return Counted(record, _mostly_alone(log.program_attempts), in_programs=False)


def _mostly_alone(in_programs: int) -> str:
    if not in_programs:
        return say("practice alone")
    return say("practice alone, %(in_programs)s of it in programs", in_programs=in_programs)

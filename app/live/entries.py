"""The entry guard: a swap is offered on a pass only where a trained element comes from the entry of that pass.

The ladder, for an element on a pass:

1. It was trained from the same entry: it fits.
2. It was trained, and its entry or that of the pass is not noted: it fits as far as anybody knows, with a caution
   where one of the two is noted.
3. It was trained from other entries only: it does not fit.

An added tail needs time as well: about a second each from landing to landing (common practice, no source; measured
in elite short programs, 0.8 s from landing to the next take-off). Where the seconds to spare behind a pass are noted
and too few, it is not offered; none noted: nobody said, and nothing is held back.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from app.domain.notation import parse_jump_element
from app.domain.words import either, say, say_many
from app.live.program import KnownElement, Limits, PlannedPass, why_untrained

SECONDS_A_TAIL = 1
"""Common practice, no source."""
NOT_NOTED = say("entry not noted")


def same_entry(one: str, other: str) -> bool:
    """The same entry in words, whatever capitals, hyphens and spaces: `Three turn` and `three-turn`."""
    return _plain(one) == _plain(other)


def _plain(entry: str) -> str:
    return " ".join(entry.replace("-", " ").casefold().split()).rstrip(".")


def gathered(records: list[KnownElement]) -> KnownElement:
    """One element of several entries: the most practised stands for it, the others hang behind.

    `records`: at least one, all of one code.
    """
    first, *rest = sorted(records, key=lambda one: (not one.ready, -one.attempts))
    return replace(first, others=tuple(rest))


def trained_from(element: KnownElement, limits: Limits, today: date) -> KnownElement | None:
    """The element with only the entries it counts as trained from; None when there is none."""
    kept = [one for one in (element, *element.others) if why_untrained(one, limits, today) is None]
    return gathered(kept) if kept else None


def fitting(row: PlannedPass, element: KnownElement) -> KnownElement | None:
    """The record of an element that stands for it on a pass: its chances and its count. None: no entry fits."""
    records = (element, *element.others)
    if not row.entry:
        return element
    noted = next((one for one in records if one.entry and same_entry(one.entry, row.entry)), None)
    return noted or next((one for one in records if not one.entry), None)


def record_for(row: PlannedPass, element: KnownElement) -> KnownElement:
    """The same for a planned element, which stays an option whatever its entry."""
    return fitting(row, element) or element


def caution(row: PlannedPass, element: KnownElement) -> str:
    """What is not known about the entry of an element that is offered, in words; empty when nothing."""
    found = record_for(row, element)
    return NOT_NOTED if bool(row.entry) != bool(found.entry) else ""


def why_unfit(row: PlannedPass, element: KnownElement) -> str:
    """Why a trained element is not offered on a pass, in words; empty when it fits."""
    if element.code == row.code:
        return ""
    if fitting(row, element) is None:
        known = either(one.entry for one in (element, *element.others) if one.entry)
        return say(
            "trained from: %(known)s; this pass is entered from: %(entry)s", known=known, entry=row.entry
        )
    return _why_no_time(row, element.code)


def _why_no_time(row: PlannedPass, code: str) -> str:
    added = jumps_in(code) - jumps_in(row.code)
    needed = added * SECONDS_A_TAIL
    if added <= 0 or not row.slack or needed <= row.slack:
        return ""
    return say_many(
        "one more jump needs about %(needed)s s, only %(slack)s s to spare",
        "%(count)s more jumps need about %(needed)s s, only %(slack)s s to spare",
        added,
        needed=needed,
        slack=row.slack,
    )


def jumps_in(code: str) -> int:
    """Jumps of an element, an Euler among them: it takes its time too."""
    return len(parse_jump_element(code).jumps)

"""Short ways to write programs in these tests."""

from __future__ import annotations

from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element
from app.domain.rulings import Ruling
from app.legality.judge import judge_all
from app.legality.short_program import ShortElement, judge_short
from app.legality.tally import Tally
from app.legality.verdict import Verdict
from app.rulebook.editions import Edition, edition

BESIDE = "euler_beside_a_sequence"
CLAUSE = "repeats_clause_beside_the_family_cap"
STARRED = "starred_jumps_use_up_an_execution"


def free(season: str = "2025-26", who: str = "senior/women", **readings: str) -> Edition:
    """A free skating by season."""
    return edition(f"isu/{season}/{who}/free", readings)


def elements(codes: str) -> list[JumpElement]:
    """`3Lz 3F+2T` as elements."""
    return [parse_jump_element(code) for code in codes.split()]


def verdicts(book: Edition, codes: str) -> tuple[Verdict, ...]:
    """Everything the judge says about a free skating."""
    return judge_all(book, elements(codes))[0]


def after(book: Edition, codes: str) -> Tally:
    """The tally behind these elements."""
    return judge_all(book, elements(codes))[1]


def called(book: Edition, codes: str) -> str:
    """A free skating with the stars and +REP of the judge."""
    return " ".join(str(one.element) for one in verdicts(book, codes))


def last(book: Edition, codes: str) -> tuple[Ruling, ...]:
    """Rulings of the last element."""
    return verdicts(book, codes)[-1].rulings


def short_verdicts(book: Edition, codes: str) -> tuple[Verdict, ...]:
    """Everything the judge says about a short program; `3Lz#` is an attempt that failed."""
    given = [ShortElement(parse_jump_element(code.rstrip("#")), code.endswith("#")) for code in codes.split()]
    return judge_short(book, given)


def short_called(book: Edition, codes: str) -> str:
    """A short program with stars and +COMBO."""
    return " ".join(str(one.element) for one in short_verdicts(book, codes))

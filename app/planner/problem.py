"""The decision problem: passes still to come, options at each, what each attempt may become.

A problem is checked before it is solved: chances sum to one, every option has its attempts, the program
fits the rulebook. Chances and grades are exact fractions; solvers may use floats of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element
from app.domain.words import say
from app.errors import InputError, ProgramError
from app.requests import AdviseRequest, Attempts, DonePass, Outcome, PlannedPass
from app.rulebook.editions import Edition, edition

CHANCES_TOLERANCE = Fraction(1, 10**9)
"""How far chances may be from one: decimals of thirds must pass, slips must not."""
MOST_READINGS = 64


@dataclass(frozen=True, slots=True)
class Attempt:
    """One thing an attempt may become; `element` None: no attempt came of it, the box stays free."""

    chance: Fraction
    element: JumpElement | None
    grade: Fraction
    fall: bool
    error: bool

    @property
    def failed(self) -> bool:
        """What the short program's `+COMBO` rule calls an error."""
        return self.error or self.fall


@dataclass(frozen=True, slots=True)
class Option:
    """One choice for a pass; `code` None leaves the pass out."""

    code: str | None
    change: bool
    """Something other than planned."""
    attempts: tuple[Attempt, ...]
    after_fall: tuple[Attempt, ...]
    """What it may become when the pass before ended in a fall; the same as `attempts` unless given."""


@dataclass(frozen=True, slots=True)
class Pass:
    """A pass still to come."""

    planned: str | None
    late: bool
    options: tuple[Option, ...]

    @property
    def keep(self) -> int | None:
        """Index of the planned option; None when it is not among the options."""
        return next((n for n, option in enumerate(self.options) if not option.change), None)


@dataclass(frozen=True, slots=True)
class Done:
    """One pass already skated, in one reading."""

    element: JumpElement | None
    late: bool
    fall: bool
    error: bool

    @property
    def failed(self) -> bool:
        return self.error or self.fall


@dataclass(frozen=True, slots=True)
class History:
    """One possible reading of everything done, with its chance."""

    chance: Fraction
    done: tuple[Done, ...]


@dataclass(frozen=True)
class Problem:
    """Everything a solver needs."""

    edition: Edition
    histories: tuple[History, ...]
    passes: tuple[Pass, ...]
    changes_done: int
    max_changes: int | None

    def allowed(self, place: int, option: Option, changes: int) -> bool:
        """May this option still be tried after `changes` changes?"""
        return self.max_changes is None or not option.change or changes < self.max_changes

    def leaves_a_way(self, place: int, option: Option, changes: int) -> bool:
        """May it be tried, and can every later pass that cannot keep its plan still be changed?"""
        most = self.most_before(place, option)
        return most is None or changes <= most

    def most_before(self, place: int, option: Option) -> int | None:
        """The most changes made before with which an option leaves a way; None: any number. May be negative."""
        if self.max_changes is None:
            return None
        needed = option.change + self._forced[place]
        return self.max_changes - needed if needed else None

    @cached_property
    def _forced(self) -> tuple[int, ...]:
        """For each pass, how many later ones cannot keep their plan."""
        cannot = [one.keep is None for one in self.passes]
        return tuple(sum(cannot[place + 1 :]) for place in range(len(cannot)))


def plain(code: str | None, field: str) -> str | None:
    """A code in its standard spelling. Raises InputError for `*` and `+REP`, the engine's to find."""
    if code is None:
        return None
    try:
        element = parse_jump_element(code)
    except InputError as error:
        raise InputError(field, error.problem) from None
    if element != element.without_rulings():
        raise InputError(
            field, say("%(code)s carries * or +REP; leave them out, the engine finds them", code=repr(code))
        )
    return str(element)


def read_problem(request: AdviseRequest) -> Problem:
    """Check a request and make it a problem. Raises InputError naming the field."""
    book = edition(request.edition, request.switches)
    histories, changes = read_done(book, request.done)
    shared = AttemptTable("attempts", request.attempts)
    problem = Problem(
        edition=book,
        histories=histories,
        passes=tuple(_pass(place, one, shared) for place, one in enumerate(request.passes)),
        changes_done=changes,
        max_changes=request.max_changes,
    )
    check_changes(problem)
    return problem


def read_done(book: Edition, done: Sequence[DonePass]) -> tuple[tuple[History, ...], int]:
    """Every reading of what was done, and how many of its passes were changed.

    Raises ProgramError when more elements were done than the rulebook has boxes.
    """
    attempts = sum(1 for one in done if one.code is not None or one.any_of is not None)
    if attempts > book.boxes:
        raise ProgramError(
            "done",
            say(
                "%(attempts)s elements done, but %(name)s has %(boxes)s boxes",
                attempts=attempts,
                name=book.name,
                boxes=book.boxes,
            ),
        )
    return _histories(done), sum(_is_change(place, one) for place, one in enumerate(done))


def _is_change(place: int, one: DonePass) -> bool:
    if "tried" not in one.model_fields_set or "planned" not in one.model_fields_set:
        return False
    return plain(one.tried, f"done[{place}].tried") != plain(one.planned, f"done[{place}].planned")


def check_changes(problem: Problem) -> None:
    """Raise InputError when the limit on changes leaves nothing to try."""
    most = problem.max_changes
    if most is None:
        return
    forced = sum(1 for one in problem.passes if one.keep is None)
    if forced and problem.changes_done + forced > most:
        made = say(
            "%(done)s are made and %(forced)s passes cannot keep the plan",
            done=problem.changes_done,
            forced=forced,
        )
        raise InputError(
            "max_changes",
            say("%(most)s allowed, but %(made)s; nothing allowed remains", most=most, made=made),
        )


def _histories(done: Sequence[DonePass]) -> tuple[History, ...]:
    histories = [History(Fraction(1), ())]
    for place, one in enumerate(done):
        readings = _readings(f"done[{place}]", one)
        histories = [
            History(before.chance * chance, (*before.done, reading))
            for before in histories
            for chance, reading in readings
        ]
        if len(histories) > MOST_READINGS:
            raise InputError(
                f"done[{place}].any_of",
                say("more than %(most_readings)s readings of the program", most_readings=MOST_READINGS),
            )
    return tuple(histories)


def _readings(field: str, one: DonePass) -> list[tuple[Fraction, Done]]:
    if one.any_of is None:
        return [(Fraction(1), Done(_element(one.code, f"{field}.code"), one.late, one.fall, one.error))]
    total = sum((Fraction(reading.chance) for reading in one.any_of), Fraction(0))
    if abs(total - 1) > CHANCES_TOLERANCE:
        raise InputError(
            f"{field}.any_of", say("chances sum to %(float)s; expected 1", float=format(float(total), ".6g"))
        )
    return [
        (
            Fraction(reading.chance),
            Done(
                _element(reading.code, f"{field}.any_of[{number}].code"),
                one.late,
                reading.fall or one.fall,
                reading.error or one.error,
            ),
        )
        for number, reading in enumerate(one.any_of)
    ]


def _element(code: str | None, field: str) -> JumpElement | None:
    spelled = plain(code, field)
    return None if spelled is None else parse_jump_element(spelled)


class AttemptTable:
    """What attempts may become, by code in its standard spelling; each is read once, when first asked for."""

    def __init__(self, field: str, attempts: Attempts) -> None:
        self._field = field
        self._raw = {
            plain(code, f"{field}[{code}]") or "": (code, outcomes) for code, outcomes in attempts.items()
        }
        self._read: dict[str, tuple[Attempt, ...]] = {}

    def get(self, code: str) -> tuple[Attempt, ...] | None:
        """The attempts of a code; None when the table does not have it. Raises InputError."""
        if code in self._raw and code not in self._read:
            written, outcomes = self._raw[code]
            self._read[code] = _attempts(f"{self._field}[{written}]", outcomes)
        return self._read.get(code)


def _pass(place: int, one: PlannedPass, shared: AttemptTable) -> Pass:
    field = f"passes[{place}]"
    planned = plain(one.planned, f"{field}.planned")
    own = AttemptTable(f"{field}.attempts", one.attempts)
    after = AttemptTable(f"{field}.attempts_after_fall", one.attempts_after_fall)
    options: list[Option] = []
    for number, code in enumerate(one.options):
        spelled = plain(code, f"{field}.options[{number}]")
        if any(option.code == spelled for option in options):
            raise InputError(f"{field}.options[{number}]", say("%(code)s stands twice", code=repr(code)))
        options.append(_option(field, spelled, spelled != planned, (own, shared), after))
    return Pass(planned, one.late, tuple(options))


def _option(
    field: str, code: str | None, change: bool, tables: tuple[AttemptTable, ...], after: AttemptTable
) -> Option:
    if code is None:
        nothing = (Attempt(Fraction(1), None, Fraction(0), False, False),)
        return Option(None, change, nothing, nothing)
    usual = next((found for table in tables if (found := table.get(code)) is not None), None)
    if usual is None:
        raise InputError(
            f"{field}.options",
            say("%(code)s has no entry in attempts; say what it may become", code=repr(code)),
        )
    fallen = after.get(code)
    return Option(code, change, usual, usual if fallen is None else fallen)


def _attempts(field: str, outcomes: tuple[Outcome, ...]) -> tuple[Attempt, ...]:
    total = sum((Fraction(one.chance) for one in outcomes), Fraction(0))
    if abs(total - 1) > CHANCES_TOLERANCE:
        raise InputError(
            field, say("chances sum to %(float)s; expected 1", float=format(float(total), ".6g"))
        )
    return tuple(
        Attempt(
            Fraction(one.chance),
            _element(one.becomes, f"{field}[{number}].becomes"),
            Fraction(one.goe),
            one.fall,
            one.error,
        )
        for number, one in enumerate(outcomes)
        if one.chance
    )

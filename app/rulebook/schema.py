"""The shape of a rulebook: every table carries document, paragraph and a mark of certainty.

pydantic refuses unknown keys and wrong types; `app.rulebook.loader` turns its words into one message
naming file, table and row. Numbers live in `data/rules/`, never here.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from app.domain.rulings import Certainty, RuleRef
from app.rulebook.money_tables import Bonuses, Falls, Interruptions, Overtime
from app.rulebook.table import Rule, Table


class Programme(Rule):
    """Required time of the program in seconds, and the tolerance either way; or a time not to exceed."""

    seconds: int = Field(gt=0)
    tolerance: int = Field(ge=0)
    at_most: bool = Field(default=False, description="`seconds` is only an upper limit")


class Boxes(Rule):
    """How many jump elements count. An attempt fills a box even when it is worth nothing."""

    most: int = Field(gt=0, le=12)


class Inside(Table):
    """How many jumps of some revolutions one unit of a certain length may hold."""

    jumps: int = Field(ge=2, description="units of at least so many listed jumps")
    revolutions: tuple[int, ...] = Field(min_length=1)
    exempt: tuple[str, ...] = Field(default=(), description="jump names that do not count towards `most`")
    downgraded_counts: bool = Field(
        default=False, description="an exempt or harder jump counts once it is downgraded"
    )
    most: int = Field(ge=0)


class Units(Rule):
    """Combinations and sequences. A surplus unit counts its first jump only, in part (table `part`)."""

    most: int = Field(ge=0)
    most_sequences: int = Field(ge=0)
    most_jumps: int = Field(ge=2, description="jumps in the longest unit")
    usual_jumps: int = Field(ge=2, description="jumps in every other unit")
    inside: tuple[Inside, ...] = ()
    most_long: int = Field(ge=0, description="units that may have more than the usual jumps")
    marked_percent: int = Field(
        default=100, gt=0, le=100, description="what a unit with a printed mark keeps"
    )

    @model_validator(mode="after")
    def _agree(self) -> Units:
        if self.most_sequences > self.most:
            raise ValueError(f"most_sequences {self.most_sequences} is more than most {self.most}")
        if self.most_long > self.most:
            raise ValueError(f"most_long {self.most_long} is more than most {self.most}")
        if (self.most_jumps > self.usual_jumps) != (self.most_long > 0):
            raise ValueError("most_jumps exceeds usual_jumps exactly when most_long is above 0")
        return self


class Euler(Rule):
    """The Euler: listed (counts as a jump of the unit) or not, how often, and beside a sequence."""

    code: Literal["1Eu", "Eu"]
    counts_as_jump: bool
    most: int | None = Field(default=None, ge=0, description="Eulers in the program; absent: no limit")


class RepeatClass(Table):
    """Jumps that share a repeat quota: some revolutions, some jumps by name, or both.

    A class that names a jump governs it; only the others are looked up by their revolutions.
    """

    revolutions: tuple[int, ...] = ()
    jumps: tuple[str, ...] = ()
    executions: int = Field(ge=1, description="how often one jump may be executed")
    most_repeated: int | None = Field(default=None, ge=0, description="different jumps executed twice")
    within: tuple[int, ...] = Field(default=(), description="revolutions of the tighter quota inside")
    most_repeated_within: int | None = Field(default=None, ge=0)
    solo_loses: bool = Field(default=False, description="a second solo execution, none in a unit, loses")
    solo_keeps: Literal["part", "nothing"] = Field(default="part", description="what such a one keeps")

    @model_validator(mode="after")
    def _agree(self) -> RepeatClass:
        if not self.revolutions and not self.jumps:
            raise ValueError("a class needs revolutions or jumps")
        if bool(self.within) != (self.most_repeated_within is not None):
            raise ValueError("within and most_repeated_within come together")
        if not set(self.within) <= set(self.revolutions):
            raise ValueError("within must be part of revolutions")
        return self


class Repeats(Rule):
    """Repeat quotas by revolution class."""

    classes: tuple[RepeatClass, ...]

    @model_validator(mode="after")
    def _agree(self) -> Repeats:
        seen: set[int | str] = set()
        for one in self.classes:
            both = seen & {*one.revolutions, *one.jumps}
            if both:
                kind = "revolutions" if all(isinstance(part, int) for part in both) else "jumps"
                raise ValueError(f"{kind} {sorted(both, key=str)} stand in two classes")
            seen |= {*one.revolutions, *one.jumps}
        return self


class Part(Rule):
    """What `+REP` keeps: the first jump of a surplus unit, or a second solo execution."""

    percent: int = Field(ge=0, le=100)


class Family(Rule):
    """Jumps of one take-off, whatever the revolutions: how many, and how many take-offs more than once."""

    most: int | None = Field(default=None, ge=1, description="jumps of one take-off; absent: no cap")
    most_repeated: int | None = Field(
        default=None, ge=0, description="different take-offs executed more than once; absent: no quota"
    )


class Limit(Table):
    """A quota of a group of jumps in the whole program: executions, and different ones."""

    revolutions: tuple[int, ...] = ()
    jumps: tuple[str, ...] = ()
    most: int | None = Field(default=None, ge=1, description="executions together")
    most_different: int | None = Field(default=None, ge=1, description="different jumps")

    @model_validator(mode="after")
    def _agree(self) -> Limit:
        if not self.revolutions and not self.jumps:
            raise ValueError("a limit needs revolutions or jumps")
        if self.most is None and self.most_different is None:
            raise ValueError("a limit needs most or most_different")
        return self

    def holds(self, name: str) -> bool:
        """Does a jump, `2T`, belong to the group?"""
        return name in self.jumps or int(name[0]) in self.revolutions


class Limits(Rule):
    """Quotas of groups of jumps, beside the repeat rules."""

    groups: tuple[Limit, ...] = Field(min_length=1)


class Axel(Rule):
    """Whether an Axel-type jump must be attempted (else the last box counts for nothing)."""

    required: bool


class Allowed(Rule):
    """Which jumps have value at all: by revolutions, some more by name, some not."""

    revolutions: tuple[int, ...] = Field(min_length=1)
    also: tuple[str, ...] = Field(default=(), description="jump names allowed beyond `revolutions`")
    solo_only: tuple[int, ...] = Field(default=(), description="revolutions allowed only as a solo jump")
    forbidden: tuple[str, ...] = Field(default=(), description="jump names without value here")

    def allows(self, name: str) -> bool:
        """Has a jump, `2T`, value at this level?"""
        return name not in self.forbidden and (int(name[0]) in self.revolutions or name in self.also)


class Late(Rule):
    """The factor for the last jump elements started in the second half."""

    last: int = Field(ge=0)
    percent: int = Field(ge=100)
    first: bool = Field(default=False, description="rounded on each jump before any other factor")


class Component(Table):
    name: str
    factor: float = Field(gt=0)


class Components(Rule):
    """Program components and their factors; an empty list where no factor is known."""

    list: tuple[Component, ...]


class Grades(Rule):
    """GOE: share of the reference value a grade is worth, and absolute steps of choreographic elements."""

    percent: int = Field(gt=0, le=20, description="so that a grade of -5 never costs more than the jump")
    lowest: int
    highest: int
    drop_from: int = Field(description="number of judges from which one highest and one lowest are dropped")
    steps: dict[str, int] = Field(default={}, description="element code -> hundredths a grade")


class Short(Rule):
    """The short program: one Axel jump, one solo jump, one combination of two jumps."""

    axel: tuple[str, ...]
    solo: tuple[str, ...] = Field(min_length=1, description="names allowed as the solo jump")
    combination: tuple[tuple[int, int], ...] = Field(description="pairs of revolutions, either order")
    tails: tuple[str, ...] = Field(
        default=(), description="names allowed as the second jump of the combination; empty: any"
    )


class Spins(Rule):
    """Spins that have value: no more than `most`, each meeting a requirement (a list of names) of its own."""

    required: tuple[tuple[str, ...], ...] = ()
    no_name_twice: bool = False
    unnamed_starred: bool = Field(default=False, description="a spin that could not be named gets its star")
    most: int = Field(ge=0)


class Values(Rule):
    """Which value table."""

    table: str


class Reading(Table):
    """One reading of a disputed rule, with its source."""

    sentence: str
    document: str = Field(min_length=2)
    paragraph: str = Field(min_length=1)
    certainty: Certainty


class Switch(Table):
    """A disputed rule: a default and every reading with its source."""

    default: str
    question: str
    readings: dict[str, Reading] = Field(min_length=2)

    @model_validator(mode="after")
    def _agree(self) -> Switch:
        if self.default not in self.readings:
            raise ValueError(f"default {self.default!r} is none of the readings {sorted(self.readings)}")
        return self

    @property
    def ref(self) -> RuleRef:
        reading = self.readings[self.default]
        return RuleRef(reading.document, reading.paragraph, reading.certainty)


class Rules(Table):
    """All rules of one edition."""

    programme: Programme
    boxes: Boxes
    units: Units | None = None
    euler: Euler
    repeats: Repeats | None = None
    part: Part | None = None
    family: Family | None = None
    limits: Limits | None = None
    axel: Axel
    allowed: Allowed
    late: Late
    falls: Falls
    interruptions: Interruptions | None = None
    overtime: Overtime | None = None
    bonuses: Bonuses | None = None
    components: Components
    grades: Grades
    spins: Spins
    values: Values
    short: Short | None = None
    switches: dict[str, Switch] = Field(default={})

    @model_validator(mode="after")
    def _agree(self) -> Rules:
        free = (self.units, self.repeats, self.part)
        if any(table is None for table in free) == (self.short is None) or (self.short and any(free)):
            raise ValueError(
                "a free skating needs units, repeats and part; a short program needs short alone"
            )
        if self.short and (self.family or self.limits):
            raise ValueError("family and limits are for a free skating; a short program needs short alone")
        bonuses = self.bonuses
        if bonuses and bonuses.switch:
            known = self.switches.get(bonuses.switch)
            if known is None or bonuses.reading not in known.readings:
                raise ValueError(
                    f"bonuses stand under {bonuses.switch!r}, reading {bonuses.reading!r}: no such switch"
                )
        if self.units and self.units.most > self.boxes.most:
            raise ValueError(f"units.most {self.units.most} is more than boxes.most {self.boxes.most}")
        if self.late.last > self.boxes.most:
            raise ValueError(f"late.last {self.late.last} is more than boxes.most {self.boxes.most}")
        return self

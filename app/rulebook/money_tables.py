"""Tables of points beside the elements: falls, interruptions, time, and the bonuses of some levels."""

from __future__ import annotations

from pydantic import Field, model_validator

from app.rulebook.table import Rule, Table


class Falls(Rule):
    """Deduction of each fall in order, in hundredths of a point; the last figure goes on."""

    each: tuple[int, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _agree(self) -> Falls:
        if any(x < 0 for x in self.each) or list(self.each) != sorted(self.each):
            raise ValueError("each is a list of non-decreasing hundredths, 100 for one point")
        return self


class Interruption(Table):
    """One step: an interruption longer than so many seconds, up to so many, costs so much."""

    over: int = Field(ge=0)
    upto: int = Field(gt=0)
    points: int = Field(ge=0, description="hundredths")


class Interruptions(Rule):
    """Deductions for interruptions, in hundredths."""

    steps: tuple[Interruption, ...] = ()
    allowance: int | None = Field(default=None, ge=0, description="when up to three minutes were granted")


class Overtime(Rule):
    """Deduction for each `seconds` lacking or in excess beyond the tolerance, in hundredths."""

    seconds: int = Field(gt=0)
    points: int = Field(ge=0)


class BonusRow(Table):
    """One bonus: for jumps by name or revolutions, for pairs that follow each other, or for a variety."""

    words: str = Field(min_length=3, description="what earns it, in plain words")
    points: int = Field(gt=0, description="hundredths")
    jumps: tuple[str, ...] = ()
    revolutions: tuple[int, ...] = ()
    pairs: tuple[tuple[int, int], ...] = Field(
        default=(), description="revolutions of two jumps, one directly behind the other"
    )
    variety: int | None = Field(default=None, ge=2, description="paid once, at so many different jumps")
    each_once: bool = Field(default=False, description="once for each different jump or pair")
    most: int | None = Field(default=None, ge=1, description="how often in one program")

    @model_validator(mode="after")
    def _agree(self) -> BonusRow:
        if bool(self.pairs) == bool(self.jumps or self.revolutions):
            raise ValueError("a bonus is for pairs, or for jumps and revolutions")
        if self.variety and (self.pairs or self.most):
            raise ValueError("variety is for single jumps and is paid once")
        return self


class Bonuses(Rule):
    """Points for what was tried: each row, what voids it, and caps."""

    rows: tuple[BonusRow, ...] = Field(min_length=1)
    void_calls: tuple[str, ...] = Field(default=(), description="calls that void a jump's bonus")
    void_fall: bool = Field(default=False, description="a fall voids the bonus of the jump fallen on")
    void_part: bool = Field(default=False, description="so does +REP")
    most_points_per_element: int | None = Field(default=None, ge=1)
    most_points: int | None = Field(default=None, ge=1, description="in the whole program")
    switch: str = Field(default="", description="the table stands only under a reading of this switch …")
    reading: str = Field(default="", description="… namely this one")

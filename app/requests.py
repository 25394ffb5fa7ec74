"""The two JSON contracts as pydantic models: what `score` and `advise` take.

Numbers are read as decimals, so that chances and grades are exactly what was written. Every fault is an
InputError that names the field, what was given and what was expected.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Annotated, Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from app.domain.words import say
from app.errors import InputError

Mark = int | None
Code = Annotated[str, Field(max_length=80)]
"""An element code: three jumps with every call and mark need half of that."""


class Request(BaseModel):
    """Any part of a request: frozen, no unknown fields."""

    model_config = ConfigDict(extra="forbid", frozen=True)


R = TypeVar("R", bound=Request)


class ScoreElement(Request):
    """One element of a sheet as called; never with `*` or `+REP`, which are the engine's to find."""

    code: Code
    late: bool = False
    judges: tuple[Mark, ...] | None = None
    error: bool = False
    fall: bool = False
    """A fall is an error too; where a level has bonuses, it may void one."""


class ScoreComponent(Request):
    name: str
    factor: Decimal | None = Field(default=None, ge=Decimal("0.01"), le=20)
    judges: tuple[Decimal | None, ...] = ()


class ScoreRequest(Request):
    """A whole sheet. `other_deductions` is zero or negative."""

    edition: str
    elements: tuple[ScoreElement, ...] = Field(max_length=40)
    components: tuple[ScoreComponent, ...] | None = None
    falls: int | None = Field(default=None, ge=0, le=40)
    other_deductions: Decimal | None = Field(default=None, le=0, ge=-100)
    switches: dict[str, str] = {}


class Reading(Request):
    """One possible reading of what just happened."""

    code: Code | None
    chance: Decimal = Field(gt=0, le=1)
    fall: bool = False
    error: bool = False


class DonePass(Request):
    """A pass already skated: a code, or a belief `any_of`; `code` null: no attempt came of it."""

    code: Code | None = None
    any_of: tuple[Reading, ...] | None = Field(default=None, min_length=1, max_length=8)
    late: bool = False
    fall: bool = False
    error: bool = False
    planned: str | None = None
    tried: str | None = None

    @model_validator(mode="before")
    @classmethod
    def _one_of_both(cls, data: Any) -> Any:
        if isinstance(data, Mapping) and ("code" in data) == (data.get("any_of") is not None):
            raise ValueError("give either code or any_of")
        return data


class Outcome(Request):
    """What an attempt may become. `becomes` null: no attempt came of it, the box stays free."""

    becomes: Code | None
    chance: Decimal = Field(ge=0, le=1)
    goe: Decimal = Field(default=Decimal(0), ge=-5, le=5)
    fall: bool = False
    error: bool = False


Attempts = dict[str, tuple[Outcome, ...]]


class PlannedPass(Request):
    """A pass still to come. An option null leaves it out."""

    planned: str | None = None
    late: bool = False
    options: tuple[str | None, ...] = Field(min_length=1, max_length=400)
    attempts: Attempts = {}
    attempts_after_fall: Attempts = {}


class Aim(Request):
    """`expected` points, or the best chance of `at_least` so many."""

    kind: Literal["expected", "at_least"] = "expected"
    points: Decimal | None = None

    @model_validator(mode="after")
    def _agree(self) -> Aim:
        if (self.kind == "at_least") != (self.points is not None):
            raise ValueError("points go with at_least, and only with it")
        return self


class AdviseRequest(Request):
    """A program under way: what was done, what may come, and what each attempt may become."""

    edition: str
    done: tuple[DonePass, ...] = Field(default=(), max_length=20)
    passes: tuple[PlannedPass, ...] = Field(min_length=1, max_length=12)
    attempts: Attempts = {}
    aim: Aim = Aim()
    max_changes: int | None = Field(default=None, ge=0)
    switches: dict[str, str] = {}


def read_request(kind: type[R], data: object, field: str = "") -> R:
    """Check raw JSON data against a contract. Raises InputError naming the first faulty field."""
    if isinstance(data, kind):
        return data
    try:
        return kind.model_validate(data)
    except ValidationError as error:
        found = _as_input_error(error)
        raise (found.inside(field) if field else found) from None


def _as_input_error(error: ValidationError) -> InputError:
    fault = error.errors()[0]
    field = ""
    for part in fault["loc"]:
        field += f"[{part}]" if isinstance(part, int) else f".{part}" if field else str(part)
    if fault["type"] == "missing":
        return InputError(field, say("missing"))
    if fault["type"] == "extra_forbidden":
        return InputError(field, say("unknown field; see the contract for the fields there are"))
    message = fault["msg"].removeprefix("Value error, ")
    return InputError(field, say("%(what)s (given: %(fault)s)", what=message, fault=str(fault["input"])[:80]))

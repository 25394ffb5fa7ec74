"""Every error Recoup raises on purpose, drawn as a tree.

    RecoupError
    ├── RulebookError        a rule or value file is wrong; the message names file, table and row
    │   └── UnknownEdition   no rulebook of that name
    ├── StorageTrouble       disk or database file: full, read-only, damaged, of a newer Recoup; says the way out
    └── InputError           what the caller gave cannot be used; names the field
        ├── NotationError    an element code that cannot be read
        ├── ChangedMeanwhile what a form was about is no longer what its page showed
        └── ProgramError     a program that contradicts its rulebook or its own log

Faults *in a program* are not errors: they are rulings, reported together.
"""

from __future__ import annotations


class RecoupError(Exception):
    """Root of everything Recoup raises on purpose."""


class RulebookError(RecoupError):
    """A rule or value file is wrong. The message names file, table and row."""

    def __init__(self, where: str, problem: str) -> None:
        super().__init__(f"{where}: {problem}")
        self.where = where
        self.problem = problem


class StorageTrouble(RecoupError):
    """The disk, the database file or its folder cannot do what is needed. Says what is safe and the way out."""


class InputError(RecoupError):
    """Input that cannot be used: which field, what was given, what was expected, the way out."""

    def __init__(self, field: str, problem: str) -> None:
        super().__init__(f"{field}: {problem}" if field else problem)
        self.field = field
        self.problem = problem

    def inside(self, field: str) -> InputError:
        """The same error seen from a container: `inside("passes[2]")` prefixes the field."""
        joined = f"{field}.{self.field}" if self.field else field
        return InputError(joined, self.problem)


class UnknownEdition(RulebookError, InputError):
    """No rulebook of that name."""

    def __init__(self, problem: str) -> None:
        InputError.__init__(self, "edition", problem)


class NotationError(InputError):
    """An element code that cannot be read; `problem` says the offending part and what was expected."""

    def __init__(self, code: str, offending: str, expected: str, problem: str) -> None:
        super().__init__("code", problem)
        self.code = code
        self.offending = offending
        self.expected = expected


class ChangedMeanwhile(InputError):
    """Somebody else changed what a form is about after its page was made. Nothing was changed by the form."""


class ProgramError(InputError):
    """A program that contradicts its rulebook (more elements done than boxes) or its own log."""

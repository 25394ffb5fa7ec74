"""What every table of a rule file has in common: frozen, no unknown keys, document, paragraph, certainty."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict, Field

from app.domain.rulings import Certainty, RuleRef


class Table(BaseModel):
    """Any table of a rule file: frozen, no unknown keys."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


class Rule(Table):
    """A table that states a rule. `note` says in plain words what is odd or unsure about it."""

    document: str = Field(min_length=2)
    paragraph: str = Field(min_length=1)
    certainty: Certainty
    note: str = ""

    @property
    def ref(self) -> RuleRef:
        return RuleRef(self.document, self.paragraph, self.certainty)

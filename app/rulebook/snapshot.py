"""An edition whole, with its values, as plain JSON: what a layout or a live program rests on, kept beside it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from app.errors import RulebookError
from app.rulebook.editions import Edition
from app.rulebook.loader import first_fault
from app.rulebook.schema import Rules
from app.rulebook.values import ValueTable


def snapshot_of(book: Edition) -> dict[str, Any]:
    """Every number in force, with its source."""
    values = book.values
    return {
        "title": book.title,
        "issuer": book.issuer,
        "level_words": book.level_words,
        "copied_from": book.copied_from,
        "settings": dict(book.settings),
        "rules": book.rules.model_dump(mode="json", exclude_defaults=True),
        "values": {
            "name": values.name,
            "rows": [[*key, points, values.sources[key]] for key, points in sorted(values.rows.items())],
        },
    }


def from_snapshot(name: str, kept: Mapping[str, Any]) -> Edition:
    """The other way. Raises RulebookError."""
    try:
        rules = Rules.model_validate(kept["rules"])
        rows = [(str(c), str(v), int(points), str(source)) for c, v, points, source in kept["values"]["rows"]]
        return Edition(
            name=name,
            title=kept["title"],
            issuer=kept["issuer"],
            level_words=kept["level_words"],
            rules=rules,
            values=ValueTable(
                kept["values"]["name"],
                {(code, variant): points for code, variant, points, _ in rows},
                {(code, variant): source for code, variant, _, source in rows},
            ),
            settings=kept["settings"],
            copied_from=kept["copied_from"],
        )
    except ValidationError as error:
        raise RulebookError(name, first_fault(error)) from None
    except (KeyError, TypeError, ValueError) as error:
        raise RulebookError(name, f"kept in a shape that cannot be read: {error}") from None

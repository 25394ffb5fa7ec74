"""Settings: command line before environment before default; a wrong value is named."""

from __future__ import annotations

from pathlib import Path

import pytest

from app.errors import InputError
from app.settings import PROJECT, TABLE, Settings, from_environment


def test_defaults_keep_to_this_machine() -> None:
    settings = from_environment({})
    assert settings == Settings()
    assert (settings.host, settings.lan) == ("127.0.0.1", False)
    assert settings.database_file.is_relative_to(PROJECT / "var")


def test_the_command_line_wins_over_the_environment() -> None:
    given = {"RECOUP_PORT": "9000", "RECOUP_LAN": "yes", "RECOUP_DATA_DIR": "elsewhere", "RECOUP_HOST": ""}
    settings = from_environment(given, port=9100, host=None)
    assert settings == Settings(port=9100, lan=True, data_dir=Path("elsewhere"))


@pytest.mark.parametrize(
    ("variable", "text", "message"),
    [
        ("RECOUP_PORT", "many", "RECOUP_PORT: 'many' given; expected a whole number"),
        ("RECOUP_LAN", "2", "yes or no"),
    ],
)
def test_an_unusable_value_is_named(variable: str, text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        from_environment({variable: text})


def test_every_setting_explains_itself() -> None:
    assert len({row.name for row in TABLE}) == len(TABLE)
    assert all(row.help for row in TABLE)

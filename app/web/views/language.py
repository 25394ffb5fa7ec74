"""The page on which a device chooses its language, and the coach that of all devices that have not."""

from __future__ import annotations

from dataclasses import dataclass

from app.web.languages import LANGUAGES, Language


@dataclass(frozen=True, slots=True)
class LanguageView:
    """`chosen`: the code in use here; `back`: where the reader came from; `usual`: the coach's setting.

    `is_coach`: whether this visitor may change that setting.
    """

    languages: tuple[Language, ...]
    chosen: str
    back: str
    usual: str
    is_coach: bool


def language_view(chosen: str, back: str, usual: str, is_coach: bool) -> LanguageView:
    """Everything to choose from, each called by its own name."""
    return LanguageView(tuple(LANGUAGES.values()), chosen, back, usual, is_coach)


def own_path(address: str) -> str:
    """An address of this app to go back to; the first page for anything else."""
    return address if address.startswith("/") and not address.startswith(("//", "/\\")) else "/"

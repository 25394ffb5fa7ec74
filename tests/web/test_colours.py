"""Contrast of the style sheet's colours, light and dark, by the formula of WCAG 2.2 (relative luminance).

Source of formula and floors: WCAG 2.2, success criteria 1.4.3 (text 4.5:1) and 1.4.11 (edges of controls 3:1).
"""

from __future__ import annotations

import re

import pytest

from app.settings import PROJECT

SHEET = (PROJECT / "static" / "app.css").read_text(encoding="utf-8")
TEXT = [
    ("ink", "ice"),
    ("ink", "paper"),
    ("ink", "shade"),
    ("ink-soft", "ice"),
    ("ink-soft", "paper"),
    ("ink-soft", "shade"),
    ("ice", "ink"),
    ("on-accent", "accent"),
]
EDGES = [("edge", "ice"), ("edge", "paper"), ("ink", "ice"), ("on-accent", "accent")]


THEMES = {
    "light": (":root",),
    "dark by the device": (":root", ':root:not([data-colours="light"], [data-colours="contrast"])'),
    "dark by choice": (":root", ':root[data-colours="dark"]'),
    "high contrast": (":root", ':root[data-colours="contrast"]'),
}


def colours(theme: str) -> dict[str, str]:
    """Names and values of the sheet; later blocks override earlier ones."""
    blocks = {
        name.strip(): text for name, text in re.findall(r"(:root[^{,;]*(?:,[^{;]*)?)\{([^}]*)\}", SHEET)
    }
    found: dict[str, str] = {}
    for name in THEMES[theme]:
        assert name in blocks, f"{name} is not among {sorted(blocks)}"
        found |= dict(re.findall(r"--([a-z-]+):\s*(#[0-9a-f]{6})", blocks[name]))
    return found


def test_dark_is_the_same_by_device_and_by_choice() -> None:
    assert colours("dark by the device") == colours("dark by choice")


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2: 1 to 21."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_black_on_white_is_twenty_one_to_one() -> None:
    # WCAG 2.2 states the range of the ratio: 1 to 21.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


@pytest.mark.parametrize("theme", list(THEMES))
@pytest.mark.parametrize(("front", "back"), TEXT)
def test_text_can_be_read(front: str, back: str, theme: str) -> None:
    known = colours(theme)
    assert contrast(known[front], known[back]) >= 4.5


@pytest.mark.parametrize("theme", list(THEMES))
@pytest.mark.parametrize(("front", "back"), EDGES)
def test_edges_of_controls_can_be_seen(front: str, back: str, theme: str) -> None:
    known = colours(theme)
    assert contrast(known[front], known[back]) >= 3


def test_examples_in_fields_use_a_readable_colour() -> None:
    # The browser's own grey stayed under 4.5:1 on the dark fields (WCAG 2.2, 1.4.3 holds for examples too).
    found = re.search(r"::placeholder\s*\{([^}]*)\}", SHEET)
    assert found
    assert "color: var(--ink-soft)" in found[1]
    assert "opacity: 1" in found[1]
    assert ("ink-soft", "paper") in TEXT

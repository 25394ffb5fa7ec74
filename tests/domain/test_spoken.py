"""Codes in plain words. The names are the sport's own: the list of jumps in the ISU Technical Panel Handbook."""

from __future__ import annotations

import pytest

from app.domain.spoken import spoken


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("3Lz", "triple Lutz"),
        ("2A", "double Axel"),
        ("4T", "quadruple toe loop"),
        ("3Lz+3T", "triple Lutz with a triple toe loop"),
        ("2A+2T+2Lo", "double Axel with a double toe loop and a double loop"),
        ("3F+Eu+3S", "triple flip with a small linking jump (Euler) and a triple Salchow"),
        ("3S+2A+SEQ", "triple Salchow followed by a double Axel"),
        ("1A", "single Axel"),
        ("Lz", "popped Lutz"),
    ],
)
def test_a_code_is_said_as_a_parent_would_hear_it(code: str, words: str) -> None:
    assert spoken(code) == words


@pytest.mark.parametrize("marked", ["3Lz<+3T*", "3Lzq+3T<<", "3Lz!+3T", "3Lze+3T+REP"])
def test_what_a_panel_marked_is_left_out(marked: str) -> None:
    assert spoken(marked) == "triple Lutz with a triple toe loop"

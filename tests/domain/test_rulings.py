"""A ruling carries its rule, how sure it is, and why."""

from __future__ import annotations

from app.domain.rulings import CERTAINTIES, RuleRef, Ruling, ruling


def test_a_ruling_cites_document_and_paragraph() -> None:
    ref = RuleRef("Handbook", "doubles at most twice", "second-hand")
    assert ruling(2, "nothing", ref, "third 2T") == Ruling(
        jump=2,
        ruling="nothing",
        rule="Handbook, doubles at most twice",
        certainty="second-hand",
        why="third 2T",
    )


def test_certainty_runs_from_surest_to_least_sure() -> None:
    """The order the README explains: read, second-hand, inferred, memory, your own."""
    assert CERTAINTIES == ("read", "second-hand", "inferred", "memory", "your own")

"""A verdict of the trainer without points, for a skater's own phone where the coach lets none show."""

from __future__ import annotations

from dataclasses import replace

from app.domain.words import say
from app.practice.verdicts import Weight
from app.web.views.trainer import VerdictView

PLAIN = {
    Weight.RIGHT: "",
    Weight.CLOSE: say("As good as the best trained answer, or nearly."),
    Weight.AWAY: say("Another trained answer is better here."),
    Weight.WORTHLESS: say("Keeping the plan is better."),
}
"""A verdict without points, where no rule explains it."""


def without_points(view: VerdictView, weight: Weight, is_swap: bool) -> VerdictView:
    """The same verdict without any points; `is_swap`: the right answer is a change, whose reason names none."""
    word = view.word if weight is not Weight.AWAY else say("Another answer is better")
    why = (
        view.why
        if (view.rules and weight is Weight.WORTHLESS) or (weight is Weight.RIGHT and is_swap)
        else ""
    )
    return replace(
        view,
        word=word,
        points="",
        why=why or PLAIN[weight],
        right_why=view.right_why if is_swap else "",
    )

"""The one line: headline, need, one sentence, the rules behind it. Elements and gains are invented."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

import pytest

from app import engine
from app.domain.rulings import Ruling
from app.live.advice import Choice, Swap
from app.live.events import Event, PassSkated, Reading
from app.live.fold import fold
from app.live.line import Ground, Line, line_of
from app.live.program import KnownElement, Limits, Outcome, Plan, PlannedPass, Setting
from app.live.rule_notes import RuleNote, notes_for
from app.live.tempting import Tempting, refusal

PLAN = Plan(
    "isu/2026-27/senior/women/free",
    Setting.RUN_THROUGH,
    "",
    (
        PlannedPass("3Lz+3T", 18, False),
        PlannedPass("3F", 42, False),
        PlannedPass("3Lo+2T", 128, True),
        PlannedPass("3S", 190, True),
    ),
)
LOST = PassSkated(1, "3Lz+3T", "tail lost", (Reading("3Lz", error=True),))
CLEAN = PassSkated(1, "3Lz+3T", "as planned", (Reading("3Lz+3T"),))
THIRD_2T = Ruling(2, "nothing", "a document, a paragraph", "second-hand", "third 2T")


def offered(code: str) -> dict[str, KnownElement]:
    """One trained element."""
    return {code: KnownElement(code, True, 25, 18, date(2026, 11, 20), (Outcome(code, 1.0),))}


def said(
    choice: Choice,
    events: Sequence[Event] = (LOST,),
    as_planned: Mapping[int, Sequence[Ruling]] | None = None,
    edition: str = PLAN.edition,
) -> Line:
    """The line for a choice."""
    element = choice.swap.element if choice.swap else None
    ground = Ground(
        state=fold(PLAN, events),
        edition=engine.edition(edition),
        offered=offered(element) if element else {},
        limits=Limits(),
        as_planned=as_planned or {},
    )
    return line_of(choice, ground)


def test_a_swap_names_pass_element_gain_and_what_it_needs() -> None:
    line = said(Choice(Swap(4, "3S", "3S+2T", 1.234), 1.234))
    assert (line.is_swap, line.headline) == (True, "Pass 4: 3S+2T")
    assert (line.gain, line.needs) == ("+1.2 points", "trained 18 of 25")


def test_a_swap_on_the_pass_to_come_says_now() -> None:
    assert said(Choice(Swap(2, "3F", "3F+2T", 1.0), 1.0)).headline == "Now: 3F+2T"


def test_a_lost_combination_is_the_reason_for_a_tail() -> None:
    line = said(Choice(Swap(4, "3S", "3S+2T", 1.0), 1.0))
    assert line.why == (
        "The combination lost on pass 1 left a place free: adding 2T to the 3S on pass 4 uses it."
    )


def test_without_a_loss_a_free_combination_is_the_reason() -> None:
    line = said(Choice(Swap(4, "3S", "3S+2T", 1.0), 1.0), events=[CLEAN])
    assert line.why == "A combination is still free: a 2T after the 3S uses it."


def test_a_ruling_on_the_plan_is_the_reason_when_there_is_one() -> None:
    line = said(Choice(Swap(3, "3Lo+2T", "3Lo", 0.8), 0.8), as_planned={3: [THIRD_2T]})
    assert line.why == "As planned, the 2T in pass 3 would count for nothing; 3Lo avoids that."
    assert (line.notes[0].says, line.notes[0].certainty) == ("third 2T", "second-hand")


def test_a_surer_element_is_called_surer() -> None:
    line = said(Choice(Swap(3, "3Lo+2T", "3Lo", 0.8), 0.8))
    assert line.why == "3Lo is surer than 3Lo+2T: misses cost more than the extra jump brings."


def test_leaving_a_pass_out_has_no_element_to_train() -> None:
    line = said(Choice(Swap(4, "3S", None, 0.8), 0.8))
    assert (line.headline, line.needs) == ("Pass 4: leave it out", "")


@pytest.mark.parametrize(
    ("choice", "why"),
    [
        (Choice(None, 0.0), "Nothing else is trained for the passes to come."),
        (
            Choice(None, 0.3),
            "The best trained swap brings only 0.3 points: too little for a change.",
        ),
        (Choice(None, 0.0, "3F+2T right now"), "Not offered: 3F+2T right now."),
    ],
)
def test_keeping_the_plan_says_why(choice: Choice, why: str) -> None:
    line = said(choice)
    assert (line.headline, line.why, line.is_swap) == ("Keep the plan", why, False)


def test_after_two_changes_that_is_the_reason() -> None:
    changed = [
        PassSkated(1, "3Lz", "as planned", (Reading("3Lz"),)),
        PassSkated(2, "3F+2T", "as planned", (Reading("3F+2T"),)),
    ]
    assert said(Choice(None, 2.0), changed).why.startswith("2 changes in one program are enough")


def test_keeping_the_plan_still_says_what_it_loses() -> None:
    line = said(Choice(None, 0.0), as_planned={3: [THIRD_2T]})
    assert line.why.endswith("The 2T in pass 3 will count for nothing.")
    assert line.caution == "partly second-hand"


def test_the_line_marks_what_is_not_read_in_the_rulebook_itself() -> None:
    # rules sheet 1.2: the limits of 2026/27 are second-hand, the unchanged rest is inferred.
    assert said(Choice(Swap(4, "3S", "3S+2T", 1.0), 1.0)).caution == "partly inferred"


def test_a_line_on_rules_read_in_the_rulebook_carries_no_mark() -> None:
    # rules sheet 3.1-3.4: units and repeats of 2025/26 were read in the technical panel handbook.
    line = said(Choice(Swap(4, "3S", "3S+2T", 1.0), 1.0), edition="isu/2025-26/senior/women/free")
    assert line.caution == ""
    assert line.notes


def test_an_euler_rests_on_a_disputed_reading() -> None:
    # rules sheet 1.2: two sources contradict each other on an Euler beside a sequence.
    notes = notes_for(engine.edition(PLAN.edition), ("2A+Eu+3S",), ())
    assert any(note.disputed for note in notes)


def test_a_repeat_too_many_in_2026_27_rests_on_a_disputed_reading() -> None:
    """Rules sheet 1.2: whether the clause of two repeats still stands is written nowhere. Used to be unmarked."""
    book = engine.edition(PLAN.edition)
    done = [engine.Performed(code) for code in ("3Lz+2T", "3F+3Lo", "3Lz", "3F", "2A")]
    (third,) = engine.would_count(book, done, ["3Lo"])[0].rulings
    (note,) = notes_for(book, (), (third,))
    assert note.disputed
    cap = Ruling(1, "nothing", str(book.rules.family.ref), "second-hand", "no more T")  # type: ignore[union-attr]  # it has one
    assert not notes_for(book, (), (cap,))[0].disputed


def test_the_note_on_repeats_says_the_rule_in_force() -> None:
    """2A is named where it shares the quota (question bank, US Intermediate); quads have a tighter one (TPH25)."""
    intermediate = " ".join(note.says for note in _notes("usa/2025-26/intermediate/all/free"))
    assert "Each of the triples and 2A counts 2 times at most." in intermediate
    women = " ".join(note.says for note in _notes("isu/2026-27/senior/women/free"))
    assert "Among those, of the quads and quintuples: 1 at most." in women
    dropped = " ".join(note.says for note in _notes("isu/2026-27/senior/women/free", "dropped"))
    assert "repeated" not in dropped


def _notes(name: str, clause: str = "") -> tuple[RuleNote, ...]:
    readings = {"repeats_clause_beside_the_family_cap": clause} if clause else {}
    return notes_for(engine.edition(name, readings), ("3F",), ())


def test_the_most_tempting_untrained_element_is_refused_with_the_reason() -> None:
    found = [
        Tempting(3, "2A+3T", 1.0, "Not trained: not ticked"),
        Tempting(4, "3S+3T", 4.6, "Not trained: 3 logged attempts, 10 needed"),
    ]
    assert refusal(found, 0.5) == (
        "Not offered: 3S+3T on pass 4 (+4.6 on paper). Not trained: 3 logged attempts, 10 needed."
    )


def test_nothing_is_refused_when_nothing_would_bring_enough() -> None:
    assert refusal([Tempting(3, "2A+3T", 0.4, "not ticked")], 0.5) == ""


SHORT = Plan(
    "isu/2026-27/senior/women/short",
    Setting.RUN_THROUGH,
    "",
    (
        PlannedPass("3Lz+3T", 20, False),
        PlannedPass("2A", 44, False),
        PlannedPass("3F", 88, True, ("3F+2T", "3F+3T")),
    ),
)


@pytest.mark.parametrize(
    ("choice", "trained", "said"),
    [
        (
            Choice(Swap(3, "3F", "3F+2T", 1.3), 1.3),
            "3F+2T",
            "still owed: a 2T after the 3F on pass 3 makes it.",
        ),
        (Choice(None, 0.0), "3F+2T", "still owed, but moving it to a later pass is not worth a change."),
        (Choice(None, 0.0), "3S", "still owed, and nothing trained for the passes to come makes it."),
    ],
)
def test_a_lost_combination_of_a_short_program_is_spoken_of(choice: Choice, trained: str, said: str) -> None:
    ground = Ground(fold(SHORT, [LOST]), engine.edition(SHORT.edition), offered(trained), Limits(), {})
    assert line_of(choice, ground).why.endswith(said)


def test_a_trained_swap_that_brings_nothing_is_told_from_none_at_all() -> None:
    start = fold(SHORT, [])
    some = Ground(start, engine.edition(SHORT.edition), offered("3F+2T"), Limits(), {})
    none = Ground(start, engine.edition(SHORT.edition), offered("3S"), Limits(), {})
    assert line_of(Choice(None, 0.0), some).why == "No trained swap brings more than the program as planned."
    assert line_of(Choice(None, 0.0), none).why == "Nothing else is trained for the passes to come."


def test_the_skaters_own_words_ride_along_with_a_swap() -> None:
    known = {"3S+2T": replace(offered("3S+2T")["3S+2T"], cue="invented words")}
    ground = Ground(fold(PLAN, [LOST]), engine.edition(PLAN.edition), known, Limits(), {})
    assert line_of(Choice(Swap(4, "3S", "3S+2T", 1.0), 1.0), ground).cue == "invented words"
    assert line_of(Choice(None, 0.0), ground).cue == ""


def test_a_swap_says_what_it_takes_from_a_later_pass() -> None:
    swap = Swap(2, "3F", "3F+3T", 1.0)
    known = offered("3F+3T")
    gone = {3: (THIRD_2T,)}
    ground = Ground(fold(PLAN, [CLEAN]), engine.edition(PLAN.edition), known, Limits(), {}, gone)
    assert line_of(Choice(swap, 1.0), ground).why == (
        "Misses included, a 3T after the 3F brings more here than what it takes later. "
        "But then the 2T in pass 3 will count for nothing."
    )
    lost_anyway = Ground(fold(PLAN, [CLEAN]), engine.edition(PLAN.edition), known, Limits(), gone, gone)
    assert "But then" not in line_of(Choice(swap, 1.0), lost_anyway).why

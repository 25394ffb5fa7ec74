"""The rule check of a layout: every fault with a concrete mend, and the traps that wait behind a miss."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from app import engine
from app.domain.notation import parse_jump_element
from app.domain.rulings import Ruling
from app.domain.words import both, clauses, figure, listed, say, sentences
from app.live.entries import why_unfit
from app.live.program import KnownElement, PlannedPass
from app.live.rule_notes import HOW_SURE
from app.planner.consequences import What
from app.planner.mends import Fault, Mend, Planned, Trap, faults, traps
from app.rulebook.editions import Edition
from app.web.views.fragility_words import UNUSED, condition, percent, taken

TAILS = ("2T", "2Lo")
"""The doubles that are commonly kept as spare tails (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class MendView:
    """One edit in words: `Pass 6: make the 2T a 2Lo, 3S+2Lo`; `points` with sign; a caution, or empty."""

    says: str
    points: str
    caution: str


@dataclass(frozen=True, slots=True)
class FaultView:
    """One pass that does not count in full: what is wrong, why, by which rule, and how it is mended."""

    says: str
    why: str
    rule: str
    mends: tuple[MendView, ...]


@dataclass(frozen=True, slots=True)
class TrapView:
    """One trap in a sentence, with the rule behind it and how sure we are; empty where the plan alone says it."""

    says: str
    rule: str = ""


@dataclass(frozen=True, slots=True)
class RuleCheckView:
    """All faults, and what to beware of though nothing is wrong yet."""

    faults: tuple[FaultView, ...]
    traps: tuple[TrapView, ...]


def rule_check(
    book: Edition, passes: Sequence[PlannedPass], offered: Mapping[str, KnownElement]
) -> RuleCheckView:
    """The rule check of the jump passes of a layout. `offered`: the trained elements by code.

    On a pass only those count as trained whose entry fits and for whose tails there is time.
    """
    program = [Planned(row.code, row.late) for row in passes]
    trained = [[code for code, one in offered.items() if not why_unfit(row, one)] for row in passes]
    return RuleCheckView(
        faults=tuple(_fault(one, book) for one in faults(book, program, trained)),
        traps=(
            *_no_spare_tail(book, program),
            *(_trap(one, program, book) for one in traps(book, program)),
        ),
    )


def _fault(fault: Fault, book: Edition) -> FaultView:
    jumps = parse_jump_element(fault.code).jumps
    said = [
        say("%(jump)s counts for nothing", jump=jumps[one.jump - 1].name)
        if one.ruling == "nothing"
        else say(
            "%(jump)s counts for %(percent)s %% of its value",
            jump=jumps[one.jump - 1].name,
            percent=percent(book),
        )
        for one in fault.rulings
    ]
    return FaultView(
        says=say(
            "Pass %(number)s, %(code)s: %(said)s", number=fault.number, code=fault.code, said=listed(said)
        ),
        why=clauses(_reasons([one.why for one in fault.rulings])),
        rule=_rules(fault.rulings, book),
        mends=tuple(_mend(one) for one in fault.mends),
    )


def _rules(rulings: Sequence[Ruling], book: Edition) -> str:
    """The rules behind some rulings, each with how sure we are; without any, the one that asks for an Axel."""
    axel = book.rules.axel.ref
    cited = [(one.rule, one.certainty) for one in rulings] or [(str(axel), axel.certainty)]
    return sentences(
        *(
            say("%(rule)s. How sure: %(sure)s.", rule=rule, sure=HOW_SURE[sure])
            for rule, sure in dict.fromkeys(cited)
        )
    )


def _reasons(said: Sequence[str]) -> list[str]:
    """Each reason once, and none that another one contains."""
    unique = list(dict.fromkeys(said))
    return [one for one in unique if not any(one in other and one != other for other in unique)]


def _mend(mend: Mend) -> MendView:
    return MendView(
        says=say("Pass %(number)s: %(element)s", number=mend.number, element=_edit(mend)),
        points=figure(mend.points / 100, 2, signed=True),
        caution="" if mend.trained else say("not trained for this pass"),
    )


def _edit(mend: Mend) -> str:
    """The edit as a coach would say it."""
    if mend.code is None:
        return say("leave %(was)s out", was=mend.was)
    was, now = parse_jump_element(mend.was).jumps, parse_jump_element(mend.code).jumps
    names = [jump.name for jump in was], [jump.name for jump in now]
    if len(was) > len(now) and names[0][: len(now)] == names[1]:
        return say("drop the %(tails)s, %(code)s", tails="+".join(names[0][len(now) :]), code=mend.code)
    different = [place for place, (a, b) in enumerate(zip(*names, strict=False)) if a != b]
    if len(was) == len(now) and len(different) == 1 and different[0]:
        return say(
            "make the %(was)s a %(now)s, %(code)s",
            was=names[0][different[0]],
            now=names[1][different[0]],
            code=mend.code,
        )
    return say("%(code)s instead of %(was)s", code=mend.code, was=mend.was)


def _trap(trap: Trap, program: Sequence[Planned], book: Edition) -> TrapView:
    slip = trap.slip
    fails = condition(slip.kind, trap.number, slip.jump, slip.code, program[trap.number - 1].code)
    follows = [
        UNUSED[one.what] if one.what is What.AXEL else taken(one, program[one.number - 1].code, book)
        for one in trap.effects
    ]
    rulings = [ruling for one in trap.effects for ruling in one.rulings]
    return TrapView(say("%(fails)s, %(follows)s.", fails=fails, follows=both(follows)), _rules(rulings, book))


def _no_spare_tail(book: Edition, program: Sequence[Planned]) -> Iterator[TrapView]:
    """Said when the doubles for spare tails are spent by the plan itself."""
    if book.is_short or not program:
        return
    left = engine.left_to_use(book, [engine.Performed(one.code, one.late) for one in program]).doubles
    gone = [name for name in TAILS if not left[name]]
    if len(gone) == len(TAILS):
        yield TrapView(
            say("All %(gone)s are planned: no spare tail is left for a lost one.", gone=both(gone))
        )
    elif gone:
        spare = next(name for name in TAILS if name not in gone)
        yield TrapView(
            say("Every %(gone)s is planned: a spare tail can only be a %(spare)s.", gone=gone[0], spare=spare)
        )

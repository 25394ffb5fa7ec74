"""What a skate's one-page report is made of: what went well, what came out otherwise, at most one thing to rehearse.

Values only; the words for coach and guardian are `app.web.views.report_words`'s.

**The one thing**, by this ladder:

1. Somebody was hurt: nothing.
2. A choice was short of the best trained one by the coach's threshold: the answer at that pass, which is learned off
   the ice.
3. The same kind of miss on two passes or more, that together cost the threshold: that kind. One miss says little about
   a skater, two alike may (common practice, no source).
4. Nothing: the choices were right, and what did not come off was luck.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element
from app.domain.points import Points
from app.review.compare import Beside, Called, Tried
from app.review.decisions import Decision, mattered_most
from app.review.price import Cost

ALIKE = 2
"""Passes with the same kind of miss before it is worth rehearsing. Common practice, no source."""


class Miss(StrEnum):
    """How a pass came out otherwise than tried, or was called; a pass may have several."""

    NOT_DONE = "not attempted"
    FELL = "fell"
    POPPED = "popped"
    TAIL_LOST = "tail lost"
    TAIL_SHORT = "tail shortened"
    TURNS = "called short of turns"
    EDGE = "called for its edge"
    UNCLEAN = "with an error"
    RULE = "counts less by the rules"


REHEARSED = (Miss.FELL, Miss.POPPED, Miss.TAIL_LOST, Miss.TAIL_SHORT, Miss.TURNS, Miss.EDGE)
"""Kinds that something can be rehearsed for."""


@dataclass(frozen=True, slots=True)
class PassFact:
    """One pass. `number` on the plan, 0 for one put in; `tried` and `came` None: not logged, or not attempted.

    `called` as printed, None without a sheet; `lost`: hundredths it cost with what it dragged along, negative where
    points were lost, its grade only where it came out otherwise; `goe`: what the panel gave, None without a sheet.
    """

    number: int
    planned: str | None
    tried: str | None
    came: str | None
    called: str | None
    misses: tuple[Miss, ...]
    changed: bool
    lost: Points = 0
    goe: Points | None = None

    @property
    def kept(self) -> bool:
        """As planned, came and so called."""
        return not self.misses and not self.changed and self.planned is not None and self.came is not None

    @property
    def fell(self) -> bool:
        return Miss.FELL in self.misses

    @property
    def name(self) -> str:
        """The element it goes by: as planned, else as it came."""
        return self.planned or self.came or self.called or ""


@dataclass(frozen=True, slots=True)
class Strengths:
    """What went well. `kept`: passes as planned; `after_fall`: came right after a fall; `changed_well`: changes that
    were right and came; `best`: the best grade of the panel above 0; `attempted` of `passes`."""

    kept: tuple[PassFact, ...]
    after_fall: tuple[PassFact, ...]
    changed_well: tuple[Decision, ...]
    best: PassFact | None
    attempted: int
    passes: int


@dataclass(frozen=True, slots=True)
class Rehearsal:
    """The one thing: a choice, or a kind of miss with the passes it happened on."""

    choice: Decision | None = None
    miss: Miss | None = None
    passes: tuple[PassFact, ...] = ()


@dataclass(frozen=True, slots=True)
class Report:
    """A skate told kindly. `unlucky`: choices that were right and did not come off; `judged`: choices were weighed."""

    strengths: Strengths
    others: tuple[PassFact, ...]
    unlucky: tuple[Decision, ...]
    rehearsal: Rehearsal | None
    judged: bool


def facts(
    lines: Sequence[Beside],
    costs: Sequence[Cost],
    planned: Sequence[str],
    log: Sequence[Tried],
    called: Sequence[Called],
    *,
    with_sheet: bool,
) -> tuple[PassFact, ...]:
    """The passes of the three columns with what each cost; `called` without a sheet is the log as ruled."""
    return tuple(
        _fact(line, cost, planned, log, called, with_sheet) for line, cost in zip(lines, costs, strict=True)
    )


def report(found: Sequence[PassFact], chosen: Sequence[Decision], threshold: float) -> Report:
    """The report of a skate in which nobody was hurt. `threshold` in points."""
    return Report(
        strengths=_strengths(found, chosen),
        others=tuple(one for one in found if not one.kept),
        unlucky=tuple(one for one in chosen if one.right and not one.came and one.tried is not None),
        rehearsal=_rehearsal(found, chosen, threshold),
        judged=bool(chosen),
    )


def _fact(
    line: Beside,
    cost: Cost,
    planned: Sequence[str],
    log: Sequence[Tried],
    called: Sequence[Called],
    with_sheet: bool,
) -> PassFact:
    plan = None if line.planned is None else planned[line.planned]
    one = None if line.tried is None else log[line.tried]
    row = None if line.called is None else called[line.called]
    tried = None if one is None or one.code is None else one.tried
    came = None if one is None else one.code
    fell = bool(cost.fall) or (one is not None and one.fall)
    if one is None and row is not None:  # nothing logged: the sheet alone says that it was skated, and how
        tried, came = plan, row.code
    return PassFact(
        number=0 if line.planned is None else line.planned + 1,
        planned=plan,
        tried=tried,
        came=came,
        called=row.printed if row is not None and with_sheet else None,
        misses=tuple(_misses(tried, came, fell, one is not None and one.error, row)),
        changed=line.moved or plan is None or tried != plan,
        lost=cost.error + cost.call + cost.consequence + cost.bonus,
        goe=cost.grade if row is not None and with_sheet else None,
    )


def _misses(
    tried: str | None, came: str | None, fell: bool, error: bool, row: Called | None
) -> Iterable[Miss]:
    """Every way a pass missed: first what happened on the ice, then the panel's calls, then the rulebook."""
    if tried is None or came is None:
        yield Miss.NOT_DONE
        return
    on_ice = [Miss.FELL] if fell else []
    on_ice += _shorter(parse_jump_element(tried), parse_jump_element(came))
    yield from on_ice or ([Miss.UNCLEAN] if error else [])
    if row is None:
        return
    jumps = parse_jump_element(row.code).jumps
    mine = parse_jump_element(came).jumps
    if any(jump.rotation for jump in jumps) or len(jumps) < len(mine):
        yield Miss.TURNS
    if any(jump.edge for jump in jumps):
        yield Miss.EDGE
    if row.printed != row.code:
        yield Miss.RULE


def _shorter(tried: JumpElement, came: JumpElement) -> Iterable[Miss]:
    """Jumps and turns that are missing; an opened jump has no turns."""
    mine = [jump.revolutions or 0 for jump in tried.jumps if not jump.is_euler]
    theirs = [jump.revolutions or 0 for jump in came.jumps if not jump.is_euler]
    if theirs[0] < mine[0]:
        yield Miss.POPPED
    if len(theirs) < len(mine):
        yield Miss.TAIL_LOST
    if any(got < wanted for wanted, got in zip(mine[1:], theirs[1:], strict=False)):
        yield Miss.TAIL_SHORT


def _strengths(found: Sequence[PassFact], chosen: Sequence[Decision]) -> Strengths:
    graded = [one for one in found if one.goe is not None and one.goe > 0]
    pairs = pairwise(found)
    return Strengths(
        kept=tuple(one for one in found if one.kept and (one.goe is None or one.goe >= 0)),
        after_fall=tuple(then for before, then in pairs if before.fell and then.came and not then.misses),
        changed_well=tuple(one for one in chosen if one.right and one.came and one.tried != one.planned),
        best=max(graded, key=lambda one: one.goe or 0, default=None),
        attempted=sum(one.came is not None for one in found),
        passes=len(found),
    )


def _rehearsal(found: Sequence[PassFact], chosen: Sequence[Decision], threshold: float) -> Rehearsal | None:
    choice = mattered_most(tuple(chosen))
    if choice is not None:
        return Rehearsal(choice=choice)
    alike = [
        Rehearsal(miss=miss, passes=passes)
        for miss in REHEARSED
        if len(passes := tuple(one for one in found if miss in one.misses)) >= ALIKE
    ]
    worst = min(alike, key=_lost, default=None)
    return worst if worst is not None and _lost(worst) <= -round(threshold * 100) else None


def _lost(one: Rehearsal) -> Points:
    return sum(fact.lost for fact in one.passes)

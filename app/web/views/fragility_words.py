"""A failure in plain sentences: what fails, what it drags along, what it costs, the best answer, how likely it is."""

from __future__ import annotations

from collections.abc import Iterator

from app import engine
from app.live.advice import Swap, is_harder
from app.live.program import Limits
from app.planner.consequences import Effect, What
from app.planner.fragile import LEAST
from app.planner.slips import Kind
from app.rulebook.editions import Edition

PRINTED = 0.05
"""Points that show at one decimal."""
UNUSED = {
    What.AXEL: "the Axel is still owed",
    What.UNIT: "a combination place stays empty",
    What.LONG_UNIT: "the three-jump unit stays unused",
    What.REPEAT: "a place for a repeated triple stays unused",
    What.BOX: "a box stays empty",
}
"""What a program may leave over, in words, the gravest first."""


def answer_to(failure: engine.Failure, limits: Limits) -> tuple[Swap, float] | None:
    """The best trained single change that only this failure makes worth it, and what it would win without it.

    The coach's limits hold: nothing under the threshold, nothing harder right after a fall unless allowed.
    """
    return next(
        (found for found in _worth_it(failure, limits) if not _held_back(failure, found[0], limits)), None
    )


def _worth_it(failure: engine.Failure, limits: Limits) -> Iterator[tuple[Swap, float]]:
    """Changes that bring the threshold, and more than without the failure; best first."""
    for one, anyway in zip(failure.swaps, failure.anyway, strict=True):
        if one.gain >= limits.threshold and one.gain - anyway > LEAST and limits.most_changes:
            yield Swap(one.number, failure.program[one.number - 1], one.element, one.gain), anyway


def _held_back(failure: engine.Failure, swap: Swap, limits: Limits) -> bool:
    """Would it add something harder on the pass right after a fall?"""
    just_fell = failure.kind is Kind.FELL and swap.number == failure.number + 1
    harder = swap.element is not None and is_harder(swap.element, swap.planned)
    return just_fell and harder and not limits.harder_after_fall


def what_fails(failure: engine.Failure) -> str:
    """The condition: `If the 3T of pass 1 is lost`."""
    return condition(failure.kind, failure.number, failure.jump, failure.becomes, failure.planned)


def condition(kind: Kind, number: int, jump: str, becomes: str | None, planned: str) -> str:
    """A failure of pass `number` as the condition of a sentence."""
    said = f"If the {jump} of pass {number}"
    match kind:
        case Kind.FELL:
            return f"{said} ends in a fall"
        case Kind.POPPED | Kind.SINGLED:
            return f"{said} opens to a {(becomes or '').split('+')[0]}"
        case Kind.TAIL_LOST:
            return f"{said} is lost"
        case Kind.TAIL_SHORT:
            return f"{said} comes short, {becomes}"
        case Kind.LEFT_OUT:
            return f"If pass {number}, {planned}, is not attempted"


def what_follows(failure: engine.Failure, book: Edition) -> str:
    """What happens elsewhere, and the points."""
    said = [_own(failure, book), *(_effect(one, failure, book) for one in failure.effects)]
    return "; ".join([*filter(None, said), _points(failure)])


def _own(failure: engine.Failure, book: Edition) -> str:
    kinds = {ruling.ruling for ruling in failure.own_rulings}
    if "nothing" in kinds:
        return f"{failure.becomes} counts for nothing there"
    return f"{failure.becomes} keeps only {percent(book)} % there" if "part" in kinds else ""


def percent(book: Edition) -> int:
    """What a jump counted in part keeps."""
    return book.rules.part.percent if book.rules.part else 100


def _effect(effect: Effect, failure: engine.Failure, book: Edition) -> str:
    points = float(effect.points) / 100
    match effect.what:
        case What.NOTHING | What.PART:
            return taken(effect, failure.program[effect.number - 1], book)
        case What.LATE:
            return f"pass {effect.number} {'loses' if points > 0 else 'gains'} the bonus of the second half"
        case What.BETTER:
            return f"pass {effect.number} counts for {-points:.1f} more"
        case What.COMBO:
            return f"the lone jump of pass {effect.number} stands for the combination, with the lowest grade"
    return UNUSED[effect.what]


def taken(effect: Effect, code: str, book: Edition) -> str:
    """What a failure takes from another pass, planned as `code`."""
    jumps = " and ".join(names_of(effect, code))
    much = "nothing" if effect.what is What.NOTHING else f"only {percent(book)} %"
    verb = "count" if len(effect.rulings) > 1 else "counts"
    return f"the {jumps} of pass {effect.number} {verb} for {much}, {float(effect.points) / 100:.1f} points"


def names_of(effect: Effect, code: str) -> Iterator[str]:
    """The jumps that an effect takes, by name."""
    element = engine.parse(code)
    jumps = getattr(element, "jumps", ())
    for ruling in effect.rulings:
        yield jumps[ruling.jump - 1].name


def _points(failure: engine.Failure) -> str:
    said = f"{failure.cost:.1f} points in all"
    if failure.consequence >= PRINTED:
        return f"{said}, {failure.consequence:.1f} of them later"
    if failure.consequence <= -PRINTED:
        return f"{said}; {-failure.consequence:.1f} come back by themselves"
    return said


def what_answers(failure: engine.Failure, limits: Limits) -> str:
    """The best answer in a sentence."""
    found = answer_to(failure, limits)
    if found is None:
        held = next(iter(_worth_it(failure, limits)), None)
        if held is not None:
            return (
                f"Not offered: {held[0].element} on pass {held[0].number}, nothing harder right after a fall."
            )
        return "No trained change is worth making for it: keep the plan."
    swap, anyway = found
    what = (
        f"leaving pass {swap.number} out" if swap.element is None else f"{swap.element} on pass {swap.number}"
    )
    said = f"Best answer: {what} wins back {swap.gain:.1f}"
    if anyway >= PRINTED:
        said += f", {anyway:.1f} of it without the failure too"
    free = failure.replanned - swap.gain
    if free >= PRINTED and limits.most_changes > 1:
        said += f"; with up to {limits.most_changes} changes {failure.replanned:.1f}"
    return f"{said}."


def how_likely(failure: engine.Failure) -> str:
    """Chance and expected loss."""
    if not failure.chance:
        return "No chance of it is recorded."
    chance = f"{100 * failure.chance:.0f} %" if failure.chance >= 0.01 else "under 1 %"
    return f"Chance {chance}; expected loss {failure.expected_loss:.2f}."

"""A failure in plain sentences: what fails, what it drags along, what it costs, the best answer, how likely it is."""

from __future__ import annotations

from collections.abc import Iterator

from app import engine
from app.domain.words import both, clauses, ended, figure, say, say_many
from app.live.advice import Swap, is_harder
from app.live.program import Limits
from app.planner.consequences import Effect, What
from app.planner.fragile import LEAST
from app.planner.slips import Kind
from app.rulebook.editions import Edition

PRINTED = 0.05
"""Points that show at one decimal."""
UNUSED = {
    What.AXEL: say("the Axel is still owed"),
    What.UNIT: say("a combination place stays empty"),
    What.LONG_UNIT: say("the three-jump unit stays unused"),
    What.REPEAT: say("a place for a repeated triple stays unused"),
    What.BOX: say("a box stays empty"),
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
    match kind:
        case Kind.FELL:
            return say("If the %(jump)s of pass %(number)s ends in a fall", jump=jump, number=number)
        case Kind.POPPED | Kind.SINGLED:
            opened = (becomes or "").split("+")[0]
            return say(
                "If the %(jump)s of pass %(number)s opens to a %(opened)s",
                jump=jump,
                number=number,
                opened=opened,
            )
        case Kind.TAIL_LOST:
            return say("If the %(jump)s of pass %(number)s is lost", jump=jump, number=number)
        case Kind.TAIL_SHORT:
            return say(
                "If the %(jump)s of pass %(number)s comes short, %(becomes)s",
                jump=jump,
                number=number,
                becomes=becomes,
            )
        case Kind.LEFT_OUT:
            return say("If pass %(number)s, %(planned)s, is not attempted", number=number, planned=planned)


def what_follows(failure: engine.Failure, book: Edition) -> str:
    """What happens elsewhere, and the points."""
    said = [_own(failure, book), *(_effect(one, failure, book) for one in failure.effects)]
    return clauses([*said, _points(failure)])


def _own(failure: engine.Failure, book: Edition) -> str:
    kinds = {ruling.ruling for ruling in failure.own_rulings}
    if "nothing" in kinds:
        return say("%(code)s counts for nothing there", code=failure.becomes)
    if "part" not in kinds:
        return ""
    return say("%(code)s keeps only %(percent)s %% there", code=failure.becomes, percent=percent(book))


def percent(book: Edition) -> int:
    """What a jump counted in part keeps."""
    return book.rules.part.percent if book.rules.part else 100


def _effect(effect: Effect, failure: engine.Failure, book: Edition) -> str:
    points = float(effect.points) / 100
    match effect.what:
        case What.NOTHING | What.PART:
            return taken(effect, failure.program[effect.number - 1], book)
        case What.LATE:
            if points > 0:
                return say("pass %(number)s loses the bonus of the second half", number=effect.number)
            return say("pass %(number)s gains the bonus of the second half", number=effect.number)
        case What.BETTER:
            return say(
                "pass %(number)s counts for %(points)s more", number=effect.number, points=figure(-points)
            )
        case What.COMBO:
            return say(
                "the lone jump of pass %(number)s stands for the combination, with the lowest grade",
                number=effect.number,
            )
    return UNUSED[effect.what]


def taken(effect: Effect, code: str, book: Edition) -> str:
    """What a failure takes from another pass, planned as `code`."""
    said = {
        "jumps": both(names_of(effect, code)),
        "number": effect.number,
        "points": figure(float(effect.points) / 100),
    }
    if effect.what is What.NOTHING:
        return say_many(
            "the %(jumps)s of pass %(number)s counts for nothing, %(points)s points",
            "the %(jumps)s of pass %(number)s count for nothing, %(points)s points",
            len(effect.rulings),
            **said,
        )
    return say_many(
        "the %(jumps)s of pass %(number)s counts for only %(percent)s %%, %(points)s points",
        "the %(jumps)s of pass %(number)s count for only %(percent)s %%, %(points)s points",
        len(effect.rulings),
        **said,
        percent=percent(book),
    )


def names_of(effect: Effect, code: str) -> Iterator[str]:
    """The jumps that an effect takes, by name."""
    element = engine.parse(code)
    jumps = getattr(element, "jumps", ())
    for ruling in effect.rulings:
        yield jumps[ruling.jump - 1].name


def _points(failure: engine.Failure) -> str:
    cost = figure(failure.cost)
    if failure.consequence >= PRINTED:
        later = figure(failure.consequence)
        return say("%(cost)s points in all, %(later)s of them later", cost=cost, later=later)
    if failure.consequence <= -PRINTED:
        back = figure(-failure.consequence)
        return say("%(cost)s points in all; %(back)s come back by themselves", cost=cost, back=back)
    return say("%(cost)s points in all", cost=cost)


def what_answers(failure: engine.Failure, limits: Limits) -> str:
    """The best answer in a sentence."""
    found = answer_to(failure, limits)
    if found is None:
        held = next(iter(_worth_it(failure, limits)), None)
        if held is not None:
            return say(
                "Not offered: %(element)s on pass %(number)s, nothing harder right after a fall.",
                element=held[0].element,
                number=held[0].number,
            )
        return say("No trained change is worth making for it: keep the plan.")
    swap, anyway = found
    said = _wins_back(swap, anyway)
    if failure.replanned - swap.gain >= PRINTED and limits.most_changes > 1:
        said = say(
            "%(said)s; with up to %(most)s changes %(points)s",
            said=said,
            most=limits.most_changes,
            points=figure(failure.replanned),
        )
    return ended(said)


def _wins_back(swap: Swap, anyway: float) -> str:
    if swap.element is None:
        what = say("leaving pass %(number)s out", number=swap.number)
    else:
        what = say("%(element)s on pass %(number)s", element=swap.element, number=swap.number)
    if anyway < PRINTED:
        return say("Best answer: %(what)s wins back %(points)s", what=what, points=figure(swap.gain))
    return say(
        "Best answer: %(what)s wins back %(points)s, %(anyway)s of it without the failure too",
        what=what,
        points=figure(swap.gain),
        anyway=figure(anyway),
    )


def how_likely(failure: engine.Failure) -> str:
    """Chance and expected loss."""
    if not failure.chance:
        return say("No chance of it is recorded.")
    loss = figure(failure.expected_loss, 2)
    if failure.chance < 0.01:
        return say("Chance under 1 %%; expected loss %(loss)s.", loss=loss)
    chance = f"{100 * failure.chance:.0f}"
    return say("Chance %(chance)s %%; expected loss %(loss)s.", chance=chance, loss=loss)

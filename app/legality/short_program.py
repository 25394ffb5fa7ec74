"""The judge of a short program: one Axel jump, one solo jump, one combination of two jumps.

A short program is judged whole, since which jump carries `+COMBO` is settled only at the end.
Order of the ladder: extra elements, the combination without a second jump, then each jump against
its requirement and the repeat rule. Source: technical panel handbook, short program; worked examples
stand in tests/reference/cases.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.domain.elements import Jump, JumpElement
from app.domain.points import Points
from app.domain.rulings import HANDBOOK, RuleRef, Ruling, ruling
from app.domain.words import either, say
from app.errors import ProgramError
from app.legality.bonus import bonus_of_all
from app.legality.repeats import STARRED
from app.legality.slots import NO_REVOLUTIONS, extra_rulings
from app.legality.units import BROKEN, EULER_PLACE, misplaced_euler, unwritten_cost
from app.legality.verdict import Verdict, verdict
from app.rulebook.editions import Edition
from app.rulebook.schema import Short

REPEATED = RuleRef(HANDBOOK, "short program, repeated jump: the second execution is deleted", "read")
SECOND_UNIT = RuleRef(HANDBOOK, "short program, one combination only", "inferred")

Reason = tuple[RuleRef, str]
"""The rule that takes a jump's value, and why in words."""


@dataclass(frozen=True, slots=True)
class ShortElement:
    """A jump element of a short program; `error` marks a fall or another failed attempt."""

    element: JumpElement
    error: bool = False


def judge_short(
    edition: Edition, elements: Sequence[ShortElement], falls: Sequence[bool] = ()
) -> tuple[Verdict, ...]:
    """Rule on a whole short program, in order of execution. Raises ProgramError on a free skating.

    `falls` matters only where a fall voids a bonus; none where it ends.
    """
    short = edition.rules.short
    if short is None:
        raise ProgramError("edition", say("%(name)s is not a short program", name=edition.name))
    counted = [replace(one, element=one.element.without_rulings()) for one in elements[: edition.boxes]]
    counted = _with_combo(short, counted)
    roles = _roles(short, [one.element for one in counted])
    verdicts = []
    done: set[str] = set()
    for one, role in zip(counted, roles, strict=True):
        found = _element_rulings(edition, short, one.element, role, done)
        verdicts.append(verdict(one.element, found))
        done |= _uses_up(edition, one.element, found)
    surplus = [one.element.without_rulings() for one in elements[edition.boxes :]]
    extra = [verdict(one, extra_rulings(edition, one)) for one in surplus]
    fell = [*falls, *[False] * len(elements)][: len(elements)]
    return bonus_of_all(edition, (*verdicts, *extra), fell)


def takes_the_lowest_grade(element: JumpElement) -> bool:
    """Whether every judge must give -5 to an element as ruled: a combination of one jump, or partly without value.

    Source: sheets 2018/19-2025/26 (140 of 145 elements, 37 of 41); Communications 2334 to 2623, from memory.
    """
    return element.is_marked_combo or any(jump.starred for jump in element.jumps)


def _uses_up(edition: Edition, element: JumpElement, rulings: dict[int, Ruling]) -> set[str]:
    """Names that a later element may not repeat."""
    no_star_counts = edition.reading(STARRED) == "no"
    return {
        jump.name
        for number, jump in enumerate(element.jumps, start=1)
        if not (no_star_counts and number in rulings)
    }


def _with_combo(short: Short, elements: list[ShortElement]) -> list[ShortElement]:
    """Mark the jump that stands for the combination when no unit was executed.

    Only once every box is used, and never the Axel jump.
    """
    if len(elements) < 3 or any(one.element.is_unit for one in elements):
        return elements
    place = combo_place(short, elements)
    if place is None:
        return elements
    (jump,) = elements[place].element.jumps
    marked = JumpElement((replace(jump, mark="+COMBO"),))
    return [replace(one, element=marked) if number == place else one for number, one in enumerate(elements)]


def combo_place(short: Short, elements: Sequence[ShortElement]) -> int | None:
    """Index of the element that gets `+COMBO`, by the handbook's rules.

    Solo jumps only; the first jump that can be the Axel element is set aside.
    """
    axel = next((n for n, one in enumerate(elements) if _is_axel_element(short, one.element)), None)
    if axel is None:
        axel = next((n for n, one in enumerate(elements) if one.element.jumps[0].is_axel), None)
    open_ones = [n for n in range(len(elements)) if n != axel]
    if not open_ones:
        return None
    # A jump that is worthless alone but good as the first jump of a combination: that saves its value.
    saved = [n for n in open_ones if not _solo_ok(short, elements[n]) and _lead_ok(short, elements[n])]
    if len(saved) == 1:
        return saved[0]
    # The one that failed was kept from its second jump by the failure.
    failed = [n for n in open_ones if elements[n].error or not _lead_ok(short, elements[n])]
    if len(failed) == 1:
        return failed[0]
    # Otherwise the later of the two.
    return open_ones[-1]


def _is_axel_element(short: Short, element: JumpElement) -> bool:
    return not element.is_unit and element.jumps[0].name in short.axel


def _solo_ok(short: Short, one: ShortElement) -> bool:
    return one.element.jumps[0].name in short.solo


def _lead_ok(short: Short, one: ShortElement) -> bool:
    revolutions = one.element.jumps[0].revolutions
    return any(revolutions in pair for pair in short.combination)


def _roles(short: Short, elements: Sequence[JumpElement]) -> list[str]:
    """`axel`, `solo` or `combination` for each element; one of each at most, in order of execution."""
    roles: list[str] = ["" for _ in elements]
    for number, element in enumerate(elements):
        if element.is_unit and "combination" not in roles:
            roles[number] = "combination"
    _give(roles, "axel", [n for n, e in enumerate(elements) if not roles[n] and _is_axel_element(short, e)])
    _give(roles, "axel", [n for n, e in enumerate(elements) if not roles[n] and e.jumps[0].is_axel])
    _give(
        roles, "solo", [n for n, e in enumerate(elements) if not roles[n] and e.jumps[0].name in short.solo]
    )
    # While the combination is still open, a second lone jump may yet stand for it.
    _give(
        roles, "combination", [n for n, e in enumerate(elements) if not roles[n] and not e.jumps[0].is_axel]
    )
    for role in ("solo", "axel", "combination"):
        _give(roles, role, [n for n in range(len(elements)) if not roles[n]])
    return roles


def _give(roles: list[str], role: str, places: list[int]) -> None:
    if role not in roles and places:
        roles[places[0]] = role


def _element_rulings(
    edition: Edition, short: Short, element: JumpElement, role: str, done: set[str]
) -> dict[int, Ruling]:
    found: dict[int, Ruling] = {}
    for number, jump in enumerate(element.jumps, start=1):
        reason = _jump_reason(edition, short, element, role, number, jump)
        if reason is None and not jump.is_euler and jump.name in done:
            reason = REPEATED, say("%(jump)s was already executed in another element", jump=jump.name)
        if reason:
            found[number] = ruling(number, "nothing", *reason)
    if role == "combination":
        found = _double_double(edition, short, element, found)
    return found


def _jump_reason(
    edition: Edition, short: Short, element: JumpElement, role: str, number: int, jump: Jump
) -> Reason | None:
    """Why one jump has no value by its requirement, if it has none."""
    reason = _place_reason(edition, short, element, number)
    if reason or jump.is_euler:
        return reason
    if jump.revolutions is None:
        return NO_REVOLUTIONS, say("%(jump)s without a full revolution has no value", jump=jump.takeoff)
    listed = sum(1 for one in element.jumps[:number] if not one.is_euler)
    return _role_reason(short, role, number, listed, jump)


def _place_reason(edition: Edition, short: Short, element: JumpElement, number: int) -> Reason | None:
    """Why nothing counts in this place of an element: the Euler, behind a break, behind an Euler, or third."""
    euler = edition.rules.euler
    barred = euler.most == 0
    before = [n for n in range(1, number + 1) if not misplaced_euler(element, n)]
    eulers = sum(element.jumps[n - 1].is_euler for n in before)
    # No Euler, where it is barred or does not stand between two jumps.
    if element.jumps[number - 1].is_euler and barred:
        return euler.ref, say("no Euler in the short program combination")
    if number not in before:
        return EULER_PLACE, say("an Euler counts only between two listed jumps")
    # Nothing behind a break.
    if number > element.broken_after:
        return BROKEN, say("the combination was broken before this jump")
    # No third jump; a barred Euler takes up a place where it is a listed jump.
    places = len(before) if barred and euler.counts_as_jump else len(before) - eulers
    if places > 2:
        return short.ref, say("the combination has two jumps")
    # Where it is none, what hangs on it goes with it, as in a free skating.
    if barred and eulers:
        return unwritten_cost(euler.ref), say("no Euler in the short program combination")
    return None


def _role_reason(short: Short, role: str, number: int, listed: int, jump: Jump) -> Reason | None:
    """The jump against the requirement of its element."""
    if role == "axel" and jump.name not in short.axel:
        return short.ref, say(
            "%(jump)s is not the required Axel jump (%(jumps)s)", jump=jump.name, jumps=either(short.axel)
        )
    if role == "solo" and number == 1 and jump.name not in short.solo:
        return short.ref, say("%(jump)s is not an allowed solo jump", jump=jump.name)
    if role != "combination" and number > 1:
        return SECOND_UNIT, say("only one combination counts")
    if role == "combination" and not any(jump.revolutions in pair for pair in short.combination):
        return short.ref, say("%(jump)s is not allowed in the combination", jump=jump.name)
    if role == "combination" and listed == 2 and short.tails and jump.name not in short.tails:
        return short.ref, say(
            "%(jump)s is not allowed as the second jump (%(jumps)s)",
            jump=jump.name,
            jumps=either(short.tails),
        )
    return None


def _double_double(
    edition: Edition, short: Short, element: JumpElement, found: dict[int, Ruling]
) -> dict[int, Ruling]:
    """Two jumps that may not stand together: the lesser in value, after its calls, counts for nothing."""
    counted = [
        (number, jump)
        for number, jump in enumerate(element.jumps, start=1)
        if number not in found and not jump.is_euler
    ]
    # A third jump has been ruled on before.
    if len(counted) < 2:
        return found
    (first, one), (second, other) = counted
    pairs = (one.revolutions, other.revolutions), (other.revolutions, one.revolutions)
    if any(pair in short.combination for pair in pairs):
        return found
    lesser = first if _value(edition, one) < _value(edition, other) else second
    why = say(
        "%(one)s and %(other)s may not form the combination: the lesser counts for nothing",
        one=one.name,
        other=other.name,
    )
    return {**found, lesser: ruling(lesser, "nothing", short.ref, why)}


def _value(edition: Edition, jump: Jump) -> Points:
    return edition.values.value(jump.name, jump.variant)

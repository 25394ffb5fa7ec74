"""The buttons: everything that may have happened on one pass, as named taps.

A tap has a key (what the form sends), words (what happened) and the readings it stands for. The server
builds the taps of a tried element anew and looks the key up, so a form can never send a made-up reading.

Common practice, no source: which slips are worth a button. The consequences are the rulebook's:
a fall on the first jump of a planned unit leaves a solo jump (its box is used, its unit is not); a lost tail
leaves the lead alone; a popped jump counts as what it became (Technical Panel Handbook 2025/26, jumps).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache

from app.domain.elements import Jump, JumpElement, Rotation
from app.domain.notation import parse_jump_element
from app.domain.words import either, say
from app.live.events import PassSkated, Reading


class Group(StrEnum):
    """Where a tap stands: on the pad itself, or one tap further in."""

    MAIN = "main"
    BOTH = "both"
    DOUBT = "doubt"


@dataclass(frozen=True, slots=True)
class Tap:
    """One button: `key` is unique within a pad, `how` is the word for it, `shows` the code it stands for."""

    key: str
    how: str
    shows: str
    readings: tuple[Reading, ...]
    group: Group


@lru_cache(maxsize=512)
def taps(tried: str) -> tuple[Tap, ...]:
    """Every tap for an attempt at `tried`, in the order of the pad. `NotationError` for a bad code."""
    element = parse_jump_element(tried)
    found = [*_main(element), *_both(element), *_doubts(element)]
    unique: dict[tuple[Reading, ...], Tap] = {}
    for tap in found:
        unique.setdefault(tap.readings, tap)
    return tuple(unique.values())


def tap_of(tried: str, key: str) -> Tap | None:
    """The tap of that key on the pad of `tried`; None when there is none."""
    return next((tap for tap in taps(tried) if tap.key == key), None)


SOMETHING_ELSE = say("something else")
SOMETHING_ELSE_FELL = say("something else, fell")


def how_words(what: PassSkated) -> str:
    """What happened on a logged pass, in the words of its button. A log keeps them in English alone."""
    known = {str(tap.how): tap.how for tap in taps(what.tried)}
    known |= {str(one): one for one in (SOMETHING_ELSE, SOMETHING_ELSE_FELL)}
    if what.how in known:
        return known[what.how]
    parts = what.how.split(" or ")
    return either(known[one] for one in parts) if all(one in known for one in parts) else what.how


def _main(element: JumpElement) -> list[Tap]:
    code = str(element)
    found = [
        _tap("planned", say("as planned"), code, Group.MAIN),
        _tap("error", say("with an error"), code, Group.MAIN, error=True),
    ]
    listed = _listed(element)
    for place in listed:
        upto = str(element.first(place))
        word = (
            say("fell")
            if len(listed) == 1
            else say("fell on the %(jump)s", jump=element.jumps[place - 1].name)
        )
        found.append(_tap(f"fell-{place}", word, upto, Group.MAIN, fall=True, error=True))
    for place in reversed(listed[1:]):
        rest = element.first(place - 1)
        word = say("tail lost") if len(rest.jumps) == 1 else say("last jump lost")
        found.append(_tap(f"lost-{place}", word, str(rest), Group.MAIN, error=True))
    if len(listed) > 1 and (short := _popped(element, listed[-1], 1)):
        found.append(_tap("shortened", say("tail shortened"), str(short), Group.MAIN))
    lead = _lead(element)
    for fewer in (1, 2, 3):
        if popped := _popped(lead, 1, fewer):
            found.append(_tap(f"popped-{fewer}", say("popped"), str(popped), Group.MAIN, error=True))
    return found


def _both(element: JumpElement) -> list[Tap]:
    lead, listed = _lead(element), _listed(element)
    popped_lead, popped_whole = _popped(lead, 1, 1), _popped(element, 1, 1)
    found = []
    if popped_lead:
        code = str(popped_lead)
        found.append(_tap("popped-fell", say("popped and fell"), code, Group.BOTH, fall=True, error=True))
    if len(listed) > 1:
        found += _both_in_a_unit(element, popped_whole)
    elif popped_lead:
        for tail in ("1T", "2T"):
            code = f"{popped_lead}+{tail}"
            found.append(
                _tap(
                    f"popped-{tail}", say("popped, then a %(tail)s", tail=tail), code, Group.BOTH, error=True
                )
            )
    if len(listed) == 1:
        for tail in ("1T", "2T"):
            found.append(
                _tap(f"added-{tail}", say("a %(tail)s added", tail=tail), f"{element}+{tail}", Group.BOTH)
            )
    bare = replace(lead.jumps[0], revolutions=None)
    found.append(_tap("bare", say("opened up, no turns"), str(bare), Group.BOTH, error=True))
    return found


def _both_in_a_unit(element: JumpElement, popped_whole: JumpElement | None) -> list[Tap]:
    last = _listed(element)[-1]
    found = []
    if popped_whole:
        found.append(_tap("popped-tail", say("popped, tail kept"), str(popped_whole), Group.BOTH, error=True))
        if shorter := _popped(popped_whole, last, 1):
            word = say("popped and tail shortened")
            found.append(_tap("popped-shortened", word, str(shorter), Group.BOTH, error=True))
    broken = _broken(element)
    found.append(_tap("broken", say("stepped out, then the tail"), broken, Group.BOTH, error=True))
    found.append(_tap("broken-fell", say("fell, then the tail"), broken, Group.BOTH, fall=True, error=True))
    if short := _popped(element, last, 1):
        word = say("tail shortened, with an error")
        found.append(_tap("shortened-error", word, str(short), Group.BOTH, error=True))
        word = say("tail shortened and fell")
        found.append(_tap("shortened-fell", word, str(short), Group.BOTH, fall=True, error=True))
    if barely := _popped(element, last, 2):
        found.append(_tap("barely", say("tail only a single"), str(barely), Group.BOTH))
    return found


def _doubts(element: JumpElement) -> list[Tap]:
    """Readings that cannot be told apart from the boards: pairs half and half, falls in three alike."""
    found = []
    for place in _listed(element):
        found += _fell_turns_unknown(element, place)
        jump = element.jumps[place - 1]
        if jump.revolutions is None or jump.revolutions < 2:
            continue
        turned = {
            "<": say("%(jump)s clean or under-rotated?", jump=jump.name),
            "<<": say("%(jump)s clean or downgraded?", jump=jump.name),
        }
        for call, word in turned.items():
            called = _replaced(element, place, _with_rotation(jump, call))
            found.append(_doubt(f"{call}-{place}", word, element, called))
        if jump.takeoff in ("F", "Lz"):
            edge = _replaced(element, place, replace(jump, edge="e"))
            found.append(
                _doubt(f"e-{place}", say("%(jump)s clean or wrong edge?", jump=jump.name), element, edge)
            )
    last = _listed(element)[-1]
    if last > 1 and (short := _popped(element, last, 1)):
        jump = element.jumps[last - 1]
        called = _replaced(element, last, _with_rotation(jump, "<<"))
        downgraded = f"{jump.name}<<"
        word = say("%(short)s or %(jump)s?", short=short.jumps[last - 1].name, jump=downgraded)
        found.append(_doubt("short-or-<<", word, short, called))
    return found


def _fell_turns_unknown(element: JumpElement, place: int) -> list[Tap]:
    """A fall on which nobody can say whether the jump was turned round."""
    upto, jump = element.first(place), element.jumps[place - 1]
    if jump.revolutions is None or jump.revolutions < 2:
        return []
    called = [upto, *(_replaced(upto, place, _with_rotation(jump, call)) for call in ("<", "<<"))]
    shares = (0.34, 0.33, 0.33)
    readings = tuple(Reading(str(one), True, True, share) for one, share in zip(called, shares, strict=True))
    word = say("fell on the %(jump)s, turns unknown", jump=jump.name)
    return [
        Tap(
            f"doubt-fell-{place}", word, say("%(element)s, < or <<", element=str(upto)), readings, Group.DOUBT
        )
    ]


def _with_rotation(jump: Jump, call: str) -> Jump:
    rotation: Rotation = "<<" if call == "<<" else "<"
    return replace(jump, rotation=rotation)


def _tap(key: str, how: str, code: str, group: Group, *, fall: bool = False, error: bool = False) -> Tap:
    return Tap(key, how, code, (Reading(code, fall, error),), group)


def _doubt(key: str, how: str, first: JumpElement, second: JumpElement) -> Tap:
    readings = (Reading(str(first), chance=0.5), Reading(str(second), chance=0.5))
    return Tap(f"doubt-{key}", how, either((str(first), str(second))), readings, Group.DOUBT)


def _broken(element: JumpElement) -> str:
    """The unit broken behind its first jump, as the panel enters it: `3Lz+COMBO+3T`, `3S+SEQ+2A`.

    Source: Technical Panel Handbook 2025/26, fall or step-out between the jumps of a unit.
    """
    first, *rest = (replace(jump, mark="") for jump in element.jumps)
    marked = replace(first, mark="+SEQ" if element.has_step_to_axel else "+COMBO")
    return str(JumpElement((marked, *rest)))


def _listed(element: JumpElement) -> list[int]:
    """Places (from 1) of the jumps that are not Eulers."""
    return [place for place, jump in enumerate(element.jumps, start=1) if not jump.is_euler]


def _lead(element: JumpElement) -> JumpElement:
    """The first jump alone; an Euler before it is none."""
    return JumpElement((replace(element.jumps[_listed(element)[0] - 1], mark=""),))


def _popped(element: JumpElement, place: int, fewer: int) -> JumpElement | None:
    """The element with one jump `fewer` turns short; None when nothing would be left of it."""
    jump = element.jumps[place - 1]
    if jump.revolutions is None or jump.revolutions - fewer < 1:
        return None
    return _replaced(element, place, replace(jump, revolutions=jump.revolutions - fewer))


def _replaced(element: JumpElement, place: int, jump: Jump) -> JumpElement:
    return JumpElement((*element.jumps[: place - 1], jump, *element.jumps[place:]))

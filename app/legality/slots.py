"""Rules about places: boxes, the Axel requirement, and jumps that have no value at this level."""

from __future__ import annotations

from app.domain.elements import JumpElement
from app.domain.rulings import HANDBOOK, RuleRef, Ruling, ruling
from app.domain.words import say
from app.legality.tally import Tally
from app.rulebook.editions import Edition

NO_REVOLUTIONS = RuleRef(HANDBOOK, "popped jumps: an attempt without revolutions has no value", "read")


def is_extra(edition: Edition, tally: Tally) -> bool:
    """All boxes are full: whatever comes now is an extra element."""
    return tally.boxes >= edition.boxes


def extra_rulings(edition: Edition, element: JumpElement) -> dict[int, Ruling]:
    """An element beyond the boxes counts for nothing; the earlier ones keep their boxes."""
    why = say("extra jump element: only %(boxes)s count", boxes=edition.boxes)
    return {
        number: ruling(number, "nothing", edition.rules.boxes.ref, why)
        for number in range(1, len(element.jumps) + 1)
    }


def missing_axel_rulings(edition: Edition, tally: Tally, element: JumpElement) -> dict[int, Ruling]:
    """No Axel attempted and this is the last box: its jumps count for nothing."""
    last_box = tally.boxes + 1 == edition.boxes
    attempted = tally.axel or any(jump.is_axel for jump in element.jumps)
    if not edition.rules.axel.required or not last_box or attempted:
        return {}
    why = say("no Axel-type jump attempted: the last jump element counts for nothing")
    return {
        number: ruling(number, "nothing", edition.rules.axel.ref, why)
        for number in range(1, len(element.jumps) + 1)
    }


def value_rulings(edition: Edition, element: JumpElement) -> dict[int, Ruling]:
    """Jumps that have no value by themselves: no revolutions, not allowed here, solo only."""
    allowed = edition.rules.allowed
    found: dict[int, Ruling] = {}
    for number, jump in enumerate(element.jumps, start=1):
        if jump.is_euler:
            continue
        if jump.revolutions is None:
            why = say("%(jump)s without a full revolution has no value", jump=jump.takeoff)
            found[number] = ruling(number, "nothing", NO_REVOLUTIONS, why)
        elif not allowed.allows(jump.name):
            why = say("%(jump)s has no value at this level", jump=jump.name)
            found[number] = ruling(number, "nothing", allowed.ref, why)
        elif jump.revolutions in allowed.solo_only and len(element.jumps) > 1:
            why = say("%(jump)s counts only as a solo jump", jump=jump.name)
            found[number] = ruling(number, "nothing", allowed.ref, why)
    return found

"""Quotas of groups of jumps in the whole program: so many together, so many different ones.

Which jumps form a group, and how many, is data (`[….limits]`): "one triple", "one kind of double".
"""

from __future__ import annotations

from dataclasses import replace

from app.domain.elements import Jump
from app.domain.rulings import RuleRef
from app.domain.words import both, either, say
from app.legality.tally import Tally
from app.rulebook.editions import Edition
from app.rulebook.schema import Limit
from app.rulebook.words import TURNS

Bar = tuple[RuleRef, str]
"""What leaves a jump no place, and why."""


def limits_of(edition: Edition) -> tuple[Limit, ...]:
    """The quotas of an edition; empty where it has none."""
    return edition.rules.limits.groups if edition.rules.limits else ()


def limit_bar(edition: Edition, tally: Tally, jump: Jump) -> Bar | None:
    """Why a quota of its group bars a counted jump, if one does."""
    table = edition.rules.limits
    if table is None:
        return None
    for place, group in enumerate(table.groups):
        if not group.holds(jump.name):
            continue
        # So many jumps of the group together …
        if group.most is not None and executed_of(tally, group) >= group.most:
            return table.ref, say(
                "no more %(jump)s: only %(most)s of %(group)s",
                jump=jump.name,
                most=group.most,
                group=group_words(group),
            )
        # … and so many different ones.
        others = admitted_to(tally, place)
        if (
            group.most_different is not None
            and jump.name not in others
            and len(others) >= group.most_different
        ):
            return table.ref, say(
                "no %(jump)s: of %(group)s only %(others)s may count",
                jump=jump.name,
                group=group_words(group),
                others=both(others),
            )
    return None


def admit(edition: Edition, tally: Tally, jump: Jump) -> Tally:
    """The tally in which a jump that was not barred holds its places among the different ones."""
    found = {
        (place, jump.name)
        for place, group in enumerate(limits_of(edition))
        if group.most_different is not None and group.holds(jump.name)
    }
    return replace(tally, admitted=tuple(sorted({*tally.admitted, *found}))) if found else tally


def executed_of(tally: Tally, group: Limit) -> int:
    """Executions of the jumps of a group so far."""
    return sum(one.times for one in tally.executed if group.holds(one.name))


def admitted_to(tally: Tally, place: int) -> tuple[str, ...]:
    """The different jumps of limit number `place` so far."""
    return tuple(name for number, name in tally.admitted if number == place)


def group_words(group: Limit) -> str:
    """A group in words: `doubles`, `2T, 2S or 2Lo`."""
    return either([*(TURNS.get(one, str(one)) for one in group.revolutions), *group.jumps])

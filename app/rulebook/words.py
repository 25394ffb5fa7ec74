"""Small words for rules: counts, lists of names, revolutions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from app.domain.words import begun, both, either, say, say_many

TURNS: Mapping[int, str] = {
    1: say("singles"),
    2: say("doubles"),
    3: say("triples"),
    4: say("quads"),
    5: say("quintuples"),
}
SMALL = (
    say("no"),
    say("one"),
    say("two"),
    say("three"),
    say("four"),
    say("five"),
    say("six"),
    say("seven"),
    say("eight"),
)


def number(count: int) -> str:
    """`2` -> "two"; large ones in digits."""
    return SMALL[count] if count < len(SMALL) else str(count)


def times(count: int) -> str:
    """`2` -> "twice"."""
    if count in (1, 2):
        return {1: say("once"), 2: say("twice")}[count]
    return say_many("%(number)s time", "%(number)s times", count, number=number(count))


def counted(one: str, many: str, count: int, /, **values: object) -> str:
    """A whole sentence about so many, its first letter large: `%(number)s` in it is "two"."""
    return begun(say_many(one, many, count, number=number(count), **values))


def names(some: Iterable[str]) -> str:
    """`["2T", "2S", "2Lo"]` -> "2T, 2S and 2Lo"."""
    return both(some) or say("nothing")


def turns_words(revolutions: Sequence[int]) -> str:
    """`(1, 2)` -> "singles and doubles"."""
    return names(TURNS.get(one, str(one)) for one in revolutions)


def kinds_words(revolutions: Sequence[int], jumps: Iterable[str]) -> str:
    """Jumps of a rule, by turns and by name: "triples and 2A"."""
    return names([*([turns_words(revolutions)] if revolutions else []), *jumps])


def pairs_words(pairs: Sequence[tuple[int, int]]) -> str:
    """`((2, 3), (3, 3))` -> "2+3 or 3+3, in either order"."""
    return say("%(pairs)s, in either order", pairs=either(f"{one}+{other}" for one, other in pairs))

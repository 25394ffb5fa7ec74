"""Small words for rules: counts, lists of names, revolutions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

TURNS = {1: "singles", 2: "doubles", 3: "triples", 4: "quads", 5: "quintuples"}
SMALL = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight")


def counted(count: int, one: str) -> str:
    """`2`, `spin` -> "two spins"; times are "once", "twice"."""
    if one == "time" and count in (1, 2):
        return {1: "once", 2: "twice"}[count]
    number = SMALL[count] if count < len(SMALL) else str(count)
    return f"{number} {one}{'' if count == 1 else 's'}"


def sentence(words: str) -> str:
    """The first letter large and a full stop: names such as 2A stay as they are."""
    return f"{words[:1].upper()}{words[1:]}."


def names(listed: Iterable[str], last: str = "and") -> str:
    """`["2T", "2S", "2Lo"]` -> "2T, 2S and 2Lo"."""
    parts = list(listed)
    return (
        parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} {last} {parts[-1]}" if parts else "nothing"
    )


def turns_words(revolutions: Sequence[int]) -> str:
    """`(1, 2)` -> "singles and doubles"."""
    return names(TURNS.get(one, str(one)) for one in revolutions)


def pairs_words(pairs: Sequence[tuple[int, int]]) -> str:
    """`((2, 3), (3, 3))` -> "2+3 or 3+3, in either order"."""
    return f"{names((f'{one}+{other}' for one, other in pairs), 'or')}, in either order"

"""What is different between two editions, in words: "Six jump elements count, instead of seven."

Sentences of the same table are paired and compared word by word; base values are compared row by row.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Literal

from app.domain.points import Points
from app.domain.words import read_as
from app.rulebook.editions import Edition
from app.rulebook.sentences import RuleSentence, sentences

ALIKE = 0.6
"""Share of words in common from which two sentences of one table are the same rule with another number."""

What = Literal["changed", "new", "gone"]


@dataclass(frozen=True, slots=True)
class Difference:
    """One rule that differs. `now` and `before`: the sentences; one of them is None for what is new or gone."""

    what: What
    words: str
    now: RuleSentence | None
    before: RuleSentence | None

    @property
    def table(self) -> str:
        """The table of the rule."""
        said = self.now or self.before
        return said.table if said else ""


@dataclass(frozen=True, slots=True)
class ValueDifference:
    """One base value that differs, hundredths; None where a table does not have it."""

    code: str
    variant: str
    now: Points | None
    before: Points | None


def rule_differences(before: Edition, now: Edition) -> tuple[Difference, ...]:
    """Every rule that `now` says differently from `before`, in the order in which rules are read."""
    old, new = sentences(before), sentences(now)
    tables = list(dict.fromkeys(one.table for one in (*new, *old)))
    found: list[Difference] = []
    for table in tables:
        found += _of_table(
            [one for one in old if one.table == table], [one for one in new if one.table == table]
        )
    return tuple(found)


def value_differences(before: Edition, now: Edition) -> tuple[ValueDifference, ...]:
    """Every base value that differs, by code."""
    old, new = before.values.rows, now.values.rows
    return tuple(
        ValueDifference(*key, new.get(key), old.get(key))
        for key in sorted({*old, *new})
        if old.get(key) != new.get(key)
    )


def _of_table(old: Sequence[RuleSentence], new: Sequence[RuleSentence]) -> list[Difference]:
    """Differences within one table: the likest sentences are paired first, what is left is new or gone."""
    same = {one.words for one in old} & {one.words for one in new}
    before = [one for one in old if one.words not in same]
    now = [one for one in new if one.words not in same]
    likeness = sorted(
        ((_alike(b.words, n.words), -j, -i) for i, b in enumerate(before) for j, n in enumerate(now)),
        reverse=True,
    )
    pair: dict[int, int] = {}
    for share, j, i in likeness:
        if share >= ALIKE and -j not in pair and -i not in pair.values():
            pair[-j] = -i
    found = []
    for j, said in enumerate(now):
        if j in pair:
            was = before[pair[j]]
            found.append(Difference("changed", instead(was.words, said.words), said, was))
        else:
            found.append(Difference("new", said.words, said, None))
    gone = [one for i, one in enumerate(before) if i not in pair.values()]
    return found + [Difference("gone", one.words, None, one) for one in gone]


def _alike(one: str, other: str) -> float:
    return SequenceMatcher(None, _words(one), _words(other), autojunk=False).ratio()


def instead(before: str, now: str) -> str:
    """The new sentence with the words it had before: "Six jump elements count, instead of seven."

    Where the two differ in more than one place, both are said whole.
    """
    old, new = _words(before), _words(now)
    steps = SequenceMatcher(
        None, [w.lower() for w in old], [w.lower() for w in new], autojunk=False
    ).get_opcodes()
    moved = [one for one in steps if one[0] != "equal"]
    if len(moved) != 1 or moved[0][0] != "replace":
        english = f"{now} Before: {before[:1].lower()}{before[1:]}"
        return read_as(english, "%(now)s Before: %(before)s", now=now, before=before)
    _, first, last, _, _ = moved[0]
    words = " ".join(old[first:last]).rstrip(",:;")
    words = f"{words[:1].lower()}{words[1:]}" if first == 0 else words
    english = f"{now.removesuffix('.')}, instead of {words}."
    return read_as(english, "%(now)s Before: %(before)s", now=now, before=before)


def _words(sentence: str) -> list[str]:
    return sentence.removesuffix(".").split()

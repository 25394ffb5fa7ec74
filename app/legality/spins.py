"""Rules about spins: which have value. From memory of the technical rules, agreeing with every sheet."""

from __future__ import annotations

from collections.abc import Sequence

from app.domain.elements import OtherElement
from app.domain.rulings import Ruling, ruling
from app.legality.verdict import Verdict
from app.rulebook.editions import Edition


def judge_others(edition: Edition, elements: Sequence[OtherElement]) -> tuple[Verdict, ...]:
    """Rule on spins, steps and choreographic elements, in order of execution."""
    open_groups = [set(group) for group in edition.rules.spins.required]
    seen: list[str] = []
    verdicts = []
    for element in elements:
        plain = element.without_rulings()
        found = _spin_ruling(edition, plain, open_groups, seen) if plain.name.endswith("Sp") else None
        if plain.name.endswith("Sp"):
            seen.append(plain.name)
        if found is None:
            verdicts.append(Verdict(plain))
        else:
            starred = OtherElement(plain.kind, plain.name, plain.level, plain.reduced, starred=True)
            verdicts.append(Verdict(starred, (found,)))
    return tuple(verdicts)


def _spin_ruling(
    edition: Edition, spin: OtherElement, open_groups: list[set[str]], seen: list[str]
) -> Ruling | None:
    rule = edition.rules.spins
    # Only so many spins.
    if len(seen) >= rule.most:
        return ruling(1, "nothing", rule.ref, f"only {rule.most} spins count")
    if not spin.level and spin.name == "Sp":
        return None
    # Short program: each required spin once.
    if rule.required:
        group = next((group for group in open_groups if spin.name in group), None)
        if group is None:
            return ruling(1, "nothing", rule.ref, f"{spin.name} is not one of the required spins still open")
        open_groups.remove(group)
    # Free skating: spins of different character.
    elif rule.no_name_twice and spin.name in seen:
        return ruling(1, "nothing", rule.ref, f"{spin.name} was already done: spins must differ")
    return None

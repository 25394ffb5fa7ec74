"""Rules about spins: which have value. From memory of the technical rules, agreeing with every sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import permutations

from app.domain.elements import OtherElement
from app.domain.rulings import Ruling, ruling
from app.domain.words import say
from app.legality.verdict import Verdict
from app.rulebook.editions import Edition

Groups = Sequence[Sequence[str]]


def judge_others(edition: Edition, elements: Sequence[OtherElement]) -> tuple[Verdict, ...]:
    """Rule on spins, steps and choreographic elements, in order of execution."""
    counted: list[str] = []
    done = 0
    verdicts = []
    for element in elements:
        plain = element.without_rulings()
        found = None
        if plain.name.endswith("Sp"):
            found = _spin_ruling(edition, plain, counted, done)
            done += 1
            if found is None:
                counted.append(plain.name)
        verdicts.append(Verdict(plain) if found is None else Verdict(replace(plain, starred=True), (found,)))
    return tuple(verdicts)


def _spin_ruling(edition: Edition, spin: OtherElement, counted: Sequence[str], done: int) -> Ruling | None:
    rule = edition.rules.spins
    # Only so many spins.
    if done >= rule.most:
        return ruling(1, "nothing", rule.ref, say("only %(most)s spins count", most=rule.most))
    # A spin that could not be named has no value anyway.
    if spin.name == "Sp":
        why = say("a spin that could not be named meets no requirement")
        return ruling(1, "nothing", rule.ref, why) if rule.unnamed_starred else None
    # Spins of different character.
    if rule.no_name_twice and spin.name in counted:
        return ruling(
            1, "nothing", rule.ref, say("%(spin)s was already done: spins must differ", spin=spin.name)
        )
    # Each spin must meet a requirement of its own.
    named = [name for name in (*counted, spin.name) if name != "Sp"]
    if rule.required and not meets(named, rule.required):
        return ruling(
            1,
            "nothing",
            rule.ref,
            say("%(spin)s meets none of the required spins still open", spin=spin.name),
        )
    return None


def meets(names: Sequence[str], required: Groups) -> bool:
    """Can every spin be given a requirement of its own?"""
    return any(
        all(name in group for name, group in zip(names, order, strict=False))
        for order in permutations(required, len(names))
    )

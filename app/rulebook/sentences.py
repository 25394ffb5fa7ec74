"""A rulebook in plain sentences: every rule with its numbers, its source and how sure we are of it.

`sentences(edition)` walks over the tables in the order of a program: time, boxes, units, repeats, points. A table
with several numbers gives several sentences, each with the same source. Nothing is decided here; the words say what
the data say.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from app.domain.points import show
from app.domain.rulings import RuleRef
from app.rulebook.editions import Edition
from app.rulebook.money_tables import BonusRow
from app.rulebook.quota_sentences import limit_words, of_repeats, of_units
from app.rulebook.table import Rule
from app.rulebook.words import counted, names, pairs_words, sentence, turns_words


@dataclass(frozen=True, slots=True)
class RuleSentence:
    """One rule in words. `table` is its table in the rule file; `numbers` are the figures the sentence rests on."""

    table: str
    words: str
    numbers: tuple[float, ...]
    source: RuleRef
    note: str = ""
    switch: str = ""
    """The disputed switch behind it, if there is one."""


Said = tuple[str, tuple[float, ...]]


def sentences(edition: Edition) -> tuple[RuleSentence, ...]:
    """Every rule of an edition under the readings in force, the widest first."""
    rules = edition.rules
    found: list[RuleSentence] = []

    def add(table: str, rule: Rule | None, said: Iterable[Said], switch: str = "") -> None:
        if rule is not None:
            found.extend(
                RuleSentence(table, words, numbers, rule.ref, rule.note, switch) for words, numbers in said
            )

    add("programme", rules.programme, _of_programme(edition))
    add(
        "boxes",
        rules.boxes,
        [(sentence(f"{counted(edition.boxes, 'jump element')} count"), (edition.boxes,))],
    )
    add("axel", rules.axel, _of_axel(edition))
    add("allowed", rules.allowed, _of_allowed(edition))
    add("short", rules.short, _of_short(edition))
    add("units", rules.units, of_units(edition))
    add("euler", rules.euler, _of_euler(edition))
    add("repeats", rules.repeats, of_repeats(edition))
    add("family", rules.family, _of_family(edition))
    add("limits", rules.limits, limit_words(edition))
    add("part", rules.part, _of_part(edition))
    add("late", rules.late, _of_late(edition))
    add("spins", rules.spins, _of_spins(edition))
    add("bonuses", rules.bonuses if edition.bonuses else None, _of_bonuses(edition), _bonus_switch(edition))
    add("falls", rules.falls, _of_falls(edition))
    add("interruptions", rules.interruptions, _of_interruptions(edition))
    add("overtime", rules.overtime, _of_overtime(edition))
    add("grades", rules.grades, _of_grades(edition))
    add("components", rules.components, _of_components(edition))
    add("values", rules.values, [(f"Base values of {rules.values.table.replace('-', '/')}.", ())])
    return (*found, *_of_switches(edition))


def _of_programme(edition: Edition) -> Iterator[Said]:
    programme = edition.rules.programme
    clock = f"{programme.seconds // 60}:{programme.seconds % 60:02d}"
    if programme.at_most:
        yield f"The program lasts {clock} at most.", (programme.seconds,)
        return
    yield (
        f"The program lasts {clock}, {programme.tolerance} seconds more or less.",
        (
            programme.seconds,
            programme.tolerance,
        ),
    )


def _of_axel(edition: Edition) -> Iterator[Said]:
    if edition.rules.axel.required:
        yield "An Axel-type jump must be tried, else the last jump element counts for nothing.", ()
    else:
        yield "No Axel-type jump is required.", ()


def _of_allowed(edition: Edition) -> Iterator[Said]:
    allowed = edition.rules.allowed
    words = f"{turns_words(allowed.revolutions)} have value"
    words += f", and {names(allowed.also)}" if allowed.also else ""
    words += f"; not {names(allowed.forbidden)}" if allowed.forbidden else ""
    yield sentence(words), tuple(allowed.revolutions)
    if allowed.solo_only:
        yield (
            sentence(f"{turns_words(allowed.solo_only)} count only as a solo jump"),
            tuple(allowed.solo_only),
        )


def _of_short(edition: Edition) -> Iterator[Said]:
    short = edition.rules.short
    if short is None:
        return
    yield f"The Axel jump is {names(short.axel, 'or')}.", ()
    yield f"The solo jump is {names(short.solo, 'or')}.", ()
    yield f"The combination has two jumps: {pairs_words(short.combination)}.", ()
    if short.tails:
        yield f"Its second jump is {names(short.tails, 'or')}.", ()
    yield "No jump is done in two elements; the combination may hold one twice.", ()


def _of_euler(edition: Edition) -> Iterator[Said]:
    euler = edition.rules.euler
    if euler.most == 0:
        yield "An Euler has no place in the combination.", (0,)
        return
    listed = (
        "counts as a jump of the unit" if euler.counts_as_jump else "does not count as a jump of the unit"
    )
    yield f"An Euler stands between two jumps and {listed}.", ()
    if euler.most is not None:
        yield sentence(f"{counted(euler.most, 'Euler')} in the program"), (euler.most,)


def _of_family(edition: Edition) -> Iterator[Said]:
    family = edition.rules.family
    if family is not None and family.most is not None:
        yield (
            f"Any one take-off counts {counted(family.most, 'time')} at most, whatever the turns.",
            (family.most,),
        )
    if family is not None and family.most_repeated is not None:
        some = counted(family.most_repeated, "take-off")
        yield f"Only {some} may be done more than once, whatever the turns.", (family.most_repeated,)


def _of_part(edition: Edition) -> Iterator[Said]:
    part = edition.rules.part
    if part is not None:
        yield f"What is marked +REP keeps {part.percent} % of its base value.", (part.percent,)


def _of_late(edition: Edition) -> Iterator[Said]:
    late = edition.rules.late
    if not late.last:
        yield "Nothing counts more in the second half.", (0,)
        return
    last = counted(late.last, "jump element")
    words = f"The last {last} begun in the second half count {late.percent / 100:.2f} times their base value."
    yield words, (late.last, late.percent)


def _of_spins(edition: Edition) -> Iterator[Said]:
    spins = edition.rules.spins
    yield sentence(f"{counted(spins.most, 'spin')} count"), (spins.most,)
    if spins.no_name_twice:
        yield "No spin counts twice under the same name.", ()
    for group in spins.required:
        yield f"One of them: {names(group, 'or')}.", ()


def _of_bonuses(edition: Edition) -> Iterator[Said]:
    table = edition.bonuses
    if table is None:
        return
    for row in table.rows:
        yield f"Bonus of {show(row.points)}: {row.words}.", _bonus_numbers(row)
    void = [
        *table.void_calls,
        *(["a fall"] if table.void_fall else []),
        *(["+REP"] if table.void_part else []),
    ]
    if void:
        yield f"No bonus with {names(void, 'or')}.", ()
    if table.most_points_per_element is not None:
        most = table.most_points_per_element
        yield f"An element earns {show(most)} of bonus at most.", (most / 100,)
    if table.most_points is not None:
        yield f"A program earns {show(table.most_points)} of bonus at most.", (table.most_points / 100,)


def _bonus_numbers(row: BonusRow) -> tuple[float, ...]:
    return tuple(float(one) for one in (row.points / 100, row.variety, row.most) if one is not None)


def _bonus_switch(edition: Edition) -> str:
    return edition.rules.bonuses.switch if edition.rules.bonuses else ""


def _of_falls(edition: Edition) -> Iterator[Said]:
    each = edition.rules.falls.each
    if len(each) == 1:
        yield f"Each fall costs {show(each[0])}.", (each[0] / 100,)
        return
    rising = ", ".join(show(one) for one in each)
    yield (
        f"Falls cost {rising}, one after the other; the last figure goes on.",
        tuple(one / 100 for one in each),
    )


def _of_interruptions(edition: Edition) -> Iterator[Said]:
    table = edition.rules.interruptions
    if table is None:
        return
    for step in table.steps:
        words = f"An interruption of more than {step.over} and up to {step.upto} seconds costs {show(step.points)}."
        yield words, (step.over, step.upto, step.points / 100)
    if table.allowance is not None:
        yield f"An interruption with a granted pause costs {show(table.allowance)}.", (table.allowance / 100,)


def _of_overtime(edition: Edition) -> Iterator[Said]:
    table = edition.rules.overtime
    if table is not None:
        words = f"Each {table.seconds} seconds too short or too long cost {show(table.points)}."
        yield words, (table.seconds, table.points / 100)


def _of_grades(edition: Edition) -> Iterator[Said]:
    grades = edition.rules.grades
    words = (
        f"Grades run from {grades.lowest} to +{grades.highest}, each worth {grades.percent} % of the value."
    )
    yield words, (grades.lowest, grades.highest, grades.percent)
    for code, step in grades.steps.items():
        yield f"A grade of {code} is worth {show(step)}.", (step / 100,)
    yield (
        f"From {grades.drop_from} judges on one highest and one lowest mark is dropped.",
        (grades.drop_from,),
    )


def _of_components(edition: Edition) -> Iterator[Said]:
    listed = edition.rules.components.list
    if not listed:
        yield "The factors of the program components are not known here; give the sheet's own.", ()
    for one in listed:
        yield f"{one.name}: factor {one.factor:g}.", (one.factor,)


def _of_switches(edition: Edition) -> Iterator[RuleSentence]:
    for name, switch in edition.rules.switches.items():
        chosen = edition.reading(name) or switch.default
        words = f"Disputed: {switch.question} Taken here: {switch.readings[chosen].sentence}"
        yield RuleSentence("switches", words, (), edition.reading_ref(name), "", name)

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
from app.domain.words import Figure, begun, either, ended, figure, listed, of_the_data, say, say_many
from app.rulebook.editions import Edition
from app.rulebook.money_tables import BonusRow
from app.rulebook.quota_sentences import limit_words, of_repeats, of_units
from app.rulebook.table import Rule
from app.rulebook.words import counted, names, number, pairs_words, times, turns_words


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
        [
            (
                counted("%(number)s jump element counts.", "%(number)s jump elements count.", edition.boxes),
                (edition.boxes,),
            )
        ],
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
    add(
        "values",
        rules.values,
        [(say("Base values of %(season)s.", season=rules.values.table.replace("-", "/")), ())],
    )
    return (*found, *_of_switches(edition))


def _of_programme(edition: Edition) -> Iterator[Said]:
    programme = edition.rules.programme
    clock = f"{programme.seconds // 60}:{programme.seconds % 60:02d}"
    if programme.at_most:
        yield say("The program lasts %(clock)s at most.", clock=clock), (programme.seconds,)
        return
    yield (
        say(
            "The program lasts %(clock)s, %(tolerance)s seconds more or less.",
            clock=clock,
            tolerance=programme.tolerance,
        ),
        (
            programme.seconds,
            programme.tolerance,
        ),
    )


def _of_axel(edition: Edition) -> Iterator[Said]:
    if edition.rules.axel.required:
        yield say("An Axel-type jump must be tried, else the last jump element counts for nothing."), ()
    else:
        yield say("No Axel-type jump is required."), ()


def _of_allowed(edition: Edition) -> Iterator[Said]:
    allowed = edition.rules.allowed
    words: str = say("%(kinds)s have value", kinds=turns_words(allowed.revolutions))
    words = say("%(words)s, and %(jumps)s", words=words, jumps=names(allowed.also)) if allowed.also else words
    if allowed.forbidden:
        words = say("%(words)s; not %(jumps)s", words=words, jumps=names(allowed.forbidden))
    yield begun(ended(words)), tuple(allowed.revolutions)
    if allowed.solo_only:
        yield (
            begun(say("%(kinds)s count only as a solo jump.", kinds=turns_words(allowed.solo_only))),
            tuple(allowed.solo_only),
        )


def _of_short(edition: Edition) -> Iterator[Said]:
    short = edition.rules.short
    if short is None:
        return
    yield say("The Axel jump is %(jumps)s.", jumps=either(short.axel)), ()
    yield say("The solo jump is %(jumps)s.", jumps=either(short.solo)), ()
    yield say("The combination has two jumps: %(pairs)s.", pairs=pairs_words(short.combination)), ()
    if short.tails:
        yield say("Its second jump is %(jumps)s.", jumps=either(short.tails)), ()
    yield say("No jump is done in two elements; the combination may hold one twice."), ()


def _of_euler(edition: Edition) -> Iterator[Said]:
    euler = edition.rules.euler
    if euler.most == 0:
        yield say("An Euler has no place in the combination."), (0,)
        return
    yield (
        say(
            "An Euler stands between two jumps and counts as a jump of the unit."
            if euler.counts_as_jump
            else "An Euler stands between two jumps and does not count as a jump of the unit."
        ),
        (),
    )
    if euler.most is not None:
        words = counted("%(number)s Euler in the program.", "%(number)s Eulers in the program.", euler.most)
        yield words, (euler.most,)


def _of_family(edition: Edition) -> Iterator[Said]:
    family = edition.rules.family
    if family is not None and family.most is not None:
        yield (
            say("Any one take-off counts %(times)s at most, whatever the turns.", times=times(family.most)),
            (family.most,),
        )
    if family is not None and family.most_repeated is not None:
        words = say_many(
            "Only %(number)s take-off may be done more than once, whatever the turns.",
            "Only %(number)s take-offs may be done more than once, whatever the turns.",
            family.most_repeated,
            number=number(family.most_repeated),
        )
        yield words, (family.most_repeated,)


def _of_part(edition: Edition) -> Iterator[Said]:
    part = edition.rules.part
    if part is not None:
        words = say("What is marked +REP keeps %(percent)s %% of its base value.", percent=part.percent)
        yield words, (part.percent,)


def _of_late(edition: Edition) -> Iterator[Said]:
    late = edition.rules.late
    if not late.last:
        yield say("Nothing counts more in the second half."), (0,)
        return
    words = say_many(
        "Only %(number)s jump element counts %(factor)s times its base value: the last one begun in the second half.",
        "The last %(number)s jump elements begun in the second half count %(factor)s times their base value.",
        late.last,
        number=number(late.last),
        factor=figure(late.percent / 100, 2),
    )
    yield words, (late.last, late.percent)


def _of_spins(edition: Edition) -> Iterator[Said]:
    spins = edition.rules.spins
    yield counted("%(number)s spin counts.", "%(number)s spins count.", spins.most), (spins.most,)
    if spins.no_name_twice:
        yield say("No spin counts twice under the same name."), ()
    for group in spins.required:
        yield say("One of them: %(spins)s.", spins=either(group)), ()


def _of_bonuses(edition: Edition) -> Iterator[Said]:
    table = edition.bonuses
    if table is None:
        return
    for row in table.rows:
        words = say("Bonus of %(points)s: %(what)s.", points=show(row.points), what=of_the_data(row.words))
        yield words, _bonus_numbers(row)
    void = [
        *table.void_calls,
        *([say("a fall")] if table.void_fall else []),
        *(["+REP"] if table.void_part else []),
    ]
    if void:
        yield say("No bonus with %(calls)s.", calls=either(void)), ()
    if table.most_points_per_element is not None:
        most = table.most_points_per_element
        yield say("An element earns %(points)s of bonus at most.", points=show(most)), (most / 100,)
    if table.most_points is not None:
        words = say("A program earns %(points)s of bonus at most.", points=show(table.most_points))
        yield words, (table.most_points / 100,)


def _bonus_numbers(row: BonusRow) -> tuple[float, ...]:
    return tuple(float(one) for one in (row.points / 100, row.variety, row.most) if one is not None)


def _bonus_switch(edition: Edition) -> str:
    return edition.rules.bonuses.switch if edition.rules.bonuses else ""


def _of_falls(edition: Edition) -> Iterator[Said]:
    each = edition.rules.falls.each
    if len(each) == 1:
        yield say("Each fall costs %(points)s.", points=show(each[0])), (each[0] / 100,)
        return
    rising = listed(show(one) for one in each)
    yield (
        say("Falls cost %(rising)s, one after the other; the last figure goes on.", rising=rising),
        tuple(one / 100 for one in each),
    )


def _of_interruptions(edition: Edition) -> Iterator[Said]:
    table = edition.rules.interruptions
    if table is None:
        return
    for step in table.steps:
        words = say(
            "An interruption of more than %(over)s and up to %(upto)s seconds costs %(points)s.",
            over=step.over,
            upto=step.upto,
            points=show(step.points),
        )
        yield words, (step.over, step.upto, step.points / 100)
    if table.allowance is not None:
        words = say("An interruption with a granted pause costs %(points)s.", points=show(table.allowance))
        yield words, (table.allowance / 100,)


def _of_overtime(edition: Edition) -> Iterator[Said]:
    table = edition.rules.overtime
    if table is not None:
        words = say(
            "Each %(seconds)s seconds too short or too long cost %(points)s.",
            seconds=table.seconds,
            points=show(table.points),
        )
        yield words, (table.seconds, table.points / 100)


def _of_grades(edition: Edition) -> Iterator[Said]:
    grades = edition.rules.grades
    words = say(
        "Grades run from %(lowest)s to +%(highest)s, each worth %(percent)s %% of the value.",
        lowest=grades.lowest,
        highest=grades.highest,
        percent=grades.percent,
    )
    yield words, (grades.lowest, grades.highest, grades.percent)
    for code, step in grades.steps.items():
        yield say("A grade of %(grade)s is worth %(points)s.", grade=code, points=show(step)), (step / 100,)
    yield (
        say("From %(judges)s judges on one highest and one lowest mark is dropped.", judges=grades.drop_from),
        (grades.drop_from,),
    )


def _of_components(edition: Edition) -> Iterator[Said]:
    listed = edition.rules.components.list
    if not listed:
        yield say("The factors of the program components are not known here; give the sheet's own."), ()
    for one in listed:
        yield (
            say("%(name)s: factor %(factor)s.", name=one.name, factor=Figure(f"{one.factor:g}")),
            (one.factor,),
        )


def _of_switches(edition: Edition) -> Iterator[RuleSentence]:
    for name, switch in edition.rules.switches.items():
        chosen = edition.reading(name) or switch.default
        words = say(
            "Disputed: %(question)s Taken here: %(reading)s",
            question=of_the_data(switch.question),
            reading=of_the_data(switch.readings[chosen].sentence),
        )
        yield RuleSentence("switches", words, (), edition.reading_ref(name), "", name)

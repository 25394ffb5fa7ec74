"""Units, repeats and quotas of groups in plain sentences, for `sentences`."""

from __future__ import annotations

from collections.abc import Iterator

from app.domain.words import begun, ended, say, say_many
from app.rulebook.editions import Edition
from app.rulebook.schema import Inside, RepeatClass
from app.rulebook.words import counted, kinds_words, names, number, times, turns_words

Said = tuple[str, tuple[float, ...]]


def of_units(edition: Edition) -> Iterator[Said]:
    """How many combinations and sequences, how long, what may stand inside."""
    units = edition.rules.units
    if units is None:
        return
    yield (
        counted(
            "%(number)s combination or sequence counts.",
            "%(number)s combinations or sequences count.",
            units.most,
        ),
        (units.most,),
    )
    most = units.most_sequences
    if most:
        words = counted(
            "%(number)s sequence among them at most.", "%(number)s sequences among them at most.", most
        )
        yield words, (most,)
    else:
        yield say("Sequences are not allowed: only their first jump counts, in part."), (0,)
    if units.most_long:
        words = counted(
            "%(number)s unit may have %(jumps)s jumps.",
            "%(number)s units may have %(jumps)s jumps.",
            units.most_long,
            jumps=units.most_jumps,
        )
        yield words, (units.most_long, units.most_jumps)
    yield (
        say(
            "Every other unit has %(jumps)s jumps at most."
            if units.most_long
            else "Every unit has %(jumps)s jumps at most.",
            jumps=units.usual_jumps,
        ),
        (units.usual_jumps,),
    )
    for limit in units.inside:
        yield _inside(limit), (limit.jumps, limit.most)
    if units.marked_percent < 100:
        words = say(
            "A unit with a printed mark keeps %(percent)s %% of its values.", percent=units.marked_percent
        )
        yield words, (units.marked_percent,)


def _inside(limit: Inside) -> str:
    """What a long unit may hold."""
    words: str = say(
        "A unit of %(jumps)s jumps holds %(most)s %(kinds)s at most",
        jumps=limit.jumps,
        most=limit.most,
        kinds=turns_words(limit.revolutions),
    )
    if limit.exempt:
        words = say("%(words)s, %(jumps)s aside", words=words, jumps=names(limit.exempt))
    if limit.downgraded_counts:
        words = say("%(words)s; a downgraded jump counts as the lower one", words=words)
    return ended(words)


def of_repeats(edition: Edition) -> Iterator[Said]:
    """Each repeat class in one sentence or more."""
    repeats = edition.rules.repeats
    if repeats is None:
        return
    dropped = edition.reading("repeats_clause_beside_the_family_cap") == "dropped"
    for one in repeats.classes:
        yield from _of_class(one, dropped)
    free = [turns for turns in edition.rules.allowed.revolutions if not _governed(edition, turns)]
    if free:
        yield begun(say("%(kinds)s may be repeated without limit of their own.", kinds=turns_words(free))), ()


def _governed(edition: Edition, turns: int) -> bool:
    return (
        any(turns in one.revolutions for one in edition.rules.repeats.classes)
        if edition.rules.repeats
        else True
    )


def _of_class(one: RepeatClass, dropped: bool) -> Iterator[Said]:
    kinds = kinds_words(one.revolutions, one.jumps)
    words = begun(say("%(kinds)s: each %(times)s at most.", kinds=kinds, times=times(one.executions)))
    yield words, (one.executions,)
    if one.most_repeated is not None and not dropped:
        yield (
            say_many(
                "Of %(kinds)s only %(number)s different one may be done twice.",
                "Of %(kinds)s only %(number)s different ones may be done twice.",
                one.most_repeated,
                kinds=kinds,
                number=number(one.most_repeated),
            ),
            (one.most_repeated,),
        )
        if one.most_repeated_within is not None:
            words = say_many(
                "Among those, %(number)s different one of %(kinds)s at most.",
                "Among those, %(number)s different ones of %(kinds)s at most.",
                one.most_repeated_within,
                number=number(one.most_repeated_within),
                kinds=turns_words(one.within),
            )
            yield words, (one.most_repeated_within,)
    if one.solo_loses:
        words = say(
            "Of two executions one must stand in a combination or sequence, else the second keeps a part."
            if one.solo_keeps == "part"
            else "Of two executions one must stand in a combination or sequence, else the second counts for nothing."
        )
        yield words, ()


def limit_words(edition: Edition) -> Iterator[Said]:
    """Quotas of groups of jumps."""
    limits = edition.rules.limits
    if limits is None:
        return
    for group in limits.groups:
        kinds = kinds_words(group.revolutions, group.jumps)
        if group.most is not None:
            words = counted(
                "%(number)s jump of %(kinds)s together at most.",
                "%(number)s jumps of %(kinds)s together at most.",
                group.most,
                kinds=kinds,
            )
            yield words, (group.most,)
        if group.most_different is not None:
            yield (
                say_many(
                    "Only %(number)s kind of %(kinds)s counts.",
                    "Only %(number)s kinds of %(kinds)s counts.",
                    group.most_different,
                    number=number(group.most_different),
                    kinds=kinds,
                ),
                (group.most_different,),
            )

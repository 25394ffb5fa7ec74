"""Units, repeats and quotas of groups in plain sentences, for `sentences`."""

from __future__ import annotations

from collections.abc import Iterator

from app.rulebook.editions import Edition
from app.rulebook.schema import RepeatClass
from app.rulebook.words import counted, names, sentence, turns_words

Said = tuple[str, tuple[float, ...]]


def of_units(edition: Edition) -> Iterator[Said]:
    """How many combinations and sequences, how long, what may stand inside."""
    units = edition.rules.units
    if units is None:
        return
    yield sentence(f"{counted(units.most, 'combination')} or sequences count"), (units.most,)
    if units.most_sequences:
        yield (
            sentence(f"{counted(units.most_sequences, 'sequence')} among them at most"),
            (units.most_sequences,),
        )
    else:
        yield "Sequences are not allowed: only their first jump counts, in part.", (0,)
    if units.most_long:
        long = counted(units.most_long, "unit")
        yield sentence(f"{long} may have {units.most_jumps} jumps"), (units.most_long, units.most_jumps)
    yield (
        f"Every {'other ' if units.most_long else ''}unit has {units.usual_jumps} jumps at most.",
        (units.usual_jumps,),
    )
    for limit in units.inside:
        kind = turns_words(limit.revolutions)
        words = f"A unit of {limit.jumps} jumps holds {limit.most} {kind} at most"
        words += f", {names(limit.exempt)} aside" if limit.exempt else ""
        words += "; a downgraded jump counts as the lower one" if limit.downgraded_counts else ""
        yield f"{words}.", (limit.jumps, limit.most)
    if units.marked_percent < 100:
        words = f"A unit with a printed mark keeps {units.marked_percent} % of its values."
        yield words, (units.marked_percent,)


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
        yield sentence(f"{turns_words(free)} may be repeated without limit of their own"), ()


def _governed(edition: Edition, turns: int) -> bool:
    return (
        any(turns in one.revolutions for one in edition.rules.repeats.classes)
        if edition.rules.repeats
        else True
    )


def _of_class(one: RepeatClass, dropped: bool) -> Iterator[Said]:
    kinds = names([*([turns_words(one.revolutions)] if one.revolutions else []), *one.jumps])
    yield sentence(f"{kinds}: each {counted(one.executions, 'time')} at most"), (one.executions,)
    if one.most_repeated is not None and not dropped:
        some = counted(one.most_repeated, "different one")
        yield f"Of {kinds} only {some} may be done twice.", (one.most_repeated,)
        if one.most_repeated_within is not None:
            inner = counted(one.most_repeated_within, "different one")
            within = turns_words(one.within)
            yield f"Among those, {inner} of {within} at most.", (one.most_repeated_within,)
    if one.solo_loses:
        keeps = "keeps a part" if one.solo_keeps == "part" else "counts for nothing"
        yield f"Of two executions one must stand in a combination or sequence, else the second {keeps}.", ()


def limit_words(edition: Edition) -> Iterator[Said]:
    """Quotas of groups of jumps."""
    limits = edition.rules.limits
    if limits is None:
        return
    for group in limits.groups:
        kinds = names([*([turns_words(group.revolutions)] if group.revolutions else []), *group.jumps])
        if group.most is not None:
            yield sentence(f"{counted(group.most, 'jump')} of {kinds} together at most"), (group.most,)
        if group.most_different is not None:
            yield (
                f"Only {counted(group.most_different, 'kind')} of {kinds} counts.",
                (group.most_different,),
            )

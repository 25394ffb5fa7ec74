"""The words of a skate's report: for the coach with codes and points, for a guardian plain and without either.

Kind, short, no blame: what went well stands first, nobody is compared with anybody, and luck is called luck.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from app.domain.spoken import spoken
from app.domain.words import Text, figure, listed, say, say_many, sentences
from app.review.decisions import Decision
from app.review.report import Miss, PassFact, Rehearsal, Report
from app.web.waterfall import signed

MOST_UNLUCKY = 3
"""Right choices that did not come off, named one by one."""

NO_JUMPS = say("Said off the ice first, then walked through: it needs no extra jumps.")
TALKED_THROUGH = say("The coach talks it through off the ice; it needs no extra jumps.")


def _coach_rehearses(passes: str) -> Mapping[Miss, Text]:
    """What to rehearse for a kind of miss that came on these passes."""
    return {
        Miss.FELL: say(
            "Going on after a fall, as on %(passes)s: where the music is picked up again, walked through. It needs no "
            "jumps.",
            passes=passes,
        ),
        Miss.POPPED: say(
            "The entries of %(passes)s: walked through, then a few single jumps, counted.", passes=passes
        ),
        Miss.TAIL_LOST: say(
            "The answer to a lost tail, as on %(passes)s: said aloud off the ice. It needs no jumps.",
            passes=passes,
        ),
        Miss.TAIL_SHORT: say(
            "From landing into the tail on %(passes)s: the rhythm with a few single jumps, counted.",
            passes=passes,
        ),
        Miss.TURNS: say(
            "The turns of %(passes)s: look at landings that are practised anyway, together with a licensed coach.",
            passes=passes,
        ),
        Miss.EDGE: say("The take-off edge of %(passes)s: the entries without the jump.", passes=passes),
    }


GUARDIAN_REHEARSES: Mapping[Miss, Text] = {
    Miss.FELL: say(
        "Going on after a fall: finding the music again. The coach walks it through; it needs no jumps."
    ),
    Miss.POPPED: say(
        "The steps into a jump that opened early. The coach walks them through, with a few small jumps."
    ),
    Miss.TAIL_LOST: say(
        "What to do when the added jump of a combination does not come. It is talked through off the ice."
    ),
    Miss.TAIL_SHORT: say("The rhythm from one jump into the next, with a few small jumps."),
    Miss.TURNS: say(
        "The turns of the jumps. The coach will look at them in normal practice; no extra jumps are needed."
    ),
    Miss.EDGE: say("The steps into a jump, so that the take-off edge is clear. It needs no jumps."),
}
GUARDIAN_MISSES: Mapping[Miss, Text] = {
    Miss.NOT_DONE: say("It was not tried this time."),
    Miss.FELL: say("It ended in a fall."),
    Miss.POPPED: say("The first jump opened early and had fewer turns."),
    Miss.TAIL_LOST: say("The jump that was to follow did not come."),
    Miss.TAIL_SHORT: say("The jump that followed had fewer turns."),
    Miss.TURNS: say("The panel saw it a little short of turns."),
    Miss.EDGE: say("The panel was not sure of the take-off edge."),
    Miss.UNCLEAN: say("It came, with a small error."),
    Miss.RULE: say("By the rules it counted for less, because of what else was skated."),
}


def coach_strengths(found: Report, *, with_sheet: bool) -> Iterator[str]:
    """What went well, with codes."""
    strengths = found.strengths
    if strengths.kept:
        names = listed(one.name for one in strengths.kept)
        as_called = say("As planned and so called: %(passes)s.", passes=names)
        yield as_called if with_sheet else say("As planned: %(passes)s.", passes=names)
    for one in strengths.changed_well:
        yield say(
            "Pass %(number)s: %(tried)s instead of %(planned)s was the right change, and it came.",
            number=one.number,
            tried=one.tried,
            planned=one.planned,
        )
    for fact in strengths.after_fall:
        yield say("Right after a fall %(element)s came as tried.", element=fact.came)
    if strengths.best is not None:
        yield say(
            "The panel's best grade: %(element)s, %(points)s.",
            element=strengths.best.name,
            points=signed(strengths.best.goe or 0),
        )
    if strengths.attempted == strengths.passes:
        yield say("All %(count)s passes were skated.", count=strengths.passes)
    else:
        yield say(
            "Skated to the end, %(done)s of %(all)s passes.", done=strengths.attempted, all=strengths.passes
        )


def guardian_strengths(found: Report) -> Iterator[str]:
    """What went well, in plain words."""
    strengths = found.strengths
    if strengths.kept:
        yield say(
            "These came as planned: %(jumps)s.", jumps=listed(spoken(one.name) for one in strengths.kept)
        )
    for one in strengths.changed_well:
        yield say(
            "A change on the way was the right one, and it worked: %(tried)s in place of %(planned)s.",
            tried=spoken(one.tried or one.planned),
            planned=spoken(one.planned),
        )
    if strengths.after_fall:
        yield say("The jump right after a fall came. Going straight on is a strength.")
    if strengths.best is not None:
        yield say("Of the jumps the panel liked this one best: %(jump)s.", jump=spoken(strengths.best.name))
    if strengths.attempted == strengths.passes:
        yield say("The whole program was skated, with every jump tried.")
    else:
        yield say("The program was skated to its end.")


def coach_choices(found: Report) -> Iterator[str]:
    """Right choices that did not come off, said to be right."""
    for one in found.unlucky[:MOST_UNLUCKY]:
        yield say(
            "Pass %(number)s: %(tried)s was the right choice; it did not come off this time.",
            number=one.number,
            tried=one.tried,
        )
    more = len(found.unlucky) - MOST_UNLUCKY
    if more > 0:
        yield say_many(
            "One more choice was right and had no luck.",
            "%(count)s more choices were right and had no luck.",
            more,
        )


def guardian_choices(found: Report) -> Iterator[str]:
    """The same in one sentence."""
    names = list(dict.fromkeys(spoken(one.tried) for one in found.unlucky if one.tried is not None))
    if names:
        yield say("Right to try, also where it did not come off this time: %(jumps)s.", jumps=listed(names))


def guardian_others(found: Report) -> Iterator[str]:
    """What came out otherwise than planned, one jump a line, neutral."""
    for one in found.others:
        said = [GUARDIAN_MISSES[miss] for miss in one.misses]
        if one.planned is not None and one.tried is not None and one.tried != one.planned:
            said.insert(0, say("What was tried instead: %(jump)s.", jump=spoken(one.tried)))
        if not said:
            said = [say("It came at another place.") if one.planned else say("It was added on the way.")]
        jump, happened = spoken(one.name), sentences(*said)
        if one.number:
            yield say(
                "Jump %(number)s, %(jump)s: %(happened)s", number=one.number, jump=jump, happened=happened
            )
        else:
            yield say("One more jump, %(jump)s: %(happened)s", jump=jump, happened=happened)


def coach_rehearsal(found: Report) -> tuple[str, ...]:
    """The one thing, or why there is none."""
    one = found.rehearsal
    if one is None:
        return (_nothing(found),)
    if one.choice is not None:
        return (_coach_choice(one.choice), NO_JUMPS)
    return (_coach_rehearses(_passes(one.passes))[_kind(one)],)


def guardian_rehearsal(found: Report) -> tuple[str, ...]:
    """The same in plain words."""
    one = found.rehearsal
    if one is None and found.others:
        return (say("Nothing new. What did not come this time was luck more than anything."),)
    if one is None:
        return (say("Nothing new: it came as planned."),)
    if one.choice is not None:
        return (_guardian_choice(one.choice), TALKED_THROUGH)
    return (GUARDIAN_REHEARSES[_kind(one)],)


def _nothing(found: Report) -> Text:
    if not found.others:
        return say("Nothing new: it came as planned.")
    if found.judged:
        return say(
            "Nothing new: every choice was the best of what is trained, or close to it, and one miss says little."
        )
    return say("Nothing new: no kind of miss came twice, and one miss says little.")


def _kind(one: Rehearsal) -> Miss:
    assert one.miss is not None, "a rehearsal without a choice is for a kind of miss"
    return one.miss


def _coach_choice(one: Decision) -> Text:
    number, points = one.number, figure(one.short_of, 1)
    tried = one.tried or say("leaving it out")
    if one.best is None:
        return say(
            "Pass %(number)s: leave it out instead of %(tried)s, about %(points)s points on average, misses included.",
            number=number,
            tried=tried,
            points=points,
        )
    if one.best == one.planned:
        return say(
            "Pass %(number)s: keep %(best)s rather than %(tried)s, about %(points)s points on average, misses "
            "included.",
            number=number,
            best=one.best,
            tried=tried,
            points=points,
        )
    return say(
        "Pass %(number)s: %(best)s instead of %(tried)s, about %(points)s points on average, misses included.",
        number=number,
        best=one.best,
        tried=tried,
        points=points,
    )


def _guardian_choice(one: Decision) -> Text:
    number = one.number
    if one.best is None:
        return say("An answer for jump number %(number)s: sometimes leaving it out is right.", number=number)
    best = spoken(one.best)
    if one.best == one.planned:
        return say(
            "An answer for jump number %(number)s: keeping what was planned, %(jump)s.",
            number=number,
            jump=best,
        )
    return say(
        "An answer for jump number %(number)s that is trained already: %(jump)s.", number=number, jump=best
    )


def _passes(found: Sequence[PassFact]) -> str:
    """The passes a miss happened on, by name."""
    return listed(
        say("%(element)s (pass %(number)s)", element=one.name, number=one.number) if one.number else one.name
        for one in found
    )


def points_of(fact: PassFact) -> str:
    """What a pass cost, as the table prints it; a dash where it cost nothing."""
    return signed(fact.lost) if fact.lost else "–"


def total_words(planned: int, came: int, *, with_sheet: bool) -> Text:
    """From the planned jumps to what came, in a sentence; both in hundredths."""
    values = {"planned": figure(planned / 100, 2), "came": figure(came / 100, 2)}
    if with_sheet:
        return say(
            "As planned, with grades at 0: %(planned)s. As called, less deductions: %(came)s.", **values
        )
    return say("Base value of the jumps as planned: %(planned)s. As logged, less falls: %(came)s.", **values)

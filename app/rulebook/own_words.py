"""What each number of a rulebook is called on a form, and what is expected there."""

from __future__ import annotations

import re

from app.domain.words import begun, of_the_data, read_as, say
from app.rulebook.schema import Rules
from app.rulebook.words import kinds_words

TABLES = {
    "programme": say("Time of the program"),
    "boxes": say("Jump elements"),
    "axel": say("Axel"),
    "allowed": say("Jumps that have value"),
    "short": say("Jumps of the short program"),
    "units": say("Combinations and sequences"),
    "euler": say("Euler"),
    "repeats": say("Repeats"),
    "family": say("Same take-off"),
    "limits": say("Quotas of jumps"),
    "part": say("What +REP keeps"),
    "late": say("Second half"),
    "spins": say("Spins"),
    "bonuses": say("Bonuses"),
    "falls": say("Falls"),
    "interruptions": say("Interruptions"),
    "overtime": say("Too short or too long"),
    "grades": say("Grades of execution"),
    "components": say("Program components"),
    "values": say("Base values"),
    "switches": say("Disputed rules"),
}
"""The tables of a rulebook as headings, in the order in which they are read."""

LABELS = {
    "programme.seconds": say("Seconds the program lasts"),
    "programme.tolerance": say("Seconds more or less that are allowed"),
    "programme.at_most": say("The time is only an upper limit"),
    "boxes.most": say("Jump elements that count"),
    "axel.required": say("An Axel-type jump must be tried"),
    "allowed.revolutions": say("Revolutions that have value"),
    "allowed.also": say("More jumps that have value"),
    "allowed.solo_only": say("Revolutions only as a solo jump"),
    "allowed.forbidden": say("Jumps without value"),
    "short.axel": say("Axel jumps to choose from"),
    "short.solo": say("Solo jumps to choose from"),
    "short.tails": say("Second jumps of the combination; empty: any"),
    "units.most": say("Combinations and sequences together"),
    "units.most_sequences": say("Sequences among them"),
    "units.most_jumps": say("Jumps in the longest unit"),
    "units.usual_jumps": say("Jumps in every other unit"),
    "units.most_long": say("Units that may be longer than usual"),
    "units.marked_percent": say("Percent a unit with a printed mark keeps"),
    "units.inside.jumps": say("In units of at least so many jumps"),
    "units.inside.revolutions": say("Revolutions that are limited"),
    "units.inside.exempt": say("Jumps that do not count towards it"),
    "units.inside.downgraded_counts": say("A downgraded jump counts as the lower one"),
    "units.inside.most": say("So many of them at most"),
    "euler.counts_as_jump": say("The Euler counts as a jump of the unit"),
    "euler.most": say("Eulers in the program; empty: no limit"),
    "repeats.classes.revolutions": say("Revolutions of this class"),
    "repeats.classes.jumps": say("Jumps of this class by name"),
    "repeats.classes.executions": say("How often one jump may be done"),
    "repeats.classes.most_repeated": say("Different jumps done twice; empty: no limit"),
    "repeats.classes.within": say("Revolutions of the tighter limit inside"),
    "repeats.classes.most_repeated_within": say("Different ones done twice inside; empty: no limit"),
    "repeats.classes.solo_loses": say("One of two must stand in a combination or sequence"),
    "repeats.classes.solo_keeps": say("What a second solo jump keeps"),
    "family.most": say("Jumps of one take-off; empty: no limit"),
    "family.most_repeated": say("Take-offs done more than once; empty: no limit"),
    "limits.groups.revolutions": say("Revolutions of this group"),
    "limits.groups.jumps": say("Jumps of this group by name"),
    "limits.groups.most": say("Together at most; empty: no limit"),
    "limits.groups.most_different": say("Different ones at most; empty: no limit"),
    "part.percent": say("Percent that +REP keeps"),
    "late.last": say("Last jump elements that count more"),
    "late.percent": say("Percent they count"),
    "late.first": say("Rounded on each jump before any other factor"),
    "spins.most": say("Spins that count"),
    "spins.no_name_twice": say("No spin counts twice under the same name"),
    "spins.unnamed_starred": say("A spin without a name gets its star"),
    "bonuses.rows.points": say("Points"),
    "bonuses.rows.jumps": say("Jumps by name"),
    "bonuses.rows.revolutions": say("Revolutions"),
    "bonuses.rows.variety": say("Paid once, at so many different jumps; empty: for each"),
    "bonuses.rows.each_once": say("Once for each different jump or pair"),
    "bonuses.rows.most": say("How often in one program; empty: no limit"),
    "bonuses.void_calls": say("Calls that void it"),
    "bonuses.void_fall": say("A fall voids it"),
    "bonuses.void_part": say("+REP voids it"),
    "bonuses.most_points_per_element": say("Most points in one element; empty: no limit"),
    "bonuses.most_points": say("Most points in the program; empty: no limit"),
    "falls.each": say("Points off"),
    "interruptions.steps.over": say("Longer than so many seconds"),
    "interruptions.steps.upto": say("Up to so many seconds"),
    "interruptions.steps.points": say("Points off"),
    "interruptions.allowance": say("Points off with a granted pause; empty: none"),
    "overtime.seconds": say("For each so many seconds"),
    "overtime.points": say("Points off"),
    "grades.percent": say("Percent of the value a grade is worth"),
    "grades.lowest": say("Lowest grade"),
    "grades.highest": say("Highest grade"),
    "grades.drop_from": say("Judges from which highest and lowest are dropped"),
    "grades.steps": say("Points a grade"),
    "components.list.factor": say("Factor"),
}
"""Path of a number without places in lists -> what it is called."""

POINTS = {
    "falls.each",
    "interruptions.steps.points",
    "interruptions.allowance",
    "overtime.points",
    "bonuses.rows.points",
    "bonuses.most_points_per_element",
    "bonuses.most_points",
    "grades.steps",
}
"""Kept in hundredths, written as points."""

LEFT_OUT = {
    "document",
    "paragraph",
    "certainty",
    "note",
    "words",
    "name",
    "euler.code",
    "values.table",
    "bonuses.switch",
    "bonuses.reading",
    "bonuses.rows.pairs",
    "short.combination",
    "spins.required",
}
"""Not on the form: sources, names, and what only a file can change."""


def plain(path: str) -> str:
    """`repeats.classes.0.executions` -> `repeats.classes.executions`; the keys of `grades.steps` go too."""
    parts = [part for part in path.split(".") if not part.isdigit()]
    return ".".join(parts[:2] if parts[:2] == ["grades", "steps"] else parts)


def label(rules: Rules, path: str) -> str:
    """What a number is called, with the class, group, bonus or component it belongs to."""
    said = LABELS[plain(path)]
    whose = _whose(rules, path.split("."))
    return (
        read_as(f"{whose}: {said[:1].lower()}{said[1:]}", "%(whose)s: %(what)s", whose=whose, what=said)
        if whose
        else said
    )


def together(table: str, message: str) -> str:
    """A fault of several numbers together, with each number called as on the form."""
    if table == "falls":
        return say("no fall may cost less than the one before it")

    def called(found: re.Match[str]) -> str:
        name = LABELS.get(found[0]) or LABELS.get(f"{table}.{found[0]}")
        return f"“{name}”" if name else found[0]

    return re.sub(r"[a-z]+\.[a-z_]+|[a-z]+_[a-z_]+|most(?= [0-9])", called, message)


def _whose(rules: Rules, parts: list[str]) -> str:
    table, rest = parts[0], parts[1:]
    if table == "falls":
        return say("Fall %(number)s", number=int(rest[1]) + 1) if rest[0] == "each" else ""
    if table == "grades" and rest[0] == "steps":
        return rest[1]
    if len(rest) < 3 or not rest[1].isdigit():
        return ""
    row = getattr(getattr(rules, table), rest[0])[int(rest[1])]
    match table:
        case "bonuses":
            return begun(of_the_data(row.words))
        case "components":
            return str(row.name)
        case "interruptions":
            return say("Step %(number)s", number=int(rest[1]) + 1)
    kinds = kinds_words(row.revolutions, getattr(row, "jumps", ()) if table != "units" else ())
    return begun(kinds)

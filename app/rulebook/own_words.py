"""What each number of a rulebook is called on a form, and what is expected there."""

from __future__ import annotations

import re
from collections.abc import Iterable

from app.rulebook.schema import Rules
from app.rulebook.words import names, turns_words

TABLES = {
    "programme": "Time of the program",
    "boxes": "Jump elements",
    "axel": "Axel",
    "allowed": "Jumps that have value",
    "short": "Jumps of the short program",
    "units": "Combinations and sequences",
    "euler": "Euler",
    "repeats": "Repeats",
    "family": "Same take-off",
    "limits": "Quotas of jumps",
    "part": "What +REP keeps",
    "late": "Second half",
    "spins": "Spins",
    "bonuses": "Bonuses",
    "falls": "Falls",
    "interruptions": "Interruptions",
    "overtime": "Too short or too long",
    "grades": "Grades of execution",
    "components": "Program components",
    "values": "Base values",
    "switches": "Disputed rules",
}
"""The tables of a rulebook as headings, in the order in which they are read."""

LABELS = {
    "programme.seconds": "Seconds the program lasts",
    "programme.tolerance": "Seconds more or less that are allowed",
    "programme.at_most": "The time is only an upper limit",
    "boxes.most": "Jump elements that count",
    "axel.required": "An Axel-type jump must be tried",
    "allowed.revolutions": "Revolutions that have value",
    "allowed.also": "More jumps that have value",
    "allowed.solo_only": "Revolutions only as a solo jump",
    "allowed.forbidden": "Jumps without value",
    "short.axel": "Axel jumps to choose from",
    "short.solo": "Solo jumps to choose from",
    "short.tails": "Second jumps of the combination; empty: any",
    "units.most": "Combinations and sequences together",
    "units.most_sequences": "Sequences among them",
    "units.most_jumps": "Jumps in the longest unit",
    "units.usual_jumps": "Jumps in every other unit",
    "units.most_long": "Units that may be longer than usual",
    "units.marked_percent": "Percent a unit with a printed mark keeps",
    "units.inside.jumps": "In units of at least so many jumps",
    "units.inside.revolutions": "Revolutions that are limited",
    "units.inside.exempt": "Jumps that do not count towards it",
    "units.inside.downgraded_counts": "A downgraded jump counts as the lower one",
    "units.inside.most": "So many of them at most",
    "euler.counts_as_jump": "The Euler counts as a jump of the unit",
    "euler.most": "Eulers in the program; empty: no limit",
    "repeats.classes.revolutions": "Revolutions of this class",
    "repeats.classes.jumps": "Jumps of this class by name",
    "repeats.classes.executions": "How often one jump may be done",
    "repeats.classes.most_repeated": "Different jumps done twice; empty: no limit",
    "repeats.classes.within": "Revolutions of the tighter limit inside",
    "repeats.classes.most_repeated_within": "Different ones done twice inside; empty: no limit",
    "repeats.classes.solo_loses": "One of two must stand in a combination or sequence",
    "repeats.classes.solo_keeps": "What a second solo jump keeps",
    "family.most": "Jumps of one take-off; empty: no limit",
    "family.most_repeated": "Take-offs done more than once; empty: no limit",
    "limits.groups.revolutions": "Revolutions of this group",
    "limits.groups.jumps": "Jumps of this group by name",
    "limits.groups.most": "Together at most; empty: no limit",
    "limits.groups.most_different": "Different ones at most; empty: no limit",
    "part.percent": "Percent that +REP keeps",
    "late.last": "Last jump elements that count more",
    "late.percent": "Percent they count",
    "late.first": "Rounded on each jump before any other factor",
    "spins.most": "Spins that count",
    "spins.no_name_twice": "No spin counts twice under the same name",
    "spins.unnamed_starred": "A spin without a name gets its star",
    "bonuses.rows.points": "Points",
    "bonuses.rows.jumps": "Jumps by name",
    "bonuses.rows.revolutions": "Revolutions",
    "bonuses.rows.variety": "Paid once, at so many different jumps; empty: for each",
    "bonuses.rows.each_once": "Once for each different jump or pair",
    "bonuses.rows.most": "How often in one program; empty: no limit",
    "bonuses.void_calls": "Calls that void it",
    "bonuses.void_fall": "A fall voids it",
    "bonuses.void_part": "+REP voids it",
    "bonuses.most_points_per_element": "Most points in one element; empty: no limit",
    "bonuses.most_points": "Most points in the program; empty: no limit",
    "falls.each": "Points off",
    "interruptions.steps.over": "Longer than so many seconds",
    "interruptions.steps.upto": "Up to so many seconds",
    "interruptions.steps.points": "Points off",
    "interruptions.allowance": "Points off with a granted pause; empty: none",
    "overtime.seconds": "For each so many seconds",
    "overtime.points": "Points off",
    "grades.percent": "Percent of the value a grade is worth",
    "grades.lowest": "Lowest grade",
    "grades.highest": "Highest grade",
    "grades.drop_from": "Judges from which highest and lowest are dropped",
    "grades.steps": "Points a grade",
    "components.list.factor": "Factor",
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
    return f"{whose}: {said[:1].lower()}{said[1:]}" if whose else said


def together(table: str, message: str) -> str:
    """A fault of several numbers together, with each number called as on the form."""
    if table == "falls":
        return "no fall may cost less than the one before it"

    def called(found: re.Match[str]) -> str:
        name = LABELS.get(found[0]) or LABELS.get(f"{table}.{found[0]}")
        return f"“{name}”" if name else found[0]

    return re.sub(r"[a-z]+\.[a-z_]+|[a-z]+_[a-z_]+|most(?= [0-9])", called, message)


def _whose(rules: Rules, parts: list[str]) -> str:
    table, rest = parts[0], parts[1:]
    if table == "falls":
        return f"Fall {int(rest[1]) + 1}" if rest[0] == "each" else ""
    if table == "grades" and rest[0] == "steps":
        return rest[1]
    if len(rest) < 3 or not rest[1].isdigit():
        return ""
    row = getattr(getattr(rules, table), rest[0])[int(rest[1])]
    match table:
        case "bonuses":
            return str(row.words)[:1].upper() + str(row.words)[1:]
        case "components":
            return str(row.name)
        case "interruptions":
            return f"Step {int(rest[1]) + 1}"
    kinds = _kinds(row.revolutions, getattr(row, "jumps", ()) if table != "units" else ())
    return kinds[:1].upper() + kinds[1:]


def _kinds(revolutions: tuple[int, ...], jumps: Iterable[str]) -> str:
    return names([*([turns_words(revolutions)] if revolutions else []), *jumps])

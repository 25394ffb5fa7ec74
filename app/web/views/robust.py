"""The page of sturdier layouts: what the coach fixes, then the best five with picture, changes and figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from app import engine
from app.domain.words import Figure, begun, ended, figure, listed, say, say_many
from app.live.advice import layout_question, unknown_chances
from app.live.entries import fitting, jumps_in
from app.live.program import KnownElement, Limits, Plan, PlannedPass, clock
from app.storage.records import LayoutItem, LayoutRecord, SkaterRecord
from app.web.advisor import Elements
from app.web.range_bar import RangeBar, draw_range
from app.web.views.home import edition_words

MOST_CHOICES = ("1", "2", "3", "4", "any")
USUAL_MOST = "2"
MOST_NAME_LETTERS = 80
LEAST = 0.005
"""Points too few to print."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What the form holds: passes that stay, the latest start of an Axel as typed, the most passes changed."""

    stays: tuple[int, ...] = ()
    axel_before: str = ""
    most: str = USUAL_MOST


@dataclass(frozen=True, slots=True)
class PassChoice:
    """One pass of today's layout in the form."""

    number: int
    code: str
    when: str
    entry: str
    stays: bool


@dataclass(frozen=True, slots=True)
class MostChoice:
    """One choice of how many passes may change."""

    value: str
    words: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class PassView:
    """One pass of a layout; `new`: another element than today."""

    number: int
    code: str
    new: bool


@dataclass(frozen=True, slots=True)
class SturdyRow:
    """One layout. `gain` over today's in points with sign; `codes` as the form sends them; today's is not to take."""

    title: str
    codes: str
    is_today: bool
    passes: tuple[PassView, ...]
    changes: str
    value: str
    gain: str
    keep_all: str
    won_back: str
    fragility: str
    picture: Markup
    in_part: str


@dataclass(frozen=True, slots=True)
class SturdierView:
    """The page. Without `rows` nothing was asked yet. `sure`: whether the list is proved, in words."""

    layout_id: int
    layout: str
    skater: str
    edition: str
    passes: tuple[PassChoice, ...]
    axel_before: str
    most: tuple[MostChoice, ...]
    limits: str
    rows: tuple[SturdyRow, ...]
    verdict: str
    sure: str
    notes: tuple[str, ...]


def form_view(
    layout: LayoutRecord, skater: SkaterRecord, plan: Plan, limits: Limits, asked: Asked
) -> SturdierView:
    """The page before anything is asked."""
    changes = (
        say("none")
        if not limits.most_changes
        else say("at most %(most_changes)s", most_changes=limits.most_changes)
    )
    return SturdierView(
        layout_id=layout.id,
        layout=layout.name,
        skater=skater.name,
        edition=edition_words(layout.edition),
        passes=tuple(
            PassChoice(n, row.code, clock(row.seconds), row.entry, n in asked.stays)
            for n, row in enumerate(plan.passes, start=1)
        ),
        axel_before=asked.axel_before,
        most=tuple(MostChoice(one, _most_words(one), one == asked.most) for one in MOST_CHOICES),
        limits=say("Changes while skating: %(changes)s, by your settings.", changes=changes),
        rows=(),
        verdict="",
        sure="",
        notes=(),
    )


def _most_words(choice: str) -> str:
    return (
        say("any number") if choice == "any" else say_many("%(count)s pass", "%(count)s passes", int(choice))
    )


def sturdier_view(
    form: SturdierView, plan: Plan, elements: Elements, limits: Limits, found: engine.Sturdy
) -> SturdierView:
    """The page with its answer."""
    shown = found.layouts
    if found.today.elements not in {one.elements for one in shown}:
        shown = (*shown, found.today)
    least, most = min(one.low for one in shown), max(one.high for one in shown)
    rows = tuple(_row(number, one, plan, found, (least, most)) for number, one in enumerate(shown, start=1))
    return replace(
        form,
        rows=rows,
        verdict=_verdict(found, limits),
        sure=_sure(found),
        notes=_notes(plan, elements.known, found),
    )


def _row(
    number: int, one: engine.SturdyLayout, plan: Plan, found: engine.Sturdy, scale: tuple[float, float]
) -> SturdyRow:
    is_today = one.elements == found.today.elements
    changes = (
        say("Nothing changed") if is_today else changes_words([row.code for row in plan.passes], one.elements)
    )
    title = say("Today's layout") if is_today else say("Layout %(number)s", number=number)
    bar = RangeBar(
        f"range-{number}", title, one.low, one.value, one.high, found.today.value, scale[0], scale[1]
    )
    return SturdyRow(
        title=title,
        codes=",".join(code or "" for code in one.elements),
        is_today=is_today,
        passes=tuple(
            PassView(n, code or say("left out"), code != row.code)
            for n, (code, row) in enumerate(zip(one.elements, plan.passes, strict=True), start=1)
        ),
        changes=ended(changes),
        value=figure(one.value, 2),
        gain="" if is_today else signed(one.value - found.today.value),
        keep_all=figure(one.keep_all, 2),
        won_back=figure(max(one.won_back, 0.0), 2),
        fragility=figure(max(one.lost_to_rules, 0.0), 2),
        picture=draw_range(bar),
        in_part=say("Counts in part although it lands: %(codes)s.", codes=listed(one.in_part))
        if one.in_part
        else "",
    )


def signed(points: float) -> str:
    """Points with two places and their sign, a true minus; too few to print: no difference."""
    if abs(points) < LEAST:
        return say("no difference")
    return Figure(f"{'+' if points > 0 else '−'}{abs(points):.2f}")


def changes_words(today: Sequence[str], new: Sequence[str | None]) -> str:
    """What changed, in words: `passes 2 and 4 change places, pass 5: 3F instead of 3F+2T`."""
    differ = [n for n, (was, now) in enumerate(zip(today, new, strict=True)) if was != now]
    said, paired = [], set[int]()
    for first in differ:
        if first in paired:
            continue
        other = next(
            (
                n
                for n in differ
                if n > first and n not in paired and (today[n], new[n]) == (new[first], today[first])
            ),
            None,
        )
        if other is None:
            said.append(
                say(
                    "pass %(number)s: %(now)s instead of %(was)s",
                    number=first + 1,
                    now=new[first],
                    was=today[first],
                )
            )
        else:
            paired.add(other)
            said.append(say("passes %(first)s and %(last)s change places", first=first + 1, last=other + 1))
    return begun(listed(said))


def _verdict(found: engine.Sturdy, limits: Limits) -> str:
    if not found.layouts:
        return say("No layout of trained elements keeps to these wishes.")
    best = found.layouts[0]
    gain = best.value - found.today.value
    if best.elements == found.today.elements:
        return say("Today's layout is the sturdiest within these wishes.")
    if gain < limits.threshold:
        return say(
            "The first is %(signed)s on today's: less than the %(threshold)s you call worth a change.",
            signed=signed(gain),
            threshold=Figure(format(limits.threshold, "g")),
        )
    return say(
        "The first is %(signed)s points on today's, on average, misses and recovery included.",
        signed=signed(gain),
    )


def _sure(found: engine.Sturdy) -> str:
    if found.proved:
        return say(
            "Proved: no layout within these wishes was left out that is worth more than those shown. "
            "%(count)s layouts besides today's were reckoned to the end.",
            count=found.evaluated,
        )
    return say(
        "Not proved: the search was cut short. %(count)s layouts besides today's were reckoned to the end; "
        "none of the others is worth more than %(bound)s.",
        count=found.evaluated,
        bound=figure(found.open_bound or 0.0, 2),
    )


def _notes(plan: Plan, known: Mapping[str, KnownElement], found: engine.Sturdy) -> tuple[str, ...]:
    notes = []
    if not found.today_fits:
        notes.append(say("Today's layout does not keep to these wishes; it stands here for comparison."))
    bare = [str(n) for n, row in enumerate(plan.passes, start=1) if not row.entry]
    if bare:
        notes.append(
            say_many(
                "Entry not noted on pass %(passes)s: any trained element was tried there.",
                "Entry not noted on passes %(passes)s: any trained element was tried there.",
                len(bare),
                passes=listed(bare),
            )
        )
    loose = sorted(
        {str(c) for one in found.layouts for c in one.elements if c in known and not known[str(c)].entry}
    )
    if loose:
        notes.append(say("Entry not noted for %(loose)s: tried on every pass.", loose=listed(loose)))
    unknown = unknown_chances(plan, known)
    if unknown:
        notes.append(
            say("No chances of the skater's own for %(fromkeys)s.", fromkeys=listed(dict.fromkeys(unknown)))
        )
    return tuple(notes)


def taken(
    layout: LayoutRecord, plan: Plan, elements: Elements, limits: Limits, new: Sequence[str]
) -> LayoutRecord:
    """A copy of a layout with other elements on its passes, every fitting trained element an option of each.

    The seconds to spare are those behind today's element, less what added jumps need.
    """
    asked = layout_question(plan, elements.offered, elements.known, limits)["passes"]
    goes = {item.code: item.goe for item in reversed(layout.items) if item.kind == "jump"}
    items: list[LayoutItem] = []
    number = 0
    for item in layout.items:
        if item.kind != "jump":
            items.append(item)
            continue
        row, code = plan.passes[number], new[number]
        options = tuple(one for one in asked[number]["options"] if one != code)
        added = jumps_in(code) - jumps_in(item.code)
        items.append(
            replace(
                item,
                code=code,
                goe=goes.get(code, _clean_goe(row, code, elements.known, item.goe)),
                options=options,
                slack=max(item.slack - added, 0) if item.slack else 0,
            )
        )
        number += 1
    changed = changes_words([row.code for row in plan.passes], new)
    book = engine.edition(layout.edition)
    name = f"{layout.name}: {changed[:1].lower()}{changed[1:]}"[:MOST_NAME_LETTERS]
    return replace(layout, id=0, name=name, items=tuple(items), fingerprint=book.fingerprint)


def _clean_goe(row: PlannedPass, code: str, known: Mapping[str, KnownElement], otherwise: float) -> float:
    """The grade of the likeliest clean attempt from the entry of the pass."""
    if code not in known:
        return otherwise
    ends = (fitting(row, known[code]) or known[code]).outcomes
    clean = [one for one in ends if one.becomes == code and not one.fall and not one.error]
    return max(clean, key=lambda one: one.chance).goe if clean else otherwise

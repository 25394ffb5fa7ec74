"""The card: a few rules in sentences a skater can say, what they keep of perfect replanning, how sure that is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from app import engine
from app.domain.rulings import CERTAINTIES
from app.live import advice
from app.live.program import KnownElement, Limits, Plan
from app.live.rule_notes import RuleNote, notes_for
from app.rulebook.editions import Edition
from app.storage.records import LayoutRecord, SkaterRecord
from app.web.views.home import edition_words

IF = {
    "fall": "If pass {0} ends in a fall",
    "popped": "If the first jump of pass {0} pops",
    "tail lost": "If the tail at pass {0} is lost",
    "tail shortened": "If the tail at pass {0} comes out shorter",
    "not attempted": "If pass {0} does not happen",
}
"""Failures as a skater says them."""
AND = {
    "fall": "ends in a fall",
    "popped": "pops",
    "tail lost": "loses its tail",
    "tail shortened": "gets a shorter tail",
    "not attempted": "does not happen",
}
"""The same where several failures of one pass lead to the same swap."""
MOST_RULES = 6


@dataclass(frozen=True, slots=True)
class Asked:
    """What the coach chose: rules on the card, changes in a program, swaps in one rule."""

    rules: int
    changes: int
    swaps: int

    @property
    def address(self) -> str:
        """The choice as it stands in an address."""
        return f"rules={self.rules}&changes={self.changes}&swaps={self.swaps}"


@dataclass(frozen=True, slots=True)
class DoView:
    """What a rule tries: `say` large ("2T on pass 4"), `whole` the element, `planned` what it replaces."""

    say: str
    whole: str
    planned: str
    cue: str
    record: str


@dataclass(frozen=True, slots=True)
class RuleView:
    """One rule, or several of one pass with the same swap. `when` ends without a colon; `at` names the planned pass.

    `worth` and `chance` are sentences; `number` is that of the pass.
    """

    number: int
    when: str
    at: str
    do: tuple[DoView, ...]
    worth: str
    chance: str


@dataclass(frozen=True, slots=True)
class CardView:
    """The page of a card and its printed side. `keeps` is the one sentence of figures, `figures` what it rests on.

    `cautions`: what makes it less sure or less useful; `careful`: nothing harder right after a fall. `counts` are
    the numbers to choose from.
    """

    layout_id: int
    name: str
    skater: str
    edition: str
    asked: Asked
    rule_counts: tuple[int, ...]
    change_counts: tuple[int, ...]
    rules: tuple[RuleView, ...]
    keeps: str
    figures: str
    search: str
    cautions: tuple[str, ...]
    careful: bool
    notes: tuple[RuleNote, ...]
    shows_points: bool = True
    """On a skater's own phone only where the coach lets points show."""


@dataclass(frozen=True, slots=True)
class CardGround:
    """What a card is put into words from."""

    layout: LayoutRecord
    skater: SkaterRecord
    plan: Plan
    known: Mapping[str, KnownElement]
    limits: Limits
    most_changes: int


def card_view(card: engine.Card, ground: CardGround, asked: Asked) -> CardView:
    """The card in words."""
    edition = engine.edition(ground.layout.edition)
    rules = sorted(card.rules, key=lambda rule: rule.number)
    codes = [swap.element for rule in rules for swap in rule.swaps if swap.element is not None]
    notes = notes_for(edition, list(dict.fromkeys(codes)), ())
    return CardView(
        layout_id=ground.layout.id,
        name=ground.layout.name,
        skater=ground.skater.name,
        edition=edition_words(ground.layout.edition),
        asked=asked,
        rule_counts=tuple(range(1, MOST_RULES + 1)),
        change_counts=tuple(range(1, ground.most_changes + 1)),
        rules=tuple(_rule(alike, ground.known) for alike in _alike(rules)),
        keeps=_keeps(card),
        figures=_figures(card),
        search=" ".join(filter(None, (_search(card), _counted(card, _alike(rules))))),
        cautions=_cautions(card, ground, notes, edition),
        careful=not ground.limits.harder_after_fall,
        notes=notes,
    )


def _alike(rules: Sequence[engine.CardRule]) -> list[list[engine.CardRule]]:
    """Rules of one pass that make the same swaps, together: one thing to remember."""
    groups: dict[tuple[int, tuple[engine.CardSwap, ...]], list[engine.CardRule]] = {}
    for rule in rules:
        groups.setdefault((rule.number, rule.swaps), []).append(rule)
    return list(groups.values())


def _rule(alike: Sequence[engine.CardRule], known: Mapping[str, KnownElement]) -> RuleView:
    """Failures of one pass exclude each other, so their gains and chances add up."""
    first = alike[0]
    gain, fires = sum(rule.gain for rule in alike), sum(rule.fires for rule in alike)
    return RuleView(
        number=first.number,
        when=_when(first.number, [rule.kind for rule in alike]),
        at=first.planned or "",
        do=tuple(_do(swap, known) for swap in first.swaps),
        worth=f"Brings {gain / fires:+.1f} points each time it is used, {gain:+.2f} a skate on average.",
        chance=_chance(fires),
    )


def _when(number: int, kinds: Sequence[str]) -> str:
    if len(kinds) == 1:
        return IF[kinds[0]].format(number)
    *others, last = [AND[kind] for kind in kinds]
    return f"If pass {number} {', '.join(others)} or {last}"


def _do(swap: engine.CardSwap, known: Mapping[str, KnownElement]) -> DoView:
    one = known.get(swap.element) if swap.element is not None else None
    return DoView(
        say=_say(swap),
        whole=swap.element or "",
        planned=swap.planned or "",
        cue=one.cue if one else "",
        record=f"trained {one.record}" if one else "",
    )


def _say(swap: engine.CardSwap) -> str:
    """The shortest way to say a swap: only the tail when only a tail is added."""
    planned, element = swap.planned or "", swap.element
    if element is None:
        return f"leave out pass {swap.number}"
    if planned and element.startswith(f"{planned}+") and not element.endswith("+SEQ"):
        return f"{element.removeprefix(f'{planned}+')} on pass {swap.number}"
    if planned.startswith(f"{element}+"):
        return f"{element} alone on pass {swap.number}" if "+" not in element else _on(element, swap.number)
    return _on(element, swap.number)


def _on(element: str, number: int) -> str:
    return f"{element} on pass {number}"


def _chance(fires: float) -> str:
    if fires >= 0.995:
        return "Comes up in every skate."
    if fires < 0.005:
        return "Comes up in fewer than 1 skate in 200."
    return f"Comes up in about 1 skate in {max(1, round(1 / fires))}."


def _keeps(card: engine.Card) -> str:
    if card.share is None:
        return "Nothing can be won back by changing. Keep the plan."
    if not card.rules:
        return "No rule brings enough to be worth remembering. Keep the plan."
    return f"Keeps {card.share:.0%} of what perfect replanning would win.".replace("%", " %")


def _figures(card: engine.Card) -> str:
    """Points of the jumps on average; misses are in them already."""
    return (
        f"Jumps on average, misses included: {card.keep_all:.2f} with the plan kept, {card.value:.2f} with this card, "
        f"{card.full:.2f} with perfect replanning."
    )


def _search(card: engine.Card) -> str:
    if card.proved:
        return "No card of so many rules is worth more: every one was looked at."
    return f"The best of a search through {card.looked_at:,} cards; a better one may exist."


def _counted(card: engine.Card, groups: Sequence[object]) -> str:
    """Why fewer sentences stand on the card than rules were allowed; empty where each is one."""
    if len(groups) == len(card.rules):
        return ""
    return f"Counted as {len(card.rules)} rules: misses of one pass with the same answer are written as one."


def _cautions(
    card: engine.Card, ground: CardGround, notes: tuple[RuleNote, ...], edition: Edition
) -> tuple[str, ...]:
    found = []
    if card.rules and card.anyway >= max(ground.limits.threshold, 0.01):
        found.append(
            f"One change made whatever happens would bring {card.anyway:+.1f}. Look at the layout before the card."
        )
    unsure = {note.certainty for note in notes if note.certainty != "read"}
    if unsure:
        worst = max(unsure, key=CERTAINTIES.index)
        found.append(f"Rests on rules of {edition.season.replace('-', '/')} that were not read: {worst}.")
    unknown = advice.unknown_chances(ground.plan, ground.known)
    if unknown:
        found.append(f"No chances of the skater's own for {', '.join(dict.fromkeys(unknown))}.")
    return tuple(found)

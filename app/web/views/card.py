"""The card: a few rules in sentences a skater can say, what they keep of perfect replanning, how sure that is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from app import engine
from app.domain.rulings import CERTAINTIES, Certainty
from app.domain.words import either, figure, grouped, listed, say, sentences
from app.live import advice
from app.live.program import KnownElement, Limits, Plan
from app.live.rule_notes import RuleNote, notes_for
from app.rulebook.editions import Edition
from app.storage.records import LayoutRecord, SkaterRecord
from app.web.views.home import edition_words

FAILS: dict[str, str] = {
    "fall": say("ends in a fall"),
    "popped": say("pops"),
    "tail lost": say("loses its tail"),
    "tail shortened": say("gets a shorter tail"),
    "not attempted": say("does not happen"),
}
"""Failures where several of one pass lead to the same swap."""
CERTAIN: dict[Certainty, str] = {
    "second-hand": say("second-hand"),
    "inferred": say("inferred"),
    "memory": say("from memory"),
    "your own": say("your own"),
}
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
        search=sentences(_search(card), _counted(card, _alike(rules))),
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
        worth=say(
            "Brings %(each)s points each time it is used, %(points)s a skate on average.",
            each=figure(gain / fires, signed=True),
            points=figure(gain, 2, signed=True),
        ),
        chance=_chance(fires),
    )


def _when(number: int, kinds: Sequence[str]) -> str:
    """The failures of a pass as a skater says them."""
    if len(kinds) > 1:
        fails = either(FAILS[kind] for kind in kinds)
        return say("If pass %(number)s %(fails)s", number=number, fails=fails)
    match kinds[0]:
        case "fall":
            return say("If pass %(number)s ends in a fall", number=number)
        case "popped":
            return say("If the first jump of pass %(number)s pops", number=number)
        case "tail lost":
            return say("If the tail at pass %(number)s is lost", number=number)
        case "tail shortened":
            return say("If the tail at pass %(number)s comes out shorter", number=number)
        case _:
            return say("If pass %(number)s does not happen", number=number)


def _do(swap: engine.CardSwap, known: Mapping[str, KnownElement]) -> DoView:
    one = known.get(swap.element) if swap.element is not None else None
    return DoView(
        say=_say(swap),
        whole=swap.element or "",
        planned=swap.planned or "",
        cue=one.cue if one else "",
        record=say("%(element)s trained %(record)s.", element=swap.element, record=one.record) if one else "",
    )


def _say(swap: engine.CardSwap) -> str:
    """The shortest way to say a swap: only the tail when only a tail is added."""
    planned, element = swap.planned or "", swap.element
    if element is None:
        return say("leave out pass %(number)s", number=swap.number)
    if planned and element.startswith(f"{planned}+") and not element.endswith("+SEQ"):
        return _on(element.removeprefix(f"{planned}+"), swap.number)
    if planned.startswith(f"{element}+") and "+" not in element:
        return say("%(element)s alone on pass %(number)s", element=element, number=swap.number)
    return _on(element, swap.number)


def _on(element: str, number: int) -> str:
    return say("%(element)s on pass %(number)s", element=element, number=number)


def _chance(fires: float) -> str:
    if fires >= 0.995:
        return say("Comes up in every skate.")
    if fires < 0.005:
        return say("Comes up in fewer than 1 skate in 200.")
    return say("Comes up in about 1 skate in %(many)s.", many=max(1, round(1 / fires)))


def _keeps(card: engine.Card) -> str:
    if card.share is None:
        return say("Nothing can be won back by changing. Keep the plan.")
    if not card.rules:
        return say("No rule brings enough to be worth remembering. Keep the plan.")
    return say("Keeps %(share)s %% of what perfect replanning would win.", share=round(100 * card.share))


def _figures(card: engine.Card) -> str:
    """Points of the jumps on average; misses are in them already."""
    return say(
        "Jumps on average, misses included: %(kept)s with the plan kept, %(card)s with this card, "
        "%(full)s with perfect replanning.",
        kept=figure(card.keep_all, 2),
        card=figure(card.value, 2),
        full=figure(card.full, 2),
    )


def _search(card: engine.Card) -> str:
    if card.proved:
        return say("No card of so many rules is worth more: every one was looked at.")
    count = grouped(card.looked_at)
    return say("The best of a search through %(count)s cards; a better one may exist.", count=count)


def _counted(card: engine.Card, groups: Sequence[object]) -> str:
    """Why fewer sentences stand on the card than rules were allowed; empty where each is one."""
    if len(groups) == len(card.rules):
        return ""
    return say(
        "Counted as %(count)s rules: misses of one pass with the same answer are written as one.",
        count=len(card.rules),
    )


def _cautions(
    card: engine.Card, ground: CardGround, notes: tuple[RuleNote, ...], edition: Edition
) -> tuple[str, ...]:
    found = []
    if card.rules and card.anyway >= max(ground.limits.threshold, 0.01):
        found.append(
            say(
                "One change made whatever happens would bring %(points)s. Look at the layout before the card.",
                points=figure(card.anyway, signed=True),
            )
        )
    unsure = {note.certainty for note in notes if note.certainty != "read"}
    if unsure:
        worst = max(unsure, key=CERTAINTIES.index)
        found.append(
            say(
                "Rests on rules of %(season)s that were not read: %(how_sure)s.",
                season=edition.season.replace("-", "/"),
                how_sure=CERTAIN[worst],
            )
        )
    unknown = advice.unknown_chances(ground.plan, ground.known)
    if unknown:
        found.append(
            say("No chances of the skater's own for %(codes)s.", codes=listed(dict.fromkeys(unknown)))
        )
    return tuple(found)

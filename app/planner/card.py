"""The card: the few rules a skater can remember that win back most after a miss.

How a card is read stands in `card_rules`, what it is worth in `card_worth`, how the best one is found in
`card_search`. Points here are points, not hundredths. The value is that of the `advise` contract.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from app.domain.words import say
from app.errors import InputError
from app.planner.advice import Advice
from app.planner.card_rules import MOST_CHANGES, Barred, Kind, Rules, Swap, Swaps, Trigger, never_barred
from app.planner.card_search import Found, Progress, Search
from app.planner.card_table import build_table
from app.planner.card_worth import RuleSet, Worth, candidates
from app.planner.plan import Planner
from app.planner.problem import Problem, read_problem
from app.requests import AdviseRequest, read_request

RULES = 4
"""Rules a card has at most, unless told otherwise."""
NOTHING = 0.005
"""Points that perfect replanning must bring for a share of it to mean anything: half the smallest step of a score."""


@dataclass(frozen=True, slots=True)
class CardSwap:
    """What a rule tries: `element` (None: leave the pass out) at pass `number`, from 1, instead of `planned`."""

    number: int
    planned: str | None
    element: str | None


@dataclass(frozen=True, slots=True)
class CardRule:
    """One rule: when pass `number` (from 1), planned as `planned`, fails in this `kind`, make `swaps`.

    `gain`: points that the card would lose without it. `fires`: chance that it is carried out; `happens`: chance of
    the failure itself, rule or not.
    """

    number: int
    planned: str | None
    kind: Kind
    swaps: tuple[CardSwap, ...]
    gain: float
    fires: float
    happens: float

    @property
    def gain_when_fired(self) -> float:
        """Points won back on average each time the rule is carried out."""
        return self.gain / self.fires if self.fires else 0.0


@dataclass(frozen=True, slots=True)
class Card:
    """A card and how far it goes: `keep_all` <= `value` <= `full`, the best that perfect replanning could do.

    `share` = (value - keep_all) / (full - keep_all); None when there is nothing to win. `anyway`: what the best single
    change would bring if it were made whatever happens; then the layout should be changed, not the card. `proved`: no
    card of so many rules is worth more; else it is the best of a search that looked at `looked_at` cards.
    """

    rules: tuple[CardRule, ...]
    keep_all: float
    value: float
    full: float
    share: float | None
    anyway: float
    proved: bool
    looked_at: int
    most_rules: int
    most_changes: int
    least_gain: float


def _silent(share: float, words: str) -> None:
    """Progress that nobody listens to."""


def find_card(
    request: AdviseRequest | Mapping[str, Any],
    most_rules: int = RULES,
    *,
    least_gain: float = 0.0,
    swaps_a_rule: int = MOST_CHANGES,
    barred: Barred = never_barred,
    progress: Progress = _silent,
) -> Card:
    """The best card for an `advise` request (aim: expected points), followed from its next pass on.

    `max_changes` of the request holds for the whole program, two where it is absent or more. `least_gain`: points a
    swap must bring to be worth remembering, on average each time a rule sets it. `barred`: options (pass and option
    from 0) not to be tried right after a fall. `full` knows neither of the two.
    Raises InputError naming the field: no plan to keep, another aim, a number out of range.
    """
    asked = read_request(AdviseRequest, request)
    _check(asked, most_rules, least_gain, swaps_a_rule)
    problem = read_problem(asked)
    if any(one.keep is None for one in problem.passes):
        raise InputError(
            "passes", say("a card needs a plan: every planned element must be among the options")
        )
    limit = MOST_CHANGES if problem.max_changes is None else min(problem.max_changes, MOST_CHANGES)
    most = max(0, limit - problem.changes_done)
    progress(0.0, say("What every pass can lead to"))
    worth = Worth(build_table(problem, most), most, least_gain * 100, barred)
    choices = candidates(worth, swaps_a_rule)
    search = Search(worth, choices, most_rules, lambda share, words: progress(0.05 + 0.85 * share, words))
    found = search.best()
    progress(0.95, say("Perfect replanning, for comparison"))
    said = Planner(asked.model_copy(update={"max_changes": limit})).advise()
    return _card(problem, worth, found, said, most_rules, least_gain)


def card_value(
    request: AdviseRequest | Mapping[str, Any], rules: Rules, barred: Barred = never_barred
) -> float:
    """Expected points of following the plan with these rules (passes and options from 0)."""
    problem = read_problem(read_request(AdviseRequest, request))
    limit = MOST_CHANGES if problem.max_changes is None else min(problem.max_changes, MOST_CHANGES)
    most = max(0, limit - problem.changes_done)
    worth = Worth(build_table(problem, most), most, 0.0, barred)
    return RuleSet(worth, rules).objective() / 100


def _check(asked: AdviseRequest, most_rules: int, least_gain: float, swaps_a_rule: int) -> None:
    if asked.aim.points is not None:
        raise InputError("aim", say("a card is made for expected points; leave the aim out"))
    if not asked.passes:
        raise InputError("passes", say("none given; a card needs passes still to come"))
    if not 0 <= most_rules <= 8:
        raise InputError("most_rules", say("%(given)s given; expected 0 to 8", given=most_rules))
    if not 0 <= least_gain <= 100:
        raise InputError(
            "least_gain", say("%(given)s given; expected points from 0 to 100", given=least_gain)
        )
    if swaps_a_rule not in (1, 2):
        raise InputError("swaps_a_rule", say("%(given)s given; expected 1 or 2", given=swaps_a_rule))


def _card(
    problem: Problem, worth: Worth, found: Found, said: Advice, most_rules: int, least_gain: float
) -> Card:
    """The answer. Gains are without toll: the points themselves."""
    rules = dict(found.rules)
    plain = Worth(worth.table, worth.most, 0.0, worth.barred)
    valued = RuleSet(plain, rules)
    value, keep_all = valued.objective() / 100, RuleSet(plain, {}).objective() / 100
    more = said.value - keep_all
    return Card(
        rules=tuple(_rule(problem, plain, valued, one, rules) for one in sorted(rules)),
        keep_all=keep_all,
        value=value,
        full=said.value,
        share=(value - keep_all) / more if more > NOTHING else None,
        anyway=max((swap.gain for swap in said.swaps), default=0.0),
        proved=found.proved,
        looked_at=found.looked_at,
        most_rules=most_rules,
        most_changes=worth.most,
        least_gain=least_gain,
    )


def _rule(problem: Problem, worth: Worth, valued: RuleSet, trigger: Trigger, rules: Rules) -> CardRule:
    place, kind = trigger
    rest = {one: swaps for one, swaps in rules.items() if one != trigger}
    before = len(problem.histories[0].done)
    return CardRule(
        number=before + place + 1,
        planned=problem.passes[place].planned,
        kind=kind,
        swaps=tuple(_swap(problem, before, one) for one in rules[trigger]),
        gain=(valued.objective() - RuleSet(worth, rest).objective()) / 100,
        fires=valued.fires(trigger),
        happens=valued.happens(trigger),
    )


def _swap(problem: Problem, before: int, one: Swap) -> CardSwap:
    here = problem.passes[one.place]
    return CardSwap(before + one.place + 1, here.planned, here.options[one.option].code)


__all__ = ["Card", "CardRule", "CardSwap", "Kind", "Swap", "Swaps", "card_value", "find_card"]

"""Makes a policy: grows it, puts it into words and markup, compresses it. Seconds of work, here or beside us."""

from __future__ import annotations

import gzip
import json
from dataclasses import dataclass

from app import engine
from app.live.fold import LiveState
from app.live.policy import grow
from app.rulebook.editions import Edition, beside_the_shipped, put_on_shelf
from app.web.languages import spoken
from app.web.policy_desk import Kept, Order
from app.web.policy_source import source_of
from app.web.views.policy import policy_json

PACKING = 6
"""Level of compression: higher ones take far longer and save little."""


@dataclass(frozen=True, slots=True)
class PolicyJob:
    """One policy to be made, from `state` on, which has a pass to come. `edition`: the rulebook if not shipped."""

    order: Order
    state: LiveState
    version: str
    edition: Edition | None

    @classmethod
    def of(cls, order: Order, state: LiveState, version: str) -> PolicyJob:
        """With the rulebook where it must be sent along."""
        return cls(order, state, version, beside_the_shipped(state.plan.edition))


def answer(job: PolicyJob) -> Kept:
    """The policy, in a process that knows the shipped rulebooks only."""
    if job.edition is not None:
        put_on_shelf(job.state.plan.edition, job.edition)
    return made(job)


def made(job: PolicyJob) -> Kept:
    """The policy, written and compressed."""
    order, state = job.order, job.state
    frame, edition = order.frame, engine.edition(state.plan.edition)
    source = source_of(state, edition, frame.elements, order.limits, silent=order.silent)
    policy = grow(state, frame.pads, source)
    before = spoken.set(order.language)
    try:
        said = policy_json(job.version, policy, frame)
    finally:
        spoken.reset(before)
    text = json.dumps(said, ensure_ascii=False, separators=(",", ":"))
    nodes = {source.walked.mark(node.position): number for number, node in enumerate(policy.nodes)}
    thin = frozenset(number for number, node in enumerate(policy.nodes) if _is_thin(node.edges))
    return Kept(job.version, source.walked, nodes, thin, gzip.compress(text.encode(), PACKING))


def prepare() -> None:
    """Before the first one is asked for: load the compiled loops."""
    engine.warm()


def _is_thin(edges: tuple[object, ...]) -> bool:
    """Whether a third of the taps of a pad lead nowhere."""
    return sum(edge is None for edge in edges) * 3 > len(edges)

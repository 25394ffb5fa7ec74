"""A policy made by the process beside the server is the one made here, and both know where a program stands in it."""

from __future__ import annotations

import gzip
import pickle
from dataclasses import replace

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from app.live.fold import LiveState
from app.live.policy import after
from app.rulebook.editions import SHELF, edition
from app.storage.stores import Stores
from app.web.live_log import sheet_of
from app.web.policy_desk import Kept, Order, PolicyDesk
from app.web.policy_making import PolicyJob, answer
from app.web.policy_walk import Walk
from app.web.routes.policy import Asker
from app.web.visitor import LAPTOP

FREE, SHORT = 1, 2
"""Layouts of the invented demo skater."""


@pytest.mark.parametrize("layout", [FREE, SHORT])
def test_both_processes_make_the_same(
    demo_app: FastAPI, demo_laptop: TestClient, stores: Stores, layout: int
) -> None:
    order, state = ordered(demo_app, demo_laptop, stores, layout)
    here = PolicyDesk().made(order, state, "one version")
    desk = PolicyDesk()
    desk.open()
    try:
        beside: Kept = desk.made(order, state, "one version")
    finally:
        desk.close()
    assert gzip.decompress(beside.packed) == gzip.decompress(here.packed)
    assert beside.nodes == here.nodes
    assert beside.thin == here.thin
    assert beside.node(state) == 0


def test_a_mark_says_as_much_as_a_position_whatever_was_walked_before(
    demo_app: FastAPI, demo_laptop: TestClient, stores: Stores
) -> None:
    order, state = ordered(demo_app, demo_laptop, stores, FREE)
    first = [after(state, one.entry) for one in order.frame.pads.touches(0, None)]
    states = [after(one, two.entry) for one in first for two in order.frame.pads.touches(1, None)]
    walk = Walk(state.plan)
    marks = [walk.mark(walk.start(one)) for one in states]
    positions = [(walk.tally(here.tally), here._replace(tally=0)) for here in map(walk.start, states)]
    assert (
        len(states) > len(set(positions)) == len(set(marks)) == len(set(zip(positions, marks, strict=True)))
    )
    # One that goes through them backwards numbers its tallies differently.
    other: Walk = pickle.loads(pickle.dumps(walk))
    backwards = [other.mark(other.start(one)) for one in reversed(states)]
    assert backwards[::-1] == marks
    assert [walk.start(one) for one in states] != [other.start(one) for one in states]


def test_a_rulebook_that_is_not_shipped_goes_along(
    demo_app: FastAPI, demo_laptop: TestClient, stores: Stores, monkeypatch: pytest.MonkeyPatch
) -> None:
    order, state = ordered(demo_app, demo_laptop, stores, FREE)
    shipped = edition(state.plan.edition)
    assert PolicyJob.of(order, state, "v").edition is None
    name = "own/marked/1/women/free"
    own = replace(shipped, name=name, copied_from=shipped.name)
    with monkeypatch.context() as shelf:
        shelf.setitem(SHELF.own, name, own)
        mine = replace(state, plan=replace(state.plan, edition=name))
        job = pickle.loads(pickle.dumps(PolicyJob.of(order, mine, "v")))
    assert job.edition is not None
    assert job.edition.fingerprint == own.fingerprint
    with monkeypatch.context() as shelf:
        shelf.setitem(SHELF.own, name, None)  # put back behind this block
        assert answer(job).node(mine) == 0
        assert SHELF.own[name] is job.edition


def ordered(app: FastAPI, laptop: TestClient, stores: Stores, layout: int) -> tuple[Order, LiveState]:
    """A fresh run-through of a demo layout: the order of its policy, and where it stands."""
    live = laptop.post("/live", data={"layout_id": layout, "kind": "run-through"}).headers["location"]
    sheet = sheet_of(stores, int(live.rsplit("/", 1)[1]))
    return Asker(sheet, LAPTOP, "en").order(app.state.advisor), sheet.ahead

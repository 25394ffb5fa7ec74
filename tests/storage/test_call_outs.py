"""Answers of the call-out trainer in the database. The skater is invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from app.storage.records import CallOutRecord
from app.storage.stores import NotStored, Stores

NOON = datetime(2026, 11, 2, 12, tzinfo=UTC)


def answer(skater_id: int) -> CallOutRecord:
    return CallOutRecord(skater_id, "one", "program", 1, "fell", "3Lz", "plan", "6 3S+3T", 2.5, 1, NOON)


def test_answers_come_back_in_order_and_a_sending_counts_once(stores: Stores) -> None:
    skater = stores.skaters.add("A")
    first = answer(skater.id)
    second = replace(first, sending="two", answered_at=NOON - timedelta(hours=1))
    assert stores.call_outs.append(first)
    assert stores.call_outs.append(second)
    assert not stores.call_outs.append(replace(first, answer="6 3S+3T"))
    assert stores.call_outs.of_program(skater.id, "program") == (second, first)
    assert stores.call_outs.get("one") == first
    assert stores.call_outs.of_program(skater.id, "another") == ()
    assert stores.call_outs.of_program(skater.id + 1, "program") == ()


def test_what_is_not_there_is_said(stores: Stores) -> None:
    with pytest.raises(NotStored):
        stores.call_outs.get("none")
    with pytest.raises(NotStored):
        stores.call_outs.append(answer(99))


def test_the_answers_of_a_skater_over_all_layouts(stores: Stores) -> None:
    skater, other = stores.skaters.add("A"), stores.skaters.add("B")
    first = answer(skater.id)
    stores.call_outs.append(first)
    stores.call_outs.append(replace(first, sending="two", program="another", answered_at=NOON + timedelta(1)))
    stores.call_outs.append(replace(answer(other.id), sending="three"))
    assert [one.sending for one in stores.call_outs.of_skater(skater.id)] == ["one", "two"]

"""What the trainer asks next. Days and ratings are held to the library `fsrs` called directly."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from fsrs import Card, Rating, Scheduler, State

from app.practice.schedule import (
    MOST_DAYS,
    Given,
    Memory,
    Standing,
    is_early,
    memory,
    next_call,
    rating_of,
)
from app.practice.verdicts import Weight

NOON = datetime(2026, 11, 2, 12, tzinfo=UTC)
NEW = Memory(Standing.NEW, None)


def due(hours: float) -> Memory:
    return Memory(Standing.GETTING_THERE, NOON + timedelta(hours=hours))


@pytest.mark.parametrize(
    ("weight", "seconds", "rating"),
    [
        (Weight.RIGHT, 2.9, Rating.Good),
        (Weight.RIGHT, 3.1, Rating.Hard),
        (Weight.CLOSE, 1.0, Rating.Hard),
        (Weight.AWAY, 1.0, Rating.Again),
        (Weight.WORTHLESS, 1.0, Rating.Again),
    ],
)
def test_right_in_time_is_good_and_slow_is_not_yet_sure(weight: Weight, seconds: float, rating: int) -> None:
    assert rating_of(weight, seconds) == rating


def test_memory_is_what_the_library_makes_of_the_answers() -> None:
    ratings = [Rating.Again, Rating.Good, Rating.Good, Rating.Hard, Rating.Good]
    moments = [NOON + timedelta(days=n) for n in range(len(ratings))]
    scheduler, card = Scheduler(maximum_interval=30, enable_fuzzing=False), Card(card_id=7, due=NOON)
    for rating, at in zip(ratings, moments, strict=True):
        card, _ = scheduler.review_card(card, rating, at)
    given = [Given(at, int(rating), "plan") for rating, at in zip(ratings, moments, strict=True)]
    found = memory(given, "plan", moments[-1])
    assert found.due == card.due
    assert card.state is State.Review
    assert found.standing is Standing.KNOWN
    assert memory(given, "plan", card.due).standing is Standing.GETTING_THERE


def test_one_good_answer_is_on_the_way_and_a_second_later_one_is_known() -> None:
    first = Given(NOON, 3, "plan")
    assert memory([first], "plan", NOON).standing is Standing.GETTING_THERE
    second = Given(NOON + timedelta(minutes=10), 3, "plan")
    assert memory([first, second], "plan", second.at).standing is Standing.KNOWN


def test_a_wrong_answer_takes_what_was_known_back() -> None:
    given = [Given(NOON + timedelta(days=n), 3, "plan") for n in range(3)]
    later = NOON + timedelta(days=3)
    assert memory(given, "plan", later).standing is Standing.KNOWN
    wrong = memory([*given, Given(later, 1, "plan")], "plan", later)
    assert wrong.standing is Standing.GETTING_THERE
    assert wrong.due is not None
    assert wrong.due - later <= timedelta(hours=1)


def test_an_answer_that_was_right_for_another_plan_says_nothing() -> None:
    given = [Given(NOON, 3, "5 3Lo+2T"), Given(NOON + timedelta(days=1), 3, "5 3Lo+2T")]
    assert memory(given, "plan", NOON) == NEW


def test_nothing_is_put_off_for_longer_than_the_most_days() -> None:
    at, given = NOON, []
    for _ in range(12):
        given.append(Given(at, 3, "plan"))
        found = memory(given, "plan", at)
        assert found.due is not None
        assert found.due - at <= timedelta(days=MOST_DAYS)
        at = found.due
    assert found.due - given[-1].at == timedelta(days=MOST_DAYS)


def test_what_is_due_comes_before_what_is_new_and_that_before_what_is_early() -> None:
    weights = [1.0, 1.0, 1.0, 1.0]
    assert next_call(weights, [NEW, due(-1), due(2), due(1)], NOON, 0.99) == 1
    assert next_call(weights, [due(3), due(2), NEW, due(1)], NOON, 0.0) == 2
    assert next_call(weights, [due(3), due(2), due(4), due(1)], NOON, 0.5) == 3
    assert is_early(due(1), NOON)
    assert not is_early(due(0), NOON)
    assert not is_early(NEW, NOON)


def test_the_lot_falls_by_weight() -> None:
    memories, weights = [NEW] * 3, [1.0, 0.0, 3.0]
    drawn = [next_call(weights, memories, NOON, n / 400) for n in range(400)]
    assert [drawn.count(n) for n in range(3)] == [100, 0, 300]
    assert {next_call([0.0] * 3, memories, NOON, n / 9) for n in range(9)} == {0, 1, 2}


def test_the_call_just_asked_does_not_come_twice_in_a_row_unless_it_is_the_only_one() -> None:
    assert next_call([1.0, 1.0], [due(-1), due(5)], NOON, 0.0, last=0) == 1
    assert next_call([1.0], [due(-1)], NOON, 0.0, last=0) == 0

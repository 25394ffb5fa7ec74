"""The job desk: one key is one job, faults are words, progress is a fragment that asks again by itself."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from threading import Event
from typing import Any

import pytest
from fastapi import FastAPI, Request, Response
from fastapi.responses import PlainTextResponse
from starlette.testclient import TestClient

from app.errors import InputError
from app.web.deps import JobsDep
from app.web.error_pages import OUR_FAULT
from app.web.jobs import BUSY, KEPT, Job, Jobs, Progress, Waiting, wait_for

Knock = Callable[..., TestClient]
FRAGMENT = {"hx-request": "true", "hx-request-type": "partial", "accept": "*/*"}


@pytest.fixture
def jobs() -> Iterator[Jobs]:
    desk = Jobs()
    yield desk
    desk.close()


def settled(jobs: Jobs, key: str) -> Job[Any]:
    """The job once it is done; the test fails after five seconds."""
    until = time.monotonic() + 5
    while time.monotonic() < until:
        job = jobs.get(key)
        assert job is not None
        if job.done:
            return job
        time.sleep(0.005)
    raise AssertionError(f"{key} is not done")


def test_the_result_is_there_when_the_work_is_done(jobs: Jobs) -> None:
    begun = jobs.start("sum", lambda progress: 2 + 3)
    assert begun.fault == ""
    job = settled(jobs, "sum")
    assert (job.result, job.share, job.fault) == (5, 1.0, "")


def test_one_key_is_worked_once(jobs: Jobs) -> None:
    calls: list[int] = []
    for _ in range(3):
        jobs.start("same", lambda progress: calls.append(1))
        settled(jobs, "same")
    assert calls == [1]


def test_the_work_says_how_far_it_is(jobs: Jobs) -> None:
    said, go_on = Event(), Event()

    def work(progress: Progress) -> str:
        progress(0.25, "rules looked at")
        said.set()
        go_on.wait(5)
        return "all"

    jobs.start("slow", work)
    assert said.wait(5)
    job = jobs.start("slow", work)
    assert (job.done, job.share, job.words) == (False, 0.25, "rules looked at")
    go_on.set()
    assert settled(jobs, "slow").result == "all"


def test_a_fault_is_words_and_our_own_tell_nothing_of_the_inside(jobs: Jobs) -> None:
    def unusable(progress: Progress) -> None:
        raise InputError("passes", "none given; expected one to seven")

    jobs.start("theirs", unusable)
    jobs.start("ours", lambda progress: 1 / 0)
    assert settled(jobs, "theirs").fault == "passes: none given; expected one to seven"
    assert settled(jobs, "ours").fault == OUR_FAULT


def test_a_failed_job_stays_failed_until_it_is_asked_for_again(jobs: Jobs) -> None:
    jobs.start("one", lambda progress: 1 / 0)
    settled(jobs, "one")
    assert jobs.start("one", lambda progress: 1.0).fault == OUR_FAULT
    jobs.start("one", lambda progress: 1.0, again=True)
    assert settled(jobs, "one").result == 1.0


def test_at_most_two_work_at_once(jobs: Jobs) -> None:
    go_on, begun = Event(), []

    def work(progress: Progress) -> None:
        begun.append(1)
        go_on.wait(5)

    for number in range(4):
        jobs.start(str(number), work)
    time.sleep(0.1)
    assert len(begun) == 2
    go_on.set()
    for number in range(4):
        settled(jobs, str(number))
    assert len(begun) == 4


def test_finished_jobs_are_forgotten_oldest_first_and_those_under_way_never(jobs: Jobs) -> None:
    for number in range(KEPT + 3):
        jobs.start(str(number), lambda progress: 1)
        settled(jobs, str(number))
    assert jobs.get("2") is None
    assert jobs.get("3") is not None
    go_on = Event()
    for number in range(KEPT):
        jobs.start(f"long {number}", lambda progress: go_on.wait(5))
    assert jobs.start("one too many", lambda progress: 1) == Job(done=True, fault=BUSY)
    assert jobs.get("long 0") is not None
    go_on.set()


def test_a_closed_desk_ends_what_runs() -> None:
    desk, ended = Jobs(), Event()

    def work(progress: Progress) -> None:
        try:
            while True:
                progress(0.5, "half")
                time.sleep(0.005)
        finally:
            ended.set()

    desk.start("endless", work)
    time.sleep(0.02)
    desk.close()
    assert ended.wait(5)


@pytest.fixture
def waiting_app(web_app: FastAPI) -> Iterator[tuple[FastAPI, Event]]:
    go_on = Event()

    @web_app.get("/slow")
    def slow(request: Request, jobs: JobsDep, fails: bool = False) -> Response:
        def work(progress: Progress) -> str:
            progress(0.4, "Looking at <rules>")
            go_on.wait(5)
            if fails:
                raise InputError("rules", "7 given; expected 1 to 6")
            return "the answer"

        job = jobs.start(f"slow {fails}", work)
        return wait_for(request, job, Waiting("The card", "/layouts/1")) or PlainTextResponse(
            job.result or ""
        )

    yield web_app, go_on
    go_on.set()
    web_app.state.jobs.close()


def until(client: TestClient, address: str, words: str, **headers: Any) -> str:
    """The page once it says `words`; the test fails after five seconds."""
    stop = time.monotonic() + 5
    while time.monotonic() < stop:
        answer = client.get(address, headers=headers.get("headers"))
        assert answer.status_code in (200, 204)
        if words in answer.text or words in answer.headers.get("hx-redirect", ""):
            return answer.text
        time.sleep(0.01)
    raise AssertionError(f"{address} never said {words!r}")


def test_the_page_shows_a_bar_and_asks_again_with_and_without_javascript(
    waiting_app: tuple[FastAPI, Event], knock: Knock
) -> None:
    app, go_on = waiting_app
    client = knock(app)
    whole = until(client, "/slow?fails=false", "Looking at")
    assert '<progress max="100" value="40"' in whole
    assert "Looking at &lt;rules&gt;" in whole
    assert '<noscript><meta http-equiv="refresh" content="1"></noscript>' in whole
    assert 'hx-get="/slow?fails=false" hx-trigger="every 500ms"' in whole
    part = client.get("/slow?fails=false", headers=FRAGMENT)
    assert part.text.lstrip().startswith('<section id="progress"')
    go_on.set()
    until(client, "/slow?fails=false", "/slow?fails=false", headers=FRAGMENT)
    assert client.get("/slow?fails=false").text == "the answer"


def test_a_fault_is_shown_and_asks_no_more(waiting_app: tuple[FastAPI, Event], knock: Knock) -> None:
    app, go_on = waiting_app
    go_on.set()
    said = until(knock(app), "/slow?fails=true", "7 given")
    assert "rules: 7 given; expected 1 to 6" in said
    assert "hx-get" not in said
    assert "http-equiv" not in said

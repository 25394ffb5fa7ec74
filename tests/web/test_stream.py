"""The stream of a live program: every entry once and in order, to everybody, and not to a phone that was removed."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Coroutine
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from typing import TypeVar

from fastapi import FastAPI
from starlette.testclient import TestClient

from app.live.broadcast import Hub
from app.storage.stores import Stores
from app.web import sse

Found = TypeVar("Found")
NOON = datetime(2026, 1, 10, 12, tzinfo=UTC)


def program(laptop: TestClient) -> int:
    """A run-through of the demo."""
    answer = laptop.post("/live", data={"layout_id": 1, "kind": "run-through"})
    return int(answer.headers["location"].rsplit("/", 1)[1])


def played(scene: Coroutine[object, object, Found]) -> Found:
    """What the scene returns; in a thread of its own, since the browser tests leave a running loop in this one."""
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(asyncio.run, scene).result(timeout=30)


async def messages(stream: AsyncIterator[bytes], count: int) -> list[tuple[str, int, dict[str, object]]]:
    """The next messages as (event, id, data), comments left out."""
    found: list[tuple[str, int, dict[str, object]]] = []
    while len(found) < count:
        text = (await asyncio.wait_for(anext(stream), 5)).decode()
        if text.startswith(":"):
            continue
        lines = dict(line.split(": ", 1) for line in text.strip().splitlines())
        found.append((lines["event"], int(lines["id"]), json.loads(lines["data"])))
    return found


def test_what_is_logged_is_heard_once_and_in_order_whoever_logs(
    demo_laptop: TestClient, demo_app: FastAPI
) -> None:
    number = program(demo_laptop)
    taps = {1: "3Lz+3T planned", 2: "3F fell-1", 3: "left out"}
    demo_laptop.post(f"/live/{number}/pass", data={"number": 1, "tap": taps[1], "event_id": "e1"})

    async def listen() -> list[tuple[str, int, dict[str, object]]]:
        hub: Hub = demo_app.state.hub
        stream = sse.stream(hub, number, 0, sse.reader(demo_app.state.database, number, None))
        found = await messages(stream, 1)
        assert hub.count(number) == 1
        for place in (2, 3, 3):
            data = {"number": place, "tap": taps[place], "event_id": f"e{place}"}
            await asyncio.to_thread(demo_laptop.post, f"/live/{number}/pass", data=data)
        found += await messages(stream, 2)
        await stream.aclose()  # type: ignore[attr-defined]
        assert hub.count(number) == 0
        return found

    found = played(listen())
    assert [(event, seq, data["id"]) for event, seq, data in found] == [
        ("news", 1, "e1"),
        ("news", 2, "e2"),
        ("news", 3, "e3"),
    ]
    assert found[1][2]["kind"] == "pass skated"
    assert [data for _, _, data in found] == demo_laptop.get(f"/live/{number}/log").json()
    assert [one["id"] for one in demo_laptop.get(f"/live/{number}/log?after=2").json()] == ["e3"]


def test_a_screen_far_behind_is_told_to_fetch_the_board(
    demo_laptop: TestClient, demo_app: FastAPI, stores: Stores
) -> None:
    number = program(demo_laptop)
    for place in range(sse.MOST_BEHIND + 1):
        stores.live.append(number, f"e{place}", NOON, "laptop", "stopped", {})

    async def listen() -> list[tuple[str, int, dict[str, object]]]:
        stream = sse.stream(Hub(), number, 0, sse.reader(demo_app.state.database, number, None))
        return await messages(stream, 1)

    last = sse.MOST_BEHIND + 1
    assert played(listen()) == [("reload", last, {"seq": last})]


def test_a_removed_phone_hears_nothing_more(
    demo_laptop: TestClient, demo_app: FastAPI, stores: Stores
) -> None:
    number = program(demo_laptop)
    device = stores.devices.add("boards", "hash", NOON)

    async def listen() -> list[bytes]:
        hub = Hub()
        stream = sse.stream(hub, number, 0, sse.reader(demo_app.state.database, number, device.id))
        heard = [await anext(stream)]
        stores.devices.revoke(device.id, NOON)
        stores.live.append(number, "e1", NOON, "laptop", "stopped", {})
        hub.news(number)
        return heard + [one async for one in stream]

    assert played(listen()) == [b": hello\n\n"]


def test_a_phone_that_is_removed_loses_its_stream_at_once(
    demo_laptop: TestClient, demo_app: FastAPI, stores: Stores
) -> None:
    # It ended at the next entry of the log, or after a quarter of a minute.
    number, phone = program(demo_laptop), stores.devices.add("boards", "hash", datetime.now(UTC))
    read = sse.reader(demo_app.state.database, number, phone.id)
    address = f"/phones/{phone.id}/revoke"
    assert left_over(demo_laptop, demo_app.state.hub, number, read, (address, {})) == []


def test_a_program_that_is_deleted_ends_its_streams(demo_laptop: TestClient, demo_app: FastAPI) -> None:
    # The stream went on for ever, and the screen went on showing the skater.
    number = program(demo_laptop)
    read = sse.reader(demo_app.state.database, number, None)
    asked = (f"/data/programs/{number}/delete", {"sure": "yes"})
    assert left_over(demo_laptop, demo_app.state.hub, number, read, asked) == []
    assert demo_laptop.get(f"/live/{number}/stream").status_code == 404


def test_a_skater_who_is_deleted_is_on_no_screen_any_more(
    demo_laptop: TestClient, demo_app: FastAPI, stores: Stores
) -> None:
    number = program(demo_laptop)
    read = sse.reader(demo_app.state.database, number, None)
    asked = (f"/data/skaters/{stores.live.program(number).skater_id}/delete", {"sure": "yes"})
    assert left_over(demo_laptop, demo_app.state.hub, number, read, asked) == []


def test_a_screen_that_knows_more_than_the_log_gets_the_board(demo_laptop: TestClient) -> None:
    # After a copy was brought back the log was shorter than an open screen knew, and the screen never heard of it.
    number = program(demo_laptop)
    assert demo_laptop.get(f"/live/{number}/news?seen=0").status_code == 204
    assert demo_laptop.get(f"/live/{number}/news?seen=5").status_code == 200
    assert demo_laptop.get("/live/999/news?seen=0").status_code == 404


def left_over(
    laptop: TestClient, hub: Hub, number: int, read: sse.Read, asked: tuple[str, dict[str, str]]
) -> list[bytes]:
    """What a stream still says after the laptop has sent that form, until it ends by itself."""
    address, data = asked

    async def listen() -> list[bytes]:
        stream = sse.stream(hub, number, 0, read, still_here=60)
        assert await anext(stream) == b": hello\n\n"
        rest = asyncio.create_task(to_the_end(stream))
        await asyncio.to_thread(laptop.post, address, data=data)
        return await asyncio.wait_for(rest, 20)

    return played(listen())


async def to_the_end(stream: AsyncIterator[bytes]) -> list[bytes]:
    return [message async for message in stream]


def test_streams_end_when_a_door_closes(demo_laptop: TestClient, demo_app: FastAPI) -> None:
    number = program(demo_laptop)

    async def listen() -> list[bytes]:
        hub = Hub()
        stream = sse.stream(hub, number, 0, sse.reader(demo_app.state.database, number, None))
        heard = [await anext(stream)]
        hub.hang_up()
        return heard + [one async for one in stream]

    assert played(asyncio.wait_for(listen(), 5)) == [b": hello\n\n"]


def test_a_quiet_stream_says_that_it_is_still_here(demo_laptop: TestClient, demo_app: FastAPI) -> None:
    number = program(demo_laptop)

    async def listen() -> list[bytes]:
        read = sse.reader(demo_app.state.database, number, None)
        stream = sse.stream(Hub(), number, 0, read, still_here=0.01)
        return [await anext(stream), await anext(stream)]

    assert played(listen())[1] == b"event: here\ndata: {}\n\n"


def test_a_tap_kept_on_a_phone_with_a_wrong_clock_finds_its_place_in_time(
    demo_laptop: TestClient, stores: Stores
) -> None:
    number = program(demo_laptop)
    wrong = datetime(2001, 1, 1, tzinfo=UTC)
    stamp = {"made_at": wrong, "sent_at": wrong + timedelta(minutes=5)}
    data = {"number": 1, "tap": "left out", "event_id": "e1"}
    data |= {name: str(int(at.timestamp() * 1000)) for name, at in stamp.items()}
    demo_laptop.post(f"/live/{number}/pass", data=data)
    (entry,) = stores.live.events(number)
    ago = datetime.now(UTC) - entry.at
    assert timedelta(minutes=5) <= ago < timedelta(minutes=6)
    assert (entry.made_at, entry.device, entry.role) == (wrong, "laptop", "coach")


def test_times_that_cannot_be_are_not_believed(demo_laptop: TestClient, stores: Stores) -> None:
    number = program(demo_laptop)
    odd = [("5000", "1000"), ("x", "y"), ("0", str(10**15)), (str(10**30), "0")]
    for place, (made, sent) in enumerate(odd):
        data = {"event_id": f"h{place}", "made_at": made, "sent_at": sent}
        assert demo_laptop.post(f"/live/{number}/hurt", data=data).status_code == 303
    for entry in stores.live.events(number):
        assert datetime.now(UTC) - entry.at < timedelta(minutes=1)

"""What routes may ask for, each named once.

def show(stores: StoresDep, visitor: VisitorDep) -> Response: ...

What only looks something up is `async`: it is done at once, without a thread.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from typing import Annotated, cast
from weakref import WeakKeyDictionary

from fastapi import Depends, Request
from fastapi.concurrency import contextmanager_in_threadpool

from app.storage.database import Database
from app.storage.stores import Stores, open_stores
from app.web.jobs import Jobs
from app.web.visitor import Visitor

AT_ONCE = 8
"""Requests with a session that one process works on at once: fewer than it has connections (`app.storage.engines`),
up to eight workers."""
_turns: WeakKeyDictionary[asyncio.AbstractEventLoop, asyncio.Semaphore] = WeakKeyDictionary()


async def get_database(request: Request) -> Database:
    """The open database; for streams, which open their own short sessions."""
    return cast(Database, request.app.state.database)


async def get_stores(database: Annotated[Database, Depends(get_database)]) -> AsyncIterator[Stores]:
    """The stores, over one session for this request, until what it is about has been done.

    Each holds a connection, so only so many are served at once. The others wait here holding nothing: were they let in,
    those whose answer waits to be sent would have every connection on a busy evening, and a tap would get none.
    """
    turns = _turns.setdefault(asyncio.get_running_loop(), asyncio.Semaphore(AT_ONCE))
    async with turns, contextmanager_in_threadpool(open_stores(database)) as stores:
        yield stores


async def get_visitor(request: Request) -> Visitor:
    """Who is asking: the laptop itself or a paired phone. Put there by the gate."""
    return cast(Visitor, request.scope["recoup.visitor"])


async def get_jobs(request: Request) -> Jobs:
    """The desk for answers that take seconds."""
    return cast(Jobs, request.app.state.jobs)


JobsDep = Annotated[Jobs, Depends(get_jobs)]
DatabaseDep = Annotated[Database, Depends(get_database)]
StoresDep = Annotated[Stores, Depends(get_stores, scope="function")]
VisitorDep = Annotated[Visitor, Depends(get_visitor)]

"""What routes may ask for, each named once.

def show(stores: StoresDep, visitor: VisitorDep) -> Response: ...

What only looks something up is `async`: it is done at once, without a thread.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, cast

from fastapi import Depends, Request

from app.storage.database import Database
from app.storage.stores import Stores, open_stores
from app.web.jobs import Jobs
from app.web.visitor import Visitor


async def get_database(request: Request) -> Database:
    """The open database; for streams, which open their own short sessions."""
    return cast(Database, request.app.state.database)


def get_stores(database: Annotated[Database, Depends(get_database)]) -> Iterator[Stores]:
    """The stores, over one session for this request."""
    with open_stores(database) as stores:
        yield stores


async def get_visitor(request: Request) -> Visitor:
    """Who is asking: the laptop itself or a paired phone. Put there by the gate."""
    return cast(Visitor, request.scope["recoup.visitor"])


async def get_jobs(request: Request) -> Jobs:
    """The desk for answers that take seconds."""
    return cast(Jobs, request.app.state.jobs)


JobsDep = Annotated[Jobs, Depends(get_jobs)]
DatabaseDep = Annotated[Database, Depends(get_database)]
StoresDep = Annotated[Stores, Depends(get_stores)]
VisitorDep = Annotated[Visitor, Depends(get_visitor)]

"""Several processes that answer at the same addresses, over one PostgreSQL database.

The first process opens the sockets, brings the tables up to date and watches the others (uvicorn's own supervisor): a
worker that dies is replaced. Workers share nothing but the database and a key drawn at the start, by which they read
one another's notes.
"""

from __future__ import annotations

import socket
import webbrowser
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from threading import Thread

import uvicorn
from fastapi import FastAPI
from uvicorn.supervisors import Multiprocess

from app.errors import InputError
from app.security import limits
from app.security.sealed import new_key
from app.settings import Settings
from app.storage.folder_lock import FolderLock
from app.web.club_door import public_door
from app.web.patience import PatientProtocol
from app.web.server import GRACE_SECONDS, bind, shown_address

Make = Callable[[Settings, bytes], FastAPI]
TRUSTED = "127.0.0.1,::1"
"""A proxy on this machine may say whose request it passes on."""


def serve_together(
    make: Make, prepare: Callable[[Settings], None], settings: Settings, lock: FolderLock
) -> int:
    """Run until Ctrl-C. `make` and `prepare` are functions of a module, for they go to other processes.

    Raises InputError without a PostgreSQL database.
    """
    if not settings.database_url:
        raise InputError(
            "workers", "more than one worker, or a public address, needs PostgreSQL: set DATABASE_URL"
        )
    public_door(settings.address, 0)
    prepare(settings)
    own = bind(settings.host, settings.port)
    sockets = [own]
    if settings.address:
        public = bind("127.0.0.1", settings.phone_port or own.getsockname()[1] + 1)
        settings = replace(settings, phone_port=public.getsockname()[1])
        sockets.append(public)
    config = uvicorn.Config(
        partial(make, settings, new_key()),
        factory=True,
        workers=settings.workers,
        http=PatientProtocol,
        h11_max_incomplete_event_size=limits.MOST_HEAD,
        limit_concurrency=limits.MOST_LINES,
        log_level="warning",
        access_log=False,
        proxy_headers=True,
        forwarded_allow_ips=TRUSTED,
        server_header=False,
        timeout_graceful_shutdown=GRACE_SECONDS,
        timeout_worker_healthcheck=30,
    )
    workers = Multiprocess(config, sockets)
    Thread(target=_greet, args=(settings, lock, sockets, workers), daemon=True).start()
    workers.run()
    return 0


def _greet(settings: Settings, lock: FolderLock, sockets: list[socket.socket], workers: Multiprocess) -> None:
    """Once the first worker is ready: where Recoup is, and where the proxy finds it."""
    while not any(process.is_ready(1) for process in list(workers.processes)):
        if workers.should_exit.wait(0.1):
            return
    address = shown_address(settings.host, sockets[0].getsockname()[1])
    lock.announce(address)
    print(f"Recoup is at {address}   ({settings.workers} workers; Ctrl-C stops it)", flush=True)
    if settings.address:
        there = "{}:{}".format(*sockets[1].getsockname()[:2])
        print(f"{settings.address}: let the proxy pass requests on to http://{there}", flush=True)
    if settings.open_browser:
        webbrowser.open(address)

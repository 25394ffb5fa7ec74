"""One connection of a door, without endless patience: a request whose head does not come is hung up on.

Uvicorn waits for ever for the first line of a request and for its headers. A few lines held open so would use up a
door's connections, and the phones at the boards would hear "busy".
"""

from __future__ import annotations

import asyncio

from uvicorn.protocols.http.h11_impl import H11Protocol

from app.security.limits import HEAD_SECONDS


class PatientProtocol(H11Protocol):
    """HTTP/1.1 as uvicorn speaks it, with a time limit while no request is being answered."""

    head_seconds = HEAD_SECONDS
    _running_out: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]  # as uvicorn has it
        """A caller is there; the clock runs."""
        super().connection_made(transport)
        self._expect()

    def handle_events(self) -> None:
        """Something came; once it is a whole head, the clock stops."""
        super().handle_events()
        if self.cycle is not None and not self.cycle.response_complete:
            self._be_calm()

    def on_response_complete(self) -> None:
        """The clock runs again: for the rest of a body nobody read, and for the next request."""
        super().on_response_complete()
        if self.cycle is None or self.cycle.response_complete:
            self._expect()

    def connection_lost(self, exc: Exception | None) -> None:
        """Nothing to wait for."""
        self._be_calm()
        super().connection_lost(exc)

    def _expect(self) -> None:
        self._be_calm()
        self._running_out = self.loop.call_later(self.head_seconds, self.transport.abort)

    def _be_calm(self) -> None:
        if self._running_out is not None:
            self._running_out.cancel()
            self._running_out = None

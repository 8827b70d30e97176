"""The server's own limit on how long the head of a request may take to arrive."""

from __future__ import annotations

import asyncio
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol, RequestResponseCycle

LONGEST_HEAD = 10.0  # s


class Patient(H11Protocol):
    """A connection that is closed when a request has begun and its head does not come to an end."""

    _limit: asyncio.TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        """Begin to wait for the first request."""
        super().connection_made(transport)
        self._wait()

    def data_received(self, data: bytes) -> None:
        """Stop waiting once the head is whole."""
        super().data_received(data)
        if self.conn.their_state is h11.IDLE and self._free():
            self._wait()
        else:
            self._stop()

    @property
    def _cycle(self) -> RequestResponseCycle | None:
        return self.cycle  # none before the first request, whatever its type says

    def _free(self) -> bool:
        """Whether no request is being answered, so that what came belongs to the next one."""
        return self._cycle is None or self._cycle.response_complete

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no more."""
        self._stop()
        super().connection_lost(exc)

    def _wait(self) -> None:
        if self._limit is None:
            self._limit = self.loop.call_later(LONGEST_HEAD, self._give_up)

    def _stop(self) -> None:
        if self._limit is not None:
            self._limit.cancel()
            self._limit = None

    def _give_up(self) -> None:
        self._limit = None
        if not self.transport.is_closing():
            self.transport.close()

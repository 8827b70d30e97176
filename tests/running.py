"""The pages served for a test, on a loopback port of their own."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import uvicorn

PATIENCE = 30  # seconds in which a server must have started


@contextmanager
def running(app: Any) -> Iterator[tuple[str, uvicorn.Server]]:
    """An application served in a thread: its address, and the server, which a test may stop early."""
    listening = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", ws="none"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    limit = time.monotonic() + PATIENCE
    while not server.started and time.monotonic() < limit:
        time.sleep(0.02)
    assert server.started
    try:
        yield f"http://127.0.0.1:{listening.getsockname()[1]}", server
    finally:
        server.should_exit = True
        thread.join(10)
        listening.close()

"""The pages served for a test, on a loopback port of their own."""

from __future__ import annotations

import os
import socket
import subprocess
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import cycle, islice
from typing import Any

import uvicorn

PATIENCE = 60  # seconds in which a server must have started, or come to an end
PORTS = range(20_000, 32_000)  # below those that systems give out by themselves


# Every process of the tests begins elsewhere, so that two hardly ever try the same.
_TRIES = islice(cycle(PORTS), os.getpid() * 89 % len(PORTS), None)


def free_port() -> int:
    """A port for a program of its own: one that nobody is given by chance before the program takes it."""
    for port in _TRIES:
        try:
            socket.create_server(("127.0.0.1", port)).close()
        except OSError:
            continue
        return port
    raise AssertionError("no port is free")


def await_port(port: int, program: subprocess.Popen[Any]) -> None:
    """Wait until a program listens."""
    limit = time.monotonic() + PATIENCE
    while program.poll() is None:
        try:
            socket.create_connection(("127.0.0.1", port), PATIENCE).close()
        except OSError:
            assert time.monotonic() < limit, "it does not listen"
            time.sleep(0.05)
        else:
            return
    raise AssertionError(f"it has ended: {program.returncode}")


def end(program: subprocess.Popen[Any]) -> None:
    """Ask a program to stop, and wait for it; one that does not is killed."""
    program.terminate()
    try:
        program.communicate(timeout=PATIENCE)
    except subprocess.TimeoutExpired:
        program.kill()
        program.communicate()
        raise


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
        thread.join(PATIENCE)
        listening.close()

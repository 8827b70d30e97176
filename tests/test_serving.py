"""Serving for real: where it listens, when it refuses to start, TLS, and senders that take their time."""

from __future__ import annotations

import os
import re
import shutil
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import httpx2
import pytest

from bearwell import pictures
from bearwell.errors import BadInput
from bearwell.faces import door
from bearwell.faces.web import door as door_of_pages
from bearwell.faces.web import limits, patience, serving, sessions, shield
from bearwell.faces.web.door import Door
from running import PATIENCE, await_port, end, free_port
from web_garden import write_garden

PASSPHRASE = "terns nest on the ledge"
DOCS = Path(__file__).resolve().parents[1] / "docs"
ENVIRONMENT = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}


@contextmanager
def served(path: Path, *options: str) -> Iterator[tuple[int, list[str]]]:
    """A server as the command starts it: its port and the lines it printed."""
    port = free_port()
    running = subprocess.Popen(
        [sys.executable, "-m", "bearwell.faces.cli", "serve", str(path), "--port", str(port), *options],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=ENVIRONMENT,
    )  # fmt: skip
    try:
        assert running.stdout is not None
        said = [running.stdout.readline()]
        await_port(port, running)
        os.set_blocking(running.stdout.fileno(), False)
        said += running.stdout.readlines()
        yield port, [line.strip() for line in said]
    finally:
        end(running)


# ---------------------------------------------------------------- where it may listen


@pytest.mark.parametrize(
    ("host", "near"),
    [
        ("127.0.0.1", True), ("127.8.8.8", True), ("::1", True), ("[::1]", True), ("localhost", True),
        ("LOCALHOST", True), ("0.0.0.0", False), ("::", False), ("192.168.1.7", False), ("garden.local", False),
        ("", False), ("localhost.evil.example", False),
    ],
)  # fmt: skip
def test_what_counts_as_this_machine(host: str, near: bool) -> None:
    assert serving.is_near(host) is near


@pytest.mark.parametrize("more", [("--host", "0.0.0.0"), ("--name", "garden.example")])  # fmt: skip
def test_beyond_this_machine_it_refuses_to_start_without_a_passphrase(
    tmp_path: Path, more: tuple[str, str]
) -> None:
    path = write_garden(tmp_path)
    done = subprocess.run(
        [sys.executable, "-m", "bearwell.faces.cli", "serve", str(path), *more],
        capture_output=True, text=True, timeout=PATIENCE, check=False, env=ENVIRONMENT,
    )  # fmt: skip
    assert done.returncode == 2
    assert done.stdout == ""
    assert "only behind a passphrase, and none is set" in done.stderr
    assert f"bearwell passphrase --data {tmp_path}" in done.stderr
    assert done.stderr.count("\n") == 1


def test_with_a_passphrase_it_starts_and_says_who_can_listen(tmp_path: Path) -> None:
    path = write_garden(tmp_path)
    door.set_passphrase(tmp_path, PASSPHRASE)
    with served(path, "--host", "0.0.0.0") as (port, said):
        assert f"http://0.0.0.0:{port}/" in said[0]
        assert said[-2] == "It asks for the passphrase."
        assert said[-1].startswith("Not encrypted: others on this network can read what passes")
        with httpx2.Client(
            base_url=f"http://127.0.0.1:{port}", headers={"accept": "text/html"}, timeout=PATIENCE
        ) as asker:
            assert asker.get("/").status_code == 303
            sent = asker.post("/sign-in", data={"passphrase": PASSPHRASE})
            assert sent.status_code == 303
            assert asker.get("/why").status_code == 200
            assert asker.get("/why").headers.get("server") is None
            # Nobody before it was named, so nobody is believed about who asks, or over what.
            told = {"x-forwarded-proto": "https", "x-forwarded-for": "203.0.113.9"}
            sent = asker.post("/sign-in", data={"passphrase": PASSPHRASE}, headers=told)
            assert "__Host-" not in sent.headers["set-cookie"]
    assert (tmp_path / "sessions.json").exists()


def test_behind_a_named_proxy_the_name_is_answered_and_its_word_taken(tmp_path: Path) -> None:
    path = write_garden(tmp_path)
    door.set_passphrase(tmp_path, PASSPHRASE)
    with served(path, "--name", "garden.example") as (port, said):
        assert len(said) == 2
        told = {"host": "garden.example", "x-forwarded-proto": "https", "accept": "text/html"}
        with httpx2.Client(
            base_url=f"http://127.0.0.1:{port}", headers=told, timeout=PATIENCE
        ) as asker:
            assert asker.get("/why").status_code == 303
            assert asker.get("/why", headers={"host": "evil.example"}).status_code == 400
            data = {"passphrase": PASSPHRASE}
            sent = asker.post("/sign-in", data=data, headers={"origin": "https://garden.example"})
        assert sent.headers["set-cookie"].startswith("__Host-bearwell-session=")


def test_lines_printed_before_serving(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(serving, "_own_address", lambda: "192.0.2.7")
    open_door = Door(tmp_path)
    told = serving.told_of("g.toml", "127.0.0.1", 8321, open_door, near=True, tls=False)
    assert told == ["bearwell serves g.toml on http://127.0.0.1:8321/ (stop with Ctrl+C)"]
    door.set_passphrase(tmp_path, PASSPHRASE)
    told = serving.told_of("g.toml", "::", 8321, open_door, near=False, tls=True)
    assert told == [
        "bearwell serves g.toml on https://[::]:8321/ (stop with Ctrl+C)",
        "Other devices on this network open https://192.0.2.7:8321/",
        "It asks for the passphrase.",
    ]


def test_the_document_tells_the_limits_as_they_are() -> None:
    text = re.sub(r"\s+", " ", (DOCS / "serving.md").read_text("utf-8"))
    for told in (
        f"{shield.LARGEST_BODY // 1_000_000} MB at most", f"{shield.SLOWEST_BODY:.0f} seconds for a body",
        f"{patience.LONGEST_HEAD:.0f} for the head of a request and {serving.LARGEST_HEADERS // 1000} kB of it",
        f"{shield.WRITES_AT_ONCE} writes at once and {shield.WRITES_A_SECOND:.0f} a second after",
        f"{serving.CONNECTIONS} connections", f"up to {limits.LONGEST_WAIT / 60:.0f} minutes",
        f"signed in for {sessions.LIFETIME // 86_400} days", f"no larger than {pictures.LONGEST_SIDE} pixels",
        f"up to {pictures.LARGEST // 1_000_000} MB and {pictures.MOST_PIXELS // 1_000_000} million pixels",
    ):  # fmt: skip
        assert told in text, told
    assert (limits.FREE_TRIES, door_of_pages.TRIES_A_SECOND) == (3, 0.5)
    assert "after three tries each next one" in text
    assert "all addresses together have half a try a second" in text


# ---------------------------------------------------------------- TLS


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A certificate of our own for this machine, and its key."""
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("no openssl on this machine to make a certificate with")
    folder = tmp_path_factory.mktemp("tls")
    cert, key = folder / "cert.pem", folder / "key.pem"
    subprocess.run(
        [openssl, "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "2",
         "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1",
         "-keyout", str(key), "-out", str(cert)],
        check=True, capture_output=True,
    )  # fmt: skip
    return cert, key


def test_over_tls(tmp_path: Path, certificate: tuple[Path, Path]) -> None:
    path, (cert, key) = write_garden(tmp_path), certificate
    door.set_passphrase(tmp_path, PASSPHRASE)
    with served(path, "--host", "0.0.0.0", "--cert", str(cert), "--key", str(key)) as (port, said):
        assert f"https://0.0.0.0:{port}/" in said[0]
        assert not any("Not encrypted" in line for line in said)
        trust = ssl.create_default_context(cafile=str(cert))
        with httpx2.Client(
            base_url=f"https://localhost:{port}", verify=trust, timeout=PATIENCE
        ) as asker:
            sent = asker.post("/sign-in", data={"passphrase": PASSPHRASE})
            assert "; Secure" in sent.headers["set-cookie"]
            assert asker.get("/week.json").status_code == 200


def test_a_certificate_that_cannot_be_used_is_told(
    tmp_path: Path, certificate: tuple[Path, Path]
) -> None:
    cert, key = certificate
    assert serving.tls_of(None, None) is None
    assert serving.tls_of(cert, key) == serving.Tls(cert, key)
    spoiled = tmp_path / "spoiled.pem"
    spoiled.write_text("nothing", "utf-8")
    for one, other, said in (
        (cert, None, "needs a certificate and its key"),
        (None, key, "needs a certificate and its key"),
        (tmp_path / "none.pem", key, "no such file"),
        (cert, spoiled, "do not make a certificate"),
        (spoiled, key, "do not make a certificate"),
        (key, cert, "do not make a certificate"),
    ):
        with pytest.raises(BadInput, match=said):
            serving.tls_of(one, other)
    locked = tmp_path / "locked.pem"
    subprocess.run(
        ["openssl", "ec", "-in", str(key), "-aes256", "-passout", "pass:secret", "-out", str(locked)],
        check=True, capture_output=True,
    )  # fmt: skip
    with pytest.raises(BadInput, match="asks for a passphrase"):
        serving.tls_of(cert, locked)


# ---------------------------------------------------------------- senders that take their time


HASTE = 0.4  # seconds that a server waits for the head of a request
TRIES = 50  # of what may fail only because this machine stood still for longer than that
HEAD = b"GET /why HTTP/1.1\r\nhost: localhost\r\n"


@pytest.fixture(scope="module")
def hasty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    """The port of a server that waits for the head of a request for a moment only."""
    path, port = write_garden(tmp_path_factory.mktemp("hasty")), free_port()
    code = (
        f"import sys, pathlib; from bearwell.faces.web import patience, serve; patience.LONGEST_HEAD = {HASTE}; "
        "serve(pathlib.Path(sys.argv[1]), port=int(sys.argv[2]))"
    )
    running = subprocess.Popen(
        [sys.executable, "-c", code, str(path), str(port)], stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, env=ENVIRONMENT,
    )  # fmt: skip
    try:
        await_port(port, running)
        yield port
    finally:
        end(running)


def received(line: socket.socket) -> bytes:
    """What comes next; nothing where the other side has closed."""
    try:
        return line.recv(65536)
    except ConnectionError:
        return b""


def asked(line: socket.socket, *parts: bytes, since: float) -> bytes:
    """The page that comes for a head sent in parts; empty where it took this machine so long that it may be given up."""
    try:
        for part in parts:
            line.sendall(part)
            time.sleep(0.02)
    except ConnectionError:
        assert time.monotonic() - since > HASTE, "given up too soon"
    late = time.monotonic() - since > HASTE
    answer = b""
    while b"</html>" not in answer:
        part = received(line)
        if not part:
            assert late, "given up too soon"
            return b""
        answer += part
    assert answer.startswith(b"HTTP/1.1 200")
    return answer


def test_a_head_that_never_ends_is_given_up(hasty: int) -> None:
    for begun in (b"", b"GET /why", HEAD):
        with socket.create_connection(("127.0.0.1", hasty), PATIENCE) as line:
            with suppress(ConnectionError):  # given up already
                line.sendall(begun)
            assert received(line) == b"", "closed without an answer"


def test_a_head_in_parts_is_answered_and_the_line_stays_open(hasty: int) -> None:
    for _ in range(TRIES):
        since = time.monotonic()
        with socket.create_connection(("127.0.0.1", hasty), PATIENCE) as line:
            if not asked(line, HEAD[:7], HEAD[7:], b"\r\n", since=since):
                continue
            time.sleep(1.5 * HASTE)  # between requests nothing is begun
            if asked(line, HEAD[:7], HEAD[7:], b"\r\n", since=time.monotonic()):
                return
    pytest.fail("this machine stands still again and again")


def test_a_second_head_that_never_ends_is_given_up_too(hasty: int) -> None:
    for _ in range(TRIES):
        since = time.monotonic()
        with socket.create_connection(("127.0.0.1", hasty), PATIENCE) as line:
            if not asked(line, HEAD + b"\r\n", since=since):
                continue
            line.sendall(HEAD)
            while received(line):
                pass
            return
    pytest.fail("this machine stands still again and again")


def test_a_head_too_long_is_refused(hasty: int) -> None:
    with socket.create_connection(("127.0.0.1", hasty), PATIENCE) as line:
        with suppress(ConnectionError):  # refused before all of it was sent
            line.sendall(HEAD + b"x: " + b"y" * (serving.LARGEST_HEADERS + 70_000))
        assert received(line).startswith(b"HTTP/1.1 400")

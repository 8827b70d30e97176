"""How the application is served: where it listens, over TLS or not, and with what limits."""

from __future__ import annotations

import ssl
from collections.abc import Sequence
from dataclasses import dataclass
from ipaddress import ip_address
from pathlib import Path
from socket import AF_INET, SOCK_DGRAM, gethostname, socket

import uvicorn

from bearwell.errors import BadInput
from bearwell.faces.door import folder_of
from bearwell.faces.language import _
from bearwell.faces.web.door import Door
from bearwell.faces.web.patience import Patient
from bearwell.faces.web.shield import LOOPBACK
from bearwell.said import said

LARGEST_HEADERS = 16_384  # bytes of the request line and all header lines
CONNECTIONS = 200


@dataclass(frozen=True)
class Tls:
    """The certificate and its key, checked."""

    cert: Path
    key: Path


def serve(
    garden: str | Path,
    host: str = "127.0.0.1",
    port: int = 8321,
    weather: Sequence[Path] = (),
    read_only: bool = False,
    *,
    names: Sequence[str] = (),
    cert: Path | None = None,
    key: Path | None = None,
) -> None:
    """Serve a garden until stopped; prints the address first.

    ``names`` are more names it answers to, such as that of a proxy before it. ``cert`` and ``key`` serve it
    over TLS. Refuses to listen to more than this machine without a passphrase in the folder of the garden.
    """
    from bearwell.faces.web.app import create_app

    if not 0 < port < 65536:
        raise BadInput(
            said("port {port} cannot be served on", port=port),
            "between 1 and 65535; 1024 and up need no rights",
        )
    tls = tls_of(cert, key)
    near, folder = is_near(host), folder_of(garden)
    door = door_for(folder, near=near and not names, read_only=read_only)
    known = (*LOOPBACK, *names) if near else (*LOOPBACK, *names, host, *_own_names())
    app = create_app(
        garden, weather=weather, read_only=read_only, hosts=known, by_address=not near, door=door
    )
    told = told_of(app.state.place, host, port, door, near=near, tls=tls is not None)
    print("\n".join(told), flush=True)
    uvicorn.run(
        app,
        host=host,
        port=port,
        http=Patient,
        ws="none",
        log_level="warning",
        access_log=False,
        server_header=False,
        # Only a proxy that was told of by its name is believed about who asks.
        proxy_headers=bool(names),
        forwarded_allow_ips="127.0.0.1,::1",
        h11_max_incomplete_event_size=LARGEST_HEADERS,
        limit_concurrency=CONNECTIONS,
        timeout_keep_alive=15,
        timeout_graceful_shutdown=5,
        ssl_certfile=tls.cert if tls else None,
        ssl_keyfile=tls.key if tls else None,
    )


def is_near(host: str) -> bool:
    """Whether an address to listen on reaches this machine only."""
    try:
        return ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host.lower() == "localhost"


def door_for(folder: Path, *, near: bool, read_only: bool) -> Door:
    """The door of a garden; raises BadInput where it must be locked and no passphrase is set."""
    door = Door(folder, needed=not near, kept=not read_only)
    if not near and not door.lock().passphrase:
        raise BadInput(
            "beyond this machine bearwell serves only behind a passphrase, and none is set",
            said("set one with: bearwell passphrase --data {folder}", folder=folder),
        )
    return door


def told_of(garden: str, host: str, port: int, door: Door, *, near: bool, tls: bool) -> list[str]:
    """What is printed before serving: the address, who can get in, and who can listen."""
    scheme = "https" if tls else "http"
    address = f"{scheme}://{_written(host)}:{port}/"
    lines = [
        _(
            "bearwell serves {garden} on {address} (stop with Ctrl+C)",
            garden=garden,
            address=address,
        )
    ]
    own = _own_address() if host in ("", "0.0.0.0", "::") else None  # noqa: S104
    if own:
        address = f"{scheme}://{_written(own)}:{port}/"
        lines.append(_("Other devices on this network open {address}", address=address))
    if door.locked:
        lines.append(_("It asks for the passphrase."))
    if not near and not tls:
        lines.append(
            _(
                "Not encrypted: others on this network can read what passes, the passphrase too. "
                "--cert and --key serve it over TLS."
            )
        )
    return lines


def tls_of(cert: Path | None, key: Path | None) -> Tls | None:
    """The certificate and its key where both are given and fit together."""
    if cert is None and key is None:
        return None
    if cert is None or key is None:
        raise BadInput("TLS needs a certificate and its key", "give both --cert and --key")
    for file in (cert, key):
        if not file.is_file():
            raise BadInput(said("{file}: there is no such file", file=file))

    def locked() -> str:
        raise BadInput(
            said("{file} asks for a passphrase", file=key), "give a key that is kept without one"
        )

    try:
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(cert, key, locked)
    except (OSError, ValueError) as error:  # an SSLError is an OSError
        raise BadInput(
            said("{cert} and {key} do not make a certificate with its key", cert=cert, key=key),
            "both in PEM form",
        ) from error
    return Tls(cert, key)


def _own_names() -> tuple[str, str]:
    return gethostname(), f"{gethostname()}.local"


def _own_address() -> str | None:
    """The address of this machine on its network; asks the routing table, sends nothing."""
    try:
        with socket(AF_INET, SOCK_DGRAM) as asking:
            asking.connect(("192.0.2.1", 9))  # an address kept for documentation, RFC 5737
            return str(asking.getsockname()[0])
    except OSError:
        return None


def _written(host: str) -> str:
    try:
        return f"[{host}]" if ip_address(host).version == 6 else host
    except ValueError:
        return host

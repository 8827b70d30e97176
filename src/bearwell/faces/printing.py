"""Turns a page into a PDF with the Chromium of the system, which may reach that page and no more."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from bearwell.errors import BadInput, BearwellError
from bearwell.faces.clock import wait
from bearwell.faces.language import N_
from bearwell.said import said

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
NAMED = "BEARWELL_CHROMIUM"  # environment variable that names a browser elsewhere
# Why a system writes no file.
_REASONS = (
    N_("refused"), N_("permission denied"), N_("no such file or directory"), N_("is a directory"),
    N_("not a directory"), N_("no space left on device"), N_("read-only file system"), N_("file name too long"),
)  # fmt: skip
_LONGEST = 120  # seconds that a browser may take
_START = 20.0  # seconds that the page may take to be served

SHEETS = {
    "week": "/sheet/week?days={days}",
    "feeding": "/sheet?days={days}",
    "pruning": "/sheet/pruning?days={days}",
    "season": "/season",
    "poster": "/poster?paper={paper}",
    "tags": "/tags?size={size}&skip={skip}",
}
USUAL_DAYS = {"week": 7, "feeding": 21, "pruning": 42}


def browser() -> str:
    """The Chromium that prints; BadInput says what to do where there is none."""
    named = os.environ.get(NAMED)
    if named:
        if shutil.which(named):
            return named
        raise BadInput(
            said("{variable} names {program}, which cannot be run", variable=NAMED, program=named),
            "name the Chromium to print with",
        )
    for name in BROWSERS:
        found = shutil.which(name)
        if found:
            return found
    raise BadInput(
        "printing needs Chromium, and none was found",
        said(
            "install the package chromium, or set {variable} to one; or print the page from any browser",
            variable=NAMED,
        ),
    )


@contextmanager
def served(garden: str | Path, today: date, weather: tuple[Path, ...]) -> Iterator[str]:
    """The pages of a garden for one day on a loopback port of their own, read only; their address."""
    import uvicorn

    from bearwell.faces.web.app import create_app
    from bearwell.faces.web.door import Door

    # Whoever prints reads the garden's files already: our own browser is not asked for the passphrase.
    nowhere = tempfile.TemporaryDirectory(prefix="bearwell-print-")
    door = Door(Path(nowhere.name), kept=False)
    app = create_app(garden, weather=weather, today=lambda: today, read_only=True, door=door)
    listening = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(app, log_level="error", access_log=False, ws="none"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    waited = 0.0
    while not server.started and thread.is_alive() and waited < _START:
        wait(0.02)
        waited += 0.02
    try:
        if not server.started:
            raise BearwellError("the page to print could not be served", "try again")
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join(10)
        listening.close()
        nowhere.cleanup()


def print_page(program: str, address: str, pdf: Path) -> None:
    """Print one page of ours into a file, which appears whole or not at all."""
    with tempfile.TemporaryDirectory(prefix="bearwell-print-") as folder:
        made = Path(folder, "page.pdf")
        try:
            done = subprocess.run(  # noqa: S603 our own arguments
                [*_arguments(program, folder), f"--print-to-pdf={made}", address],
                capture_output=True, check=False, text=True, timeout=_LONGEST, cwd=folder,
            )  # fmt: skip
        except subprocess.TimeoutExpired:
            raise BearwellError(
                said("{program} did not finish in {seconds} s", program=program, seconds=_LONGEST),
                "try again",
            ) from None
        if not made.is_file() or not made.read_bytes().startswith(b"%PDF-"):
            told = done.stderr.strip().splitlines()
            raise BearwellError(
                said("{program} made no PDF (exit {code})", program=program, code=done.returncode),
                told[-1] if told else "run it by hand",
            )
        _put(made, pdf)


def _put(made: Path, pdf: Path) -> None:
    try:
        part = pdf.with_name(f".{pdf.name}.part")
        shutil.copyfile(made, part)
        part.replace(pdf)
    except OSError as error:
        raise unwritable(pdf, error) from None


def unwritable(file: Path, error: OSError) -> BearwellError:
    """The refusal where a file cannot be written, with the reason that the system gives."""
    reason = said((error.strerror or "refused").lower())
    return BearwellError(
        said("cannot write {file}: {reason}", file=file, reason=reason), "check the folder"
    )


def _arguments(program: str, folder: str) -> list[str]:
    """A browser without a window, in a profile of its own, that finds no name but this machine's."""
    return [
        program,
        "--headless",
        "--disable-gpu",
        "--disable-dev-shm-usage",
        "--disable-extensions",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-default-apps",
        "--disable-sync",
        "--no-first-run",
        "--no-default-browser-check",
        "--no-pdf-header-footer",
        "--no-proxy-server",
        "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
        f"--user-data-dir={folder}/profile",
        *(["--no-sandbox"] if _root() else []),
    ]


def _root() -> bool:
    """Whether we run with all rights, under which Chromium refuses its own sandbox."""
    return hasattr(os, "geteuid") and os.geteuid() == 0

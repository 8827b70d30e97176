"""A PostgreSQL server for the tests: started in a folder of its own, never the machine's."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote


def program(name: str) -> str | None:
    """A program of the server, on the path or where system packages put it."""
    found = shutil.which(name)
    if found:
        return found
    kept = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))
    return str(kept[-1]) if kept else None


def someone_else() -> str | None:
    """A user without rights to run the server as, because it refuses to run as the superuser."""
    import pwd

    for name in ("postgres", "nobody"):
        try:
            pwd.getpwnam(name)
        except KeyError:
            continue
        if shutil.which("runuser"):
            return name
    return None


def missing() -> str:
    """Why no server can be started here; empty where one can."""
    if os.name == "nt":
        return "the tests do not start PostgreSQL on this system"
    if not program("initdb") or not program("pg_ctl"):
        return "there is no PostgreSQL on this machine"
    if os.geteuid() == 0 and someone_else() is None:
        return "PostgreSQL does not run as the superuser, and there is no other user to run it as"
    return ""


@contextmanager
def server() -> Iterator[str]:
    """A server that listens on a socket in its own folder only; gives the folder."""
    folder = Path(tempfile.mkdtemp(prefix="bw-pg-"))
    before: list[str] = []
    if os.geteuid() == 0:
        other = someone_else() or ""
        before = ["runuser", "-u", other, "--"]
        shutil.chown(folder, other)
    folder.chmod(0o700)
    data = folder / "data"

    def run(*words: str) -> None:
        done = subprocess.run(
            [*before, *words],
            cwd=folder,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
        if done.returncode:
            raise RuntimeError(f"{Path(words[0]).name}: {done.stderr.strip()[-400:]}")

    initdb, control = program("initdb") or "", program("pg_ctl") or ""
    try:
        run(initdb, "-D", str(data), "-U", "grower", "-A", "trust", "-E", "UTF8", "--no-sync")
        settings = f"-k {folder} -c listen_addresses='' -c fsync=off -c synchronous_commit=off"
        run(
            control,
            "-D",
            str(data),
            "-o",
            settings,
            "-l",
            str(folder / "log"),
            "-w",
            "-t",
            "60",
            "start",
        )
        try:
            yield str(folder)
        finally:
            run(control, "-D", str(data), "-m", "immediate", "-w", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def address(folder: str, database: str) -> str:
    """The address of a database on the server."""
    return f"postgresql://grower@/{database}?host={quote(folder, safe='')}"


def new_database(folder: str, name: str) -> str:
    """An empty database on the server; gives its address."""
    import psycopg

    with psycopg.connect(address(folder, "postgres"), autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
    return address(folder, name)

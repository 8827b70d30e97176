"""What happens to records when a program is killed, the disk is full, two write at once, or nothing may be written."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest
import sqlalchemy as sa

from bearwell import api
from bearwell.errors import BadInput, BearwellError
from bearwell.wholefile import write_whole
from gardens import TODAY
from stores import JPEG, kept, on_hand, opened, stamp, write

WRITER = """
import sys
from datetime import UTC, date, datetime
from uuid import UUID
from bearwell import api
place, first, many = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
day = date(2026, 11, 25)
with api.open_store(place) as store:
    for number in range(first, first + many):
        stamp = api.Stamp(str(UUID(int=number)), datetime(2026, 11, 25, 12, tzinfo=UTC))
        api.record_done(store, stamp, day, tree="one", job="feed", day=day, product="balanced", amount="1 g")
        print(stamp.id, flush=True)
"""


def writer(place: str, first: int, many: int) -> subprocess.Popen[str]:
    """A program that records one gram a time and tells each id once it is kept."""
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, place, str(first), str(many)],
        stdout=subprocess.PIPE,
        text=True,
    )


def recorded(store: api.Store) -> list[str]:
    """The records of done work, in order."""
    return [
        told.entry.action
        for told in reversed(api.history(store, "one"))
        if told.entry.kind == "record"
    ]


@pytest.fixture
def place(empty_place: str, tmp_path: Path) -> str:
    kept(empty_place, write(tmp_path / "file", place=None)).close()
    return empty_place


@pytest.mark.skipif(os.name == "nt", reason="there is no kill -9 here")
def test_a_writer_killed_at_any_moment_loses_no_kept_record(place: str):
    told: list[str] = []
    for turn in range(6):
        run = writer(place, 1_000_000 + 1000 * turn, 1000)
        assert run.stdout is not None
        told += [run.stdout.readline().strip() for _ in range(3 + 5 * turn)]
        run.send_signal(signal.SIGKILL)
        told += [line.strip() for line in run.stdout if line.endswith("\n")]
        run.wait()
        run.stdout.close()
        with api.open_store(place) as store:
            mark: object = None
            while mark != store.mark():  # a server may still keep what it was sent before the kill
                mark = store.mark()
                found, left = recorded(store), on_hand(store)

        assert [one for one in told if one not in found] == []
        # The one record that was under way may be there, whole, though the writer could not tell of it.
        assert len(found) - len(told) <= turn + 1
        assert left == 40_000 - len(found)


def test_two_programs_write_at_once_and_nothing_is_lost(place: str):
    runs = [writer(place, 2_000_000 + 1000 * turn, 25) for turn in range(2)]
    told = [run.communicate()[0].split() for run in runs]
    with api.open_store(place) as store:
        found = recorded(store)

    assert [run.returncode for run in runs] == [0, 0]
    assert sorted(found) == sorted([*told[0], *told[1]])
    assert [one for one in found if one in told[0]] == told[0]


def test_threads_of_one_program_write_at_once(place: str):
    refused: list[Exception] = []

    def run(store: api.Store) -> None:
        try:
            for _ in range(8):
                api.record_seen(store, stamp(), TODAY, tree="two", event="leaf fall", day=TODAY)
        except BearwellError as error:
            refused.append(error)

    with api.open_store(place) as store:
        threads = [threading.Thread(target=run, args=(store,)) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        entries = [told.entry for told in api.history(store, "two") if told.entry.kind == "record"]

    assert refused == []
    assert len({one.action for one in entries}) == 32


def test_the_same_record_sent_by_two_at_once_is_one_record(place: str):
    same = stamp()
    answers: list[bool] = []

    def send() -> None:
        with api.open_store(place) as store:
            done = api.record_seen(store, same, TODAY, tree="two", event="leaf fall", day=TODAY)
            answers.append(done.repeated)

    threads = [threading.Thread(target=send) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert sorted(answers) == [False, True, True, True]


def test_a_full_disk_keeps_what_was_there(tmp_path: Path):
    """A database that may not grow stands for the disk."""
    with kept(str(tmp_path / "data"), write(tmp_path / "file", place=None)) as store:

        @sa.event.listens_for(store.database.engine, "checkout")
        def no_room(connection: sa.engine.interfaces.DBAPIConnection, *_: object) -> None:
            connection.execute("PRAGMA max_page_count=1")  # type: ignore[attr-defined]

        done = 0

        def write_on() -> None:
            nonlocal done
            for _ in range(2000):
                note = {"note": "a long note " * 150}
                api.record_state(store, stamp(), TODAY, subject="tree", named="one", values=note)
                done += 1

        with pytest.raises(BearwellError, match=r"full.*make room on the disk"):
            write_on()
        states = [told for told in api.history(store, "one") if told.entry.kind == "state"]

        assert len(states) == done
        assert opened(store).garden.tree("one")


def test_a_photo_that_cannot_be_written_is_not_recorded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with kept(str(tmp_path / "data"), write(tmp_path / "file", place=None)) as store:
        mark = store.mark()
        monkeypatch.setattr("bearwell.wholefile.os.fsync", full)
        with pytest.raises(BearwellError, match=r"no space left.*is the disk full"):
            api.record_photo(
                store,
                stamp(),
                TODAY,
                subject="tree",
                named="one",
                day=TODAY,
                name="a.jpg",
                content=JPEG,
            )
        monkeypatch.undo()

        assert store.mark() == mark
        assert [p for p in (tmp_path / "data" / "files").rglob("*") if p.is_file()] == []


def test_a_file_is_replaced_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    place = tmp_path / "file"
    write_whole(place, b"first")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("bearwell.wholefile.os.fsync", full)
    with pytest.raises(BearwellError, match="cannot be written"):
        write_whole(place, b"second")

    assert [(p.name, p.read_bytes()) for p in tmp_path.iterdir()] == [("file", b"first")]


def test_read_only_never_writes(place: str, tmp_path: Path):
    before = {p: p.read_bytes() for p in tmp_path.rglob("*.sqlite")}
    with api.open_store(place, read_only=True) as store:
        assert opened(store).garden.tree("one")
        with pytest.raises(BadInput, match="opened read only"):
            api.record_seen(store, stamp(), TODAY, tree="one", event="leaf fall", day=TODAY)

    assert {p: p.read_bytes() for p in tmp_path.rglob("*.sqlite")} == before


def test_a_file_that_is_no_database_is_told(tmp_path: Path):
    (tmp_path / "bearwell.sqlite").write_text("these are my notes, and no database at all\n" * 100)

    with pytest.raises(BearwellError, match=r"not a database.*restore it from a backup"):
        api.open_store(tmp_path)
    assert (tmp_path / "bearwell.sqlite").read_text().startswith("these are my notes")


def test_a_kept_file_that_was_changed_is_told(tmp_path: Path):
    with kept(str(tmp_path / "data"), write(tmp_path / "file")) as store:
        weather = next(p for p in (tmp_path / "data" / "files").rglob("*") if p.is_file())
        weather.write_bytes(b"date,tmin,tmax\n")
        with pytest.raises(BearwellError, match="a kept file is damaged"):
            opened(store)
        weather.unlink()
        with pytest.raises(BearwellError, match="a kept file is missing"):
            opened(store)

"""The passphrase and the calendar keys: how they are kept, set, made and ended; sessions and tries."""

from __future__ import annotations

import io
import json
import os
import stat
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from bearwell.errors import BadInput
from bearwell.faces import door
from bearwell.faces.cli import cli
from bearwell.faces.web.limits import (
    FREE_TRIES,
    LONGEST_WAIT,
    REMEMBERED,
    Allowance,
    Tries,
    neighbour,
)
from bearwell.faces.web.sessions import LIFETIME, MOST, Sessions

PASSPHRASE = "terns nest on the ledge"
posix = pytest.mark.skipif(os.name != "posix", reason="modes of files are those of POSIX systems")


class Clock:
    """A clock that is turned by hand."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


def run(*arguments: str, typed: str = "") -> tuple[int, str]:
    """A command with what is piped into it: exit code and everything it said."""
    done = CliRunner().invoke(cli, list(arguments), input=typed, catch_exceptions=False)
    return done.exit_code, done.output


# ---------------------------------------------------------------- the file


def test_a_passphrase_is_kept_as_a_hash_that_only_it_fits(tmp_path: Path) -> None:
    door.set_passphrase(tmp_path, PASSPHRASE)
    text = (tmp_path / door.FILE).read_text("utf-8")
    lock = door.read_lock(tmp_path)

    assert "tern" not in text
    # RFC 9106, section 4: the second recommended option, 3 passes over 64 MiB in 4 lanes.
    assert lock.passphrase.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    assert lock.fits(PASSPHRASE)
    assert not lock.fits(PASSPHRASE + " ")
    assert not lock.fits(PASSPHRASE.upper())
    assert not lock.fits("")
    assert not lock.fits("x" * 100_000)


def test_letters_composed_another_way_are_the_same(tmp_path: Path) -> None:
    door.set_passphrase(tmp_path, "a\u0301rvores na encosta")  # a and its accent apart
    assert door.read_lock(tmp_path).fits("\u00e1rvores na encosta")


@posix
def test_the_file_is_its_owners_alone(tmp_path: Path) -> None:
    folder = tmp_path / "new"
    door.set_passphrase(folder, PASSPHRASE)
    file = folder / door.FILE

    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert [one.name for one in folder.iterdir()] == [door.FILE]
    file.chmod(0o640)
    with pytest.raises(BadInput, match="can be read by others") as refused:
        door.read_lock(folder)
    assert refused.value.hint == f"chmod 600 {file}"


@pytest.mark.parametrize("text", ["", "{", "[]", '{"format": 2}', '{"format": 1}', "\xff\xfe"])
def test_a_spoiled_file_is_refused_not_taken_for_an_open_door(tmp_path: Path, text: str) -> None:
    door.write_private(tmp_path / door.FILE, {})
    (tmp_path / door.FILE).write_text(text, "latin-1")
    with pytest.raises(BadInput, match=r"door\.json"):
        door.read_lock(tmp_path)


@pytest.mark.parametrize("text", ["", "short", " " * 30, "x" * 1001])
def test_a_poor_passphrase_changes_nothing(tmp_path: Path, text: str) -> None:
    door.set_passphrase(tmp_path, PASSPHRASE)
    with pytest.raises(BadInput, match="passphrase"):
        door.set_passphrase(tmp_path, text)
    assert door.read_lock(tmp_path).fits(PASSPHRASE)


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_text("", "utf-8")
    with pytest.raises(BadInput):
        door.set_passphrase(file / "below", PASSPHRASE)


def test_the_door_stands_beside_the_garden_file(tmp_path: Path) -> None:
    file = tmp_path / "garden.toml"
    assert door.folder_of(file) == tmp_path  # whether it is there or not
    file.write_text("", "utf-8")
    assert door.folder_of(str(file)) == tmp_path
    assert door.folder_of(tmp_path / "data") == tmp_path / "data"
    assert door.folder_of("postgresql://somewhere/garden") == Path()


def test_a_new_passphrase_changes_the_seal_and_keeps_the_keys(tmp_path: Path) -> None:
    door.set_passphrase(tmp_path, PASSPHRASE)
    key = door.make_key(tmp_path, "phone", date(2026, 3, 1))
    before = door.read_lock(tmp_path)
    door.set_passphrase(tmp_path, PASSPHRASE)
    after = door.read_lock(tmp_path)

    assert before.seal != after.seal
    assert after.opens_calendar(key)


def test_a_calendar_key_is_kept_as_a_fingerprint_and_can_be_ended(tmp_path: Path) -> None:
    one = door.make_key(tmp_path, "phone", date(2026, 3, 1))
    two = door.make_key(tmp_path, "desk", date(2026, 3, 2))
    lock = door.read_lock(tmp_path)

    assert len(one) >= 43  # 256 bits in base 64
    assert one not in (tmp_path / door.FILE).read_text("utf-8")
    assert lock.opens_calendar(one)
    assert lock.opens_calendar(two)
    assert not lock.opens_calendar("")
    assert not lock.opens_calendar(lock.keys[0].mark)
    door.end_key(tmp_path, "phone")
    assert not door.read_lock(tmp_path).opens_calendar(one)
    assert door.read_lock(tmp_path).opens_calendar(two)
    new = door.make_key(tmp_path, "desk", date(2026, 3, 3))
    assert not door.read_lock(tmp_path).opens_calendar(two)
    assert door.read_lock(tmp_path).opens_calendar(new)
    with pytest.raises(BadInput, match="no calendar key named 'phone'") as refused:
        door.end_key(tmp_path, "phone")
    assert refused.value.hint == "there are: desk"
    for name in ("", "  ", "a\nb", "x" * 61):
        with pytest.raises(BadInput):
            door.make_key(tmp_path, name, date(2026, 3, 3))


# ---------------------------------------------------------------- the commands


def test_a_piped_passphrase_is_set_and_never_shown(tmp_path: Path) -> None:
    code, said = run("passphrase", "--data", str(tmp_path), typed=f"{PASSPHRASE}\n")
    assert code == 0
    assert str(tmp_path / door.FILE) in said
    assert "tern" not in said
    assert door.read_lock(tmp_path).fits(PASSPHRASE)


def test_nothing_piped_sets_nothing(tmp_path: Path) -> None:
    assert run("passphrase", "--data", str(tmp_path))[0] == 2
    assert not (tmp_path / door.FILE).exists()


class Terminal(io.StringIO):
    """A standard input that says it is a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("again", "kept"), [(PASSPHRASE, True), ("terns nest on the hedge", False)]
)
def test_at_a_terminal_it_is_asked_twice_unseen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, again: str, kept: bool
) -> None:
    answers, hidden = [PASSPHRASE, again], []

    def prompt(_text: str, *, hide_input: bool) -> str:
        hidden.append(hide_input)
        return answers.pop(0)

    monkeypatch.setattr("sys.stdin", Terminal())
    monkeypatch.setattr("click.prompt", prompt)
    from bearwell.faces.door_commands import passphrase

    if kept:
        passphrase.main(["--data", str(tmp_path)], standalone_mode=False)
    else:
        with pytest.raises(BadInput, match="differ"):
            passphrase.main(["--data", str(tmp_path)], standalone_mode=False)
    assert hidden == [True, True]
    assert (tmp_path / door.FILE).exists() is kept


def test_no_option_takes_a_passphrase() -> None:
    options = {name for one in cli.commands["passphrase"].params for name in one.opts}
    assert options == {"--data"}


def test_calendar_keys_by_command(tmp_path: Path) -> None:
    at = ("--data", str(tmp_path))
    code, said = run("calendar-key", *at, "--for", "phone", "--json")
    made = json.loads(said)
    assert code == 0
    assert made["path"] == f"/calendar.ics?key={made['key']}"
    assert door.read_lock(tmp_path).opens_calendar(made["key"])
    assert "/calendar.ics?key=" in run("calendar-key", *at)[1]
    listed = json.loads(run("calendar-key", *at, "--list", "--json")[1])
    assert [one["name"] for one in listed["keys"]] == ["phone", "calendar"]
    assert made["key"] not in run("calendar-key", *at, "--list")[1]
    assert run("calendar-key", *at, "--end", "phone") == (0, "ended: phone\n")
    assert not door.read_lock(tmp_path).opens_calendar(made["key"])
    assert run("calendar-key", *at, "--end", "phone")[0] == 2


def test_the_commands_load_no_server_and_no_hashing_before_they_are_used() -> None:
    code = (
        "import sys, bearwell.faces.cli, bearwell.api; "
        "print(sorted({'argon2', 'PIL', 'fastapi', 'starlette', 'uvicorn'} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
    )  # fmt: skip
    assert done.stdout == "[]\n"


# ---------------------------------------------------------------- sessions


def test_a_session_lasts_until_it_runs_out_or_is_ended(tmp_path: Path) -> None:
    clock = Clock()
    sessions = Sessions(tmp_path, clock=clock)
    one, two = sessions.begin("seal"), sessions.begin("seal")
    assert one != two
    assert sessions.good(one, "seal")
    assert not sessions.good("", "seal")
    assert not sessions.good(one, "another seal")
    assert one not in (tmp_path / "sessions.json").read_text("utf-8")
    sessions.end(one)
    assert not sessions.good(one, "seal")
    clock.now += LIFETIME - 1
    assert sessions.good(two, "seal")
    clock.now += 2
    assert not sessions.good(two, "seal")


def test_sessions_outlive_a_restart_but_not_a_new_seal(tmp_path: Path) -> None:
    clock = Clock()
    name = Sessions(tmp_path, clock=clock).begin("seal")
    again = Sessions(tmp_path, clock=clock)
    assert again.good(name, "seal")
    other = again.begin("new seal")
    assert not again.good(name, "new seal")
    assert not Sessions(tmp_path, clock=clock).good(name, "new seal")
    assert Sessions(tmp_path, clock=clock).good(other, "new seal")
    again.end_all()
    assert not Sessions(tmp_path, clock=clock).good(other, "new seal")


def test_sessions_are_few_and_a_spoiled_file_stands_for_none(tmp_path: Path) -> None:
    sessions = Sessions(tmp_path)
    names = [sessions.begin("seal") for _ in range(MOST + 5)]
    assert sessions.count == MOST
    assert sessions.good(names[-1], "seal")
    assert not sessions.good(names[0], "seal")
    for text in ("", "{", "[1]", '{"seal": "seal", "ends": 3}'):
        (tmp_path / "sessions.json").write_text(text, "utf-8")
        assert Sessions(tmp_path).count == 0


def test_sessions_in_memory_write_nothing(tmp_path: Path) -> None:
    sessions = Sessions(tmp_path, kept=False)
    assert sessions.good(sessions.begin("seal"), "seal")
    assert list(tmp_path.iterdir()) == []


# ---------------------------------------------------------------- limits


def test_waits_grow_after_a_few_failures_and_end_with_a_success() -> None:
    clock = Clock()
    tries = Tries(clock)
    assert [tries.wait("192.0.2.1") for _ in range(FREE_TRIES)] == [0.0] * FREE_TRIES
    waits = []
    for _ in range(14):
        waits.append(tries.wait("192.0.2.1"))
        clock.now += waits[-1]
        assert tries.wait("192.0.2.1") == 0
    assert waits[:4] == [1, 2, 4, 8]
    assert waits[-1] == LONGEST_WAIT
    assert tries.wait("192.0.2.2") == 0, "others do not wait"
    tries.worked("192.0.2.1")
    assert tries.wait("192.0.2.1") == 0


def test_waiting_in_vain_does_not_lengthen_the_wait() -> None:
    clock = Clock()
    tries = Tries(clock)
    for _ in range(FREE_TRIES + 3):
        clock.now += tries.wait("a")
        tries.wait("a")
    left = tries.wait("a")
    assert left > 0
    assert [tries.wait("a") for _ in range(50)] == [left] * 50


def test_memory_is_bounded_however_many_ask() -> None:
    tries, allowance = Tries(Clock()), Allowance(5, 1, Clock())
    for n in range(REMEMBERED + 50):
        tries.wait(f"198.51.{n // 256}.{n % 256}")
        allowance.wait(f"2001:db8:{n:x}::1")
    assert tries.count == REMEMBERED
    assert allowance.count == REMEMBERED


def test_neighbours_in_one_network_are_one_asker() -> None:
    # RFC 4291: an interface has 64 bits to itself, so one asker has all of a /64.
    assert neighbour("2001:db8:0:1::7") == neighbour("2001:db8:0:1:ffff::1")
    assert neighbour("2001:db8:0:2::7") != neighbour("2001:db8:0:1::7")
    assert neighbour("::ffff:192.0.2.7") == neighbour("192.0.2.7") == "192.0.2.7"
    assert neighbour("192.0.2.8") != neighbour("192.0.2.7")
    assert neighbour("a socket") == "a socket"


def test_an_allowance_is_spent_and_comes_back() -> None:
    clock = Clock()
    allowance = Allowance(3, 0.5, clock)
    assert [allowance.wait("a") for _ in range(3)] == [0, 0, 0]
    assert allowance.wait("a") == 2
    assert allowance.wait("b") == 0
    clock.now += 2
    assert allowance.wait("a") == 0
    assert allowance.wait("a") == 2
    clock.now += 1e6
    assert [allowance.wait("a") for _ in range(4)] == [0, 0, 0, 2]

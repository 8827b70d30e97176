"""The store from the command line, and the pages served from it."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from fastapi.testclient import TestClient

from bearwell import api
from bearwell.faces.cli import cli
from bearwell.faces.web import create_app
from gardens import TODAY
from stores import opened, stamp, write


def bearwell(*arguments: object, own: Path | None = None) -> Result:
    """A command, in this process; ``own`` is where the user's own data would lie."""
    environment = {"XDG_DATA_HOME": str(own)} if own else None
    return CliRunner(env=environment).invoke(cli, [str(word) for word in arguments])


@pytest.fixture
def garden(tmp_path: Path) -> Path:
    return write(tmp_path / "file")


@pytest.fixture
def place(empty_place: str, garden: Path) -> str:
    """A store that the command line made."""
    done = bearwell("import", garden, "--data", empty_place, "--today", TODAY)
    assert (done.exit_code, done.stderr) == (0, "")
    return empty_place


def advice(*where: object) -> dict[str, dict[str, object]]:
    done = bearwell("worklist", *where, "--today", TODAY, "--days", 120, "--json")
    return {one["id"]: one for one in json.loads(done.stdout)["advice"]}


def test_every_reading_command_takes_the_store_in_place_of_a_file(place: str, garden: Path):
    for command in ("worklist", "year", "check"):
        from_file = bearwell(command, garden, "--today", TODAY)
        with_data = bearwell(command, "--data", place, "--today", TODAY)
        by_name = bearwell(command, place, "--today", TODAY)

        assert (with_data.exit_code, with_data.stderr) == (0, "")
        assert with_data.stdout == by_name.stdout
        if command == "year":
            assert with_data.stdout == from_file.stdout
    assert advice("--data", place) == advice(garden)


def test_records_move_the_worklist_and_can_be_undone(place: str):
    listed = advice("--data", place)
    fed = next(
        key for key, one in listed.items() if one["kind"] == "feed" and "doses" in one["details"]
    )  # type: ignore[operator]
    other = next(key for key, one in listed.items() if one["kind"] == "prune")
    done = bearwell(
        "record", "done", "--advice", fed, "--data", place, "--today", TODAY, "--by", "Ana"
    )
    skipped = bearwell("record", "skip", other, "no time [b]", "--data", place, "--today", TODAY)
    assert (done.exit_code, skipped.exit_code, done.stderr, skipped.stderr) == (0, 0, "", "")
    after = advice("--data", place)
    assert fed not in after
    assert after[other]["standing"] == "blocked"
    assert "no time [b]" in str(after[other]["remarks"])
    assert (
        "no time [b]"
        in bearwell("worklist", "--data", place, "--today", TODAY, "--days", 120).stdout
    )
    told = bearwell("history", "--data", place, "--tree", "one").stdout
    assert "by Ana" in told
    record = done.stdout.split()[-1]
    undone = bearwell("record", "undo", record[:13], "--data", place, "--today", TODAY)

    assert undone.exit_code == 0
    assert fed in advice("--data", place)
    assert (
        f"(undone by {undone.stdout.split()[-1][:8]})"
        in bearwell("history", "--data", place).stdout
    )


@pytest.mark.parametrize(
    ("words", "key"),
    [
        (
            ["done", "one", "feed", "--product", "balanced", "--amount", "150 g", "--note", "ok"],
            "done",
        ),
        (["done", "one", "water", "--amount", "20 L", "--on", "2026-11-20"], "done"),
        (["seen", "one", "leaf fall"], "observed"),
        (["harvest", "one", "4.5 kg", "--fruit", "40"], "harvests"),
        (["count", "two", "120"], "counts"),
        (["count", "two", "--path", "0.42:21", "--path", "0.25:13"], "counts"),
        (["measure", "one", "--height", "9 ft", "--spread", "2 m", "--spread", "2.2 m"], ""),
        (["stock", "balanced", "31 kg"], ""),
    ],
)
def test_the_basic_records(words: list[str], key: str, garden: Path, tmp_path: Path):
    data = tmp_path / "data"
    bearwell("import", garden, "--data", data, "--today", TODAY)
    done = bearwell("record", *words, "--data", data, "--today", TODAY)
    newest = json.loads(bearwell("history", "--data", data, "--last", 1, "--json").stdout)

    assert (done.exit_code, done.stderr) == (0, "")
    assert [one["key"] for one in newest] == [key]
    assert newest[0]["record"] == done.stdout.split()[-1]


def test_a_record_with_an_id_of_its_own_is_kept_once(garden: Path, tmp_path: Path):
    data = tmp_path / "data"
    bearwell("import", garden, "--data", data, "--today", TODAY)
    words = [
        "record",
        "seen",
        "one",
        "leaf fall",
        "--data",
        data,
        "--today",
        TODAY,
        "--id",
        "8c5f2f0e-7d0a-4b54-9d5e-0f6d1d6a1c11",
    ]

    assert [bearwell(*words).stdout.split(":")[0] for _ in range(2)] == [
        "recorded",
        "recorded before",
    ]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["worklist", "--data", "nowhere"], "no garden is kept here yet"),
        (["worklist"], "no GARDEN was named"),
        (["worklist", "a.toml", "--data", "b"], "both named"),
        (["import", "nowhere.toml"], "no such file"),
        (
            ["export", "out", "--data", "nowhere"],
            "bearwell import GARDEN.toml --data nowhere begins one",
        ),
        (["restore", "nowhere.zip"], "no such file"),
    ],
)
def test_refusals_are_one_line_and_make_no_store(words: list[str], message: str, tmp_path: Path):
    done = bearwell(*words, own=tmp_path)

    assert (done.exit_code, done.stdout) == (2, "")
    assert message in done.stderr
    assert done.stderr.count("\n") == 1
    assert not (tmp_path / "bearwell").exists()


def test_a_record_that_lacks_something_is_refused_in_one_line(garden: Path, tmp_path: Path):
    data = tmp_path / "data"
    bearwell("import", garden, "--data", data, "--today", TODAY)
    for words, message in (
        (["done", "one"], "TREE and JOB are needed"),
        (["count", "one", "--path", "often"], "not a branch path"),
        (["skip", "one/feed/none/2026-11", "why"], "no advice"),
        (["undo", "ffffffff"], "no record 'ffffffff'"),
    ):
        done = bearwell("record", *words, "--data", data, "--today", TODAY)

        assert (done.exit_code, done.stdout, done.stderr.count("\n")) == (2, "", 1)
        assert message in done.stderr


def test_a_bad_file_begins_no_store(garden: Path, tmp_path: Path):
    garden.write_text(garden.read_text().replace('"apple"', '"aple"'))
    done = bearwell("import", garden, "--data", tmp_path / "data", "--today", TODAY)

    assert done.exit_code == 2
    assert "unknown kind 'aple'" in done.stderr
    assert not (tmp_path / "data").exists()


def test_the_users_own_folder_is_the_default(garden: Path, tmp_path: Path):
    own = tmp_path / "own"
    done = bearwell("import", garden, "--today", TODAY, own=own)
    listed = bearwell("worklist", "--today", TODAY, own=own)

    assert done.exit_code == listed.exit_code == 0
    assert (own / "bearwell" / "bearwell.sqlite").is_file()
    assert listed.stdout.startswith("test plot")


def test_moving_from_the_command_line(garden: Path, tmp_path: Path):
    data, again = tmp_path / "data", tmp_path / "again"
    bearwell("import", garden, "--data", data, "--today", TODAY)
    assert bearwell("backup", tmp_path / "all.zip", "--data", data).exit_code == 0
    assert bearwell("restore", tmp_path / "all.zip", "--data", again).exit_code == 0
    refused = bearwell("restore", tmp_path / "all.zip", "--data", again)
    assert (refused.exit_code, "--replace" in refused.stderr) == (2, True)
    replaced = bearwell("restore", tmp_path / "all.zip", "--data", again, "--replace")
    assert "what was there is in" in replaced.stdout
    exported = bearwell("export", tmp_path / "out", "--data", again)
    (tmp_path / "weather.csv").write_bytes((tmp_path / "out" / "weather.csv").read_bytes())
    weather = bearwell("import", tmp_path / "weather.csv", "--data", data, "--today", TODAY)
    updated = bearwell(
        "import", tmp_path / "out" / "garden.toml", "--data", data, "--update", "--today", TODAY
    )

    assert (exported.exit_code, weather.exit_code, updated.exit_code) == (0, 0, 0)
    assert advice("--data", data) == advice(garden)


def test_help_of_a_record_loads_no_database():
    code = (
        "import sys\nfrom bearwell.faces.cli import cli\ntry:\n    cli.main(['record', 'done', '--help'])\n"
        "except SystemExit:\n    pass\nprint([m for m in ('sqlalchemy', 'alembic', 'numpy') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stdout.strip().splitlines()[-1] == "[]"


def test_a_garden_file_is_read_without_the_database(garden: Path):
    code = (
        "import sys, datetime\nfrom bearwell import api\nopened = api.open_garden(sys.argv[1], datetime.date(2026, 11, 25))\n"
        "api.worklist(opened)\nprint([m for m in ('sqlalchemy', 'alembic') if m in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(garden)], capture_output=True, text=True, check=True
    )

    assert done.stdout.strip() == "[]"


# ---------------------------------------------------------------- pages


@pytest.fixture
def pages(place: str) -> Iterator[TestClient]:
    with TestClient(create_app(place, today=lambda: TODAY), base_url="http://127.0.0.1") as client:
        yield client


def test_the_pages_are_those_of_the_file(pages: TestClient, garden: Path):
    with TestClient(create_app(garden, today=lambda: TODAY), base_url="http://127.0.0.1") as beside:
        for page in ("/week.json?days=60", "/trees.json", "/tree/one.json", "/shelf.json"):
            assert pages.get(page).json() == beside.get(page).json()
    for page in ("/", "/trees", "/tree/one", "/garden", "/shelf", "/reckon/chill"):
        assert pages.get(page).status_code == 200


def test_a_page_shows_what_was_recorded_a_moment_ago(pages: TestClient, place: str):
    pages.get("/shelf.json")
    with api.open_store(place) as store:
        api.record_state(
            store,
            stamp(),
            TODAY,
            subject="tree",
            named="one",
            values={"name": "<b>By the gate</b>"},
        )
    shown = pages.get("/tree/one").text

    assert "&lt;b&gt;By the gate&lt;/b&gt;" in shown
    assert "<b>By the gate</b>" not in shown


def test_a_reason_with_markup_is_only_a_reason(pages: TestClient, place: str):
    with api.open_store(place) as store:
        one = next(one for one in api.worklist(opened(store), days=60).advice if one.kind == "feed")
        api.record_skip(store, stamp(), TODAY, advice=one, reason="<script>alert(1)</script> {day}")
    shown = pages.get("/?days=60").text

    assert "&lt;script&gt;alert(1)&lt;/script&gt; {day}" in shown
    assert "<script>alert(1)" not in shown


def test_a_store_that_goes_away_is_told(garden: Path, tmp_path: Path):
    data = tmp_path / "data"
    bearwell("import", garden, "--data", data, "--today", TODAY)
    app = create_app(str(data), today=lambda: TODAY, read_only=True)
    with TestClient(app, base_url="http://127.0.0.1") as client:
        assert client.get("/").status_code == 200
        for file in data.glob("bearwell.sqlite*"):
            file.write_bytes(b"spoiled" * 1000)
        answer = client.get("/")

    assert "The garden cannot be read" in answer.text
    assert "file is not a database" in answer.text


def test_a_point_that_may_set_thousands_apart_is_asked_about_in_portuguese(place: str):
    words = [
        "record",
        "harvest",
        "one",
        "1.500 kg",
        "--on",
        f"{TODAY}",
        "--data",
        place,
        "--today",
        f"{TODAY}",
    ]
    before = api.open_garden(place, TODAY).garden.tree("one").harvests
    refused = subprocess.run(  # a process of its own: a language, once spoken, stays
        [sys.executable, "-m", "bearwell.faces.cli", "--language", "pt", *words],
        capture_output=True, encoding="utf-8", check=False,
    )  # fmt: skip
    assert refused.returncode == 2
    assert "'1.500' pode ler-se de duas maneiras (escreva 1500 ou 1,5)" in refused.stderr
    assert api.open_garden(place, TODAY).garden.tree("one").harvests == before
    assert bearwell(*words).exit_code == 0

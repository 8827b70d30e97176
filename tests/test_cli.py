"""The command line: the contract's commands, JSON fields, exit codes, and one-line refusals."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from gardens import SHELF, TODAY, tree, write_garden


def bearwell(*arguments: object, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    words = [str(word) for word in arguments]
    return subprocess.run(
        [sys.executable, "-m", "bearwell.faces.cli", *words],
        capture_output=True,
        text=True,
        cwd=cwd,
        encoding="utf-8",
        check=False,
    )


@pytest.fixture
def garden(tmp_path: Path) -> Path:
    trees = (
        tree("navel")
        + tree("apple").replace('"one"', '"two"')
        + tree("calamondin", pot="45 L").replace('"one"', '"pot"')
    )
    return write_garden(tmp_path, trees, head=SHELF)


def test_worklist_json_has_the_fields_of_the_contract(garden: Path):
    done = bearwell("worklist", garden, "--today", TODAY, "--days", 60, "--json")
    data = json.loads(done.stdout)

    assert done.returncode == 0
    assert {"garden", "today", "advice", "problems"} <= set(data)
    assert data["advice"]
    for one in data["advice"]:
        assert {
            "id",
            "tree",
            "kind",
            "window",
            "quantity",
            "display",
            "headline",
            "steps",
            "cautions",
            "minutes",
            "because",
            "details",
        } <= set(one)
        assert one["kind"] in (
            "feed",
            "prune",
            "thin",
            "water",
            "protect",
            "harvest",
            "inspect",
            "measure",
        )
        assert one["window"]["earliest"] <= one["window"]["best"] <= one["window"]["latest"]
        assert one["because"]
        if one["quantity"]:
            assert {"value", "unit", "low", "high"} == set(one["quantity"])
        for link in one["because"]:
            assert {"statement", "value", "unit", "source", "locator", "confidence"} <= set(link)
            assert "{" not in link["statement"]
    assert len({one["id"] for one in data["advice"]}) == len(data["advice"])


def test_year_json_has_the_fields_of_the_contract(garden: Path):
    data = json.loads(bearwell("year", garden, "--today", TODAY, "--json").stdout)

    assert [year["tree"] for year in data] == ["one", "two", "pot"]
    for year in data:
        assert year["habit"] in ("evergreen", "deciduous", "ever-bearing")
        for event in year["events"]:
            assert event["low"] <= event["date"] <= event["high"]
            assert event["basis"]


def test_reckon_json_has_the_fields_of_the_contract():
    data = json.loads(
        bearwell("reckon", "canopy", "--height", "3 m", "--spread", 3, "--json").stdout
    )

    assert {"reckoner", "inputs", "results", "because", "cautions"} == set(data)
    assert data["results"]["volume_m3"] == pytest.approx(14.137, abs=0.001)


def test_one_tree_only(garden: Path):
    data = json.loads(
        bearwell(
            "worklist", garden, "--today", TODAY, "--tree", "two", "--days", 366, "--json"
        ).stdout
    )

    assert {one["tree"] for one in data["advice"]} == {"two"}


@pytest.mark.parametrize("command", ["worklist", "year", "check"])
def test_tables_fit_eighty_columns(command: str, garden: Path):
    done = bearwell(command, garden, "--today", TODAY)

    assert done.returncode == 0
    assert done.stdout.strip()
    if command != "check":
        assert max(len(line) for line in done.stdout.splitlines()) <= 80


def test_us_units_are_only_how_numbers_are_shown(tmp_path: Path):
    (tmp_path / "metric").mkdir()
    (tmp_path / "us").mkdir()
    one = write_garden(tmp_path / "metric", tree("navel"), head=SHELF)
    two = write_garden(tmp_path / "us", tree("navel"), head=SHELF, units="us")
    first, second = (
        json.loads(bearwell("worklist", path, "--today", TODAY, "--days", 90, "--json").stdout)[
            "advice"
        ]
        for path in (one, two)
    )

    assert [row["quantity"] for row in first] == [row["quantity"] for row in second]
    shown = " ".join(
        row["display"] + " ".join(row["steps"]) for row in second if row["kind"] != "inspect"
    )
    assert " oz" in shown or " lb" in shown
    assert " kg" not in shown and " cm" not in shown and " m²" not in shown


@pytest.mark.parametrize(
    ("arguments", "code", "message"),
    [
        (["worklist", "nowhere.toml"], 2, "no such file"),
        (["worklist"], 2, "GARDEN"),
        (["wroklist"], 2, "wroklist"),
        (["year", "nowhere.toml", "--json"], 2, "no such file"),
        (["reckon", "canopy", "--height", "3"], 2, "needs --spread"),
        (["reckon", "canpy"], 2, "canopy"),
        (["reckon", "dose", "--label"], 2, "no value"),
        (["check", "nowhere.toml", "--today", "yesterday"], 2, "not a date"),
    ],
)
def test_refusals_are_one_line_on_stderr_with_code_two(
    arguments: list[str], code: int, message: str
):
    done = bearwell(*arguments)

    assert done.returncode == code
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
    assert message in done.stderr
    assert "Traceback" not in done.stderr


def test_an_unknown_tree_is_refused_with_the_ids(garden: Path):
    done = bearwell("worklist", garden, "--tree", "three", "--today", TODAY)

    assert done.returncode == 2
    assert "one, two, pot" in done.stderr


def test_check_lists_every_problem_with_its_line_and_exits_two(tmp_path: Path):
    path = write_garden(tmp_path, tree("naval").replace('"2.8 m"\n', "3\n"))
    done = bearwell("check", path, "--today", TODAY)

    assert done.returncode == 2
    errors = [line for line in done.stdout.splitlines() if ": error: " in line]
    assert len(errors) == 2
    assert all(line.startswith(f"{path}:") for line in errors)
    assert "navel" in done.stdout


def test_a_second_weather_file_reaches_further(garden: Path, tmp_path: Path):
    later = tmp_path / "later.csv"
    later.write_text("date,tmin,tmax,rain\n2026-11-26,-6.0,5.0,0\n2026-11-27,-6.5,4.0,0\n")
    done = bearwell(
        "worklist", garden, "--today", TODAY, "--weather", later, "--tree", "one", "--json"
    )
    kinds = [one["kind"] for one in json.loads(done.stdout)["advice"]]

    assert "protect" in kinds


def test_help_names_every_command():
    done = bearwell("--help")

    assert done.returncode == 0
    for command in ("worklist", "year", "reckon", "check", "serve"):
        assert command in done.stdout


def test_help_loads_nothing_heavy():
    """What a fresh `--help` may import is held here, so that it stays quick."""
    code = (
        "import sys\nfrom bearwell.faces.cli import cli\ntry:\n    cli.main(['--help'])\nexcept SystemExit:\n    pass\n"
        "print([m for m in ('numpy', 'pydantic', 'rich', 'fastapi', 'bearwell.knowledge') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stdout.strip().splitlines()[-1] == "[]"


def test_the_demo_is_written_and_listed(tmp_path: Path):
    written = bearwell("demo", tmp_path / "demo", "--today", TODAY)
    listed = bearwell("worklist", written.stdout.strip(), "--today", TODAY)

    assert written.returncode == listed.returncode == 0
    assert "Tern Steps" in listed.stdout


def test_check_reads_further_weather(garden: Path, tmp_path: Path):
    later = tmp_path / "later.csv"
    later.write_text("date,tmin,tmax,rain\n2026-11-26,9.0,5.0,0\n")
    done = bearwell("check", garden, "--today", TODAY, "--weather", later)

    assert "later.csv" in done.stdout


def test_a_path_with_brackets_is_printed_as_it_is(tmp_path: Path):
    folder = tmp_path / "plot [red] x"
    folder.mkdir()
    path = write_garden(folder, tree("navel"))
    checked = bearwell("check", path, "--today", TODAY)
    listed = bearwell("worklist", path, "--today", TODAY)

    assert checked.returncode == listed.returncode == 0
    assert "plot [red] x" in checked.stdout
    assert "[red]" in listed.stdout or "bearwell check" not in listed.stdout


def test_a_problem_of_the_weather_names_its_file(tmp_path: Path):
    path = write_garden(tmp_path, tree("navel"))
    rows = (tmp_path / "weather.csv").read_text().splitlines()
    (tmp_path / "weather.csv").write_text("\n".join(rows[:-9]) + "\n")
    done = bearwell("worklist", path, "--today", TODAY)

    assert "To put right" in done.stdout
    assert "weather.csv: the weather ends on" in done.stdout


def test_today_is_the_date_at_the_site(tmp_path: Path):
    """Of two zones 26 hours apart, one has a date that the other has not."""
    path = write_garden(tmp_path, tree("navel"), place=None)
    text = path.read_text()
    days = []
    for zone in ("Pacific/Kiritimati", "Etc/GMT+12"):
        path.write_text(text.replace('timezone = "UTC"', f'timezone = "{zone}"'))
        days.append(json.loads(bearwell("worklist", path, "--json").stdout)["today"])

    assert days[0] > days[1]


def test_a_garden_without_work_says_so_plainly(tmp_path: Path):
    done = bearwell("worklist", write_garden(tmp_path, "", place=None), "--today", TODAY)

    assert "Nothing to do" in done.stdout
    assert "0 min" not in done.stdout
    assert "memory or judgement" not in done.stdout


def test_the_link_to_json_keeps_the_tree(garden: Path):
    from fastapi.testclient import TestClient

    from bearwell.faces.web import create_app

    client = TestClient(create_app(garden, today=lambda: TODAY), base_url="http://127.0.0.1")
    shown = client.get("/?days=30&tree=two").text

    assert 'href="/week.json?days=30&amp;tree=two"' in shown
    assert 'href="/?days=30&amp;by=tree&amp;tree=two"' in shown
    assert {one["tree"] for one in client.get("/week.json?days=30&tree=two").json()["advice"]} == {
        "two"
    }


def test_a_folder_for_a_garden_is_refused_in_one_line(tmp_path: Path):
    done = bearwell("worklist", tmp_path)

    assert done.returncode == 2
    assert "is a folder" in done.stderr
    assert done.stderr.count("\n") == 1

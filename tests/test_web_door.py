"""The door of the pages: what opens without the passphrase, signing in and out, calendars with a key."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from urllib.parse import quote

import pytest
from fastapi.routing import APIRoute
from starlette.responses import PlainTextResponse
from starlette.testclient import TestClient

from bearwell.faces import door
from bearwell.faces.web import create_app
from bearwell.faces.web.door import Door
from bearwell.faces.web.limits import FREE_TRIES
from web_garden import TODAY, write_garden

PASSPHRASE = "terns nest on the ledge"
HERE = "http://127.0.0.1:8321"
HTML = {"accept": "text/html"}


def client_of(folder: Path, base: str = HERE, **options: object) -> TestClient:
    """A browser that has not signed in, before the pages of the garden in a folder."""
    path = folder / "garden.toml"
    if not path.exists():
        write_garden(folder)
    app = create_app(path, today=lambda: TODAY, **options)  # type: ignore[arg-type]
    if not any(getattr(one, "path", "") == "/calendar.ics" for one in app.routes):
        app.add_route("/calendar.ics", lambda _: PlainTextResponse("BEGIN:VCALENDAR"))
    return TestClient(app, base_url=base, follow_redirects=False, headers=HTML)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A garden behind a passphrase."""
    made = tmp_path_factory.mktemp("garden")
    door.set_passphrase(made, PASSPHRASE)
    return made


def sign_in(client: TestClient, text: str = PASSPHRASE, onward: str = "/") -> object:
    return client.post("/sign-in", data={"passphrase": text, "next": onward})


# ---------------------------------------------------------------- shut


def test_without_a_passphrase_the_pages_of_this_machine_are_open(tmp_path: Path) -> None:
    client = client_of(tmp_path)
    assert client.get("/").status_code == 200
    assert "Sign out" not in client.get("/").text
    assert client.get("/sign-in").headers["location"] == "/"
    assert client.get("/calendar.ics").status_code == 200


# The page that asks; and what a browser fetches without its cookies, which names no garden.
OPEN_TO_ALL = ("/sign-in", "/manifest.webmanifest", "/keeper.js", "/sayings/{language}.js")


def test_every_route_is_shut_to_who_has_not_signed_in(folder: Path) -> None:
    client = client_of(folder)
    routes, tried = client.app.routes, set()  # type: ignore[attr-defined]
    for route in routes:
        client = client_of(folder)  # a new one each: how often one may write is limited
        if not isinstance(route, APIRoute) or route.path in OPEN_TO_ALL:
            continue
        path = route.path.replace("{tree}", "peach.wall").replace("{key}", "lemon")
        for method in ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"):
            answer = client.request(method, path.replace("{name}", "chill"))
            if path.endswith(".json") or method not in ("GET", "HEAD"):
                assert answer.status_code == 401, (method, path)
            else:
                assert answer.status_code == 303, (method, path)
                assert answer.headers["location"].startswith("/sign-in?next=")
            assert "Steps" not in answer.text
            tried.add(path)
    assert len(tried) > 15
    assert client.get("/nowhere").status_code == 303, "what is not there is told to nobody"


def test_the_page_that_asks_tells_nothing_of_the_garden(folder: Path) -> None:
    answer = client_of(folder).get("/sign-in?next=/trees")
    assert answer.status_code == 200
    assert 'value="/trees"' in answer.text
    assert "Steps" not in answer.text
    assert "<nav" not in answer.text
    assert "/shelf" not in answer.text
    assert answer.headers["cache-control"] == "private, no-store"
    assert client_of(folder).get("/static/bearwell.css").status_code == 200


def test_programs_are_told_in_json(folder: Path) -> None:
    for address, asked in (("/week.json", {}), ("/", {"accept": "application/json"})):
        answer = client_of(folder).get(address, headers=asked)
        assert answer.status_code == 401
        assert answer.json()["problems"][0]["message"] == "Sign in first"
        assert "www-authenticate" in answer.headers


# ---------------------------------------------------------------- signing in


def test_the_passphrase_opens_and_the_page_asked_for_follows(folder: Path) -> None:
    client = client_of(folder)
    asked = client.get("/tree/peach.wall?x=1&y=2").headers["location"]
    assert asked == "/sign-in?next=" + quote("/tree/peach.wall?x=1&y=2", safe="")
    answer = sign_in(client, onward="/tree/peach.wall?x=1&y=2")
    assert answer.status_code == 303
    assert answer.headers["location"] == "/tree/peach.wall?x=1&y=2"
    page = client.get("/tree/peach.wall")
    assert page.status_code == 200
    assert 'href="/sign-out"' in page.text
    assert page.headers["cache-control"] == "private, no-store"
    assert client.get("/week.json").status_code == 200
    assert client.get("/sign-in").status_code == 303


def test_the_cookie_is_kept_from_scripts_and_from_other_sites(folder: Path) -> None:
    plain = sign_in(client_of(folder)).headers["set-cookie"].lower()
    for part in ("httponly", "samesite=lax", "path=/", "max-age=2592000"):
        assert part in plain
    assert plain.startswith("bearwell-session=")
    assert "secure" not in plain
    client = client_of(folder, "https://localhost")
    secret = sign_in(client).headers["set-cookie"].lower()
    assert secret.startswith("__host-bearwell-session=")
    assert "; secure" in secret
    assert client.get("/").status_code == 200


@pytest.mark.parametrize(
    "text", ["", "terns", PASSPHRASE.upper(), PASSPHRASE + "\n.", "x" * 2000, "\x00"]
)
def test_anything_else_does_not_open(folder: Path, text: str) -> None:
    client = client_of(folder)
    answer = sign_in(client, text)
    assert answer.status_code == 403
    assert "set-cookie" not in answer.headers
    assert 'role="alert"' in answer.text
    if text:
        assert text not in answer.text
    assert client.get("/").status_code == 303


@pytest.mark.parametrize("value", ["", "x", "a" * 43, "'; DROP", "\x7f", "é"])
def test_a_made_up_cookie_does_not_open(folder: Path, value: str) -> None:
    client = client_of(folder)
    cookie = f"bearwell-session={value}".encode("latin-1")
    assert client.get("/", headers={**HTML, "cookie": cookie}).status_code == 303  # type: ignore[dict-item]


def test_a_strange_cookie_of_another_program_hides_ours_not(folder: Path) -> None:
    client = client_of(folder)
    name = sign_in(client).cookies["bearwell-session"]
    cookie = f'other={{"a": [1, 2]}}; bearwell-session={name}; last'
    client.cookies.clear()
    assert client.get("/", headers={"cookie": cookie}).status_code == 200


@pytest.mark.parametrize(
    "onward",
    ["//evil.example/", "https://evil.example/", "/\\evil.example", "evil", "/a\r\nset-cookie: x=1", "", "javascript:x"],
)  # fmt: skip
def test_signing_in_leads_nowhere_else(folder: Path, onward: str) -> None:
    client = client_of(folder)
    assert sign_in(client, onward=onward).headers["location"] == "/"
    shown = client_of(folder).get("/sign-in", params={"next": onward})
    assert 'name="next" value="/"' in shown.text


def test_who_tries_too_often_waits(folder: Path) -> None:
    client = client_of(folder)
    for _ in range(FREE_TRIES):
        assert sign_in(client, "wrong words here").status_code == 403
    answer = sign_in(client)
    assert answer.status_code == 429, "the right one waits too"
    assert 1 <= int(answer.headers["retry-after"]) <= 2
    assert "Too many tries. Try again in" in answer.text
    assert client.get("/").status_code == 303


# ---------------------------------------------------------------- ending


def test_signing_out_ends_the_session_for_good(folder: Path) -> None:
    client = client_of(folder)
    name = sign_in(client).cookies["bearwell-session"]
    assert client.get("/sign-out").status_code == 200
    answer = client.post("/sign-out")
    assert answer.headers["location"] == "/sign-in"
    assert 'bearwell-session=""' in answer.headers["set-cookie"]
    assert answer.headers["clear-site-data"] == '"cache"'
    client.cookies.clear()
    assert client.get("/", headers={"cookie": f"bearwell-session={name}"}).status_code == 303


def test_signing_out_everywhere_ends_every_session(folder: Path) -> None:
    one = client_of(folder)
    sign_in(one)
    other = TestClient(one.app, base_url=HERE, follow_redirects=False, headers=HTML)
    sign_in(other)
    assert other.get("/").status_code == 200
    one.post("/sign-out", data={"everywhere": "yes"})
    assert one.get("/").status_code == other.get("/").status_code == 303


def test_a_new_passphrase_ends_every_session_while_serving(tmp_path: Path) -> None:
    door.set_passphrase(tmp_path, PASSPHRASE)
    client = client_of(tmp_path)
    sign_in(client)
    assert client.get("/").status_code == 200
    door.set_passphrase(tmp_path, "another one by far")
    assert client.get("/").status_code == 303
    assert sign_in(client).status_code == 403
    assert sign_in(client, "another one by far").status_code == 303
    assert client.get("/").status_code == 200


def test_a_session_outlives_a_restart(tmp_path: Path) -> None:
    door.set_passphrase(tmp_path, PASSPHRASE)
    name = sign_in(client_of(tmp_path)).cookies["bearwell-session"]
    again = client_of(tmp_path)
    assert again.get("/", headers={"cookie": f"bearwell-session={name}"}).status_code == 200


def test_where_the_door_is_needed_a_lost_file_opens_nothing(tmp_path: Path) -> None:
    client = client_of(tmp_path, door=Door(tmp_path, needed=True))
    assert client.get("/").status_code == 303
    assert sign_in(client, "").status_code == 403
    door.set_passphrase(tmp_path, PASSPHRASE)
    sign_in(client)
    assert client.get("/").status_code == 200
    (tmp_path / door.FILE).unlink()
    assert client.get("/").status_code == 303
    assert sign_in(client).status_code == 403


def test_a_spoiled_file_shuts_the_door_and_says_why_to_who_serves_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    door.set_passphrase(tmp_path, PASSPHRASE)
    client = client_of(tmp_path)
    sign_in(client)
    (tmp_path / door.FILE).write_text("{", "utf-8")
    answer = client.get("/")
    assert answer.status_code == 503
    assert "cannot be read" in answer.text
    assert client.get("/week.json").json()["problems"][0]["hint"]
    assert str(tmp_path) not in answer.text
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert f"{tmp_path / door.FILE} cannot be read" in said


# ---------------------------------------------------------------- calendars


def test_a_key_opens_the_calendar_and_nothing_else(tmp_path: Path) -> None:
    door.set_passphrase(tmp_path, PASSPHRASE)
    client = client_of(tmp_path)
    key = door.make_key(tmp_path, "phone", date(2026, 3, 1))
    asked = {"accept": "*/*"}
    assert client.get(f"/calendar.ics?key={key}", headers=asked).status_code == 200
    assert client.head(f"/calendar.ics?key={key}", headers=asked).status_code == 200
    for address in (
        "/calendar.ics", "/calendar.ics?key=", "/calendar.ics?key=x", f"/calendar.ics?key={key}&key={key}",
        f"/calendar.ics?key={key[:-1]}", f"/calendar.ics?key={key}" + "&a=1" * 50, f"/week.json?key={key}", f"/calendar.ics/?key={key}", f"/?key={key}",
    ):  # fmt: skip
        assert client.get(address, headers=asked).status_code == 401, address
    assert client.post(f"/calendar.ics?key={key}", headers=asked).status_code == 401
    assert "set-cookie" not in client.get(f"/calendar.ics?key={key}", headers=asked).headers
    door.end_key(tmp_path, "phone")
    assert client.get(f"/calendar.ics?key={key}", headers=asked).status_code == 401


# ---------------------------------------------------------------- read only


def test_read_only_one_signs_in_without_a_trace_on_disk(tmp_path: Path) -> None:
    door.set_passphrase(tmp_path, PASSPHRASE)
    client = client_of(tmp_path, read_only=True)
    before = {one.name: one.stat().st_mtime_ns for one in tmp_path.iterdir()}
    sign_in(client)
    assert client.get("/").status_code == 200
    client.post("/sign-out")
    assert client.get("/").status_code == 303
    assert {one.name: one.stat().st_mtime_ns for one in tmp_path.iterdir()} == before

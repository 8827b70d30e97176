"""Photos of a tree: sent as a phone sends them, shown only from the store, taken away by undo."""

from __future__ import annotations

import io
import re
from pathlib import Path
from uuid import uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from starlette.testclient import TestClient

from bearwell import api
from bearwell.errors import BadInput
from bearwell.faces import door
from bearwell.faces.web import create_app
from bearwell.faces.web.multipart import read_upload
from browsing import expect, fits, noted
from gardens import TODAY
from test_web_outdoors import address, context
from web_store import HOME, JSON, client, folder

__all__ = ["context", "folder", "client", "address"]  # fixtures
GPS_TAG, MAKE_TAG = 0x8825, 0x010F  # Exif 2.32, tags of the place and of the maker of the camera


def photo(width: int = 900, height: int = 600) -> bytes:
    """A photo that says where and with what it was taken."""
    image = Image.effect_noise((width, height), 40).convert("RGB")
    exif = Image.Exif()
    exif[MAKE_TAG] = "Spyglass"
    exif.get_ifd(GPS_TAG)[1] = "N"
    out = io.BytesIO()
    image.save(out, "JPEG", exif=exif)
    return out.getvalue()


def send(client: TestClient, content: bytes, **more: str):  # type: ignore[no-untyped-def]
    fields = {
        "id": str(uuid4()),
        "day": "2026-11-20",
        "note": "",
        "back": "/tree/one/record",
    } | more
    headers = JSON if fields.pop("json", "") else {}
    return client.post("/tree/one/photos", data=fields, headers=headers,
                       files={"photo": ("leaf.jpg", content, "image/jpeg")})  # fmt: skip


def addresses(page: str) -> list[str]:
    return re.findall(r'<img src="(/photo/[0-9a-f]{64}/small)"', page)


def test_a_photo_is_shown_with_its_day_and_note_and_carries_no_place(client: TestClient) -> None:
    page = send(client, photo(), note="curled <i>leaves</i>").text

    assert 'id="told"' in page
    (small,) = addresses(page)
    tree = client.get("/tree/one").text
    for shown in (page, tree):
        assert addresses(shown) == [small]
        assert "20 November" in shown
        assert "curled &lt;i&gt;leaves" in shown
        assert "<i>leaves" not in shown
    for place, longest in ((small, 320), (small.removesuffix("/small"), 900)):
        answer = client.get(place)
        assert answer.headers["content-type"] == "image/jpeg"
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert "default-src 'none'" in answer.headers["content-security-policy"]
        assert b"Spyglass" not in answer.content
        with Image.open(io.BytesIO(answer.content)) as image:
            assert max(image.size) == longest
            assert dict(image.getexif()) == {}


def test_taken_away_it_is_shown_no_more(client: TestClient) -> None:
    page = send(client, photo()).text
    (small,) = addresses(page)
    assert client.get(small).status_code == 200
    record = re.findall(r'name="record" value="([^"]+)"', page)[0]
    after = client.post("/undo", data={"record": record, "back": "/tree/one"}).text

    assert addresses(after) == []
    assert client.get(small).status_code == 404
    assert client.get(small.removesuffix("/small")).status_code == 404


def test_nothing_but_photos_is_reached(client: TestClient, folder: Path) -> None:
    others = [one.name for one in (folder / "files").rglob("*") if one.is_file()]
    assert others, "the weather is kept there"
    for name in (*others, "0" * 64, "%2e%2e%2fdoor.json"):
        assert client.get(f"/photo/{name}").status_code == 404
        assert client.get(f"/photo/{name}/small").status_code == 404


@pytest.mark.parametrize(
    ("content", "status", "wrong"),
    [
        (b"", 422, "the picture is empty"),
        (b"\xff\xd8\xff" + bytes(30_000_000), 413, "25 MB at most"),
        (b"<svg onload=alert(1)>", 422, "not a picture"),
        (b"\xff\xd8\xff\xe0" + b"x" * 100, 422, "picture"),
    ],
    ids=["0 bytes", "30 MB", "markup", "spoiled"],
)
def test_what_is_no_photo_is_refused_in_words_and_nothing_is_kept(
    content: bytes, status: int, wrong: str, client: TestClient, folder: Path
) -> None:
    with api.open_store(folder) as store:
        before = store.mark()
    answer = send(client, content, json="yes")
    page = send(client, content, kind="photo", note="what I saw")

    assert (answer.status_code, page.status_code) == (status, status)
    assert wrong in str(answer.json())
    if status == 422:
        assert wrong in page.text.lower()
        assert 'value="what I saw"' in page.text
    with api.open_store(folder) as store:
        assert store.mark() == before


def test_sent_twice_it_is_one_photo(client: TestClient) -> None:
    mine = str(uuid4())
    for _ in range(2):
        page = send(client, photo(), id=mine).text
    assert len(addresses(page)) == 1


def test_behind_a_passphrase_no_photo_is_shown_and_read_only_none_is_taken(folder: Path) -> None:
    client = TestClient(create_app(folder, today=lambda: TODAY), base_url=HOME)
    (small,) = addresses(send(client, photo()).text)
    reader = TestClient(create_app(folder, today=lambda: TODAY, read_only=True), base_url=HOME)
    assert send(reader, photo()).status_code == 403
    assert reader.get(small).status_code == 200
    door.set_passphrase(folder, "terns nest on the ledge")
    shut = TestClient(create_app(folder, today=lambda: TODAY), base_url=HOME)
    assert shut.get(small).status_code == 401
    assert send(shut, photo()).status_code == 401


@given(st.binary(max_size=300), st.text(st.characters(exclude_categories=["C"]), max_size=30))
def test_a_form_with_a_file_is_read_back(content: bytes, note: str) -> None:
    """Against the encoder of a general-purpose client library, urllib3, as it writes RFC 7578."""
    filepost = pytest.importorskip("urllib3.filepost")
    body, kind = filepost.encode_multipart_formdata(
        {"note": note, "photo": ("a b.jpg", content, "image/jpeg")}, boundary="x7Yz-mark"
    )
    if b"\r\n--x7Yz-mark" in content:
        return
    found = read_upload(kind, body)
    assert found.fields == {"note": [note]}
    assert found.files == {"photo": ("a b.jpg", content)}


@given(st.binary(max_size=200))
def test_any_body_is_a_form_or_is_refused(body: bytes) -> None:
    for kind in ("multipart/form-data; boundary=a", "multipart/form-data", "text/plain", ""):
        try:
            read_upload(kind, body)
        except BadInput:
            continue


@pytest.mark.browser
def test_a_photo_from_a_phone(context, address: str, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    for name, content in (
        ("none.jpg", b""), ("huge.jpg", b"\xff\xd8\xff" + bytes(30_000_000)), ("leaf.jpg", photo()),
    ):  # fmt: skip
        (tmp_path / name).write_bytes(content)
    page = context.new_page()
    page.goto(address + "/tree/one/record?kind=photo")
    form = page.locator('form.record:has(input[type="file"])')
    for name, told in (("none.jpg", "is empty"), ("huge.jpg", "30 MB")):
        form.locator('input[type="file"]').set_input_files(tmp_path / name)
        form.locator('button[type="submit"]').click()
        form.locator(".complaint", has_text=told).wait_for()
    form.locator('input[type="file"]').set_input_files(tmp_path / "leaf.jpg")
    form.get_by_label("Note").fill("first leaves")
    form.locator('button[type="submit"]').click()
    noted(page)
    picture = page.locator(".photos img")
    picture.scroll_into_view_if_needed()
    expect(picture).to_have_js_property("naturalWidth", 320)
    fits(page)

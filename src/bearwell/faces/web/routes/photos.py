"""Photos of a tree: taken in without place or camera, shown only from the store."""

from __future__ import annotations

from functools import lru_cache, partial
from typing import TYPE_CHECKING, Annotated

from fastapi import Body, FastAPI, Request
from starlette.exceptions import HTTPException
from starlette.responses import Response

from bearwell import api
from bearwell.errors import BearwellError
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.multipart import read_upload
from bearwell.faces.web.pages import record as record_page
from bearwell.faces.web.pages.typed import Form
from bearwell.faces.web.routes.common import READ
from bearwell.faces.web.routes.record import answered
from bearwell.said import said

if TYPE_CHECKING:
    from datetime import datetime

    from bearwell.api import LoadedGarden, Photo, Store

UPLOADS = ("/photos",)  # endings of the addresses that take a whole picture
FORM = "multipart/form-data"
SMALL = 320  # pixels of the longer side in a list: sharp on a phone
SHOWN = ("image/jpeg", "image/png", "image/webp")
Sent = Annotated[bytes, Body(media_type=FORM)]


def photo_routes(app: FastAPI, keeper: Keeper) -> None:
    """Add the taking in and the showing of photos."""

    @app.post("/tree/{tree}/photos")
    def keep(request: Request, tree: str, body: Sent = b"") -> Response:
        upload = read_upload(request.headers.get("content-type", ""), body)
        name, content = upload.files.get("photo", ("", b""))
        return answered(request, keeper, upload.fields, partial(_keep, tree, name, content))

    @app.api_route("/photo/{fingerprint}", methods=READ)
    def photo(fingerprint: str) -> Response:
        store, found = _find(keeper, fingerprint)
        content = _content(store, found)
        if found.media in SHOWN:
            return _as_picture(content, found.media)
        return Response(content, media_type="application/octet-stream",
                        headers={"Content-Disposition": "attachment"})  # fmt: skip

    @lru_cache(maxsize=200)
    def small_of(fingerprint: str) -> bytes:
        return api.small(_content(*_find(keeper, fingerprint)), SMALL)

    @app.api_route("/photo/{fingerprint}/small", methods=READ)
    def small(fingerprint: str) -> Response:
        _find(
            keeper, fingerprint
        )  # one that was taken away is shown no more, though it was made small before
        return _as_picture(small_of(fingerprint), "image/jpeg")


def _keep(
    tree: str, name: str, content: bytes, store: Store, opened: LoadedGarden, form: Form,
    at: datetime,
) -> list[record_page.Kept]:  # fmt: skip
    stamp = record_page.stamp_of(form, at)
    if store.knows(stamp.id):
        return [record_page.Kept(stamp.id, repeated=True)]
    picture = api.take_in(content)
    made = record_page.recorded_on(form, at, opened.today)
    done = api.record_photo(
        store, stamp, opened.today, subject="tree", named=tree,
        day=record_page.day_of(form, "day", made), name=name or "photo.jpg", content=picture.jpeg,
        note=record_page.one(form, "note"),
    )  # fmt: skip
    return [record_page.Kept(done.id, done.repeated, done.problems)]


def _find(keeper: Keeper, fingerprint: str) -> tuple[Store, Photo]:
    """A photo that is kept and was not undone; nothing else of the store is reached this way."""
    if keeper.store is not None:
        for one in api.photos(keeper.store):
            if one.sha256 == fingerprint:
                return keeper.store, one
    raise HTTPException(404, said("There is no such photo"))


def _content(store: Store, photo: Photo) -> bytes:
    try:
        return api.photo_content(store, photo)
    except BearwellError as error:
        raise HTTPException(404, error.message) from None


def _as_picture(content: bytes, media: str) -> Response:
    """A picture and nothing else, whatever is in it: no page, no script, no frame."""
    return Response(content, media_type=media, headers={
        "Cache-Control": "private, max-age=31536000, immutable",
        "Content-Disposition": "inline",
    })  # fmt: skip

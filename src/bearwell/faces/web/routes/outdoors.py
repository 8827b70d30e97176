"""Without signal: what is kept on a device, what keeps it, and what makes the page installable."""

from __future__ import annotations

from functools import cache
from hashlib import sha256

from fastapi import FastAPI, Request
from starlette.responses import Response

from bearwell import __version__
from bearwell.faces.language import LANGUAGES, _, speaking
from bearwell.faces.twins import words_of, written
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.pages import outdoors as outdoors_page
from bearwell.faces.web.render import page, static_url, twin
from bearwell.faces.web.routes.common import READ
from bearwell.faces.web.sayings import STATIC, sayings_script
from bearwell.faces.web.tongue import of_pages

PAPER = "#f8f4ea"
KEEP = "public, max-age=31536000, immutable"


def outdoor_routes(app: FastAPI, keeper: Keeper) -> None:
    """Add what is kept for when there is no signal."""

    @app.api_route("/outdoors.json", methods=READ)
    def outdoors_json(request: Request) -> Response:
        opened = keeper.garden()
        language = of_pages(request.headers)
        with speaking(language):
            pages = outdoors_page.to_keep(opened.garden.trees, recording=keeper.may_record)
        return twin(outdoors_page.outdoors_twin(pages, _mark(keeper, language), language))

    @app.api_route("/sayings/{language}.js", methods=READ)
    def sayings(language: str) -> Response:
        known = language in LANGUAGES
        text = sayings_script(language) if known else "// no such language\n"
        return Response(
            text, 200 if known else 404, {"Cache-Control": KEEP}, media_type="text/javascript"
        )

    @app.api_route("/outdoors", methods=READ)
    def outdoors() -> Response:
        opened = keeper.garden()
        pages = outdoors_page.to_keep(opened.garden.trees, recording=keeper.may_record)
        return page(
            "outdoors.html", words_of(opened), here="", garden=opened.garden.about.name, book=opened.book,
            twin="/outdoors.json", pages=pages, recording=keeper.may_record,
        )  # fmt: skip

    @app.api_route("/keeper.js", methods=READ)
    def keeper_script() -> Response:
        return Response(_keeper_script(), media_type="text/javascript")

    @app.api_route("/manifest.webmanifest", methods=READ)
    def manifest(request: Request) -> Response:
        language = of_pages(request.headers)
        with speaking(language):
            told = _manifest(language)
        return Response(told, media_type="application/manifest+json")


@cache
def _keeper_script() -> bytes:
    return (STATIC / "keeper.js").read_bytes()


@cache
def _manifest(language: str) -> str:
    """What makes the page installable, in the language spoken; open to all, so it names no garden."""

    def icon(name: str, size: str, kind: str, purpose: str = "any") -> dict[str, str]:
        return {"src": static_url(name), "sizes": size, "type": kind, "purpose": purpose}

    return written(
        {
            "id": "/",
            "name": "bearwell",
            "short_name": "bearwell",
            "description": _("What to do for each fruit tree, each week, and why."),
            "lang": language,
            "start_url": "/",
            "scope": "/",
            "display": "standalone",
            "background_color": PAPER,
            "theme_color": PAPER,
            "icons": [
                icon("mark-192.png", "192x192", "image/png"),
                icon("mark-512.png", "512x512", "image/png"),
                icon("mark-512-safe.png", "512x512", "image/png", "maskable"),
                icon("mark.svg", "any", "image/svg+xml"),
            ],
        }
    )


def _mark(keeper: Keeper, language: str) -> str:
    """Another one whenever a kept page may say something else: another day, record, version or language."""
    told = (keeper.state(), __version__, outdoors_page.files(language))
    return sha256(repr(told).encode()).hexdigest()[:16]

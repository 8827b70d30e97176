"""The web application, put together from its routes."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Collection, Sequence
from contextlib import asynccontextmanager
from datetime import date
from pathlib import Path

from fastapi import FastAPI
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from bearwell.api import is_store, open_store
from bearwell.faces.door import folder_of
from bearwell.faces.web.door import Door, Doorkeeper
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.routes.begin import begin_routes
from bearwell.faces.web.routes.cold import cold_routes
from bearwell.faces.web.routes.crop import crop_routes
from bearwell.faces.web.routes.description import description_routes
from bearwell.faces.web.routes.door import door_routes
from bearwell.faces.web.routes.feeding import feeding_routes
from bearwell.faces.web.routes.garden import garden_routes
from bearwell.faces.web.routes.knowledge import knowledge_routes
from bearwell.faces.web.routes.leaf import leaf_routes
from bearwell.faces.web.routes.map import map_routes
from bearwell.faces.web.routes.outdoors import KEEP, outdoor_routes
from bearwell.faces.web.routes.paper import paper_routes
from bearwell.faces.web.routes.photos import UPLOADS, photo_routes
from bearwell.faces.web.routes.pruning import pruning_routes
from bearwell.faces.web.routes.reckoning import reckoner_routes
from bearwell.faces.web.routes.record import recording_routes
from bearwell.faces.web.routes.refusals import refusals
from bearwell.faces.web.routes.season import season_routes
from bearwell.faces.web.routes.water import water_routes
from bearwell.faces.web.routes.weather import weather_routes
from bearwell.faces.web.sayings import STATIC
from bearwell.faces.web.serving import serve
from bearwell.faces.web.shield import LOOPBACK, Shield
from bearwell.faces.web.tongue import Tongue

__all__ = ["create_app", "serve"]


class _Static(StaticFiles):
    """Our own files, kept by browsers because their address changes when they do."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """The file with leave to keep it."""
        response = await super().get_response(path, scope)
        response.headers["Cache-Control"] = KEEP
        return response


def create_app(
    garden: str | Path,
    *,
    weather: Sequence[Path] = (),
    today: Callable[[], date] | None = None,
    read_only: bool = False,
    hosts: Collection[str] = LOOPBACK,
    by_address: bool = False,
    door: Door | None = None,
) -> FastAPI:
    """The application for one garden file, or for the store in a data folder or at a database address.

    ``today`` stands in for the clock at the site. ``hosts`` are the names it answers to; ``by_address``
    lets it answer to any bare address too. ``read_only`` refuses every request that sends something, but for
    signing in and out. ``door`` asks for the passphrase; by default that of the garden's folder, if set.
    """
    # A name given as a text may be an address; a garden file is a path all the same when it is none.
    store = open_store(garden, read_only=read_only) if is_store(garden) else None

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        yield
        if store is not None:
            store.close()

    app = FastAPI(
        title="bearwell", docs_url=None, redoc_url=None, openapi_url=None, lifespan=lifespan
    )
    path = Path(garden) if store is None else store.path
    app.state.place = str(path) if store is None else store.where
    keeper = Keeper(path, [Path(one) for one in weather], today, store, read_only=read_only)
    door = door or Door(folder_of(garden), kept=not read_only)
    app.mount("/static", _Static(directory=STATIC), name="static")
    for add in (
        garden_routes,
        recording_routes,
        cold_routes,
        feeding_routes,
        pruning_routes,
        crop_routes,
        water_routes,
        season_routes,
        paper_routes,
        map_routes,
        knowledge_routes,
        leaf_routes,
        weather_routes,
        outdoor_routes,
        begin_routes,
        photo_routes,
        refusals,
    ):
        add(app, keeper)
    reckoner_routes(app, keeper, read_only=read_only)
    description_routes(app)
    door_routes(app, door)
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=4)
    app.add_middleware(Doorkeeper, door=door)
    app.add_middleware(
        Shield, hosts=hosts, by_address=by_address, read_only=read_only, uploads=UPLOADS
    )
    app.add_middleware(Tongue)
    return app

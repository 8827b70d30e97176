"""The web application, put together from its routes, and how it is served."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Collection, Sequence
from contextlib import asynccontextmanager
from datetime import date
from ipaddress import ip_address
from pathlib import Path
from socket import gethostname

import uvicorn
from fastapi import FastAPI
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from bearwell.api import is_store, open_store
from bearwell.errors import BadInput
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.render import STATIC
from bearwell.faces.web.routes.cold import cold_routes
from bearwell.faces.web.routes.crop import crop_routes
from bearwell.faces.web.routes.feeding import feeding_routes
from bearwell.faces.web.routes.garden import garden_routes
from bearwell.faces.web.routes.knowledge import knowledge_routes
from bearwell.faces.web.routes.leaf import leaf_routes
from bearwell.faces.web.routes.pruning import pruning_routes
from bearwell.faces.web.routes.reckoning import reckoner_routes
from bearwell.faces.web.routes.refusals import refusals
from bearwell.faces.web.routes.water import water_routes
from bearwell.faces.web.routes.weather import weather_routes
from bearwell.faces.web.shield import LOOPBACK, Shield


class _Static(StaticFiles):
    """Our own files, kept by browsers because their address changes when they do."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """The file with leave to keep it."""
        response = await super().get_response(path, scope)
        response.headers["Cache-Control"] = "public, max-age=31536000, immutable"
        return response


def create_app(
    garden: str | Path,
    *,
    weather: Sequence[Path] = (),
    today: Callable[[], date] | None = None,
    read_only: bool = False,
    hosts: Collection[str] = LOOPBACK,
    by_address: bool = False,
) -> FastAPI:
    """The application for one garden file, or for the store in a data folder or at a database address.

    ``today`` stands in for the clock at the site. ``hosts`` are the names it answers to; ``by_address``
    lets it answer to any bare address too. ``read_only`` refuses every request that sends something.
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
    keeper = Keeper(path, [Path(one) for one in weather], today, store)
    app.mount("/static", _Static(directory=STATIC), name="static")
    for add in (
        garden_routes,
        cold_routes,
        feeding_routes,
        pruning_routes,
        crop_routes,
        water_routes,
        knowledge_routes,
        leaf_routes,
        weather_routes,
        refusals,
    ):
        add(app, keeper)
    reckoner_routes(app, keeper, read_only=read_only)
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)
    app.add_middleware(Shield, hosts=hosts, by_address=by_address, read_only=read_only)
    return app


def serve(
    garden: str | Path,
    host: str = "127.0.0.1",
    port: int = 8321,
    weather: Sequence[Path] = (),
    read_only: bool = False,
) -> None:
    """Serve a garden until stopped; prints the address first."""
    if not 0 < port < 65536:
        raise BadInput(
            f"port {port} cannot be served on", "between 1 and 65535; 1024 and up need no rights"
        )
    near = host in ("127.0.0.1", "localhost", "::1")
    names = LOOPBACK if near else (*LOOPBACK, host, gethostname(), f"{gethostname()}.local")
    app = create_app(garden, weather=weather, read_only=read_only, hosts=names, by_address=not near)
    print(
        f"bearwell serves {app.state.place} on http://{_written(host)}:{port}/ (stop with Ctrl+C)",
        flush=True,
    )
    if not near:
        print("Anyone on this network can read it.", flush=True)
    uvicorn.run(app, host=host, port=port, log_level="warning", access_log=False)


def _written(host: str) -> str:
    try:
        return f"[{host}]" if ip_address(host).version == 6 else host
    except ValueError:
        return host

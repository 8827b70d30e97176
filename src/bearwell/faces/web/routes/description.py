"""The description of the JSON for programs."""

from __future__ import annotations

from functools import cache
from typing import Any

from fastapi import FastAPI
from fastapi.routing import APIRoute
from pydantic import TypeAdapter
from starlette.responses import Response

from bearwell.faces.openapi import Address, describe
from bearwell.faces.twins import written
from bearwell.faces.web.routes.common import READ


def description_routes(app: FastAPI) -> None:
    """Add the description, written from the routes when it is first asked for."""

    @cache
    def description() -> str:
        addresses = (
            Address(route.path, tuple(_query(route)))
            for route in app.routes
            if isinstance(route, APIRoute) and "GET" in (route.methods or ())
        )
        return written(describe(addresses))

    @app.api_route("/openapi.json", methods=READ)
    def openapi_json() -> Response:
        return Response(description(), media_type="application/json")


def _query(route: APIRoute) -> list[tuple[str, dict[str, Any], bool]]:
    found = []
    for one in route.dependant.query_params:
        kind: Any = one.field_info.annotation
        schema = TypeAdapter(kind).json_schema()
        if not one.field_info.is_required() and one.field_info.default is not None:
            schema["default"] = one.field_info.default
        found.append((one.alias, schema, one.field_info.is_required()))
    return found

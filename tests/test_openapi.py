"""The description of the JSON: valid OpenAPI, complete both ways, and what the application does."""

from __future__ import annotations

import re
from copy import deepcopy
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from fastapi.routing import APIRoute
from jsonschema import Draft202012Validator
from openapi_spec_validator import OpenAPIV31SpecValidator
from starlette.testclient import TestClient
from typing_extensions import is_typeddict

from bearwell.api import knowledge, leaf_key, reckoners
from bearwell.demo import write_demo
from bearwell.faces.openapi import Address, describe
from bearwell.faces.shapes import MODULES, SHAPES
from bearwell.faces.web import create_app
from bearwell.faces.web.pages.reckoning import example_of
from stores import kept
from web_garden import TODAY, write_garden

HERE = "http://127.0.0.1:8321"
OF_A_STORE = {"/history.json"}  # a garden file keeps no history


def client_of(path: Path) -> TestClient:
    return TestClient(create_app(path, today=lambda: TODAY), base_url=HERE)


@pytest.fixture(scope="module")
def clients(tmp_path_factory: pytest.TempPathFactory) -> list[TestClient]:
    """The demo garden, one with a tree of every habit and work that could not be done, and the demo in a store."""
    demo = write_demo(tmp_path_factory.mktemp("demo"), TODAY)
    folder = tmp_path_factory.mktemp("store")
    kept(str(folder / "data"), demo, TODAY).close()
    small = write_garden(tmp_path_factory.mktemp("small"), "us")
    return [client_of(demo), client_of(small), client_of(folder / "data")]


@pytest.fixture(scope="module")
def told(clients: list[TestClient]) -> dict[str, Any]:
    return clients[0].get("/openapi.json").json()


def strict(told: dict[str, Any]) -> dict[str, Any]:
    """The description with no field allowed that it does not tell."""
    closed = deepcopy(told)
    for schema in closed["components"]["schemas"].values():
        if "properties" in schema:
            schema["additionalProperties"] = False
    return closed


def complaints(told: dict[str, Any], path: str, data: Any) -> list[str]:
    """Where an answer is not what the description says of its address."""
    content = told["paths"][path]["get"]["responses"]["200"]["content"]["application/json"]
    whole = {**content["schema"], "components": told["components"]}
    return [
        f"{path} at {'.'.join(map(str, one.absolute_path)) or 'top'}: {one.message[:200]}; "
        "the shapes are in faces/shapes/"
        for one in Draft202012Validator(whole).iter_errors(data)
    ]


def test_it_is_valid_openapi(told: dict[str, Any]) -> None:
    assert told["openapi"] == "3.1.0"
    assert [error.message for error in OpenAPIV31SpecValidator(told).iter_errors()] == []


def test_every_address_that_answers_json_is_told_and_no_other(
    clients: list[TestClient], told: dict[str, Any]
) -> None:
    routes = {
        route.path
        for route in clients[0].app.routes  # type: ignore[attr-defined]
        if isinstance(route, APIRoute) and "GET" in route.methods
    }
    expected = {path for path in routes if path.endswith(".json")} - {"/reckon/{name}.json"}
    expected |= {f"/reckon/{name}.json" for name in reckoners()}
    assert {path for path in told["paths"] if path.endswith(".json")} == expected
    assert set(SHAPES) <= routes, "a shape for an address that is not there"
    for path, methods in told["paths"].items():
        named = set(re.findall(r"\{(\w+)\}", path))
        given = {one["name"] for one in methods["get"]["parameters"] if one["in"] == "path"}
        assert given == named


def test_every_address_has_a_shape(told: dict[str, Any]) -> None:
    bare = sorted(
        path
        for path in told["paths"]
        if path.endswith(".json")
        and path not in SHAPES
        and not path.startswith(("/reckon/", "/openapi"))
    )
    assert bare == [], "told only as an object, their shapes are not in faces/shapes/"


def test_every_shape_has_its_words_in_the_reference() -> None:
    pages = Path(__file__).parents[1] / "docs/reference"
    told = "".join(one.read_text("utf-8") for one in pages.glob("*.md"))
    addresses = {path.replace("{tree}", "<id>").replace("{key}", "<key>") for path in SHAPES}
    assert {one for one in addresses if f"`{one}`" not in told} == set()


def test_no_two_shapes_share_a_name() -> None:
    """A schema is called by the name of its shape: the second of a name would take the place of the first."""
    names = [
        name
        for module in MODULES
        for name, one in vars(module).items()
        if is_typeddict(one) and one.__module__ == module.__name__
    ]
    assert sorted(names) == sorted(set(names))
    assert set(names) > {"Advice", "Tonight", "Weather", "Crop"}


def test_every_answer_has_the_shape_that_is_told(
    clients: list[TestClient], told: dict[str, Any]
) -> None:
    closed, seen = strict(told), 0
    for client in clients:
        trees = client.get("/garden.json").json()["trees"]
        kinds = [one.key for one in knowledge().species.values() if not one.abstract][::9]
        filled = {"tree": trees, "key": kinds}
        for path in (*SHAPES, "/openapi.json"):
            name = next(iter(re.findall(r"\{(\w+)\}", path)), None)
            for value in filled.get(name, [""]) if name else [""]:
                answer = client.get(path.replace(f"{{{name}}}", value))
                if path in OF_A_STORE and client is not clients[-1]:
                    assert answer.status_code == 422, path
                    continue
                assert answer.status_code == 200, (path, value)
                assert complaints(closed, path, answer.json()) == []
                seen += 1
        for days in (1, 366):
            for path in ("/week.json", "/sheet.json"):
                answer = client.get(path, params={"days": days})
                assert complaints(closed, path, answer.json()) == []
    assert seen > 70


# A frosty evening with drops still to come, thinning time, and a dry August with closed days and scarce water.
OTHER_DAYS = (date(2026, 1, 12), date(2026, 6, 1), date(2026, 8, 15))


@pytest.mark.parametrize("day", OTHER_DAYS, ids=str)
def test_answers_of_other_seasons_have_the_shape_that_is_told(
    day: date, told: dict[str, Any], tmp_path: Path
) -> None:
    closed = strict(told)
    app = create_app(write_demo(tmp_path, day), today=lambda: day)
    client = TestClient(app, base_url=HERE)
    trees = client.get("/garden.json").json()["trees"][::4]
    for path in set(SHAPES) - OF_A_STORE - {"/kind/{key}.json"}:
        for tree in trees if "{tree}" in path else [""]:
            data = client.get(path.replace("{tree}", tree)).json()
            assert complaints(closed, path, data) == []


@pytest.mark.parametrize(
    ("query", "filled"),
    [
        ({"how": "walks", "walk": ["0.25:13", "0.3:20", "0.2:11", "0.4:9"]}, {"walks", "estimate"}),
        ({"how": "walks", "girths": "14 9 6", "do": "choose"}, {"forks", "chance"}),
    ],
)
def test_answers_of_a_count_have_the_shape_that_is_told(
    query: dict[str, Any], filled: set[str], told: dict[str, Any], clients: list[TestClient]
) -> None:
    path = "/tree/{tree}/count.json"
    answer = clients[0].get(path.replace("{tree}", "anna-steps"), params=query)
    assert answer.status_code == 200
    assert all(answer.json()[name] for name in filled)
    assert complaints(strict(told), path, answer.json()) == []


def test_answers_of_the_leaf_key_have_the_shape_that_is_told(
    clients: list[TestClient], told: dict[str, Any]
) -> None:
    closed, found = strict(told), 0
    for question in leaf_key().asked:
        for sign in question.signs:
            given = {question.key: sign.key, "tree": "clementine-low", "day": "2026-05-02"}
            answer = clients[1].get("/leaf.json", params=given)
            if answer.status_code == 422:
                assert "nothing is ticked" in answer.text
                continue  # a sign that tells nothing by itself
            assert complaints(closed, "/leaf.json", answer.json()) == []
            found += len(answer.json()["diagnoses"])
    assert found > 20


def test_answers_of_reckoners_have_the_shape_that_is_told(
    clients: list[TestClient], told: dict[str, Any]
) -> None:
    closed, tried = strict(told), 0
    for name, reckoner in reckoners().items():
        given: dict[str, Any] = dict(example_of(reckoner))
        if name == "chill":
            rows = "\n".join(f"{TODAY - timedelta(days=n)},4,12,0" for n in range(700, 0, -1))
            given = {"pasted-weather": f"date,tmin_c,tmax_c,rain_mm\n{rows}\n", "latitude": "41.7"}
        elif any(option.unit == "file" for option in reckoner.options):
            continue  # each reads files of its own sort
        answer = clients[0].get(f"/reckon/{name}.json", params=given)
        assert answer.status_code == 200, (name, answer.text[:200])
        assert complaints(closed, f"/reckon/{name}.json", answer.json()) == []
        tried += 1
    assert tried > 10


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("/week.json?days=0", "422"), ("/week.json?days=x", "422"), ("/tree/none.json", "404"),
        ("/kind/none.json", "404"), ("/reckon/canopy.json?height=x", "422"), ("/leaf.json?veins=x", "422"),
    ],
)  # fmt: skip
def test_refusals_have_the_shape_that_is_told(
    clients: list[TestClient], told: dict[str, Any], address: str, status: str
) -> None:
    answer = clients[1].get(address)
    assert str(answer.status_code) == status
    path = re.sub(
        r"(?<=/)none", "{tree}" if "/tree/" in address else "{key}", address.split("?")[0]
    )
    assert status in told["paths"][path]["get"]["responses"]
    schema = {"$ref": "#/components/schemas/Problems", "components": strict(told)["components"]}
    assert list(Draft202012Validator(schema).iter_errors(answer.json())) == []


def test_a_calendar_is_told_with_its_key_and_its_refusals() -> None:
    told = describe(
        [Address("/calendar.ics", (("days", {"type": "integer"}, False),)), Address("/trees")]
    )
    assert [error.message for error in OpenAPIV31SpecValidator(told).iter_errors()] == []
    assert list(told["paths"]) == ["/calendar.ics"], "pages are not told"
    calendar = told["paths"]["/calendar.ics"]["get"]
    assert list(calendar["responses"]["200"]["content"]) == ["text/calendar; charset=utf-8"]
    assert "text/html" in calendar["responses"]["422"]["content"]
    assert {one["name"] for one in calendar["parameters"]} == {"days", "key"}


def test_a_field_that_is_not_told_is_found(told: dict[str, Any], clients: list[TestClient]) -> None:
    data = clients[1].get("/week.json").json()
    data["advice"][0]["surprise"] = 1
    assert len(complaints(strict(told), "/week.json", data)) == 1
    del data["advice"][0]["surprise"], data["advice"][0]["because"]
    assert len(complaints(told, "/week.json", data)) == 1


def test_every_example_of_a_parameter_is_answered(
    clients: list[TestClient], told: dict[str, Any]
) -> None:
    for path, methods in told["paths"].items():
        if path not in SHAPES and not path.startswith("/reckon/"):
            continue
        given = {
            one["name"]: one["example"] for one in methods["get"]["parameters"] if "example" in one
        }
        needed = {one["name"] for one in methods["get"]["parameters"] if one.get("required")}
        names = {one["name"] for one in methods["get"]["parameters"]}
        if not needed <= set(given) or any(name.startswith("pasted-") for name in names):
            continue
        address = path.format(**given)
        asked = {name: value for name, value in given.items() if f"{{{name}}}" not in path}
        client = clients[-1 if path in OF_A_STORE else 1]
        assert client.get(address, params=asked).status_code == 200, path

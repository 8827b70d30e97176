"""What anyone may type into an address of the JSON: never a failure of the server, always what is described."""

from __future__ import annotations

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from bearwell.faces.web import create_app
from web_garden import TODAY, write_garden

EXAMPLES = 15  # of each address
CHECKS = [
    not_a_server_error, status_code_conformance, content_type_conformance, response_headers_conformance,
    response_schema_conformance,
]  # fmt: skip


@pytest.fixture(scope="module")
def described(tmp_path_factory: pytest.TempPathFactory):  # type: ignore[no-untyped-def]
    """The description as the application gives it, tied to the application."""
    path = write_garden(tmp_path_factory.mktemp("garden"))
    app = create_app(path, today=lambda: TODAY, hosts=("testserver", "localhost", "127.0.0.1"))
    return schemathesis.openapi.from_asgi("/openapi.json", app)


@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE])
def test_whatever_is_asked_is_answered_as_described(
    described: schemathesis.BaseSchema, mode: GenerationMode
) -> None:
    tried = 0
    for found in described.get_all_operations():
        operation = found.ok()
        if (
            mode is GenerationMode.NEGATIVE
            and not operation.query
            and not operation.path_parameters
        ):
            continue  # nothing there that could be wrong

        @settings(max_examples=EXAMPLES, suppress_health_check=list(HealthCheck), database=None)
        @given(case=operation.as_strategy(generation_mode=mode))
        def answered(case: schemathesis.Case) -> None:
            case.call_and_validate(checks=CHECKS)

        try:
            answered()
        except Unsatisfiable:
            continue  # nothing that could be typed there is wrong by the description
        tried += 1
    assert tried > (15 if mode is GenerationMode.POSITIVE else 3)

"""Whatever is sent to whatever address: a plain answer, never a failure of the program.

Requests are made by schemathesis from the application's own OpenAPI description: valid ones,
and ones that break it (types, sizes, missing and further fields).
"""

from __future__ import annotations

import logging
import shutil
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from fastapi import FastAPI
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis.generation import GenerationMode

from nervure.table import open_storage
from nervure.web import Settings, create_app

SHORT, LONG = 3, 60
# The identifier of the one open project; other values only ever lead to "not found".
KNOWN = {"project": ["barges", "barges", "no-such", "..", "%2e%2e"]}


def description(app: FastAPI) -> dict[str, Any]:
    """Give the OpenAPI description, with the open project's name where one is asked for."""
    found = app.openapi()
    for operations in found["paths"].values():
        for operation in operations.values():
            for parameter in operation.get("parameters", ()):
                if parameter["name"] in KNOWN and parameter["in"] == "path":
                    parameter["schema"] = {"type": "string", "enum": KNOWN[parameter["name"]]}
    return found


def operations() -> Iterator[tuple[str, str]]:
    """Give every address with its method, from an application without projects."""
    place = Path("unused")
    app = create_app([], _NoStorage(), Settings(secret=b"s" * 32, home=place))  # type: ignore[arg-type]
    for path, methods in app.openapi()["paths"].items():
        for method in methods:
            yield method.upper(), path


class _NoStorage:
    """Stands where a storage is asked for and never used."""


def opened(project: Path, folder: Path) -> Iterator[TestClient]:
    storage = open_storage(folder / "data" / "workbench.sqlite3")
    free = {"reads_a_second": 10_000.0, "writes_a_second": 10_000.0}
    app = create_app([project], storage, Settings(secret=b"s" * 32, home=folder, **free))
    origin = "http://127.0.0.1:8731"
    # Without its life: no job begins to work.
    yield TestClient(
        app, base_url=origin, headers={"origin": origin}, raise_server_exceptions=False
    )
    storage.close()


@pytest.fixture(scope="module")
def shared(pattern: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """A workbench for addresses that change nothing."""
    folder = tmp_path_factory.mktemp("shared")
    project = Path(shutil.copytree(pattern, folder / "home" / "barges"))
    yield from opened(project, folder)


@pytest.fixture
def own(project: Path, tmp_path: Path) -> Iterator[TestClient]:
    """A workbench of one's own, for addresses that write."""
    yield from opened(project, tmp_path)


@pytest.fixture
def client(
    request: pytest.FixtureRequest, method: str, caplog: pytest.LogCaptureFixture
) -> TestClient:
    caplog.set_level(logging.ERROR)
    found: TestClient = request.getfixturevalue("shared" if method == "GET" else "own")
    return found


def send(client: TestClient, case: Any) -> Any:
    request = case.as_transport_kwargs(base_url=str(client.base_url).rstrip("/"))
    if isinstance(request.get("data"), bytes | str):
        request["content"] = request.pop("data")
    kept = ("method", "url", "params", "headers", "content", "data", "json", "files")
    return client.request(
        **{key: request[key] for key in kept if request.get(key) is not None},
        follow_redirects=False,
    )


def play(client: TestClient, method: str, path: str, examples: int) -> list[Any]:
    schema = schemathesis.openapi.from_dict(description(client.app))  # type: ignore[arg-type]
    modes = [GenerationMode.POSITIVE, GenerationMode.NEGATIVE]
    answers = []
    for mode in modes:
        strategy = schema[path][method].as_strategy(generation_mode=mode)

        @settings(
            max_examples=examples,
            deadline=None,
            database=None,
            derandomize=True,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        @given(case=strategy)
        def run(case: Any) -> None:
            answer = send(client, case)
            answers.append(answer)
            assert answer.status_code < 500, answer.text[:300]
            assert "Traceback" not in answer.text
            assert answer.headers["content-security-policy"]

        with suppress(Unsatisfiable):  # an address that takes nothing cannot be asked wrongly
            run()
    return answers


@pytest.mark.parametrize(("method", "path"), list(operations()))
def test_every_address_answers_plainly_whatever_is_sent(
    client: TestClient, caplog: pytest.LogCaptureFixture, method: str, path: str
) -> None:
    answers = play(client, method, path, SHORT)

    assert answers
    assert [record.getMessage() for record in caplog.records] == []


@pytest.mark.long
@pytest.mark.parametrize(("method", "path"), list(operations()))
def test_every_address_answers_plainly_however_often_it_is_tried(
    client: TestClient, caplog: pytest.LogCaptureFixture, method: str, path: str
) -> None:
    answers = play(client, method, path, LONG)

    assert answers
    assert [record.getMessage() for record in caplog.records] == []

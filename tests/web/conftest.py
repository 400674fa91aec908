"""A workbench on a copy of a bundled game, and a client that sends what a browser sends."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from nervure.project import start_from_map
from nervure.table import open_storage
from nervure.web import Settings, create_app

PORT = 8731
ORIGIN = f"http://127.0.0.1:{PORT}"


@pytest.fixture(scope="session")
def pattern(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A project with the map of the gut in it, made once; copy it to change it."""
    folder = tmp_path_factory.mktemp("pattern") / "barges"
    start_from_map(folder, "gut")
    return folder


@pytest.fixture
def project(pattern: Path, tmp_path: Path) -> Path:
    """A project of one's own."""
    return Path(shutil.copytree(pattern, tmp_path / "home" / "barges"))


@pytest.fixture
def open_bench(tmp_path: Path) -> Iterator[Callable[..., TestClient]]:
    """Open a workbench on some projects; its client sends the origin as a browser does."""
    closing = []

    def opened(*projects: Path, **settings: object) -> TestClient:
        home = tmp_path / "home"
        home.mkdir(exist_ok=True)
        storage = open_storage(tmp_path / "data" / "workbench.sqlite3")
        given = {"secret": b"s" * 32, "home": home, "port": PORT} | settings
        app = create_app(projects, storage, Settings(**given))  # type: ignore[arg-type]
        client = TestClient(app, base_url=ORIGIN, headers={"origin": ORIGIN})
        client.__enter__()
        closing.append((client, storage))
        return client

    yield opened
    for client, storage in closing:
        client.__exit__(None, None, None)
        storage.close()


@pytest.fixture
def bench(open_bench: Callable[..., TestClient], project: Path) -> TestClient:
    """A workbench with one project."""
    return open_bench(project)

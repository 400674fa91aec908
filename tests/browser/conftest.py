"""A real Chromium, driven by Playwright, and the pages of a small project."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

import nervure
from nervure import maps

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="module")
def chromium() -> Iterator[object]:
    """Chromium as Debian and others install it; where it is missing these tests are skipped."""
    found = next(
        (path for name in ("chromium", "chromium-browser") if (path := shutil.which(name))), None
    )
    if found is None:
        if os.environ.get("CI") == "true":
            pytest.fail("no Chromium on this machine, and CI asks for the browser tests")
        pytest.skip("no Chromium on this machine")
    from playwright.sync_api import sync_playwright  # slow to load, only needed here

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small bundled game, checked and playtested; gives the project's folder."""
    folder = tmp_path_factory.mktemp("made") / "locks"
    shutil.copytree(maps.game_folder("lock-keepers"), folder)
    project = nervure.open(folder)
    project.check()
    project.playtest(games=200)
    return folder

"""Journeys on the page of cards in a real browser, each state of it judged by axe-core.

Chromium of the system, driven by Playwright. Skipped where there is no Chromium, unless
CI=true.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
import uvicorn

import nervure
from nervure import press
from nervure.table import Storage, open_storage
from nervure.web import Settings, create_app
from nervure.web.serving import _door

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or ""
MUST_RUN = os.environ.get("CI") == "true"

pytestmark = pytest.mark.skipif(
    not CHROMIUM and not MUST_RUN, reason="no chromium on this machine; CI=true makes it a failure"
)

AXE = Path(__file__).parent / "vendor" / "axe.min.js"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
PHONE, LAPTOP = {"width": 390, "height": 844}, {"width": 1280, "height": 900}
GAMES = Path(nervure.__file__).parent / "maps" / "games"
SVG = (
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">'
    b'<circle cx="4" cy="4" r="3"/></svg>'
)
STATES = ("empty", "printed", "stale", "faulty", "refused", "failed")


@dataclass(frozen=True)
class Served:
    address: str
    home: Path
    storage: Storage


def make_state(folder: Path, name: str, storage: Storage) -> None:
    """Bring a copy of the lock-keepers into one of the states of the page."""
    game = nervure.open(folder).require_sound()
    if name in ("printed", "stale"):
        press.print_deck(game, folder / "out" / "print", ("backs", "previews"), dots_per_inch=40)
    if name == "stale":
        (folder / "art").mkdir()
        (folder / "art" / f"{game.targets[0]}.svg").write_bytes(SVG)
    if name == "refused":
        text = (folder / "game.toml").read_text("utf-8")
        (folder / "game.toml").write_text(text + "\n[look]\nsize = [40.0, 60.0]\n", "utf-8")
    if name == "faulty":
        with (folder / "deck.csv").open("a") as deck:
            deck.write("no-such-part\n")
    if name == "failed":
        job = storage.add_job(name, "print", {})
        storage.move_job(job.id, "running", was=("queued",))
        storage.end_job(job.id, "failed", message="It did not succeed.")


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A workbench on a free port with a project in each state of the page."""
    home = tmp_path_factory.mktemp("home")
    with open_storage(home / "data" / "workbench.sqlite3") as storage:
        for name in (*STATES, "journey"):
            shutil.copytree(GAMES / "lock-keepers", home / name)
            make_state(home / name, name, storage)
        door = _door("127.0.0.1", 0)
        port = door.getsockname()[1]
        settings = Settings(b"s" * 32, home, port=port)
        app = create_app([home / name for name in (*STATES, "journey")], storage, settings)
        config = uvicorn.Config(app, log_level="error", ws="websockets-sansio")
        server = uvicorn.Server(config)
        thread = Thread(target=server.run, kwargs={"sockets": [door]}, daemon=True)
        thread.start()
        yield Served(f"http://127.0.0.1:{port}", home, storage)
        server.should_exit = True
        thread.join(20)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield opened
        opened.close()


@pytest.fixture
def show(browser: Any, served: Served) -> Iterator[Callable[..., Any]]:
    """Show a page; whatever it complains of or asks of another host fails the test."""
    contexts, complaints = [], []

    def shown(path: str, viewport: dict[str, int] = LAPTOP, **options: Any) -> Any:
        context = browser.new_context(viewport=viewport, reduced_motion="reduce", **options)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(15_000)
        page.on("console", lambda told: told.type == "error" and complaints.append(told.text))
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on(
            "request",
            lambda request: (
                request.url.startswith(served.address) or complaints.append(request.url)
            ),
        )
        page.goto(served.address + path)
        return page

    yield shown
    for context in contexts:
        context.close()
    assert complaints == []


def findings_of(page: Any, only: list[str] | None = None) -> list[str]:
    page.evaluate(AXE.read_text("utf-8") + "; null")
    wanted = {"type": "rule", "values": only} if only else {"type": "tag", "values": TAGS}
    found = page.evaluate("wanted => axe.run(document, {runOnly: wanted})", wanted)
    return [
        f"{one['id']}: {node['target']} {node['failureSummary'][:160]}"
        for one in found["violations"]
        for node in one["nodes"][:4]
    ]


@pytest.mark.parametrize("state", STATES)
def test_axe_finds_nothing_in_any_state(browser: Any, served: Served, state: str) -> None:
    context = browser.new_context(reduced_motion="reduce")
    page = context.new_page()
    page.goto(f"{served.address}/p/{state}/cards")
    found = {}
    for viewport in (LAPTOP, PHONE):
        for scheme in ("light", "dark"):
            page.set_viewport_size(viewport)
            page.emulate_media(color_scheme=scheme)
            # Between light and dark only colours differ.
            only = ["color-contrast"] if scheme == "dark" else None
            found[f"{viewport['width']} {scheme}"] = findings_of(page, only)
    context.close()

    assert set(map(tuple, found.values())) == {()}, found


@pytest.mark.parametrize("state", STATES)
def test_no_state_scrolls_sideways(show: Callable[..., Any], state: str) -> None:
    page = show(f"/p/{state}/cards")

    for width in (390, 640, 900, 1280, 1920):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_a_deck_is_printed_watched_filtered_and_given_a_picture(
    show: Callable[..., Any], served: Served
) -> None:
    page = show("/p/journey/cards")
    for name in ("cards", "sheets"):
        page.uncheck(f"[name=what][value={name}]")
    page.click("form[action$='/cards/print'] button")
    page.wait_for_selector("#job-after a", timeout=120_000)
    assert "done" in page.text_content("#heard")
    page.click("#job-after a")
    page.wait_for_selector(".deck img")

    # At its real size: 63 by 88 mm of 25.4 / 96 px each.
    page.locator(".deck img").first.scroll_into_view_if_needed()
    box = page.locator(".deck img").first.bounding_box()
    assert abs(box["width"] - 63 * 96 / 25.4) < 0.1
    assert abs(box["height"] - 88 * 96 / 25.4) < 0.1
    shown = page.locator(".deck img").count()
    page.locator(".groups a").nth(1).click()
    page.wait_for_url("**only=**")
    assert 0 < page.locator(".deck img").count() < shown

    page.set_input_files(
        "#art-file", {"name": "x.svg", "mimeType": "image/svg+xml", "buffer": SVG}
    )
    page.fill("#art-author", "A. Nobody (invented)")
    page.fill("#art-licence", "CC0 1.0")
    page.click(".art-form button")
    page.wait_for_selector(".art img")
    assert "One card has changed" in page.inner_text(".standing")
    assert (served.home / "journey/art/credits.csv").is_file()

"""Journeys on the page of playtests in a real browser, each state of it judged by axe-core.

Chromium of the system, driven by Playwright. Skipped where there is no Chromium, unless
CI=true.
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
import uvicorn

import nervure
from nervure import playtest
from nervure.report import playtest_page
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
STATES = ("empty", "played", "stale", "faulty", "damaged", "stopped", "failed")


@dataclass(frozen=True)
class Served:
    address: str
    home: Path
    storage: Storage


def make_state(folder: Path, name: str, storage: Storage) -> None:
    """Bring a copy of the lock-keepers into one of the states of the page."""
    out = folder / "out" / "playtest"
    game = nervure.open(folder).require_sound()
    kept = {"seats": None, "players": 2, "games": 40, "precision": None, "seed": 1}
    if name in ("played", "stale", "stopped"):
        for seed in (2, 1):
            result = playtest.run(game, out, playtest.Options(games=40, seed=seed))
        (out / "index.html").write_text(playtest_page(result, game), "utf-8")
    if name == "stale":
        text = re.sub(r"(?m)^hand = \d+", "hand = 7", (folder / "game.toml").read_text("utf-8"))
        assert "\nhand = 7" in text
        (folder / "game.toml").write_text(text, "utf-8")
    if name == "faulty":
        with (folder / "deck.csv").open("a") as deck:
            deck.write("no-such-part\n")
    if name == "damaged":
        out.mkdir(parents=True)
        (out / "result.json").write_text("{", "utf-8")
    if name in ("stopped", "failed"):
        job = storage.add_job(name, "playtest", kept | {"design": game.version})
        storage.move_job(job.id, "running", was=("queued",))
        storage.note_progress(job.id, "", 20, 40)
        storage.end_job(job.id, name, message="It did not succeed." if name == "failed" else "")  # type: ignore[arg-type]


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
    page.goto(f"{served.address}/p/{state}/playtest")
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
    page = show(f"/p/{state}/playtest")

    for width in (390, 640, 900, 1280, 1920):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_a_playtest_is_asked_for_watched_stopped_and_gone_on_with(
    show: Callable[..., Any], served: Served
) -> None:
    page = show("/p/journey/playtest")
    assert not page.is_visible("#who")
    page.select_option("[name=what]", "line-up")
    assert page.locator(".seat:visible").count() == int(page.input_value("[name=players]"))
    page.select_option("[name=players]", "3")
    assert page.locator(".seat:visible").count() == 3
    page.select_option("[name=what]", "plan")
    page.select_option("[name=players]", "2")
    page.fill("[name=games]", "9 000 000")
    page.click("#asking button")

    # Watched: the result so far comes by itself, and comes again, with narrower intervals.
    page.wait_for_selector("#found.so-far #verdicts", timeout=120_000)
    assert findings_of(page) == []
    first = page.inner_text("#found .lead")
    page.wait_for_function(
        "first => document.querySelector('#found .lead').innerText !== first",
        arg=first,
        timeout=60_000,
    )
    assert "so far" in page.inner_text("#found .lead")

    # Stopped by key: the button keeps its focus while it is made anew.
    page.focus("#stop")
    page.wait_for_timeout(2500)
    assert page.evaluate("document.activeElement.id") == "stop"
    page.keyboard.press("Enter")
    page.wait_for_selector("#go-on", timeout=60_000)
    page.wait_for_selector("#found:not(.so-far) #measures", timeout=60_000)
    assert page.text_content("#heard")
    page.reload()
    assert "Stopped early" in page.inner_text("#h-result")

    page.click("#go-on")
    page.wait_for_selector("#found.so-far", timeout=60_000)
    page.click("#stop")
    page.wait_for_selector("#go-on", timeout=60_000)


def test_players_are_chosen_by_links_and_results_set_beside(show: Callable[..., Any]) -> None:
    page = show("/p/played/playtest")
    page.click(".tables a:has-text('3 players')")
    page.wait_for_url("**players=3**")
    assert page.locator(".tables [aria-current]").inner_text() == "3 players"
    assert page.locator("#claims").count() == 0

    page.click("#beside button")
    page.wait_for_url("**beside=0001**")
    assert page.locator("table.beside tbody tr").count() > 10


def test_the_sentence_asks_without_a_script_too(browser: Any, served: Served) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{served.address}/p/empty/playtest")
    page.select_option("[name=what]", "line-up")
    page.select_option("[name=players]", "2")
    page.fill("[name=games]", "20")
    page.click("#asking button")
    for _ in range(60):
        page.goto(f"{served.address}/p/empty/playtest")
        if page.locator("#verdicts").count() and not page.locator("#stop").count():
            break
        page.wait_for_timeout(500)
    found = page.inner_text("#h-result")
    context.close()

    assert found == "Result"

"""The rules in a real browser: what a choice does shows at once, what is saved stays.

Chromium of the system, driven by Playwright; axe-core judges the page in each of its states
(WCAG 2.2 A and AA, best practices). Skipped where there is no Chromium, unless CI=true.
"""

from __future__ import annotations

import os
import shutil
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
import uvicorn

import nervure
from nervure.game import check_game
from nervure.project import start_from_map
from nervure.table import open_storage
from nervure.web import Settings, create_app
from nervure.web.serving import _door

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or ""
MUST_RUN = os.environ.get("CI") == "true"

pytestmark = pytest.mark.skipif(
    not CHROMIUM and not MUST_RUN, reason="no chromium on this machine; CI=true makes it a failure"
)

GAMES = Path(nervure.__file__).parent / "maps" / "games"
AXE = Path(__file__).parent / "vendor" / "axe.min.js"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
PHONE, LAPTOP = {"width": 390, "height": 844}, {"width": 1280, "height": 900}
STATES = ("game", "faulty", "bare", "fileless")


@dataclass(frozen=True)
class Served:
    address: str
    home: Path

    def rules(self, name: str) -> dict[str, Any]:
        return dict(tomllib.loads((self.home / name / "game.toml").read_text("utf-8"))["rules"])


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A workbench with a sound game, a faulty one, a map alone, and one without game.toml."""
    home = tmp_path_factory.mktemp("home")
    for name in ("game", "faulty"):
        shutil.copytree(GAMES / "lock-keepers", home / name)
    with (home / "faulty" / "deck.csv").open("a") as file:
        file.write("no-such-card,1,,\n")
    for name in ("bare", "fileless"):
        start_from_map(home / name, "gut")
    (home / "fileless" / "game.toml").unlink()
    door = _door("127.0.0.1", 0)
    port = door.getsockname()[1]
    with open_storage(home / "data" / "workbench.sqlite3") as storage:
        settings = Settings(b"s" * 32, home, port=port)
        app = create_app([home / name for name in STATES], storage, settings)
        config = uvicorn.Config(app, log_level="error", ws="websockets-sansio")
        server = uvicorn.Server(config)
        thread = Thread(target=server.run, kwargs={"sockets": [door]}, daemon=True)
        thread.start()
        yield Served(f"http://127.0.0.1:{port}", home)
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
    """Show the rules of a project; whatever the page complains of fails the test."""
    contexts, complaints = [], []

    def shown(name: str, viewport: dict[str, int] = LAPTOP, **options: Any) -> Any:
        context = browser.new_context(viewport=viewport, reduced_motion="reduce", **options)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(30_000)
        page.on(
            "console",
            # The browser itself notes each answer of 400 or more, also one that is expected.
            lambda told: (
                told.type == "error"
                and "status of 422" not in told.text
                and complaints.append(told.text)
            ),
        )
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.goto(f"{served.address}/p/{name}/rules")
        if name != "fileless" and options.get("java_script_enabled", True):
            page.wait_for_selector("#rules[data-ready]", state="attached")
            page.wait_for_selector("#effects:not(:has([data-working]))", state="attached")
            page.wait_for_selector("#grid tbody tr", state="attached")
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
def test_axe_finds_nothing(show: Callable[..., Any], state: str) -> None:
    page = show(state)
    if state == "game":
        page.locator("#rule-hand input[name='hand.by']").check()
        page.locator("#rule-display input[name=display]").fill("99")
        page.wait_for_selector("#why-display:not(:empty)")
        page.click("#add-bonus")

    found = {}
    for viewport in (LAPTOP, PHONE):
        for scheme in ("light", "dark"):
            page.set_viewport_size(viewport)
            page.emulate_media(color_scheme=scheme)
            # Between light and dark only colours differ.
            only = ["color-contrast"] if scheme == "dark" else None
            found[f"{viewport['width']} {scheme}"] = findings_of(page, only)

    assert set(map(tuple, found.values())) == {()}, found


@pytest.mark.parametrize("state", STATES)
def test_the_page_does_not_scroll_sideways(show: Callable[..., Any], state: str) -> None:
    page = show(state)

    for width in (390, 640, 900, 1280, 1920):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_what_a_choice_does_is_said_before_it_is_saved(
    show: Callable[..., Any], served: Served
) -> None:
    page = show("game")
    before = (served.home / "game" / "game.toml").read_bytes()

    page.select_option("[name=skip_tiers]", "no")
    page.wait_for_selector("#effects .difference")

    assert "fewer than saved" in page.inner_text("#effects")
    assert "may skip tiers" in page.inner_text("#rule-skip_tiers .note")
    assert "One change, not saved." in page.text_content("#heard")
    assert (served.home / "game" / "game.toml").read_bytes() == before
    page.click("#back")
    page.wait_for_selector("#rule-skip_tiers.changed", state="detached")
    assert page.input_value("[name=skip_tiers]") == "yes"


def test_a_choice_is_made_saved_and_undone_with_keys_alone(
    show: Callable[..., Any], served: Served
) -> None:
    page = show("game")
    was = served.rules("game")
    page.focus("[name=claim_minimum]")
    page.keyboard.press("Control+a")
    page.keyboard.type("3")
    page.wait_for_selector("#rule-claim_minimum.changed")

    page.keyboard.press("Enter")
    page.wait_for_selector("#told")

    assert "game.toml is saved" in page.text_content("#heard")
    assert served.rules("game")["claim_minimum"] == 3
    assert page.evaluate("document.activeElement.id") == "told"
    page.focus("#undo button")
    page.keyboard.press("Enter")
    page.wait_for_selector("#told:has-text('undone')")
    assert served.rules("game") == was


def test_a_bad_value_says_why_and_is_not_saved(show: Callable[..., Any], served: Served) -> None:
    page = show("game")
    was = served.rules("game")

    page.locator("[name=hand]").fill("99")
    page.wait_for_selector("[name=hand][aria-invalid=true]")
    page.click("#save-rules")
    page.wait_for_selector("#told.red")

    why = page.get_attribute("[name=hand]", "aria-describedby")
    assert "99 does not fit" in page.inner_text(f"#{why}")
    assert page.input_value("[name=hand]") == "99"
    assert served.rules("game") == was
    page.close(run_before_unload=False)


def test_a_cell_of_the_deck_shows_what_it_does_and_is_saved(
    show: Callable[..., Any], served: Served
) -> None:
    page = show("game")
    parts = check_game(nervure.open(served.home / "game").game).part_cards
    row = page.locator("#grid tr:has(th:text-is('Variant card'))")
    row.locator("td[data-column='1']").focus()
    page.keyboard.type("2")
    page.keyboard.press("Enter")

    page.wait_for_selector("#effects:has-text('2 more than saved')")
    page.wait_for_selector("#save[aria-disabled=false]")
    page.click("#save")
    page.wait_for_selector("#register[data-saved]", state="attached")

    assert "variant,2" in (served.home / "game" / "deck.csv").read_text()
    assert nervure.open(served.home / "game").game.part_cards == parts + 2


def test_a_bonus_offers_what_its_kind_may_do_and_tells_its_sentence(
    show: Callable[..., Any],
) -> None:
    page = show("game")
    page.click("#add-bonus")
    box = page.locator(".bonus:not([hidden])").last
    box.locator("[name$='.id']").fill("tow")
    box.locator(".when").select_option("reply")

    offered = (
        box.locator(".op")
        .first.locator("option:not([hidden])")
        .evaluate_all("options => options.map((option) => option.value)")
    )
    assert offered == ["", "cancel-take"]
    box.locator(".op").first.select_option("cancel-take")

    page.wait_for_selector("[data-derived]:has-text('cancel a take from you')")
    assert box.locator(".step").count() == 2
    page.close(run_before_unload=False)


def test_the_page_works_without_scripts(show: Callable[..., Any], served: Served) -> None:
    page = show("bare", java_script_enabled=False)

    page.click("#begin button")
    page.locator("[name=hand]").fill("5")
    page.click("button:has-text('Show what this does')")
    assert "Saved is: 4" in page.inner_text("#rule-hand")
    page.click("#save-rules")

    assert "game.toml is saved" in page.inner_text("#told")
    assert served.rules("bare")["hand"] == 5

"""Journeys in a real browser: what is pointed at lights, what is cut fades, what is typed stays.

Chromium of the system, driven by Playwright; axe-core judges every page (WCAG 2.2 A and AA,
best practices). Skipped where there is no Chromium, unless CI=true.
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

from nervure.project import start_from_map
from nervure.table import open_storage
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


@dataclass(frozen=True)
class Served:
    address: str
    home: Path


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A workbench on a free port with the leg and the gut, as `serve` runs it."""
    home = tmp_path_factory.mktemp("home")
    for name in ("leg", "gut"):
        start_from_map(home / name, name)
    door = _door("127.0.0.1", 0)
    port = door.getsockname()[1]
    with open_storage(home / "data" / "workbench.sqlite3") as storage:
        settings = Settings(b"s" * 32, home, port=port)
        app = create_app([home / "leg", home / "gut"], storage, settings)
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
        if path.split("?")[0].endswith("/map"):
            page.wait_for_selector("#map[data-ready]", state="attached")
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


@pytest.mark.parametrize("path", ["/projects", "/kept", "/p/gut/map", "/key", "/nowhere"])
def test_axe_finds_nothing(browser: Any, served: Served, path: str) -> None:
    context = browser.new_context(reduced_motion="reduce")
    page = context.new_page()
    page.goto(served.address + path)
    if path.endswith("/map"):
        page.wait_for_selector("#map[data-ready]", state="attached")
        page.select_option("#which", "tiers")  # a short table: axe takes its time for each cell
        page.wait_for_selector("#grid caption:has-text('tiers')", state="attached")

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


def test_axe_finds_nothing_after_cuts_and_findings(show: Callable[..., Any]) -> None:
    page = show("/p/gut/map")
    page.select_option("#which", "tiers")
    page.wait_for_selector("#grid caption:has-text('tiers')", state="attached")
    page.locator(".s .feel").first.click(force=True)
    page.wait_for_selector("#cuts li")
    page.locator(".target [data-finding=affected]").first.click()
    page.wait_for_selector("#sites ol")

    assert findings_of(page) == []


@pytest.mark.parametrize("path", ["/projects", "/kept", "/p/leg/map"])
def test_no_page_scrolls_sideways(show: Callable[..., Any], path: str) -> None:
    page = show(path)

    for width in (390, 640, 900, 1280, 1920):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("name", ["leg", "gut"])
def test_labels_of_structures_do_not_overlap(show: Callable[..., Any], name: str) -> None:
    page = show(f"/p/{name}/map")

    # A pixel of play: boxes of text hold their line spacing.
    overlaps = page.evaluate(
        """() => {
        const boxes = [...document.querySelectorAll('.s .name')]
            .filter((label) => !label.closest('.ondemand'))
            .map((label) => [label.textContent, label.getBoundingClientRect()]);
        const met = [];
        boxes.forEach(([one, a], i) => boxes.slice(i + 1).forEach(([other, b]) => {
            const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
            const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
            if (wide > 1 && high > 3.5) met.push(`${one} / ${other} ${wide} ${high}`);
        }));
        return met;
    }"""
    )

    assert overlaps == []


def test_pointing_at_a_target_lights_its_pathways_and_names_them(
    show: Callable[..., Any],
) -> None:
    page = show("/p/leg/map")

    page.hover(".target[data-id=tibialis-anterior] .who")

    # docs/map-leg.md and the map's rows: L4 and L5 by way of the deep fibular nerve.
    origins = page.eval_on_selector_all(
        ".lanes .lit",
        "lanes => [...new Set(lanes.map((lane) => lane.dataset.lane.split(' ')[1]))]",
    )
    assert sorted(origins) == ["l4", "l5"]
    assert page.locator("#pathways li").count() == 2
    assert "Deep fibular nerve" in page.inner_text("#pathways")
    assert page.locator(".lanes .f:not(.lit)").count() > 300


def test_a_cut_is_told_in_words_and_in_figures_on_asking(show: Callable[..., Any]) -> None:
    page = show("/p/leg/map")
    page.locator(".s[data-id=deep-fibular-nerve] .feel").click(force=True)
    page.wait_for_selector("#cuts li")
    row = ".target[data-id=tibialis-anterior] .loses"

    assert page.text_content(row) == "all"
    assert page.get_attribute(".s[data-id=deep-fibular-nerve]", "aria-pressed") == "true"
    assert page.locator(".s[data-id=deep-fibular-nerve] .slashes line").count() == 2
    assert "targets lose supply" in page.text_content("#heard")
    page.click("#figures")
    assert page.text_content(row).replace("\u202f", " ") == "100 %"
    page.click("#cuts [data-undo]")
    page.wait_for_selector("#cuts li", state="detached")
    assert page.text_content(row) == ""


def test_a_cut_moves_along_its_levels_by_key(show: Callable[..., Any]) -> None:
    page = show("/p/leg/map")
    page.focus(".s[data-id=deep-fibular-nerve]")
    page.keyboard.press("Enter")
    page.wait_for_selector("#cuts li[data-site=deep-fibular-nerve]")

    page.keyboard.press("+")
    page.wait_for_selector("#cuts li[data-site='deep-fibular-nerve@2']")
    page.keyboard.press("-")

    page.wait_for_selector("#cuts li[data-site=deep-fibular-nerve]")


def test_a_named_lesion_and_a_link_can_be_cut_together(show: Callable[..., Any]) -> None:
    page = show("/p/leg/map")
    page.locator("#cuts + details summary").click()
    lesion = page.get_attribute("#lesion option:nth-child(2)", "value")
    page.select_option("#lesion", lesion)
    page.wait_for_selector(f"#cuts li[data-site='{lesion}']")

    page.select_option("#link", "sciatic-nerve>tibial-nerve")
    page.wait_for_selector("#cuts li[data-site='sciatic-nerve>tibial-nerve']")

    assert page.locator("#cuts li").count() == 2
    assert page.locator(".slashes.of-link").count() > 0


def test_findings_make_likely_sites_rise_by_key_alone(show: Callable[..., Any]) -> None:
    page = show("/p/leg/map")
    page.focus(".target[data-id=tibialis-anterior] .t")

    page.keyboard.press("a")
    page.wait_for_selector("#sites ol")
    page.focus(".target[data-id=tibialis-posterior] .t")
    page.keyboard.press("s")
    page.wait_for_selector("#sites:has-text('1 spared')")

    assert "fibular nerve" in page.locator("#sites ol li").first.inner_text()
    assert "Next examination" in page.inner_text("#sites")
    assert "Likeliest" in page.text_content("#heard")
    page.keyboard.press("Delete")
    page.wait_for_selector("#sites:has-text('0 spared')")


def test_tab_goes_through_the_leaf_in_two_stops(show: Callable[..., Any]) -> None:
    page = show("/p/leg/map")
    page.focus("#leafbox")

    stops = []
    for _ in range(3):
        page.keyboard.press("Tab")
        stops.append(page.evaluate("document.activeElement.getAttribute('class') ?? ''"))

    assert stops[0].startswith("s")
    assert stops[1].startswith("t")
    assert not stops[2].startswith(("s ", "t ", "finding"))


def test_a_variant_that_is_ticked_is_drawn_dashed(show: Callable[..., Any]) -> None:
    page = show("/p/leg/map")
    assert page.locator(".f.variant").count() == 0

    with page.expect_navigation():
        page.locator("#variants input[type=checkbox]").first.check()

    page.wait_for_selector("#map[data-ready]", state="attached")
    assert page.locator(".f.variant").count() > 0
    assert page.locator("#variants input[type=checkbox]").first.is_checked()


def cell(row: int, column: int) -> str:
    return f"#grid td[data-row='{row}'][data-column='{column}']"


def test_a_bad_cell_says_why_and_cannot_be_saved(show: Callable[..., Any], served: Served) -> None:
    page = show("/p/gut/map")
    before = (served.home / "gut/map/supplies.csv").read_bytes()
    page.wait_for_selector(cell(0, 1))
    page.focus(cell(0, 1))
    page.keyboard.type("nowhere")
    page.keyboard.press("Enter")

    page.wait_for_selector("#grid td[aria-invalid=true]")
    assert "map/supplies.csv, row 2, column through" in page.inner_text("#grid tr.message")
    assert page.get_attribute("#save", "aria-disabled") == "true"
    page.locator("#save").click(force=True)
    assert (served.home / "gut/map/supplies.csv").read_bytes() == before

    page.click("#undo")
    page.wait_for_selector("#grid td[aria-invalid=true]", state="detached")
    page.close(run_before_unload=False)


def test_a_good_cell_is_saved_with_keys_alone(show: Callable[..., Any], served: Served) -> None:
    page = show("/p/gut/map")
    page.select_option("#which", "structures")
    page.wait_for_selector("#grid caption:has-text('structures')", state="attached")
    note = page.locator("#grid thead th").all_inner_texts().index("note") - 1
    page.focus(cell(0, note))

    page.keyboard.type("x")
    page.keyboard.press("Escape")
    assert page.get_attribute("#save", "aria-disabled") == "true"
    page.keyboard.type("seen by us")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.dataset.row") == "1"
    page.wait_for_selector("#save[aria-disabled=false]")
    page.focus("#save")
    page.keyboard.press("Enter")
    page.wait_for_selector("#register[data-saved]", state="attached")

    assert "seen by us" in (served.home / "gut/map/structures.csv").read_text("utf-8")
    assert (served.home / "gut/map/structures.csv.bak").exists()
    assert "structures.csv.bak" in page.text_content("#heard")


def test_a_block_from_a_spreadsheet_is_pasted_and_undone_in_one_step(
    show: Callable[..., Any],
) -> None:
    page = show("/p/gut/map")
    page.wait_for_selector(cell(1, 1))
    before = page.locator("#grid tbody tr").count()
    page.focus(cell(1, 0))

    page.evaluate(
        """() => {
        const data = new DataTransfer();
        data.setData('text/plain', 'one\\ttwo\\r\\nthree\\tfour\\r\\n');
        document.activeElement.dispatchEvent(new ClipboardEvent('paste',
            {clipboardData: data, bubbles: true, cancelable: true}));
    }"""
    )

    texts = [page.inner_text(cell(row, column)) for row in (1, 2) for column in (0, 1)]
    assert texts == ["one", "two", "three", "four"]
    page.keyboard.press("Control+z")
    page.wait_for_selector("#grid td.changed", state="detached")
    assert page.locator("#grid tbody tr:not(.message)").count() == before


def test_a_table_is_one_tab_stop(show: Callable[..., Any]) -> None:
    page = show("/p/gut/map")
    page.wait_for_selector(cell(3, 2))
    page.focus(cell(0, 0))
    for key in ("ArrowDown", "ArrowDown", "ArrowRight"):
        page.keyboard.press(key)

    assert page.evaluate("document.activeElement.dataset.row") == "2"
    assert page.locator("#grid [tabindex='0']").count() == 1
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('#grid') === null")


def test_a_project_is_made_from_the_first_page(show: Callable[..., Any], served: Served) -> None:
    page = show("/projects")
    form = page.locator("form[action='/projects/map']")
    form.locator("input[name=name]").fill("By hand")
    form.locator("input[value=gut]").check()

    with page.expect_navigation():
        form.locator("button").click()

    assert page.url.endswith("/p/by-hand/map")
    assert (served.home / "by-hand" / "game.toml").exists()


def test_a_job_is_watched_by_polling(show: Callable[..., Any], served: Served) -> None:
    page = show("/p/gut/map")

    page.click("form[action$='/map/check'] button")

    page.wait_for_selector("#check-job a[href$='check.html']", timeout=60_000)
    assert (served.home / "gut/out/check.html").exists()


def test_results_run_no_script_in_their_sandbox(browser: Any, served: Served) -> None:
    out = served.home / "leg" / "out"
    out.mkdir(exist_ok=True)
    (out / "hostile.html").write_text(
        "<p>kept</p><script>document.title='taken'</script>"
        "<img src=x onerror=document.title='taken'>"
    )
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{served.address}/p/leg/out/hostile.html")
    page.wait_for_timeout(300)

    title = page.title()
    context.close()
    assert title != "taken"

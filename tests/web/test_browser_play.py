"""A three-seat game in a real browser, on two devices and with a computer player, to its end.

In the middle one device loses its line and the workbench is killed and started again: what
was made before stands. Every page is judged by axe-core (WCAG 2.2 A and AA, best practices).
Skipped where there is no Chromium, unless CI=true.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.request import urlopen

import pytest

from nervure.project import start_from_map
from nervure.web.serving import _door

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or ""
MUST_RUN = os.environ.get("CI") == "true"

pytestmark = pytest.mark.skipif(
    not CHROMIUM and not MUST_RUN, reason="no chromium on this machine; CI=true makes it a failure"
)

AXE = Path(__file__).parent / "vendor" / "axe.min.js"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
PHONE, LAPTOP = {"width": 390, "height": 844}, {"width": 1280, "height": 900}
SERVER = """
import sys
from pathlib import Path
import uvicorn
from nervure.table import open_storage
from nervure.web import Settings, create_app
from nervure.web.serving import _door
home, port = Path(sys.argv[1]), int(sys.argv[2])
with open_storage(home / "data" / "workbench.sqlite3") as storage:
    settings = Settings(storage.secret("cookies"), home, port=port, pace=0.0)
    app = create_app([home / "gut"], storage, settings)
    config = uvicorn.Config(app, log_level="error", ws="websockets-sansio")
    uvicorn.Server(config).run(sockets=[_door("127.0.0.1", port)])
"""


class Workbench:
    """A workbench in a process of its own, that can be killed."""

    def __init__(self, home: Path) -> None:
        door = _door("127.0.0.1", 0)
        self.home, self.port = home, door.getsockname()[1]
        door.close()
        self.address = f"http://127.0.0.1:{self.port}"
        self.start()

    def start(self) -> None:
        command = [sys.executable, "-c", SERVER, str(self.home), str(self.port)]
        self.process = subprocess.Popen(command)
        for _ in range(600):
            try:
                urlopen(f"{self.address}/join").close()
            except OSError:
                time.sleep(0.1)
            else:
                return
        raise AssertionError("the workbench did not start")

    def kill(self) -> None:
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()


@pytest.fixture(scope="module")
def workbench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workbench]:
    home = tmp_path_factory.mktemp("home")
    start_from_map(home / "gut", "gut")
    opened = Workbench(home)
    yield opened
    opened.kill()


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield opened
        opened.close()


def device(browser: Any, **options: Any) -> Any:
    context = browser.new_context(reduced_motion="reduce", **({"viewport": LAPTOP} | options))
    page = context.new_page()
    page.set_default_timeout(30_000)
    return page


def faults_of(page: Any) -> list[str]:
    page.evaluate(AXE.read_text("utf-8") + "; null")
    wanted = {"type": "tag", "values": TAGS}
    found = page.evaluate("wanted => axe.run(document, {runOnly: wanted})", wanted)
    return [
        f"{one['id']}: {node['target']} {node['failureSummary'][:160]}"
        for one in found["violations"]
        for node in one["nodes"][:4]
    ]


def position(page: Any) -> int:
    return int(page.get_attribute("#table", "data-position") or -1)


def press_first(page: Any) -> bool:
    """Press the first offered move of a device; False if it is offered none."""
    pressed: bool = page.evaluate(
        """() => {
          const move = document.querySelector(".inwords [data-move]");
          if (!move || document.getElementById("table").ariaBusy === "true") return false;
          move.click();
          return true;
        }"""
    )
    return pressed


def is_over(page: Any) -> bool:
    return bool(page.locator(".turnline .button.first").count())


def play_on(devices: list[Any], until: int) -> int:
    """Press first moves on whichever device is offered some; give the position reached."""
    quiet = 0
    while max(map(position, devices)) < until and not is_over(devices[0]) and quiet < 600:
        moved = [press_first(page) for page in devices]
        quiet = 0 if any(moved) else quiet + 1
        devices[0].wait_for_timeout(20)
    return max(map(position, devices))


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("viewport", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_axe_finds_nothing_on_lobby_cover_table_and_class(
    browser: Any, workbench: Workbench, scheme: str, viewport: dict[str, int]
) -> None:
    page = device(browser, viewport=viewport, color_scheme=scheme)
    home = f"{workbench.address}/p/gut/play"
    found: dict[str, list[str]] = {}
    page.goto(home)
    found["lobby"] = faults_of(page)
    page.select_option("#seats", "2")
    page.select_option("[data-seat='2'] select", "person")
    page.click("text=Lay the table")
    page.wait_for_selector(".cover")
    found["cover"] = faults_of(page)
    page.click(".cover button")
    page.wait_for_selector(".hand .card")
    page.locator(".hand .card").first.click()
    found["table"] = faults_of(page)
    wide = page.evaluate("document.documentElement.scrollWidth > innerWidth")
    found["sideways"] = ["the table scrolls sideways"] if wide else []
    page.goto(f"{home}/class")
    found["class"] = faults_of(page)
    page.context.close()
    assert {name: faults for name, faults in found.items() if faults} == {}


def test_a_game_of_three_survives_a_lost_line_and_a_killed_workbench(
    browser: Any, workbench: Workbench
) -> None:
    host, one, other = device(browser), device(browser), device(browser)
    host.goto(f"{workbench.address}/p/gut/play")
    host.select_option("#seats", "3")
    host.select_option("[data-seat='2'] select", "sprinter")
    host.select_option("[data-seat='3'] select", "person")
    host.check("[name=devices][value=several]")
    host.click("text=Lay the table")
    code = host.text_content(".code")
    for page, name in ((one, "Ash"), (other, "Birch")):
        page.goto(f"{workbench.address}/join")
        page.fill("[name=code]", code)
        page.click("main .button.first")
        page.fill("[name=name]", name)
        page.click("main .button.first")
        page.wait_for_selector(".hand .card")
    devices = [one, other]
    one.wait_for_selector(".inwords [data-move]", state="attached")
    before = play_on(devices, until=12)
    assert before >= 12

    other.context.set_offline(True)
    other.evaluate("dispatchEvent(new Event('offline'))")
    other.context.set_offline(False)
    other.reload()  # a device that was closed: its address is its seat
    other.wait_for_selector(".hand .card")

    stood = max(map(position, devices))
    workbench.kill()
    one.wait_for_selector("#lost:not([hidden])")
    workbench.start()
    for page in devices:
        page.wait_for_selector("#lost[hidden]", state="attached")
    assert max(map(position, devices)) >= stood

    play_on(devices, until=2000)
    assert is_over(one)
    one.click(".turnline .button.first")
    one.wait_for_selector("[data-lights][data-ready]")
    one.wait_for_selector("#replay-table .board")
    assert faults_of(one) == []
    one.locator("#replay-at").fill("0")
    one.wait_for_selector("#replay[data-at='0']")
    for page in (host, one, other):
        page.context.close()

"""Pages as a browser shows them: axe-core finds nothing, nothing runs off a phone's edge."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

AXE = Path(__file__).parents[1] / "web" / "vendor" / "axe.min.js"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
SIZES = {"desk": (1280, 900), "phone": (390, 844)}


def faults_of(chromium: Any, address: str, scheme: str, size: str) -> list[str]:
    width, height = SIZES[size]
    context = chromium.new_context(
        viewport={"width": width, "height": height}, color_scheme=scheme
    )
    try:
        page = context.new_page()
        page.goto(address)
        page.add_script_tag(path=str(AXE))
        found = page.evaluate(
            "rules => axe.run(document, {runOnly: {type: 'tag', values: rules}})", RULES
        )
    finally:
        context.close()
    assert found["passes"], "axe-core checked nothing"
    return [
        f"{violation['id']}: {node['target']}"
        for violation in found["violations"]
        for node in violation["nodes"]
    ]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("page", ["check.html", "playtest/index.html"])
def test_axe_finds_nothing_on_a_page_of_results(
    chromium: Any, made: Path, page: str, scheme: str, size: str
) -> None:
    address = (made / "out" / page).as_uri()

    assert faults_of(chromium, address, scheme, size) == []


@pytest.mark.parametrize("page", ["check.html", "playtest/index.html"])
def test_no_page_of_results_is_wider_than_a_phone(chromium: Any, made: Path, page: str) -> None:
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    try:
        shown = context.new_page()
        shown.goto((made / "out" / page).as_uri())
        width = shown.evaluate("document.documentElement.scrollWidth")
    finally:
        context.close()

    assert width <= 390


def test_pages_of_results_ask_for_nothing_outside(chromium: Any, made: Path) -> None:
    asked: list[str] = []
    context = chromium.new_context()
    try:
        shown = context.new_page()
        shown.on("request", lambda request: asked.append(request.url))
        shown.goto((made / "out" / "check.html").as_uri())
    finally:
        context.close()

    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []

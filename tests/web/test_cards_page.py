"""The cards page on the bundled demo: what it prints is what a PDF reader finds."""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pikepdf
import pytest
from fastapi.testclient import TestClient

import nervure

GAMES = Path(nervure.__file__).parent / "maps" / "games"


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    return Path(shutil.copytree(GAMES / "giants-leg", tmp_path / "home" / "giants"))


def test_printing_backs_gives_a_file_with_the_told_pages_and_a_picture_of_each_card(
    open_bench: Callable[..., TestClient], demo: Path
) -> None:
    client = open_bench(demo)
    client.post("/p/giants/cards/print", data={"what": "backs", "paper": "a4"})
    for _ in range(240):
        html = client.get("/p/giants/cards").text
        if "hx-trigger" not in html:
            break
        time.sleep(0.25)
    answer = client.get("/p/giants/out/print/backs.pdf")
    pages = len(pikepdf.open(BytesIO(answer.content)).pages)
    pictures = list((demo / "out" / "print" / "previews").glob("*.png"))
    assert f"pages: {pages}," in html
    assert html.count("<img src") >= len(pictures) > 0
    assert 'L2 root, Root; fibres: L2"' in html.replace("&#34;", '"')
    assert "style=" not in html.split("<main", 1)[1]


@pytest.mark.parametrize("form", [{"what": "../x"}, {"what": "cards", "paper": "a0"}, {}])
def test_what_is_not_offered_is_refused(
    open_bench: Callable[..., TestClient], demo: Path, form: dict[str, str]
) -> None:
    answer = open_bench(demo).post("/p/giants/cards/print", data=form)
    assert 400 <= answer.status_code < 500


def test_a_faulty_project_is_told_first_and_not_printed(
    open_bench: Callable[..., TestClient], demo: Path
) -> None:
    with (demo / "deck.csv").open("a") as deck:
        deck.write("no-such-part\n")
    client = open_bench(demo)
    html = client.get("/p/giants/cards").text
    assert "no-such-part" in html
    assert 'href="/p/giants/map"' in html.split("<main", 1)[1]
    assert "cards/print" not in html
    assert client.post("/p/giants/cards/print", data={"what": "cards"}).status_code == 422

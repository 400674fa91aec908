"""The cards page on the bundled demo: what it prints is what a PDF reader finds, hostile
pictures are refused, and what is written is what docs/project-folder.md says.
"""

from __future__ import annotations

import base64
import csv
import json
import os
import re
import shutil
import struct
import time
import zlib
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from fastapi.testclient import TestClient

import nervure
from nervure import press
from nervure.project import read_folder

GAMES = Path(nervure.__file__).parent / "maps" / "games"
PAGE = "/p/giants/cards"
SVG = (
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">'
    b'<circle cx="4" cy="4" r="3"/></svg>'
)
CREDIT = {"author": "A. Nobody (invented)", "licence": "CC0 1.0"}
TARGET = "iliacus"
# A grey picture of two by two pixels, made here chunk by chunk (PNG, third edition, 5).


def chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def png(width: int = 2, height: int = 2) -> bytes:
    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    rows = zlib.compress(b"\0\x80\x80" * 2)
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        [chunk(b"IHDR", header), chunk(b"IDAT", rows), chunk(b"IEND", b"")]
    )


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    return Path(shutil.copytree(GAMES / "giants-leg", tmp_path / "home" / "giants"))


@pytest.fixture(scope="session")
def printed_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A print of another hand: the verb's own, with pictures."""
    folder = tmp_path_factory.mktemp("printed")
    game = nervure.open(GAMES / "giants-leg").require_sound()
    press.print_deck(game, folder, ("backs", "previews"), dots_per_inch=40)
    return folder


@pytest.fixture
def printed(demo: Path, printed_once: Path) -> Path:
    shutil.copytree(printed_once, demo / "out" / "print")
    return demo


def waited(client: TestClient) -> str:
    for _ in range(1200):
        html = client.get(PAGE).text
        if "hx-trigger" not in html:
            return html
        time.sleep(0.1)
    raise AssertionError("the job did not end")


def upload(client: TestClient, data: bytes, name: str = "x.svg", **given: str) -> Any:
    form = {"target": TARGET} | CREDIT | given
    files = {"picture": (name, data)}
    return client.post(f"{PAGE}/art", data=form, files=files, follow_redirects=False)


def rows_of(project: Path) -> list[dict[str, str]]:
    with (project / "art" / "credits.csv").open(newline="") as file:
        return list(csv.DictReader(file))


# Printing


def test_printing_backs_gives_a_file_with_the_told_pages_and_a_picture_of_each_card(
    open_bench: Callable[..., TestClient], demo: Path
) -> None:
    client = open_bench(demo)
    client.post(f"{PAGE}/print", data={"what": "backs", "paper": "a4", "decks": "3"})
    html = waited(client)
    answer = client.get("/p/giants/out/print/backs.pdf")
    pages = len(pikepdf.open(BytesIO(answer.content)).pages)
    pictures = list((demo / "out" / "print" / "previews").glob("*.png"))

    row = re.search(r"backs\.pdf</a>.*?</tr>", html, re.S)
    assert row is not None
    assert f'<td class="n">{pages}</td>' in row.group()
    assert html.count("<img src") >= len(pictures) > 0
    assert 'L2 root, Root; fibres: L2"' in html.replace("&#34;", '"')
    assert "style=" not in html.split("<main", 1)[1]
    manifest = json.loads((demo / "out/print/manifest.json").read_text("utf-8"))
    assert manifest["decks"] == 3


def test_cards_are_printed_in_the_language_that_is_chosen(
    open_bench: Callable[..., TestClient], demo: Path
) -> None:
    client = open_bench(demo)
    client.post(f"{PAGE}/print", data={"what": "backs", "language": "de"})
    html = waited(client)

    manifest = json.loads((demo / "out/print/manifest.json").read_text("utf-8"))
    assert manifest["language"] == "de"
    assert "language de" in html


def test_a_print_of_the_verb_is_shown_with_its_files_and_pictures(
    open_bench: Callable[..., TestClient], printed: Path
) -> None:
    (printed / "out/print/poster-of-old.pdf").write_bytes(b"%PDF-1.7")
    html = open_bench(printed).get(PAGE).text

    assert html.count('loading="lazy"') == len(list((printed / "out/print/previews").iterdir()))
    assert "backs.pdf" in html
    old = re.search(r"poster-of-old\.pdf</a>.*?</tr>", html, re.S)
    assert old is not None
    assert "from an older print" in old.group()
    # 63 mm of 25.4 / 96 px: 238.1.
    assert 'width="238" height="333"' in html
    assert 'class="deck poker"' in html


def test_nothing_is_stale_right_after_a_print_and_a_picture_makes_its_card_stale(
    open_bench: Callable[..., TestClient], printed: Path
) -> None:
    client = open_bench(printed)
    before = client.get(PAGE).text
    upload(client, SVG)
    html = client.get(PAGE).text

    assert "changed since" not in before
    assert "One card has changed since the last print." in html


def test_another_size_makes_every_card_stale_and_is_written_into_game_toml_alone(
    open_bench: Callable[..., TestClient], printed: Path
) -> None:
    client = open_bench(printed)
    before = (printed / "game.toml").read_text("utf-8")
    answer = client.post(f"{PAGE}/look", data={"size": "tarot", "palette": "colour-safe"})
    html = answer.text  # the redirect is followed
    after = (printed / "game.toml").read_text("utf-8")

    added = [line for line in after.splitlines() if line not in before.splitlines()]
    gone = [line for line in before.splitlines() if line not in after.splitlines()]
    assert {'size = "tarot"', 'palette = "colour-safe"'} <= set(added)
    assert len(added) <= 3  # with [look], where there was none
    assert all(line.startswith(("size", "palette")) for line in gone)
    manifest = json.loads((printed / "out/print/manifest.json").read_text("utf-8"))
    assert f"{len(manifest['cards'])} cards have changed" in html
    assert (printed / "game.toml.bak").read_text("utf-8") == before


def test_a_tier_shows_its_own_cards_only(
    open_bench: Callable[..., TestClient], printed: Path
) -> None:
    client = open_bench(printed)
    game = nervure.open(printed).require_sound()
    roots = [s for s in game.structures if game.anatomy.tier_of(s) == "root" and game.copies[s]]
    html = client.get(PAGE, params={"only": "tier:root"}).text

    assert html.count('loading="lazy"') == len(roots)
    assert 'aria-current="true">Root' in html


def test_texts_that_do_not_fit_are_told_before_anything_is_printed(
    open_bench: Callable[..., TestClient], tmp_path: Path
) -> None:
    from nervure.project import start_from_map

    folder = tmp_path / "home" / "giants"
    start_from_map(folder, "leg")
    targets = folder / "map" / "targets.csv"
    lines = targets.read_text("utf-8").splitlines()
    long = "Unreasonablylongwordthatnocardcanevertakeonasinglelineofitsown"
    first = lines[1].split(",")
    first[1] = long
    targets.write_text("\n".join([lines[0], ",".join(first), *lines[2:]]) + "\n", "utf-8")
    html = open_bench(folder).get(PAGE).text

    assert "One text does not fit" in html
    assert f'<li class="red">{first[0]}, name:' in html
    assert not (folder / "out").exists()


@pytest.mark.parametrize(
    "form",
    [
        {"what": "../x"},
        {"what": "cards", "paper": "a0"},
        {},
        {"what": "cards", "language": "klingon"},
        {"what": "cards", "language": "../en"},
        {"what": "cards", "language": "x" * 5000},
        {"what": "cards", "decks": "0"},
        {"what": "cards", "decks": "99999999999"},
        {"what": "cards", "decks": "one"},
        {"what": "cards", "grey": "perhaps"},
    ],
)
def test_what_is_not_offered_is_refused(
    open_bench: Callable[..., TestClient], demo: Path, form: dict[str, str]
) -> None:
    client = open_bench(demo)
    answer = client.post(f"{PAGE}/print", data=form)
    assert 400 <= answer.status_code < 500
    assert "hx-trigger" not in client.get(PAGE).text


@pytest.mark.parametrize(
    "form",
    [{}, {"size": "giant"}, {"size": '"\nx = 1'}, {"palette": "grey"}, {"palette": "x" * 500}],
)
def test_a_look_that_is_not_offered_is_refused_and_nothing_written(
    open_bench: Callable[..., TestClient], demo: Path, form: dict[str, str]
) -> None:
    before = (demo / "game.toml").read_bytes()

    assert open_bench(demo).post(f"{PAGE}/look", data=form).status_code == 400
    assert (demo / "game.toml").read_bytes() == before


@pytest.mark.parametrize("only", ["tier:nowhere", "../..", "<script>", "x" * 79])
def test_a_group_that_is_not_there_shows_all(
    open_bench: Callable[..., TestClient], printed: Path, only: str
) -> None:
    html = open_bench(printed).get(PAGE, params={"only": only}).text

    assert html.count('loading="lazy"') > 60


def test_a_faulty_project_is_told_first_and_not_printed(
    open_bench: Callable[..., TestClient], demo: Path
) -> None:
    with (demo / "deck.csv").open("a") as deck:
        deck.write("no-such-part\n")
    client = open_bench(demo)
    html = client.get(PAGE).text
    assert "deck.csv, row" in html
    assert "no-such-part" in html
    assert "Fault(" not in html
    assert 'href="/p/giants/map"' in html.split("<main", 1)[1]
    assert "cards/print" not in html
    for address, form in (("print", {"what": "cards"}), ("look", {"size": "tarot"})):
        assert client.post(f"{PAGE}/{address}", data=form).status_code == 422
    assert upload(client, SVG).status_code == 422


@pytest.mark.parametrize(
    "content",
    [
        "",
        "{",
        "[]",
        "3",
        '{"version": 5, "files": 3, "cards": {}}',
        '{"files": [3, {}]}',
        "[" * 50_000,
        '{"version": "x", "cards": [{"card": 1}], "language": "en"}',
    ],
)
def test_a_damaged_manifest_hinders_nothing(
    open_bench: Callable[..., TestClient], demo: Path, content: str
) -> None:
    folder = demo / "out" / "print"
    folder.mkdir(parents=True)
    (folder / "manifest.json").write_text(content, "utf-8")
    client = open_bench(demo)

    assert client.get(PAGE).status_code == 200


# Pictures


@pytest.mark.parametrize(
    ("data", "ending"),
    [
        (SVG, ".svg"),
        (png(), ".png"),
        # The smallest JPEG of one pixel's frame header; from memory of ITU-T T.81, B.2.2.
        (b"\xff\xd8\xff\xc0\x00\x0b\x08\x00\x01\x00\x01\x01\x01\x11\x00\xff\xda\xff\xd9", ".jpg"),
    ],
)
def test_a_picture_is_stored_under_its_target_with_its_credit(
    open_bench: Callable[..., TestClient], demo: Path, data: bytes, ending: str
) -> None:
    client = open_bench(demo)
    answer = upload(client, data, name="../../evil.exe", changes="cropped")
    shown = client.get(f"{PAGE}/art/{TARGET}{ending}")

    assert answer.status_code == 303
    assert (demo / "art" / f"{TARGET}{ending}").read_bytes() == data
    assert rows_of(demo) == [{"file": f"{TARGET}{ending}", **CREDIT, "changes": "cropped"}]
    (picture,) = read_folder(demo).art
    assert (picture.card, picture.author, picture.changes) == (TARGET, CREDIT["author"], "cropped")
    assert shown.content == data
    assert "sandbox" in shown.headers["content-security-policy"]
    assert sorted(path.name for path in demo.parent.iterdir()) == ["giants"]


def test_a_second_picture_takes_the_place_of_the_first(
    open_bench: Callable[..., TestClient], demo: Path
) -> None:
    client = open_bench(demo)
    upload(client, SVG)
    upload(client, SVG, target="sartorius")
    upload(client, png(), author="B. Nobody")

    assert [row["file"] for row in rows_of(demo)] == [f"{TARGET}.png", "sartorius.svg"]
    assert (demo / "art" / f"{TARGET}.svg.bak").read_bytes() == SVG
    assert [picture.file.name for picture in read_folder(demo).art] == [
        f"{TARGET}.png",
        "sartorius.svg",
    ]
    assert not [f for f in nervure.open(demo).faults if f.place.file.startswith("art")]


def test_credits_that_a_spreadsheet_wrote_keep_their_manner(
    open_bench: Callable[..., TestClient], demo: Path
) -> None:
    (demo / "art").mkdir()
    (demo / "art" / "sartorius.png").write_bytes(png())
    (demo / "art" / "credits.csv").write_bytes(
        "\ufefffile;licence;author\r\nsartorius.png;CC0;Zoë\r\n".encode()
    )
    upload(open_bench(demo), SVG)

    assert (demo / "art" / "credits.csv").read_bytes() == (
        "\ufefffile;licence;author\r\nsartorius.png;CC0;Zoë\r\n"
        f"{TARGET}.svg;{CREDIT['licence']};{CREDIT['author']}\r\n"
    ).encode()


def svg(inside: str, attributes: str = "") -> bytes:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {attributes}>{inside}</svg>'.encode()


BITING = {
    "script": svg("<script>alert(1)</script>"),
    "script in capitals": svg("<SCRIPT>alert(1)</SCRIPT>"),
    "script of a prefix": svg('<s:script xmlns:s="http://www.w3.org/2000/svg">1</s:script>'),
    "handler": svg("", 'onload="alert(1)"'),
    "handler within": svg('<rect onclick="alert(1)"/>'),
    "handler by animation": svg('<set attributeName="onclick" to="alert(1)"/>'),
    "link by animation": svg('<a><animate attributeName="href" values="javascript:1"/></a>'),
    "script link": svg('<a href="javascript:alert(1)"><text>x</text></a>'),
    "script link in code": svg('<a href="&#106;avascript:alert(1)"><text>x</text></a>'),
    "picture from elsewhere": svg('<image href="https://elsewhere.example/x.png"/>'),
    "picture from the disk": svg('<image href="file:///etc/passwd"/>'),
    "picture beside": svg('<image href="../../game.toml"/>'),
    "old link": svg(
        '<use xlink:href="//elsewhere.example/x#a" xmlns:xlink="http://www.w3.org/1999/xlink"/>'
    ),
    "link with a blank": svg('<image href = " https://elsewhere.example/x.png"/>'),
    "picture in a picture": svg('<image href="data:image/svg+xml,%3Csvg%20onload=1%3E"/>'),
    "page in a picture": svg('<image href="data:text/html,x"/>'),
    "fill from elsewhere": svg('<rect fill="url(https://elsewhere.example/x#a)"/>'),
    "style from elsewhere": svg("<style>@import 'https://elsewhere.example/x.css';</style>"),
    "face from elsewhere": svg("<style>@font-face{src:url(//elsewhere.example/x)}</style>"),
    "style in escapes": svg(r"<style>*{fill:\75rl(//elsewhere.example/x)}</style>"),
    "style attribute": svg('<rect style="fill:url( &quot;http://elsewhere.example/&quot;)"/>'),
    "page within": svg('<foreignObject><p xmlns="http://www.w3.org/1999/xhtml"/></foreignObject>'),
    "frame": svg('<iframe xmlns="http://www.w3.org/1999/xhtml" src="#"/>'),
    "base": svg("", 'xml:base="https://elsewhere.example/"'),
    "entity": b'<!DOCTYPE svg [<!ENTITY a "b">]><svg xmlns="http://www.w3.org/2000/svg">&a;</svg>',
    "laughter": b'<!DOCTYPE svg [<!ENTITY a "ha"><!ENTITY b "&a;&a;">]><svg>&b;</svg>',
    "outer type": b'<!DOCTYPE svg SYSTEM "http://elsewhere.example/x.dtd"><svg></svg>',
    "sheet": b'<?xml-stylesheet href="http://elsewhere.example/x.css"?>' + svg(""),
    "unclosed": b'<svg xmlns="http://www.w3.org/2000/svg"><rect',
    "two bytes a letter": svg("").decode().encode("utf-16"),
    "a page": b"<html><svg></svg></html>",
    "deep": b"<svg>" + b"<g>" * 200_000,
}


@pytest.mark.parametrize("kind", BITING)
def test_an_svg_that_bites_is_refused(
    open_bench: Callable[..., TestClient], demo: Path, kind: str
) -> None:
    answer = upload(open_bench(demo), BITING[kind])

    assert answer.status_code == 400, answer.text
    assert not (demo / "art").exists()


@pytest.mark.parametrize(
    "inside",
    [
        '<defs><linearGradient id="a"/></defs><rect fill="url(#a)" transform="rotate(3)"/>',
        '<style>.a{fill:#123} rect{stroke:url("#b")}</style><rect class="a"/>',
        f'<image href="data:image/png;base64,{base64.b64encode(png()).decode()}"/>',
        '<symbol id="s"><path d="M0 0h3"/></symbol><use href="#s"/><title>on and off</title>',
    ],
)
def test_an_svg_that_holds_everything_is_taken(
    open_bench: Callable[..., TestClient], demo: Path, inside: str
) -> None:
    assert upload(open_bench(demo), svg(inside)).status_code == 303


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"GIF89a\x01\x00\x01\x00",
        b"%PDF-1.7",
        b"MZ" + b"\0" * 200,
        png()[:-9],
        png()[:30],
        png()[:40] + b"x" + png()[41:],
        png(100_000, 100_000),
        png(0, 5),
        b"\xff\xd8",
        b"\xff\xd8\xff\xc0\x00",
        b"\xff\xd8\xff\xe0\x00\x02" + b"\0" * 50,
        b"\0" * 13_000_000,
    ],
    ids=range(13),
)
def test_what_is_no_whole_picture_is_refused(
    open_bench: Callable[..., TestClient], demo: Path, data: bytes
) -> None:
    answer = upload(open_bench(demo), data, name="x.png")

    assert answer.status_code == 400
    assert not (demo / "art").exists()


def test_a_file_past_the_bound_is_refused_while_it_comes(
    open_bench: Callable[..., TestClient], demo: Path
) -> None:
    assert upload(open_bench(demo), b"\0" * 22_000_000).status_code == 413


@pytest.mark.parametrize(
    "given",
    [
        {"target": "../../evil"},
        {"target": "credits"},
        {"target": "l2"},
        {"target": "x" * 5000},
        {"target": ""},
        {"author": ""},
        {"licence": "  "},
        {"author": "=HYPERLINK(1)"},
        {"licence": "@SUM(1)"},
        {"changes": "+1"},
        {"author": "a\0b"},
        {"author": "x" * 301},
    ],
)
def test_a_picture_for_nothing_or_without_credit_is_refused(
    open_bench: Callable[..., TestClient], demo: Path, given: dict[str, str]
) -> None:
    answer = upload(open_bench(demo), SVG, **given)

    assert answer.status_code in (400, 404)
    assert not (demo / "art").exists()
    assert sorted(path.name for path in demo.parent.iterdir()) == ["giants"]


@pytest.mark.skipif(os.name != "posix", reason="links need rights elsewhere")
@pytest.mark.parametrize("linked", ["art", "art/iliacus.svg", "art/credits.csv"])
def test_nothing_is_written_through_a_link_out_of_the_project(
    open_bench: Callable[..., TestClient], demo: Path, tmp_path: Path, linked: str
) -> None:
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "file").write_text("file,author,licence\n")
    (demo / linked).parent.mkdir(exist_ok=True)
    (demo / linked).symlink_to(outside if linked == "art" else outside / "file")
    upload(open_bench(demo), SVG)

    assert [path.name for path in outside.iterdir()] == ["file"]
    assert (outside / "file").read_text() == "file,author,licence\n"


@pytest.mark.parametrize("name", ["..%2Fgame.toml", "credits.csv", "nothing.svg", "%00.svg"])
def test_only_pictures_of_the_project_are_shown(
    open_bench: Callable[..., TestClient], demo: Path, name: str
) -> None:
    client = open_bench(demo)
    upload(client, SVG)

    assert client.get(f"{PAGE}/art/{name}").status_code == 404


def test_another_site_cannot_put_a_picture_there(
    open_bench: Callable[..., TestClient], demo: Path
) -> None:
    answer = open_bench(demo).post(
        f"{PAGE}/art",
        data={"target": TARGET} | CREDIT,
        files={"picture": ("x.svg", SVG)},
        headers={"origin": "http://elsewhere.example"},
    )

    assert answer.status_code == 403
    assert not (demo / "art").exists()

"""The page of a check: true to the record, whole in itself, readable in both lights."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from importlib import resources
from pathlib import Path

import pytest

from nervure import words
from nervure.anatomy.evidence import evidence
from nervure.game import read_game
from nervure.project import read_folder
from nervure.report import CheckRecord, Step, check_page, check_record, index_page
from nervure.report.pages import asset, percent
from nervure.typeset.colour import contrast

GAMES = resources.files("nervure.maps") / "games"
VOID = {"meta", "link", "br", "img", "input", "hr"}


def copied(name: str, to: Path) -> Path:
    (to / "game.toml").write_text((GAMES / name / "game.toml").read_text("utf-8"), "utf-8")
    return to


def recorded(path: Path, review: Path | None = None) -> CheckRecord:
    game = read_game(read_folder(path))
    return check_record(game, game.faults, review)


@pytest.fixture(scope="module")
def leg(tmp_path_factory: pytest.TempPathFactory) -> CheckRecord:
    return recorded(copied("giants-leg", tmp_path_factory.mktemp("leg")))


@pytest.fixture(scope="module")
def page(leg: CheckRecord) -> str:
    return check_page(leg)


SMALL = {
    "tiers": "tier,name\nroot,Root\nnerve,Nerve\n",
    "structures": "structure,tier,name,short\nl4,root,L4 root,L4\nl5,root,L5 root,L5\n"
    "shin-nerve,nerve,Shin <nerve>,Shin\n",
    "links": "from,to,fibres\nl4,shin-nerve,l4\nl5,shin-nerve,l5\n",
    "targets": "target,name,kind\nshin,Shin muscle,muscle\n",
    "supplies": "target,through,fibres\nshin,shin-nerve,l4\n",
}


def small_folder(path: Path, **changed: str) -> Path:
    (path / "map").mkdir()
    for name, text in (SMALL | changed).items():
        (path / "map" / f"{name}.csv").write_text(text, "utf-8")
    (path / "game.toml").write_text('title = "Shin & <Sons>"\n', "utf-8")
    return path


@pytest.fixture(scope="module")
def faulty(tmp_path_factory: pytest.TempPathFactory) -> CheckRecord:
    """Give a folder whose map names an origin that does not exist, in row 3 of links."""
    links = SMALL["links"].replace("shin-nerve,l5", "shin-nerve,l9")
    return recorded(small_folder(tmp_path_factory.mktemp("faulty"), links=links))


class Balance(HTMLParser):
    """Collects tags that are not closed in order, and every attribute by name."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.wrong: list[str] = []
        self.attributes: list[tuple[str, str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.attributes += [(tag, name, value or "") for name, value in attrs]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.attributes += [(tag, name, value or "") for name, value in attrs]

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)


def balance(html: str) -> Balance:
    found = Balance()
    found.feed(html)
    return found


def text_of(html: str) -> str:
    body = re.sub(r"<(style|title|desc)\b.*?</\1>", "", html, flags=re.DOTALL)
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", body))


def test_page_asks_for_nothing_outside_itself(page: str) -> None:
    assert "<script" not in page
    assert "@import" not in page
    loading = [
        value
        for tag, name, value in balance(page).attributes
        if name in ("src", "srcset", "href") and tag != "a" and not value.startswith("#")
    ]
    assert not loading
    assert all(url.startswith("data:") for url in re.findall(r"url\(([^)]*)", page))


def test_page_is_smaller_than_a_megabyte_and_a_half(page: str) -> None:
    assert len(page.encode()) < 1_500_000


def test_tags_are_closed_in_order(page: str) -> None:
    found = balance(page)

    assert not found.wrong
    assert not found.open


def test_ids_stand_once_and_every_link_within_the_page_arrives(page: str) -> None:
    attributes = balance(page).attributes
    ids = [value for _, name, value in attributes if name == "id"]
    links = [value for tag, name, value in attributes if name == "href" and value[:1] == "#"]

    assert len(ids) == len(set(ids))
    assert {link[1:] for link in links} <= set(ids)
    assert links


def test_what_describes_a_part_of_the_page_exists(page: str) -> None:
    attributes = balance(page).attributes
    ids = {value for _, name, value in attributes if name == "id"}

    named = {
        value for _, name, value in attributes if name in ("aria-labelledby", "aria-describedby")
    }

    assert named
    assert named <= ids


def test_caution_stands_beside_the_leaf_and_at_the_foot(page: str) -> None:
    assert page.count(words.say("caution.lesions")) == 2


def test_table_of_pathways_names_every_pathway_of_every_target(
    leg: CheckRecord, page: str
) -> None:
    table = page.split("<details", 2)[1].split("</table>")[0]
    rows = re.findall(r"<td>(.*?)</td><td>(.*?)</td></tr>", table)

    fibres = [fibre for cell, _ in rows for fibre in text_of(cell).split()]

    main: dict[tuple[str, tuple[str, ...]], bool] = {}
    for pathway in leg.anatomy.all_pathways:  # two rows of the map may bear out one sequence
        key = (pathway.target, pathway.structures)
        main[key] = main.get(key, False) or pathway.main
    assert len(fibres) == len(main)
    assert sum(cell.count("<b>") for cell, _ in rows) == sum(main.values())


def test_every_disputed_target_has_a_drawer_with_all_its_readings(
    leg: CheckRecord, page: str
) -> None:
    drawers = re.findall(
        r'<details class="drawer" id="sources-([a-z0-9-]+)">(.*?)</details>', page, re.S
    )

    assert {target for target, _ in drawers} == set(evidence(leg.anatomy).disputes)
    for target, drawer in drawers:
        readings = [row for row in leg.anatomy.map.readings if row.target == target]
        assert drawer.count("<span title=") == len(readings)


def test_targets_show_the_points_and_chances_of_the_record(leg: CheckRecord, page: str) -> None:
    assert leg.exact is not None
    check = leg.exact.targets["tibialis-anterior"]
    row = re.search(r'<tr><th scope="row">Tibialis anterior</th>(.*?)</tr>', page, re.S)
    assert row is not None

    points = [int(found) for found in re.findall(r"<b>(\d+)</b>", row.group(1))]
    chances = re.findall(r'<span class="chance">~?([^<]+)<', row.group(1))

    assert tuple(points) == check.points
    longest = percent(check.odds.at(check.longest, check.odds_cards), 1)
    assert chances[-1].replace("&lt;", "<").replace("&gt;", ">") == longest


def test_fault_shows_its_file_row_column_and_sentence(faulty: CheckRecord) -> None:
    (fault,) = [fault for fault in faulty.faults if fault.value == "l9"]

    text = text_of(check_page(faulty))

    sentence = fault.message.removeprefix(f"{fault.place}: ")
    assert f"3 fibres {sentence}".replace("'", "&#39;") in text
    assert "map/links.csv" in text


@pytest.mark.parametrize(
    "changed",
    [
        {"structures": SMALL["structures"].replace("shin-nerve,nerve", "shin-nerve,nervv")},
        {"targets": "target,name,kind\n", "supplies": "target,through,fibres\n"},
        {"links": "from,to,fibres\n"},
        {"structures": "structure,tier,name,short\n", "links": "from,to,fibres\n"},
        {"tiers": "tier,name\n"},
        {"structures": SMALL["structures"] + "l4,nerve,L4 again,L4\n"},
        {"targets": SMALL["targets"] + "l4,Also an origin,muscle\n"},
        {"links": SMALL["links"] + "shin-nerve,l4,l5\n"},
        {
            "sources": "source,citation,kind,how_obtained\na,A,paper,looked up\n",
            "readings": "target,through,fibres,main_fibres,source\nnone,shin-nerve,l4,,a\n"
            "shin,none,l5,,a\nshin,shin-nerve,l9,,b\n",
        },
    ],
    ids=[
        "unknown tier",
        "no targets",
        "no links",
        "no structures",
        "no tiers",
        "structure twice",
        "target named as an origin",
        "link to a more proximal tier",
        "readings of what does not exist",
    ],
)
def test_a_faulty_folder_still_gets_a_whole_page(changed: dict[str, str], tmp_path: Path) -> None:
    record = recorded(small_folder(tmp_path, **changed))

    html = check_page(record)

    assert not record.ok
    assert not balance(html).wrong
    assert all(fault.place.file in html for fault in record.faults)
    assert not re.search(r'"[^"]*\b(nan|inf)\b[^"]*"/>', html)


def test_nothing_is_counted_while_there_are_errors(faulty: CheckRecord) -> None:
    assert not faulty.ok
    assert faulty.exact is None
    assert words.say("check.targets.not-counted") in text_of(check_page(faulty))


def test_names_and_titles_cannot_write_markup(faulty: CheckRecord) -> None:
    html = check_page(faulty)

    assert "<Sons>" not in html
    assert "<nerve>" not in html
    assert "Shin &amp; &lt;Sons&gt;" in html


def test_record_has_the_keys_that_the_command_promises(leg: CheckRecord) -> None:
    data = json.loads(json.dumps(leg.to_dict()))

    # docs/commands.md, row `check`.
    promised = "ok faults map targets untrue_strands printed_test ending evidence"
    assert set(promised.split()) <= set(data)
    sequences = {(pathway.target, pathway.structures) for pathway in leg.anatomy.all_pathways}
    assert data["map"]["pathways"] == len(sequences)


def test_review_sheet_has_a_line_a_supply_and_comes_back(leg: CheckRecord, tmp_path: Path) -> None:
    lines = leg.review_sheet.split("\r\n")
    header = lines[0].split(",")
    assert len(lines) - 2 == len(leg.anatomy.map.supplies)
    assert header[-3:] == ["agree", "disagree", "comment"]

    sheet = tmp_path / "review.csv"
    lines[1] = lines[1].removesuffix(",,,") + ",x,,"
    sheet.write_bytes("\r\n".join(lines).encode())
    game = leg.game
    back = check_record(game, game.faults, sheet)

    assert back.review is not None
    assert back.review.count("agree") == 1
    assert "1 agreed, 0 disagreed" in text_of(check_page(back))


def colours(css: str, light: bool) -> dict[str, str]:
    """Give the colour tokens of the light or the dark set."""
    blocks = re.findall(r":root \{(.*?)\}", css, re.S)
    return dict(re.findall(r"--([a-z-]+): *(#[0-9a-f]{6})", blocks[0 if light else 1]))


# WCAG 2.2, success criteria 1.4.3 (text, 4.5 : 1) and 1.4.11 (graphics, 3 : 1).
@pytest.mark.parametrize("light", [True, False])
@pytest.mark.parametrize(
    ("front", "back", "floor"),
    [
        ("ink", "mount", 4.5),
        ("ink", "paper", 4.5),
        ("ink", "blade", 4.5),
        ("ink", "tint", 4.5),
        ("quiet", "mount", 4.5),
        ("quiet", "paper", 4.5),
        ("quiet", "tint", 4.5),
        ("leafred", "mount", 4.5),
        ("leafred", "leafred-wash", 4.5),
        ("vein", "blade", 3.0),
        ("vein", "sheath", 3.0),
        ("unlit", "blade", 3.0),
        ("line", "paper", 3.0),
        ("lit", "unlit", 3.0),
    ],
)
def test_colours_keep_their_contrast(front: str, back: str, floor: float, light: bool) -> None:
    found = colours(asset("pages.css"), light)

    assert contrast(found[front], found[back]) >= floor


def test_index_links_what_is_made_and_says_what_is_not() -> None:
    steps = [
        Step("Check", "check.html", "order", "50 structures, no fault."),
        Step("Playtest", "playtest/playtest.html", "attention", "One goal fails."),
        Step("Cards", "print/sheets.pdf", "unmade", "nervure print makes them."),
    ]

    html = index_page("The Giant's Leg", steps)
    links = [
        value for tag, name, value in balance(html).attributes if name == "href" and tag == "a"
    ]

    assert {"check.html", "playtest/playtest.html"} <= set(links)
    assert "print/sheets.pdf" not in links
    assert words.say("report.state-unmade") in html
    assert all(step.sentence in html for step in steps)
    assert not balance(html).wrong


@pytest.mark.parametrize(
    ("share", "places", "written"),
    [
        (0.25, 0, "25\u202f%"),
        (0.004, 0, "<\u202f1\u202f%"),
        (0.004, 1, "0.4\u202f%"),
        (0.0004, 1, "<\u202f0.1\u202f%"),
        (0.999, 0, ">\u202f99\u202f%"),
        (1.0, 0, "100\u202f%"),
        (0.0, 0, "0\u202f%"),
    ],
)
def test_percentages_never_round_something_to_nothing(
    share: float, places: int, written: str
) -> None:
    assert percent(share, places) == written


@pytest.mark.parametrize("template", ["check.html", "base.html", "index.html"])
def test_every_text_that_a_template_asks_for_exists(template: str) -> None:
    text = (resources.files("nervure.report") / "templates" / template).read_text("utf-8")

    whole = set(re.findall(r'say\("([a-z.-]+[a-z])"', text))
    own = {f"check.{key}" for key in re.findall(r'told\("([a-z.-]+[a-z])"', text)}
    counted = re.findall(r'counted\("([a-z.-]+[a-z])"', text)
    by_count = {f"check.{key}-{ending}" for key in counted for ending in ("one", "many")}

    missing = sorted(key for key in whole | own | by_count if not words.has(key))

    assert whole
    assert not missing

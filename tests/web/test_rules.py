"""The page of the rules: what it shows is what ``check`` finds, what it saves is what was chosen.

Expected values come from docs/rules.md (its table of keys), from TOML read by the standard
library, and from the same files asked through `nervure.open`, as the command does.
"""

from __future__ import annotations

import json
import re
import shutil
import time
import tomllib
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from hypothesis import given, settings
from hypothesis import strategies as st

import nervure
from nervure.errors import FaultyProject, Place, error
from nervure.game import Rules, check_game
from nervure.web.pages.rules.fields import CannotShow, fields_for
from nervure.web.pages.rules.form import default_of

PACKAGE = Path(nervure.__file__).parent
GAMES = PACKAGE / "maps" / "games"
ROOT = PACKAGE.parent.parent
Form = dict[str, list[str]]

GAME = """\
# Invented for these tests.
title = "Locks"

[map]
name = "gut"

[rules]
players = [2, 4]
hand = 4
open_targets = 4
display = 3
draw_count = 2
play_count = 2
parts_show = "links-and-targets"          # a table without a computer can referee

# The bell.
[rules.end]
2 = ["claims: 6", "stock-empty"]
4 = ["claims: 4", "stock-empty"]

[points]
method = "difficulty"
range = [1, 6]
"""

DECK = "card,copies,points,bonus\ncoeliac,4,,\nsuperior-mesenteric,4,,\nsplenic,3,,\n"

BONUSES = """
[[bonus]]
id = "spare-barge"    # a note
does = ["draw 2"]
says = "A spare barge: draw two."

[[bonus]]
id = "toll"
when = "lasting"
does = ["points 2 organ", "hand 1"]
"""


class Reader(HTMLParser):
    """Reads a form as a browser would send it."""

    def __init__(self) -> None:
        super().__init__()
        self.form: Form = {}
        self._inside = False
        self._select: list[Any] | None = None
        self._area: list[str] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "form":
            self._inside = given.get("id") == "form"
        if not self._inside:
            return
        if tag == "input" and given.get("name"):
            if given.get("type") != "checkbox" or "checked" in given:
                self.form.setdefault(str(given["name"]), []).append(given.get("value") or "")
        elif tag == "select":
            self._select = [given["name"], None, False]
        elif tag == "option" and self._select is not None:
            if self._select[1] is None or "selected" in given:
                self._select[1] = given.get("value", "")
                self._select[2] = "value" not in given
        elif tag == "textarea":
            self._area = [str(given["name"]), ""]

    def handle_data(self, data: str) -> None:
        if self._select is not None and self._select[2]:
            self._select[1] = data.strip()
            self._select[2] = False
        if self._area is not None:
            self._area[1] += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._inside = False
        elif tag == "select" and self._select is not None:
            self.form.setdefault(self._select[0], []).append(self._select[1])
            self._select = None
        elif tag == "textarea" and self._area is not None:
            self.form.setdefault(self._area[0], []).append(self._area[1])
            self._area = None


def form_in(html: str) -> Form:
    reader = Reader()
    reader.feed(html)
    return reader.form


@pytest.fixture
def locks(tmp_path: Path) -> Path:
    """A small game on the gut with two bonuses."""
    folder = tmp_path / "home" / "locks"
    folder.mkdir(parents=True)
    (folder / "game.toml").write_text(GAME + BONUSES, "utf-8")
    (folder / "deck.csv").write_text(DECK, "utf-8")
    return folder


@pytest.fixture
def client(open_bench: Callable[..., TestClient], locks: Path) -> TestClient:
    return open_bench(locks)


def shown(client: TestClient, id: str = "locks") -> Form:
    return form_in(client.get(f"/p/{id}/rules").text)


def weighed(client: TestClient, form: Form, id: str = "locks") -> dict[str, Any]:
    """Give what a form does, once it has been worked out."""
    for _ in range(120):
        answer = client.post(f"/p/{id}/rules/weigh", data=form)
        assert answer.status_code == 200, answer.text
        if not answer.json()["working"]:
            return dict(answer.json())
        time.sleep(0.25)
    raise AssertionError("the figures never came")


def save(client: TestClient, form: Form, id: str = "locks") -> Any:
    return client.post(f"/p/{id}/rules/save", data=form, follow_redirects=False)


def spaced(count: int) -> str:
    return f"{count:,}".replace(",", "\u202f")


def toml_of(folder: Path) -> dict[str, Any]:
    return tomllib.loads((folder / "game.toml").read_text("utf-8"))


# What is shown


def test_every_key_of_the_rules_has_its_sentence(client: TestClient) -> None:
    table = (ROOT / "docs" / "rules.md").read_text("utf-8").split("## Strands")[0]
    rows = re.findall(r"^\| ([a-z_, ]+) \|", table, re.MULTILINE)
    keys = {key.strip() for row in rows for key in row.split(",")} - {"key"}
    keys -= {"---"}

    html = client.get("/p/locks/rules").text

    assert keys == set(Rules.model_fields)
    assert {key for key in keys if f'id="rule-{key}"' not in html} == set()


@pytest.mark.parametrize("name", ["lock-keepers", "giants-leg"])
def test_what_a_page_shows_changes_nothing(
    open_bench: Callable[..., TestClient], tmp_path: Path, name: str
) -> None:
    folder = Path(shutil.copytree(GAMES / name, tmp_path / "home" / name))
    client = open_bench(folder)
    before = (folder / "game.toml").read_bytes()
    form = shown(client, name)

    answer = save(client, form, name)

    assert weighed(client, form, name)["changes"] == 0
    assert answer.headers["location"].endswith("told=nothing")
    assert (folder / "game.toml").read_bytes() == before


def test_a_page_holds_no_inline_style_or_script(client: TestClient) -> None:
    html = client.get("/p/locks/rules").text

    assert not re.search(r"<style|<script(?![^>]*src=)|\sstyle=|\son[a-z]+=", html)


def test_the_figures_are_those_of_the_check(client: TestClient, locks: Path) -> None:
    form = shown(client) | {
        "claim_minimum": ["3"],
        "parts_show": ["links"],
        "targets_show": ["nothing"],
    }
    text = (locks / "game.toml").read_text("utf-8")
    copy = Path(shutil.copytree(locks, locks.parent / "copy"))
    (copy / "game.toml").write_text(
        text.replace(
            "[rules]\n", '[rules]\ntargets_show = "nothing"\nclaim_minimum = 3\n'
        ).replace("links-and-targets", "links"),
        "utf-8",
    )

    html = weighed(client, form)["html"]

    check = check_game(nervure.open(copy).game)
    strands = sum(n for cards, n in check.legal_strands.items() if cards > 1)
    figures = re.findall(r'<dd class="figure">([^<]*)</dd>', html)
    assert figures[0] == spaced(strands)
    assert figures[1] == str(check.untrue_strands.count)
    sides = (check.printed_test.passing_untrue, check.printed_test.failing_true)
    wrong = [side for side in sides if side.strands or side.claims]
    assert wrong
    for side in wrong:
        assert f"strands {spaced(side.strands)}, claims {spaced(side.claims)}" in html


def test_a_difference_is_said_in_words(client: TestClient, locks: Path) -> None:
    saved = check_game(nervure.open(locks).game).part_cards
    deck = {"digest": "", "changes": [{"kind": "add", "row": 1, "now": ["wild:any", "3", "", ""]}]}

    html = weighed(client, shown(client) | {"deck": [json.dumps(deck)]})["html"]

    assert f">{saved + 3}<" in html
    assert "3 more than saved" in html


def test_a_bad_value_says_why_in_the_sentence_of_the_check(
    client: TestClient, locks: Path
) -> None:
    why = weighed(client, shown(client) | {"hand": ["99"]})["why"]

    text = (locks / "game.toml").read_text("utf-8").replace("hand = 4", "hand = 99")
    (locks / "game.toml").write_text(text, "utf-8")
    found = [fault.message for fault in nervure.open(locks).faults if fault.level == "error"]
    assert why["rules.hand"] in found


def test_the_end_is_reasoned_before_it_is_saved(client: TestClient) -> None:
    form = shown(client) | {"draws": ["stock", "lift"], "end.by": [], "end": ["claims"]}

    html = weighed(client, form)["html"]

    assert "can be put off by lift" in html
    assert "Saved: certain" in html


# What is saved

CHOICES: list[tuple[dict[str, list[str]], str, Any]] = [
    ({"players.low": ["1"], "players.high": ["3"]}, "players", [1, 3]),
    ({"tiers": ["source", "trunk", "branch"]}, "tiers", None),
    ({"targets": ["organ", "skin"]}, "targets", None),
    ({"hand": ["5"]}, "hand", 5),
    (
        {"hand.by": ["yes"], **{f"hand.{n}": ["5" if n < 4 else "4"] for n in range(1, 7)}},
        "hand",
        {"2": 5, "4": 4},
    ),
    ({"seat_cards.3": ["1"], "seat_cards.4": ["2"]}, "seat_cards", [0, 0, 1, 2]),
    ({"open_targets": ["3"]}, "open_targets", 3),
    ({"secret_targets": ["1"]}, "secret_targets", 1),
    ({"display": ["0"]}, "display", 0),
    ({"draws": ["stock", "take-loose"]}, "draws", ["stock", "take-loose"]),
    ({"draw_count": ["3"]}, "draw_count", 3),
    ({"play_count": ["1"]}, "play_count", 1),
    ({"must_play": ["no"]}, "must_play", False),
    ({"connect": ["neighbours"]}, "connect", "neighbours"),
    ({"skip_tiers": ["no"]}, "skip_tiers", False),
    ({"insert": ["yes"]}, "insert", True),
    ({"supply": ["last-card"]}, "supply", "last-card"),
    ({"claim_needs": ["none"]}, "claim_needs", []),
    ({"claim_needs": ["both"]}, "claim_needs", ["last", "origin"]),
    ({"claim_minimum": ["3"]}, "claim_minimum", 3),
    ({"claim_real": ["2"]}, "claim_real", 2),
    ({"full_strand": ["deck"]}, "full_strand", "deck"),
    ({"join": ["instead-of-play"]}, "join", "instead-of-play"),
    ({"claim": ["instead-of-play"]}, "claim", "instead-of-play"),
    ({"refill": ["no"]}, "refill", False),
    ({"swapped_go": ["under"]}, "swapped_go", "under"),
    ({"may_pass": ["always"]}, "may_pass", "always"),
    ({"late_lifts": ["0"]}, "late_lifts", 0),
    ({"end.by": [], "end": ["rounds"], "end.rounds": ["9"]}, "end", ["rounds: 9"]),
    ({"tie_breaks": ["claims", "target:ileum", ""]}, "tie_breaks", ["claims", "target:ileum"]),
    ({"parts_show": ["links"]}, "parts_show", "links"),
    ({"targets_show": ["way"]}, "targets_show", "way"),
]


@pytest.mark.parametrize(("choice", "key", "value"), CHOICES)
def test_a_choice_is_saved_as_its_key(
    client: TestClient, locks: Path, choice: Form, key: str, value: Any
) -> None:
    map_ = nervure.open(locks).folder.map
    if key == "tiers":
        value = [tier.id for tier in map_.tiers][:-1]
        choice = {"tiers": value}
    if key == "targets":
        value = ["organ", map_.targets[0].id]
        choice = {"targets": value}
    if key == "tie_breaks":
        value = ["claims", f"target:{map_.targets[0].id}"]
        choice = {"tie_breaks": [*value, ""]}
    before = toml_of(locks)

    answer = save(client, shown(client) | choice)

    after = toml_of(locks)
    assert answer.headers.get("location", "").endswith("told=saved"), answer.status_code
    assert after["rules"].pop(key) == value
    before["rules"].pop(key, None)
    assert after == before


def test_every_key_is_tried_above() -> None:
    assert {key for _, key, _ in CHOICES} == set(Rules.model_fields)


def test_notes_and_order_of_the_file_stay(client: TestClient, locks: Path) -> None:
    before = (locks / "game.toml").read_text("utf-8")

    save(client, shown(client) | {"hand": ["5"], "points.range.high": ["8"]})

    wanted = before.replace("hand = 4", "hand = 5").replace("range = [1, 6]", "range = [1, 8]")
    assert (locks / "game.toml").read_text("utf-8") == wanted
    assert (locks / "game.toml.bak").read_text("utf-8") == before


def test_another_hand_in_another_key_is_merged_and_told(client: TestClient, locks: Path) -> None:
    form = shown(client) | {"hand": ["5"]}
    text = (locks / "game.toml").read_text("utf-8")
    (locks / "game.toml").write_text(text.replace("display = 3", "display = 2"), "utf-8")

    answer = save(client, form)

    assert answer.headers["location"].endswith("told=saved-merged")
    assert "not in the same sentences" in client.get(answer.headers["location"]).text
    assert (toml_of(locks)["rules"]["hand"], toml_of(locks)["rules"]["display"]) == (5, 2)


def test_another_hand_in_the_same_key_is_shown_and_nothing_written(
    client: TestClient, locks: Path
) -> None:
    form = shown(client) | {"hand": ["5"]}
    text = (locks / "game.toml").read_text("utf-8").replace("hand = 4", "hand = 6")
    (locks / "game.toml").write_text(text, "utf-8")

    answer = save(client, form)

    assert answer.status_code == 409
    row = re.search(r"rules\.hand</th><td>(.*?)</td><td>(.*?)</td><td>(.*?)</td>", answer.text)
    assert row
    assert row.groups() == ("4", "5", "6")
    assert form_in(answer.text)["hand"] == ["5"]
    assert (locks / "game.toml").read_text("utf-8") == text


def test_the_last_save_is_undone(client: TestClient, locks: Path) -> None:
    before = (locks / "game.toml").read_bytes()
    save(client, shown(client) | {"hand": ["5"]})

    answer = client.post("/p/locks/rules/undo")

    assert "undone" in answer.text
    assert (locks / "game.toml").read_bytes() == before


def test_a_save_is_not_undone_over_another_hand(client: TestClient, locks: Path) -> None:
    save(client, shown(client) | {"hand": ["5"]})
    with (locks / "game.toml").open("a") as file:
        file.write("# by another hand\n")
    before = (locks / "game.toml").read_bytes()

    assert "cannot be undone" in client.post("/p/locks/rules/undo").text
    assert (locks / "game.toml").read_bytes() == before


def test_an_edit_that_cannot_be_written_is_stored_and_taken_up_again(
    client: TestClient, locks: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def held(*_: object, **__: object) -> None:
        raise FaultyProject([error("not-written", Place("game.toml"), reason="held open")])

    form = shown(client) | {"hand": ["5"]}
    monkeypatch.setattr("nervure.project.game_file.write_bytes_safely", held)
    answer = save(client, form)
    monkeypatch.undo()

    assert answer.status_code == 423
    assert "held open" in answer.text
    assert 'id="draft"' in client.get("/p/locks/rules").text
    taken = form_in(client.post("/p/locks/rules/draft", data={"what": "take"}).text)
    assert taken["hand"] == ["5"]
    assert save(client, taken).headers["location"].endswith("told=saved")
    assert 'id="draft"' not in client.get("/p/locks/rules").text


def test_a_new_error_is_not_saved(client: TestClient, locks: Path) -> None:
    before = (locks / "game.toml").read_bytes()

    answer = save(client, shown(client) | {"hand": ["99"]})

    assert answer.status_code == 422
    assert "99 does not fit" in answer.text
    assert form_in(answer.text)["hand"] == ["99"]
    assert (locks / "game.toml").read_bytes() == before


def test_a_game_with_faults_is_mended_one_at_a_time(client: TestClient, locks: Path) -> None:
    text = (locks / "game.toml").read_text("utf-8")
    text = text.replace("hand = 4", "hand = 99").replace("display = 3", "display = 99")
    (locks / "game.toml").write_text(text, "utf-8")

    answer = save(client, shown(client) | {"hand": ["4"]})

    assert answer.headers["location"].endswith("told=saved")
    assert toml_of(locks)["rules"]["display"] == 99


def test_a_value_without_a_place_is_kept_until_it_is_mended(
    client: TestClient, locks: Path
) -> None:
    text = (locks / "game.toml").read_text("utf-8")
    (locks / "game.toml").write_text(text.replace("hand = 4", "hand = [4]"), "utf-8")
    form = shown(client)

    save(client, form | {"display": ["2"]})
    assert toml_of(locks)["rules"]["hand"] == [4]
    save(client, shown(client) | {"mend": ["rules.hand"]})

    assert toml_of(locks)["rules"]["hand"] == 4


# Bonuses


def test_a_bonus_is_composed_and_its_sentence_derived(client: TestClient, locks: Path) -> None:
    form = shown(client) | {
        "bonus.2.id": ["tow"],
        "bonus.2.when": ["one-time"],
        "bonus.2.does.0": ["play"],
        "bonus.2.does.0.amount": ["2"],
        "bonus.2.does.1": ["exchange-open"],
    }

    told = weighed(client, form)
    answer = save(client, form)

    assert answer.headers["location"].endswith("told=saved")
    assert toml_of(locks)["bonus"][2] == {
        "id": "tow",
        "when": "one-time",
        "does": ["play 2", "exchange-open"],
    }
    sentence = dict(nervure.game.sentences(nervure.open(locks).game))["bonus.tow"]
    assert told["derived"]["2"] == sentence


def test_a_bonus_of_its_own_words_shows_the_derived_ones_beside(client: TestClient) -> None:
    html = client.get("/p/locks/rules").text

    assert "A spare barge: draw two." in html
    assert "Once, in your own turn: draw 2." in html


def test_only_operations_of_its_kind_are_offered_for_a_bonus(client: TestClient) -> None:
    html = client.get("/p/locks/rules").text
    offered = html.split('name="bonus.1.does.0"')[1].split("</select>")[0]

    # docs/rules.md: lasting: guard-loose, hand N, short-claim N, points N KIND.
    names = set(re.findall(r'value="([a-z-]+)"', offered))
    assert names == {"guard-loose", "hand", "short-claim", "points"}


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"bonus.0.does.0": ["cancel-take"]}, "is nothing that a bonus of kind"),
        ({"bonus.0.does.0.amount": ["many"]}, "is nothing that a bonus of kind"),
        ({"bonus.0.id": ["Spare Barge"]}, "lower-case words joined by hyphens"),
        ({"bonus.0.id": [""]}, "needs an id"),
        ({"bonus.0.id": ["toll"]}, "taken by another bonus"),
        ({"bonus.2.id": ["toll"], "bonus.2.does.0": ["draw"]}, "taken by another bonus"),
        ({"bonus.0.when": ["sometimes"]}, "one-time"),
        ({"bonus.0.does.0": [""], "bonus.0.does.0.amount": [""]}, "does not fit"),
    ],
)
def test_a_bonus_that_cannot_be_says_why_and_is_not_saved(
    client: TestClient, locks: Path, fields: Form, told: str
) -> None:
    before = (locks / "game.toml").read_bytes()
    form = shown(client) | fields

    why = weighed(client, form)["bonusWhy"]
    answer = save(client, form)

    assert told in " ".join(why.values())
    assert answer.status_code == 422
    assert (locks / "game.toml").read_bytes() == before


def test_a_bonus_is_taken_out_and_the_other_keeps_its_note(
    client: TestClient, locks: Path
) -> None:
    save(client, shown(client) | {"bonus.1.gone": ["yes"]})

    assert [bonus["id"] for bonus in toml_of(locks)["bonus"]] == ["spare-barge"]
    assert 'id = "spare-barge"    # a note' in (locks / "game.toml").read_text("utf-8")


def test_the_cards_that_print_a_bonus_are_named(client: TestClient, locks: Path) -> None:
    game = nervure.open(locks).game
    cards = [game.anatomy.target(card).name for card, id in game.bonus_of.items() if id == "toll"]

    html = client.get("/p/locks/rules").text

    assert f"Printed on: {', '.join(cards)}." in html


# The deck


def changes(*given: dict[str, Any], digest: str = "") -> dict[str, Any]:
    return {"digest": digest, "changes": list(given)}


def table(client: TestClient, view: str, id: str = "locks") -> dict[str, Any]:
    return dict(client.get(f"/p/{id}/rules/tables/{view}").json())


def test_every_card_has_a_line(client: TestClient, locks: Path) -> None:
    game = nervure.open(locks).game

    parts = {line["card"] for line in table(client, "parts")["lines"]}
    targets = {line["card"] for line in table(client, "targets")["lines"]}

    assert set(game.structures) | {"wild:any", "variant"} <= parts
    assert targets >= set(game.targets)


def test_points_by_difficulty_and_chances_stand_beside_a_target(
    client: TestClient, locks: Path
) -> None:
    game = nervure.open(locks).game
    check = check_game(game)
    name = game.targets[0]

    cells = table(client, "targets")["beside"][name]["cells"]

    found = check.targets[name]
    shortest = game.rules.claim_minimum
    percent = 100 * found.odds.at(shortest, found.odds_cards)
    assert cells[1] == " ".join(map(str, found.fair))
    assert cells[2].startswith(f"{shortest}: {percent:.{1 if percent < 10 else 0}f}\u202f%")


def test_a_card_that_the_file_does_not_name_gets_a_row(client: TestClient, locks: Path) -> None:
    before = table(client, "targets")
    card = before["lines"][0]["card"]
    add = {"kind": "add", **before["last"], "now": [card, "2", "3 5", ""]}

    answer = client.post(
        "/p/locks/rules/tables/targets/save", json=changes(add, digest=before["digest"])
    )

    assert answer.status_code == 200
    assert (locks / "deck.csv").read_text().rstrip().endswith(f"{card},2,3 5,")
    assert nervure.open(locks).game.target_copies[card] == 2
    assert "deck.csv.bak" in answer.json()["told"]


@pytest.mark.parametrize(
    ("cells", "told"),
    [
        (["{}", "many", "", ""], "'many' is no whole number"),
        (["{}", "", "2 x", ""], "'2 x' is no list of whole numbers"),
        (["{}", "", "", "no-such"], "'no-such' is no bonus"),
        (["no-such-card", "1", "", ""], "no-such-card"),
    ],
)
def test_a_bad_cell_says_what_the_check_says(
    client: TestClient, locks: Path, cells: list[str], told: str
) -> None:
    before = table(client, "targets")
    card = before["lines"][0]["card"]
    add = {"kind": "add", **before["last"], "now": [cell.format(card) for cell in cells]}

    proved = client.post("/p/locks/rules/tables/targets/prove", json=changes(add)).json()
    answer = client.post("/p/locks/rules/tables/targets/save", json=changes(add))

    assert answer.status_code == 422
    with (locks / "deck.csv").open("a", encoding="utf-8") as file:
        file.write(",".join(add["now"]) + "\n")
    found = [fault.message for fault in nervure.open(locks).faults if fault.level == "error"]
    mine = [fault["message"] for fault in proved["faults"]]
    assert mine == found
    assert told in mine[0]


def test_two_hands_on_one_card_are_both_shown(client: TestClient, locks: Path) -> None:
    before = table(client, "parts")
    line = next(line for line in before["lines"] if line["row"])
    wanted = [line["card"], "5", "", ""]
    text = (locks / "deck.csv").read_text()
    (locks / "deck.csv").write_text(text.replace(f"{line['card']},4", f"{line['card']},6"))
    held = (locks / "deck.csv").read_bytes()
    change = {"kind": "change", "row": line["row"], "was": line["cells"], "now": wanted}

    answer = client.post("/p/locks/rules/tables/parts/save", json=changes(change))

    assert answer.status_code == 409
    assert answer.json()["conflicts"][0]["theirs"][1] == "6"
    assert (locks / "deck.csv").read_bytes() == held


# States


def leaf(html: str) -> str:
    return re.search(r'/rules".*?class="state">(.*?)<', html, re.DOTALL)[1]  # type: ignore[index]


def test_a_sound_game_is_in_order(client: TestClient) -> None:
    html = client.get("/p/locks/rules").text

    assert leaf(html) == "in order"
    assert 'id="begin"' not in html


def test_a_project_with_a_map_alone_offers_to_begin(bench: TestClient, project: Path) -> None:
    html = bench.get("/p/barges/rules").text
    assert leaf(html) == "not made yet"

    answer = bench.post("/p/barges/rules/begin")

    assert "usual rules now" in answer.text
    assert leaf(answer.text) == "in order"
    assert toml_of(project)["rules"] == Rules().model_dump(mode="json")


def test_a_folder_without_a_game_file_offers_to_begin(bench: TestClient, project: Path) -> None:
    (project / "game.toml").unlink()
    assert "no game.toml" in bench.get("/p/barges/rules").text

    answer = bench.post("/p/barges/rules/begin")

    assert answer.status_code == 200
    assert nervure.open(project).game.ok


def test_faults_come_first_with_their_place(client: TestClient, locks: Path) -> None:
    with (locks / "deck.csv").open("a") as file:
        file.write("no-such-part,1,,\n")

    html = client.get("/p/locks/rules").text

    assert leaf(html) == "needs attention"
    assert html.index("no-such-part") < html.index('id="form"')
    assert "deck.csv, row" in html


def test_a_file_that_cannot_be_read_is_shown_with_its_line(
    bench: TestClient, project: Path
) -> None:
    (project / "game.toml").write_text("title = = 3\n")

    html = bench.get("/p/barges/rules").text

    assert "game.toml, row 1" in html
    assert 'id="form"' not in html


# Whoever means harm

SCRIPT = "<script>alert(1)</script>"
HOSTILE: list[Form] = [
    {"hand": ["9" * 5000]},
    {"hand": ["-1"]},
    {"hand": ["4.0"]},
    {"hand": ["true"]},
    {"hand": [SCRIPT]},
    {"hand": [""]},
    {"hand": ["\u0664"]},
    {"hand.by": ["yes"], "hand.2": [""]},
    {"players.low": ["4"], "players.high": ["2"]},
    {"players.high": ["1000000"]},
    {"tiers": []},
    {"tiers": ["../../etc"]},
    {"targets": []},
    {"targets": ["../game.toml", SCRIPT]},
    {"draws": ["stock", "steal"]},
    {"connect": ["false"]},
    {"must_play": ["perhaps"]},
    {"claim_needs": ["everything"]},
    {"end": ["claims"], "end.by": [], "end.claims": ["0"]},
    {"end": [], "end.by": []},
    {"end": ["claims"], "end.by": [], "end.claims": ['6"]\nhand = 12']},
    {"tie_breaks": ["target:nobody"]},
    {"tie_breaks": ["claims", "claims"]},
    {"supply": ['true"\n[rules]\nhand = 12']},
    {"points.method": ["free"]},
    {"points.range.low": ["9"], "points.range.high": ["1"]},
    {"bonuses.printed_on": ["../deck.csv"]},
    {"bonus.0.id": ["../../game"]},
    {"bonus.0.id": [SCRIPT]},
    {"bonus.0.does.0": ["draw 2 organ; points"]},
    {"bonus.1.does.0.kind": ["x" * 3000]},
    {"seat_cards.1": ["99999999999"]},
]


@pytest.mark.parametrize("fields", HOSTILE)
def test_a_hostile_field_is_told_and_nothing_is_written(
    client: TestClient, locks: Path, fields: Form
) -> None:
    files = {file: file.read_bytes() for file in locks.rglob("*") if file.is_file()}

    answer = save(client, shown(client) | fields)

    assert answer.status_code == 422, answer.headers.get("location")
    assert "Nothing was written" in answer.text
    assert re.search(r'class="small red why"[^>]*>[^<]', answer.text)
    assert SCRIPT not in answer.text
    assert {file: file.read_bytes() for file in locks.rglob("*") if file.is_file()} == files


@pytest.mark.parametrize(
    "says",
    [
        '"\n[rules]\nhand = 12\n',
        '"""\n[[bonus]]\nid = "free"\ndoes = ["points 99"]\n"""',
        SCRIPT,
        "\\u0000 \\\\ \x07 \u202e",
        "{origin} {{ 7 * 7 }} %s",
    ],
)
def test_the_words_of_a_bonus_stay_words(client: TestClient, locks: Path, says: str) -> None:
    before = toml_of(locks)

    save(client, shown(client) | {"bonus.0.says": [says]})

    after = toml_of(locks)
    assert after["bonus"][0].pop("says") == says
    before["bonus"][0].pop("says")
    assert after == before
    html = client.get("/p/locks/rules").text
    assert SCRIPT not in html
    assert form_in(html)["bonus.0.says"][0].strip("\n") == says.strip("\n")


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"hand": "5"},
        {"was": "{", "digest": ""},
        {"was": "[" * 5000, "digest": ""},
        {"was": "[1, 2]", "digest": "x"},
        {"was": '{"rules": 3, "bonus": {"a": 1}}', "digest": "x"},
        {f"field{n}": "x" for n in range(5000)},
    ],
)
def test_a_form_of_another_shape_gets_one_sentence(
    client: TestClient, locks: Path, body: dict[str, str]
) -> None:
    before = (locks / "game.toml").read_bytes()

    for what in ("save", "weigh", "try"):
        answer = client.post(
            f"/p/locks/rules/{what}", data=body, headers={"accept": "application/json"}
        )
        assert answer.status_code < 500
        if answer.status_code != 200 and what == "weigh":
            assert set(answer.json()) == {"message", "faults"}
    assert (locks / "game.toml").read_bytes() == before


@pytest.mark.parametrize(
    ("view", "body", "status"),
    [
        ("../../map", changes(), 404),
        ("deck", changes(), 404),
        ("parts", {"digest": "", "changes": [{"kind": "eat", "row": 2}]}, 400),
        ("parts", {"digest": "", "changes": [{"kind": "add", "row": -1}]}, 400),
        ("parts", changes({"kind": "add", "row": 1, "now": ["\ud800"]}), 400),
        ("parts", changes({"kind": "add", "row": 1, "now": ["x" * 30_000]}), 400),
        ("parts", changes({"kind": "add", "row": 1, "now": ["=1+1", "1", "", ""]}), 422),
        ("parts", changes({"kind": "add", "row": 1, "now": ['a"\nb,9', "1", "", ""]}), 422),
    ],
)
def test_a_hostile_row_of_the_deck_is_refused(
    client: TestClient, locks: Path, view: str, body: dict[str, Any], status: int
) -> None:
    before = (locks / "deck.csv").read_bytes()

    answer = client.post(
        f"/p/locks/rules/tables/{view}/save",
        content=json.dumps(body),
        headers={"content-type": "application/json", "accept": "application/json"},
    )

    assert answer.status_code == status
    assert (locks / "deck.csv").read_bytes() == before


def test_a_script_in_a_name_of_the_map_is_shown_as_text(bench: TestClient, project: Path) -> None:
    file = project / "map" / "targets.csv"
    lines = file.read_text("utf-8").splitlines()
    cells = lines[1].split(",")
    cells[1] = SCRIPT
    file.write_text("\n".join([lines[0], ",".join(cells), *lines[2:]]) + "\n", "utf-8")
    (project / "game.toml").write_text(f"title = {json.dumps(SCRIPT)}\n[map]\nname = ''\n")

    html = bench.get("/p/barges/rules").text

    assert SCRIPT not in html
    assert "&lt;script&gt;" in html


# From values to fields and back

_numbers = st.integers(0, 6)
_ends = st.lists(
    st.sampled_from(["claims: 3", "points: 20", "rounds: 9", "stock-empty", "all-passed"]),
    min_size=1,
    max_size=3,
    unique=True,
)


def _by_players(values: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    sizes = st.dictionaries(st.sampled_from("123456"), values, min_size=1, max_size=4)
    return values | sizes


_values = st.fixed_dictionaries(
    {},
    optional={
        "players": st.tuples(st.integers(1, 3), st.integers(3, 6)).map(list),
        "hand": _by_players(st.integers(1, 12)),
        "display": _by_players(st.integers(0, 8)),
        "seat_cards": st.lists(_numbers, max_size=6),
        "end": _by_players(_ends),
        "draws": st.lists(st.sampled_from(["stock", "swap", "lift"]), unique=True),
        "claim_needs": st.lists(st.sampled_from(["last", "origin"]), unique=True),
        "insert": st.booleans(),
        "late_lifts": st.integers(0, 12),
    },
)


@settings(max_examples=60, deadline=None)
@given(_values)
def test_a_value_comes_back_from_its_fields_as_it_was(values: dict[str, Any]) -> None:
    for field in fields_for(["root"], ["a"], ["muscle"]):
        name = field.key.removeprefix("rules.")
        if name not in values:
            continue
        reading = field.read(field.shown(values[name]))
        written = field.value(reading, values[name])

        before, after = (_meaning(name, held) for held in (values[name], written))
        assert before == after
        assert field.read(field.shown(written)) == reading


def _meaning(name: str, value: Any) -> Any:
    """Give what the rules make of a value, for every number of players."""
    held = getattr(Rules(**{name: _tuples(value)}), name)
    if hasattr(held, "at"):
        return [
            sorted(map(str, one)) if isinstance(one, tuple) else one
            for one in map(held.at, range(1, 7))
        ]
    if name == "seat_cards":
        return [*held, 0, 0, 0, 0, 0, 0][:6]
    return sorted(held) if name in ("draws", "claim_needs") else held


def _tuples(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _tuples(item) for key, item in value.items()}
    return tuple(value) if isinstance(value, list) else value


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("rules.hand", [4]),
        ("rules.hand", {"9": 3}),
        ("rules.end", ["sunset"]),
        ("rules.end", ["claims"]),
        ("rules.insert", "yes"),
        ("rules.players", [2]),
        ("rules.claim_needs", ["all"]),
        ("rules.tie_breaks", "claims"),
        ("rules.connect", True),
    ],
)
def test_a_value_without_a_place_in_its_sentence_is_told(key: str, value: Any) -> None:
    field = next(one for one in fields_for(["root"], ["a"], ["muscle"]) if one.key == key)

    with pytest.raises(CannotShow):
        field.shown(value)
    assert field.shown(default_of(key))

"""The page of playtests: what it asks for is what the command plays, and hostile input is told.

That games are the same after a stop is tested in tests/playtest/test_going_on.py; here it
is asked of the page.
"""

from __future__ import annotations

import json
import re
import shutil
import time
from collections.abc import Callable
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

import nervure
from nervure import playtest
from nervure.table import open_storage
from nervure.web.pages.playtest.work import Watch

GAMES = Path(nervure.__file__).parent / "maps" / "games"
PAGE = "/p/locks/playtest"
SMALL = {"what": "line-up", "players": "2", "games": "60", "style": ["builder", "sprinter"]}


@pytest.fixture
def locks(tmp_path: Path) -> Path:
    return Path(shutil.copytree(GAMES / "lock-keepers", tmp_path / "home" / "locks"))


@pytest.fixture(scope="session")
def plan_played(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Results of a small plan: two of the same design and another seed, one of them earlier."""
    folder = tmp_path_factory.mktemp("played")
    game = nervure.open(GAMES / "lock-keepers").require_sound()
    for seed in (2, 1):
        playtest.run(game, folder, playtest.Options(games=40, seed=seed))
    return folder


@pytest.fixture
def played(locks: Path, plan_played: Path) -> Path:
    shutil.copytree(plan_played, locks / "out" / "playtest")
    return locks


@pytest.fixture
def bench(open_bench: Callable[..., TestClient], locks: Path) -> TestClient:
    return open_bench(locks)


def waited(client: TestClient, address: str = PAGE) -> str:
    """Wait until the job is over and give the page."""
    for _ in range(1200):
        html = client.get(address).text
        if "hx-trigger" not in html:
            return html
        time.sleep(0.1)
    raise AssertionError("the job did not end")


def read(project: Path) -> dict[str, Any]:
    return json.loads((project / "out" / "playtest" / "result.json").read_text("utf-8"))


def main_of(html: str) -> str:
    return html.split("<main", 1)[1].split("</main", 1)[0]


# What is asked for is what is played


@pytest.mark.parametrize(
    ("form", "options"),
    [
        (
            SMALL | {"seed": "7"},
            {"seats": ["builder", "sprinter"], "games": 60, "seed": 7},
        ),
        ({"games": "24", "players": "2"}, {"players": 2, "games": 24}),
        (
            SMALL | {"style": ["weigher", "builder"], "knows": ["0.5", "1"]},
            {"seats": ["weigher@0.5", "builder"], "games": 60},
        ),
        (
            {"games": "2 000", "players": "2", "until": "0.5"},
            {"players": 2, "games": 2000, "precision": 0.5},
        ),
    ],
)
def test_the_page_leaves_the_same_json_as_the_verb(
    bench: TestClient, locks: Path, tmp_path: Path, form: dict[str, str], options: dict[str, Any]
) -> None:
    bench.post(f"{PAGE}/run", data=form)
    waited(bench)
    nervure.open(locks).playtest(**options, out=tmp_path / "by-verb")

    by_verb = json.loads((tmp_path / "by-verb" / "playtest" / "result.json").read_text("utf-8"))
    assert bench.get("/p/locks/out/playtest/result.json").json() == by_verb


def test_games_that_are_there_are_not_played_again_when_playing_on(
    bench: TestClient, locks: Path
) -> None:
    bench.post(f"{PAGE}/run", data=SMALL)
    html = waited(bench)
    form = re.search(r'<form class="on".*?</form>', html, re.S)
    assert form is not None
    names = re.findall(r'name="(\w+)" value="([^"]*)"', form.group())
    longer: dict[str, Any] = {}
    for name, value in names:
        longer.setdefault(name, []).append(value)
    first = (locks / "out/playtest/games-2-line-up-builder-sprinter.parquet").read_bytes()
    bench.post(f"{PAGE}/run", data=longer)
    waited(bench)

    assert read(locks)["games"] == int(longer["games"][0]) > 60
    assert (locks / "out/playtest/games-2-line-up-builder-sprinter.parquet").read_bytes() != first
    # One playtest that grew: nothing to set beside.
    assert not (locks / "out/playtest/earlier").exists()


def test_a_second_playtest_of_a_project_is_refused_while_one_runs(bench: TestClient) -> None:
    bench.post(f"{PAGE}/run", data={"games": "10000000"})
    second = bench.post(f"{PAGE}/run", data=SMALL)
    number = re.search(r"/job/(\d+)/stop", bench.get(PAGE).text)
    assert number is not None
    bench.post(f"{PAGE}/job/{number.group(1)}/stop")
    waited(bench)

    assert second.status_code == 400
    assert "waits or runs already" in second.text


def test_results_narrow_while_it_runs_and_a_stop_keeps_them(
    bench: TestClient, locks: Path
) -> None:
    bench.post(f"{PAGE}/run", data={"games": "10000000", "players": "2"})
    widths = []
    seen = ""
    for _ in range(1200):
        part = bench.get(f"{PAGE}/found", params={"seen": seen})
        found = re.search(r"found\?seen=(\w+)", part.text)
        if part.status_code == 200 and found and "So far" in part.text:
            seen = found.group(1)
            low, high = read(locks)["tables"]["2"]["idle"]["interval"]
            widths.append(high - low)
            assert "<details" in part.text
            if len(widths) == 3:
                break
        time.sleep(0.1)
    number = re.search(r"/job/(\d+)/stop", bench.get(PAGE).text)
    assert number is not None
    bench.post(f"{PAGE}/job/{number.group(1)}/stop")
    html = waited(bench)

    assert len(widths) == 3
    assert widths[0] > widths[2]
    assert "Stopped early" in html
    assert "/go-on" in html
    assert read(locks)["stopped"] is True


def test_a_playtest_goes_on_after_the_workbench_was_ended(
    open_bench: Callable[..., TestClient], locks: Path, tmp_path: Path
) -> None:
    # As a killed process leaves it: the job stands as running, some games are written.
    game = nervure.open(locks).require_sound()
    options = playtest.Options(players=2, games=200, seed=3)
    asked = 0

    def stop() -> bool:
        nonlocal asked
        asked += 1
        return asked > 3

    playtest.run(game, locks / "out" / "playtest", options, stop=stop)
    so_far = read(locks)["games"]
    kept = {"seats": None, "players": 2, "games": 200, "precision": None, "seed": 3}
    with open_storage(tmp_path / "data" / "workbench.sqlite3") as storage:
        job = storage.add_job("locks", "playtest", kept | {"design": game.version})
        storage.move_job(job.id, "running", was=("queued",))
    client = open_bench(locks)
    html = client.get(PAGE).text
    assert "interrupted" in html.lower()
    client.post(f"{PAGE}/job/{job.id}/go-on")
    waited(client)

    done = read(locks)
    assert done["games"] > so_far
    playtest.run(game, tmp_path / "alone", options)
    alone = json.loads((tmp_path / "alone" / "result.json").read_text("utf-8"))
    assert done == alone


def test_going_on_with_another_design_is_refused_and_loses_nothing(
    bench: TestClient, played: Path
) -> None:
    app: Any = bench.app
    storage = app.state.bench.storage
    kept = {"seats": None, "players": 2, "games": 50, "precision": None, "seed": 3}
    job = storage.add_job("locks", "playtest", kept | {"design": "another"})
    storage.move_job(job.id, "stopped", was=("queued", "running"))
    before = read(played)
    bench.post(f"{PAGE}/job/{job.id}/go-on")
    html = waited(bench)

    assert "The design has changed since this playtest was stopped" in html
    assert read(played) == before


# What is shown


def test_an_empty_project_says_what_waits(bench: TestClient) -> None:
    html = main_of(bench.get(PAGE).text)

    assert "Nothing has been played yet" in html
    assert "No result yet" in html


def test_verdicts_come_before_plates_and_every_plate_has_its_table(
    open_bench: Callable[..., TestClient], played: Path
) -> None:
    html = main_of(open_bench(played).get(PAGE).text)
    places = [html.index(f'id="{part}"') for part in ("verdicts", "plates", "claims", "measures")]

    assert places == sorted(places)
    assert html.count("<figure id=") == html.count("As a table") - 1 == 6
    for verdict in read(played)["verdicts"]:
        assert f'id="goal-{verdict["goal"]}"' in html


class _Policy(HTMLParser):
    """Collects what a policy without inline style and script would refuse."""

    def __init__(self) -> None:
        super().__init__()
        self.refused: list[str] = []
        self.ids: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.ids += [given["id"] or ""] if "id" in given else []
        for name in given:
            if name == "style" or name.startswith("on"):
                self.refused.append(f"{tag} {name}")
        if tag == "style" or (tag == "script" and "src" not in given):
            self.refused.append(tag)


@pytest.mark.parametrize("query", ["", "?players=2", "?beside=0001"])
def test_nothing_on_the_page_breaks_its_policy(
    open_bench: Callable[..., TestClient], played: Path, query: str
) -> None:
    parser = _Policy()
    parser.feed(open_bench(played).get(PAGE + query).text)

    assert parser.refused == []
    assert len(parser.ids) == len(set(parser.ids))


def test_a_number_of_players_shows_its_own_figures_and_verdicts(
    open_bench: Callable[..., TestClient], played: Path
) -> None:
    html = main_of(open_bench(played).get(f"{PAGE}?players=3").text)
    figures = read(played)["tables"]["3"]

    assert 'players=3#found" aria-current="true"' in html
    assert "4 players)" not in html.split('id="plates"')[0]
    assert f"{figures['choices']['value']:.1f}"[:3] in html
    assert 'id="claims"' not in html


def test_the_result_before_stands_beside_this_one(
    open_bench: Callable[..., TestClient], played: Path
) -> None:
    html = main_of(open_bench(played).get(PAGE).text)

    beside = html.split('id="beside"')[1]
    assert "seed 1" in beside
    assert "seed 2" in beside
    assert beside.count('scope="row"') == sum(map(len, read(played)["tables"].values()))


def test_a_changed_design_says_so_and_shows_what_still_stands(
    open_bench: Callable[..., TestClient], played: Path
) -> None:
    game = played / "game.toml"
    text = game.read_text("utf-8")
    assert "[rules]" in text
    changed = re.sub(r"^hand = \d+$", "hand = 7", text, flags=re.M)
    changed = changed if changed != text else text.replace("[rules]", "[rules]\nhand = 7")
    game.write_text(changed, "utf-8")
    client = open_bench(played)
    html = main_of(client.get(PAGE).text)

    assert "The design has changed since: these games were played with design" in html
    assert 'id="verdicts"' in html
    assert 'id="seats"' in html
    assert 'id="claims"' not in html
    leaf = re.search(r'<a href="/p/locks/playtest".*?</a>', client.get(PAGE).text, re.S)
    assert leaf is not None
    assert "needs attention" in leaf.group()


def test_goals_that_have_changed_are_judged_anew(
    open_bench: Callable[..., TestClient], played: Path
) -> None:
    game = played / "game.toml"
    low, high = read(played)["tables"]["2"]["minutes"]["interval"]
    text = re.sub(r"(?m)^minutes = .*$", f"minutes = [{high + 50}, {high + 60}]", game.read_text())
    game.write_text(text, "utf-8")
    html = open_bench(played).get(PAGE).text

    assert low < high
    assert re.search(r'class="fails" id="goal-minutes"', html)


def test_faults_are_told_first_and_nothing_can_be_played(
    open_bench: Callable[..., TestClient], played: Path
) -> None:
    with (played / "deck.csv").open("a") as deck:
        deck.write("no-such-part\n")
    client = open_bench(played)
    html = main_of(client.get(PAGE).text)

    assert "deck.csv, row" in html
    assert "no-such-part" in html
    assert "Fault(" not in html
    assert "playtest/run" not in html
    assert 'id="verdicts"' not in html
    assert client.post(f"{PAGE}/run", data=SMALL).status_code == 422


def test_a_rule_that_is_not_played_yet_fails_with_its_sentence(
    bench: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    from nervure.errors import NotPlayedYet
    from nervure.web.pages.playtest import work

    def refuse(*_: object, **__: object) -> None:
        raise NotPlayedYet("A rule that nobody plays.")

    monkeypatch.setattr(work, "run", refuse)
    bench.post(f"{PAGE}/run", data=SMALL)
    html = waited(bench)

    assert "Did not succeed" in html
    assert "A rule that nobody plays." in html


@pytest.mark.parametrize(
    "content",
    [
        "",
        "{",
        "[]",
        "null",
        '{"schema": 1}',
        '{"schema": 99}',
        '{"schema": 1, "title": 3, "tables": {"x": {}}, "verdicts": [{}]}',
        "[" * 100_000,
        "\ufeff{}",
        '{"schema": 1, "tables": {"2": {"turns": null}}}',
    ],
)
def test_a_damaged_result_is_told_and_can_be_played_over(
    open_bench: Callable[..., TestClient], locks: Path, content: str
) -> None:
    folder = locks / "out" / "playtest"
    (folder / "earlier").mkdir(parents=True)
    for file in (folder / "result.json", folder / "earlier" / "0001.json"):
        file.write_text(content, "utf-8")
    client = open_bench(locks)
    html = client.get(PAGE)

    assert html.status_code == 200
    assert "cannot be read" in html.text
    client.post(f"{PAGE}/run", data=SMALL)
    assert "Result</h2>" in waited(client)


# Hostile and wrong input


@pytest.mark.parametrize(
    "form",
    [
        {"games": "0"},
        {"games": "-5"},
        {"games": "1e9"},
        {"games": "10000001"},
        {"games": "9" * 59},
        {"games": "9" * 100_000},
        {"games": "ten"},
        {"games": "1.5"},
        {"games": "٣٣"},
        {"games": "NaN"},
        {"games": "10; DROP TABLE jobs"},
        {"seed": "-1"},
        {"seed": str(2**64)},
        {"seed": "0x10"},
        {"players": "1"},
        {"players": "99"},
        {"players": "two"},
        {"what": "everything"},
        {"what": "../../etc"},
        {"what": ["plan", "line-up", "x" * 100]},
        {"until": "0.0001"},
        {"until": "nan"},
        {"until": "<script>alert(1)</script>"},
        {"what": "line-up"},
        {"what": "line-up", "players": "2"},
        {"what": "line-up", "players": "2", "style": ["builder"]},
        {"what": "line-up", "players": "2", "style": ["builder", "grandmaster"]},
        {"what": "line-up", "players": "2", "style": ["builder", "searcher:99999"]},
        {"what": "line-up", "players": "2", "style": ["builder", "../builder"]},
        {"what": "line-up", "players": "2", "style": ["builder"] * 500},
        {"what": "line-up", "players": "2", "style": ["b" * 10_000, "builder"]},
        {
            "what": "line-up",
            "players": "2",
            "style": ["builder", "builder"],
            "knows": ["0.123456", "2"],
        },
        {
            "what": "line-up",
            "players": "2",
            "style": ["builder", "builder"],
            "knows": ["1/0", "'"],
        },
        {"what": "line-up", "players": "2", "style": ["chance"] * 2, "knows": ["0.5", "1"]},
    ],
)
def test_what_cannot_be_played_is_refused_in_a_sentence(
    bench: TestClient, form: dict[str, Any]
) -> None:
    answer = bench.post(f"{PAGE}/run", data=form, headers={"accept": "text/html"})

    assert answer.status_code in (400, 404), "404 tells of a name that there is not"
    assert "Traceback" not in answer.text
    assert "<script>alert" not in answer.text
    assert "hx-trigger" not in bench.get(PAGE).text, "no job was queued"


@pytest.mark.parametrize(
    "address",
    [
        "?players=99",
        "?players=" + "9" * 70,
        "?players=-2",
        "?players=%C2%B2",
        "?beside=..%2F..%2Fgame",
        "?beside=%00",
        "?beside=0001.json",
        "?beside=<script>",
    ],
)
def test_a_view_that_is_not_there_shows_the_whole_result(
    open_bench: Callable[..., TestClient], played: Path, address: str
) -> None:
    answer = open_bench(played).get(PAGE + address)

    assert answer.status_code == 200
    assert 'id="claims"' in answer.text
    assert "<script>" not in main_of(answer.text)


@pytest.mark.parametrize("address", ["?players=" + "9" * 200, "/found?seen=" + "x" * 5000])
def test_what_is_too_long_is_refused(bench: TestClient, address: str) -> None:
    assert bench.get(PAGE + address).status_code == 400


@pytest.mark.parametrize("number", ["0", "-1", "1" * 30, "one", "..%2f1", "424242"])
@pytest.mark.parametrize("verb", ["stop", "go-on"])
def test_a_job_that_is_not_there_is_not_stopped(bench: TestClient, number: str, verb: str) -> None:
    assert bench.post(f"{PAGE}/job/{number}/{verb}").status_code in (400, 404)


def test_a_job_of_another_kind_is_not_shown_here(bench: TestClient) -> None:
    app: Any = bench.app
    job = app.state.bench.storage.add_job("locks", "check", {})

    assert bench.get(f"{PAGE}/job/{job.id}").status_code == 404


def test_another_site_cannot_start_a_playtest(bench: TestClient) -> None:
    answer = bench.post(f"{PAGE}/run", data=SMALL, headers={"origin": "http://elsewhere.example"})

    assert answer.status_code == 403


def test_names_of_the_project_are_shown_as_text(
    open_bench: Callable[..., TestClient], played: Path
) -> None:
    game = played / "game.toml"
    game.write_text(
        re.sub(r"(?m)^title = .*$", 'title = "<script>alert(1)</script>"', game.read_text()),
        "utf-8",
    )
    html = open_bench(played).get(PAGE).text

    assert "<script>alert(1)" not in html


# Pieces


def test_pieces_grow_to_half_a_second_and_writing_takes_a_small_share() -> None:
    now = 0.0
    watch = Watch(lambda: now)
    experiment = playtest.Experiment("line-up", ("builder", "builder"), 10_000)
    sizes, written = [], []
    for _ in range(30):
        deals = watch.pace(experiment)
        now += deals / 200  # two hundred deals a second
        sizes.append(deals)
        if watch.keep():
            written.append(now)
            now += 1.0  # a slow disk

    assert sizes[0] < 20
    assert 90 <= sizes[-1] <= 110
    assert all(later - sooner >= 8 for sooner, later in pairwise(written))
    assert written

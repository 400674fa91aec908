"""First start, shelf, results of out/, what is stored."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from nervure.project import read_folder
from nervure.web.shelf import Shelf, slug

PAGE = {"accept": "text/html"}


def test_without_a_project_the_first_page_offers_every_bundled_map(
    open_bench: Callable[..., TestClient],
) -> None:
    html = open_bench().get("/", headers=PAGE).text

    for name in ("leg", "arm", "gut"):
        assert f'value="{name}"' in html
    assert "In two minutes" in html


def test_with_one_project_the_map_is_the_first_page(bench: TestClient) -> None:
    assert bench.get("/", follow_redirects=False).headers["location"] == "/p/barges/map"


def test_a_project_is_made_from_a_bundled_map(
    open_bench: Callable[..., TestClient], tmp_path: Path
) -> None:
    client = open_bench()

    answer = client.post(
        "/projects/map", data={"name": "Barges, übung", "map": "gut"}, follow_redirects=False
    )

    assert answer.headers["location"] == "/p/barges-ubung/map"
    folder = read_folder(tmp_path / "home" / "barges-ubung")
    assert len(folder.map.targets) == 37  # rows of the bundled targets.csv
    assert client.get("/p/barges-ubung/map").status_code == 200


def test_a_project_is_made_from_a_table(
    open_bench: Callable[..., TestClient], tmp_path: Path
) -> None:
    client = open_bench()
    table = b"muscle,nerve,roots\nTibialis anterior,Deep fibular nerve,L4 L5\n"

    answer = client.post(
        "/projects/table",
        data={"name": "from mine"},
        files={"table": ("mine.csv", table, "text/csv")},
        follow_redirects=False,
    )

    assert answer.headers["location"] == "/p/from-mine/map"
    assert "tibialis-anterior" in (tmp_path / "home/from-mine/map/targets.csv").read_text()


@pytest.mark.parametrize("name", ["../../etc", "/etc/x", "..", "a/../../b", "\\\\server\\x", "~"])
def test_a_name_never_leads_out_of_the_home_folder(
    open_bench: Callable[..., TestClient], tmp_path: Path, name: str
) -> None:
    client = open_bench()
    before = {path for path in tmp_path.rglob("*") if "home" not in path.parts}

    client.post("/projects/map", data={"name": name, "map": "gut"})

    after = {path for path in tmp_path.rglob("*") if "home" not in path.parts}
    assert {path.name for path in after - before} <= {"workbench.sqlite3-wal"}


def test_a_folder_that_is_there_is_not_written_over(bench: TestClient, project: Path) -> None:
    before = (project / "game.toml").read_bytes()

    answer = bench.post("/projects/map", data={"name": "barges", "map": "leg"}, headers=PAGE)

    assert answer.status_code == 400
    assert "There is a folder barges already" in answer.text
    assert (project / "game.toml").read_bytes() == before


@pytest.mark.parametrize("map_name", ["../leg", "nose", "", "leg\0"])
def test_only_bundled_maps_can_be_taken(bench: TestClient, map_name: str) -> None:
    answer = bench.post("/projects/map", data={"name": "other", "map": map_name})

    assert answer.status_code in (400, 404)


@pytest.mark.parametrize("kind", ["mine.exe", "mine", "mine.html"])
def test_a_file_of_another_kind_is_no_table(bench: TestClient, kind: str) -> None:
    answer = bench.post(
        "/projects/table", data={"name": "other"}, files={"table": (kind, b"x", "text/csv")}
    )

    assert answer.status_code == 400
    assert ".csv" in answer.json()["message"]


def test_a_project_beside_is_offered_and_opened(bench: TestClient, project: Path) -> None:
    beside = project.parent / "beside"
    beside.mkdir()
    (beside / "game.toml").write_text('title = "Beside"\n[map]\nname = "gut"\n')
    assert 'value="beside"' in bench.get("/projects", headers=PAGE).text

    answer = bench.post("/projects/open", data={"folder": "beside"}, follow_redirects=False)

    assert answer.headers["location"] == "/p/beside/map"


@pytest.mark.parametrize("folder", ["..", "../data", "/etc", "missing"])
def test_nothing_else_can_be_opened(bench: TestClient, folder: str) -> None:
    assert bench.post("/projects/open", data={"folder": folder}).status_code == 404


def test_a_folder_that_cannot_be_read_is_told_with_its_faults(
    open_bench: Callable[..., TestClient], tmp_path: Path
) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    client = open_bench(empty)

    answer = client.get("/p/empty/map", headers=PAGE)

    assert answer.status_code == 422
    assert "game.toml" in answer.text
    assert "Traceback" not in answer.text


def test_two_folders_of_one_name_get_two_addresses(tmp_path: Path) -> None:
    paths = [tmp_path / "a" / "leg", tmp_path / "b" / "leg"]

    shelf = Shelf([*paths, paths[0]])

    assert [project.id for project in shelf] == ["leg", "leg-2"]


@pytest.mark.parametrize(
    ("name", "expected"),
    [("Leg & Foot", "leg-foot"), ("../..", ""), ("Übung 1", "ubung-1"), ("a" * 90, "a" * 60)],
)
def test_a_name_becomes_an_address(name: str, expected: str) -> None:
    assert slug(name) == expected


# Results in out/


@pytest.fixture
def out(project: Path) -> Path:
    (project / "out" / "playtest").mkdir(parents=True)
    (project / "out" / "check.html").write_text("<style>p{}</style><script>alert(1)</script>")
    (project / "out" / "playtest" / "index.html").write_text("played")
    (project / "out" / "key.pem").write_text("secret")
    (project.parent / "outside.html").write_text("secret")
    (project / "out" / "way.html").symlink_to(project.parent / "outside.html")
    return project / "out"


def test_results_are_shown_sandboxed_under_their_own_policy(bench: TestClient, out: Path) -> None:
    answer = bench.get("/p/barges/out/check.html")

    policy = answer.headers["content-security-policy"]
    assert answer.status_code == 200
    assert policy.startswith("sandbox")
    assert "allow-scripts" not in policy
    assert "default-src 'none'" in policy
    assert bench.get("/p/barges/out/playtest/index.html").text == "played"


@pytest.mark.parametrize(
    "name",
    [
        "../game.toml",
        "..%2Fgame.toml",
        "%2e%2e/game.toml",
        "playtest/../../game.toml",
        "/etc/passwd",
        "..%5c..%5cgame.toml",
        "way.html",
        "key.pem",
        "playtest",
        "check.html%00.csv",
        "missing.html",
    ],
)
def test_nothing_but_results_is_given(bench: TestClient, out: Path, name: str) -> None:
    answer = bench.get(f"/p/barges/out/{name}")

    assert answer.status_code == 404
    assert "secret" not in answer.text


@pytest.mark.parametrize(
    "name", ["../app.py", "..%2f..%2fapp.py", "pages/map/route.py", "vendor/README.md", "nothing"]
)
def test_only_listed_files_are_static(bench: TestClient, name: str) -> None:
    assert bench.get(f"/static/{name}").status_code == 404


def test_faces_come_from_here(bench: TestClient) -> None:
    sheet = bench.get("/static/faces.css").text

    names = [part.split(")")[0] for part in sheet.split("url(")[1:]]
    assert len(names) == 5  # faces of report/assets/README.md
    for name in names:
        face = bench.get(f"/static/{name}")
        assert face.content[:4] == b"wOF2"  # signature: WOFF2, W3C, section 4.1
        assert face.headers["content-type"] == "font/woff2"


# What is stored


def test_what_is_stored_can_be_taken_away_and_deleted(bench: TestClient) -> None:
    storage = bench.app.state.bench.storage  # type: ignore[attr-defined]
    table = storage.add_table("barges", "{}", "seed")
    assert "barges" in bench.get("/kept", headers=PAGE).text

    def taken() -> str:
        return str(json.loads(bench.get("/kept/barges.json").text)["tables"][0]["seed"])

    assert taken() == ""  # a seed tells what lies face down
    storage.end_table(table.id)
    assert taken() == "seed"

    bench.post("/kept/delete", data={"project": "barges"})
    assert json.loads(bench.get("/kept/barges.json").text)["tables"] == []


@pytest.mark.parametrize(
    "path", ["/jobs/1", "/jobs/-1", "/jobs/x", "/jobs/99999999999999999999999"]
)
def test_a_job_that_is_not_there_is_told_plainly(bench: TestClient, path: str) -> None:
    answer = bench.get(path)

    assert answer.status_code in (400, 404)
    assert "message" in answer.json()


def test_a_script_gets_its_errors_as_data_and_a_person_as_a_page(bench: TestClient) -> None:
    assert bench.get("/nowhere", headers={"accept": "application/json"}).json()["message"]
    assert "<h1>" in bench.get("/nowhere", headers=PAGE).text

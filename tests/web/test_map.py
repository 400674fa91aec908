"""The page of the map: what is drawn, asked, edited, and what hostile input does to it."""

from __future__ import annotations

import csv
import io
import time
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import nervure as nv
from nervure.anatomy import build
from nervure.project import read_bundled_map, read_folder
from nervure.report.leaf_shape import LeafShape, path_of
from nervure.web.pages.map.drawing import PLATE, _Picture, picture_of
from nervure.web.shelf import Reading

PAGE = {"accept": "text/html"}
MAP = "/p/barges/map"


@pytest.fixture(scope="module")
def reading(pattern: Path) -> Reading:
    return Reading("barges", pattern)


@pytest.fixture(scope="module")
def svg(reading: Reading) -> ElementTree.Element:
    return ElementTree.fromstring(picture_of(reading).svg)


# The drawing


def test_every_lane_says_which_fibre_it_is_and_runs_its_way(
    reading: Reading, svg: ElementTree.Element
) -> None:
    drawing = _Picture(reading)
    shape = LeafShape(drawing.layout, PLATE, drawing.margin.room)
    ways = {
        f"{vein.start}>{vein.end} {fibre}": path_of(shape.lane(vein, fibre))
        for vein in drawing.layout.veins
        for fibre in vein.fibres
    }

    drawn = {lane.get("data-lane"): lane.get("d") for lane in svg.iter() if lane.get("data-lane")}

    assert {name: drawn[name] for name in ways} == ways
    assert len(drawn) == len(ways) + len(reading.anatomy.origins)


def test_every_pathway_of_the_map_has_its_lanes(
    reading: Reading, svg: ElementTree.Element
) -> None:
    lanes = {lane.get("data-lane") for lane in svg.iter()}

    for pathway in reading.anatomy.all_pathways:
        stops = [*pathway.structures, pathway.target]
        wanted = {f"{a}>{b} {pathway.origin}" for a, b in pairwise(stops)}
        assert wanted <= lanes


def test_every_structure_and_target_is_a_button_with_a_name(
    reading: Reading, svg: ElementTree.Element
) -> None:
    buttons = [part for part in svg.iter() if part.get("role") == "button"]

    targets, structures = len(reading.anatomy.map.targets), len(reading.anatomy.structure_ids)
    assert len(buttons) == structures + 3 * targets  # name and two findings a row
    assert all(part.get("aria-label") for part in buttons)


def test_structures_and_targets_are_one_tab_stop_each(svg: ElementTree.Element) -> None:
    stops = [part for part in svg.iter() if part.get("tabindex") == "0"]

    assert len(stops) == 2


def test_the_drawing_has_no_style_of_its_own(svg: ElementTree.Element) -> None:
    assert not [part for part in svg.iter() if part.get("style") or part.tag == "style"]


# Asking


def test_a_cut_gives_what_the_command_gives(bench: TestClient, project: Path) -> None:
    site = build(read_bundled_map("gut")).structure_ids[3]

    answer = bench.get(f"{MAP}/cut", params={"site": site}).json()
    command = nv.open(project).cut([site])

    assert set(answer["losses"]) == set(command["affected"])
    words = {name: loss["word"] for name, loss in answer["losses"].items()}
    assert words == command["words"]
    assert answer["lost"]


def test_lost_pathways_are_named_by_their_place(bench: TestClient) -> None:
    facts = bench.get(f"{MAP}/facts").json()
    site = facts["structures"][0]["id"]

    lost = bench.get(f"{MAP}/cut", params={"site": site}).json()["lost"]

    # A whole cut of an origin takes exactly the pathways that begin there.
    expected = [i for i, one in enumerate(facts["pathways"]) if one["origin"] == site]
    assert lost == expected


def test_likely_sites_are_those_of_the_command(bench: TestClient, project: Path) -> None:
    targets = [row.id for row in read_folder(project).map.targets]

    html = bench.get(
        f"{MAP}/localize", params={"affected": targets[0], "spared": targets[1]}
    ).json()["html"]
    command = nv.open(project).localize([targets[0]], [targets[1]])

    first = command["groups"][0]["sites"][0]
    assert html.index(f'data-cut="{first}"') == html.index("data-cut=")


@pytest.mark.parametrize("path", [MAP, f"{MAP}/cut", f"{MAP}/localize?affected=spleen"])
def test_whatever_speaks_of_lesions_is_on_a_page_with_the_caution(
    bench: TestClient, path: str
) -> None:
    assert "no diagnostic aid" in bench.get(MAP, headers=PAGE).text


@pytest.mark.parametrize(
    ("what", "status"),
    [
        ("cut?site=nowhere", 404),
        ("cut?site=nowhere%3Eelse", 404),
        ("cut?site=coeliac@-1", 400),
        ("cut?site=coeliac@999999999999", 400),
        ("cut?site=" + "a" * 5000, 404),
        ("cut?via=nowhere", 404),
        ("localize?affected=nobody", 404),
        ("localize?affected=spleen&spared=spleen", 400),
        ("facts?chosen=true&variant=none-such", 404),
        ("facts?chosen=perhaps", 400),
        ("tables/..%2Fgame", 404),
        ("tables/game", 404),
        ("tables/%2e%2e", 404),
    ],
)
def test_what_cannot_be_asked_is_told_in_a_sentence(
    bench: TestClient, what: str, status: int
) -> None:
    answer = bench.get(f"{MAP}/{what}")

    assert answer.status_code == status
    assert answer.json()["message"] or answer.status_code == 404
    assert "Traceback" not in answer.text


@given(
    what=st.sampled_from(["cut", "localize", "facts"]),
    names=st.lists(
        st.tuples(
            st.sampled_from(["site", "via", "fibre", "affected", "spared", "variant", "chosen"]),
            st.text(max_size=30),
        ),
        max_size=6,
    ),
)
@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_no_question_makes_the_workbench_fail(
    bench: TestClient, what: str, names: list[tuple[str, str]]
) -> None:
    answer = bench.get(f"{MAP}/{what}", params=names)

    assert answer.status_code in (200, 400, 404, 429)


def test_a_variant_taken_in_changes_what_is_drawn(bench: TestClient) -> None:
    variant = read_bundled_map("gut").variants[0].id

    plain = bench.get(f"{MAP}/facts").json()
    taken = bench.get(f"{MAP}/facts", params={"chosen": "true", "variant": variant}).json()
    html = bench.get(MAP, params={"chosen": "true", "variant": variant}, headers=PAGE).text

    assert plain["pathways"] != taken["pathways"]
    assert f'value="{variant}" checked' in html


def test_names_from_the_files_are_never_markup(bench: TestClient, project: Path) -> None:
    file = project / "map" / "targets.csv"
    text = file.read_text("utf-8")
    name = read_folder(project).map.targets[0].name
    file.write_text(text.replace(name, "<script>alert(1)</script><b>x", 1), "utf-8")

    html = bench.get(MAP, headers=PAGE).text
    target = read_folder(project).map.targets[0].id
    part = bench.get(f"{MAP}/localize", params={"affected": target}).json()["html"]

    assert "<script>alert" not in html + part
    assert "&lt;script&gt;alert(1)" in html


# The tables


def change_of(given: dict[str, Any], place: int, column: str, value: str) -> dict[str, Any]:
    was = given["rows"][place]
    now = [*was, *[""] * (len(given["columns"]) - len(was))]
    now[given["columns"].index(column)] = value
    return {"kind": "change", "row": place + 2, "was": was, "now": now}


def post(bench: TestClient, what: str, given: dict[str, Any], *changes: dict[str, Any]) -> Any:
    form = {"digest": given["digest"], "changes": list(changes)}
    return bench.post(f"{MAP}/tables/{given['name']}/{what}", json=form)


def cells_of(file: Path) -> list[list[str]]:
    return list(csv.reader(io.StringIO(file.read_text("utf-8-sig"))))


def test_a_cell_is_saved_and_the_old_file_kept(bench: TestClient, project: Path) -> None:
    file = project / "map" / "structures.csv"
    before = file.read_bytes()
    given = bench.get(f"{MAP}/tables/structures").json()

    answer = post(bench, "save", given, change_of(given, 0, "note", "checked, by us"))

    assert answer.status_code == 200
    assert "checked, by us" in cells_of(file)[1]
    assert cells_of(file)[2:] == list(csv.reader(io.StringIO(before.decode())))[2:]
    assert file.with_name("structures.csv.bak").read_bytes() == before
    assert answer.json()["digest"] != given["digest"]


def test_a_bad_cell_is_told_by_the_sentence_of_check_before_it_is_saved(
    bench: TestClient, project: Path
) -> None:
    given = bench.get(f"{MAP}/tables/supplies").json()
    change = change_of(given, 0, "through", "nowhere")

    told = [one["message"] for one in post(bench, "prove", given, change).json()["faults"]]
    before = (project / "map" / "supplies.csv").read_bytes()
    refused = post(bench, "save", given, change)

    assert refused.status_code == 422
    assert (project / "map" / "supplies.csv").read_bytes() == before
    # The same words as reading the files gives once the cell stands in them.
    rows = cells_of(project / "map" / "supplies.csv")
    rows[1][given["columns"].index("through")] = "nowhere"
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    (project / "map" / "supplies.csv").write_text(out.getvalue(), "utf-8")
    faults = [fault.message for fault in read_folder(project).faults if fault.level == "error"]
    assert faults
    assert set(faults) <= set(told)


def test_another_hands_rows_are_kept_and_it_is_told(bench: TestClient, project: Path) -> None:
    file = project / "map" / "structures.csv"
    given = bench.get(f"{MAP}/tables/structures").json()
    rows = cells_of(file)
    rows[2][given["columns"].index("note")] = "theirs"
    out = io.StringIO()
    csv.writer(out).writerows([rows[0], *reversed(rows[1:])])
    text = out.getvalue()
    file.write_text(text, "utf-8")

    answer = post(bench, "save", given, change_of(given, 0, "note", "mine"))

    notes = [row[given["columns"].index("note")] for row in cells_of(file)]
    assert answer.status_code == 200
    assert {"mine", "theirs"} <= set(notes)
    assert "another hand" in answer.json()["told"]


def test_a_row_changed_by_both_hands_is_shown_twice_and_not_written(
    bench: TestClient, project: Path
) -> None:
    file = project / "map" / "structures.csv"
    given = bench.get(f"{MAP}/tables/structures").json()
    rows = cells_of(file)
    rows[1][given["columns"].index("note")] = "theirs"
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    file.write_text(out.getvalue(), "utf-8")
    before = file.read_bytes()

    answer = post(bench, "save", given, change_of(given, 0, "note", "mine"))

    assert answer.status_code == 409
    conflict = answer.json()["conflicts"][0]
    assert "mine" in conflict["mine"]
    assert "theirs" in conflict["theirs"]
    assert file.read_bytes() == before


def test_an_edit_of_a_file_that_is_held_is_stored_and_offered_again(
    bench: TestClient, project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    given = bench.get(f"{MAP}/tables/structures").json()
    change = change_of(given, 0, "note", "mine")

    free = Path.replace

    def held(self: Path, target: Path) -> Path:
        if target.is_relative_to(project):
            raise PermissionError(13, "The file is used by another program")
        return free(self, target)

    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", held)  # what a spreadsheet program on Windows causes
        answer = post(bench, "save", given, change)
    assert answer.status_code == 423
    assert "used by another program" in answer.json()["told"]

    again = bench.get(f"{MAP}/tables/structures").json()
    assert again["draft"]["changes"][0]["now"] == change["now"]
    assert post(bench, "save", again, *again["draft"]["changes"]).status_code == 200
    assert bench.get(f"{MAP}/tables/structures").json()["draft"] is None


def test_a_map_with_faults_is_shown_and_can_be_mended(bench: TestClient, project: Path) -> None:
    file = project / "map" / "supplies.csv"
    good = file.read_text("utf-8")
    lines = good.splitlines()
    file.write_text("\n".join([lines[0], lines[1].replace(",", ",nowhere", 1), *lines[2:]]) + "\n")

    page = bench.get(MAP, headers=PAGE)
    given = bench.get(f"{MAP}/tables/supplies").json()
    right = good.splitlines()[1].split(",")[1]
    answer = post(bench, "save", given, change_of(given, 0, "through", right))

    assert page.status_code == 200
    assert "needs attention" in page.text
    assert answer.status_code == 200
    assert not [one for one in answer.json()["faults"] if one["level"] == "error"]


@pytest.mark.parametrize(
    "form",
    [
        {},
        {"digest": "x"},
        {"digest": "x", "changes": [{"kind": "burn", "row": 2, "was": [], "now": []}]},
        {"digest": "x", "changes": [{"kind": "change", "row": -1, "was": [], "now": []}]},
        {"digest": "x", "changes": [{"kind": "change", "row": 2, "was": [1], "now": []}]},
        {"digest": "x" * 100, "changes": []},
        {"digest": "x", "changes": [], "file": "../../etc/passwd"},
        {"digest": "x", "changes": [{"kind": "change", "row": 2, "was": ["a" * 30_000]}]},
        {"digest": "x", "changes": []},
    ],
)
def test_a_misshapen_form_changes_nothing(
    bench: TestClient, project: Path, form: dict[str, Any]
) -> None:
    before = {path: path.read_bytes() for path in (project / "map").iterdir()}

    answer = bench.post(f"{MAP}/tables/links/save", json=form)

    assert answer.status_code == 400
    assert answer.json()["message"]
    assert {path: path.read_bytes() for path in (project / "map").iterdir()} == before


@given(
    rows=st.lists(st.lists(st.text(max_size=12), max_size=10), max_size=4),
    kind=st.sampled_from(["add", "change", "remove"]),
    name=st.sampled_from(["tiers", "links", "supplies", "lesions"]),
)
@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_no_edit_makes_the_workbench_fail(
    bench: TestClient, rows: list[list[str]], kind: str, name: str
) -> None:
    changes = [{"kind": kind, "row": 2 + at, "was": [], "now": row} for at, row in enumerate(rows)]

    answer = bench.post(f"{MAP}/tables/{name}/prove", json={"digest": "", "changes": changes})

    assert answer.status_code in (200, 409, 429)


def test_a_bundled_map_is_shown_and_not_edited(bench: TestClient, project: Path) -> None:
    beside = project.parent / "beside"
    beside.mkdir()
    (beside / "game.toml").write_text('title = "Beside"\n[map]\nname = "gut"\n')
    bench.post("/projects/open", data={"folder": "beside"})

    page = bench.get("/p/beside/map", headers=PAGE)

    assert page.status_code == 200
    assert 'id="register"' not in page.text
    assert bench.get("/p/beside/map/tables/links").status_code == 404


# Review and check


def test_a_review_sheet_goes_out_and_comes_back(bench: TestClient) -> None:
    rows = list(csv.DictReader(io.StringIO(bench.get(f"{MAP}/review.csv").text)))
    rows[0]["disagree"], rows[0]["comment"] = "x", "L5 too, I think"
    rows[1]["agree"] = "x"
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)

    answer = bench.post(
        f"{MAP}/review", files={"sheet": ("back.csv", out.getvalue(), "text/csv")}, headers=PAGE
    )

    assert "1 agreed, 1 disagreed" in answer.text
    assert "L5 too, I think" in answer.text


@pytest.mark.parametrize("sheet", [b"", b"\x00\x01", b"a;b\n1;2\n", b"\xff\xfe" * 50])
def test_a_sheet_that_is_none_is_told(bench: TestClient, sheet: bytes) -> None:
    answer = bench.post(
        f"{MAP}/review", files={"sheet": ("x.csv", sheet, "text/csv")}, headers=PAGE
    )

    assert answer.status_code in (200, 422)
    assert "review.csv" in answer.text


def test_the_check_runs_as_a_job_and_leaves_its_page(bench: TestClient, project: Path) -> None:
    part = bench.post(f"{MAP}/check", headers={"hx-request": "true"}).text
    number = part.split('id="job-')[1].split('"')[0]

    for _ in range(600):
        part = bench.get(f"/jobs/{number}").text
        if "hx-get" not in part:
            break
        time.sleep(0.05)

    assert "/p/barges/out/check.html" in part
    assert (project / "out" / "check.html").exists()
    assert bench.get("/p/barges/out/check.html").status_code == 200

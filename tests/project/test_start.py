"""A project starts from a bundled map or from the table that every teacher has."""

import io
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from nervure import maps
from nervure.errors import FaultyProject, UnknownName, has_errors
from nervure.project import (
    bundled_maps,
    read_bundled_map,
    read_folder,
    start_from_map,
    start_from_table,
)
from nervure.project._roots import parse_roots

# Invented rows in common spellings; the roots are such as many tables give, from memory.
TEACHERS = (
    "Roots;Innervation;Muscle;Action\n"
    "L2-L4;femoral nerve;quadriceps femoris;straightens the knee\n"
    "L2, L3, (L4);N. obturatorius;Adductor longus;\n"
)


def _write(path: Path, text: str) -> Path:
    path.write_text(text, "utf-8")
    return path


# --- from a map


@pytest.mark.parametrize("name", bundled_maps())
def test_a_project_from_a_bundled_map_says_what_the_map_says(tmp_path: Path, name: str) -> None:
    project = start_from_map(tmp_path / "new-game", name)

    folder = read_folder(project.project)
    bundled = read_bundled_map(name)
    assert not has_errors(folder.faults)
    assert (folder.title, folder.map_origin) == ("New game", "folder")
    assert (folder.map.links, folder.map.supplies) == (bundled.links, bundled.supplies)
    assert all((tmp_path / "new-game" / file).is_file() for file in project.files)
    assert project.to_do


def test_words_of_a_bundled_map_go_into_the_game_file(tmp_path: Path) -> None:
    start_from_map(tmp_path / "new", "gut")

    assert read_folder(tmp_path / "new").words["affected"] == "starved"


def test_an_unknown_map_is_named_with_those_there_are(tmp_path: Path) -> None:
    with pytest.raises(UnknownName, match="'foot' is no bundled map"):
        start_from_map(tmp_path / "new", "foot")

    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["game.toml", "deck.csv", "map/links.csv", "map.xlsx"])
def test_nothing_is_written_over_or_beside_what_is_there(tmp_path: Path, name: str) -> None:
    (tmp_path / name).parent.mkdir(exist_ok=True)
    (tmp_path / name).write_text("mine")

    with pytest.raises(FaultyProject, match="this is there already") as caught:
        start_from_map(tmp_path, "gut")

    assert len(caught.value.faults) == 1
    assert (tmp_path / name).read_text() == "mine"
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == [tmp_path / name]


def test_a_folder_with_other_files_may_become_a_project(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine")

    start_from_map(tmp_path, "gut")

    assert read_folder(tmp_path).faults == ()


def test_what_was_written_goes_again_when_the_disk_is_full(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    replace = Path.replace

    def full(path: Path, target: Path) -> Path:
        if target.name == "links.csv":
            raise OSError(28, "No space left on device")
        return replace(path, target)

    monkeypatch.setattr(Path, "replace", full)

    with pytest.raises(FaultyProject, match="No space left on device"):
        start_from_map(tmp_path / "new", "gut")
    assert list(tmp_path.iterdir()) == []


def test_a_title_with_quotation_marks_and_braces_is_written_soundly(tmp_path: Path) -> None:
    start_from_map(tmp_path / 'the "{great}" game', "gut")

    assert read_folder(tmp_path / 'the "{great}" game').title == 'The "{great}" game'


# --- from a table


def test_headings_are_recognised_in_any_order_and_common_spelling(tmp_path: Path) -> None:
    project = start_from_table(tmp_path / "new", _write(tmp_path / "table.csv", TEACHERS))

    read = read_folder(project.project).map
    assert [(target.id, target.kind) for target in read.targets] == [
        ("quadriceps-femoris", "muscle"),
        ("adductor-longus", "muscle"),
    ]
    assert read.supplies[0].fibres == ("l2", "l3", "l4")
    assert "the column 'Action' of the table was not taken over." in project.to_do


def test_links_come_from_the_bundled_map_that_knows_the_nerves(tmp_path: Path) -> None:
    start_from_table(tmp_path / "new", _write(tmp_path / "table.csv", TEACHERS))

    read = read_folder(tmp_path / "new").map
    leg = read_bundled_map("leg")
    of_leg = {(link.start, link.end) for link in leg.links}
    assert "femoral-nerve" in {supply.through for supply in read.supplies}
    assert read.links
    assert {(link.start, link.end) for link in read.links} <= of_leg
    assert {source for link in read.links for source in link.sources} <= {
        source.id for source in read.sources
    }


def test_inconstant_roots_are_kept_noted_and_listed(tmp_path: Path) -> None:
    project = start_from_table(tmp_path / "new", _write(tmp_path / "table.csv", TEACHERS))

    read = read_folder(tmp_path / "new").map
    assert read.supplies[1].fibres == ("l2", "l3", "l4")
    assert "Inconstant there: l4." in read.targets[1].note
    assert any("'Adductor longus' has inconstant roots (l4)" in work for work in project.to_do)


def test_a_nerve_that_no_map_knows_becomes_a_structure_and_work_to_do(tmp_path: Path) -> None:
    text = "muscle,nerve,roots\nquadriceps,femoral,L2-4\ncremaster,nerve of the string,L1\n"
    project = start_from_table(tmp_path / "new", _write(tmp_path / "t.csv", text))

    read = read_folder(tmp_path / "new").map
    assert "nerve-of-the-string" in {structure.id for structure in read.structures}
    assert any("(nerve-of-the-string) is unknown to the bundled map" in w for w in project.to_do)
    assert any("no link carries fibres of 'l1'" in work for work in project.to_do)


def test_roots_that_the_map_does_not_carry_are_work_to_do(tmp_path: Path) -> None:
    text = "muscle,nerve,roots\nquadriceps,femoral,L2-L4 S3\n"

    project = start_from_table(tmp_path / "new", _write(tmp_path / "t.csv", text))

    assert any("'quadriceps' gets s3 in the table" in work for work in project.to_do)


def test_several_nerves_each_supply_the_muscle(tmp_path: Path) -> None:
    text = 'muscle,nerve,roots\nadductor magnus,"obturator and tibial","L2, L3, L4"\n'

    project = start_from_table(tmp_path / "new", _write(tmp_path / "t.csv", text))

    read = read_folder(tmp_path / "new").map
    assert {supply.through for supply in read.supplies} == {"obturator-nerve", "tibial-nerve"}
    assert any("has several nerves" in work for work in project.to_do)


def test_a_muscle_in_two_rows_is_one_target(tmp_path: Path) -> None:
    text = (
        "muscle,nerve,roots\npectineus,femoral,L2\npectineus,obturator,L3\npectineus,femoral,L3\n"
    )

    start_from_table(tmp_path / "new", _write(tmp_path / "t.csv", text))

    read = read_folder(tmp_path / "new").map
    assert [target.id for target in read.targets] == ["pectineus"]
    assert [(supply.through, supply.fibres) for supply in read.supplies] == [
        ("femoral-nerve", ("l2", "l3")),
        ("obturator-nerve", ("l3",)),
    ]


@pytest.fixture
def no_maps(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Nervure as if it came without any map."""
    (tmp_path / "no-maps").mkdir()
    monkeypatch.setattr(maps, "_HERE", tmp_path / "no-maps")


@pytest.mark.usefixtures("no_maps")
def test_it_works_where_there_is_no_bundled_map(tmp_path: Path) -> None:
    project = start_from_table(tmp_path / "new", _write(tmp_path / "table.csv", TEACHERS))

    folder = read_folder(tmp_path / "new")
    assert [fault.code for fault in folder.faults] == ["table-without-rows"]
    assert [tier.id for tier in folder.map.tiers] == ["root", "nerve"]
    assert len(folder.map.supplies) == 2
    assert any("no bundled map knows these nerves" in work for work in project.to_do)


@pytest.mark.usefixtures("no_maps")
def test_origins_need_not_be_spinal_roots(tmp_path: Path) -> None:
    text = (
        "target,artery,origins\nspleen,splenic artery,coeliac trunk\nliver,hepatic,coeliac trunk\n"
    )

    start_from_table(tmp_path / "new", _write(tmp_path / "t.csv", text))

    read = read_folder(tmp_path / "new").map
    assert [s.id for s in read.structures] == ["coeliac-trunk", "splenic-artery", "hepatic"]
    assert read.supplies[0].fibres == ("coeliac-trunk",)


@pytest.mark.usefixtures("no_maps")
def test_names_that_fall_together_get_ids_of_their_own(tmp_path: Path) -> None:
    text = "muscle,nerve,roots\nl4,l4,L4\nnerve,variant,L5\n"

    start_from_table(tmp_path / "new", _write(tmp_path / "t.csv", text))

    faults = read_folder(tmp_path / "new").faults
    assert [fault.code for fault in faults] == ["table-without-rows"]


def test_a_workbook_with_merged_nerves_is_read(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for row in (
        ["Muscle", "Nerve", "Root values"],
        ["vastus medialis", "Femoral nerve", "L2-L4"],
        ["vastus lateralis", None, "L2-L4"],
    ):
        book.active.append(row)
    book.active.merge_cells("B2:B3")
    stream = io.BytesIO()
    book.save(stream)
    (tmp_path / "table.xlsx").write_bytes(stream.getvalue())

    start_from_table(tmp_path / "new", tmp_path / "table.xlsx")

    read = read_folder(tmp_path / "new").map
    assert [supply.through for supply in read.supplies] == ["femoral-nerve", "femoral-nerve"]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("quadriceps,femoral,see text", "the roots 'see text' of 'quadriceps' could not be read"),
        ("quadriceps,femoral,", "'quadriceps' has no roots there"),
        ("quadriceps,,L2", "'quadriceps' has no nerve there"),
        (",femoral,L2", "row 3 of the table has no muscle"),
    ],
)
def test_what_a_row_lacks_is_work_to_do_and_not_guessed(
    tmp_path: Path, row: str, says: str
) -> None:
    text = f"muscle,nerve,roots\nsartorius,femoral,L2-L3\n{row}\n"

    project = start_from_table(tmp_path / "new", _write(tmp_path / "t.csv", text))

    assert any(says in work for work in project.to_do)
    assert not has_errors(read_folder(tmp_path / "new").faults)


def _no_roots(path: Path) -> None:
    _write(path, "muscle,nerve\nquadriceps,femoral\n")


def _no_rows(path: Path) -> None:
    _write(path, "muscle,nerve,roots\n,,\n")


def _no_file(path: Path) -> None:
    assert not path.exists()


@pytest.mark.parametrize(
    ("make", "code", "says"),
    [
        (_no_roots, "start-column", "row 1: no column is headed as the one of the roots"),
        (_no_rows, "start-empty", "no row of the table holds a muscle"),
        (_no_file, "start-missing", "t.csv: there is no such file"),
        (Path.mkdir, "is-folder", "A file is expected here"),
        (Path.touch, "file-empty", "there is nothing in it"),
    ],
)
def test_a_table_that_cannot_be_used_is_one_clear_error(
    tmp_path: Path, make: Callable[[Path], None], code: str, says: str
) -> None:
    make(tmp_path / "t.csv")

    with pytest.raises(FaultyProject) as caught:
        start_from_table(tmp_path / "new", tmp_path / "t.csv")

    assert [fault.code for fault in caught.value.faults] == [code]
    assert says in str(caught.value)
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize(
    ("cell", "origins", "inconstant"),
    [
        ("L2-L4", "l2 l3 l4", ""),
        ("L2–4", "l2 l3 l4", ""),
        ("L2, L3, (L4)", "l2 l3 l4", "l4"),
        ("(L4), L5, S1, (S2)", "l4 l5 s1 s2", "l4 s2"),
        ("L4–(S1)", "l4 l5 s1", "s1"),
        ("C5/6", "c5 c6", ""),
        ("C8, Th1", "c8 t1", ""),
        ("C8 to T1", "c8 t1", ""),
        ("L5 S1", "l5 s1", ""),
        ("S1 and L5", "l5 s1", ""),
        ("[T12] L1", "t12 l1", "t12"),
        ("T11-L1", "t11 t12 l1", ""),
        ("S5, Co1", "s5 co1", ""),
    ],
)
def test_roots_are_read_as_people_write_them(cell: str, origins: str, inconstant: str) -> None:
    roots = parse_roots(cell)

    assert roots is not None
    assert (" ".join(roots.all), " ".join(roots.inconstant)) == (origins, inconstant)


@pytest.mark.parametrize(
    "cell", ["", "see text", "L6", "C9", "S1-L4", "T13", "L2-", "L 123", "42"]
)
def test_what_is_no_list_of_roots_is_not_guessed(cell: str) -> None:
    assert parse_roots(cell) is None

"""Folders, maps and workbooks as people have them on their machines."""

import datetime
import io
import os
import tomllib
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from nervure.errors import FaultyProject, Place, UnknownName
from nervure.project import bundled_maps, read_bundled_map, read_folder, read_map
from nervure.project.columns import MAP_TABLES

MakeFolder = Callable[[Mapping[str, str | bytes | None]], Path]
NOWHERE = Place("anywhere")


def _without_places(record: Any) -> Any:
    """Give a map whose records all stand in one place, so that only content is compared."""
    return replace(
        record,
        name="",
        **{
            part.name: tuple(replace(row, place=NOWHERE) for row in getattr(record, part.name))
            for part in fields(record)
            if part.name != "name"
        },
    )


def _codes(folder: Path) -> list[str]:
    return [fault.code for fault in read_folder(folder).faults]


def test_records_hold_what_the_tables_say(garden: MakeFolder) -> None:
    folder = read_folder(garden({}))

    link = folder.map.links[2]
    assert (link.start, link.end, link.level, link.enters) == ("north-pipe", "gate-tap", 1, 0)
    assert (link.fibres, link.main_fibres, link.sources) == (("w1",), ("w1",), ("plan",))
    assert link.place == Place("map/links.csv", 4)
    assert folder.map.links[0].fibres is None
    assert folder.map.tiers[2].mark == "division"
    assert folder.map.targets[0].needs == "sum"
    assert folder.map.structures[0].site is True
    assert folder.map.lesions[0].sites == ("north-pipe@2", "south-pipe>shed-tap")
    assert folder.map.variants[0].seen_in_percent == "5-20"
    assert folder.map.readings[0].main_fibres is None
    assert [(row.card, row.copies, row.points) for row in folder.deck] == [
        ("w1", 3, None),
        ("herb-bed", None, (2, 4)),
        ("wild:pipe", 1, None),
    ]
    assert folder.plays[0].scores == (12, 9)
    assert folder.art[0].licence == "CC0"
    assert folder.texts == {"story": "The gardener is away.\n"}
    assert (folder.title, folder.map_origin, folder.language) == ("Garden", "folder", "en")


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_delimiter_encoding_and_line_end_do_not_change_what_is_read(
    garden: MakeFolder,
    garden_files: Mapping[str, str],
    delimiter: str,
    encoding: str,
    line_end: str,
) -> None:
    plain = {
        name: text.replace("Rose bed", "Rosenbeet für Käfer")
        for name, text in garden_files.items()
        if name.endswith(".csv")
    }
    expected = _without_places(read_folder(garden(plain)).map)
    written = {
        name: text.replace(",", delimiter).replace("\n", line_end).encode(encoding)
        for name, text in plain.items()
    }

    folder = read_folder(garden(written))

    assert _without_places(folder.map) == expected
    assert {fault.code for fault in folder.faults} == (
        {"encoding-guessed"} if encoding == "cp1252" else set()
    )


def test_a_delimiter_within_quotation_marks_is_no_delimiter(garden: MakeFolder) -> None:
    text = 'tier;"name";plural\nwell;"Well, deep, and; old";wells\npipe;Pipe;\ntap;Tap;\n'

    folder = read_folder(garden({"map/tiers.csv": text}))

    assert folder.faults == ()
    assert folder.map.tiers[0].name == "Well, deep, and; old"


def test_rows_are_counted_as_a_spreadsheet_counts_them(garden: MakeFolder) -> None:
    """Row 2 has a line break within a cell, row 3 is blank: the mistake stands in row 4."""
    text = 'tier,name,mark\nwell,"Well\nof stone",root\n\npipe,Pipe,oval\ntap,Tap,\n'

    folder = read_folder(garden({"map/tiers.csv": text}))

    assert [(fault.code, fault.place.row) for fault in folder.faults] == [("choice", 4)]
    assert folder.map.tiers[0].name == "Well of stone"


def test_cells_missing_at_the_end_of_a_row_are_blank(garden: MakeFolder) -> None:
    assert (
        _codes(garden({"map/tiers.csv": "tier,name,plural,mark\nwell,W\npipe,P\ntap,T\n"})) == []
    )


def test_optional_tables_and_columns_may_be_missing(garden: MakeFolder) -> None:
    folder = garden(
        {
            "map/readings.csv": None,
            "map/variants.csv": None,
            "map/lesions.csv": None,
            "deck.csv": None,
            "plays.csv": None,
            "art/w1.svg": None,
            "art/credits.csv": None,
            "map/structures.csv": "structure,tier,name\nw1,well,A\nw2,well,B\nnorth-pipe,pipe,N\n"
            "south-pipe,pipe,S\ngate-tap,tap,G\nshed-tap,tap,H\n",
        }
    )

    assert _codes(folder) == []


def test_title_and_map_alone_are_enough(tmp_path: Path) -> None:
    (tmp_path / "game.toml").write_text('title = "Gut"\n[map]\nname = "gut"\n')

    folder = read_folder(tmp_path)

    assert folder.map_origin == "bundled"
    assert folder.words["fibre"] == "flow"


def test_words_of_the_game_go_before_those_of_the_bundled_map(tmp_path: Path) -> None:
    (tmp_path / "game.toml").write_text('[map]\nname = "gut"\n[words]\ncut = "lock"\n')

    folder = read_folder(tmp_path)

    assert (folder.words["cut"], folder.words["spared"]) == ("lock", "fed")


def test_settings_of_other_tables_are_kept_as_they_stand(garden: MakeFolder) -> None:
    text = '[rules]\nhnad = 5\n[tune]\n"rules.hand" = [3, 6]\n[[objectives]]\nid = "x"\n'

    folder = read_folder(garden({"game.toml": text}))

    assert folder.faults == ()
    assert dict(folder.settings) == tomllib.loads(text)


@pytest.mark.parametrize("name", bundled_maps())
def test_a_bundled_map_reads_without_error(name: str) -> None:
    read = read_bundled_map(name)

    assert read.name == name
    assert read.structures


def test_an_unknown_bundled_map_is_named_with_those_there_are() -> None:
    with pytest.raises(UnknownName, match="'foot' is no bundled map"):
        read_bundled_map("foot")


BROKEN = (
    ("map/structures.csv", "gate-tap,tap", "gate-tap,tip"),
    ("map/structures.csv", "w1,well,First well", "w1,well,"),
    ("map/structures.csv", "south-pipe,pipe,South pipe", "south-pipe,pipe,"),
    ("map/tiers.csv", "well,Well", "well,"),
    ("map/targets.csv", "rose-bed,Rose bed", "rose-bed,"),
    ("map/sources.csv", "plan,Invented plan of an invented garden", "plan,"),
    ("map/variants.csv", "third-pipe,A third pipe", "third-pipe,"),
)


@pytest.mark.parametrize(("file", "old", "new"), BROKEN)
def test_every_id_in_a_map_exists_in_it_however_broken_the_tables(
    garden: MakeFolder, garden_files: Mapping[str, str], file: str, old: str, new: str
) -> None:
    links = garden_files["map/links.csv"].replace(
        "w2,south-pipe,,,,,,,", "w2,south-pipe,,,w1,,,third-pipe,"
    )
    files = {**garden_files, "map/links.csv": links}
    assert old in files[file]

    read = read_folder(garden({**files, file: files[file].replace(old, new)})).map

    structures = {each.id for each in read.structures}
    assert {each.tier for each in read.structures} <= {tier.id for tier in read.tiers}
    sources = {source.id for source in read.sources}
    rows = (*read.links, *read.supplies)
    for row in (*rows, *read.lesions):
        assert {*row.via, *(row.fibres or ())} <= structures
    for row in (*rows, *read.lesions, *read.targets, *read.variants):
        assert set(row.sources) <= sources
    assert {row.variant for row in rows} <= {"", *(variant.id for variant in read.variants)}
    assert {name for link in read.links for name in (link.start, link.end)} <= structures
    assert {row.target for row in read.supplies} <= {target.id for target in read.targets}
    assert {row.through for row in read.supplies} <= structures


def test_a_broken_table_is_not_blamed_on_the_tables_that_refer_to_it(garden: MakeFolder) -> None:
    assert _codes(garden({"map/structures.csv": "structure;name\nw1;x\n"})) == ["column-missing"]


def test_an_unreadable_game_file_does_not_hide_the_faults_of_the_map(garden: MakeFolder) -> None:
    folder = garden({"game.toml": "title =", "map/tiers.csv": "tier,name,colour\nwell,W,\n"})

    assert {"toml-broken", "unknown-column"} <= set(_codes(folder))


# --- workbooks


def _workbook(files: Mapping[str, str], change: Callable[[Any], None] | None = None) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name in MAP_TABLES:
        sheet = book.create_sheet(name)
        for line in files[f"map/{name}.csv"].splitlines():
            sheet.append(
                [int(cell) if cell.isdigit() else cell or None for cell in line.split(",")]
            )
    if change:
        change(book)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def _with_workbook(garden: MakeFolder, files: Mapping[str, str], data: bytes) -> Path:
    no_tables: dict[str, str | bytes | None] = {
        name: None for name in files if name.startswith("map/")
    }
    return garden({**no_tables, "map.xlsx": data})


def test_a_workbook_says_the_same_as_tables(
    garden: MakeFolder, garden_files: Mapping[str, str]
) -> None:
    folder = read_folder(_with_workbook(garden, garden_files, _workbook(garden_files)))

    assert folder.faults == ()
    assert folder.map_origin == "workbook"
    expected = read_map(garden({}) / "map")[0]
    assert _without_places(folder.map) == _without_places(expected)


def _set(sheet: str, cell: str, value: Any) -> Callable[[Any], None]:
    def change(book: Any) -> None:
        book[sheet][cell] = value

    return change


def _merge(sheet: str, cells: str) -> Callable[[Any], None]:
    def change(book: Any) -> None:
        book[sheet].merge_cells(cells)

    return change


def _rename(sheet: str, name: str) -> Callable[[Any], None]:
    def change(book: Any) -> None:
        book[sheet].title = name

    return change


@pytest.mark.parametrize(
    ("change", "code", "place", "says"),
    [
        (
            _set("variants", "C2", datetime.datetime(2026, 5, 20)),
            "date-cell",
            "map.xlsx, sheet variants, row 2, column seen_in_percent",
            "'2026-05-20' is a date",
        ),
        (
            _set("targets", "B2", datetime.date(2026, 5, 1)),
            "date-cell",
            "map.xlsx, sheet targets, row 2, column name",
            "'2026-05-01' is a date",
        ),
        (
            _set("links", "F4", "w9"),
            "no-origin",
            "map.xlsx, sheet links, row 4, column fibres",
            "The origins are w1 w2.",
        ),
        (_merge("links", "A2:A3"), "cells-merged", "map.xlsx, sheet links", "A2:A3 are merged"),
        (_rename("lesions", "lesion"), "unknown-table", "map.xlsx, sheet lesion", "lesions"),
        (_rename("tiers", "tears"), "unknown-table", "map.xlsx, sheet tears", "Nearest: tiers."),
        (
            _set("links", "ZZ90000", "x"),
            "sheet-too-large",
            "map.xlsx, sheet links",
            "row 90000",
        ),
    ],
)
def test_a_mistake_in_a_workbook_is_named_with_its_sheet(
    garden: MakeFolder,
    garden_files: Mapping[str, str],
    change: Callable[[Any], None],
    code: str,
    place: str,
    says: str,
) -> None:
    data = _workbook(garden_files, change)
    folder = _with_workbook(garden, garden_files, data)

    faults = [fault for fault in read_folder(folder).faults if fault.code == code]

    assert [str(fault.place) for fault in faults] == [place]
    assert says in faults[0].message
    assert (folder / "map.xlsx").read_bytes() == data


OLD_OFFICE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 504


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "workbook-broken"),
        (b"PK\x03\x04 no archive", "workbook-broken"),
        (b"tier,name\n", "workbook-broken"),
        (OLD_OFFICE, "workbook-old"),
        (OLD_OFFICE + "EncryptedPackage".encode("utf-16-le"), "workbook-locked"),
    ],
)
def test_a_workbook_that_cannot_be_read_is_one_fault(
    garden: MakeFolder, garden_files: Mapping[str, str], data: bytes, code: str
) -> None:
    folder = _with_workbook(garden, garden_files, data)

    with pytest.raises(FaultyProject) as caught:
        read_folder(folder)

    assert [fault.code for fault in caught.value.faults] == [code]


def test_a_merged_column_is_refused_before_each_of_its_cells_is_made(
    garden: MakeFolder, garden_files: Mapping[str, str]
) -> None:
    data = io.BytesIO()
    plain = _workbook(garden_files, _merge("links", "A2:A3"))
    with zipfile.ZipFile(io.BytesIO(plain)) as before, zipfile.ZipFile(data, "w") as after:
        for part in before.namelist():
            after.writestr(part, before.read(part).replace(b"A2:A3", b"A1:XFD1048576"))
    folder = _with_workbook(garden, garden_files, data.getvalue())

    with pytest.raises(FaultyProject, match="17,179,869,184 cells are merged"):
        read_folder(folder)


def test_a_map_folder_beside_a_workbook_is_a_fault(
    garden: MakeFolder, garden_files: Mapping[str, str]
) -> None:
    assert _codes(garden({"map.xlsx": _workbook(garden_files)})) == ["map-twice"]


# --- what file systems do


def test_a_missing_folder_says_so(tmp_path: Path) -> None:
    with pytest.raises(FaultyProject, match="nowhere: there is no such folder"):
        read_folder(tmp_path / "nowhere")


def test_a_file_in_place_of_the_project_says_so(tmp_path: Path) -> None:
    (tmp_path / "game").write_text("x")

    with pytest.raises(FaultyProject, match=r"game: this is a file\. A folder is expected"):
        read_folder(tmp_path / "game")


def test_no_map_names_the_bundled_ones(tmp_path: Path) -> None:
    (tmp_path / "game.toml").write_text('title = "x"\n')

    with pytest.raises(FaultyProject, match=r"there is no map.*gut"):
        read_folder(tmp_path)


def test_a_folder_where_a_table_is_expected_says_so(garden: MakeFolder) -> None:
    folder = garden({"deck.csv": None, "map/lesions.csv": None})
    (folder / "deck.csv").mkdir()
    (folder / "map/lesions.csv").mkdir()

    assert _codes(folder) == ["is-folder", "is-folder"]


def test_a_picture_that_points_out_of_the_folder_is_refused(
    garden: MakeFolder, tmp_path: Path
) -> None:
    folder = garden({})
    (tmp_path / "secret.svg").write_text("<svg/>")
    (folder / "art/w2.svg").symlink_to(tmp_path / "secret.svg")

    read = read_folder(folder)

    assert [fault.code for fault in read.faults] == ["outside-folder"]
    assert [picture.card for picture in read.art] == ["w1"]


def test_a_table_that_points_out_of_the_folder_is_refused(
    garden: MakeFolder, tmp_path: Path
) -> None:
    folder = garden({"deck.csv": None})
    (tmp_path / "deck.csv").write_text("card\nw1\n")
    (folder / "deck.csv").symlink_to(tmp_path / "deck.csv")

    assert _codes(folder) == ["outside-folder"]


def test_a_ring_of_links_is_a_fault(garden: MakeFolder) -> None:
    folder = garden({"plays.csv": None})
    (folder / "plays.csv").symlink_to(folder / "plays.csv")

    assert _codes(folder) == ["unreadable"]


def test_a_file_held_by_another_program_is_a_fault(
    garden: MakeFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = garden({})
    read_bytes = Path.read_bytes

    def held(path: Path) -> bytes:
        if path.name == "deck.csv":
            raise PermissionError(13, "Permission denied")
        return read_bytes(path)

    monkeypatch.setattr(Path, "read_bytes", held)

    (fault,) = read_folder(folder).faults
    assert (fault.code, fault.place.file) == ("unreadable", "deck.csv")
    assert "If another program holds it open, close it there" in fault.message


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes on this system")
def test_a_pipe_is_not_waited_for(garden: MakeFolder) -> None:
    folder = garden({"deck.csv": None})
    os.mkfifo(folder / "deck.csv")

    assert _codes(folder) == ["unreadable"]


def test_a_file_past_the_limit_is_refused_before_it_is_read(garden: MakeFolder) -> None:
    folder = garden({"map/lesions.csv": None})
    with (folder / "map/lesions.csv").open("wb") as file:
        file.truncate(20_000_001)  # zero bytes: read, they would be another fault

    assert _codes(folder) == ["file-too-large"]


def test_a_cell_past_the_limit_is_a_fault_with_its_row(
    garden: MakeFolder, garden_files: Mapping[str, str]
) -> None:
    text = garden_files["map/variants.csv"] + 'big,Big,1,"' + "x" * 1_000_001 + '",plan\n'

    folder = read_folder(garden({"map/variants.csv": text}))

    assert [(fault.code, fault.place.row) for fault in folder.faults] == [("cell-too-large", 3)]


def test_backups_and_notes_beside_the_tables_are_passed_over(garden: MakeFolder) -> None:
    extra = {"map/links.csv.bak": "old", "map/README.md": "notes", "map/.~lock.links.csv#": "x"}

    assert _codes(garden(extra)) == []

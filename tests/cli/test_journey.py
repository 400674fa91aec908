"""A newcomer's way from nothing to a deck, with one slip on it."""

import csv
from pathlib import Path
from typing import Any

import pytest

Rows = list[list[str]]


def read_rows(file: Path) -> Rows:
    with file.open(newline="", encoding="utf-8-sig") as text:
        return list(csv.reader(text))


def write_rows(file: Path, rows: Rows) -> None:
    with file.open("w", newline="", encoding="utf-8") as text:
        csv.writer(text).writerows(rows)


def test_a_cell_is_broken_told_mended_and_the_map_holds_again(run: Any, tmp_path: Path) -> None:
    folder = tmp_path / "my game"
    started = run("new", folder, "--map", "leg")
    supplies = folder / "map" / "supplies.csv"
    rows = read_rows(supplies)
    column = rows[0].index("fibres")
    was = rows[5][column]
    rows[5][column] = was + " l9"
    write_rows(supplies, rows)

    broken = run("check", folder)
    refused = run("print", folder)
    rows[5][column] = was
    write_rows(supplies, rows)
    mended = run("check", folder)

    assert started.code == 0
    assert f'Next: nervure check "{folder}"' in started.out
    assert broken.code == 1
    assert broken.out.splitlines()[0] == (
        "error    map/supplies.csv, row 6, column fibres: 'l9' is no origin. "
        "The origins are l1 l2 l3 l4 l5 s1 s2 s3 s4."
    )
    assert "1 error, " in broken.out
    assert (refused.code, refused.out) == (2, "")
    assert mended.code == 0
    assert "The map holds: " in mended.out


@pytest.mark.parametrize("map_name", ["leg", "arm", "gut"])
def test_every_bundled_map_starts_a_game_that_can_be_played(
    map_name: str, run: Any, tmp_path: Path
) -> None:
    folder = tmp_path / map_name
    run("new", folder, "--map", map_name)

    checked = run("check", folder, "--json")
    played = run("playtest", folder, "--games", "20", "--players", "2", "--json")

    assert checked.data["ok"] is True
    assert played.code == 0
    assert played.data["games"] >= 20


@pytest.mark.long
@pytest.mark.parametrize("game", ["giants-leg", "lock-keepers"])
def test_the_demonstration_is_made_and_made_once(game: str, run: Any, tmp_path: Path) -> None:
    folder = tmp_path / "demo"

    first = run("demo", folder, "--game", game, "--json")
    second = run("demo", folder, "--json")

    assert [step["state"] for step in first.data["steps"]] == ["made"] * 3
    assert [step["state"] for step in second.data["steps"]] == ["kept"] * 3
    for step in first.data["steps"]:
        for file in step["files"]:
            assert (folder / "out" / file).stat().st_size > 0


@pytest.mark.long
def test_all_makes_a_new_project_from_check_to_cards(run: Any, tmp_path: Path) -> None:
    folder = tmp_path / "mine"
    run("new", folder, "--map", "leg")

    ran = run("all", folder)

    assert ran.code == 0
    assert ran.out.count("made     ") == 3
    assert (folder / "out" / "print" / "cards.pdf").is_file()


def table(path: Path) -> Path:
    """Write the table that a teacher has: muscle, nerve, roots."""
    path.write_text(
        "Muscle;Nerve;Roots\nTibialis anterior;Deep fibular nerve;L4, L5\n"
        "Soleus;Tibial nerve;S1-S2\nGluteus medius;Superior gluteal nerve;L4 L5 S1\n",
        "utf-8",
    )
    return path


def workbook(path: Path) -> Path:
    """Write the same table as a workbook."""
    import openpyxl

    book = openpyxl.Workbook()
    for line in table(path.with_suffix(".csv")).read_text("utf-8").splitlines():
        book.active.append(line.split(";"))
    book.save(path)
    return path


@pytest.mark.parametrize(("make", "name"), [(table, "my table.csv"), (workbook, "my table.xlsx")])
def test_a_teachers_table_becomes_a_map_that_holds(
    make: Any, name: str, run: Any, tmp_path: Path
) -> None:
    folder = tmp_path / "from-table"

    started = run("new", folder, "--from", make(tmp_path / name))
    ways = run("pathways", folder, "tibialis-anterior", "--json")

    assert started.code == 0
    assert ways.code == 0
    assert {row["structures"][0] for row in ways.data["pathways"]} == {"l4", "l5"}


def test_a_second_start_in_the_same_folder_is_refused(
    run: Any, tmp_path: Path, digests: Any
) -> None:
    run("new", tmp_path / "mine", "--map", "gut")
    before = digests(tmp_path / "mine")

    again = run("new", tmp_path / "mine", "--map", "leg")

    assert again.code == 2
    assert "Nothing is written over" in again.err
    assert digests(tmp_path / "mine") == before


def test_a_review_sheet_goes_out_and_comes_back(run: Any, garden: Any) -> None:
    folder = garden()
    run("check", folder)
    sheet = folder.parent / "colleague.csv"
    rows = read_rows(folder / "out" / "review.csv")
    agree, disagree, comment = (rows[0].index(name) for name in ("agree", "disagree", "comment"))
    rows[1][agree] = "x"
    rows[2][disagree], rows[2][comment] = "x", "w2 alone"
    write_rows(sheet, rows)

    ran = run("check", folder, "--review", sheet)

    assert ran.code == 0
    assert "Review sheet: 1 agreed with, 1 disagreed with, 0 open." in ran.out
    assert "herb-bed through shed-tap (disagree): w2 alone" in ran.out

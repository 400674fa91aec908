"""The review sheet goes out and comes back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from nervure.anatomy import Anatomy, build, parse_review, read_review, review_rows, write_review
from nervure.errors import FaultyProject
from nervure.project.records import Map
from nervure.project.writing import Table, read_table, write_table

MapMaker = Callable[..., Map]


@pytest.fixture
def anatomy(small_map: MapMaker) -> Anatomy:
    return build(
        small_map(
            {"root": "l4 l5", "nerve": "femoral sciatic"},
            "l4 femoral\nl4 sciatic\nl5 sciatic",
            """vastus femoral
               magnus sciatic level=1 fibres=l4 share=40
               magnus femoral share=60
               toe sciatic level=2 fibres=l5 main=l5 variant=-high""",
            variants="high",
        )
    )


def filled(anatomy: Anatomy, path: Path, marks: dict[int, dict[str, str]]) -> Path:
    """Write the sheet, fill in cells by row as a spreadsheet counts, and save it."""
    write_review(path, anatomy)
    table = read_table(path)
    rows = [list(row) for row in table.rows]
    for number, cells in marks.items():
        for column, value in cells.items():
            rows[number - 2][table.header.index(column)] = value
    write_table(path, replace(table, rows=tuple(map(tuple, rows))))
    return path


def test_the_sheet_has_one_line_a_supply(anatomy: Anatomy) -> None:
    lines = review_rows(anatomy)

    assert [(line["target"], line["through"]) for line in lines] == [
        ("vastus", "femoral"),
        ("magnus", "sciatic"),
        ("magnus", "femoral"),
        ("toe", "sciatic"),
    ]
    assert lines[0]["fibres"] == "l4"  # blank in the map: what reaches is spelled out
    assert (lines[1]["level"], lines[1]["share"]) == ("1", "40")


def test_answers_come_back_with_their_comments(anatomy: Anatomy, tmp_path: Path) -> None:
    sheet = filled(
        anatomy,
        tmp_path / "review.csv",
        {
            2: {"agree": "X"},
            3: {"disagree": "yes", "comment": "tibial part only"},
            5: {"comment": "cannot tell"},
        },
    )

    review = read_review(sheet, anatomy)

    assert review.faults == ()
    assert [answer.verdict for answer in review.answers] == ["agree", "disagree", "open", "open"]
    assert review.agreement == pytest.approx(1 / 2)
    told = review.to_dict()
    assert (told["agree"], told["disagree"], told["open"]) == (1, 1, 2)
    assert [(line["row"], line["comment"]) for line in told["comments"]] == [
        (3, "tibial part only"),
        (5, "cannot tell"),
    ]


def test_a_sheet_with_lines_cut_out_and_moved_is_read(anatomy: Anatomy) -> None:
    table = Table(
        ("disagree", "agree", "through", "target", "level", "variant"),
        (("", "x", "sciatic", "toe", "2", "-high"), ("", "", "", "", "", "")),
    )

    review = parse_review(table, anatomy, "review.csv")

    assert review.faults == ()
    assert [answer.supply.target for answer in review.answers] == ["toe"]
    assert len(review.missing) == 3
    assert review.count("open") == 3


CASES: dict[str, tuple[dict[int, dict[str, str]], tuple[str, str, int, str], str]] = {
    "a mark that cannot be read": (
        {2: {"agree": "perhaps"}},
        ("error", "review-mark", 2, "agree"),
        "'perhaps' cannot be read as a mark. Accepted: x yes",
    ),
    "agree and disagree at once": (
        {4: {"agree": "x", "disagree": "x"}},
        ("error", "review-both", 4, "agree"),
        "both agree and disagree",
    ),
    "no supply of the map": (
        {3: {"through": "tibial"}},
        ("error", "review-unknown", 3, "target"),
        "'magnus tibial 1' (target, structure, level, via, variant). Nearest: magnus sciatic 1",
    ),
    "two lines of one supply": (
        {4: {"through": "sciatic", "level": "1"}},
        ("error", "review-twice", 4, "target"),
        "'magnus sciatic' is answered in row 3 already",
    ),
    "a disagreement without a comment": (
        {2: {"disagree": "x"}},
        ("warning", "review-no-comment", 2, "comment"),
        "disagreed without a comment",
    ),
    "a map that has changed": (
        {5: {"fibres": "l4 l5"}},
        ("warning", "review-changed", 5, "fibres"),
        "the sheet says 'l4 l5', the map says 'l5' now",
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_bad_lines_are_told_at_their_cell(case: str, anatomy: Anatomy, tmp_path: Path) -> None:
    marks, expected, sentence = CASES[case]

    review = read_review(filled(anatomy, tmp_path / "back.csv", marks), anatomy)

    told = [(f.level, f.code, f.place.row, f.place.column) for f in review.faults]
    assert expected in told
    assert any(sentence in fault.message for fault in review.faults)
    assert {fault.place.file for fault in review.faults} == {"back.csv"}


@pytest.mark.parametrize(
    ("header", "code", "column"),
    [
        (("target", "through", "agree"), "review-column", "disagree"),
        (("target", "through", "agree", "disagree", "coment"), "review-unknown-column", "coment"),
    ],
)
def test_wrong_columns_are_told(
    header: tuple[str, ...], code: str, column: str, anatomy: Anatomy
) -> None:
    review = parse_review(Table(header, ()), anatomy, "review.csv")

    assert [(fault.code, fault.place.column) for fault in review.faults] == [(code, column)]
    assert review.answers == ()


def test_a_file_that_is_no_table_is_refused(anatomy: Anatomy, tmp_path: Path) -> None:
    path = tmp_path / "review.csv"
    path.write_text('target,through\n"magnus,', "utf-8")

    with pytest.raises(FaultyProject, match=r"review\.csv"):
        read_review(path, anatomy)

"""Files are replaced whole, over a backup, in the style in which they were found."""

import os
import stat
from pathlib import Path

import pytest

from nervure.errors import FaultyProject
from nervure.project import read_table, write_table, write_text_safely
from nervure.project.tables import Table


def test_the_old_file_is_kept_as_a_backup(tmp_path: Path) -> None:
    file = tmp_path / "deck.csv"
    file.write_text("old")

    write_text_safely(file, "new")

    assert file.read_text() == "new"
    assert (tmp_path / "deck.csv.bak").read_text() == "old"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["deck.csv", "deck.csv.bak"]


def test_no_backup_of_nothing(tmp_path: Path) -> None:
    write_text_safely(tmp_path / "deck.csv", "new")

    assert [path.name for path in tmp_path.iterdir()] == ["deck.csv"]


def test_a_crash_before_the_move_leaves_the_old_file_and_no_rubbish(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "deck.csv"
    file.write_text("old")

    def crash(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", crash)

    with pytest.raises(FaultyProject, match="No space left on device"):
        write_text_safely(file, "new")
    assert file.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["deck.csv"]


def test_a_missing_folder_is_one_clear_error(tmp_path: Path) -> None:
    with pytest.raises(FaultyProject, match=r"deck\.csv: the file could not be written"):
        write_text_safely(tmp_path / "nowhere" / "deck.csv", "new")


def test_line_ends_are_written_as_they_stand(tmp_path: Path) -> None:
    write_text_safely(tmp_path / "a.csv", "a\r\nb\n")

    assert (tmp_path / "a.csv").read_bytes() == b"a\r\nb\n"


@pytest.mark.skipif(os.name != "posix", reason="modes of POSIX systems")
def test_the_mode_of_the_file_is_kept(tmp_path: Path) -> None:
    file = tmp_path / "deck.csv"
    file.write_text("old")
    file.chmod(0o640)

    write_text_safely(file, "new")

    assert stat.S_IMODE(file.stat().st_mode) == 0o640


@pytest.mark.parametrize(
    "data",
    [
        b"card,copies\nw1,2\n",
        b"copies;bonus;card\r\n2;;w1\r\n",
        b"\xef\xbb\xbfcard\tbonus\r\nw1\tRohrst\xc3\xbcck\r\n",
        b"card;bonus\nw1;Rohrst\xfcck\n",
        b'bonus,card\n"one, two",w1\n\n"three\nfour",w2\n',
        b"card,copies,what-i-think\nw1,2,\nw2\nw1,2,3,4\n",
    ],
)
def test_a_table_written_back_unchanged_is_the_same_to_the_byte(
    tmp_path: Path, data: bytes
) -> None:
    file = tmp_path / "deck.csv"
    file.write_bytes(data)

    write_table(file, read_table(file))

    assert file.read_bytes() == data


def test_a_letter_that_windows_1252_lacks_turns_the_table_into_utf_8(tmp_path: Path) -> None:
    file = tmp_path / "deck.csv"
    file.write_bytes(b"card;bonus\nw1;R\xf6hre\n")
    table = read_table(file)

    write_table(file, Table(table.header, (("w1", "Röhre Ω"),), table.style))

    assert file.read_bytes() == "\ufeffcard;bonus\nw1;Röhre Ω\n".encode()


def test_what_is_no_table_is_one_clear_error(tmp_path: Path) -> None:
    (tmp_path / "deck.csv").write_bytes(b"card\x00")

    with pytest.raises(FaultyProject, match="line 1 holds a zero byte"):
        read_table(tmp_path / "deck.csv")

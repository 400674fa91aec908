"""Each mistake of bad_inputs.toml gives one clear message, and nothing in the folder changes."""

import hashlib
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from nervure import words
from nervure.errors import Fault, FaultyProject
from nervure.project import read_folder

CASES = tomllib.loads((Path(__file__).with_name("bad_inputs.toml")).read_text("utf-8"))["bad"]
MakeFolder = Callable[[Mapping[str, str | bytes | None]], Path]


def _content(case: Mapping[str, Any], before: str) -> str | bytes | None:
    if case.get("gone"):
        return None
    if "latin" in case:
        return str(case["latin"]).encode("latin-1")
    if "text" in case:
        return str(case["text"])
    assert before.count(case["old"]) >= 1, "the case no longer fits the garden"
    return before.replace(case["old"], case["new"], 1)


def _faults(folder: Path, raises: bool) -> tuple[Fault, ...]:
    if not raises:
        return read_folder(folder).faults
    with pytest.raises(FaultyProject) as caught:
        read_folder(folder)
    return caught.value.faults


def _snapshot(folder: Path) -> dict[str, str]:
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file()
    }


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_one_mistake_gives_one_clear_message_and_changes_nothing(
    case: Mapping[str, Any], garden: MakeFolder, garden_files: Mapping[str, str]
) -> None:
    folder = garden({case["file"]: _content(case, garden_files.get(case["file"], ""))})
    before = _snapshot(folder)

    faults = _faults(folder, case.get("raises", False))

    of_this_code = [fault for fault in faults if fault.code == case["code"]]
    assert [fault.message for fault in faults if fault.code not in case.get("also", ())] == [
        fault.message for fault in of_this_code
    ]
    (fault,) = of_this_code
    assert fault.level == case.get("level", "error")
    assert fault.place.file == case.get("at", case["file"])
    assert (fault.place.row, fault.place.column) == (case.get("row"), case.get("column"))
    assert fault.message.startswith(f"{fault.place}: ")
    assert case["says"] in fault.message
    assert _snapshot(folder) == before


def test_the_garden_itself_has_no_fault(garden: MakeFolder) -> None:
    folder = garden({})

    assert read_folder(folder).faults == ()


def test_all_mistakes_of_a_folder_are_told_in_one_run_sorted(
    garden: MakeFolder, garden_files: Mapping[str, str]
) -> None:
    """One mistake in each of several files, all at once."""
    picked = {case["file"]: case for case in CASES if "old" in case}
    folder = garden({file: _content(case, garden_files[file]) for file, case in picked.items()})

    faults = read_folder(folder).faults

    assert {case["code"] for case in picked.values()} <= {fault.code for fault in faults}
    assert [fault.sort_key for fault in faults] == sorted(fault.sort_key for fault in faults)


def test_every_message_ends_as_a_sentence_does() -> None:
    """A text may also end with a value that is itself a sentence."""
    ends = (".", "{accepted}", "{why}")

    assert [
        key
        for key, text in words.texts().items()
        if key.startswith("fault.") and not text.endswith(ends)
    ] == []

"""A bad folder through the real command line: one clear message with its place, no harm."""

import json
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

MakeCase = Callable[[Mapping[str, Any]], Path]
Digests = Callable[[Path], dict[str, str]]
NumberedCase = tuple[int, Mapping[str, Any]]
TRACE = "Traceback"
# One of them after the other, so that each meets many mistakes.
OTHERS = (
    ("pathways", "herb-bed"),
    ("cut", "north-pipe"),
    ("localize", "--affected", "herb-bed"),
    ("playtest", "--games", "10"),
    ("print",),
)


def _other(folder: Path, number: int) -> tuple[object, ...]:
    command, *rest = OTHERS[number % len(OTHERS)]
    return command, folder, *rest


def _expected_code(case: Mapping[str, Any]) -> int:
    if case.get("raises"):
        return 2
    return 1 if case.get("level", "error") == "error" else 0


def _message_of(told: str, case: Mapping[str, Any]) -> str:
    """Give the one line that tells the mistake, without its level."""
    lines = [line for line in told.splitlines() if case["says"] in line]
    assert len(lines) == 1, told
    return lines[0].removeprefix("error").removeprefix("warning").strip()


def test_the_garden_itself_is_playable(run: Any, garden: Any) -> None:
    ran = run("check", garden(), "--json")

    assert (ran.code, [f for f in ran.data["faults"] if f["level"] == "error"]) == (0, [])


def test_check_tells_each_mistake_of_the_tables_with_its_place(
    reader_case: NumberedCase, run: Any, garden_with: MakeCase, digests: Digests
) -> None:
    _, case = reader_case
    folder = garden_with(case)
    before = digests(folder)

    ran = run("check", folder)

    assert ran.code == _expected_code(case)
    assert TRACE not in ran.told
    message = _message_of(ran.told, case)
    assert message.startswith(case.get("at", case["file"]))
    if case.get("row"):
        assert f"row {case['row']}" in message
    assert digests(folder) == before
    assert (folder / "out").exists() == (ran.code != 2)


def test_another_command_refuses_the_same_mistake_and_leaves_nothing(
    reader_case: NumberedCase, run: Any, garden_with: MakeCase, digests: Digests
) -> None:
    number, case = reader_case
    if _expected_code(case) == 0:
        pytest.skip("a warning stops no command")
    folder = garden_with(case)
    before = digests(folder)

    ran = run(*_other(folder, number))

    assert ran.code == 2
    assert ran.out == ""
    assert TRACE not in ran.err
    _message_of(ran.err, case)
    assert digests(folder) == before
    assert not (folder / "out").exists()


def test_check_tells_each_mistake_of_a_game_with_its_place(
    game_case: NumberedCase, run: Any, garden_with: MakeCase, digests: Digests
) -> None:
    _, case = game_case
    folder = garden_with(case)
    before = digests(folder)

    ran = run("check", folder)

    assert ran.code == _expected_code(case), ran.told
    assert TRACE not in ran.told
    message = _message_of(ran.told, case)
    assert message.startswith(case["place"]), message
    assert digests(folder) == before


def test_playing_and_printing_refuse_a_bad_game_and_leave_nothing(
    game_case: NumberedCase, run: Any, garden_with: MakeCase, digests: Digests
) -> None:
    number, case = game_case
    if _expected_code(case) == 0:
        pytest.skip("a warning stops no command")
    folder = garden_with(case)
    before = digests(folder)

    ran = run(("playtest", "print")[number % 2], folder, "--json")

    assert ran.code == 2
    assert ran.err == ""
    assert ran.data["ok"] is False
    assert any(case["says"] in fault["message"] for fault in ran.data["faults"])
    assert digests(folder) == before
    assert not (folder / "out").exists()


def test_all_makes_the_page_of_the_check_and_refuses_the_rest(
    run: Any, garden: Any, digests: Digests
) -> None:
    folder = garden({"deck.csv": "card,copies\nw9,2\n"})
    before = digests(folder)

    ran = run("all", folder, "--json")

    assert ran.code == 2
    assert [step["state"] for step in ran.data["steps"]] == ["made", "refused", "refused"]
    assert digests(folder) == before
    assert (folder / "out" / "check.html").exists()
    assert not (folder / "out" / "print").exists()


def test_all_tells_the_faults_that_refuse_its_steps(run: Any, garden: Any) -> None:
    folder = garden({"deck.csv": "card,copies\nw9,2\n"})

    ran = run("all", folder)

    assert ran.err.startswith("error    deck.csv, row 2, column card: 'w9'")


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (["check", "nowhere"], 2, "nowhere: there is no such folder"),
        (["check", "garden/deck.csv"], 2, "deck.csv: this is a file. A folder is expected here."),
        (["check", "garden"], 1, "deck.csv, row 2, column card: 'w9'"),
        (["print", "garden"], 2, "deck.csv, row 2, column card: 'w9'"),
        (["playtest", "garden", "--json"], 2, "deck.csv, row 2, column card: 'w9'"),
        (["cut", "garden", "north-pipe"], 2, "deck.csv, row 2, column card: 'w9'"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_the_installed_command_ends_with_its_code_and_no_trace(
    arguments: list[str], code: int, says: str, garden: Any
) -> None:
    folder = garden({"deck.csv": "card,copies\nw9,2\n"})
    script = "from nervure.cli import main; main()"

    done = subprocess.run(
        [sys.executable, "-c", script, *arguments],
        cwd=folder.parent,
        capture_output=True,
        text=True,
        encoding="utf-8",
    )

    assert done.returncode == code
    assert says in done.stdout + done.stderr
    assert TRACE not in done.stdout + done.stderr
    if "--json" in arguments:
        assert json.loads(done.stdout)["ok"] is False


def test_at_most_fifty_faults_are_shown(run: Any, garden: Any) -> None:
    rows = "".join(f"none-{number},1\n" for number in range(60))

    ran = run("check", garden({"deck.csv": "card,copies\n" + rows}))

    assert sum(line.startswith("error") for line in ran.out.splitlines()) <= 50
    assert "more; mend these first" in ran.out


@pytest.mark.parametrize(
    "content",
    [b"\x00\x01\x02PK\x03\x04", b"\xff\xfe\x00\x00binary", bytes(range(256))],
    ids=["zip-like", "wide", "all bytes"],
)
@pytest.mark.parametrize("file", ["game.toml", "deck.csv", "map/links.csv", "map/tiers.csv"])
def test_a_binary_file_is_told_by_its_name(
    file: str, content: bytes, run: Any, garden: Any, digests: Digests
) -> None:
    folder = garden({file: content})
    before = digests(folder)

    ran = run("check", folder)

    assert ran.code in (1, 2)
    assert f"{file}" in ran.told
    assert TRACE not in ran.told
    assert "mistake of its own" not in ran.told
    assert digests(folder) == before


@pytest.mark.parametrize("name", ["my garden", "jardín über Wörter", "花園", "it's; a & b"])
def test_names_with_blanks_and_letters_of_any_script_are_paths_as_others(
    name: str, run: Any, garden: Any
) -> None:
    folder = garden(name=name)

    ran = run("check", folder, "--json")

    assert ran.code == 0
    assert (folder / "out" / "check.html").is_file()
    assert ran.data["files"][0] == str(folder / "out" / "check.html")


def test_results_that_cannot_be_written_are_told_in_a_sentence(run: Any, garden: Any) -> None:
    folder = garden()
    folder.chmod(0o555)
    try:
        (folder / "probe").touch()
        writable = True
    except PermissionError:
        writable = False
    if writable:
        folder.chmod(0o755)
        pytest.skip("this user may write everywhere")

    ran = run("check", folder)
    folder.chmod(0o755)

    assert ran.code == 2
    assert str(folder) in ran.err
    assert TRACE not in ran.err

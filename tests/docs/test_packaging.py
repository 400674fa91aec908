"""A wheel holds everything that the package needs."""

import fnmatch
import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "nervure"
SETTINGS = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
PATTERNS = SETTINGS["tool"]["setuptools"]["package-data"]["nervure"]
FILES = [
    path.relative_to(PACKAGE)
    for path in sorted(PACKAGE.rglob("*"))
    if path.is_file() and "__pycache__" not in path.parts and path.suffix != ".bak"
]
DATA = [path for path in FILES if path.suffix != ".py"]


def is_packed(path: Path) -> bool:
    """Tell whether a pattern takes a file; ``**/`` also stands for no folder."""
    return any(
        fnmatch.fnmatch(path.as_posix(), pattern)
        or fnmatch.fnmatch(path.as_posix(), re.sub(r"^\*\*/", "", pattern))
        for pattern in PATTERNS
    )


def test_every_data_file_is_taken_into_the_wheel() -> None:
    assert [path.as_posix() for path in DATA if not is_packed(path)] == []


@pytest.mark.parametrize("ending", [".csv", ".toml", ".typ", ".html", ".css", ".ttf", ".txt"])
def test_every_kind_of_data_is_there(ending: str) -> None:
    assert any(path.suffix == ending for path in DATA)


def test_every_folder_of_modules_is_a_package() -> None:
    folders = {path.parent for path in FILES if path.suffix == ".py"}

    assert [
        str(folder) for folder in folders if not (PACKAGE / folder / "__init__.py").exists()
    ] == []


def test_the_typing_mark_is_there() -> None:
    assert Path("py.typed") in FILES

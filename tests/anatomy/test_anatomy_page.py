"""The page on anatomy says what the code does: its tables are read, its examples run."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

import pytest

PAGE = Path(__file__).resolve().parents[2] / "docs" / "anatomy.md"
TABLE = re.compile(r"^`(\w+\.csv)`\n```csv\n(.*?)```", re.MULTILINE | re.DOTALL)
EXAMPLE = re.compile(r"^```pycon\n(.*?)```", re.MULTILINE | re.DOTALL)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    place = tmp_path / "map"
    place.mkdir()
    for name, text in TABLE.findall(PAGE.read_text("utf-8")):
        (place / name).write_text(text, "utf-8")
    return place


def test_the_examples_of_the_page_run(folder: Path) -> None:
    examples = "\n".join(EXAMPLE.findall(PAGE.read_text("utf-8")))
    parsed = doctest.DocTestParser().get_doctest(
        examples, {"folder": folder}, "anatomy.md", str(PAGE), 0
    )
    said: list[str] = []

    result = doctest.DocTestRunner(verbose=False).run(parsed, out=said.append)

    assert result.attempted > 10
    assert result.failed == 0, "".join(said)

"""The documents say what the code does."""

import importlib.util
import re
from pathlib import Path

import pytest

from nervure.game.goals import GOAL_MEASURES

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"


def make_docs():
    spec = importlib.util.spec_from_file_location("make_docs", ROOT / "tools" / "make_docs.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_help_on_the_commands_page_is_the_commands_help() -> None:
    text = (DOCS / "commands.md").read_text("utf-8")

    assert make_docs().page(text) == text, "run python tools/make_docs.py"


@pytest.mark.parametrize("measure", sorted(GOAL_MEASURES))
def test_every_measure_that_a_goal_may_name_is_documented(measure: str) -> None:
    assert f"`{measure}`" in (DOCS / "measures.md").read_text("utf-8")


@pytest.mark.parametrize("page", sorted(DOCS.glob("*.md")), ids=lambda page: page.name)
def test_every_link_between_documents_leads_somewhere(page: Path) -> None:
    for link in re.findall(r"\]\(([^)#:]+)\)", page.read_text("utf-8")):
        assert (page.parent / link).exists() or (page.parent / f"{link}.md").exists(), link


def test_documents_name_no_path_of_a_machine() -> None:
    for page in [*DOCS.glob("*.md"), ROOT / "README.md", ROOT / "CHANGELOG.md"]:
        if page.exists():
            assert not re.search(r"(^|[\s(`])/(home|root|tmp|work)/", page.read_text("utf-8"))

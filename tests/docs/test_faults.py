"""Codes of faults in the code, their sentences, and docs/faults.md are the same."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from nervure import words

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs/faults.md").read_text("utf-8")
SENTENCES = {
    key.removeprefix("fault."): text
    for key, text in words.texts().items()
    if key.startswith("fault.")
}
ROWS = re.findall(r"^\| `([a-z0-9-]+)` \| (error|warning) \| (.*) \|$", PAGE, re.M)

# A sentence for the log is no code.
CODE = re.compile("[a-z0-9-]+")


def _trees() -> Iterator[ast.AST]:
    for file in (ROOT / "src/nervure").rglob("*.py"):
        yield ast.parse(file.read_text("utf-8"))


def _texts_in(node: ast.AST) -> set[str]:
    return {
        each.value
        for each in ast.walk(node)
        if isinstance(each, ast.Constant) and isinstance(each.value, str)
    }


def _codes_made() -> set[str]:
    """Give the codes that stand as texts in the first argument of error(...), warning(...)."""
    codes: set[str] = set()
    for tree in _trees():
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and node.args:
                name = getattr(node.func, "id", getattr(node.func, "attr", ""))
                if name in ("error", "warning"):
                    codes |= {text for text in _texts_in(node.args[0]) if CODE.fullmatch(text)}
    return codes


def _could_be(sentence: str, message: str) -> bool:
    """Tell whether a message is a place and the sentence with some values filled in."""
    parts = re.split(r"\{\w+\}", sentence.replace("{{", "{").replace("}}", "}"))
    pattern = ".*".join(re.escape(part) for part in parts)
    return re.fullmatch(rf"[^:]+: {pattern}", message) is not None


def test_every_code_that_is_made_has_its_sentence() -> None:
    assert _codes_made() - set(SENTENCES) == set()


def test_every_sentence_has_code_that_makes_its_fault() -> None:
    said = set().union(*(_texts_in(tree) for tree in _trees()))

    assert set(SENTENCES) - said == set()


def test_every_code_is_documented_once_and_no_other() -> None:
    assert sorted(code for code, _, _ in ROWS) == sorted(SENTENCES)


@pytest.mark.parametrize(("code", "level", "example"), ROWS, ids=[row[0] for row in ROWS])
def test_an_example_is_what_the_sentence_says(code: str, level: str, example: str) -> None:
    assert _could_be(SENTENCES.get(code, ""), example)


@pytest.mark.parametrize("page", ["project-folder.md"])
def test_messages_shown_on_other_pages_are_what_the_sentences_say(page: str) -> None:
    text = (ROOT / "docs" / page).read_text("utf-8")
    telling = [text for text in SENTENCES.values() if re.search(r"[a-z ]{8}", text)]
    shown = re.findall(r"^(?:map|game|deck)[\w/.]*, (?:row|key|sheet) .*$", text, re.M)

    assert shown
    for message in shown:
        assert any(_could_be(sentence, message) for sentence in telling), message

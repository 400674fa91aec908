"""The real command line, in process; and the garden of tests/project as a playable game."""

import hashlib
import importlib.util
import json
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from nervure.cli import main

PROJECT_TESTS = Path(__file__).resolve().parents[1] / "project"
RULES = (
    "\n[rules]\nplayers = [2, 2]\nhand = 2\nopen_targets = 1\ndisplay = 1\n"
    'end = ["claims: 1", "rounds: 40"]\n'
)


@dataclass(frozen=True)
class Ran:
    """What a command left: exit code, standard output, standard error."""

    code: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        """The one JSON object on standard output; fails if there is anything else."""
        return json.loads(self.out)

    @property
    def told(self) -> str:
        return self.out + self.err


Run = Callable[..., Ran]
MakeGarden = Callable[..., Path]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Run ``nervure`` with arguments, in this process."""

    def run(*arguments: object) -> Ran:
        capsys.readouterr()
        with pytest.raises(SystemExit) as end:
            main([str(argument) for argument in arguments])
        said = capsys.readouterr()
        code = end.value.code
        assert isinstance(code, int)
        return Ran(code, said.out, said.err)

    return run


def _garden_files() -> dict[str, str]:
    spec = importlib.util.spec_from_file_location("garden", PROJECT_TESTS / "conftest.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    files = dict(module.GARDEN)
    files["game.toml"] += RULES
    return files


GARDEN = _garden_files()


@pytest.fixture
def garden(tmp_path: Path) -> MakeGarden:
    """Write the garden with some files changed (None: left out), and give its folder."""

    def make(
        changes: Mapping[str, str | bytes | None] | None = None, name: str = "garden"
    ) -> Path:
        root = tmp_path / name
        for file, content in {**GARDEN, **(changes or {})}.items():
            if content is not None:
                path = root / file
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(content.encode() if isinstance(content, str) else content)
        return root

    return make


@pytest.fixture
def garden_with(garden: MakeGarden) -> Callable[[Mapping[str, Any]], Path]:
    """Write the garden with one mistake as the tables of mistakes describe it."""

    def make(case: Mapping[str, Any]) -> Path:
        file = case["file"]
        before = GARDEN.get(file, "")
        content: str | bytes | None
        if case.get("gone"):
            content = None
        elif "latin" in case:
            content = str(case["latin"]).encode("latin-1")
        elif "text" in case:
            content = str(case["text"])
        elif "add" in case:
            content = before + str(case["add"])
        else:
            assert case["old"] in before, "the case no longer fits the garden"
            content = before.replace(case["old"], case["new"], 1)
        return garden({file: content})

    return make


def snapshot(folder: Path) -> dict[str, str]:
    """Give the digest of every file of a folder, results left out."""
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.relative_to(folder).parts[0] != "out"
    }


@pytest.fixture
def digests() -> Callable[[Path], dict[str, str]]:
    return snapshot


def cases_of(file: Path) -> list[Mapping[str, Any]]:
    """Give the mistakes of a table of mistakes."""
    return list(tomllib.loads(file.read_text("utf-8"))["bad"])


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Give ``reader_case`` and ``game_case`` to the tests that ask for them."""
    tables = {
        "reader_case": PROJECT_TESTS / "bad_inputs.toml",
        "game_case": Path(__file__).with_name("bad_games.toml"),
    }
    for name, table in tables.items():
        if name in metafunc.fixturenames:
            cases = list(enumerate(cases_of(table)))
            metafunc.parametrize(name, cases, ids=[case["name"] for _, case in cases])

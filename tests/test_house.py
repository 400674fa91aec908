"""The house holds: floors, start-up, pinned packages, words."""

import ast
import importlib.metadata
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from nervure import words

ROOT = Path(__file__).resolve().parents[1]
SOURCE = ROOT / "src" / "nervure"

# Lowest first; packages of one floor do not import one another, save for these pairs.
FLOORS: tuple[frozenset[str], ...] = (
    frozenset({"errors", "words", "maps", "project", "anatomy"}),
    frozenset({"game"}),
    frozenset({"engine", "typeset", "records"}),
    frozenset({"playtest", "tune", "press", "assess", "table"}),
    frozenset({"report"}),
    frozenset({"api", "cli", "web"}),
)
NEIGHBOURS = {
    ("errors", "words"),
    ("maps", "errors"),
    ("project", "errors"),
    ("project", "words"),
    ("project", "maps"),
    ("anatomy", "errors"),
    ("anatomy", "words"),
    ("anatomy", "project"),
    ("tune", "playtest"),
    ("table", "playtest"),
    ("cli", "api"),
    ("cli", "web"),
    ("web", "api"),
}


def floor_of(package: str) -> int:
    return next(level for level, names in enumerate(FLOORS) if package in names)


def imports_of(file: Path) -> set[str]:
    """Packages of nervure that a module imports, wherever in the file it does so."""
    found = set()
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{file}: relative import"
            plain = node.module == "nervure"
            names = [f"nervure.{a.name}" for a in node.names] if plain else [node.module]
        else:
            continue
        found |= {name.split(".")[1] for name in names if name.startswith("nervure.")}
    return found - {"__version__"}


@pytest.mark.parametrize(
    "file", sorted(SOURCE.rglob("*.py")), ids=lambda file: str(file.relative_to(SOURCE))
)
def test_a_module_imports_only_what_stands_below_it(file: Path) -> None:
    parts = file.relative_to(SOURCE).parts
    package = parts[0].removesuffix(".py")
    if package in {"__init__", "__main__"}:
        return

    for other in imports_of(file) - {package}:
        allowed = floor_of(other) < floor_of(package) or (package, other) in NEIGHBOURS
        assert allowed, f"{file.name} of {package} imports {other}"


def test_help_loads_neither_the_compiler_nor_charts() -> None:
    script = (
        "import sys\n"
        "from nervure.cli import main\n"
        "sys.argv = ['nervure', '--help']\n"
        "try:\n    main()\nexcept SystemExit as end:\n    assert not end.code, end.code\n"
        "heavy = {'numba', 'altair', 'vl_convert', 'scipy', 'polars', 'typst', 'numpy'}\n"
        "print('LOADED', *sorted(heavy & set(sys.modules)))\n"
    )

    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )

    assert done.stdout.splitlines()[-1] == "LOADED"


def test_every_package_that_the_project_needs_is_pinned() -> None:
    pinned = {
        re.sub(r"[-_.]+", "-", line.split("==")[0]).lower()
        for line in (ROOT / "requirements.lock").read_text().splitlines()
    }
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    wanted = settings["dependencies"] + settings["optional-dependencies"]["dev"]
    queue = [re.split(r"[ <>=!~;\[]", line)[0] for line in wanted]
    seen: set[str] = set()
    while queue:
        name = re.sub(r"[-_.]+", "-", queue.pop()).lower()
        if name in seen:
            continue
        seen.add(name)
        try:
            requires = importlib.metadata.requires(name) or []
        except importlib.metadata.PackageNotFoundError:
            seen.discard(name)  # not needed on this platform or Python
            continue
        queue += [
            re.split(r"[ <>=!~;\[(]", line)[0] for line in requires if "extra ==" not in line
        ]

    assert seen - pinned == set()


def test_pins_are_names_and_versions_only() -> None:
    for line in (ROOT / "requirements.lock").read_text().splitlines():
        assert re.fullmatch(r"[A-Za-z0-9._-]+==[A-Za-z0-9.+!-]+", line), line


def test_every_text_that_the_code_asks_for_exists() -> None:
    asked = set()
    for file in SOURCE.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if not (isinstance(node, ast.Call) and node.args):
                continue
            name = getattr(node.func, "attr", getattr(node.func, "id", ""))
            first = node.args[0]
            if name == "say" and isinstance(first, ast.Constant) and "." in str(first.value):
                asked.add((file.name, first.value))

    missing = [(file, key) for file, key in sorted(asked) if not words.has(key)]

    assert missing == []
    assert len(asked) > 10

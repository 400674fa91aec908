"""The slow table shares nothing with what it is compared with."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

MODULES = sorted((Path(__file__).parent / "slow_rules").glob("*.py"))
# What describes a design; nothing of strands, tables, the compiler or the engine.
ALLOWED = {"nervure.anatomy", "nervure.game", "nervure.game.bonuses"}
NAMES = {"Game", "Effect", "Pathway"}


def _imports(module: Path) -> set[tuple[str, str]]:
    found = set()
    for node in ast.walk(ast.parse(module.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {(alias.name, "") for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            found |= {(str(node.module), alias.name) for alias in node.names}
    return {(source, name) for source, name in found if source.startswith("nervure")}


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.stem)
def test_a_module_of_the_slow_table_imports_only_descriptions_of_the_design(module: Path):
    for source, name in _imports(module):
        assert source in ALLOWED
        assert name in NAMES

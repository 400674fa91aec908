"""The C yardstick of the benchmarks plays the same games as the engine. Nothing is timed."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from nervure.engine import Games, play
from nervure.game import compile_game, read_game
from nervure.game.tables import Rule, Tables
from nervure.project import read_folder

ROOT = Path(__file__).parents[2]
GAMES = ROOT / "src" / "nervure" / "maps" / "games"
SEED = 20


def _load(path: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location("yardstick_build", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # dataclasses look their module up
    spec.loader.exec_module(module)
    return module


yardstick = _load(ROOT / "benchmarks" / "yardstick" / "build.py")


def _tables(name: str, seats: int, plain: bool = False) -> Tables:
    """A bundled game, or the same map, deck and points with fewer rules."""
    folder = read_folder(GAMES / name)
    return compile_game(read_game(yardstick.plain_form(folder) if plain else folder), seats)


@pytest.fixture(scope="module", params=[False, True], ids=["whole", "lean"])
def program(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    if yardstick.compiler() is None:
        pytest.skip("no C compiler on this machine")
    compiled: Path = yardstick.compile_yardstick(
        tmp_path_factory.mktemp("yardstick"), request.param
    )
    return compiled


def _both(
    program: Path, folder: Path, tables: Tables, deals: int, rotations: str, first_deal: int
) -> tuple[Games, dict[str, np.ndarray]]:
    a_deal = tables.seats if rotations == "all" else 1
    yardstick.write_tables(tables, folder / "tables")
    yardstick.run(
        program,
        folder / "tables",
        seed=SEED,
        first_deal=first_deal,
        deals=deals,
        rotations=a_deal,
        rows=folder / "rows",
    )
    games = play(
        tables,
        ["chance"] * tables.seats,
        seed=SEED,
        first_deal=first_deal,
        deals=deals,
        rotations=rotations,
    )
    return games, yardstick.read_columns(folder / "rows", tables, deals * a_deal)


@pytest.mark.parametrize(
    ("name", "plain", "seats", "deals", "rotations", "first_deal"),
    [
        ("giants-leg", False, 2, 3000, "one", 0),
        ("giants-leg", False, 3, 400, "all", 7),
        ("giants-leg", False, 4, 3000, "one", 0),
        ("giants-leg", False, 4, 250, "all", 2**33 + 1),
        ("lock-keepers", False, 2, 1000, "all", 0),
        ("lock-keepers", False, 4, 1000, "one", 5),
        ("giants-leg", True, 2, 1000, "one", 0),
        ("giants-leg", True, 4, 250, "all", 3),
    ],
)
def test_c_and_engine_play_the_same_games(
    program: Path,
    tmp_path: Path,
    name: str,
    plain: bool,
    seats: int,
    deals: int,
    rotations: str,
    first_deal: int,
) -> None:
    tables = _tables(name, seats, plain)
    games, found = _both(program, tmp_path, tables, deals, rotations, first_deal)
    expected = games.columns()
    # Of what knowing a part of the map leaves, C has nothing: all its players know everything.
    for column in ("deal", "refused", "untrue_claims", "enacted"):
        del expected[column]
    if program.name.endswith("lean"):
        left_out = {"lead_changes", "leader_three_quarters"}
        left_out |= {*yardstick.TARGET_COLUMNS, *yardstick.KIND_COLUMNS}
        expected = {
            column: values for column, values in expected.items() if column not in left_out
        }
    else:
        assert set(found) == set(expected)
    different = [c for c, values in expected.items() if not np.array_equal(values, found[c])]
    assert different == []


def test_another_seed_gives_other_games(program: Path, tmp_path: Path) -> None:
    tables = _tables("giants-leg", 2)
    yardstick.write_tables(tables, tmp_path / "tables")
    turns = []
    for seed in (1, 2):
        yardstick.run(program, tmp_path / "tables", seed=seed, deals=50, rows=tmp_path / "rows")
        turns.append(yardstick.read_columns(tmp_path / "rows", tables, 50)["turns"].tolist())
    assert turns[0] != turns[1]


@pytest.mark.parametrize(
    ("rule", "value"),
    [(Rule.INSERT, 1), (Rule.SECRET_TARGETS, 1), (Rule.MAY_PASS, 2), (Rule.CLAIM_MINIMUM, 1)],
)
def test_a_game_with_rules_that_c_does_not_know_is_refused(
    tmp_path: Path, rule: Rule, value: int
) -> None:
    tables = _tables("giants-leg", 2)
    tables.rules[rule] = value
    with pytest.raises(ValueError, match=r".+"):
        yardstick.write_tables(tables, tmp_path / "tables")

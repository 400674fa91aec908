"""What a playtest leaves in ``out/playtest/``: result.json, and the games as Parquet parts.

``games-TABLE-EXPERIMENT.parquet`` holds one row a game; ``state.json`` says which design,
seed and plan they belong to, so that ``--more`` goes on only where that makes sense.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import fields
from pathlib import Path

import numpy as np
import polars

from nervure.engine import RESULT_VERSION, Games
from nervure.playtest.plan import Experiment
from nervure.playtest.run import Played, plan_key
from nervure.project import write_text_safely
from nervure.records import PlaytestResult

STATE = "state.json"
RESULT = "result.json"


def write_result(folder: Path, result: PlaytestResult) -> Path:
    """Write result.json and give its path."""
    text = json.dumps(result.to_dict(), ensure_ascii=False, indent=1, allow_nan=False)
    write_text_safely(folder / RESULT, text + "\n", keep_backup=False)
    return folder / RESULT


def read_result(folder: Path) -> PlaytestResult | None:
    """Read result.json back; None if there is none."""
    path = folder / RESULT
    if not path.is_file():
        return None
    return PlaytestResult.from_dict(json.loads(path.read_text("utf-8")))


def write_games(
    folder: Path, played: Sequence[Played], design: str, plan: Sequence[Experiment], seed: int
) -> list[Path]:
    """Write every experiment's games and the state; earlier parts of another design go."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for part in played:
        path = folder / part_name(part.experiment)
        _frame(part.games).write_parquet(path)
        written.append(path)
    for old in folder.glob("games-*.parquet"):
        if old not in written:
            old.unlink()
    state = {"design": design, "plan": plan_key(plan, seed), "result_version": RESULT_VERSION}
    write_text_safely(folder / STATE, json.dumps(state) + "\n", keep_backup=False)
    return written


def read_games(
    folder: Path, design: str, plan: Sequence[Experiment], seed: int
) -> tuple[Played, ...]:
    """Read the games of the same design, plan and seed back; empty where there are none."""
    path = folder / STATE
    if not path.is_file():
        return ()
    state = json.loads(path.read_text("utf-8"))
    wanted = {"design": design, "plan": plan_key(plan, seed), "result_version": RESULT_VERSION}
    if state != wanted:
        return ()
    found = []
    for experiment in plan:
        part = folder / part_name(experiment)
        if part.is_file():
            found.append(Played(experiment, _games(polars.read_parquet(part))))
    return tuple(found)


def part_name(experiment: Experiment) -> str:
    """Give the file name of an experiment's games."""
    return f"games-{experiment.players}-{experiment.name}.parquet"


def _frame(games: Games) -> polars.DataFrame:
    columns = {}
    for name, values in games.columns().items():
        if values.ndim == 1:
            columns[name] = polars.Series(name, values)
        else:
            array = polars.Array(polars.Series(values[:0].ravel()).dtype, values.shape[1])
            columns[name] = polars.Series(name, np.ascontiguousarray(values), dtype=array)
    return polars.DataFrame(columns)


def _games(frame: polars.DataFrame) -> Games:
    return Games(**{column.name: frame[column.name].to_numpy() for column in fields(Games)})

"""What a playtest leaves in ``out/playtest/``: result.json, and the games as Parquet parts.

``games-TABLE-EXPERIMENT.parquet`` holds one row a game; ``state.json`` says which design,
seed and plan they belong to, so that ``--more`` goes on only where that makes sense.
``earlier/`` holds results of other designs, seeds and plans, to set beside.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import polars

from nervure.engine import RESULT_VERSION, Games
from nervure.engine.games import column_names
from nervure.playtest.plan import Experiment
from nervure.playtest.run import Played, plan_key
from nervure.project import write_text_safely
from nervure.records import PlaytestResult

STATE = "state.json"
RESULT = "result.json"
REFUSED = "refused_by"
EARLIER = "earlier"
EARLIER_KEPT = 20


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


def keep_earlier(folder: Path, design: str, plan: Sequence[Experiment], seed: int) -> None:
    """Copy the result that is there to ``earlier/``, unless the same playtest goes on.

    The copies are numbered; the oldest go once there are more than `EARLIER_KEPT`. They
    keep the time at which the result was written.
    """
    path = folder / RESULT
    try:
        result = read_result(folder)
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return  # damaged: nothing could be compared with it
    if result is None or result.games == 0:
        return
    line_ups = [tuple(step["line_up"]) for step in result.plan]
    is_same = (result.design, result.seed) == (design, seed)
    if is_same and line_ups == [experiment.line_up for experiment in plan]:
        return
    place = folder / EARLIER
    place.mkdir(exist_ok=True)
    kept = sorted(int(old.stem) for old in place.glob("*.json") if old.stem.isdecimal())
    shutil.copy2(path, place / f"{(kept or [0])[-1] + 1:04}.json")
    for number in kept[: max(0, len(kept) + 1 - EARLIER_KEPT)]:
        (place / f"{number:04}.json").unlink(missing_ok=True)


def write_games(
    folder: Path, played: Sequence[Played], design: str, plan: Sequence[Experiment], seed: int
) -> list[Path]:
    """Write every experiment's games and the state; earlier parts of another design go.

    Whenever the process may be ended, what lies there is whole and belongs to the state.
    """
    folder.mkdir(parents=True, exist_ok=True)
    state = _state(design, plan, seed)
    if _read_state(folder) != state:
        (folder / STATE).unlink(missing_ok=True)
        for old in folder.glob("games-*.parquet"):
            old.unlink()
    written = []
    for part in played:
        path = folder / part_name(part.experiment)
        half = path.with_suffix(".part")
        counts = json.dumps(dict(part.games.refused_by))
        _frame(part.games).write_parquet(half, metadata={REFUSED: counts})
        half.replace(path)
        written.append(path)
    for old in folder.glob("games-*.parquet"):
        if old not in written:
            old.unlink()
    write_text_safely(folder / STATE, json.dumps(state) + "\n", keep_backup=False)
    return written


def _state(design: str, plan: Sequence[Experiment], seed: int) -> dict[str, Any]:
    return {"design": design, "plan": plan_key(plan, seed), "result_version": RESULT_VERSION}


def _read_state(folder: Path) -> Any:
    path = folder / STATE
    return json.loads(path.read_text("utf-8")) if path.is_file() else None


def read_games(
    folder: Path, design: str, plan: Sequence[Experiment], seed: int
) -> tuple[Played, ...]:
    """Read the games of the same design, plan and seed back; empty where there are none."""
    if _read_state(folder) != _state(design, plan, seed):
        return ()
    found = []
    for experiment in plan:
        part = folder / part_name(experiment)
        if part.is_file():
            counts = json.loads(polars.read_parquet_metadata(part).get(REFUSED, "{}"))
            found.append(Played(experiment, _games(polars.read_parquet(part), counts)))
    return tuple(found)


def first_games(games: Games, count: int) -> Games:
    """Give the first games of some; what was refused is known of all of them only."""
    if len(games) <= count:
        return games
    return Games(**{name: getattr(games, name)[:count] for name in column_names()})


def part_name(experiment: Experiment) -> str:
    """Give the file name of an experiment's games."""
    return f"games-{experiment.players}-{experiment.name}.parquet"


def _frame(games: Games) -> polars.DataFrame:
    columns = {}
    for name, values in games.columns().items():
        if values.ndim == 1:
            columns[name] = polars.Series(name, values)
        elif values.ndim == 2 or values.shape[2]:
            array = polars.Array(polars.Series(values[:0].ravel()).dtype, values.shape[1:])
            columns[name] = polars.Series(name, np.ascontiguousarray(values), dtype=array)
    return polars.DataFrame(columns)


def _games(frame: polars.DataFrame, refused_by: dict[str, int]) -> Games:
    columns = {name: frame[name].to_numpy() for name in column_names() if name in frame.columns}
    if "enacted" not in columns:  # facts were not asked for: there is nothing to keep
        columns["enacted"] = np.zeros((*columns["player"].shape, 0), dtype=np.uint64)
    return Games(**columns, refused_by=refused_by)

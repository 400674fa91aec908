"""Ways to begin: a project of one's own, or the demonstration."""

from __future__ import annotations

import shutil
from pathlib import Path

from nervure import maps, words
from nervure import project as projects
from nervure.api.project import Prepare, Progress, Project, Stop
from nervure.api.result import Result
from nervure.errors import BadUsage

DEMO_GAME = "giants-leg"


def new(
    folder: str | Path, *, map_name: str | None = None, table: str | Path | None = None
) -> Result:
    """Start a project from a bundled map, or from a table of muscle, nerve, roots.

    Raises
    ------
    BadUsage
        Neither or both are named.
    UnknownName
        There is no such map; names those that there are.
    FaultyProject
        The table cannot be used, or a file would be written over. Then none is written.
    """
    if (map_name is None) == (table is None):
        raise BadUsage(words.say("cli.new-needs", maps=", ".join(maps.bundled_maps())))
    if map_name is not None:
        started = projects.start_from_map(Path(folder), map_name)
    else:
        started = projects.start_from_table(Path(folder), Path(str(table)))
    data = {
        "project": str(started.project),
        "files": [str(file) for file in started.files],
        "to_do": list(started.to_do),
    }
    return Result(
        "new",
        data,
        words.say("cli.new-made", project=started.project, count=len(started.files)),
        [{"to_do": line} for line in data["to_do"]],
        ("to_do",),
    )


def demo(
    folder: str | Path = "demo",
    *,
    game: str | None = None,
    progress: Progress | None = None,
    stop: Stop | None = None,
    on_prepare: Prepare | None = None,
) -> Result:
    """Copy a bundled game into a folder and do everything with it.

    A folder that holds a project already is used as it is, edits included; then the game
    need not be named.

    Raises
    ------
    UnknownName
        There is no such bundled game.
    BadUsage
        The folder holds something else, or another game than the one named.
    """
    target = Path(folder)
    source = maps.game_folder(game or DEMO_GAME)
    if not (target / "game.toml").exists():
        if target.exists() and (not target.is_dir() or any(target.iterdir())):
            raise BadUsage(words.say("cli.demo-taken", folder=target))
        shutil.copytree(source, target, dirs_exist_ok=True)
    project = Project(target)
    if game is not None and project.folder.title != Project(source).folder.title:
        raise BadUsage(words.say("cli.demo-other", folder=target, title=project.folder.title))
    return project.all(progress=progress, stop=stop, on_prepare=on_prepare)

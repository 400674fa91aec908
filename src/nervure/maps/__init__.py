"""Where the bundled maps and games stand: ``maps/NAME/*.csv`` and ``maps/games/NAME/``."""

from __future__ import annotations

from pathlib import Path

from nervure.errors import UnknownName

_HERE = Path(__file__).parent


def bundled_maps() -> tuple[str, ...]:
    """Give the names of the bundled maps, in the order of the alphabet."""
    return tuple(sorted(file.parent.name for file in _HERE.glob("*/tiers.csv")))


def bundled_games() -> tuple[str, ...]:
    """Give the names of the bundled games, in the order of the alphabet."""
    return tuple(sorted(file.parent.name for file in _HERE.glob("games/*/game.toml")))


def map_folder(name: str) -> Path:
    """Give the folder of a bundled map.

    Raises
    ------
    UnknownName
        There is no such map; names those that there are.
    """
    if name not in bundled_maps():
        raise UnknownName("bundled map", name, bundled_maps())
    return _HERE / name


def game_folder(name: str) -> Path:
    """Give the folder of a bundled game.

    Raises
    ------
    UnknownName
        There is no such game; names those that there are.
    """
    if name not in bundled_games():
        raise UnknownName("bundled game", name, bundled_games())
    return _HERE / "games" / name

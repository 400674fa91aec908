"""Project folders: files to typed records with their places and faults, and safely back."""

from nervure.maps import bundled_games, bundled_maps
from nervure.project.game_file import GameFile, read_game_file
from nervure.project.read import read_bundled_map, read_folder, read_map
from nervure.project.records import Folder, Map
from nervure.project.start import NewProject, start_from_map
from nervure.project.start_table import start_from_table
from nervure.project.tables import Table, TableStyle
from nervure.project.translations import languages_of, translated
from nervure.project.writing import (
    read_table,
    write_bytes_safely,
    write_table,
    write_text_safely,
)

__all__ = [
    "Folder",
    "GameFile",
    "Map",
    "NewProject",
    "Table",
    "TableStyle",
    "bundled_games",
    "bundled_maps",
    "languages_of",
    "read_bundled_map",
    "read_folder",
    "read_game_file",
    "read_map",
    "read_table",
    "start_from_map",
    "start_from_table",
    "translated",
    "write_bytes_safely",
    "write_table",
    "write_text_safely",
]

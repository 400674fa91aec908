"""Project folders: files to typed records with their places and faults, and safely back."""

from nervure.maps import bundled_maps
from nervure.project.read import read_bundled_map, read_folder, read_map
from nervure.project.records import Folder, Map

__all__ = ["Folder", "Map", "bundled_maps", "read_bundled_map", "read_folder", "read_map"]

"""Reads a project folder, a map, or a bundled map into records, with all faults at once."""

from __future__ import annotations

from pathlib import Path

from nervure import words
from nervure.errors import (
    Fault,
    FaultyProject,
    Place,
    error,
    has_errors,
    sort_faults,
)
from nervure.maps import bundled_maps, map_folder
from nervure.project._cells import Known, what_is_accepted
from nervure.project._extras import read_art, read_deck, read_plays, read_texts
from nervure.project._map import build_map, read_map_tables, read_workbook_tables
from nervure.project._settings import (
    GAME_FILE,
    Settings,
    key_place,
    parse_toml,
    read_settings,
)
from nervure.project._text import read_text
from nervure.project.columns import MAP_TABLES
from nervure.project.records import DEFAULT_WORDS, Folder, Map
from nervure.project.translations import read_translations

MAP_FOLDER, WORKBOOK = "map", "map.xlsx"


def read_folder(path: Path) -> Folder:
    """Read a project folder; whatever is wrong in it is in ``Folder.faults``.

    Nothing is written. Records that rest on a faulty row are left out, so that every id
    in ``Folder.map`` exists there.

    Raises
    ------
    FaultyProject
        Nothing can be made of it: there is no folder, no game.toml, or no map. Carries
        all faults that were found.
    """
    path = Path(path)
    faults: list[Fault] = []
    if not path.is_dir():
        raise FaultyProject([_no_folder(path)])
    settings = _read_game_file(path, faults)
    found = _read_project_map(path, settings, faults)
    known = found[2] if found else Known(unsure={"tier", "structure", "target"})
    deck = read_deck(path, known, faults)
    art = read_art(path, known, faults)
    texts = read_texts(path, faults)
    plays = read_plays(path, faults)
    translations = read_translations(path, known, faults)
    if found is None or not (path / GAME_FILE).exists():
        raise FaultyProject(faults)
    read, origin, _ = found
    settings = settings or Settings()
    _check_variants(settings, known, faults)
    map_words = bundled_words(settings.map_name) if origin == "bundled" else {}
    return Folder(
        path=path,
        title=settings.title or path.resolve().name,
        language=settings.language,
        map=read,
        map_origin=origin,
        variants=tuple(name for name in settings.variants if name in known.of("variant")),
        words={**DEFAULT_WORDS, **map_words, **settings.words},
        settings=settings.data,
        deck=deck,
        art=art,
        texts=texts,
        plays=plays,
        translations=translations,
        faults=sort_faults(faults),
    )


def read_map(path: Path, name: str = "") -> tuple[Map, tuple[Fault, ...]]:
    """Read a folder of tables (tiers.csv ...) or a workbook (.xlsx), with all faults.

    Parameters
    ----------
    path
        The folder or the workbook.
    name
        The map's name; blank: that of the path.

    Raises
    ------
    FaultyProject
        There is no such path, or no table in it. Carries all faults that were found.
    """
    path = Path(path)
    faults: list[Fault] = []
    found = _read_own_map(path, path if path.is_dir() else path.parent, name, faults)
    if found is None:
        if not faults:
            faults.append(error("map-missing", Place(path.name), bundled=_bundled_names()))
        raise FaultyProject(faults)
    return found[0], sort_faults(faults)


def read_bundled_map(name: str) -> Map:
    """Give a map that comes with Nervure.

    Raises
    ------
    UnknownName
        There is no such map; names those that there are.
    FaultyProject
        The map as installed is damaged.

    Examples
    --------
    >>> read_bundled_map("gut").tiers[0].id
    'source'
    """
    read, faults = read_map(map_folder(name), name)
    if has_errors(faults):
        raise FaultyProject(faults)
    return read


def bundled_words(map_name: str) -> dict[str, str]:
    """Give what the people of a bundled map say: its words.toml, as it was installed."""
    file = map_folder(map_name) / "words.toml"
    if not file.is_file():
        return {}
    data = parse_toml(file.read_text("utf-8"), Place(file.name), []) or {}
    return {key: str(value) for key, value in data.get("words", {}).items()}


def _read_game_file(path: Path, faults: list[Fault]) -> Settings | None:
    place = Place(GAME_FILE)
    file = path / GAME_FILE
    if not file.exists() and not file.is_symlink():
        faults.append(error("file-missing", place))
        return None
    text = read_text(file, place, path, faults)
    return None if text is None else read_settings(text.text, faults)


def _read_project_map(
    path: Path, settings: Settings | None, faults: list[Fault]
) -> tuple[Map, str, Known] | None:
    """Give the map of a project, where it comes from, and the ids that may be named."""
    own = [path / name for name in (MAP_FOLDER, WORKBOOK) if (path / name).exists()]
    if len(own) == 2:
        faults.append(error("map-twice", Place(WORKBOOK)))
    named = settings.map_name if settings else ""
    title = settings.title if settings and settings.title else path.resolve().name
    if named:
        found = _read_named_map(named, own, faults)
        if found is not None or not own:
            return found
    if own:
        read = _read_own_map(own[0], path, title, faults)
        return read and (read[0], "folder" if own[0].name == MAP_FOLDER else "workbook", read[1])
    # Where game.toml cannot be read nobody knows which map was meant.
    if settings is not None or not (path / GAME_FILE).exists():
        faults.append(error("map-missing", Place(MAP_FOLDER), bundled=_bundled_names()))
    return None


def _read_named_map(
    name: str, own: list[Path], faults: list[Fault]
) -> tuple[Map, str, Known] | None:
    place = key_place("map", "name")
    if name not in bundled_maps():
        accepts = what_is_accepted(name, bundled_maps())
        faults.append(error("unknown-map", place, value=name, accepted=accepts))
        return None
    if own:
        shown = ", ".join(path.name for path in own)
        faults.append(error("map-unsure", place, value=name, own=shown))
    folder = map_folder(name)
    read = _read_own_map(folder, folder, name, faults)
    return read and (read[0], "bundled", read[1])


def _read_own_map(
    path: Path, root: Path, name: str, faults: list[Fault]
) -> tuple[Map, Known] | None:
    """Give the map of a folder or a workbook, or None and a fault."""
    if path.is_dir():
        place = Place(MAP_FOLDER)
        if not path.resolve().is_relative_to(root.resolve()):
            faults.append(error("outside-folder", place))
            return None
        tables = read_map_tables(path, root, MAP_FOLDER, faults)
        absent = {table: Place(f"{MAP_FOLDER}/{table}.csv") for table in MAP_TABLES}
    elif path.suffix.lower() == ".xlsx" and path.exists():
        place = Place(path.name)
        sheets = read_workbook_tables(path, root, faults)
        if sheets is None:
            return None
        tables = sheets
        absent = {table: Place(path.name, sheet=table) for table in MAP_TABLES}
    else:
        faults.append(_no_folder(path))
        return None
    if not tables:
        faults.append(error("map-missing", place, bundled=_bundled_names()))
        return None
    return build_map(tables, absent, name or path.stem, faults)


def _no_folder(path: Path) -> Fault:
    place = Place(path.name or str(path))
    return error("is-file", place) if path.exists() else error("folder-missing", place)


def _bundled_names() -> str:
    return ", ".join(bundled_maps())


def _check_variants(settings: Settings, known: Known, faults: list[Fault]) -> None:
    for name in settings.variants:
        if name not in known.of("variant") and "variant" not in known.unsure:
            kind = words.say("kind.variant")
            accepts = what_is_accepted(name, list(known.of("variant")))
            place = key_place("map", "variants")
            faults.append(error("unknown-id", place, value=name, kind=kind, accepted=accepts))

"""Starts a project from the table that every teacher has: muscle, nerve, roots.

Structures and supplies are made of it. Links come from the bundled map that knows most
of the nerves, with all that lies proximal of them; the rest is work that is left to do.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from nervure import words
from nervure.project._cells import to_id
from nervure.project._roots import SEGMENTS
from nervure.project._settings import GAME_FILE
from nervure.project._start_known import KnownNerves, known_nerves, name_key, reach_of
from nervure.project._start_rows import Muscle, read_muscles
from nervure.project.columns import MAP_TABLES
from nervure.project.read import MAP_FOLDER, bundled_words
from nervure.project.records import Ids, Link
from nervure.project.start import NewProject, empty_deck, game_file, title_of, write_new_files
from nervure.project.tables import Table
from nervure.project.writing import table_bytes

SOURCE_ID = "own-table"
Cells = dict[str, str]


def start_from_table(directory: Path, table: Path) -> NewProject:
    """Start a project from a table with a column each for muscle, nerve and roots.

    Columns may stand in any order under common headings; CSV or .xlsx (first sheet).
    Roots may be ranges (``L2-L4``); brackets mark inconstant ones. Several nerves are
    separated by semicolons, commas or "and".

    Raises
    ------
    FaultyProject
        The table cannot be read or lacks a column; a file is there already. Then
        nothing is written.
    """
    directory, table = Path(directory), Path(table)
    to_do: list[str] = []
    muscles = read_muscles(table, to_do)
    known = known_nerves(nerve for muscle in muscles for nerve in muscle.nerves)
    tables = _make_tables(muscles, known, table.name, to_do)
    own_words = bundled_words(known.map.name) if known.map else {}
    files = {
        GAME_FILE: game_file(title_of(directory), own_words),
        "deck.csv": empty_deck(),
        **{f"{MAP_FOLDER}/{name}.csv": _csv(name, rows) for name, rows in tables.items()},
    }
    work = tuple(dict.fromkeys([words.say("to-do.title"), words.say("to-do.source"), *to_do]))
    return NewProject(directory, write_new_files(directory, files), work)


def _csv(name: str, rows: Iterable[Mapping[str, str]]) -> bytes:
    columns = MAP_TABLES[name].column_names
    cells = tuple(tuple(row.get(column, "") for column in columns) for row in rows)
    return table_bytes(Table(columns, cells))


def _make_tables(
    muscles: list[Muscle], known: KnownNerves, file: str, to_do: list[str]
) -> dict[str, list[Cells]]:
    origins = _origins(muscles, known)
    taken = {*origins, *known.structures, SOURCE_ID, "variant", "any"}
    tiers = _tiers(known, origins)
    taken |= {tier["tier"] for tier in tiers}
    if known.map is not None:
        taken |= {source.id for source in known.map.sources}
    nerve_ids, nerves = _nerves(muscles, known, tiers, taken)
    links = [_link_cells(link, origins, known) for link in known.links]
    targets, supplies = _targets(muscles, nerve_ids, taken)
    _list_work(muscles, known, nerves, nerve_ids, origins, to_do)
    return {
        "tiers": tiers,
        "structures": [*_origin_rows(origins, known, tiers), *_map_rows(known), *nerves],
        "links": links,
        "targets": targets,
        "supplies": supplies,
        "sources": _sources(known, links, file),
    }


def _origins(muscles: Iterable[Muscle], known: KnownNerves) -> Ids:
    """Give the origins of table and map, in the order of the cord where they are segments."""
    named = [name for muscle in muscles if muscle.roots for name in muscle.roots.all]
    of_map = [
        each.id
        for each in (known.map.structures if known.map else ())
        if known.map and each.tier == known.map.tiers[0].id and each.id in known.structures
    ]
    found = list(dict.fromkeys([*of_map, *named]))
    if all(name in SEGMENTS for name in found):
        found.sort(key=SEGMENTS.index)
    return tuple(found)


def _tiers(known: KnownNerves, origins: Ids) -> list[Cells]:
    if known.map is not None:
        used = {each.tier for each in known.map.structures if each.id in known.structures}
        return [
            {"tier": tier.id, "name": tier.name, "plural": tier.plural, "mark": tier.mark}
            for index, tier in enumerate(known.map.tiers)
            if tier.id in used or index == 0
        ]
    kinds = ("root", "nerve") if set(origins) <= set(SEGMENTS) else ("origin", "branch")
    return [
        {
            "tier": kind if kind not in origins else f"{kind}-tier",
            "name": words.say(f"new.tier-{kind}"),
            "plural": words.say(f"new.tier-{kind}-plural"),
        }
        for kind in kinds
    ]


def _nerves(
    muscles: Iterable[Muscle], known: KnownNerves, tiers: list[Cells], taken: set[str]
) -> tuple[dict[str, str], list[Cells]]:
    """Give the id of each nerve by the key of its name, and rows for those no map knows."""
    ids = dict(known.structure_of)
    rows = []
    tier_ids = [tier["tier"] for tier in tiers]
    tier = "nerve" if "nerve" in tier_ids else tier_ids[-1]
    for nerve in (nerve for muscle in muscles for nerve in muscle.nerves):
        key = name_key(nerve)
        if key not in ids:
            ids[key] = _fresh(to_id(nerve), taken)
            rows.append({"structure": ids[key], "tier": tier, "name": _capital(nerve)})
    return ids, rows


def _fresh(name: str, taken: set[str]) -> str:
    """Give an id that is not taken yet, and take it."""
    fresh, number = name, 2
    while fresh in taken:
        fresh, number = f"{name}-{number}", number + 1
    taken.add(fresh)
    return fresh


def _capital(name: str) -> str:
    return name[:1].upper() + name[1:]


def _origin_rows(origins: Ids, known: KnownNerves, tiers: list[Cells]) -> list[Cells]:
    of_map = {each.id: each for each in known.map.structures} if known.map else {}
    tier = tiers[0]["tier"]
    rows = []
    for name in origins:
        each = of_map.get(name)
        shown = name.upper() if name in SEGMENTS else _capital(name.replace("-", " "))
        row = {"structure": name, "tier": tier, "name": each.name if each else shown}
        rows.append(row | ({"short": each.short, "also": each.also} if each else {}))
    return rows


def _map_rows(known: KnownNerves) -> list[Cells]:
    if known.map is None:
        return []
    return [
        {
            "structure": each.id,
            "tier": each.tier,
            "name": each.name,
            "short": each.short,
            "also": each.also,
            "site": "yes" if each.site else "no",
            "note": each.note,
        }
        for each in known.map.structures
        if each.id in known.structures and each.tier != known.map.tiers[0].id
    ]


def _link_cells(link: Link, origins: Ids, known: KnownNerves) -> Cells:
    def kept(names: Ids, among: Iterable[str]) -> str:
        return " ".join(name for name in names if name in set(among))

    return {
        "from": link.start,
        "to": link.end,
        "level": "" if link.level is None else str(link.level),
        "enters": str(link.enters) if link.enters else "",
        "via": kept(link.via, known.structures),
        "fibres": "" if link.fibres is None else kept(link.fibres, origins),
        "main_fibres": kept(link.main_fibres, origins),
        "sources": " ".join(link.sources),
    }


def _targets(
    muscles: Iterable[Muscle], nerve_ids: Mapping[str, str], taken: set[str]
) -> tuple[list[Cells], list[Cells]]:
    targets: dict[str, Cells] = {}
    fibres: dict[tuple[str, str], list[str]] = {}
    for muscle in muscles:
        if muscle.id not in targets:
            name = _fresh(muscle.id, taken)
            targets[muscle.id] = {
                "target": name,
                "name": _capital(muscle.name),
                "kind": "muscle",
                "note": muscle.said,
                "sources": SOURCE_ID,
            }
        else:
            targets[muscle.id]["note"] += " " + muscle.said
        for nerve in muscle.nerves:
            row = (targets[muscle.id]["target"], nerve_ids[name_key(nerve)])
            fibres.setdefault(row, []).extend(muscle.roots.all if muscle.roots else ())
    supplies = [
        {
            "target": target,
            "through": through,
            "fibres": " ".join(dict.fromkeys(names)),
            "sources": SOURCE_ID,
        }
        for (target, through), names in fibres.items()
    ]
    return list(targets.values()), supplies


def _sources(known: KnownNerves, links: Iterable[Cells], file: str) -> list[Cells]:
    own = {
        "source": SOURCE_ID,
        "citation": words.say("new.citation", file=file),
        "kind": "own",
        "how_obtained": "from memory",
    }
    named = {name for link in links for name in link["sources"].split()}
    return [
        own,
        *(
            {
                "source": source.id,
                "citation": source.citation,
                "kind": source.kind,
                "how_obtained": source.how_obtained,
            }
            for source in (known.map.sources if known.map else ())
            if source.id in named
        ),
    ]


def _list_work(
    muscles: Iterable[Muscle],
    known: KnownNerves,
    nerves: Iterable[Cells],
    nerve_ids: Mapping[str, str],
    origins: Ids,
    to_do: list[str],
) -> None:
    """Add what the map still lacks, each fault that a check will find among it."""
    if known.map is None:
        to_do.append(words.say("to-do.tables"))
    else:
        shown = known.map.name
        for row in nerves:
            to_do.append(
                words.say("to-do.links", name=row["name"], id=row["structure"], map=shown)
            )
        for origin in origins:
            if origin not in {link.start for link in known.links}:
                to_do.append(words.say("to-do.origin", origin=origin))
        if known.map.variants:
            to_do.append(words.say("to-do.variants", map=shown))
    reach = reach_of(known)
    for muscle in muscles:
        through = [nerve_ids[name_key(nerve)] for nerve in muscle.nerves]
        if len(set(through)) > 1:
            to_do.append(words.say("to-do.shared", target=muscle.name, through=" ".join(through)))
        for nerve in through:
            roots = muscle.roots.all if muscle.roots else ()
            lost = [name for name in roots if nerve in reach and name not in reach[nerve]]
            if lost and known.map is not None:
                to_do.append(
                    words.say(
                        "to-do.reach",
                        target=muscle.name,
                        origins=" ".join(lost),
                        map=known.map.name,
                        through=nerve,
                    )
                )

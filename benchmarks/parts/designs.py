"""The games that are played: the bundled ones, the arm by default rules, one at the limits."""

from __future__ import annotations

import csv
import random
from collections.abc import Iterable, Sequence
from pathlib import Path

from nervure import maps
from nervure.game import Game, compile_game, read_game
from nervure.game.tables import Tables
from nervure.project import read_folder, start_from_map

DEMO = "giants-leg"
SEATS = 4
LIMIT_SEATS = 6
LIMIT_SIZES = (8, 8, 9, 10, 11, 12)
"""58 structures; with wild:any on six tiers 64 placed kinds, and 2.4 million strand codes."""
LIMIT_TARGETS, LIMIT_CARDS, LIMIT_WILD = 128, 400, 10


def designs(folder: Path) -> dict[str, Tables]:
    """Give the tables of all designs by name; those that are made are made in a folder."""
    start_from_map(folder / "arm", "arm")
    at_the_limits(folder / "limits")
    folders = {
        DEMO: maps.game_folder(DEMO),
        "lock-keepers": maps.game_folder("lock-keepers"),
        "arm": folder / "arm",
        "limits": folder / "limits",
    }
    seats = {"limits": LIMIT_SEATS}
    return {
        name: compile_game(_sound(read_game(read_folder(held))), seats.get(name, SEATS))
        for name, held in folders.items()
    }


def demo(seats: int) -> Tables:
    """Give the tables of the bundled main game for so many seats."""
    return compile_game(_sound(read_game(read_folder(maps.game_folder(DEMO)))), seats)


def _sound(game: Game) -> Game:
    if not game.ok:
        raise ValueError(
            str([fault.message for fault in game.faults if fault.level == "error"][:3])
        )
    return game


def at_the_limits(folder: Path) -> None:
    """Write an invented project, of no anatomy, that is as large as docs/rules.md allows."""
    chance = random.Random(5)
    tiers = [f"tier-{tier}" for tier in range(len(LIMIT_SIZES))]
    names = [[f"s-{tier}-{n}" for n in range(size)] for tier, size in enumerate(LIMIT_SIZES)]
    links = [
        (start, end)
        for tier in range(1, len(names))
        for end in names[tier]
        for start in chance.sample(names[tier - 1], chance.choice((1, 1, 2)))
    ]
    targets = [f"t-{n}" for n in range(LIMIT_TARGETS)]
    ends = names[-1] + names[-2]
    structures = [name for tier in names for name in tier]
    more = LIMIT_CARDS - LIMIT_WILD - 6 * len(structures)
    copies = [(name, 7 if n < more else 6) for n, name in enumerate(structures)]
    (folder / "map").mkdir(parents=True)
    _write(folder / "map" / "tiers.csv", ["tier", "name"], [(t, t) for t in tiers])
    _write(
        folder / "map" / "structures.csv",
        ["structure", "tier", "name"],
        [(name, tiers[tier], name) for tier, row in enumerate(names) for name in row],
    )
    _write(folder / "map" / "links.csv", ["from", "to", "sources"], [(*k, "made") for k in links])
    _write(
        folder / "map" / "targets.csv",
        ["target", "name", "kind", "sources"],
        [(t, t, "organ", "made") for t in targets],
    )
    _write(
        folder / "map" / "supplies.csv",
        ["target", "through", "sources"],
        [(t, chance.choice(ends), "made") for t in targets],
    )
    _write(
        folder / "map" / "sources.csv",
        ["source", "citation", "kind", "how_obtained"],
        [("made", "Invented for a measurement of speed", "own", "own observation")],
    )
    _write(
        folder / "deck.csv",
        ["card", "copies", "points"],
        [
            *((name, n, "") for name, n in copies),
            ("wild:any", LIMIT_WILD, ""),
            *((t, "", "2 4 7 9 11") for t in targets),
        ],
    )
    rules = 'players = [2, 6]\nhand = 6\ndisplay = 8\nopen_targets = 8\nend = ["claims: 8"]\n'
    rules += 'draws = ["stock", "display", "swap", "take-loose"]\n'
    text = f'title = "A size, not a game (invented)"\n\n[rules]\n{rules}'
    (folder / "game.toml").write_text(text, "utf-8")


def _write(path: Path, header: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(header)
        writer.writerows(rows)

"""After the game: the same measures as of simulated games, what was refused, what was met.

Comes in: games that people have played, as `TableGame` or played again from a record. Goes
out: measures by number of players, and plain data for a class to talk about.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

import numpy as np

from nervure.engine import Games, joined_blocks
from nervure.playtest.measures import game_measures
from nervure.records import Measure
from nervure.table.course import Attempt, Course
from nervure.table.outcome import pathway_view, pathways_met
from nervure.table.record import Record
from nervure.table.table_game import TableGame

Fact = tuple[tuple[str, ...], str | None]


def yardsticks(games: Iterable[Course], seconds_per_turn: float) -> dict[int, tuple[Measure, ...]]:
    """Give the measures of docs/measures.md over played games, by number of players.

    Every game counts as a deal of its own. Games that were stopped or ended by the bell have
    no end of their own and are left out. Turns, endings, seats, liveliness, scores: the same
    functions as for simulated games.

    Parameters
    ----------
    seconds_per_turn
        For minutes; `measured_pace` gives it from what was clocked.
    """
    by_seats: dict[int, list[Games]] = {}
    for game in games:
        if game.position.finished:
            by_seats.setdefault(game.tables.seats, []).append(game.position.result())
    return {
        seats: game_measures(_numbered(blocks), 1, seconds_per_turn)
        for seats, blocks in sorted(by_seats.items())
    }


def _numbered(blocks: Sequence[Games]) -> Games:
    joined = joined_blocks(blocks)
    joined.deal[:] = np.arange(len(joined))
    return joined


def measured_pace(turns: Iterable[Mapping[int, float]]) -> float | None:
    """Give the mean seconds a turn over all turns that were clocked, None without any."""
    seconds = [second for game in turns for second in game.values()]
    return float(np.mean(seconds)) if seconds else None


def turn_seconds(played: TableGame | Record, course: Course | None = None) -> dict[int, float]:
    """Give how many seconds each turn took, by its number from 1.

    Times are whole seconds of the log. A record needs the course that it was played to, for
    the turns that its lines belong to.
    """
    if isinstance(played, TableGame):
        start = datetime.fromisoformat(_began(played))
        moments = [
            (entry.turn, (datetime.fromisoformat(entry.made) - start).total_seconds())
            for entry in played.entries
            if entry.move is not None
        ]
    else:
        assert course is not None, "a record alone does not tell its turns"
        lines = zip(course.entries, played.lines, strict=True)
        moments = [
            (entry.turn, float(line.get("seconds", 0)))
            for entry, line in lines
            if entry.move is not None
        ]
    found: dict[int, float] = {}
    last = 0.0
    for turn, second in moments:
        found[turn] = found.get(turn, 0.0) + max(0.0, second - last)
        last = max(last, second)
    return found


def _began(table: TableGame) -> str:
    """Give when the last of the first players sat down; else when the table was laid."""
    began = table.made
    for entry in table.entries:
        if entry.kind != "seat":
            break
        began = entry.made
    return began


def debrief(games: Sequence[Course]) -> dict[str, Any]:
    """Give what to talk about after games of one design, as plain data.

    ``refused``: connections that were tried and refused, most frequent first; ``players``:
    pathways met by each; ``met``, ``pathways``: how many of the game's were met at all;
    ``unmet``: those that nobody met.
    """
    if not games:
        return {"refused": [], "players": [], "met": 0, "pathways": 0, "unmet": []}
    first = games[0]
    met: set[tuple[str, tuple[str, ...]]] = set()
    players = []
    for number, game in enumerate(games, start=1):
        for seat in range(game.tables.seats):
            own = pathways_met(game.game, (one for one in game.claims if one.seat == seat))
            met.update((way.target, way.structures) for way in own)
            players.append(
                {
                    "game": number,
                    "seat": seat,
                    "name": game.who(seat),
                    "refused": sum(one.seat == seat for one in game.attempts),
                    "pathways": [pathway_view(game, way) for way in own],
                }
            )
    every = {
        (way.target, way.structures): way
        for target in first.game.targets
        for way in first.game.pathways(target)
    }
    return {
        "refused": refused_facts(first, (one for game in games for one in game.attempts)),
        "players": players,
        "met": len(met),
        "pathways": len(every),
        "unmet": [pathway_view(first, way) for key, way in every.items() if key not in met],
    }


def most_refused(game: Course, most: int | None = None) -> list[dict[str, Any]]:
    """Give the connections that were tried at a table and refused, most frequent first."""
    return refused_facts(game, game.attempts)[:most]


def refused_facts(game: Course, attempts: Iterable[Attempt]) -> list[dict[str, Any]]:
    """Count refused attempts by what they took for a fact, most frequent first."""
    counts: Counter[Fact] = Counter((one.junction, one.target) for one in attempts)
    return [
        {
            "junction": list(junction),
            "target": target,
            "text": _fact_text(game, junction, target),
            "count": count,
        }
        for (junction, target), count in counts.most_common()
    ]


def _fact_text(game: Course, junction: tuple[str, ...], target: str | None) -> str:
    naming = game.naming
    cards = naming.tell("list.strand").join(map(naming.card, junction))
    if target is None:
        return cards
    return naming.tell("pathway", way=cards, target=naming.target(target))

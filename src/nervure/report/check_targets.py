"""Targets of a deck as rows of a table: pathways, chances, points beside those by chance."""

from __future__ import annotations

from dataclasses import dataclass

from nervure.game import GameCheck
from nervure.project.records import Map


@dataclass(frozen=True, slots=True)
class Rung:
    """One strand length of one target; ``fair`` only where listed points differ from it."""

    cards: int
    chance: float
    is_simulated: bool
    points: int
    fair: int | None


@dataclass(frozen=True, slots=True)
class TargetRow:
    """One target: its pathways by number of cards, and a rung by strand length."""

    name: str
    kind: str
    pathways: tuple[tuple[int, int], ...]
    rungs: dict[int, Rung]
    is_listed: bool
    is_simulated: bool


def target_rows(exact: GameCheck | None, map_: Map) -> list[TargetRow]:
    """Give a row for each target of the deck, in its order; none without a count."""
    if exact is None:
        return []
    rows = {row.id: row for row in map_.targets}
    found = []
    for target, check in exact.targets.items():
        shortest = check.longest - len(check.points) + 1
        rungs = {}
        for step, points in enumerate(check.points):
            cards = shortest + step
            fair = check.fair[step] if step < len(check.fair) else points
            rungs[cards] = Rung(
                cards,
                check.odds.at(cards, check.odds_cards),
                not check.odds.is_exact,
                points,
                fair if check.listed and fair != points else None,
            )
        found.append(
            TargetRow(
                rows[target].name,
                rows[target].kind,
                tuple(sorted(check.pathways.items())),
                rungs,
                check.listed,
                not check.odds.is_exact,
            )
        )
    return found


def strand_lengths(exact: GameCheck | None) -> list[int]:
    """Give the strand lengths that any target has a rung for, rising."""
    if exact is None:
        return []
    return sorted(
        {
            check.longest - step
            for check in exact.targets.values()
            for step in range(len(check.points))
        }
    )

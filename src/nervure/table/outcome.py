"""How a table ended: places and points, and the pathways that each seat has met.

A pathway is met by a claimed strand that has all its structures on deck tiers
(docs/measures.md, exposure).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from nervure.anatomy import Pathway
from nervure.game import Game
from nervure.table.events import Claim

if TYPE_CHECKING:
    from nervure.table.course import Course

SIXTIETHS = 60


def pathways_met(game: Game, claims: Iterable[Claim]) -> tuple[Pathway, ...]:
    """Give the pathways that claims have met, in the map's order, each once."""
    deck = set(game.structures)
    met = set()
    for claim in claims:
        cards = {slot for slot in claim.slots if slot is not None}
        for pathway in game.pathways(claim.target):
            if cards.issuperset(deck.intersection(pathway.structures)):
                met.add(pathway)
    return tuple(pathway for pathway in game.anatomy.all_pathways if pathway in met)


def win_shares(game: Course) -> list[float] | None:
    """Give each seat's share of the win, 0 to 1; None with one seat or without an end."""
    if not game.position.finished or game.tables.seats == 1:
        return None
    return [share / SIXTIETHS for share in game.position.result().share[0].tolist()]


def result_view(game: Course) -> dict[str, Any] | None:
    """Give the result as plain data, None while the game runs."""
    if game.over_by is None:
        return None
    points = [game.position.points(seat) for seat in range(game.tables.seats)]
    shares = win_shares(game)
    return {
        "by": game.over_by,
        "sentence": game.naming.tell(f"ended.{game.over_by}"),
        "winners": _winners(points, shares),
        "seats": [
            {
                "seat": seat,
                "name": game.who(seat),
                "points": points[seat],
                "place": 1 + sum(other > points[seat] for other in points),
                "share": None if shares is None else shares[seat],
                "claims": sum(claim.seat == seat for claim in game.claims),
                "left": cards_left(game, seat),
                "refused": sum(attempt.seat == seat for attempt in game.attempts),
                "pathways": [
                    pathway_view(game, pathway)
                    for pathway in pathways_met(
                        game.game, (claim for claim in game.claims if claim.seat == seat)
                    )
                ],
            }
            for seat in range(game.tables.seats)
        ],
    }


def cards_left(game: Course, seat: int) -> int:
    """Give how many part cards a seat has in its hand and on the table."""
    on_table = sum(
        strand.copies * sum(slot is not None for slot in strand.slots)
        for strand in game.position.strands(seat)
    )
    return sum(game.position.hand(seat).values()) + on_table


def _winners(points: list[int], shares: list[float] | None) -> list[int]:
    """Give the seats that won, with tie-breaks where the game came to its end."""
    if len(points) == 1:
        return []
    if shares is not None:
        return [seat for seat, share in enumerate(shares) if share > 0]
    return [seat for seat, held in enumerate(points) if held == max(points)]


def pathway_view(game: Course, pathway: Pathway) -> dict[str, Any]:
    """Give a pathway as plain data."""
    naming = game.naming
    return {
        "origin": pathway.origin,
        "target": pathway.target,
        "structures": list(pathway.structures),
        "text": naming.tell(
            "pathway",
            way=naming.tell("list.strand").join(map(naming.card, pathway.structures)),
            target=naming.target(pathway.target),
        ),
    }

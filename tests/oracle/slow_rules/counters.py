"""The columns of a played game, counted from the events of a slow table.

Names and meanings are those of the docstring of `nervure.engine.games.Games`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from slow_rules.beliefs import FactBook, Pair
from slow_rules.result import shares_of, winners_of
from slow_rules.table import Table

ENDED_BY = {"own rule": 0, "nobody moves": 1, "targets gone": 2, "unfinished": 3}
TIES = {"clear": 0, "tie-break": 1, "shared": 2}
Columns = dict[str, Any]


def columns_of(table: Table, sitting: Sequence[int], facts: FactBook | None = None) -> Columns:
    """Give one row of every column but ``deal`` and ``rotation``.

    ``enacted`` has no words without the facts that it counts.
    """
    return {
        **_of_the_game(table),
        **_of_the_seats(table, sitting),
        **_of_the_targets(table),
        **_of_the_cards(table),
        "enacted": [_enacted(seat, facts) for seat in table.enacted],
    }


def _events(table: Table, *whats: str) -> list[dict[str, Any]]:
    return [event for event in table.events if event["what"] in whats]


def _of_the_game(table: Table) -> Columns:
    choices = [event["choices"] for event in _events(table, "decision")]
    closed = _events(table, "closed")
    leaders = [_sole_leader(event["points"]) for event in closed]
    # Every claim counts, that of a loose card too.
    busy = {event["turn"] for event in _events(table, "lengthened", "joined", "claim")}
    _, how = winners_of(table)
    return {
        "turns": table.turn,
        "decisions": len(choices),
        "choices": sum(choices),
        "forced": choices.count(1),
        "ended_by": ENDED_BY[str(table.ended_by)],
        "tie": TIES[how],
        "idle": table.turn - len(busy),
        "stuck": sum(event["stuck"] for event in _events(table, "turn")),
        "turns_judged": table.turn,
        "lead_changes": _changes([leader for leader in leaders if leader >= 0]),
        "leader_three_quarters": _leader_after(leaders, 3 * table.turn // 4),
        "takes": len(_events(table, "take")),
    }


def _sole_leader(points: Sequence[int]) -> int:
    """Give the seat with more points than every other, -1 if there is none."""
    best = max(points)
    return points.index(best) if points.count(best) == 1 else -1


def _changes(leaders: Sequence[int]) -> int:
    return sum(one != other for one, other in pairwise(leaders))


def _leader_after(leaders: Sequence[int], turns: int) -> int:
    return leaders[turns - 1] if turns > 0 else -1


def _of_the_seats(table: Table, sitting: Sequence[int]) -> Columns:
    kinds = table.game.hand_kinds
    by_claims = [sum(claim.points for claim in seat.claims) for seat in table.seats]
    return {
        "player": list(sitting),
        "share": shares_of(table),
        "points": [seat.points for seat in table.seats],
        "claims": [len(seat.claims) for seat in table.seats],
        "full_claims": [sum(claim.full for claim in seat.claims) for seat in table.seats],
        "first_claim": [
            min((claim.turn for claim in seat.claims), default=-1) for seat in table.seats
        ],
        "refused": _by_seat(table, [event["seat"] for event in _events(table, "refused")]),
        "untrue_claims": _by_seat(
            table, [event["seat"] for event in _events(table, "claim") if event["untrue"]]
        ),
        "points_length": by_claims,
        "points_bonus": [
            seat.points - claimed for seat, claimed in zip(table.seats, by_claims, strict=True)
        ],
        "opening": [sum(1 << kinds.index(kind) for kind in set(hand)) for hand in table.openings],
    }


def _by_seat(table: Table, happened: list[int]) -> list[int]:
    return [happened.count(seat) for seat in range(len(table.seats))]


def _enacted(seat: set[Pair], facts: FactBook | None) -> list[int]:
    if facts is None:
        return []
    in_order = [*facts.junctions, *facts.supplies]
    mask = sum(1 << place for place, fact in enumerate(in_order) if fact in seat)
    return [mask >> start & 2**64 - 1 for start in range(0, len(in_order), 64)]


def refused_by(table: Table, facts: FactBook) -> dict[str, int]:
    """Give how many refused attempts rested on each false fact, by its text."""
    false = [fact for event in _events(table, "refused") for fact in event["false"]]
    return dict(Counter(map(facts.text, false)))


def _of_the_targets(table: Table) -> Columns:
    targets = table.game.targets
    counts = {
        name: dict.fromkeys(targets, 0)
        for name in ("target_open", "target_claimed", "claim_length", "claim_wait")
    }
    since: dict[Any, int] = {}
    for event in _events(table, "open", "secret", "claim"):
        if event["what"] == "claim":
            claim = event["claim"]
            counts["target_claimed"][claim.target.kind] += 1
            counts["claim_length"][claim.target.kind] += claim.length
            counts["claim_wait"][claim.target.kind] += event["turn"] - since[claim.target]
        else:
            since[event["target"]] = event["turn"]
            counts["target_open"][event["target"].kind] += event["what"] == "open"
    return {name: list(by_target.values()) for name, by_target in counts.items()}


def _of_the_cards(table: Table) -> Columns:
    kinds = table.game.hand_kinds
    drawn = [event["kind"] for event in _events(table, "drawn")]
    played = [event["kind"] for event in _events(table, "played")]
    claimed = [card.kind for seat in table.seats for claim in seat.claims for card in claim.cards]
    left = [card.kind for seat in table.seats for card in seat.cards_left]
    return {
        "card_drawn": [drawn.count(kind) for kind in kinds],
        "card_played": [played.count(kind) for kind in kinds],
        "card_claimed": [claimed.count(kind) for kind in kinds],
        "card_left": [left.count(kind) for kind in kinds],
    }

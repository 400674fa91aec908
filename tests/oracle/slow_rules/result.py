"""Who wins a finished game, and by what: the result of docs/rules.md."""

from __future__ import annotations

from slow_rules.table import Table

WHOLE_WIN = 60


def winners_of(table: Table) -> tuple[list[int], str]:
    """Give who wins, and how: "clear", "tie-break" or "shared"."""
    best = max(seat.points for seat in table.seats)
    leaders = [number for number, seat in enumerate(table.seats) if seat.points == best]
    if len(leaders) == 1:
        return leaders, "clear"
    for name in table.game.rules.tie_breaks:
        worth = {number: _tie_break(table, name, number) for number in leaders}
        leaders = [number for number in leaders if worth[number] == max(worth.values())]
    return leaders, "tie-break" if len(leaders) == 1 else "shared"


def _tie_break(table: Table, name: str, number: int) -> int:
    seat = table.seats[number]
    if name == "full-strands":
        return sum(claim.full for claim in seat.claims)
    if name == "fewest-cards":
        return -len(seat.cards_left)
    if name == "claims":
        return len(seat.claims)
    if name == "last-seat":
        return number
    target = name.removeprefix("target:")
    return any(claim.target.kind == target for claim in seat.claims)


def shares_of(table: Table) -> list[int]:
    """Give each seat's share of the win in sixtieths; none in a game of one player."""
    winners, _ = winners_of(table)
    if len(table.seats) == 1:
        return [0]
    return [
        WHOLE_WIN // len(winners) if number in winners else 0 for number in range(len(table.seats))
    ]

"""What holds after every move: cards are in one place, points add up, nothing is below nought."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from slow_rules.cards import Card, slots_of

if TYPE_CHECKING:
    from slow_rules.table import Table


class Cards:
    """Every card of a game as it was dealt, to be counted again later."""

    def __init__(self, table: Table) -> None:
        self.parts = Counter(part_cards(table))
        self.targets = Counter(target_cards(table))

    def check(self, table: Table) -> None:
        """Assert that no card is lost or doubled, and that the numbers of every seat hold."""
        assert Counter(part_cards(table)) == self.parts
        assert Counter(target_cards(table)) == self.targets
        assert table.draws >= 0
        assert table.plays >= 0
        for seat in table.seats:
            claimed = sum(claim.points + claim.extra for claim in seat.claims)
            assert seat.points == claimed + seat.bonus_points
            assert seat.late_lifts >= 0
            for strand in seat.strands:
                assert table.book.joined(slots_of(strand.proximal_side(), table.tiers))
                assert table.book.joined(slots_of(strand.distal_side(), table.tiers))
                assert (strand.gap is None) == (strand.variant is None)


def part_cards(table: Table) -> list[Card]:
    """Give the part cards wherever they are."""
    found = [*table.stock, *table.display, *table.pile]
    for seat in table.seats:
        found += seat.cards_left
        found += [card for claim in seat.claims for card in claim.cards]
    return found


def target_cards(table: Table) -> list[Card]:
    """Give the target cards wherever they are."""
    found = [*table.target_stock, *(card for card in table.open_targets if card)]
    for seat in table.seats:
        found += seat.secrets
        found += [claim.target for claim in seat.claims]
    return found

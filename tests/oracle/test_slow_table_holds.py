"""The slow table keeps its own promises, whatever the engine plays yet.

Every move checks itself (see `slow_rules.table.Table`): each card is in one place, the
points of a seat are those of its claims and bonuses, nothing is below nought, and each side
of each strand is joined.
"""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from slow_rules import Stream, Table, play_eagerly, shares_of
from tiny_designs import bonus_games, games

from nervure.game import Game

USE = 12


@pytest.mark.parametrize(
    ("designs", "moves"),
    [(games(), set(range(USE))), (bonus_games(), {USE})],
    ids=["all", "bonus"],
)
def test_cards_and_points_are_conserved_by_every_move(designs, moves):
    seen: Counter[int] = Counter()

    @settings(
        max_examples=80,
        deadline=None,
        derandomize=True,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(designs, st.integers(0, 2**64 - 1), st.integers(0, 5))
    def conserves(game: Game, seed: int, seats: int) -> None:
        assume(game.ok)
        sizes = game.rules.table_sizes
        table = Table(game, sizes[seats % len(sizes)], seed, 0)
        play_eagerly(table, Stream(seed))
        assert table.finished
        shares = shares_of(table)
        assert sum(shares) == (60 if len(shares) > 1 else 0)
        seen.update(event["number"] for event in table.events if event["what"] == "move")

    conserves()
    assert moves <= set(seen), f"moves that no game made: {moves - set(seen)}"

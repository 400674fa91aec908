"""The engine and the slow table play random tiny designs alike, over every key.

Each design is played twice: by chance, all columns compared; and by eager moves, the list of
legal moves and the whole state compared at every decision, then the columns.
"""

from __future__ import annotations

from collections import Counter

import pytest
from comparing import compare_by_chance, compare_step_by_step
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from slow_rules import StrandBook
from tiny_designs import bonus_games, games

from nervure.errors import NotPlayedYet
from nervure.game import NOT_PLAYED, Game

USE = 12
SEEDS = st.integers(0, 2**64 - 1)


def _play_designs(number: int, designs: st.SearchStrategy[Game]) -> Counter[str]:
    """Play so many designs on both sides; give what happened, and the moves by number."""
    counts: Counter[str] = Counter()

    @settings(
        max_examples=number,
        deadline=None,
        derandomize=True,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(designs, SEEDS, st.integers(0, 5))
    def plays_alike(game: Game, seed: int, seats: int) -> None:
        counts["drawn"] += 1
        assume(game.ok)
        sizes = game.rules.table_sizes
        table = sizes[seats % len(sizes)]
        book = StrandBook(game)
        try:
            played = compare_by_chance(
                game, table, seed=seed, first_deal=seed % 3, deals=1, book=book
            )
            ended = compare_step_by_step(game, table, seed=seed, deal=seed % 5, book=book)
        except NotPlayedYet:
            counts["not played"] += 1
            assume(False)
        counts["designs"] += 1
        counts["games"] += played + 1
        counts.update(f"move {e['number']}" for e in ended.events if e["what"] == "move")
        counts.update(event["what"] for event in ended.events)

    plays_alike()
    return counts


def test_three_hundred_tiny_designs_are_played_alike():
    counts = _play_designs(300, games(without=NOT_PLAYED))
    assert counts["designs"] >= 300
    missing = [number for number in range(USE) if not counts[f"move {number}"]]
    assert not missing, f"moves that no game made: {missing}"


@pytest.mark.skipif(bool({"bonuses", "replies"} & NOT_PLAYED), reason="bonuses are not played yet")
def test_a_hundred_tiny_designs_full_of_bonuses_are_played_alike():
    counts = _play_designs(100, bonus_games())
    assert counts["designs"] >= 100
    assert counts[f"move {USE}"] >= 10


@pytest.mark.long
def test_five_thousand_tiny_designs_are_played_alike():
    assert _play_designs(4000, games(without=NOT_PLAYED))["designs"] >= 4000
    assert _play_designs(1000, bonus_games())["designs"] >= 1000

"""Players who know a part of the map: engine and slow table agree move for move, refusals too.

Each design is played three times by a random line-up of knowledge: by eager moves, and by the
styles, list and state compared at every decision; then at once, all columns compared, the facts
enacted and the refusals by false fact.
"""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from typing import Any

import pytest
from comparing import compare_played, compare_step_by_step
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from slow_rules import FactBook, StrandBook
from tiny_designs import games, hidden_games, line_ups

from nervure.errors import NotPlayedYet
from nervure.game import Game
from nervure.game.compile import compile_game
from nervure.game.facts import facts_of

SEEDS = st.integers(0, 2**64 - 1)
TRIED = {5: "take-loose", 8: "attach", 10: "join", 11: "claim"}


def _play_designs(number: int, designs: st.SearchStrategy[Game]) -> Counter[str]:
    counts: Counter[str] = Counter()

    @settings(
        max_examples=number,
        deadline=None,
        derandomize=True,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(designs, SEEDS, st.integers(0, 5), st.data())
    def plays_alike(game: Game, seed: int, size: int, data: Any) -> None:
        assume(game.ok)
        sizes = game.rules.table_sizes
        seats = sizes[size % len(sizes)]
        line_up = data.draw(line_ups(seats))
        book = StrandBook(game)
        facts = FactBook(book)
        deal = seed % 5
        try:
            compile_game(game, seats)
        except NotPlayedYet:
            assume(False)
        tables = [
            compare_step_by_step(
                game,
                seats,
                seed=seed,
                deal=deal,
                line_up=line_up,
                book=book,
                facts=facts,
                is_eager=is_eager,
            )
            for is_eager in (True, False)
        ]
        compare_played(game, line_up, tables[1], seed=seed, deal=deal, facts=facts)
        written = [fact.text for fact in facts_of(game)]
        assert written == [facts.text(fact) for fact in (*facts.junctions, *facts.supplies)]
        counts["designs"] += 1
        for table in tables:
            moves = [event for event in table.events if event["what"] in ("move", "refused")]
            for event, after in pairwise(moves):
                if after["what"] == "refused":
                    counts[TRIED[event["number"]]] += 1
            counts["untrue"] += sum(
                event["untrue"] for event in table.events if event["what"] == "claim"
            )

    plays_alike()
    return counts


def test_two_hundred_tiny_designs_are_played_alike_by_players_who_know_a_part():
    counts = _play_designs(120, hidden_games()) + _play_designs(80, games())
    assert counts["designs"] >= 200
    missing = [name for name in (*TRIED.values(), "untrue") if not counts[name]]
    assert not missing, f"never refused, or never seen: {missing}"


@pytest.mark.long
def test_two_thousand_tiny_designs_are_played_alike_by_players_who_know_a_part():
    assert _play_designs(2000, hidden_games())["designs"] >= 2000

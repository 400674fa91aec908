"""The engine and the slow table play the bundled games alike, column for column."""

from __future__ import annotations

from dataclasses import replace

import pytest
from comparing import (
    compare_by_chance,
    compare_played,
    compare_step_by_step,
    differences,
    sitting_of,
)
from slow_rules import FactBook, StrandBook, columns_of

from nervure.engine import play
from nervure.game.compile import compile_game


@pytest.mark.parametrize(
    ("name", "seats", "deals"),
    [
        ("giants-leg", 2, 18),
        ("giants-leg", 3, 16),
        ("giants-leg", 4, 16),
        ("lock-keepers", 2, 6),
        ("lock-keepers", 3, 6),
        ("lock-keepers", 4, 6),
    ],
)
def test_games_by_chance_leave_the_same_columns(bundled_game, name, seats, deals):
    assert compare_by_chance(bundled_game(name), seats, seed=20, deals=deals) == deals


def test_every_rotation_of_a_deal_is_the_same_game_with_players_moved_on(bundled_game):
    game = bundled_game("giants-leg")
    played = play(
        compile_game(game, 3), ["chance"] * 3, seed=3, first_deal=4, deals=2, rotations="all"
    )
    expected = [sitting_of(3, deal, rotation) for deal in (4, 5) for rotation in range(3)]
    assert played.player.tolist() == expected
    assert compare_by_chance(game, 3, seed=3, first_deal=4, deals=2, rotations="all") == 6


def test_a_negative_seed_counts_by_its_lowest_64_bits(bundled_game):
    game = bundled_game("lock-keepers")
    assert compare_by_chance(game, 2, seed=-1, deals=1, first_deal=7) == 1


@pytest.mark.parametrize(
    ("name", "line_up", "deals"),
    [
        ("giants-leg", ["sprinter", "builder"], 3),
        ("giants-leg", ["builder", "sprinter", "chance"], 3),
        ("giants-leg", ["sprinter", "builder", "sprinter", "builder"], 2),
        ("lock-keepers", ["sprinter", "builder", "chance"], 2),
    ],
)
def test_the_moves_of_styles_lead_to_the_same_lists_and_states(bundled_game, name, line_up, deals):
    game = bundled_game(name)
    book = StrandBook(game)
    for deal in range(deals):
        seats = len(line_up)
        table = compare_step_by_step(game, seats, seed=11, deal=deal, line_up=line_up, book=book)
        played = play(compile_game(game, seats), line_up, seed=11, first_deal=deal, deals=1)
        assert not differences(played, 0, columns_of(table, range(seats)))


@pytest.mark.parametrize("name", ["giants-leg", "lock-keepers"])
def test_eager_moves_lead_to_the_same_lists_and_states(bundled_game, name):
    game = bundled_game(name)
    assert compare_step_by_step(game, 3, seed=5, deal=1).finished


@pytest.mark.parametrize(
    ("name", "line_up"),
    [
        ("giants-leg", ["sprinter@0.5", "weigher@0.25"]),
        ("lock-keepers", ["builder@0.5", "chance", "weigher@0"]),
    ],
)
def test_players_who_know_a_part_go_wrong_alike_where_cards_print_nothing(
    bundled_game, name, line_up
):
    printed = bundled_game(name)
    quiet = printed.rules.model_copy(update={"parts_show": "nothing", "targets_show": "nothing"})
    game = replace(printed, rules=quiet)
    book = StrandBook(game)
    facts = FactBook(book)
    refused = 0
    for deal in range(2):
        table = compare_step_by_step(
            game, len(line_up), seed=8, deal=deal, line_up=line_up, book=book, facts=facts
        )
        compare_played(game, line_up, table, seed=8, deal=deal, facts=facts)
        refused += sum(event["what"] == "refused" for event in table.events)
    assert refused > 0

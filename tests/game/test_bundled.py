"""The bundled maps as games with every default: what must hold for any map that we ship."""

from __future__ import annotations

from pathlib import Path

import pytest

from nervure.game import Game, check_game, read_game
from nervure.maps import bundled_maps
from nervure.project import read_folder


@pytest.fixture(scope="module", params=bundled_maps())
def game(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Game:
    folder: Path = tmp_path_factory.mktemp(request.param)
    (folder / "game.toml").write_text(f'title = "T"\n[map]\nname = "{request.param}"\n')
    return read_game(read_folder(folder))


def test_title_and_map_alone_are_a_playable_game(game: Game) -> None:
    assert [fault.message for fault in game.faults if fault.level == "error"] == []


def test_a_true_game_has_no_untrue_strand_and_an_exact_count(game: Game) -> None:
    found = check_game(game)

    assert (found.untrue_strands.count, found.untrue_strands.claims) == (0, 0)
    assert all(target.odds.is_exact for target in found.targets.values())


def test_what_is_true_always_passes_the_printed_test(game: Game) -> None:
    # The lists and marks hold whatever one pathway holds, so the test errs on one side only.
    found = check_game(game).printed_test

    assert (found.failing_true.strands, found.failing_true.claims) == (0, 0)


def test_odds_grow_with_cards_and_fall_with_length(game: Game) -> None:
    for odds in game.odds.values():
        for length in odds.lengths:
            chances = [odds.at(length, n) for n in range(game.part_cards + 1)]
            assert chances == sorted(chances)
            assert chances[-1] == 1
            assert all(odds.at(length + 1, n) <= chances[n] for n in (5, 10, 20))

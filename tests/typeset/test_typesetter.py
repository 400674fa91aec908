"""A typesetter that several threads use at once."""

from concurrent.futures import ThreadPoolExecutor

from nervure import maps
from nervure.game import read_game
from nervure.press import gather_deck, set_deck
from nervure.press.manifest import card_digests
from nervure.project import read_folder


def test_threads_that_set_a_deck_at_once_set_the_same_deck() -> None:
    # The compiler itself refuses a second call while one runs.
    game = read_game(read_folder(maps.game_folder("lock-keepers")))

    with ThreadPoolExecutor(3) as pool:
        found = list(pool.map(lambda _: card_digests(set_deck(gather_deck(game))), range(3)))

    assert found[0] == found[1] == found[2]
    assert len(found[0]) > 50

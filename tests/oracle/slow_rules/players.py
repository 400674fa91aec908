"""Who chooses: players by chance as docs/rules.md has them, and eager ones for the tests."""

from __future__ import annotations

from collections.abc import Sequence

from nervure.game import Game
from slow_rules import moves
from slow_rules.chance import FIRST_PLAYER, Stream, key
from slow_rules.moves import Move
from slow_rules.strand_book import StrandBook
from slow_rules.table import Table

EAGER = (moves.USE, moves.CLAIM, moves.TAKE_LOOSE, moves.JOIN, moves.ATTACH, moves.ATTACH_OVER_GAP)


def play_eagerly(table: Table, chance: Stream) -> None:
    """Play a game to its end by moves that lead somewhere, now and then by any move.

    Far more claims, joins and bonuses come up than by chance alone.
    """
    while not table.finished:
        table.apply(eager_move(table.legal, chance))


def eager_move(legal: Sequence[Move], chance: Stream) -> Move:
    """Give mostly the move that gets furthest, a claim before an attach before a draw."""
    for number in EAGER if chance.below(5) else ():
        best = [move for move in legal if move[0] == number]
        if best:
            return best[chance.below(len(best))]
    return legal[chance.below(len(legal))]


def play_by_chance(
    game: Game,
    sitting: Sequence[int],
    seed: int,
    deal: int,
    book: StrandBook | None = None,
) -> Table:
    """Give a finished game of players of style chance; ``sitting``: the player in each seat."""
    table = Table(game, len(sitting), seed, deal, book)
    streams = [Stream(key(seed, deal, FIRST_PLAYER + player)) for player in sitting]
    while not table.finished:
        choice = streams[table.decider].below(len(table.legal))
        table.apply(table.legal[choice])
    return table

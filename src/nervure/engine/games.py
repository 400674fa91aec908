"""What a block of played games leaves behind: whole numbers, one row a game.

Nothing here plays; `nervure.engine.batch` fills the columns. They are whole numbers so
that blocks played anywhere merge exactly. Seats are counted from 0 in every column.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields
from enum import IntEnum

import numpy as np
import numpy.typing as npt

IntArray = npt.NDArray[np.int32]
MaskArray = npt.NDArray[np.uint64]

RESULT_VERSION = 3
"""Raised when the same seed and design give other games or other columns."""


class EndedBy(IntEnum):
    """Why a game ended."""

    OWN_RULE = 0
    NOBODY_MOVES = 1
    TARGETS_GONE = 2
    UNFINISHED = 3


class Tie(IntEnum):
    """How the winner was told apart."""

    CLEAR = 0
    TIE_BREAK = 1
    SHARED = 2


@dataclass(frozen=True, slots=True)
class Games:
    """Played games, one row each: G games, n seats, T targets of the game, K hand kinds.

    Shape (G,):

    - ``deal``, ``rotation``: which deal, and which rotation of the line-up (int64, int32).
    - ``turns``, ``decisions``; ``choices``: summed lengths of the lists of legal moves;
      ``forced``: decisions with one legal move.
    - ``ended_by``: `EndedBy`; ``tie``: `Tie`.
    - ``idle``: turns in which no strand of two or more was begun, lengthened, joined or
      claimed; ``stuck``: turns that open with no attach, join or claim possible from hand
      and table; ``turns_judged``: the turns that both are counted among.
    - ``lead_changes``: how often the sole leader by points is another than the last one;
      ``leader_three_quarters``: the seat that led alone after three quarters of the
      turns, -1 none.
    - ``takes``: loose cards taken from rivals.

    Shape (G, n), by seat:

    - ``player``: index in the line-up of who sits there.
    - ``share``: of the win, in sixtieths; 0 in a game of one player.
    - ``points``, of them ``points_length`` from claims and ``points_bonus`` from bonuses.
    - ``claims``, ``full_claims``; ``first_claim``: the turn (from 1), -1 none.
    - ``refused``: attempts of a player who knows only a part of the map.
    - ``untrue_claims``: claims of which no pathway of the target holds the strand in any
      reading.
    - ``opening``: the opening hand, one bit a hand kind (uint64).

    Shape (G, T), by target of the game, summed over its copies:

    - ``target_open``: times turned up; ``target_claimed``: times claimed.
    - ``claim_length``: cards of the claiming strand, 0 none; ``claim_wait``: turns from
      turned up (a secret target: from the deal) to claimed.

    Shape (G, K), by hand kind, copies counted together:

    - ``card_drawn``: came to a hand from the stock or the display, opening hands included.
    - ``card_played``: laid or joined from a hand; ``card_claimed``: left with a claim.
    - ``card_left``: in a hand or on the table at the end.

    Shape (G, n, W), by seat:

    - ``enacted``: one bit a fact of `nervure.game.facts.facts_of`, 64 a word, the lowest
      first: came to lie in an own strand, or its target was claimed (uint64). W is 0 unless
      `play` was asked for ``facts``.

    Besides the columns, ``refused_by`` counts the refused attempts of all games by the false
    fact that they rested on, ``A>B`` or ``S=>T``.
    """

    deal: npt.NDArray[np.int64]
    rotation: IntArray
    turns: IntArray
    decisions: IntArray
    choices: IntArray
    forced: IntArray
    ended_by: IntArray
    tie: IntArray
    idle: IntArray
    stuck: IntArray
    turns_judged: IntArray
    lead_changes: IntArray
    leader_three_quarters: IntArray
    takes: IntArray
    player: IntArray
    share: IntArray
    points: IntArray
    claims: IntArray
    full_claims: IntArray
    first_claim: IntArray
    points_length: IntArray
    points_bonus: IntArray
    refused: IntArray
    untrue_claims: IntArray
    opening: MaskArray
    target_open: IntArray
    target_claimed: IntArray
    claim_length: IntArray
    claim_wait: IntArray
    card_drawn: IntArray
    card_played: IntArray
    card_claimed: IntArray
    card_left: IntArray
    enacted: MaskArray
    refused_by: Mapping[str, int] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.deal)

    @property
    def seats(self) -> int:
        """Give the number of seats."""
        return int(self.player.shape[1])

    def columns(self) -> dict[str, npt.NDArray[np.integer]]:
        """Give the columns by name, in the order of the class."""
        return {name: getattr(self, name) for name in column_names()}


def column_names() -> tuple[str, ...]:
    """Give the names of the columns, in the order of `Games`."""
    return tuple(found.name for found in fields(Games) if found.name != "refused_by")


def joined_blocks(blocks: Sequence[Games]) -> Games:
    """Give the games of several blocks as one, in the order given (at least one block)."""
    if len(blocks) == 1:
        return blocks[0]
    return Games(
        **{
            name: np.concatenate([getattr(block, name) for block in blocks])
            for name in column_names()
        },
        refused_by=added_up(block.refused_by for block in blocks),
    )


def added_up(counts: Iterable[Mapping[str, int]]) -> dict[str, int]:
    """Give several counts by name as one, by name in rising order."""
    total: Counter[str] = Counter()
    for count in counts:
        total.update(count)
    return dict(sorted(total.items()))


def digest(blocks: Iterable[Games], *header: str) -> str:
    """Give the SHA-256 of the games, in game order, as hexadecimal text.

    It covers `RESULT_VERSION`, the header texts (design digest, plan), and row by row every
    column, little endian; how the games are cut into blocks makes no difference.
    """
    total = hashlib.sha256()
    total.update(RESULT_VERSION.to_bytes(4, "little"))
    for text in header:
        encoded = text.encode()
        total.update(len(encoded).to_bytes(4, "little"))
        total.update(encoded)
    for block in blocks:
        rows = []
        for column in block.columns().values():
            table = np.ascontiguousarray(
                column.reshape(len(block), -1), dtype=column.dtype.newbyteorder("<")
            )
            rows.append(table.view(np.uint8).reshape(len(block), -1))
        total.update(np.ascontiguousarray(np.hstack(rows)).tobytes())
    return total.hexdigest()

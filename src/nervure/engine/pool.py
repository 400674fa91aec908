"""Layout of the pool of nodes that a search grows its tree in."""

from __future__ import annotations

from enum import IntEnum

MOST_SEARCHED = 2048
"""Legal moves of one decision that a search looks at; those behind them it leaves out."""


class Node(IntEnum):
    """Places in the numbers of a node."""

    KEY = 0
    SEAT = 1  # who chose the move
    VISITS = 2
    AVAILABLE = 3
    REWARD = 4  # summed, of that seat
    CHILD = 5  # first one, 0 none: node 0 is the root and nobody's child
    NEXT = 6  # next child of the same parent, 0 none
    NTH = 7  # where the move stood in the list when it was first seen
    SIZE = 8


class Pool(IntEnum):
    """Places before the nodes."""

    NODES = 0  # how many there are
    SIZE = 8


def pool_size(playouts: int) -> int:
    """Give the length of a pool for so many playouts a decision: each adds one node at most."""
    return Pool.SIZE + (playouts + 1) * Node.SIZE

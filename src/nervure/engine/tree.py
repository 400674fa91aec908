"""The tree of a search: a pool of nodes, choosing among moves, sending rewards back.

Knows no game. A node stands for a move of its parent, told from others by a key; a move may
be legal in one sample of what is hidden and not in another, so that each node counts how
often it was *available* besides how often it was visited. Upper confidence bound of a node:
reward / visits + c sqrt(ln available / visits), rewards between 0 and `ONE`, all in whole
numbers: Cowling, Powley, Whitehouse, "Information set Monte Carlo tree search", IEEE Trans.
Comput. Intell. AI Games 4 (2012) 120-143, where c is 0.7 in the authors' own code. Kernel
functions.
"""

# mypy: ignore-errors
# numba infers the types of everything here.
from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

from nervure.engine._native import inner
from nervure.engine.pool import Node, Pool
from nervure.engine.randomness import below

ONE = 60 * 1024
"""A whole win; 60 of it are a share of a win in sixtieths times 1,024."""

_rows = csv.reader(Path(__file__).with_name("logarithms.csv").read_text("ascii").splitlines()[1:])
# Natural logarithms of 1, 2, ..., times 65,536; place 0 is not used.
LOGARITHMS = np.array([0, *(int(value) for _, value in _rows)], dtype=np.int64)
MOST_LOGARITHM = len(LOGARITHMS) - 1
TWO = LOGARITHMS[2]


@inner
def node_place(node):
    """Give where a node's numbers stand in the pool."""
    return Pool.SIZE + node * Node.SIZE


@inner
def clear_tree(pool):
    """Leave the root alone."""
    pool[Pool.NODES] = 1
    for column in range(Node.SIZE):
        pool[node_place(0) + column] = 0


@inner
def logarithm(count):
    """Give the natural logarithm of a whole number from 1, times 65,536."""
    halved = 0
    while count > MOST_LOGARITHM:
        count >>= 1
        halved += 1
    return LOGARITHMS[count] + halved * TWO


@inner
def root(square):
    """Give the whole square root of a whole number below 2^52.

    The machine's root is rounded correctly everywhere (IEEE 754); its whole part is put
    right in whole numbers all the same.
    """
    found = np.int64(np.sqrt(np.float64(square)))
    if found * found > square:
        found -= 1
    elif (found + 1) * (found + 1) <= square:
        found += 1
    return found


@inner
def upper_bound(reward, visits, available, exploration):
    """Give the upper confidence bound of a node that was visited, in units of `ONE`.

    ``exploration``: the factor before the root, in hundredths.
    """
    width = root((logarithm(available) << 16) // visits)  # times 65,536
    return reward // visits + exploration * width * ONE // (100 * 65536)


@inner
def pick(pool, node, seat, keys, total, exploration, favoured, bias, widening, masks, stream):
    """Choose among the `total` legal moves at a node; gives move (its place) and child.

    ``keys`` (total,): the moves' keys; ``masks[stream]``: the stream that chance comes from.
    A move that has no child yet gets one, at random among these; else the largest upper
    bound, the first in the list where alike. Notes that all legal children were available.

    ``favoured``: the place of a move that is tried before others and whose bound is raised
    by `bias` / (visits + 1), which fades (after Chaslot and others 2008); -1 for none.
    ``widening``: 0 for the plain rule; else a node below the root gets another child only
    once it has been visited `widening` times the square of the legal ones that it has.
    """
    fresh, known, chosen = 0, 0, -1
    best, best_child, best_move = np.int64(-1), np.int64(0), -1
    for nth in range(total):
        key = np.int64(keys[nth])
        found = pool[node_place(node) + Node.CHILD]
        while found != 0 and pool[node_place(found) + Node.KEY] != key:
            found = pool[node_place(found) + Node.NEXT]
        if found == 0:
            fresh += 1
            if below(masks, stream, fresh) == 0:
                chosen = nth
        else:
            known += 1
            place = node_place(found)
            pool[place + Node.AVAILABLE] += 1
            visits = pool[place + Node.VISITS]
            available = pool[place + Node.AVAILABLE] - 1
            bound = upper_bound(pool[place + Node.REWARD], visits, available, exploration)
            if nth == favoured:
                bound += bias // (visits + 1)
                favoured = -1
            if bound > best:
                best, best_child, best_move = bound, found, nth
    if fresh > 0 and favoured >= 0:
        chosen = favoured
    if node != 0 and known > 0 and known * known * widening > pool[node_place(node) + Node.VISITS]:
        fresh = 0
    if fresh == 0:
        return best_move, best_child
    child = pool[Pool.NODES]
    pool[Pool.NODES] += 1
    place = node_place(child)
    pool[place + Node.KEY] = np.int64(keys[chosen])
    pool[place + Node.SEAT] = seat
    pool[place + Node.VISITS] = 0
    pool[place + Node.AVAILABLE] = 1
    pool[place + Node.REWARD] = 0
    pool[place + Node.CHILD] = 0
    pool[place + Node.NEXT] = pool[node_place(node) + Node.CHILD]
    pool[place + Node.NTH] = chosen
    pool[node_place(node) + Node.CHILD] = child
    return chosen, child


@inner
def send_back(pool, path, depth, rewards):
    """Add the rewards of the seats to the nodes of a path."""
    for step in range(depth):
        place = node_place(path[step])
        pool[place + Node.VISITS] += 1
        pool[place + Node.REWARD] += rewards[pool[place + Node.SEAT]]


@inner
def most_visited(pool):
    """Give the place in the list of the root's most visited move; then of more reward."""
    best_visits, best_reward, best = np.int64(-1), np.int64(-1), np.int64(0)
    child = pool[node_place(0) + Node.CHILD]
    while child != 0:
        place = node_place(child)
        visits, reward = pool[place + Node.VISITS], pool[place + Node.REWARD]
        nth = pool[place + Node.NTH]
        better = visits > best_visits or (visits == best_visits and reward > best_reward)
        alike = visits == best_visits and reward == best_reward
        if better or (alike and nth < best):
            best_visits, best_reward, best = visits, reward, nth
        child = pool[node_place(child) + Node.NEXT]
    return best

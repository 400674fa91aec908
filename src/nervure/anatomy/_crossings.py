"""Layered graphs: the order of the nodes in each layer that gives few crossings.

Comes in: layers of node ids and the edges between neighbouring layers. Goes out: the same
layers, reordered; the first layer may keep its order. From several starts, sweeps over the
layers to and fro that sort each by the mean place of its neighbours (the barycentre method
of Sugiyama, Tagawa, Toda 1981, IEEE Trans. SMC 11:109-125), then exchanges of neighbours and
moves of one node to any place, until none helps. Some starts are shuffled from a fixed seed:
the same graph in the same file order always gives the same picture.
"""

from __future__ import annotations

import random
from bisect import bisect_right, insort
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

Layers = list[list[str]]
Edges = Sequence[tuple[str, str]]
_Order = npt.NDArray[np.intp]
_Counts = npt.NDArray[np.int64]

SWEEPS = 12
SHUFFLED_STARTS = 8
SEED = 1
IMPROVED = 4  # of the swept starts, the best ones, are improved node by node


def crossings_between(left: Sequence[str], right: Sequence[str], edges: Edges) -> int:
    """Count the pairs of edges that cross between two layers, edges drawn as straight lines.

    >>> crossings_between(["a", "b"], ["c", "d"], [("a", "d"), ("b", "c")])
    1
    """
    left_place = {node: place for place, node in enumerate(left)}
    right_place = {node: place for place, node in enumerate(right)}
    ends = sorted(
        (left_place[start], right_place[end])
        for start, end in edges
        if start in left_place and end in right_place
    )
    seen: list[int] = []
    count = 0
    for _, place in ends:
        count += len(seen) - bisect_right(seen, place)
        insort(seen, place)
    return count


def total_crossings(layers: Sequence[Sequence[str]], edges: Edges) -> int:
    """Count the crossings over all pairs of neighbouring layers."""
    return sum(crossings_between(left, right, edges) for left, right in pairwise(layers))


def few_crossings(
    layers: Sequence[Sequence[str]], edges: Edges, *, hold_first: bool = True
) -> Layers:
    """Order each layer so that few edges cross.

    Parameters
    ----------
    layers
        Node ids, each once; every edge runs from a layer to the next one.
    edges
        Pairs of node ids (start, end); a bundle of lanes is a pair for each lane, so that
        a thick vein weighs more than a thin one.
    hold_first
        Leave the first layer as it is.

    Returns
    -------
    The layers in their new order. Not always the minimum, which is hard to find
    (NP-hard); the tests hold it against the exhaustive minimum of small graphs.
    """
    graph = _Graph(layers, edges, 1 if hold_first else 0)
    swept = sorted((graph.swept(start) for start in graph.starts()), key=lambda found: found[1])
    best = min((graph.improved(*found) for found in swept[:IMPROVED]), key=lambda found: found[1])
    return [[names[node] for node in order] for names, order in zip(layers, best[0], strict=True)]


class _Graph:
    """A layered graph, nodes by number within their layer; orders are lists of such numbers.

    ``gaps[g]``: edges between layers g and g + 1, shape (nodes of g, nodes of g + 1).
    """

    def __init__(self, layers: Sequence[Sequence[str]], edges: Edges, first: int) -> None:
        self.first = first
        self.sizes = [len(layer) for layer in layers]
        self.gaps: list[_Counts] = [
            np.zeros(shape, dtype=np.int64) for shape in pairwise(self.sizes)
        ]
        place = {
            node: (index, number)
            for index, layer in enumerate(layers)
            for number, node in enumerate(layer)
        }
        for start, end in edges:
            index, number = place[start]
            self.gaps[index][number, place[end][1]] += 1

    def starts(self) -> Iterator[list[_Order]]:
        """Give orders to begin with: as given, along the edges, shuffled."""
        given: list[_Order] = [np.arange(size, dtype=np.intp) for size in self.sizes]
        yield given
        yield self._depth_first()
        draw = random.Random(SEED)
        for _ in range(SHUFFLED_STARTS):
            yield [
                order
                if index < self.first
                else np.array(draw.sample(range(len(order)), len(order)), dtype=np.intp)
                for index, order in enumerate(given)
            ]

    def _depth_first(self) -> list[_Order]:
        """Order nodes as a walk from the first layer, node by node to the tips, meets them."""
        met: list[dict[int, None]] = [{} for _ in self.sizes]
        every = [(index, node) for index, size in enumerate(self.sizes) for node in range(size)]
        pending = every[::-1]
        while pending:
            index, node = pending.pop()
            if node not in met[index]:
                met[index][node] = None
                if index < len(self.gaps):
                    after = np.flatnonzero(self.gaps[index][node])
                    pending.extend((index + 1, int(other)) for other in after[::-1])
        orders = [np.array(list(nodes), dtype=np.intp) for nodes in met]
        if self.first and orders:
            orders[0] = np.arange(self.sizes[0], dtype=np.intp)
        return orders

    def count(self, orders: list[_Order]) -> int:
        """Count the crossings of all gaps."""
        total = 0
        for gap, (left, right) in zip(self.gaps, pairwise(orders), strict=True):
            ordered = gap[np.ix_(left, right)]
            lower = np.cumsum(ordered[::-1], axis=0)[::-1][1:]  # edges of all nodes further down
            total += int((ordered[:-1, 1:] * np.cumsum(lower, axis=1)[:, :-1]).sum())
        return total

    def swept(self, start: list[_Order]) -> tuple[list[_Order], int]:
        """Sort layers by the places of their neighbours, to and fro; give the best seen."""
        orders = list(start)
        best, fewest = list(start), self.count(start)
        last = len(orders) - 1
        for sweep in range(SWEEPS):
            forward = sweep % 2 == 0
            indices = range(1, last + 1) if forward else range(last - 1, self.first - 1, -1)
            for index in indices:
                edges = self.gaps[index - 1].T if forward else self.gaps[index]
                fixed = orders[index - 1 if forward else index + 1]
                orders[index] = _sorted_by_mean(orders[index], edges, fixed)
            count = self.count(orders)
            if count < fewest:
                best, fewest = list(orders), count
            if fewest == 0:
                break
        return best, fewest

    def improved(self, start: list[_Order], count: int) -> tuple[list[_Order], int]:
        """Exchange neighbours and move single nodes while that helps."""
        orders = list(start)
        helped = True
        while helped and count:
            helped = False
            for index in range(self.first, len(orders)):
                gains = self._gains(orders, index)
                order = orders[index].tolist()
                saved = _exchange(order, gains) + _move(order, gains)
                orders[index] = np.array(order, dtype=np.intp)
                count -= saved
                helped = helped or saved > 0
        return orders, count

    def _gains(self, orders: list[_Order], index: int) -> _Counts:
        """Give for nodes a, b of a layer how many crossings b over a saves against a over b."""
        size = self.sizes[index]
        crossed = np.zeros((size, size), dtype=np.int64)
        for gap, other in ((index - 1, index - 1), (index, index + 1)):
            if 0 <= gap < len(self.gaps):
                edges = self.gaps[gap].T if other < index else self.gaps[gap]
                ordered = edges[:, orders[other]]
                above = np.cumsum(ordered, axis=1) - ordered  # to places further up
                crossed += ordered @ above.T
        return crossed - crossed.T


def _sorted_by_mean(order: _Order, edges: _Counts, fixed: _Order) -> _Order:
    """Sort by the mean place of the neighbours; nodes without neighbours keep their places."""
    places = np.empty(len(fixed), dtype=np.int64)
    places[fixed] = np.arange(len(fixed))
    degree = edges.sum(axis=1)
    mean = (edges @ places) / np.maximum(degree, 1)
    moving = degree[order] > 0
    result = order.copy()
    nodes = order[moving]
    result[moving] = nodes[np.argsort(mean[nodes], kind="stable")]
    return result


def _exchange(order: list[int], gains: _Counts) -> int:
    """Exchange neighbours in place while one exchange helps; give the crossings saved."""
    saved = 0
    improved = True
    while improved:
        improved = False
        for place in range(len(order) - 1):
            gain = int(gains[order[place], order[place + 1]])
            if gain > 0:
                order[place], order[place + 1] = order[place + 1], order[place]
                saved += gain
                improved = True
    return saved


def _move(order: list[int], gains: _Counts) -> int:
    """Move each node once to its best place; give the crossings saved."""
    saved = 0
    for node in list(order):
        here = order.index(node)
        down = np.cumsum(gains[node, order[here + 1 :]])
        up = np.cumsum(gains[order[:here][::-1], node])
        best, place = 0, here
        for steps, sums in ((1, down), (-1, up)):
            if len(sums) and int(sums.max()) > best:
                best = int(sums.max())
                place = here + steps * (int(sums.argmax()) + 1)
        if best:
            order.insert(place, order.pop(here))
            saved += best
    return saved

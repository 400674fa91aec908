"""Layered graphs: the order of the nodes in each layer that gives few crossings.

Comes in: layers of node ids and the edges between neighbouring layers. Goes out: the same
layers, reordered; the first layer may keep its order. Sweeps by barycentre and by median over
the layers to and fro (Sugiyama, Tagawa, Toda 1981, IEEE Trans. SMC 11:109-125; median:
Eades, Wormald 1994, Algorithmica 11:379-403), then exchanges of neighbours and, in small
layers, moves of one node to any place, until none helps. No randomness: the same graph in
the same file order gives the same picture.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right, insort
from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise

Layers = list[list[str]]
Edges = Sequence[tuple[str, str]]

SWEEPS = 16
SIFT_UP_TO = 64  # nodes in a layer; past that, moves to any place cost more than they save


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
    return sum(
        crossings_between(left, right, between)
        for (left, right), between in zip(
            pairwise(layers), _edges_by_gap(layers, edges), strict=True
        )
    )


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
    graph = _Graph(layers, edges, hold_first)
    swept = [
        graph.swept(start, key)
        for start in (graph.as_given(), graph.depth_first())
        for key in (_mean, _median)
    ]
    swept.sort(key=lambda found: found[1])
    return min((graph.exchanged(*found) for found in swept[:3]), key=lambda found: found[1])[0]


def _edges_by_gap(layers: Sequence[Sequence[str]], edges: Edges) -> list[list[tuple[str, str]]]:
    layer_of = {node: index for index, layer in enumerate(layers) for node in layer}
    found: list[list[tuple[str, str]]] = [[] for _ in layers[1:]]
    for start, end in edges:
        found[layer_of[start]].append((start, end))
    return found


def _mean(places: list[int]) -> float:
    return sum(places) / len(places)


def _median(places: list[int]) -> float:
    """Give the middle place; of two middles the mean, a trace towards the mean of all."""
    places = sorted(places)
    middle = len(places) // 2
    value = places[middle] if len(places) % 2 else (places[middle - 1] + places[middle]) / 2
    return value + 1e-3 * (_mean(places) - value)


class _Graph:
    """A layered graph with its neighbours, and the steps of the search over its orders."""

    def __init__(self, layers: Sequence[Sequence[str]], edges: Edges, hold_first: bool) -> None:
        self.first = 1 if hold_first else 0
        self.layers = [list(layer) for layer in layers]
        self.gaps = _edges_by_gap(layers, edges)
        self.before: dict[str, list[str]] = {node: [] for layer in layers for node in layer}
        self.after: dict[str, list[str]] = {node: [] for layer in layers for node in layer}
        for start, end in edges:
            self.after[start].append(end)
            self.before[end].append(start)

    def as_given(self) -> Layers:
        return [list(layer) for layer in self.layers]

    def depth_first(self) -> Layers:
        """Order nodes as a walk from the first layer, node by node to the tips, meets them."""
        seen: dict[str, None] = {}
        pending = [node for layer in reversed(self.layers) for node in reversed(layer)]
        while pending:
            node = pending.pop()
            if node not in seen:
                seen[node] = None
                pending.extend(reversed(self.after[node]))
        rank = {node: place for place, node in enumerate(seen)}
        return [self.layers[0][:]] + [
            sorted(layer, key=rank.__getitem__) for layer in self.layers[1:]
        ]

    def count(self, layers: Layers) -> int:
        return sum(
            crossings_between(left, right, between)
            for (left, right), between in zip(pairwise(layers), self.gaps, strict=True)
        )

    def swept(self, start: Layers, key: Callable[[list[int]], float]) -> tuple[Layers, int]:
        """Sort layers by the places of their neighbours, to and fro; give the best seen."""
        layers = [layer[:] for layer in start]
        best, fewest = start, self.count(start)
        for sweep in range(SWEEPS):
            forward = sweep % 2 == 0
            last = len(layers) - 1
            indices = range(1, last + 1) if forward else range(last - 1, self.first - 1, -1)
            neighbours = self.before if forward else self.after
            for index in indices:
                fixed = layers[index - 1 if forward else index + 1]
                _sort_layer(layers[index], fixed, neighbours, key)
            count = self.count(layers)
            if count < fewest:
                best, fewest = [layer[:] for layer in layers], count
            if fewest == 0:
                break
        return best, fewest

    def exchanged(self, start: Layers, count: int) -> tuple[Layers, int]:
        """Exchange neighbours, and move single nodes of small layers, while that helps."""
        layers = [layer[:] for layer in start]
        helped = True
        while helped and count:
            helped = False
            for index in range(self.first, len(layers)):
                saved = self._exchange(layers, index)
                if not saved and len(layers[index]) <= SIFT_UP_TO:
                    saved = self._sift(layers, index)
                count -= saved
                helped = helped or saved > 0
        return layers, count

    def _places(self, layers: Layers, index: int) -> dict[str, tuple[list[int], list[int]]]:
        """Give each node's sorted neighbour places in the layer before and the one after."""
        previous: dict[str, int] = {}
        if index:
            previous = {node: place for place, node in enumerate(layers[index - 1])}
        following: dict[str, int] = {}
        if index + 1 < len(layers):
            following = {node: place for place, node in enumerate(layers[index + 1])}
        return {
            node: (
                sorted(previous[other] for other in self.before[node]),
                sorted(following[other] for other in self.after[node] if other in following),
            )
            for node in layers[index]
        }

    def _exchange(self, layers: Layers, index: int) -> int:
        places = self._places(layers, index)
        layer = layers[index]
        saved = 0
        improved = True
        while improved:
            improved = False
            for place in range(len(layer) - 1):
                gain = _gain(places[layer[place]], places[layer[place + 1]])
                if gain > 0:
                    layer[place], layer[place + 1] = layer[place + 1], layer[place]
                    saved += gain
                    improved = True
        return saved

    def _sift(self, layers: Layers, index: int) -> int:
        places = self._places(layers, index)
        layer = layers[index]
        saved = 0
        for node in list(layer):
            here = layer.index(node)
            best_gain, best_place = 0, here
            for step in (1, -1):
                gain, place = 0, here
                while 0 <= place + step < len(layer):
                    place += step
                    pair = (places[node], places[layer[place]])
                    gain += _gain(*pair) if step > 0 else _gain(pair[1], pair[0])
                    if gain > best_gain:
                        best_gain, best_place = gain, place
            if best_gain:
                layer.insert(best_place, layer.pop(here))
                saved += best_gain
        return saved


def _sort_layer(
    layer: list[str],
    fixed: Sequence[str],
    neighbours: Mapping[str, list[str]],
    key: Callable[[list[int]], float],
) -> None:
    """Sort a layer by its neighbours' places; nodes without neighbours keep their places."""
    place_of = {node: place for place, node in enumerate(fixed)}
    value = {
        node: key([place_of[other] for other in neighbours[node]])
        for node in layer
        if neighbours[node]
    }
    moving = iter(sorted((node for node in layer if node in value), key=value.__getitem__))
    layer[:] = [next(moving) if node in value else node for node in layer]


def _gain(upper: tuple[list[int], list[int]], lower: tuple[list[int], list[int]]) -> int:
    """Give how many crossings fewer there are if two nodes of a layer change places."""
    return sum(
        _crossed(above, below) - _crossed(below, above)
        for above, below in zip(upper, lower, strict=True)
    )


def _crossed(above: list[int], below: list[int]) -> int:
    """Count pairs of neighbours that cross while ``above`` stands over ``below``."""
    return sum(bisect_left(below, place) for place in above)

"""The arrays behind cuts and localisation, made once for an anatomy.

P pathways, R supply rows that have any, T targets that have any, S structures.

| array | shape | holds |
| --- | --- | --- |
| place | (P, S) | where a pathway passes a structure: 0 first; -1 not at all |
| entered, left | (P, S) | levels of entry and exit there |
| row_weight | (P, R) | share of its row that a pathway stands for; each used column sums to 1 |
| target_weight | (R, T) | share of its target that a row stands for; sums to 1 |
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from nervure.anatomy.pathways import Anatomy, Pathway
from nervure.anatomy.sites import Site
from nervure.project.records import Ids, Supply

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]

MAIN_WEIGHT = 2.0
PLAIN_WEIGHT = 1.0
# Sums of thirds and sevenths come back to 0, 1/2 and 1 when rounded to this.
DECIMALS = 12


class Losses:
    """What sites take of an anatomy's pathways, and what their loss means for targets."""

    def __init__(self, anatomy: Anatomy) -> None:
        self.pathways = anatomy.all_pathways
        self.targets: Ids = tuple(dict.fromkeys(pathway.target for pathway in self.pathways))
        self._column = {name: place for place, name in enumerate(anatomy.structure_ids)}
        self._origins = frozenset(anatomy.origins)
        shape = (len(self.pathways), len(self._column))
        self._place = np.full(shape, -1, dtype=np.int64)
        self._entered = np.zeros(shape, dtype=np.int64)
        self._left = np.zeros(shape, dtype=np.int64)
        for number, pathway in enumerate(self.pathways):
            columns = [self._column[name] for name in pathway.structures]
            self._place[number, columns] = range(len(columns))
            self._entered[number, columns] = pathway.entered
            self._left[number, columns] = pathway.left
        self._origin = np.array([pathway.origin for pathway in self.pathways], dtype=object)
        self._is_potential = np.array(
            [anatomy.target(pathway.target).kind == "potential" for pathway in self.pathways],
            dtype=bool,
        )
        self._weigh(anatomy)

    def _weigh(self, anatomy: Anatomy) -> None:
        rows: dict[tuple[int, Supply], list[int]] = {}
        of_target: dict[str, list[int]] = {name: [] for name in self.targets}
        numbers = {id(row): number for number, row in enumerate(anatomy.supplies)}
        for number, pathway in enumerate(self.pathways):
            rows.setdefault((numbers[id(pathway.supply)], pathway.supply), []).append(number)
        self._row_weight = np.zeros((len(self.pathways), len(rows)))
        totals = np.zeros(len(rows))
        for column, ((_, row), members) in enumerate(rows.items()):
            of_target[row.target].append(column)
            weights = portion_weights([self.pathways[number] for number in members])
            totals[column] = weights.sum()
            self._row_weight[members, column] = weights / totals[column]
        shares = [row.share for _, row in rows]
        self._target_weight = np.zeros((len(rows), len(self.targets)))
        self._extreme: list[tuple[int, list[int], str]] = []
        for place, (name, columns) in enumerate(of_target.items()):
            self._target_weight[columns, place] = row_shares(
                totals[columns], [shares[column] for column in columns]
            )
            if anatomy.target(name).needs != "sum":
                self._extreme.append((place, columns, anatomy.target(name).needs))

    def taken(
        self, sites: Iterable[Site], via: Ids = (), fibres: Sequence[str] | None = None
    ) -> Bools:
        """Tell which pathways a cut of all these sites takes, shape (P,)."""
        found = np.zeros(len(self.pathways), dtype=bool)
        for site in sites:
            found |= self._taken_by(site) & self._passed(site, via) & self._are_of(fibres)
        return found

    def _taken_by(self, site: Site) -> Bools:
        column = self._column[site.structure]
        passes = self._place[:, column] >= 0
        if site.end:
            end = self._place[:, self._column[site.end]]
            taken = passes & (end == self._place[:, column] + 1)
        else:
            taken = (
                passes
                & (self._entered[:, column] < site.level)
                & (self._left[:, column] >= site.level)
            )
            if site.structure in self._origins and site.level == 1:
                # The sensory ganglion lies distal to an intraspinal cut.
                taken &= ~(self._is_potential & (self._place[:, column] == 0))
        limited: Bools = taken & self._passed(site, site.via) & self._are_of(site.fibres)
        return limited

    def _passed(self, site: Site, via: Ids) -> Bools:
        here = self._place[:, self._column[site.structure]]
        found = np.full(len(self.pathways), not via)
        for name in via:
            place = self._place[:, self._column[name]] if name in self._column else None
            if place is not None:
                found |= (place >= 0) & (place <= here)
        return found

    def _are_of(self, fibres: Sequence[str] | None) -> Bools:
        if fibres is None:
            return np.ones(len(self.pathways), dtype=bool)
        found: Bools = np.isin(self._origin, np.array(list(fibres), dtype=object))
        return found

    def shares(self, taken: Bools) -> Floats:
        """Give the share lost of each target, shape (cuts, T), for taken pathways (cuts, P)."""
        rows = taken.astype(np.float64) @ self._row_weight
        found = rows @ self._target_weight
        for place, columns, needs in self._extreme:
            of_rows = rows[:, columns]
            found[:, place] = of_rows.max(axis=1) if needs == "every" else of_rows.min(axis=1)
        return np.clip(np.round(found, DECIMALS), 0.0, 1.0)


def portion_weights(pathways: Sequence[Pathway]) -> Floats:
    """Give the weights of one supply row's pathways.

    Each origin is a portion, 2 if main, else 1, shared evenly among its pathways. Where a
    target marks no main fibres, every portion so weighs the same.
    """
    counts: dict[str, int] = {}
    for pathway in pathways:
        counts[pathway.origin] = counts.get(pathway.origin, 0) + 1
    return np.array(
        [
            (MAIN_WEIGHT if pathway.main else PLAIN_WEIGHT) / counts[pathway.origin]
            for pathway in pathways
        ]
    )


def row_shares(totals: Floats, shares: Sequence[float | None]) -> Floats:
    """Give the part of a target that each of its rows stands for, summing to 1.

    A row with a share stands for that percentage; the rows without one divide what is
    left by the weights of their portions. Without any share the weights alone decide.

    >>> row_shares(np.array([2.0, 6.0]), [None, None]).tolist()
    [0.25, 0.75]
    >>> row_shares(np.array([2.0, 6.0]), [75, None]).tolist()
    [0.75, 0.25]
    """
    given = np.array([0.0 if share is None else share / 100 for share in shares])
    is_open = np.array([share is None for share in shares])
    if is_open.any():
        left = max(0.0, 1.0 - float(given.sum()))
        given[is_open] = left * totals[is_open] / totals[is_open].sum()
    found: Floats = given / given.sum() if given.sum() > 0 else totals / totals.sum()
    return found

"""How far two raters, or two sets, agree."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray


def cohens_kappa(table: ArrayLike) -> float:
    """Give Cohen's kappa of a square table of counts, first rater in rows.

    (observed - expected) / (1 - expected), where expected agreement comes from the two
    margins. 1 is full agreement, 0 what the margins alone would give.

    Returns
    -------
    NaN for a table without counts, or where both raters put everything in one class: there
    the margins leave nothing to agree on.

    References
    ----------
    Cohen J. A coefficient of agreement for nominal scales. Educational and Psychological
    Measurement 1960; 20: 37-46.

    Examples
    --------
    >>> cohens_kappa([[20, 5], [10, 15]])
    0.4
    """
    counts: NDArray[np.float64] = np.asarray(table, dtype=np.float64)
    total = counts.sum()
    if total == 0:
        return float("nan")
    observed = np.trace(counts) / total
    expected = float(counts.sum(axis=1) @ counts.sum(axis=0)) / total**2
    if expected >= 1:
        return float("nan")
    return float(round((observed - expected) / (1 - expected), 12))


def binary_table(first: Sequence[bool], second: Sequence[bool]) -> NDArray[np.int64]:
    """Count how two raters judge the same units: yes-yes, yes-no; no-yes, no-no.

    >>> binary_table([True, True, False], [True, False, False]).tolist()
    [[1, 1], [0, 1]]
    """
    table = np.zeros((2, 2), dtype=np.int64)
    for one, other in zip(first, second, strict=True):
        table[0 if one else 1, 0 if other else 1] += 1
    return table


def jaccard(first: Collection[str], second: Collection[str]) -> float:
    """Give the share of common members among all members of two sets; 1 if both are empty.

    >>> jaccard(["l4", "l5"], ["l5", "s1"])
    0.3333333333333333
    """
    union = set(first) | set(second)
    return len(set(first) & set(second)) / len(union) if union else 1.0

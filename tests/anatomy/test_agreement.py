"""Cohen's kappa against published tables and statsmodels, Jaccard against its definition."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.inter_rater import cohens_kappa as reference_kappa

from nervure.anatomy import binary_table, cohens_kappa, jaccard

# Counts of two raters, n = 200: Cohen J. Weighted kappa. Psychological Bulletin 1968; 70:
# 213-220; the paper prints .492 (table looked up, printed value from memory; .70 observed,
# .41 expected give .29 / .59 = .491525).
COHEN_1968 = [[88, 14, 18], [10, 40, 10], [2, 6, 12]]
# Diagnoses of multiple sclerosis, n = 149: Landis JR, Koch GG. Biometrics 1977; 33: 159-174;
# kappa computed with R vcd 1.4.11.
WINNIPEG = [[38, 5, 0, 1], [33, 11, 3, 0], [10, 14, 5, 6], [3, 7, 3, 10]]


@pytest.mark.parametrize(
    ("table", "expected"), [(COHEN_1968, 0.4915254237), (WINNIPEG, 0.207942464)]
)
def test_kappa_is_that_of_the_published_tables(table: list[list[int]], expected: float) -> None:
    assert cohens_kappa(table) == pytest.approx(expected, abs=1e-9)


@given(st.lists(st.lists(st.integers(0, 30), min_size=3, max_size=3), min_size=3, max_size=3))
def test_kappa_agrees_with_statsmodels(table: list[list[int]]) -> None:
    counts = np.array(table)
    rows, columns = counts.sum(axis=1), counts.sum(axis=0)
    if counts.sum() == 0 or rows @ columns == counts.sum() ** 2:
        return

    assert cohens_kappa(table) == pytest.approx(
        reference_kappa(counts, return_results=False), abs=1e-9
    )


@pytest.mark.parametrize("table", [[[0, 0], [0, 0]], [[7, 0], [0, 0]]])
def test_kappa_has_no_value_where_nothing_could_differ(table: list[list[int]]) -> None:
    assert math.isnan(cohens_kappa(table))


def test_two_raters_are_counted_in_four_cells() -> None:
    first = [True, True, True, False, False]
    second = [True, False, False, False, True]

    assert binary_table(first, second).tolist() == [[1, 2], [1, 1]]


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [("ab", "bc", 1 / 3), ("ab", "ab", 1.0), ("a", "b", 0.0), ("", "", 1.0), ("a", "", 0.0)],
)
def test_jaccard_is_common_over_all(first: str, second: str, expected: float) -> None:
    assert jaccard(first, second) == pytest.approx(expected)
